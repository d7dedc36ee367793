"""Lines of a label and a figure: what is typed once on a sheet, and what is worked out once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from copy import copy
from dataclasses import KW_ONLY, dataclass
from typing import Any

from xlsxwriter.utility import xl_rowcol_to_cell

from workbook_template.template.book import Sheet
from workbook_template.template.formula import Formula, ref


@dataclass(frozen=True)
class Line:
    """A figure with its label; ``name`` is its defined name. A label that begins with ``=`` is a
    formula.

    ``note`` stands beside it, as words or as a formula.
    """

    label: str
    _: KW_ONLY
    name: str | None = None
    number: str = "plain"
    note: str | Formula = ""


@dataclass(frozen=True)
class Typed(Line):
    """A figure that the user types; ``choice`` and ``limits`` as for a column of a table.

    ``value`` stands in every book, ``example`` only in one with the invented example.
    """

    value: Any = None
    _: KW_ONLY
    example: Any = None
    choice: str | Sequence[str] | None = None
    what: str = ""
    limits: tuple[float, float, str] | None = None


@dataclass(frozen=True)
class Answer(Line):
    """A figure that is worked out."""

    formula: Formula
    _: KW_ONLY
    look: tuple[str, ...] = ("result", "right")


class Form:
    """Lines one below the other.

    Parameters
    ----------
    lines
        From the top.
    row
        Where the first stands, from 0.
    label, figure, note
        Columns of the sheet.
    span
        Over how many columns a figure goes.
    look
        Of the labels.
    """

    def __init__(
        self,
        lines: Iterable[Typed | Answer],
        *,
        row: int,
        label: int = 0,
        figure: int = 1,
        note: int | None = None,
        span: int = 1,
        look: str = "label",
    ):
        self.lines = tuple(lines)
        self.row, self.label, self.figure, self.note, self.span = row, label, figure, note, span
        self.look = look

    def at(self, row: int) -> Form:
        """The same lines from another row on."""
        moved = copy(self)
        moved.row = row
        return moved

    @property
    def last(self) -> int:
        """The row of the last line."""
        return self.row + len(self.lines) - 1

    def cell(self, name: str) -> Formula:
        """The cell of a named line, for a formula of the same sheet."""
        rows = [row for row, line in enumerate(self.lines, self.row) if line.name == name]
        if len(rows) != 1:
            raise ValueError(f"{len(rows)} lines are named {name!r}")
        return ref(xl_rowcol_to_cell(rows[0], self.figure))

    def write(self, sheet: Sheet) -> None:
        """Write labels, figures, notes, names, lists and limits."""
        for row, line in enumerate(self.lines, self.row):
            sheet.label(row, self.label, line.label, self.look)
            if isinstance(line, Answer):
                self._answer(sheet, row, line)
            else:
                self._typed(sheet, row, line)
            if line.name:
                sheet.name_range(line.name, (row, self.figure))
            if self.note is not None and not (isinstance(line.note, str) and not line.note):
                if isinstance(line.note, Formula):
                    sheet.formula(row, self.note, line.note, "note")
                else:
                    sheet.text(row, self.note, f" {line.note}")

    def _merged(self, sheet: Sheet, row: int, *look: str) -> None:
        if self.span > 1:
            last = self.figure + self.span - 1
            sheet.raw.merge_range(row, self.figure, row, last, "", sheet.book.style(*look))

    def _answer(self, sheet: Sheet, row: int, line: Answer) -> None:
        look = line.look if line.number == "plain" else (*line.look, line.number)
        self._merged(sheet, row, *look)
        sheet.formula(row, self.figure, line.formula, *look)

    def _typed(self, sheet: Sheet, row: int, line: Typed) -> None:
        self._merged(sheet, row, "input", line.number)
        shown = line.example if sheet.book.example and line.example is not None else line.value
        shown = sheet.book.starting.value(line.name, shown)
        sheet.input(row, self.figure, shown, line.number)
        cell = (row, self.figure), (row, self.figure)
        if line.choice:
            source = line.choice if isinstance(line.choice, str) else list(line.choice)
            sheet.choice(*cell, source, line.what or line.label)
        if line.limits:
            low, high, what = line.limits
            sheet.limits(*cell, low, high, what)
