"""The workbook describes itself: a sheet that no program shows, with a line for each column of each table.

A line holds the table, the key of the column, and a formula that counts the rows from the column's title to the cell
below its last: ``=ROWS('Batch plan'!$D$8:$D$49)``. As a formula it follows columns and rows that are put in, and since
both ends are locked cells, input cells that are cut or sorted do not move it. It is a sheet, and not a custom part of the
package, because LibreOffice and openpyxl drop those when they save.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from typing import NamedTuple

from xlsxwriter.utility import xl_cell_to_rowcol, xl_range_abs

from chemcore import __version__
from workbook_template.template.book import Book
from workbook_template.template.formula import ref, xl

NAME = "spargesheet layout"
#: Raised when a key that a command reads gets another meaning or goes.
LAYOUT = 1
#: How far the reader looks, in lines.
MOST = 2_000


class Place(NamedTuple):
    """Where a column of a table stands; rows and columns count from 1, ``title`` is the row of its title."""

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
    sheet.text(0, 0, "Layout")
    sheet.text(0, 1, LAYOUT)
    sheet.text(0, 2, __version__)
    row = 1
    for where, table in book.tables:
        for key, column in table.at.items():
            sheet.text(row, 0, table.name)
            sheet.text(row, 1, key)
            cells = xl_range_abs(table.head, column, table.last + 1, column)
            sheet.formula(row, 2, xl.ROWS(ref(f"'{where}'!{cells}")), "text")
            row += 1
    sheet.raw.very_hidden()
    sheet.finish()


def read(cell: Callable[[int, int], object]) -> dict[str, Mapping[str, Place]]:
    """The columns of a book's tables, by table and key.

    Parameters
    ----------
    cell
        Gives what stands in a cell of the sheet ``NAME``, by row and column from 1: a formula as text with its ``=``.

    Raises
    ------
    DescriptionError
        Where the layout is another version's, or a line is not as it was written.
    """
    layout, version = cell(1, 2), cell(1, 3)
    if layout != LAYOUT:
        raise DescriptionError(
            f"is of another version of spargesheet ({_said(version)}), and this is {__version__}: make a new "
            "workbook with `spargesheet new` and copy the yellow cells into it"
        )
    found: dict[str, dict[str, Place]] = {}
    for table, key, rows in _lines(cell):
        place = _place(rows)
        if place is None or not isinstance(table, str) or not isinstance(key, str):
            raise DescriptionError(
                f"has a damaged sheet {NAME!r}: make a new workbook with `spargesheet new` and copy the yellow "
                "cells into it"
            )
        found.setdefault(table, {})[key] = place
    return found


def of_openpyxl(workbook) -> dict[str, Mapping[str, Place]]:
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
    "was not written by this version of spargesheet: make a new workbook with `spargesheet new`, and copy the yellow "
    "cells of an older one into it"
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


def _place(formula: object) -> Place | None:
    """The place that a line's formula counts; none where it is no such formula."""
    match = _ROWS.fullmatch(formula) if isinstance(formula, str) else None
    if match is None or match[3] != match[5]:
        return None
    top, column = xl_cell_to_rowcol(f"{match[3]}{match[4]}")
    bottom = int(match[6])
    sheet = (match[1] or match[2]).replace("''", "'")
    if bottom - top < 3:
        return None
    return Place(sheet, column + 1, top + 1, top + 2, bottom - 1)


def _said(version: object) -> str:
    return version if isinstance(version, str) and version else "an unknown one"
