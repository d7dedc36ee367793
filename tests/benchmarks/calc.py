"""What a formula costs in LibreOffice Calc beyond the function itself: 5,000 cells recalculated by the real Calc."""

import time
from collections.abc import Iterator

from udfs import call
from udfs.hosts import HostError
from udfs.hosts.calc.office import with_extension

CELLS = 5000
RUNS = 7
AIM = "at most 100"
#: A function that is cheap and one that solves equations, each with a number that differs from cell to cell.
FORMULAS = {
    "HARDNESS": ("=HARDNESS({};5)", lambda number: (number, 5.0)),
    "ACID_DOSE": (
        '=ACID_DOSE({};7.6;5.7;400;"lactic";88)',
        lambda number: (number, 7.6, 5.7, 400.0, "lactic", 88.0),
    ),
}


def measure() -> Iterator[tuple[str, str, str]]:
    """Rows of a name, the measured figure and its aim; the clock's time, the best of several runs."""
    try:
        with with_extension() as calc:
            for name, (formula, arguments) in FORMULAS.items():
                numbers = [100 + number / 100 for number in range(CELLS)]
                calc.ask("new")
                calc.ask("put", 0, f"A1:A{CELLS}", [[formula.format(number)] for number in numbers])
                in_calc = min(calc.ask("recalculate") for _ in range(RUNS)) / CELLS
                in_python = (
                    min(python_seconds(name, map(arguments, numbers)) for _ in range(RUNS)) / CELLS
                )
                yield f"Calc, {CELLS} cells of {name}: a cell", f"{in_calc * 1e6:.0f} µs", ""
                yield (
                    "  of which beyond the function itself",
                    f"{(in_calc - in_python) * 1e6:.0f} µs",
                    AIM,
                )
    except HostError as error:
        yield "Calc", "not measured", str(error)


def python_seconds(name, all_arguments) -> float:
    """Seconds that a function takes for all these arguments without a spreadsheet."""
    ready = list(all_arguments)
    start = time.perf_counter()
    for arguments in ready:
        call(name, *arguments)
    return time.perf_counter() - start
