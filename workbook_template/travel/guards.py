"""Native formulas that read frozen cells say so too where one of these no longer knows its figure.

``IF(ISNUMBER(G1),1,0)`` and ``SUM(G1:G9)`` would make a 0 or a short total of the words in ``G1``.
So a native formula that reads a frozen cell, by itself or through other formulas, becomes
``IF(COUNTIF(G1,"changed: ask the sender")>0,"changed: ask the sender",<the formula>)``.
:func:`lifted` takes that off again; the formula inside stays as it is.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from typing import NamedTuple

from workbook_template.travel import trust
from workbook_template.travel.dependencies import reads_unnamed
from workbook_template.travel.edits import Edits
from workbook_template.travel.expressions import Call, Piece, Unreadable, parsed, solid, written
from workbook_template.travel.frozen import CHANGED
from workbook_template.travel.ooxml.addresses import address
from workbook_template.travel.ooxml.cell_records import StoredFormula
from workbook_template.travel.ooxml.stored_book import StoredBook, StoredSheet
from workbook_template.travel.ooxml.tokens import corners, is_external, sheet_of, tokens

#: Times that the formulas are gone through; what is left then counts as reading a frozen cell.
ROUNDS = 40
_WORDS = f'"{CHANGED}"'


class Read(NamedTuple):
    """A part of a formula that reads cells: its text in the formula, and where it leads."""

    text: str
    sheet: str
    area: tuple[int, int, int, int]


class Frozen:
    """Cells that may say that their figure is not known, by sheet and column."""

    def __init__(self):
        self._rows: dict[tuple[str, int], list[int]] = {}
        self._columns: dict[str, list[int]] = {}

    def add(self, sheet: str, row: int, column: int) -> None:
        """One more cell."""
        rows = self._rows.get((sheet, column))
        if rows is None:
            rows = self._rows[sheet, column] = []
            insort(self._columns.setdefault(sheet, []), column)
        insort(rows, row)

    def meets(self, read: Read) -> bool:
        """Whether an area has one of the cells."""
        top, left, bottom, right = read.area
        columns = self._columns.get(read.sheet, [])
        for column in columns[bisect_left(columns, left) :]:
            if column > right:
                return False
            rows = self._rows[read.sheet, column]
            at = bisect_left(rows, top)
            if at < len(rows) and rows[at] <= bottom:
                return True
        return False


def guards(
    book: StoredBook, speller, ours: set
) -> tuple[dict[tuple[str, int, int], list[str]], list]:
    """What each formula reads of frozen cells, as it stands in the formula; and cells that read one
    cannot tell what.

    Parameters
    ----------
    book
        The book as it was, with its formulas.
    speller
        Spells its names and tables out.
    ours
        Cells (sheet, row, column) whose formula calls the catalogue.
    """
    frozen = Frozen()
    read: dict[tuple[str, int, int], list[Read]] = {}
    waiting: dict[tuple[str, int, int], StoredFormula] = {}
    elsewhere = []
    for sheet in book.sheets:
        for (row, column), formula in sheet.cells.formulas.items():
            if formula.kind == "dataTable" or not formula.text:
                continue
            place = (sheet.name, row, column)
            read[place] = list(reads(book, speller, sheet, row, column, formula))
            if place in ours:
                _add(frozen, place, formula)
            else:
                waiting[place] = formula
            text = formula.text
            if not _plain(text) and reads_unnamed(speller.spelled(text, sheet.name, row, column)):
                elsewhere.append(place)
    for turn in range(ROUNDS + 1):
        before = len(waiting)
        for place, formula in list(waiting.items()):
            if read[place] and (turn == ROUNDS or any(map(frozen.meets, read[place]))):
                _add(frozen, place, formula)
                del waiting[place]
        if len(waiting) == before:
            break
    found = {}
    for place, parts in read.items():
        texts = list(dict.fromkeys(part.text for part in parts if frozen.meets(part)))
        if texts and place not in waiting:
            found[place] = texts
    return found, elsewhere


def _plain(text: str) -> bool:
    """Whether a formula surely reads the single cells that it names and no others."""
    return not any(sign in text for sign in ":#!") and not any(
        token.kind in ("name", "table")
        or (token.kind == "call" and token.core.upper() in trust.FAR)
        for token in tokens(text)
    )


def _add(frozen: Frozen, place: tuple[str, int, int], formula: StoredFormula) -> None:
    sheet, row, column = place
    top, left, bottom, right = formula.area or (row, column, row, column)
    for down in range(top, bottom + 1):
        for across in range(left, right + 1):
            frozen.add(sheet, down, across)


def reads(
    book: StoredBook, speller, sheet: StoredSheet, row: int, column: int, formula: StoredFormula
):
    """The areas that a formula reads, with the text by which it reads them."""
    for token in tokens(formula.text):
        if token.kind not in ("reference", "name", "table"):
            continue
        if token.kind == "reference" and token.prefix is None:
            yield Read(token.text, sheet.name, corners(token.core))
            continue
        spelled = list(tokens(speller.spelled(token.text, sheet.name, row, column)))
        for one in spelled:
            if one.kind != "reference" or is_external(one.prefix):
                continue
            target = book.find(sheet_of(one.prefix)) if one.prefix else sheet
            if target is not None:
                text = token.text if len(spelled) == 1 else one.text
                yield Read(text, target.name, corners(one.core))


def with_guard(text: str, read: list[str]) -> str:
    """A formula with its guard; none where it passes on one cell as it is, and where it would be
    too long.
    """
    if not read or (len(read) == 1 and text.strip() == read[0] and ":" not in text):
        return text
    counts = "+".join(f"COUNTIF({one},{_WORDS})" for one in read)
    return f"IF({counts}>0,{_WORDS},{text})"


def lifted(book: StoredBook, edits: Edits, others: set) -> None:
    """Take the guards off the formulas of a copy, as far as they are there; cells in ``others`` are
    left alone.
    """
    for sheet in book.sheets:
        for (row, column), formula in sheet.cells.formulas.items():
            inside = without_guard(formula.text)
            if inside is not None and (sheet.name, row, column) not in others:
                top, left, bottom, right = formula.area or (0, 0, 0, 0)
                area = f"{address(top, left)}:{address(bottom, right)}" if formula.area else ""
                value = sheet.value(row, column)
                if value == CHANGED:  # what the guard said, not the formula
                    value = None
                edits.of(sheet).put_formula(row, column, inside, value, area, formula.dynamic)


def without_guard(text: str) -> str | None:
    """The formula inside a guard, None where there is no guard around it."""
    if CHANGED not in text or "COUNTIF" not in text.upper():
        return None
    try:
        items = solid(parsed(text))
    except Unreadable:
        return None
    only = items[0] if len(items) == 1 else None
    if not isinstance(only, Call) or only.native != "IF" or len(only.arguments) != 3:
        return None
    counts, words = solid(only.arguments[0]), written(only.arguments[1]).strip()
    if words != _WORDS or "".join(_bare(counts[-2:])) != ">0":
        return None
    for node in counts[:-2]:
        plus = isinstance(node, Piece) and node.text == "+"
        count = (
            isinstance(node, Call)
            and node.native == "COUNTIF"
            and len(node.arguments) == 2
            and written(node.arguments[1]).strip() == _WORDS
        )
        if not plus and not count:
            return None
    return written(only.arguments[2]).strip()


def _bare(nodes: list) -> list[str]:
    return [node.text if isinstance(node, Piece) else "()" for node in nodes]
