"""One cell and a whole column of ACID_DOSE against PHREEQC's solve of the same waters."""

import numpy as np

from chemcore.acids import find_acid
from chemcore.dosing import dose_volume
from chemcore.water import Ions
from tests.benchmarks.phreeqc_solver import Solver
from tests.benchmarks.timing import figure, side_by_side
from tests.benchmarks.waters import ACID, LITRES, STRENGTH, TEMP_C, column_arguments, random_waters
from udfs import call

CELLS, ROWS = 300, 10_000


def measure() -> list[tuple[str, str, str]]:
    """Rows of the table: what, measured, aim."""
    cases = random_waters(CELLS)
    solver = Solver(cases)
    cells = [case.arguments() for case in cases]
    acid = find_acid(ACID)
    singles = [
        (c.alkalinity, c.ph, c.target_ph, LITRES, acid, STRENGTH, c.ions, TEMP_C, 0.0)
        for c in cases
    ]
    rows = random_waters(ROWS, seed=2)
    column = column_arguments(rows)
    arrays = [np.array([row[i] for row in rows]) for i in range(3)]
    ions = Ions(*np.array([row.ions for row in rows]).T)

    found = side_by_side(
        solver.speciate,
        solver.dose,
        lambda: [call("ACID_DOSE", *one) for one in cells],
        lambda: [dose_volume(*one) for one in singles],
        lambda: call("ACID_DOSE", *column),
        lambda: dose_volume(*arrays, LITRES, acid, STRENGTH, ions, TEMP_C, 0.0),
    )
    each = np.array(found) / [CELLS, CELLS, CELLS, CELLS, ROWS, ROWS] * 1e6
    report, fixed, cell, kernel, row, row_kernel = each.T
    differences = [
        abs(call("ACID_DOSE", *one) / theirs - 1.0) for one, theirs in zip(cells, solver.answers())
    ]

    def times(theirs, ours) -> str:
        return figure(theirs / ours, "times faster")

    return [
        ("PHREEQC, a water at a fixed pH", figure(fixed, "µs"), ""),
        ("PHREEQC, the water as reported, before that", figure(report, "µs"), ""),
        ("largest difference of the doses", f"{100.0 * max(differences):.2f} %", ""),
        ("one cell through udfs.call", figure(cell, "µs"), ""),
        ("    against the fixed pH alone", times(fixed, cell), "3"),
        (
            "    against report and fixed pH, which a cell solves too",
            times(fixed + report, cell),
            "",
        ),
        ("    chemcore alone", figure(kernel, "µs"), ""),
        (f"a row of a column of {ROWS:,} through udfs.call", figure(row, "µs"), ""),
        ("    against the fixed pH alone", times(fixed, row), "100"),
        ("    against report and fixed pH, which a row solves too", times(fixed + report, row), ""),
        ("    chemcore alone", figure(row_kernel, "µs"), ""),
    ]
