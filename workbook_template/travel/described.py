"""What a workbook says of its own columns, as the reader of files sees it."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from workbook_template.template import description
from workbook_template.template.description import Place
from workbook_template.template.sizes import Sizes
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.user_errors import BookError


def tables_of(book: StoredBook) -> Mapping[str, Mapping[str, Place]]:
    """All that a workbook says of itself: places by table and key.

    Raises
    ------
    BookError
        Where it does not describe itself: one sentence of what to do.
    """
    cell = _reader(book)
    if cell is None:
        raise BookError(f"{book.package.title} {description.WITHOUT}")
    try:
        return description.read(cell)
    except description.DescriptionError as fault:
        raise BookError(f"{book.package.title} {fault}") from None


def sizes_of(book: StoredBook) -> Sizes | None:
    """The sizes that a workbook says it was made with; None where it does not say."""
    cell = _reader(book)
    return cell and description.sizes_of(cell)


def _reader(book: StoredBook) -> Callable[[int, int], object] | None:
    """What gives the cells of the sheet in which a workbook describes itself; None where there is
    no such sheet.
    """
    sheet = book.find(description.NAME)
    if sheet is None:
        return None
    formulas = sheet.cells.formulas

    def cell(row: int, column: int) -> object:
        formula = formulas.get((row, column))
        return f"={formula.text}" if formula else sheet.value(row, column)

    return cell


def columns_of(
    book: StoredBook, table: str, keys: frozenset[str] = frozenset()
) -> Mapping[str, Place]:
    """The columns of one table by key, at least these keys.

    Raises
    ------
    BookError
        Where the workbook does not describe itself, or not these columns: one sentence of what to
        do.
    """
    found = tables_of(book).get(table, {})
    if not keys <= found.keys() or len({place.sheet for place in found.values()}) != 1:
        raise BookError(f"{book.package.title} {description.WITHOUT}")
    return found
