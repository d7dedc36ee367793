"""Builds the workbook in two passes: write, evaluate in the embedded engine, write again with the cached values.

``python -m workbook_template.template.build`` renews the committed template.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from datetime import date
from pathlib import Path

from openpyxl.utils.datetime import to_excel

from workbook_template.template import description
from workbook_template.template.book import Book
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
    reference,
    settings,
    sparge_day,
    start,
    water,
)

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
    liquor_plan,
    sparge_day,
    last_runnings,
    log,
    purchasing,
    curves,
    reference,
)
TEMPLATE = Path(__file__).parents[1] / "batch-plan.xlsx"


class BuildError(Exception):
    """Formulas of the template that come out as errors."""


def build(path: Path | str, progress: Callable[[str], None] = lambda text: None) -> None:
    """Write the workbook to ``path`` with all values cached.

    Raises
    ------
    BuildError
        Where a formula comes out as an error, with its cells.
    """
    with tempfile.TemporaryDirectory() as scratch:
        draft = Path(scratch) / "draft.xlsx"
        progress("writing the formulas")
        formulas = _write(draft, {})
        progress(f"working out {len(formulas):,} formulas")
        values = _evaluated(draft, formulas)
    progress("writing the workbook")
    _write(path, values)


def _write(path: Path | str, values) -> list[tuple[str, int, int]]:
    book = Book(path, values)
    for sheet in SHEETS:
        sheet.write(book)
    description.write(book)
    book.workbook.get_worksheet_by_name(start.NAME).activate()
    book.close()
    return book.formulas


def _evaluated(path: Path, formulas) -> dict[tuple[str, int, int], object]:
    from udfs.hosts import engine

    book = engine.load(path)
    book.evaluate_all()
    values = {
        where: _kept(book.get_value(where[0], where[1] + 1, where[2] + 1)) for where in formulas
    }
    errors = [
        f"{sheet}!R{row + 1}C{column + 1}: {value.get('kind')}"
        for (sheet, row, column), value in values.items()
        if isinstance(value, dict)
    ] + [
        f"{sheet}!R{row + 1}C{column + 1}: no answer"
        for (sheet, row, column), value in values.items()
        if value is None
    ]
    if errors:
        raise BuildError(f"{len(errors)} formulas come out as errors: {'; '.join(errors[:10])}")
    return values


def _kept(value):
    """A figure to 12 digits, so that the last bit, which differs between machines, does not change the file.

    A date becomes the number that a cell stores.
    """
    if isinstance(value, date):
        return to_excel(value)
    return float(f"{value:.12g}") if isinstance(value, float) else value


if __name__ == "__main__":
    build(TEMPLATE, print)
