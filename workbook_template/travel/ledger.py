"""The hidden sheet in which a shared copy carries its frozen formulas home.

A hidden sheet, not a custom part of the package: LibreOffice and openpyxl drop custom parts when
they save, every program keeps a sheet, and whoever gets the copy can look at it. Its first column
refers to the cells it is about, so that rows inserted into the copy show on the way back.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any
from xml.sax.saxutils import escape

from workbook_template.travel import bounds, seal
from workbook_template.travel.native_functions import normal
from workbook_template.travel.ooxml.addresses import address, block, position, quoted, shown
from workbook_template.travel.ooxml.edit import content_of
from workbook_template.travel.ooxml.elements import elements
from workbook_template.travel.ooxml.stored_book import ErrorCode, StoredBook, StoredSheet
from workbook_template.travel.ooxml.tokens import corners, is_external, sheet_of, tokens
from workbook_template.travel.rules import rules
from workbook_template.user_errors import BookError

TITLE = "spargesheet formulas"
MARK = "Formulas of this copy, frozen to values by spargesheet"
HEADER = (
    "cell now",
    "kind",
    "sheet",
    "cell",
    "formula or text",
    "value when shared",
    "area",
    "number in full",
)
#: ``formula``: a frozen formula. ``input``: a cell that formulas read. ``note``: a text that tells
#: of the copy. ``native``: marks of the other formulas of a sheet, see :func:`natives`.
KINDS = ("formula", "input", "note", "native")
_FIRST = 4
#: Elements of a table's part that hold formulas.
TABLE_FORMULAS = ("calculatedColumnFormula", "totalsRowFormula")
#: How the marks of rules begin.
RULE = "?"
_LETTERS = "ABCDEFGHIJK"
_DIGITS = 12
#: Texts of fewer characters are written once for all rows that have them.
_REPEATED = 40
#: LibreOffice keeps 20 decimals of a number in an .ods file.
TINY = 1e-20


@dataclass(frozen=True)
class LedgerEntry:
    """One cell of the ledger; its kind is one of :data:`KINDS`."""

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
    entries: tuple[LedgerEntry, ...]
    sheet: StoredSheet | None = None
    count: int | None = None
    sealed: str | None = None

    @property
    def status(self) -> str:
        """What stands in the copy where the add-in would say its version."""
        return status(self.made)

    def of(self, kind: str) -> list[LedgerEntry]:
        """The entries of a kind."""
        return [entry for entry in self.entries if entry.kind == kind]

    @property
    def content(self) -> list:
        """All that the seal covers, the same whichever program saved the sheet."""
        head = [self.version, self.made, self.source, len(self.entries)]
        return head + [
            [
                entry.kind,
                entry.sheet,
                entry.row,
                entry.column,
                entry.text.strip(),
                _plainly(entry.value),
                entry.area,
                entry.dynamic,
            ]
            for entry in self.entries
        ]

    def verdict(self) -> seal.Verdict:
        """What count and seal say: a wrong count is found without the key."""
        if self.count is not None and self.count != len(self.entries):
            return seal.Verdict.CHANGED
        return seal.verdict(self.sealed, self.content)


def _plainly(value: Any) -> Any:
    """A value as the seal reads it: an empty text is an empty cell."""
    if value is None or value == "":
        return None
    if isinstance(value, bool):
        return f"bool {value}"
    if isinstance(value, (int, float)):
        return f"number {float(value) + 0.0!r}"
    return f"error {value}" if isinstance(value, ErrorCode) else value.strip()


def status(made: str) -> str:
    """What a copy of this day answers in place of ADDIN_STATUS."""
    return f"copy of {made[:10]}, no add-in"


def sheet_part(ledger: Ledger, written: Sequence[str] = ()) -> bytes:
    """The hidden sheet as a worksheet part, counted and sealed with this machine's key.

    ``written`` are the rows of its first entries, where they were made before.
    """
    told = ("version", ledger.version, "made", ledger.made, "from", ledger.source)
    sealed = seal.digest(seal.made_key(), ledger.content)
    rows = [
        _row(1, (MARK,)),
        _row(2, (*told, "rows", float(len(ledger.entries)), "seal", sealed)),
        _row(3, HEADER, first=1),
        *written,
        *entry_rows(ledger.entries[len(written) :], len(written)),
    ]
    return (
        '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n<worksheet'
        ' xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
        + "".join(rows)
        + "</sheetData></worksheet>"
    ).encode()


def entry_rows(entries: Sequence[LedgerEntry], before: int = 0) -> list[str]:
    """The rows of entries that stand after ``before`` others."""
    rows = []
    names = {entry.sheet: escape(quoted(entry.sheet)) for entry in entries}
    for number, entry in enumerate(entries, _FIRST + before):
        place = address(entry.row, entry.column)
        kind, content = content_of(0.0 if entry.value is None else entry.value, True)
        formula = f"<f>{names[entry.sheet]}!{place}</f>"
        follows = f'<c r="A{number}"{_type(kind)}>{formula}{content.decode()}</c>'
        area = entry.area + (" dynamic" if entry.dynamic else "")
        values = (entry.kind, entry.sheet, place, entry.text or None, entry.value, area or None)
        rows.append(_row(number, (*values, _in_full(entry.value)), follows))
    return rows


def _in_full(value: Any) -> str | None:
    """All digits of a number that has more than other programs are sure to keep, as a text."""
    if isinstance(value, bool) or not isinstance(value, float):
        return None
    return repr(value) if float(f"{value:.{_DIGITS}g}") != value else None


def _row(number: int, values: tuple, cells: str = "", first: int = 2) -> str:
    pieces = [f'<row r="{number}">', cells]
    for letter, value in zip(_LETTERS[first - 1 :], values):
        if value is not None:
            pieces.append(f'<c r="{letter}{number}"{_rest(value)}')
    pieces.append("</row>")
    return "".join(pieces)


def _rest(value: Any) -> str:
    """What follows a cell's address."""
    if isinstance(value, str) and len(value) < _REPEATED:
        return _rest_of_text(value)
    kind, content = content_of(value, False)
    return f"{_type(kind)}>{content.decode()}</c>"


