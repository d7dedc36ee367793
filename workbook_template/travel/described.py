"""What a workbook says of its own columns, as the reader of files sees it."""

from __future__ import annotations

from collections.abc import Mapping

from workbook_template.errors import BookError
from workbook_template.template import description
from workbook_template.template.description import Place
from workbook_template.travel.ooxml.book import Book


def columns_of(book: Book, table: str, keys: frozenset[str] = frozenset()) -> Mapping[str, Place]:
    """The columns of one table by key, at least these keys.

    Raises
    ------
    BookError
        Where the workbook does not describe itself, or not these columns: one sentence of what to do.
    """
    sheet = book.sheet(description.NAME)
    if sheet is None:
        raise BookError(f"{book.package.title} {description.WITHOUT}")
    formulas = sheet.cells.formulas

    def cell(row: int, column: int) -> object:
        formula = formulas.get((row, column))
        return f"={formula.text}" if formula else sheet.value(row, column)

    try:
        found = description.read(cell).get(table, {})
    except description.DescriptionError as fault:
        raise BookError(f"{book.package.title} {fault}") from None
    if not keys <= found.keys() or len({place.sheet for place in found.values()}) != 1:
        raise BookError(f"{book.package.title} {description.WITHOUT}")
    return found
