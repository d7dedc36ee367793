"""What a formula costs in LibreOffice Calc beyond the function itself: 5,000 cells recalculated by
the real Calc.
"""

import time
from collections.abc import Iterator

from tests.benchmarks.timing import figure, one_core
from udfs import call
from udfs.hosts import HostError
from udfs.hosts.calc.office import with_extension

CELLS = 5000
RUNS = 7
#: A function that is cheap and one that solves equations, each with a number that differs from cell
#: to cell.
FORMULAS = {
    "HARDNESS": ("=HARDNESS(B{}+$C$1;5)", lambda number: (number, 5.0)),
    "ACID_DOSE": (
        '=ACID_DOSE(B{}+$C$1;7.6;5.7;400;"lactic";88)',
        lambda number: (number, 7.6, 5.7, 400.0, "lactic", 88.0),
    ),
}


def measure() -> Iterator[tuple[str, str, str]]:
    """Rows of a name, the measured figure and its aim: the office and its worker where the system
    puts them, and on one core.
    """
    yield from _placed("any core")
    with one_core():
        yield from _placed("one core")


def _placed(where: str) -> Iterator[tuple[str, str, str]]:
    try:
        with with_extension() as calc:
            for name, (formula, arguments) in FORMULAS.items():
                numbers = [100 + number / 100 for number in range(CELLS)]
                rows = range(1, CELLS + 1)
                calc.ask("new")
                calc.ask("put", 0, f"B1:B{CELLS}", [[number] for number in numbers])
                calc.ask("put", 0, f"A1:A{CELLS}", [[formula.format(row)] for row in rows])
                first, beyond, again = [], [], []
                for run in range(1, RUNS + 1):
                    moved = run / 1000  # so that no cell asks what it asked before
                    took = _changed(calc, moved) / CELLS
                    plain = python_seconds(name, (arguments(number + moved) for number in numbers))
                    first.append(took)
                    beyond.append(took - plain / CELLS)
                    again.append(calc.ask("recalculate") / CELLS)
                title = f"Calc on {where}, {CELLS} cells of {name}"
                yield f"{title}, first calculation: a cell", figure(first, "µs", 1e6), ""
                yield "    of which beyond the function", figure(beyond, "µs", 1e6), "at most 60"
                yield f"{title}, unchanged: a cell", figure(again, "µs", 1e6), "at most 10"
    except HostError as error:
        yield f"Calc on {where}", "not measured", str(error)


def _changed(calc, moved: float) -> float:
    """Seconds until every cell shows its answer to a changed argument, without the time that
    reading them takes.
    """
    cells = f"A1:A{CELLS}"
    start = time.perf_counter()
    calc.ask("put", 0, "C1", [[moved]])
    calc.ask("data", 0, cells)
    shown = time.perf_counter()
    calc.ask("data", 0, cells)
    return (shown - start) - (time.perf_counter() - shown)


def python_seconds(name, all_arguments) -> float:
    """Seconds that a function takes for all these arguments without a spreadsheet."""
    ready = list(all_arguments)
    start = time.perf_counter()
    for arguments in ready:
        call(name, *arguments)
    return time.perf_counter() - start
