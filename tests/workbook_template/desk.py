"""The template on a brewer's desk: type into cells, read others, put everything back."""

from __future__ import annotations

import re

from openpyxl import load_workbook
from openpyxl.utils import column_index_from_string

from udfs.hosts import engine
from workbook_template.template.build import TEMPLATE
from workbook_template.template.sheets import batch_plan


class Desk:
    """The template loaded in the embedded engine."""

    def __init__(self):
        self.book = engine.load(TEMPLATE)
        self.book.evaluate_all()
        self.typed = []
        self.names = {
            name: defined.attr_text
            for name, defined in load_workbook(TEMPLATE).defined_names.items()
        }

    def type(self, sheet: str, row: int, column: int, value) -> None:
        """Type into a cell; row and column count from 0."""
        self.typed.append(
            (sheet, row + 1, column + 1, self.book.get_value(sheet, row + 1, column + 1))
        )
        self.book.set_value(sheet, row + 1, column + 1, value)

    def enter(self, name: str, value) -> None:
        """Type into a named cell."""
        sheet, row, column = self.place(name)
        self.type(sheet, row, column, value)

    def place(self, name: str) -> tuple[str, int, int]:
        """Sheet, row and column of a named cell, from 0."""
        sheet, column, row = re.fullmatch(r"'(.+)'!\$([A-Z]+)\$(\d+)", self.names[name]).groups()
        return sheet, int(row) - 1, column_index_from_string(column) - 1

    def plan(self, key: str, value, batch: int = 0) -> None:
        """Type into a batch of the plan."""
        self.type(batch_plan.NAME, batch_plan.FIRST + batch, batch_plan.COLUMN[key], value)

    def work_out(self) -> Desk:
        """Evaluate what depends on what was typed."""
        self.book.evaluate_all()
        return self

    def tidy(self) -> None:
        """Put back what was typed."""
        for sheet, row, column, value in reversed(self.typed):
            self.book.set_value(sheet, row, column, value)
        self.typed.clear()
        self.book.evaluate_all()

    def read(self, sheet: str, row: int, column: int):
        """A cell's figure; row and column count from 0."""
        return self.book.get_value(sheet, row + 1, column + 1)

    def named(self, name: str):
        """The figure of a named cell."""
        return self.read(*self.place(name))

    def answer(self, key: str, batch: int = 0):
        """A figure of a batch of the plan."""
        return self.read(batch_plan.NAME, batch_plan.FIRST + batch, batch_plan.COLUMN[key])

    def total(self, column: int):
        """A total of the plan."""
        return self.read(batch_plan.NAME, batch_plan.TOTALS + 1, column)
