"""A cell and a row of a column of every function that solves equilibria, against PHREEQC's way
where it has one.

PHREEQC's way is the one step that answers the question, the water being solved before (its time is
not counted): for a pH after a dose REACTION, for a blend MIX, for calcium beside a solid at a fixed
pH EQUILIBRIUM_PHASES with a Fix_H+ phase. It has none for an alkalinity from a dose, a top-up, the
highest safe pH or the mash: those would be searches. Then short ranges against as many cells, and
one row without an answer among many.
"""

import tracemalloc
from collections.abc import Iterator

from tests.benchmarks.phreeqc_solver import Solver
from tests.benchmarks.timing import figure, median, side_by_side
from tests.benchmarks.waters import LITRES, TEMP_C, Case, column_arguments, random_waters
from udfs import call

CELLS, ROWS, ROUNDS = 100, 10_000, 5
SHORT = (1, 2, 5, 15, 31, 63, 64, 65, 100)
DOSE_ML = 200.0
MEMORY_ROWS = 100_000
_ACID = ("phosphoric", 85.0)
_GRIST = ((200.0, 5.75, 50.0), (20.0, 5.2, 60.0))


def _arguments(name: str, case: Case, dose: float) -> tuple:
    """Cells of a formula about one water."""
    ions = (tuple(case.ions),)
    return {
        "PH_AFTER_ACID": (case.alkalinity, case.ph, DOSE_ML, LITRES, *_ACID, ions),
        "ALKALINITY_FROM_DOSE": (case.ph, case.target_ph, dose, LITRES, *_ACID, ions),
        "ACID_TOP_UP": (case.ph, case.target_ph, case.target_ph - 0.2, dose, LITRES, *_ACID, ions),
        "PH_WHEN_HOT": (case.alkalinity, case.ph, DOSE_ML, LITRES, *_ACID, ions),
        "CALCIUM_SAFE_PH": (case.alkalinity, case.ph, case.ions.calcium, LITRES, *_ACID),
        "CALCIUM_SOLUBILITY": (case.target_ph, 100.0, "hydroxyapatite", TEMP_C),
        "BLEND_PH": (((300.0,), (700.0,)), ((case.alkalinity,), (50.0,)), ((case.ph,), (7.0,))),
        "MASH_PH": (_GRIST, 700.0, case.alkalinity, ions, DOSE_ML / 4.0, "lactic", 88.0),
    }[name]


#: Arguments that are one cell, whatever the row: blocks, names, what all rows share.
_COLUMNS = {
    "PH_AFTER_ACID": (0, 1, 6),
    "ALKALINITY_FROM_DOSE": (0, 1, 2, 6),
    "ACID_TOP_UP": (0, 1, 2, 3, 7),
    "PH_WHEN_HOT": (0, 1, 6),
    "CALCIUM_SAFE_PH": (0, 1, 2),
    "CALCIUM_SOLUBILITY": (0,),
}


def _column(name: str, rows: list[tuple]) -> tuple:
    """The cells of one formula over all of these rows."""
    found = list(rows[0])
    for i in _COLUMNS[name]:
        ions = isinstance(rows[0][i], tuple)
        found[i] = tuple(row[i][0] if ions else (row[i],) for row in rows)
    return tuple(found)


class _Phreeqc(Solver):
    """The same questions put to PHREEQC, each as one step."""

    def __init__(self, cases: list[Case]):
        super().__init__(cases)
        self.speciate()
        numbers = range(1, len(cases) + 1)
        # 200 mL of 85 % phosphoric acid in 1500 L
        self.steps = {
            "PH_AFTER_ACID": "".join(
                f"USE solution {n}\nREACTION {n}\n H3PO4 1\n 0.00195\nEND\n" for n in numbers
            ),
            "BLEND_PH": "".join(f"MIX {n}\n {n} 0.3\n 1 0.7\nEND\n" for n in numbers),
            "CALCIUM_SOLUBILITY": "".join(
                f"USE solution {len(cases) + 1}\nEQUILIBRIUM_PHASES {n}\n"
                f" Fix_H+ {-case.target_ph!r} HCl 10\n Hydroxyapatite 0 1\nEND\n"
                for n, case in zip(numbers, cases)
            ),
        }
        self._run(
            f"SOLUTION {len(cases) + 1}\n units mol/kgw\n temp {TEMP_C}\n pH 6\n"
            " Na 0.01\n Cl 0.01 charge\n P 0.00105\nEND\n"
        )

    def answer(self, name: str) -> None:
        """Solve all waters for one question."""
        self._run(self.steps[name])


