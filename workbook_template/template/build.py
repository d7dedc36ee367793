"""Builds the workbook: formulas, their values from the embedded engine, and the file with both.

``python -m workbook_template.template.build`` renews the committed template.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

from openpyxl.utils.datetime import to_excel
from xlsxwriter.utility import xl_rowcol_to_cell

from workbook_template.template import description, scenario
from workbook_template.template.book import Book
from workbook_template.template.packaged import TEMPLATE
from workbook_template.template.sheets import (
    acid_choice,
    batch_plan,
    bench_titration,
    blend_salts,
    curves,
    grists,
    last_runnings,
    liquor_plan,
    log,
    malts,
    mash,
    mash_plan,
    purchasing,
    readings,
    reference,
    settings,
    sparge_day,
    start,
    water,
)
from workbook_template.template.sizes import Sizes, Starting

#: In the order in which a brewer reads them.
SHEETS = (
    start,
    settings,
    water,
    bench_titration,
    blend_salts,
    batch_plan,
    acid_choice,
    malts,
    grists,
    mash_plan,
    mash,
    readings,
    sparge_day,
    last_runnings,
    liquor_plan,
    log,
    purchasing,
    curves,
    reference,
)
Cell = tuple[str, int, int]
Progress = Callable[[str], None]


class BuildError(Exception):
    """Formulas of the template that come out as errors."""


def build(
    path: Path | str,
    progress: Progress = lambda text: None,
    *,
    sizes: Sizes | None = None,
    example: bool = True,
    starting: Starting | None = None,
    given: Mapping[Cell, Any] | None = None,
) -> list[Cell]:
    """Write the workbook to ``path`` with all values cached; returns the cells that show an error.

    Parameters
    ----------
    path
        The file.
    progress
        Hears what is being done.
    sizes
        Rows of its tables.
    example
        Whether the invented example stands in its input cells.
    starting
        What its settings begin with.
    given
        Entries for input cells, by sheet, row and column from 0.

    Raises
    ------
    BuildError
        Where a formula comes out as an error, with its cells, and nothing was given that could be
        the cause; where the tables are too short for the example.
    """
    if example:
        _room_for_the_example(sizes or Sizes())
    progress("writing the formulas")
    book = _written(path, sizes=sizes, example=example, starting=starting, given=given)
    progress(f"working out {len(book.formulas):,} formulas")
    values, errors = evaluated(book)
    if errors and not given:
        raise BuildError(
            f"{len(errors)} formulas come out as errors: "
            + "; ".join(f"{said(cell)}: {values[cell]}" for cell in errors[:10])
        )
    progress("writing the workbook")
    book.close(values)
    return errors


def drafted(path: Path | str, **options) -> Book:
    """Write the workbook with 0 for the values of its formulas; the book that was written."""
    book = _written(path, **options)
    book.close()
    return book


def _written(path: Path | str, **options) -> Book:
    book = Book(path, **options)
    for sheet in SHEETS:
        sheet.write(book)
    description.write(book)
    book.workbook.get_worksheet_by_name(start.NAME).activate()
    return book


def _room_for_the_example(sizes: Sizes) -> None:
    for name, rows in (
        ("batches", scenario.BATCHES),
        ("waters", scenario.WATERS),
        ("acids", scenario.ACIDS),
    ):
        if getattr(sizes, name) < len(rows):
            raise BuildError(
                f"the example has {len(rows)} {name}: give the workbook {len(rows)} or more, or"
                " leave the example out with --empty"
            )


def evaluated(written: Book) -> tuple[dict[Cell, object], list[Cell]]:
    """Values of the formulas of a book that is still open, and the cells of those that come out as
    errors.
    """
    from udfs.hosts import engine
    from udfs.hosts.calc.scratch import scratch

    with scratch() as folder:
        draft = folder / "draft.xlsx"
        written.draft(draft)
        book = engine.load(draft)
    book.evaluate_all()
    values, errors = {}, []
    for where in written.formulas:
        value = book.get_value(where[0], where[1] + 1, where[2] + 1)
        if value is None or isinstance(value, dict):
            errors.append(where)
            value = engine.error_code((value or {}).get("kind", ""))
        values[where] = _kept(value)
    return values, errors


def said(cell: Cell) -> str:
    """A cell as a user reads it."""
    return f"{cell[0]}!{xl_rowcol_to_cell(cell[1], cell[2])}"


def _kept(value):
    """A figure to 12 digits, so that the last bit, which differs between machines, does not change
    the file.

    A date becomes the number that a cell stores.
    """
    if isinstance(value, date):
        return to_excel(value)
    return float(f"{value:.12g}") if isinstance(value, float) else value


if __name__ == "__main__":
    build(TEMPLATE, print)
