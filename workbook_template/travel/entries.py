"""What a user typed into a workbook, whatever version made it: rows of tables and single cells, by
key.
"""

from __future__ import annotations

import re
from collections.abc import Set
from dataclasses import dataclass, field
from datetime import date
from typing import Any, NamedTuple

from workbook_template.template import description
from workbook_template.travel import ledger
from workbook_template.travel.described import tables_of
from workbook_template.travel.ooxml.addresses import shown
from workbook_template.travel.ooxml.elements import elements
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import ErrorCode, StoredBook
from workbook_template.user_errors import BookError

#: Days between the date systems of 1904 and of 1900.
EPOCHS = (date(1904, 1, 1) - date(1899, 12, 30)).days


class Entry(NamedTuple):
    """What stands in one cell, and where."""

    value: Any
    where: str


#: One row of a table: what was typed, by key.
RowEntries = dict[str, Entry]


@dataclass
class Entries:
    """All that was typed into a book.

    ``tables`` are rows by table, each with its number within the table from 0; empty rows are left
    out. ``cells`` are single cells by key, and ``empty`` the keys of those that were emptied.
    ``left`` says of cells what is in them and why it is no entry.
    """

    tables: dict[str, dict[int, RowEntries]] = field(default_factory=dict)
    cells: dict[str, Entry] = field(default_factory=dict)
    empty: set[str] = field(default_factory=set)
    left: list[tuple[str, str]] = field(default_factory=list)
    notes: list[tuple[str, str]] = field(default_factory=list)
    paper: str = "a4"
    #: Days to add to its dates.
    shift: int = 0

    def put_cell(self, key: str, entry: Entry | None) -> None:
        """What stands in a single cell, or that nothing does."""
        if entry is None:
            self.empty.add(key)
        else:
            self.cells[key] = entry

    def put(self, table: str, number: int, key: str, entry: Entry | None) -> None:
        """One more cell of a row."""
        if entry is not None:
            self.tables.setdefault(table, {}).setdefault(number, {})[key] = entry


class Reader:
    """The cells of an old book, and which of them were asked for."""

    def __init__(self, package: Package):
        self.book = StoredBook(package)
        if ledger.find(self.book):
            raise BookError(f"{package.title} is a shared copy: restore it first, then carry it")
        since_1904 = self.book.settings.get("date1904") in ("1", "true")
        self.entries = Entries(paper=_paper(self.book), shift=EPOCHS if since_1904 else 0)
        self.seen: set[tuple[str, int, int]] = set()

    def entry(self, sheet: str, row: int, column: int, *, of_ours: bool = True) -> Entry | None:
        """What was typed into a cell, rows and columns from 1; nothing where it is empty.

        A formula that somebody typed into an input cell goes as its value, which is noted; where
        the cell is not one ``of_ours`` to type into, a formula is no entry.
        """
        self.seen.add((sheet, row, column))
        found = self.book.find(sheet)
        if found is None:
            return None
        cell = found.cells.cells.get((row, column))
        value = found.value(row, column)
        if value in (None, "") or cell is None or (cell.formula and not of_ours):
            return None
        where = shown(sheet, row, column)
        if isinstance(value, ErrorCode):
            self.entries.left.append((where, f"shows {value}, which is no entry"))
            return None
        if cell.formula:
            self.entries.notes.append(
                (
                    where,
                    f"holds a formula, ={cell.formula.text[:120]}: its value goes, {value!r:.40}",
                )
            )
        return Entry(value, where)

    def leftovers(self) -> None:
        """Name what stands in unlocked cells that nothing asked for, and sheets that are the user's
        own.
        """
        for where, row, column in self.not_seen():
            value = self.book.sheet(where).value(row, column)
            if (
                value not in (None, "")
                and not self.book.sheet(where).cells.cells[row, column].formula
            ):
                self.entries.left.append(
                    (shown(where, row, column), f"holds {value!r:.60}, which has no place")
                )

    def not_seen(self) -> list[tuple[str, int, int]]:
        """Unlocked cells that nothing asked for, empty ones too, row by row."""
        unlocked, found = _unlocked(self.book), []
        for sheet in self.book.sheets:
            if sheet.name in description.WITHOUT_INPUTS or sheet.name == description.NAME:
                continue
            data = self.book.package[sheet.part]
            for (row, column), cell in sorted(sheet.cells.cells.items()):
                if (sheet.name, row, column) in self.seen:
                    continue
                style = _STYLE.search(data, cell.start, data.find(b">", cell.start))
                if style and int(style[1]) in unlocked:
                    found.append((sheet.name, row, column))
        return found


_STYLE = re.compile(rb"\ss=[\"'](\d+)[\"']")


def _unlocked(book: StoredBook) -> set[int]:
    """Numbers of the cell formats that are not locked (ECMA-376 part 1, 18.3.1.4 and 18.8.33)."""
    found: set[int] = set()
    for part in book.related(book.part, "styles"):
        number = -1
        for element in sorted(elements(book.package[part], part), key=lambda e: e.start):
            if element.name == "xf" and element.path[-1:] == ("cellXfs",):
                number += 1
            elif (
                element.name == "protection"
                and element.path[-2:] == ("cellXfs", "xf")
                and element.attributes.get("locked") in ("0", "false")
            ):
                found.add(number)
    return found


def _paper(book: StoredBook) -> str:
    """The paper of the first sheet that says so."""
    for sheet in book.sheets:
        for element in sheet.cells.others:
            if element.name == "pageSetup" and element.attributes.get("paperSize"):
                return "letter" if element.attributes["paperSize"] == "1" else "a4"
    return "a4"


def described(
    package: Package, inputs: Set[tuple[str, str]], constants: Set[tuple[str, str]] = frozenset()
) -> Entries:
    """The entries of a book that describes itself; BookError where it does not.

    ``inputs`` are the tables and keys of the columns that are typed in a book of this version,
    ``constants`` of those that it writes itself, without a formula.
    """
    reader = Reader(package)
    for table, columns in tables_of(reader.book).items():
        if table != description.CELLS:
            reader.entries.tables.setdefault(table, {})
        for key, place in columns.items():
            if table == description.CELLS:
                entry = reader.entry(place.sheet, place.first, place.column)
                reader.entries.put_cell(key, entry)
                continue
            if (table, key) in constants:
                continue
            typed = (table, key) in inputs
            for number, row in enumerate(range(place.first, place.last + 1)):
                entry = reader.entry(place.sheet, row, place.column, of_ours=typed)
                if entry is None:
                    continue
                if typed:
                    reader.entries.put(table, number, key, entry)
                else:
                    reader.entries.left.append(
                        (
                            entry.where,
                            f"holds {entry.value!r:.60}, where the book works a figure out",
                        )
                    )
    reader.leftovers()
    return reader.entries
