"""What is kept of a cell and of a formula, and how a formula element is read."""

from __future__ import annotations

from typing import NamedTuple

from workbook_template.travel import bounds
from workbook_template.travel.ooxml.addresses import address, block
from workbook_template.travel.ooxml.tokens import moved
from workbook_template.user_errors import BookError


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
    #: The shared formula that it is one of, and whether its own cell has the text of all.
    group: str | None = None
    leads: bool = False


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

    def __init__(self) -> None:
        self.cells = self.formulas = self.characters = self.filled = 0

    def state(self) -> tuple[int, int, int, int]:
        """What was used, for :meth:`restore`."""
        return self.cells, self.formulas, self.characters, self.filled

    def restore(self, state: tuple[int, int, int, int]) -> None:
        """Count again from a state."""
        self.cells, self.formulas, self.characters, self.filled = state

    def cell(self, part: str) -> None:
        """One more cell, row or rule; refused where it is one too many."""
        self.cells += 1
        if self.cells > bounds.CELLS:
            raise BookError(
                f"{part}: the book has more than {bounds.CELLS} cells and rows, the most that"
                " is read"
            )


class FormulaReader:
    """Reads the formula elements of one sheet part, shared ones spelled out."""

    def __init__(self, part: str, spent: Spent):
        self.part, self.spent = part, spent
        self._shared: dict[str, tuple[int, int, str]] = {}

    def read(
        self,
        row: int,
        column: int,
        attributes: dict[str, str],
        dynamic: bool,
        text: str,
        begin: int,
        stop: int,
    ) -> StoredFormula:
        """The formula of an element with these attributes and this text, at its place in the
        bytes.
        """
        where = f"{self.part}, {address(row, column)}"
        kind, group, leads = attributes.get("t", "normal"), None, False
        if kind == "shared":
            group, own = attributes.get("si", ""), text
            if own:
                self._shared.setdefault(group, (row, column, own))
            if group not in self._shared:
                raise BookError(f"{where}: a shared formula has no first cell; the file is damaged")
            first_row, first_column, text = self._shared[group]
            text = moved(text, row - first_row, column - first_column)
            if own and own.strip().casefold() != text.strip().casefold():
                # programs differ in which of the two they take
                raise BookError(
                    f"{where}: a shared formula has another text than in its first cell; the file"
                    " is damaged"
                )
            kind, leads = "normal", (row, column) == (first_row, first_column)
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
            area = (row, column, row, column)
        if area and area[:2] != (row, column):
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
            text.strip().removeprefix("="), kind, area, dynamic, begin, stop, reach, group, leads
        )
