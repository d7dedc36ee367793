"""A workbook of 20,000 ACID_DOSE cells in the embedded engine, against as many trivial
functions.
"""

import tempfile
from pathlib import Path

import formualizer
import xlsxwriter

from chemcore.acids import find_acid
from chemcore.dosing import dose_volume
from tests.benchmarks.timing import median, seconds
from tests.benchmarks.waters import ACID, LITRES, STRENGTH, TEMP_C, Case, random_waters
from udfs.hosts import engine

CELLS, ROUNDS = 20_000, 3


def measure() -> list[tuple[str, str, str]]:
    """Rows of the table: what, measured, aim."""
    cases = random_waters(CELLS, seed=3)
    acid = find_acid(ACID)
    singles = [
        (c.alkalinity, c.ph, c.target_ph, LITRES, acid, STRENGTH, c.ions, TEMP_C, 0.0)
        for c in cases
    ]
    found = []
    with tempfile.TemporaryDirectory() as folder:
        doses, trivial = Path(folder, "doses.xlsx"), Path(folder, "trivial.xlsx")
        _write(doses, "ACID_DOSE", cases)
        _write(trivial, "TRIVIAL", cases)
        for _ in range(ROUNDS):
            book = engine.load(doses)
            dosing = seconds(book.evaluate_all)
            _check(book)
            book = formualizer.Workbook.load_path(str(trivial), backend="umya")
            book.register_function("TRIVIAL", lambda *cells: 1.0, min_args=0, max_args=9)
            plain = seconds(book.evaluate_all)
            kernel = seconds(lambda: [dose_volume(*one) for one in singles])
            found.append((dosing, plain, kernel))
    dosing, plain, kernel = (median(column) for column in zip(*found))
    return [
        (f"workbook of {CELLS:,} ACID_DOSE cells", f"{dosing:.2f} s", ""),
        (f"    {CELLS:,} trivial functions", f"{plain:.2f} s", ""),
        ("    chemcore alone, the same waters", f"{kernel:.2f} s", ""),
        (
            "    workbook over trivial functions and chemcore together",
            f"{median(d / (p + k) for d, p, k in found):.2f} times",
            "below 3",
        ),
    ]


def dose_once() -> None:
    """Evaluate the workbook once, for its peak memory."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "doses.xlsx")
        _write(path, "ACID_DOSE", random_waters(CELLS, seed=3))
        book = engine.load(path)
        book.evaluate_all()
        _check(book)


def _write(path: Path, function: str, cases: list[Case]) -> None:
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        for row, case in enumerate(cases):
            sheet.write_row(row, 0, [case.alkalinity, case.ph, case.target_ph, *case.ions])
            n = row + 1
            sheet.write_formula(
                row,
                8,
                f'={function}(A{n},B{n},C{n},{LITRES:g},"{ACID}",{STRENGTH:g},D{n}:H{n},{TEMP_C:g},0)',
            )


def _check(book) -> None:
    answers = [book.evaluate_cell("Sheet1", row, 9) for row in (1, CELLS)]
    if not all(isinstance(answer, float) and answer > 0.0 for answer in answers):
        raise RuntimeError(f"the workbook did not evaluate: {answers}")
