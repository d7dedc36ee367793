"""The cells of a sheet part: values, formulas in full (shared ones spelled out) and their places in
the bytes.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from workbook_template.travel import bounds
from workbook_template.travel.ooxml.addresses import address, position
from workbook_template.travel.ooxml.cell_records import (
    Cell,
    FormulaReader,
    RowTags,
    Spent,
    StoredFormula,
)
from workbook_template.travel.ooxml.elements import (
    Element,
    local_attributes,
    parse,
    parser,
    tag_end,
)
from workbook_template.travel.ooxml.plain_rows import PlainRows, Unplain
from workbook_template.user_errors import BookError

#: Elements of a cell that are read, and elements outside the cells that somebody asks for.
_CONTENT = ("v", "f", "is")
_OTHERS = {"dimension", "pageSetup", "formula", "formula1", "formula2", "f"}
_RULES = {"dataValidation", "conditionalFormatting", "cfRule", "cfvo", "sqref"}
_GREATER, _SLASH = b">/"
_DATA = b"<sheetData>"


class Cells:
    """What one sheet part holds: ``cells`` by (row, column), ``rows``, and elements outside them.

    ``others`` are the dimension, the page set-up and the formulas of rules, ``rules`` what these
    formulas belong to.
    """

    def __init__(self, data: bytes, part: str, spent: Spent | None = None, plain: bool = True):
        spent = spent or Spent()
        before = spent.state()
        try:
            self._scan(data, part, spent, plain)
        except BookError:
            if not plain:
                raise
            spent.restore(before)  # expat alone says what is wrong, and where
            self._scan(data, part, spent, False)

    def _scan(self, data: bytes, part: str, spent: Spent, plain: bool) -> None:
        self.cells: dict[tuple[int, int], Cell] = {}
        self.rows: dict[int, RowTags] = {}
        self.others: list[Element] = []
        self.rules: list[Element] = []
        self.sheet_data: RowTags | None = None
        _Scan(self, data, part, spent, plain).run()

    @cached_property
    def extent(self) -> tuple[int, int]:
        """Last row and column that hold something."""
        used = [
            place for place, cell in self.cells.items() if cell.text is not None or cell.formula
        ]
        return (
            max((row for row, _ in used), default=0),
            max((column for _, column in used), default=0),
        )

    @cached_property
    def filled(self) -> set[tuple[int, int]]:
        """Cells that array formulas fill."""
        found = set()
        for formula in self.formulas.values():
            if formula.area:
                top, left, bottom, right = formula.area
                found |= {
                    (row, column)
                    for row in range(top, bottom + 1)
                    for column in range(left, right + 1)
                }
        return found

    @cached_property
    def formulas(self) -> dict[tuple[int, int], StoredFormula]:
        """The formulas by cell."""
        return {place: cell.formula for place, cell in self.cells.items() if cell.formula}


class _Scan:
    """One pass over a sheet part: expat, but for the plain rows at the beginning of its data.

    Between the tags of the sheet's data, where nearly all of a large part is, the handlers are
    others: ``level`` counts the elements that are open there (1 in a row, 2 in a cell, 3 in a value
    or formula).
    """

    def __init__(self, found: Cells, data: bytes, part: str, spent: Spent, plain: bool):
        self.found, self.data, self.part, self.spent = found, data, part, spent
        self.plain = plain
        self.formulas = FormulaReader(part, spent)
        self.parser = parser(part)
        #: How far the bytes that expat was given lie behind their place in the part.
        self.shift = 0
        self.path: list[str] = []
        self.level = self.ignored = 0
        self.row = self.column = 0
        self.row_start = self.data_start = self.cell_start = self.begin = 0
        self.in_row = self.in_cell = False
        self.inside: str | None = None
        self.text: list[str] | None = None
        self.opened: list[tuple] = []
        self.locals: dict[str, str] = {}

    def run(self) -> None:
        self.parser.StartElementHandler = self.start
        self.parser.EndElementHandler = self.end
        self.parser.CharacterDataHandler = self.characters
        parse(self.parser, self.data, self.part, self.pieces())

    def pieces(self) -> Iterator[bytes]:
        """What expat is to read: all but the plain rows."""
        begin = self.data.find(_DATA) + len(_DATA) if self.plain else len(self.data)
        yield self.data[:begin]
        at = begin
        if self.parser.StartElementHandler == self.start_inside and (
            self.data_start == begin - len(_DATA)
        ):
            plain = PlainRows(self.data, self.formulas, self.read_attributes)
            at = plain.read(begin)
            self.found.cells, self.found.rows, self.row = plain.cells, plain.rows, plain.last
            self.shift += at - begin
        yield self.data[at:]

    def read_attributes(self, element: bytes) -> dict[str, str]:
        """Those of an empty element, as expat reads it where it stands now."""
        found: list[dict[str, str]] = []
        self.parser.StartElementHandler = lambda _, attributes: found.append(attributes)
        self.parser.EndElementHandler = None
        self.parser.Parse(element, False)
        self.shift -= len(element)
        self.parser.StartElementHandler = self.start_inside
        self.parser.EndElementHandler = self.end_inside
        if len(found) != 1:
            raise Unplain
        return found[0]

    def place(self) -> int:
        """Offset in the part of what expat reads now."""
        return self.parser.CurrentByteIndex + self.shift

    def characters(self, text: str) -> None:
        if self.text is not None:
            self.text.append(text)

    # outside the sheet's data

    def start(self, name: str, attributes: dict[str, str]) -> None:
        name = name.rpartition(" ")[2]
        path = self.path
        if len(path) >= bounds.DEPTH:
            raise BookError(
                f"{self.part} nests its elements deeper than {bounds.DEPTH}; it is not read"
            )
        path.append(name)
        if len(path) == 2 and name == "sheetData":
            self.data_start = self.place()
            self.parser.StartElementHandler = self.start_inside
            self.parser.EndElementHandler = self.end_inside
        elif name in _OTHERS or name in _RULES:
            begin = self.place()
            self.opened.append((begin, attributes))
            self.text = []

    def end(self, name: str) -> None:
        name = self.path.pop()
        if name in _OTHERS or name in _RULES:
            begin, attributes = self.opened.pop()
            inner = tag_end(self.data, begin)
            close, stop = self.closing(begin)
            self.spent.cell(self.part)
            text, self.text = "".join(self.text or ()), None
            (self.found.others if name in _OTHERS else self.found.rules).append(
                Element(
                    name,
                    local_attributes(attributes),
                    tuple(self.path),
                    text,
                    begin,
                    inner,
                    close,
                    stop,
                )
            )

    # in the sheet's data

    def start_inside(self, name: str, attributes: dict[str, str]) -> None:
        name = self.locals.get(name) or self.local(name)
        self.level = level = self.level + 1
        if level == 2:
            if name == "c" and self.in_row:
                self.in_cell = True
                self.start_cell(attributes)
        elif level == 3:
            if name in _CONTENT and self.in_cell:
                self.begin = self.place()
                self.opened.append((self.begin, attributes))
                self.inside = name
                self.text = [] if name != "is" else None
        elif level == 1:
            self.in_row = name == "row"
            if self.in_row:
                self.start_row(attributes)
        else:
            if level + 2 > bounds.DEPTH:
                raise BookError(
                    f"{self.part} nests its elements deeper than {bounds.DEPTH}; it is not read"
                )
            if name == "rPh":
                self.ignored += 1
            elif name == "t" and self.inside == "is" and not self.ignored:
                self.text = self.inline

    def local(self, name: str) -> str:
        """The name without its namespace."""
        found = self.locals[name] = name.rpartition(" ")[2]
        return found

    def end_inside(self, name: str) -> None:
        level = self.level
        if not level:
            self.found.sheet_data = RowTags(self.data_start, *self.closing(self.data_start))
            self.parser.StartElementHandler = self.start
            self.parser.EndElementHandler = self.end
            self.path.pop()
            return
        self.level = level - 1
        if level == 3:
            if self.inside is not None:
                self.end_part_of_cell(self.inside)
                self.inside = None
        elif level == 2:
            if self.in_cell:
                self.end_cell()
                self.in_cell = False
        elif level == 1:
            if self.in_row:
                self.found.rows[self.row] = RowTags(self.row_start, *self.closing(self.row_start))
                self.in_row = False
        else:
            name = self.locals[name]
            if name == "rPh":
                self.ignored -= 1
            elif name == "t" and self.inside is not None:
                self.text = None

    def start_row(self, attributes) -> None:
        number = attributes.get("r", "")
        row = int(number) if number.isdecimal() and len(number) < 9 else self.row + 1
        if not self.row < row <= bounds.ROWS:
            raise BookError(
                f"{self.part} is damaged: its rows are not in order (row {row} after {self.row})"
            )
        self.row, self.column = row, 0
        self.spent.cell(self.part)
        self.row_start = self.place()

    def start_cell(self, attributes) -> None:
        place = attributes.get("r")
        if place:
            row, column = position(place, self.part)
            if row != self.row or column <= self.column:
                raise BookError(f"{self.part} is damaged: its cell {place:.20} is out of order")
            self.column = column
        else:
            self.column += 1
        if self.column > bounds.COLUMNS:
            raise BookError(
                f"{self.part} is damaged: row {self.row} has more cells than a sheet has columns"
            )
        self.spent.cell(self.part)
        self.cell_start = self.place()
        self.attributes = attributes
        self.formula: StoredFormula | None = None
        self.value: str | None = None
        self.inline: list[str] = []
        self.spans: list[tuple[int, int]] = []

    def closing(self, begin: int) -> tuple[int, int]:
        """Start and end of the closing tag; both the end of the tag where it closes itself."""
        data = self.data
        close = self.place()  # of a tag that closes itself expat gives the end
        if (
            data[close - 1] == _GREATER
            and data[close - 2] == _SLASH
            and tag_end(data, begin) == close
        ):
            return close, close
        return close, data.index(b">", close) + 1

    def end_part_of_cell(self, name: str) -> None:
        begin, attributes = self.opened.pop()
        stop = self.closing(begin)[1]
        if name == "f":
            if self.formula:
                raise BookError(
                    f"{self.part}, {address(self.row, self.column)}: a cell has two formulas; the"
                    " file is damaged"
                )
            self.formula = self.formulas.read(
                self.row,
                self.column,
                attributes,
                "cm" in self.attributes,
                "".join(self.text or ()),
                begin,
                stop,
            )
        else:
            self.spans.append((begin, stop))
            self.value = "".join(self.text or ()) if name == "v" else "".join(self.inline)
        self.text = None

    def end_cell(self) -> None:
        close, stop = self.closing(self.cell_start)
        self.found.cells[self.row, self.column] = Cell(
            self.attributes.get("t", "n"),
            self.value,
            self.formula,
            self.cell_start,
            close,
            stop,
            tuple(self.spans),
        )
