"""The cells of a sheet part: values, formulas in full (shared ones spelled out) and their places in
the bytes.
"""

from __future__ import annotations

from functools import cached_property
from typing import NamedTuple

from workbook_template.travel import bounds
from workbook_template.travel.ooxml.addresses import address, block, position
from workbook_template.travel.ooxml.elements import (
    Element,
    local_attributes,
    parse,
    parser,
    tag_end,
)
from workbook_template.travel.ooxml.tokens import moved
from workbook_template.user_errors import BookError

#: Elements of a cell that are read, and elements outside the cells that somebody asks for.
_CONTENT = ("v", "f", "is")
_OTHERS = {"dimension", "pageSetup", "formula", "formula1", "formula2", "f"}
_RULES = {"dataValidation", "conditionalFormatting", "cfRule", "cfvo", "sqref"}
_GREATER, _SLASH = b">/"


class StoredFormula(NamedTuple):
    """A formula of a cell: text without ``=``, kind (normal, array, dataTable), area of an array,
    place.
    """

    text: str
    kind: str
    area: tuple[int, int, int, int] | None
    dynamic: bool
    start: int
    end: int
    #: Cells that a what-if data table fills.
    reach: tuple[int, int, int, int] | None = None


class Cell(NamedTuple):
    """A cell as stored: type letter, text of its value (None where empty), formula, and places in
    the bytes.
    """

    kind: str
    text: str | None
    formula: StoredFormula | None
    start: int
    close: int
    end: int
    values: tuple[tuple[int, int], ...]


class RowTags(NamedTuple):
    """Place of a row's tags."""

    start: int
    close: int
    end: int


class Spent:
    """What the sheets of a book have used of its limits so far."""

    def __init__(self):
        self.cells = self.formulas = self.characters = self.filled = 0


class Cells:
    """What one sheet part holds: ``cells`` by (row, column), ``rows``, and elements outside them.

    ``others`` are the dimension, the page set-up and the formulas of rules, ``rules`` what these
    formulas belong to.
    """

    def __init__(self, data: bytes, part: str, spent: Spent | None = None):
        self.cells: dict[tuple[int, int], Cell] = {}
        self.rows: dict[int, RowTags] = {}
        self.others: list[Element] = []
        self.rules: list[Element] = []
        self.sheet_data: RowTags | None = None
        self._part = part
        _Scan(self, data, part, spent or Spent()).run()

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
    """One pass of expat over a sheet part.

    Between the tags of the sheet's data, where nearly all of a large part is, the handlers are
    others: ``level`` counts the elements that are open there (1 in a row, 2 in a cell, 3 in a value
    or formula).
    """

    def __init__(self, found: Cells, data: bytes, part: str, spent: Spent):
        self.found, self.data, self.part, self.spent = found, data, part, spent
        self.parser = parser(part)
        self.path: list[str] = []
        self.level = self.ignored = 0
        self.row = self.column = 0
        self.row_start = self.data_start = self.cell_start = self.begin = 0
        self.in_row = self.in_cell = False
        self.inside: str | None = None
        self.shared: dict[str, tuple[int, int, str]] = {}
        self.text: list[str] | None = None
        self.opened: list[tuple] = []
        self.locals: dict[str, str] = {}

    def run(self) -> None:
        self.parser.StartElementHandler = self.start
        self.parser.EndElementHandler = self.end
        self.parser.CharacterDataHandler = self.characters
        parse(self.parser, self.data, self.part)

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
            self.data_start = self.parser.CurrentByteIndex
            self.parser.StartElementHandler = self.start_inside
            self.parser.EndElementHandler = self.end_inside
        elif name in _OTHERS or name in _RULES:
            begin = self.parser.CurrentByteIndex
            self.opened.append((begin, attributes))
            self.text = []

    def end(self, name: str) -> None:
        name = self.path.pop()
        if name in _OTHERS or name in _RULES:
            begin, attributes = self.opened.pop()
            inner = tag_end(self.data, begin)
            close, stop = self.closing(begin)
            self.count_cell()
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
                self.begin = self.parser.CurrentByteIndex
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
        self.count_cell()
        self.row_start = self.parser.CurrentByteIndex

    def count_cell(self) -> None:
        self.spent.cells += 1
        if self.spent.cells > bounds.CELLS:
            raise BookError(
                f"{self.part}: the book has more than {bounds.CELLS} cells and rows, the most that"
                " is read"
            )

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
        self.count_cell()
        self.cell_start = self.parser.CurrentByteIndex
        self.attributes = attributes
        self.formula: StoredFormula | None = None
        self.value: str | None = None
        self.inline: list[str] = []
        self.spans: list[tuple[int, int]] = []

    def closing(self, begin: int) -> tuple[int, int]:
        """Start and end of the closing tag; both the end of the tag where it closes itself."""
        data = self.data
        close = self.parser.CurrentByteIndex  # of a tag that closes itself expat gives the end
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
            self.formula = self.read_formula(attributes, "".join(self.text or ()), begin, stop)
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

    def read_formula(self, attributes, text: str, begin: int, stop: int) -> StoredFormula:
        where = f"{self.part}, {address(self.row, self.column)}"
        kind = attributes.get("t", "normal")
        if kind == "shared":
            index = attributes.get("si", "")
            if text:
                self.shared.setdefault(index, (self.row, self.column, text))
            if index not in self.shared:
                raise BookError(f"{where}: a shared formula has no first cell; the file is damaged")
            row, column, text = self.shared[index]
            text = moved(text, self.row - row, self.column - column)
            kind = "normal"
        if len(text) > bounds.FORMULA_CHARACTERS:
            raise BookError(
                f"{where}: the formula is longer than {bounds.FORMULA_CHARACTERS} characters, the"
                " most that a spreadsheet takes"
            )
        self.spent.characters += len(text)
        self.spent.formulas += 1
        if (
            self.spent.formulas > bounds.FORMULAS
            or self.spent.characters > bounds.ALL_FORMULA_CHARACTERS
        ):
            raise BookError(
                f"{self.part}: the book has more than {bounds.FORMULAS} formulas, or "
                f"{bounds.ALL_FORMULA_CHARACTERS} characters of them, the most that is read"
            )
        area = block(attributes["ref"], where) if kind == "array" and "ref" in attributes else None
        if kind == "array" and area is None:
            area = (self.row, self.column, self.row, self.column)
        if area and (area[0] != self.row or area[1] != self.column):
            raise BookError(
                f"{where}: the area of an array formula does not begin at its cell; the file is"
                " damaged"
            )
        if area:
            self.spent.filled += (area[2] - area[0] + 1) * (area[3] - area[1] + 1)
            if self.spent.filled > bounds.ARRAY_CELLS:
                raise BookError(
                    f"{where}: array formulas fill more than {bounds.ARRAY_CELLS} cells, the most"
                    " that is read"
                )
        reach = (
            block(attributes["ref"], where) if kind == "dataTable" and "ref" in attributes else None
        )
        return StoredFormula(
            text.strip().removeprefix("="), kind, area, "cm" in self.attributes, begin, stop, reach
        )
