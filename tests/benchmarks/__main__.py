"""Prints the table of measurements against their aims; nothing is asserted, a slow machine is no failure."""

import platform

from tests.benchmarks import calc, share, solving, starting, workbook
from tests.benchmarks.timing import one_core


def main() -> None:
    """Measure and print."""
    print(
        f"Python {platform.python_version()}, {platform.system()} {platform.machine()}; medians, on one core but for Calc\n"
    )
    print(f"{'':<62}{'measured':>20}   aim")
    for subject in (calc, solving, workbook, starting, share):
        if subject is solving:  # Calc and its worker are two processes
            one_core()
        for what, measured, aim in subject.measure():
            print(f"{what:<62}{measured:>20}   {aim}".rstrip(), flush=True)
        print()


if __name__ == "__main__":
    main()