@lru_cache(maxsize=5_000, typed=True)
def _rest_of_text(value: str) -> str:
    """As :func:`_rest`, for texts that come again in many rows."""
    kind, content = content_of(value, False)
    return f"{_type(kind)}>{content.decode()}</c>"


def _type(kind: str) -> str:
    return f' t="{kind}"' if kind else ""


def find(book: StoredBook) -> Ledger | None:
    """The ledger of a shared copy, or None; BookError where rows or columns were moved since."""
    for sheet in book.sheets:
        if sheet.name.startswith(TITLE) and sheet.value(1, 2) == MARK:
            return _read(book, sheet)
    return None


def _read(book: StoredBook, sheet: StoredSheet) -> Ledger:
    entries = []
    for row in range(_FIRST, sheet.cells.extent[0] + 1):
        read = [sheet.value(row, column) for column in range(2, 9)]
        kind, name, cell, text, value, area, full = read
        if all(content in (None, "") for content in read):
            continue
        if full is not None:
            value = _same_in_full(value, full)
        if (
            kind not in KINDS
            or value is _DIFFERENT
            or not isinstance(name, str)
            or not isinstance(cell, str)
            or not isinstance(text or "", str)
            or not isinstance(area or "", str)
            or book.find(name) is None
            or len(text or "") > bounds.FORMULA_CHARACTERS
            or (kind == "formula" and not text)
        ):
            raise BookError(
                f"{book.package.title}: row {row} of its hidden sheet {sheet.name!r} was changed;"
                " the formulas cannot be put back from it"
            )
        place = position(cell, sheet.name)
        span, _, dynamic = (area or "").partition(" ")
        if span and block(span, sheet.name)[:2] != place:
            raise BookError(
                f"{book.package.title}: row {row} of its hidden sheet {sheet.name!r} was changed;"
                " the formulas cannot be put back from it"
            )
        entry = LedgerEntry(kind, name, *place, text or "", value, span, bool(dynamic))
        _require_in_place(book, sheet, row, entry)
        entries.append(entry)
    count, sealed = sheet.value(2, 9), sheet.value(2, 11)
    return Ledger(
        str(sheet.value(2, 3)),
        str(sheet.value(2, 5)),
        str(sheet.value(2, 7)),
        tuple(entries),
        sheet,
        int(count) if isinstance(count, float) else None,
        sealed if isinstance(sealed, str) else None,
    )


_DIFFERENT = object()


def _same_in_full(value: Any, full: Any) -> Any:
    """The number with all its digits, where the two agree as far as any program keeps them."""
    try:
        number = float(full)
    except (TypeError, ValueError):
        return _DIFFERENT
    near = isinstance(value, float) and abs(value - number) <= 1e-9 * abs(number) + TINY
    return number if near else _DIFFERENT


