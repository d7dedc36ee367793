"""The line that says on the first screen of a sheet that this is a copy: its words and its
place.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime

from chemcore import __version__
from workbook_template.travel import bounds
from workbook_template.travel.frozen import CHANGED
from workbook_template.travel.ooxml.addresses import block
from workbook_template.travel.ooxml.stored_book import StoredBook, StoredSheet
from workbook_template.travel.ooxml.tokens import corners, is_external, sheet_of, tokens

#: Rows and columns that count as the first screen; the line takes a cell with so many free ones to
#: its right.
ROWS, COLUMNS, FREE = 3, 12, 5
#: Cells that the line names.
NAMED = 12
#: Width of a column in characters where the sheet does not say, and how much wider a heading's
#: letters are.
WIDTH, LARGE = 9.0, 1.6
_MERGED = re.compile(rb'<(?:\w+:)?mergeCell\b[^>]*?\bref="([A-Z0-9:$]+)"')
_COLUMN = re.compile(rb"<(?:\w+:)?col\b([^>]*)>")
_ATTRIBUTE = re.compile(rb'(\w+)="([^"]*)"')


#: What stands at the end of the row of a figure that the copy cannot watch.
FIXED, UNWATCHED = "a figure here is fixed: ask the sender", "a figure here may not show a change"


def text(
    made: datetime, title: str, restorable: bool, fixed: list[str], unwatched: list[str]
) -> str:
    """What the line says: a copy, of what, when and by which version, and who can work it out
    afresh.

    ``fixed`` are cells that hold their value alone, ``unwatched`` those that may not tell that what
    they rest on was changed.
    """
    said = (
        f"COPY of {title}, {made:%Y-%m-%d %H:%M %z}, spargesheet {__version__}. Figures of the"
        " add-in "
        f'are frozen here: after a change of what they rest on they say "{CHANGED}", who can work'
        " them "
        "out afresh"
    )
    said += " (spargesheet restore)." if restorable else "."
    if fixed:
        said += f" Fixed whatever you change: {_named(fixed)}."
    if unwatched:
        said += f" May not show a change of what they rest on: {_named(unwatched)}."
    return said


def _named(cells: list[str]) -> str:
    more = f" and {len(cells) - NAMED} more" if len(cells) > NAMED else ""
    return f"{', '.join(cells[:NAMED])}{more}"


def places(book: StoredBook, speller) -> dict[str, tuple[int, int]]:
    """A cell for the line on each sheet, by the sheet's name.

    It holds nothing, nothing to its right would hide the line, no formula reads it and no table has
    it: a row of the first three that is empty, else the room right of a heading, else the first
    free column of row 1.
    """
    read = _read(book, speller)
    found = {}
    for sheet in book.sheets:
        taken = _Taken(book, sheet, read.get(sheet.name, []))
        found[sheet.name] = taken.place()
    return found


def _read(book: StoredBook, speller) -> dict[str, list[tuple]]:
    """Areas in the first rows that formulas, rules and names of the book read, by sheet."""
    found: dict[str, dict[tuple, None]] = {}
    texts = [
        (sheet.name, speller.spelled(formula.text, sheet.name, row, column))
        for sheet in book.sheets
        for (row, column), formula in sheet.cells.formulas.items()
        if not _below(formula.text)
    ]
    texts += [(n.sheet or "", n.text) for n in book.names if not n.name.startswith("_xlnm.")]
    texts += [(sheet.name, rule.text) for sheet in book.sheets for rule in sheet.cells.others]
    for home, text in texts:
        for token in tokens(text):
            if token.kind != "reference" or is_external(token.prefix):
                continue
            target = book.find(sheet_of(token.prefix) or home)
            area = corners(token.core)
            if target and area[0] <= ROWS:
                found.setdefault(target.name, {})[area] = None
    return {name: list(areas) for name, areas in found.items()}


_SIMPLE = re.compile(r"\$?[A-Z]{1,3}\$?[0-9]{2,7}(?![0-9A-Za-z_.(:])")


def _below(text: str) -> bool:
    """Whether a formula surely reads no cell of the first rows: single cells of two digits and
    functions only.
    """
    rest = re.sub(r'"[^"]*"', "", _SIMPLE.sub("", text))
    return not re.search(r"[A-Za-z_$\]][0-9]|[:\[!]|\b[A-Za-z_][\w.]*\b(?!\s*\()", rest)


class _Taken:
    """What of a sheet's first rows is in use."""

    def __init__(self, book: StoredBook, sheet: StoredSheet, read: list[tuple]):
        self.sheet = sheet
        data = book.package[sheet.part]
        self.areas = read + [block(m.decode(), sheet.part) for m in _MERGED.findall(data)]
        self.areas += [table.area for table in book.tables if table.sheet == sheet.name]
        self.areas += [f.area for f in sheet.cells.formulas.values() if f.area]
        self.widths = dict(_widths(data))

    def free(self, row: int, column: int) -> bool:
        """Whether a cell is nobody's: no content, no formula or style that is the file's."""
        return (row, column) not in self.sheet.cells.cells and not any(
            top <= row <= bottom and left <= column <= right
            for top, left, bottom, right in self.areas
        )

    def open(self, row: int, column: int) -> bool:
        """Whether the line shows from a cell to the right."""
        return all(
            self.sheet.value(row, right) is None and self.widths.get(right, WIDTH) > 0
            for right in range(column, column + FREE)
        )

    def place(self) -> tuple[int, int]:
        """The cell of the line."""
        empty = [
            row
            for row in range(1, ROWS + 1)
            if all(self.sheet.value(row, column) is None for column in range(1, COLUMNS + 1))
        ]
        for row in empty:
            if self.free(row, 1) and self.open(row, 1):
                return row, 1
        for row in range(1, ROWS + 1):
            start = self.after(row)
            for column in range(start, min(start + FREE, COLUMNS) + 1):
                if self.free(row, column) and self.open(row, column):
                    return row, column
        last = max((column for _, column in self.sheet.cells.cells), default=0)
        columns = range(last + 1, bounds.COLUMNS + 1)
        beside = next((one for one in columns if self.free(1, one)), None)
        if beside:
            return 1, beside
        return next(
            (row, 1)
            for row in range(self.sheet.cells.extent[0] + 2, bounds.ROWS + 1)
            if (row, 1) not in self.sheet.cells.cells
        )

    def after(self, row: int) -> int:
        """The first column that the text of the row's last filled cell on the first screen does not
        reach.
        """
        filled = [c for c in range(1, COLUMNS + 1) if self.sheet.value(row, c) is not None]
        if not filled:
            return 1
        value = self.sheet.value(row, filled[-1])
        need = len(value) * LARGE if isinstance(value, str) else 0.0
        column = filled[-1]
        while need > 0 and column <= COLUMNS:
            need -= self.widths.get(column, WIDTH)
            column += 1
        return max(column, filled[-1] + 1)


def _widths(data: bytes) -> Iterator[tuple[int, float]]:
    """Widths of the first columns in characters; 0 for a hidden one."""
    for tag in _COLUMN.findall(data[: data.find(b"<sheetData") + 1 or None]):
        given = {name.decode(): value.decode() for name, value in _ATTRIBUTE.findall(tag)}
        try:
            first, last = int(given["min"]), int(given["max"])
            width = 0.0 if given.get("hidden") in ("1", "true") else float(given["width"])
        except (KeyError, ValueError):
            continue
        for column in range(first, min(last, 2 * COLUMNS) + 1):
            yield column, width
