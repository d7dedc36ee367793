"""What a formula costs in LibreOffice Calc beyond the function itself: 5,000 cells recalculated by the real Calc."""

import time
from collections.abc import Iterator

from tests.benchmarks.timing import figure, one_core
from udfs import call
from udfs.hosts import HostError
from udfs.hosts.calc.office import with_extension

CELLS = 5000
RUNS = 7
AIM = "60, first calculation"
#: A function that is cheap and one that solves equations, each with a number that differs from cell to cell.
FORMULAS = {
    "HARDNESS": ("=HARDNESS({};5)", lambda number: (number, 5.0)),
    "ACID_DOSE": (
        '=ACID_DOSE({};7.6;5.7;400;"lactic";88)',
        lambda number: (number, 7.6, 5.7, 400.0, "lactic", 88.0),
    ),
}


def measure() -> Iterator[tuple[str, str, str]]:
    """Rows of a name, the measured figure and its aim: the office and its worker where the system puts them, and on one core."""
    yield from _placed("any core")
    with one_core():
        yield from _placed("one core")


def _placed(where: str) -> Iterator[tuple[str, str, str]]:
    try:
        with with_extension() as calc:
            for name, (formula, arguments) in FORMULAS.items():
                numbers = [100 + number / 100 for number in range(CELLS)]
                calc.ask("new")
                calc.ask("put", 0, f"A1:A{CELLS}", [[formula.format(number)] for number in numbers])
                in_calc, beyond = [], []
                for _ in range(RUNS):
                    took = calc.ask("recalculate") / CELLS
                    plain = python_seconds(name, map(arguments, numbers)) / CELLS
                    in_calc.append(took)
                    beyond.append(took - plain)
                yield (
                    f"Calc on {where}, {CELLS} cells of {name} again: a cell",
                    figure(in_calc, "µs", 1e6),
                    "at most 10",
                )
                yield "    of which beyond the function", figure(beyond, "µs", 1e6), AIM
    except HostError as error:
        yield f"Calc on {where}", "not measured", str(error)


def python_seconds(name, all_arguments) -> float:
    """Seconds that a function takes for all these arguments without a spreadsheet."""
    ready = list(all_arguments)
    start = time.perf_counter()
    for arguments in ready:
        call(name, *arguments)
    return time.perf_counter() - start
