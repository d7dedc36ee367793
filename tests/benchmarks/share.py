"""How long a shared copy of a large book takes, beside the evaluation that it cannot do without."""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import xlsxwriter

from udfs.hosts import engine
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.recalc import refreshed
from workbook_template.travel.share import shared

FORMULAS = 20_000
ROUNDS = 3
DOSE = "=ACID_DOSE(A{0},B{0},C{0},D{0},E{0},F{0})"


def measure() -> Iterator[tuple[str, str, str]]:
    """Rows of a name, the measured figure and its aim; medians of rounds that take turns."""
    with tempfile.TemporaryDirectory() as folder:
        path = large_book(Path(folder, "large.xlsx"))
        times = {"evaluating": [], "share": [], "recalc": []}
        for _ in range(ROUNDS):
            times["evaluating"].append(seconds(lambda: engine.load(path).evaluate_all()))
            times["share"].append(seconds(lambda: shared(Package.read(path))))
            times["recalc"].append(seconds(lambda: refreshed(Package.read(path))))
    base = statistics.median(times.pop("evaluating"))
    yield f"evaluating {FORMULAS:,} ACID_DOSE formulas in the engine", f"{base:.1f} s", ""
    for name, found in times.items():
        took = statistics.median(found)
        yield (
            f"  {name} of that book",
            f"{took / base:.2f} times as long",
            "at most 2",
        )


def seconds(work) -> float:
    """Time of one run."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def large_book(path: Path) -> Path:
    """A book of one long sheet."""
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("Plan")
        for row in range(1, FORMULAS + 1):
            sheet.write_row(
                row - 1, 0, [100.0 + row % 50, 7.5, 5.5, 300.0 + row / 100, "lactic", 88.0]
            )
            sheet.write_formula(row - 1, 6, DOSE.format(row))
        sheet.write_formula(0, 7, f"=SUM(G1:G{FORMULAS})")
    return path
