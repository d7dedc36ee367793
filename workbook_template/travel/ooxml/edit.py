"""Edits of a sheet's cells by bytes: a value, a frozen formula, a formula put back; every other
byte stays.
"""

from __future__ import annotations

from functools import cached_property
from xml.sax.saxutils import escape, quoteattr

from workbook_template.travel.ooxml.addresses import address
from workbook_template.travel.ooxml.cell_records import Cell, RowTags
from workbook_template.travel.ooxml.elements import (
    escaped,
    spliced,
    tag_end,
    tag_name,
    with_attribute,
    without_attributes,
)
from workbook_template.travel.ooxml.stored_book import ErrorCode, StoredSheet
from workbook_template.user_errors import BookError


class Note(str):
    """A text that is to look like a remark: small, grey, in italics, without touching the book's
    styles.
    """

    __slots__ = ()


class SheetEdit:
    """Collects edits of one sheet; :meth:`tobytes` is the part with all of them."""

    def __init__(self, sheet: StoredSheet):
        self.sheet = sheet
        self.cells = sheet.cells
        if self.cells.sheet_data is None:
            raise BookError(f"{sheet.part} is damaged: it holds no cells")
        self.sheet_data = self.cells.sheet_data
        self.data = sheet.book.package[sheet.part]
        self.edits: list[tuple[int, int, bytes]] = []
        self._added: dict[int, dict[int, bytes]] = {}
        #: Cells that were edited: number of the edit, new value, and whether the formula stays.
        self._edited: dict[tuple[int, int], tuple[int, object, bool]] = {}

    def refresh(self, row: int, column: int, value) -> None:
        """Another value; a formula stays as it is."""
        self._put(row, column, value, keep=True)

    def freeze(self, row: int, column: int, value) -> None:
        """The value instead of the formula."""
        self._put(row, column, value, keep=False)

    def put_formula(
        self, row: int, column: int, text: str, value, area: str = "", dynamic: bool = False
    ) -> None:
        """A formula, with its value or None where it has none, instead of what the cell holds."""
        kind = f' t="array" ref={quoteattr(area)}' if area else ""
        self._put(row, column, value, keep=False, formula=(kind, text), dynamic=dynamic)

    def clear(self, row: int, column: int) -> None:
        """Take the content out of a cell that keeps its style."""
        cell = self.cells.cells.get((row, column))
        if cell:
            tag = self.data[cell.start : tag_end(self.data, cell.start)]
            tag = without_attributes(tag, "t", "vm", "cm").rstrip(b"/>").rstrip()
            self._edited[row, column] = len(self.edits), None, False
            self.edits.append((cell.start, cell.end, tag + b"/>"))

    def erase(self, row: int, column: int) -> None:
        """Take a cell out, with its style."""
        cell = self.cells.cells.get((row, column))
        if cell:
            self._edited[row, column] = len(self.edits), None, False
            self.edits.append((cell.start, cell.end, b""))

    def replace(self, start: int, end: int, new: bytes) -> None:
        """Other bytes, outside the cells."""
        self.edits.append((start, end, new))

    def _put(self, row, column, value, keep, formula=None, dynamic=False) -> None:
        cell = self.cells.cells.get((row, column))
        if cell is None:
            tag = f"<{self._prefix}c r={quoteattr(address(row, column))}>".encode()
            self._added.setdefault(row, {})[column] = self._cell(
                tag, None, value, False, formula, dynamic
            )
            return
        tag = self.data[cell.start : tag_end(self.data, cell.start)]
        self._edited[row, column] = len(self.edits), value, keep
        self.edits.append(
            (cell.start, cell.end, self._cell(tag, cell, value, keep, formula, dynamic))
        )

    @cached_property
    def _prefix(self) -> str:
        """Prefix of the main namespace in this part, with its colon, or nothing."""
        return tag_name(self.data, self.sheet_data.start).decode().removesuffix("sheetData")

    def _cell(
        self, tag: bytes, cell: Cell | None, value, keep: bool, formula, dynamic: bool
    ) -> bytes:
        """A whole cell element."""
        prefix = self._prefix
        kept, rest = b"", b""
        if cell is not None:
            spans = list(cell.values)
            if cell.formula:
                spans.append((cell.formula.start, cell.formula.end))
                kept = self.data[cell.formula.start : cell.formula.end] if keep else b""
            inner = cell.start + len(tag)
            if sum(end - start for start, end in spans) < cell.close - inner:
                rest = spliced(
                    self.data[inner : cell.close],
                    [(start - inner, end - inner, b"") for start, end in spans],
                ).strip()
        if formula:
            kept = (
                f"<{prefix}f{formula[0]}>".encode()
                + escape(formula[1]).encode()
                + f"</{prefix}f>".encode()
            )
        kind, content = content_of(value, bool(kept), prefix)
        name = tag_name(tag, 0)
        tag = without_attributes(tag, "t", "vm", *(() if keep else ("cm",)))
        if kind:
            tag = with_attribute(tag, "t", kind)
        if dynamic:
            tag = with_attribute(tag, "cm", "1")
        if tag.endswith(b"/>"):
            tag = tag[:-2].rstrip() + b">"
        return tag + kept + content + rest + b"</" + name + b">"

    def _insert(self) -> None:
        """Place the cells that the file does not have yet, in new rows where need be."""
        data_place, rows = self.sheet_data, self.cells.rows
        numbers = sorted(rows)
        by_row: dict[int, list[int]] = {}
        for row, column in self.cells.cells:
            if row in self._added:
                by_row.setdefault(row, []).append(column)
        new_rows: list[bytes] = []
        for row in sorted(self._added):
            cells = self._added[row]
            if row not in rows:
                body = b"".join(cells[column] for column in sorted(cells))
                new = (
                    f'<{self._prefix}row r="{row}">'.encode()
                    + body
                    + f"</{self._prefix}row>".encode()
                )
                after = next((number for number in numbers if number > row), None)
                if after is not None:
                    self.edits.append((rows[after].start, rows[after].start, new))
                else:
                    new_rows.append(new)
                continue
            self._insert_cells(rows[row], cells, sorted(by_row.get(row, [])), row)
        if not new_rows:
            return
        if data_place.close == data_place.end:
            tag = self.data[data_place.start : data_place.end]
            self.edits.append((data_place.start, data_place.end, _opened(tag, b"".join(new_rows))))
        else:
            self.edits.append((data_place.close, data_place.close, b"".join(new_rows)))

    def _insert_cells(
        self, place: RowTags, cells: dict[int, bytes], present: list[int], row: int
    ) -> None:
        tag = self.data[place.start : tag_end(self.data, place.start)]
        if place.close == place.end:
            body = b"".join(cells[column] for column in sorted(cells))
            self.edits.append(
                (place.start, place.end, _opened(without_attributes(tag, "spans"), body))
            )
            return
        self.edits.append((place.start, place.start + len(tag), without_attributes(tag, "spans")))
        for column in sorted(cells):
            after = next((number for number in present if number > column), None)
            at = self.cells.cells[row, after].start if after else place.close
            self.edits.append((at, at, cells[column]))

    def _spell_out(self) -> None:
        """Write in full the formulas whose text stands in a cell that has another content now.

        Of a formula that was filled down a program stores the text in the first cell alone.
        """
        formulas = self.cells.formulas
        gone = {
            formulas[place].group
            for place, (_, _, keep) in self._edited.items()
            if not keep and place in formulas and formulas[place].leads
        }
        if not gone:
            return
        for place, formula in formulas.items():
            number, value, keep = self._edited.get(place, (-1, self.sheet.value(*place), True))
            if formula.group in gone and keep:
                self.put_formula(*place, formula.text, value)
                if number >= 0:
                    self.edits[number] = self.edits.pop()

    def tobytes(self) -> bytes:
        """The part with the edits."""
        self._spell_out()
        if self._added:
            self._insert()
            self._added = {}
        return spliced(self.data, self.edits)


