"""What a formula costs in LibreOffice Calc beyond the function itself: 5,000 cells recalculated by the real Calc."""

from __future__ import annotations

import time

from udfs import call
from udfs.hosts import HostError
from udfs.hosts.calc.office import with_extension

CELLS = 5000
RUNS = 7
#: A function that is cheap and one that solves equations, with a number that differs from cell to cell.
FORMULAS = {
    "HARDNESS": ("=HARDNESS({};5)", lambda number: (number, 5.0)),
    "ACID_DOSE": ('=ACID_DOSE({};7.6;5.7;400;"lactic";88)', lambda number: (number, 7.6, 5.7, 400.0, "lactic", 88.0)),
}


def run() -> None:
    """Print the time of a cell in Calc and in Python, the best of several runs."""
    try:
        with with_extension() as calc:
            for name, (formula, arguments) in FORMULAS.items():
                in_calc, in_python = measured(calc, name, formula, arguments)
                print(f"Calc, {CELLS} cells of {name}: {in_calc:.0f} µs a cell, of which {in_python:.0f} µs the function "
                      f"itself and {in_calc - in_python:.0f} µs the way there and back (aim: at most 100)")
    except HostError as error:
        print(f"Calc: not measured; {error}")


def measured(calc, name, formula, arguments) -> tuple[float, float]:
    """Microseconds a cell in Calc and in Python."""
    numbers = [100 + number / 100 for number in range(CELLS)]
    calc.ask("new")
    calc.ask("put", 0, f"A1:A{CELLS}", [[formula.format(number)] for number in numbers])
    in_calc = min(calc.ask("recalculate") for _ in range(RUNS))
    in_python = []
    for _ in range(RUNS):
        start = time.perf_counter()
        for number in numbers:
            call(name, *arguments(number))
        in_python.append(time.perf_counter() - start)
    return in_calc / CELLS * 1e6, min(in_python) / CELLS * 1e6
