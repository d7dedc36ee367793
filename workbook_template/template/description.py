"""The workbook describes itself: a sheet that no program shows, with a line for each column of each
table.

A line holds the table, the key of the column, and a formula that counts the rows from the column's
title to the cell below its last: ``=ROWS('Batch plan'!$D$8:$D$49)``. As a formula it follows
columns and rows that are put in, and since both ends are locked cells, input cells that are cut or
sorted do not move it. Input cells that stand in no table have lines of their own, under the table
``CELLS``: ``=ROWS('Settings'!$B$5:$B$5)``. It is a sheet, and not a custom part of the package,
because LibreOffice and openpyxl drop those when they save.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from typing import NamedTuple

from xlsxwriter.utility import xl_cell_to_rowcol, xl_rowcol_to_cell

from chemcore import __version__
from workbook_template.template.book import Book
from workbook_template.template.formula import ref, xl
from workbook_template.template.sizes import Sizes
from workbook_template.template.table import Fact

NAME = "spargesheet layout"
#: The table of the input cells that stand in none.
CELLS = "(cells)"
#: Raised when a key that a command reads gets another meaning or goes.
LAYOUT = 1
#: How far the reader looks, in lines.
MOST = 4_000


class Place(NamedTuple):
    """Where a column of a table stands; rows and columns count from 1, ``title`` is the row of its
    title.
    """

    sheet: str
    column: int
    title: int
    first: int
    last: int


class DescriptionError(ValueError):
    """A book whose description cannot be used; the text says what to do."""


def write(book: Book) -> None:
    """Write the sheet, at the end of the book."""
    sheet = book.sheet(NAME, [24, 24, 12])
    sizes = (book.sizes.batches, book.sizes.waters, book.sizes.acids)
    for column, head in enumerate(("Layout", LAYOUT, __version__, *sizes)):
        sheet.text(0, column, head)
    places = [
        (table.name, key, where, (table.head, column, table.last + 1, column))
        for where, table in book.tables
        for key, column in table.at.items()
        if not isinstance(table.columns[key], Fact)  # neither an entry nor a figure
    ]
    places += [
        (CELLS, key, where, (row, column, row, column))
        for key, (where, row, column) in cells_of(book).items()
    ]
    for row, (table, key, where, area) in enumerate(places, 1):
        sheet.raw.write_string(row, 0, table)
        sheet.raw.write_string(row, 1, key)
        ends = (xl_rowcol_to_cell(*area[at : at + 2], True, True) for at in (0, 2))
        sheet.formula(row, 2, xl.ROWS(ref(f"'{where}'!{':'.join(ends)}")), "text")
    sheet.raw.very_hidden()
    sheet.finish()


def cells_of(book: Book) -> dict[str, tuple[str, int, int]]:
    """Input cells that stand in no table, by key: the cell's defined name, or else its sheet and
    the words beside it.

    Cells with the same words are numbered.
    """
    in_tables = {
        (where, row, table.at[column.key])
        for where, table in book.tables
        for column in table.inputs
        for row in range(table.first, table.last + 1)
    }
    found: dict[str, tuple[str, int, int]] = {}
    for cell in book.inputs:
        if cell in in_tables or cell[0] in WITHOUT_INPUTS:
            continue
        key = book.cell_names.get(cell) or f"{cell[0]}: {nearest(book.words, *cell)}"
        number, plain = 1, key
        while key in found:
            number += 1
            key = f"{plain} ({number})"
        found[key] = cell
    return found


#: Sheets whose unlocked cells only show what such a cell looks like.
WITHOUT_INPUTS = frozenset({"Start"})


def nearest(
    words: Mapping[tuple[str, int, int], str], sheet: str, row: int, column: int, least: int = 0
) -> str:
    """The nearest words to the left of a cell, or else above it; rows and columns count from
    ``least``.
    """
    left = (words.get((sheet, row, at), "") for at in range(column - 1, least - 1, -1))
    above = (words.get((sheet, at, column), "") for at in range(row - 1, least - 1, -1))
    return next((text.strip() for text in (*left, *above) if text.strip()), "?")


def sizes_of(cell: Callable[[int, int], object]) -> Sizes | None:
    """The sizes that a book was made with; ``cell`` as for :func:`read`. None where it does not
    say.
    """
    said = [cell(1, column) for column in (4, 5, 6)]
    rows = [row for row in said if isinstance(row, (int, float)) and not isinstance(row, bool)]
    if len(rows) < len(said):
        return None
    try:
        return Sizes(*map(int, rows))
    except ValueError:
        return None


def read(cell: Callable[[int, int], object]) -> Mapping[str, Mapping[str, Place]]:
    """The columns of a book's tables, by table and key.

    Parameters
    ----------
    cell
        Gives what stands in a cell of the sheet ``NAME``, by row and column from 1: a formula as
        text with its ``=``.

    Raises
    ------
    DescriptionError
        Where the layout is another version's, or a line is not as it was written.
    """
    layout, version = cell(1, 2), cell(1, 3)
    if layout != LAYOUT:
        raise DescriptionError(
            f"is of another version of spargesheet ({_said(version)}), and this is {__version__}:"
            " take an older one's entries over with `spargesheet carry`, or make a new workbook"
            " with `spargesheet new`"
        )
    found: dict[str, dict[str, Place]] = {}
    for table, key, rows in _lines(cell):
        place = _place(rows, 1 if table == CELLS else 3)
        if place is None or not isinstance(table, str) or not isinstance(key, str):
            raise DescriptionError(
                f"has a damaged sheet {NAME!r}: make a new workbook with `spargesheet new` and copy"
                " the yellow cells into it"
            )
        found.setdefault(table, {})[key] = place
    return found


def of_openpyxl(workbook) -> Mapping[str, Mapping[str, Place]]:
    """The columns of a book that openpyxl read with its formulas.

    Raises
    ------
    DescriptionError
        Where it has no description, or one that cannot be used.
    """
    if NAME not in workbook.sheetnames:
        raise DescriptionError(WITHOUT)
    return read(lambda row, column: workbook[NAME].cell(row, column).value)


#: What is said of a book without a description.
WITHOUT = (
    "was not written by this version of spargesheet: `spargesheet carry` takes the entries of an"
    " older one into a new workbook, and `spargesheet new` makes an empty one"
)


def _lines(cell) -> Iterable[tuple[object, object, object]]:
    for row in range(2, MOST):
        line = cell(row, 1), cell(row, 2), cell(row, 3)
        if line[0] in (None, ""):
            return
        yield line


_ROWS = re.compile(
    r"=ROWS\((?:'((?:[^']|'')+)'|([^'!]+))!\$([A-Z]{1,3})\$(\d+):\$([A-Z]{1,3})\$(\d+)\)"
)


def _place(formula: object, least: int) -> Place | None:
    """The place that a line's formula counts; none where it is no such formula, or counts fewer
    rows.
    """
    match = _ROWS.fullmatch(formula) if isinstance(formula, str) else None
    if match is None or match[3] != match[5]:
        return None
    top, column = xl_cell_to_rowcol(f"{match[3]}{match[4]}")
    bottom = int(match[6])
    sheet = (match[1] or match[2]).replace("''", "'")
    if bottom - top < least:
        return None
    if least == 1:
        return Place(sheet, column + 1, top + 1, top + 1, bottom)
    return Place(sheet, column + 1, top + 1, top + 2, bottom - 1)


def _said(version: object) -> str:
    return version if isinstance(version, str) and version else "an unknown one"