def _require_in_place(book: StoredBook, sheet: StoredSheet, row: int, entry: LedgerEntry) -> None:
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
        f"{book.package.title}: rows, columns or sheets were inserted, deleted or renamed in the"
        f" copy ({entry.shown} is now {now}); undo that in the copy and restore it again"
    )


def inputs(book: StoredBook, speller, frozen: set) -> list[LedgerEntry]:
    """Cells without a formula that formulas of the book read, with their values.

    The frozen cells are left out, and those that an array formula fills: nobody types there.
    At most ``bounds.REMEMBERED_INPUTS`` of them, in the order in which they are read.
    """
    found: dict[tuple[str, int, int], None] = {}
    seen: set = set()
    for sheet in book.sheets:
        for (row, column), formula in sheet.cells.formulas.items():
            for token in tokens(speller.spelled(formula.text, sheet.name, row, column)):
                if token.kind != "reference" or is_external(token.prefix):
                    continue
                target = book.find(sheet_of(token.prefix)) if token.prefix else sheet
                area = corners(token.core)
                if target is None or (target.name, area) in seen:
                    continue
                seen.add((target.name, area))
                for place in _cells_of(target, area):
                    cell = target.cells.cells.get(place)
                    typed = not (cell and cell.formula) and place not in target.cells.filled
                    if typed and (target.name, *place) not in frozen:
                        found[(target.name, *place)] = None
            if len(found) >= bounds.REMEMBERED_INPUTS:
                break
    entries = []
    for name, row, column in list(found)[: bounds.REMEMBERED_INPUTS]:
        entries.append(
            LedgerEntry("input", name, row, column, value=book.sheet(name).value(row, column))
        )
    return entries


def _cells_of(sheet: StoredSheet, area: tuple[int, int, int, int]) -> list[tuple[int, int]]:
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


def marks(
    book: StoredBook, without: Collection[tuple[str, int, int]] = ()
) -> Iterator[tuple[str, str, int, int]]:
    """Every formula of a book outside the hidden sheet but for some cells: its mark, and sheet, row
    and column (0, 0 outside cells).

    A mark is the cell and a short digest of the formula's normal text; names begin with ``:``,
    rules (conditional formats and validations with their bounds and cells, page elements) with
    ``?``, formulas of tables with ``~``. Names of the whole book count to the first sheet.
    """
    first = book.sheets[0].name
    for sheet in book.sheets:
        for (row, column), formula in sheet.cells.formulas.items():
            if (sheet.name, row, column) not in without:
                yield mark(address(row, column), formula.text), sheet.name, row, column
        for rule in rules(sheet):
            yield mark(RULE, rule.key), sheet.name, 0, 0
    for name in book.names:
        yield mark(f":{name.name}", name.text), name.sheet or first, 0, 0
    for table in book.tables:
        for text in table_formulas(book, table):
            yield mark("~", text), table.sheet, 0, 0


def table_formulas(book: StoredBook, table) -> list[str]:
    """Formulas of a table's columns."""
    return [
        element.text
        for element in elements(book.package[table.part], table.part)
        if element.name in TABLE_FORMULAS
    ]


def mark(place: str, text: str) -> str:
    """The mark of a formula: its place, and a short digest of its normal text."""
    return f"{place} {hashlib.sha256(normal(text).encode()).hexdigest()[:_DIGITS]}"


def natives(book: StoredBook, frozen: set) -> list[LedgerEntry]:
    """What the copy's own formulas are when it is sent, so that new and changed ones show on the
    way back.

    Parameters
    ----------
    book
        The workbook as it is shared.
    frozen
        (sheet, row, column) of the cells whose formulas the ledger carries.
    """
    found: dict[str, list[str]] = {}
    for made, sheet, _, _ in marks(book, frozen):
        found.setdefault(sheet, []).append(made)
    entries = []
    for sheet, all_of_it in found.items():
        text = ""
        for made in sorted(all_of_it):
            if len(text) + len(made) >= bounds.FORMULA_CHARACTERS:
                entries.append(LedgerEntry("native", sheet, 1, 1, text))
                text = ""
            text += ("|" if text else "") + made
        entries.append(LedgerEntry("native", sheet, 1, 1, text))
    return entries


def known(carried: Ledger) -> set[tuple[str, str]]:
    """(sheet in small letters, mark) of the copy's own formulas when it was sent."""
    return {
        (entry.sheet.lower(), made)
        for entry in carried.of("native")
        for made in entry.text.split("|")
    }
