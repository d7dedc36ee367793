"""Rows of a sheet that are spelled as nearly every program spells them, read by one expression.

expat calls back for each tag and each text, which is most of the time that a long sheet takes.
Here a cell is one match. What does not match in full is left to expat, from the row that it stands
in to the end; and the attributes of a tag are read by expat too, once for each way in which they
are spelled, so that it alone judges their names, prefixes and entities.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from xml.sax.saxutils import unescape

from workbook_template.travel import bounds
from workbook_template.travel.ooxml.addresses import column_number
from workbook_template.travel.ooxml.cell_records import (
    Cell,
    FormulaReader,
    RowTags,
    StoredFormula,
)

_TAG = rb"((?:\s[^<>/\"]*(?:\"[^<>\"]*\"[^<>/\"]*)*)?)"
#: Neither a carriage return, which XML reads as a line feed, nor ``>``, which may end a ``]]>``.
_PLAIN = rb"[^<>&\x00-\x08\x0b-\x1f]*"
_TEXT = rb"(" + _PLAIN + rb"(?:&(?:amp|lt|gt|quot|apos);" + _PLAIN + rb")*)"
_PIECE = re.compile(
    rb"<c r=\"([A-Z]{1,3})([1-9][0-9]{0,6})\"" + _TAG + rb"(?:/>|>"
    rb"(?:<f" + _TAG + rb"(?:/>|>" + _TEXT + rb"</f>))?"
    rb"(?:<v>" + _TEXT + rb"</v>|(<v/>)"
    rb"|(<is>)<t(?: xml:space=\"preserve\")?>" + _TEXT + rb"</t></is>)?"
    rb"</c>)|(</row>)|<row r=\"([1-9][0-9]{0,6})\"" + _TAG + rb"(/?)>"
)
_QUOTES = {"&quot;": '"', "&apos;": "'"}
_SLASH = ord("/")


class Unplain(Exception):
    """Something is left to expat."""


class PlainRows:
    """The plain rows at the beginning of a sheet's data.

    ``attributes`` gives those of an empty element, as expat reads them, or raises
    :class:`Unplain`. ``last`` is the last row that was read.
    """

    def __init__(
        self,
        data: bytes,
        formulas: FormulaReader,
        attributes: Callable[[bytes], dict[str, str]],
    ):
        self.data, self.formulas, self.spent = data, formulas, formulas.spent
        self.cells: dict[tuple[int, int], Cell] = {}
        self.rows: dict[int, RowTags] = {}
        self.last = 0
        self._ask = attributes
        #: Cells of the row that is open, or None.
        self._open: dict[tuple[int, int], Cell] | None = None
        self._digits = b""
        self._row = self._column = self._begin = 0
        self._columns: dict[bytes, int] = {}
        self._kinds: dict[bytes, tuple[str, bool]] = {}
        self._formula_tags: dict[bytes, dict[str, str]] = {b"": {}}
        self._row_tags: set[bytes] = {b""}

    def read(self, at: int) -> int:
        """Read from an offset on; the offset of the first row that is not plain."""
        done, spent = at, self.spent.state()
        cell = self._cell
        try:
            for match in _PIECE.finditer(self.data, at):
                begin, end = match.span()
                if begin != at:
                    break
                at = end
                if match[1] is not None:
                    cell(match, begin, end)
                    continue
                if match[11] is not None:
                    self._row_begins(match, begin)
                if match[11] is None or match[13]:
                    self._row_ends(begin if match[11] is None else end, end)
                    done, spent = end, self.spent.state()
        except (Unplain, UnicodeDecodeError):
            pass
        self.spent.restore(spent)
        return done

    def _row_begins(self, match: re.Match[bytes], begin: int) -> None:
        digits, tag = match[11], match[12]
        row = int(digits)
        if self._open is not None or not self.last < row <= bounds.ROWS:
            raise Unplain
        if tag not in self._row_tags:
            self._ask(b'<row r="1"' + tag + b"/>")
            self._row_tags.add(tag)
        self._open, self._digits, self._row, self._column = {}, digits, row, 0
        self._begin = begin

    def _row_ends(self, close: int, end: int) -> None:
        if self._open is None or self._column > bounds.COLUMNS:
            raise Unplain
        self.spent.cells += 1 + len(self._open)
        if self.spent.cells > bounds.CELLS:
            raise Unplain
        self.cells.update(self._open)
        self.rows[self._row] = RowTags(self._begin, close, end)
        self.last, self._open = self._row, None

    def _cell(self, match: re.Match[bytes], begin: int, end: int) -> None:
        letters, digits, tag, formula_tag, formula, value, empty, inline, text = match.group(
            1, 2, 3, 4, 5, 6, 7, 8, 9
        )
        column = self._columns.get(letters)
        if column is None:
            column = self._columns[letters] = column_number(letters.decode())
        if digits != self._digits or column <= self._column or self._open is None:
            raise Unplain
        self._column = column
        kind = self._kinds.get(tag)
        if kind is None:
            attributes = self._ask(b'<c r="A1"' + tag + b"/>")
            kind = self._kinds[tag] = attributes.get("t", "n"), "cm" in attributes
        read: StoredFormula | None = None
        if formula_tag is not None:
            read = self._formula(match, formula_tag, formula, column, kind[1])
        content: str | None = None
        places: tuple[tuple[int, int], ...] = ()
        if value is not None:
            content = plain_text(value)
            start, stop = match.span(6)
            places = ((start - 3, stop + 4),)
        elif inline is not None:
            content, places = plain_text(text), ((match.start(8), end - 4),)
        elif empty is not None:
            content, places = "", (match.span(7),)
        close = end if self.data[end - 2] == _SLASH else end - 4
        self._open[self._row, column] = Cell(kind[0], content, read, begin, close, end, places)

    def _formula(
        self, match: re.Match[bytes], tag: bytes, text: bytes | None, column: int, dynamic: bool
    ) -> StoredFormula:
        attributes = self._formula_tags.get(tag)
        if attributes is None:
            attributes = self._formula_tags[tag] = self._ask(b"<f" + tag + b"/>")
        begin = match.start(4) - 2
        end = match.end(4) + 2 if text is None else match.end(5) + 4
        formula = "" if text is None else plain_text(text)
        return self.formulas.read(self._row, column, attributes, dynamic, formula, begin, end)


def plain_text(spelled: bytes) -> str:
    """The text of an element that has nothing but characters and the five entities of XML."""
    text = spelled.decode()
    if "&" in text:
        text = unescape(text, _QUOTES)
    if not text.isascii() and ("\ufffe" in text or "\uffff" in text):
        raise Unplain
    return text
