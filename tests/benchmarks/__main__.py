"""Prints the table of measurements against their aims; nothing is asserted, a slow machine is no
failure.

``--save`` appends the figures as one line of JSON to ``history.jsonl``; ``--compare`` says what has
become slower than the last saved line by more than both runs' spread. A figure is quoted only where
a second run reproduces it.
"""

import argparse
import os
import platform
from importlib.metadata import version

from tests.benchmarks import calc, functions, history, share, solving, starting, workbook
from tests.benchmarks.timing import one_core

PACKAGES = ("numpy", "scipy", "phreeqc", "formualizer", "XlsxWriter")


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks")
    parser.add_argument("--save", action="store_true", help="append to history.jsonl")
    parser.add_argument("--compare", action="store_true", help="say what became slower")
    parser.add_argument("--only", help="one subject, such as solving")
    given = parser.parse_args()
    about = {
        "python": platform.python_version(),
        "machine": f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores",
        **{name: version(name) for name in PACKAGES},
        "load": f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "unknown",
    }
    print(", ".join(f"{name} {value}" for name, value in about.items()))
    print("medians, the smallest and the largest in brackets; on one core unless it says so")
    print(f"\n{'':<66}{'measured':>34}   aim")
    rows: dict[str, str] = {}
    subjects = (solving, functions, workbook, starting, share, calc)
    for subject in subjects:
        if given.only and not subject.__name__.endswith(given.only):
            continue
        if subject is calc:  # which says itself where it runs
            _show(subject, rows)
        else:
            with one_core():
                _show(subject, rows)
        print()
    if given.compare:
        print("\n".join(history.slower(rows)))
    if given.save:
        history.save(about, rows)


def _show(subject, rows: dict[str, str]) -> None:
    above = ""
    for what, measured, aim in subject.measure():
        above = above if what.startswith(" ") else what
        rows[what if what == above else f"{above}: {what.strip()}"] = measured
        print(f"{what:<66}{measured:>34}   {aim}".rstrip(), flush=True)


if __name__ == "__main__":
    main()