def measure() -> Iterator[tuple[str, str, str]]:
    """Rows of a name, the measured figure and its aim."""
    cases, many = random_waters(CELLS), random_waters(ROWS, seed=2)
    theirs = _Phreeqc(cases)
    doses, many_doses = ([_dose(case) for case in waters] for waters in (cases, many[:200]))
    for name in (*_COLUMNS, "BLEND_PH", "MASH_PH"):
        cells = [_arguments(name, case, dose) for case, dose in zip(cases, doses)]
        works = [lambda name=name, cells=cells: [call(name, *one) for one in cells]]
        if name in _COLUMNS:
            repeated = [many_doses[i % 200] for i in range(ROWS)]
            waters = [many[i % 200] for i in range(ROWS)]
            rows = [_arguments(name, case, dose) for case, dose in zip(waters, repeated)]
            column = _column(name, rows)
            works.append(lambda name=name, column=column: call(name, *column))
        if name in theirs.steps:
            works.append(lambda name=name: theirs.answer(name))
        found = list(zip(*side_by_side(*works, rounds=ROUNDS)))
        cell = [one / CELLS for one in found[0]]
        yield f"{name}, a cell", figure(cell, "µs", 1e6), ""
        aim = "at least 1.5" if name == "PH_AFTER_ACID" else "at least 1"
        if name in theirs.steps:
            phreeqc = [one / CELLS for one in found[-1]]
            yield "    PHREEQC's step", figure(phreeqc, "µs", 1e6), ""
            yield (
                "    the cell against it",
                figure([a / b for a, b in zip(phreeqc, cell)], "times faster"),
                aim,
            )
        if name in _COLUMNS:
            row = [one / ROWS for one in found[1]]
            yield f"    a row of {ROWS:,}", figure(row, "µs", 1e6), ""
            if name in theirs.steps:
                ratio = figure([a / b for a, b in zip(phreeqc, row)], "times faster")
                yield "    the row against it", ratio, "50" if name == "PH_AFTER_ACID" else ""
    yield from _short_ranges(many)
    yield from _one_bad_row(many)
    yield from _memory(many)


def _dose(case: Case) -> float:
    return call("ACID_DOSE", *case.arguments())


def _short_ranges(cases: list[Case]) -> Iterator[tuple[str, str, str]]:
    """How long a range of some rows takes beside as many cells."""
    for name in ("ACID_DOSE", "PH_AFTER_ACID", "ALKALINITY_FROM_DOSE"):
        worst: list[tuple[float, int]] = []
        for count in SHORT:
            few = cases[:count]
            if name == "ACID_DOSE":
                cells, column = [case.arguments() for case in few], column_arguments(few)
            else:
                cells = [_arguments(name, case, _dose(case)) for case in few]
                column = _column(name, cells)
            found = side_by_side(
                lambda column=column, name=name: call(name, *column),
                lambda cells=cells, name=name: [call(name, *one) for one in cells],
            )
            worst.append((median(one / other for one, other in found), count))
        ratio, count = max(worst)
        yield (
            f"{name}, a range against as many cells, worst of 1 to 100",
            f"{ratio:.2f} times as long",
            f"at most 1.1 (at {count} rows)",
        )


def _one_bad_row(cases: list[Case]) -> Iterator[tuple[str, str, str]]:
    """What one row without an answer costs a column."""
    for name, place, bad in (("ACID_DOSE", 0, "x"), ("PH_AFTER_ACID", 2, 1e7)):
        rows = [(case.arguments()[:2] + (DOSE_ML,) + case.arguments()[3:]) for case in cases]
        column = list(column_arguments(cases))
        if name == "PH_AFTER_ACID":
            column[2] = tuple((row[2],) for row in rows)
        spoilt = list(column)
        spoilt[place] = (*column[place][:777], (bad,), *column[place][778:])
        found = side_by_side(
            lambda name=name, spoilt=spoilt: call(name, *spoilt),
            lambda name=name, column=column: call(name, *column),
            rounds=ROUNDS,
        )
        yield (
            f"{name}, one row of {ROWS:,} without an answer",
            figure([one / other for one, other in found], "times as long"),
            "at most 1.5",
        )


def _memory(cases: list[Case]) -> Iterator[tuple[str, str, str]]:
    """Memory of a column of a million rows beyond what goes in and comes out."""
    column = tuple(
        one * (MEMORY_ROWS // ROWS) if isinstance(one, tuple) else one
        for one in column_arguments(cases)
    )
    tracemalloc.start()
    answers = call("ACID_DOSE", *column)
    kept, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    yield (
        f"{len(answers):,} rows of ACID_DOSE, memory beyond in- and output",
        f"{(peak - kept) / MEMORY_ROWS:.0f} B a row",
        "at most 100",
    )
