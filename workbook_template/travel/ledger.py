"""The hidden sheet in which a shared copy carries its frozen formulas home.

A hidden sheet, not a custom part of the package: LibreOffice and openpyxl drop custom parts when they save, every
program keeps a sheet, and whoever gets the copy can look at it. Its first column refers to the cells it is about, so
that rows inserted into the copy show on the way back.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from xml.sax.saxutils import escape

from workbook_template.errors import BookError
from workbook_template.travel import bounds
from workbook_template.travel.ooxml.addresses import address, block, position, quoted, shown
from workbook_template.travel.ooxml.book import Book, Sheet
from workbook_template.travel.ooxml.edit import content_of
from workbook_template.travel.ooxml.tokens import corners, is_external, sheet_of, tokens

TITLE = "spargesheet formulas"
MARK = "Formulas of this copy, frozen to values by spargesheet"
HEADER = ("cell now", "kind", "sheet", "cell", "formula or text", "value when shared", "area")
_FIRST = 4


@dataclass(frozen=True)
class Entry:
    """One cell of the ledger: kind ``formula``, ``input`` or ``note``."""

    kind: str
    sheet: str
    row: int
    column: int
    text: str = ""
    value: Any = None
    area: str = ""
    dynamic: bool = False

    @property
    def shown(self) -> str:
        """The cell as findings name it."""
        return shown(self.sheet, self.row, self.column)


@dataclass(frozen=True)
class Ledger:
    """What a shared copy says about itself."""

    version: str
    made: str
    source: str
    entries: tuple[Entry, ...]
    sheet: Sheet | None = None

    def of(self, kind: str) -> list[Entry]:
        """The entries of a kind."""
        return [entry for entry in self.entries if entry.kind == kind]


def sheet_part(ledger: Ledger) -> bytes:
    """The hidden sheet as a worksheet part."""
    rows = [
        _row(1, (MARK,)),
        _row(2, ("version", ledger.version, "made", ledger.made, "from", ledger.source)),
        _row(3, HEADER, first=1),
    ]
    names = {entry.sheet: quoted(entry.sheet) for entry in ledger.entries}
    for number, entry in enumerate(ledger.entries, _FIRST):
        place = address(entry.row, entry.column)
        kind, content = content_of(0.0 if entry.value is None else entry.value, True)
        follows = f'<c r="A{number}"{_type(kind)}><f>{escape(names[entry.sheet])}!{place}</f>{content.decode()}</c>'
        area = entry.area + (" dynamic" if entry.dynamic else "")
        rows.append(
            _row(
                number,
                (entry.kind, entry.sheet, place, entry.text or None, entry.value, area or None),
                follows,
            )
        )
    return (
        '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n<worksheet xmlns="http://schemas.openxmlformats.org/'
        'spreadsheetml/2006/main"><sheetData>' + "".join(rows) + "</sheetData></worksheet>"
    ).encode()


def _row(number: int, values: tuple, cells: str = "", first: int = 2) -> str:
    for letter, value in zip("ABCDEFG"[first - 1 :], values):
        if value is not None:
            kind, content = content_of(value, False)
            cells += f'<c r="{letter}{number}"{_type(kind)}>{content.decode()}</c>'
    return f'<row r="{number}">{cells}</row>'


def _type(kind: str) -> str:
    return f' t="{kind}"' if kind else ""


def find(book: Book) -> Ledger | None:
    """The ledger of a shared copy, or None; BookError where rows or columns were moved since."""
    for sheet in book.sheets:
        if sheet.name.startswith(TITLE) and sheet.value(1, 2) == MARK:
            return _read(book, sheet)
    return None


def _read(book: Book, sheet: Sheet) -> Ledger:
    entries = []
    for row in range(_FIRST, sheet.cells.extent[0] + 1):
        kind, name, cell, text, value, area = (sheet.value(row, column) for column in range(2, 8))
        if kind is None and name is None:
            continue
        if (
            kind not in ("formula", "input", "note")
            or not isinstance(name, str)
            or not isinstance(cell, str)
            or not isinstance(text or "", str)
            or not isinstance(area or "", str)
            or book.sheet(name) is None
            or len(text or "") > bounds.FORMULA_CHARACTERS
            or (kind == "formula" and not text)
        ):
            raise BookError(
                f"{book.package.title}: row {row} of its hidden sheet {sheet.name!r} was changed; the formulas "
                "cannot be put back from it"
            )
        place = position(cell, sheet.name)
        span, _, dynamic = (area or "").partition(" ")
        if span and block(span, sheet.name)[:2] != place:
            raise BookError(
                f"{book.package.title}: row {row} of its hidden sheet {sheet.name!r} was changed; the formulas "
                "cannot be put back from it"
            )
        entry = Entry(kind, name, *place, text or "", value, span, bool(dynamic))
        _require_in_place(book, sheet, row, entry)
        entries.append(entry)
    return Ledger(
        str(sheet.value(2, 3)),
        str(sheet.value(2, 5)),
        str(sheet.value(2, 7)),
        tuple(entries),
        sheet,
    )


def _require_in_place(book: Book, sheet: Sheet, row: int, entry: Entry) -> None:
    """Refuse where the cell that follows the entry's cell went elsewhere."""
    formula = sheet.cells.formulas.get((row, 1))
    if formula is None:
        return
    found = [token for token in tokens(formula.text) if token.kind == "reference"]
    if len(found) == 1 and not is_external(found[0].prefix):
        name = sheet_of(found[0].prefix) or ""
        place = corners(found[0].core)[:2]
        if name.lower() == entry.sheet.lower() and place == (entry.row, entry.column):
            return
        now = shown(name, *place)
    else:
        now = "gone"
    raise BookError(
        f"{book.package.title}: rows, columns or sheets were inserted, deleted or renamed in the copy "
        f"({entry.shown} is now {now}); undo that in the copy and restore it again"
    )


def inputs(book: Book, speller, frozen: set) -> list[Entry]:
    """Cells without a formula that formulas of the book read, with their values; the frozen cells are left out.

    At most ``bounds.REMEMBERED_INPUTS`` of them, in the order in which they are read.
    """
    found: dict[tuple[str, int, int], None] = {}
    seen: set = set()
    for sheet in book.sheets:
        for (row, column), formula in sheet.cells.formulas.items():
            for token in tokens(speller.spelled(formula.text, sheet.name, row, column)):
                if token.kind != "reference" or is_external(token.prefix):
                    continue
                target = book.sheet(sheet_of(token.prefix)) if token.prefix else sheet
                area = corners(token.core)
                if target is None or (target.name, area) in seen:
                    continue
                seen.add((target.name, area))
                for place in _cells_of(target, area):
                    cell = target.cells.cells.get(place)
                    if (target.name, *place) not in frozen and not (cell and cell.formula):
                        found[(target.name, *place)] = None
            if len(found) >= bounds.REMEMBERED_INPUTS:
                break
    entries = []
    for name, row, column in list(found)[: bounds.REMEMBERED_INPUTS]:
        entries.append(Entry("input", name, row, column, value=book.sheet(name).value(row, column)))
    return entries


def _cells_of(sheet: Sheet, area: tuple[int, int, int, int]) -> list[tuple[int, int]]:
    """Cells of a reference: all of a small one, those that hold something of a large one."""
    top, left, bottom, right = area
    if (bottom - top + 1) * (right - left + 1) <= 100:
        return [
            (row, column) for row in range(top, bottom + 1) for column in range(left, right + 1)
        ]
    return [
        (row, column)
        for row, column in sheet.cells.cells
        if top <= row <= bottom and left <= column <= right
    ]