def _opened(tag: bytes, body: bytes) -> bytes:
    """A tag that closed itself, with a body."""
    return tag[:-2].rstrip() + b">" + body + b"</" + tag_name(tag, 0) + b">"


def content_of(value, formula: bool, prefix: str = "") -> tuple[str, bytes]:
    """Type letter and content of a cell for a value.

    A text of no formula is an inline text: whatever it begins with (``=``, ``+``, ``-``, ``@``), it
    stays text.
    """
    if value is None:
        return "", b""
    if isinstance(value, ErrorCode):
        kind, text = "e", str(value)
    elif isinstance(value, bool):
        kind, text = "b", str(int(value))
    elif isinstance(value, str):
        if not formula:
            opened = closed = ""
            if isinstance(value, Note):
                look = (
                    f'<{prefix}rPr><{prefix}i/><{prefix}sz val="8"/><{prefix}color rgb="FF808080"/>'
                )
                look += f'<{prefix}rFont val="Calibri"/></{prefix}rPr>'
                opened, closed = f"<{prefix}r>{look}", f"</{prefix}r>"
            space = ' xml:space="preserve"' if value != value.strip() or "\n" in value else ""
            return "inlineStr", (
                f"<{prefix}is>{opened}<{prefix}t{space}>".encode()
                + escaped(value)
                + f"</{prefix}t>{closed}</{prefix}is>".encode()
            )
        kind, text = "str", value
    else:
        return "", f"<{prefix}v>{number_text(value)}</{prefix}v>".encode()
    return kind, f"<{prefix}v>".encode() + escaped(text) + f"</{prefix}v>".encode()


def number_text(value: float) -> str:
    """A number as a cell stores it: the shortest text that reads back as the same number."""
    return str(int(value)) if value == int(value) and abs(value) < 1e15 else repr(float(value))
