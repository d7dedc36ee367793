"""A small sheet to copy from: inputs with their units, answers with the formula beside each, in
words that it is.
"""

from __future__ import annotations

from typing import Any

from workbook_template.template.book import Book

WIDTHS = [46, 16, 12, 12, 12, 12, 16, 20, 14, 14, 14, 24]
#: The last column of the page.
LAST = len(WIDTHS) - 1
#: Columns of the answer, and of the formula as text.
FIGURE, TEXT = 1, 2


class Page:
    """One example, written from the top."""

    def __init__(self, book: Book, title: str, lead: str):
        self.sheet = book.sheet("Example", WIDTHS)
        self.row = 0
        self.sheet.text(0, 0, title, "title")
        self.sheet.across(1, 0, LAST, lead, "lead", height=self.sheet.height(lead, 0, LAST))
        self.sheet.cautions(2, LAST)
        self.row = 4

    def section(self, words: str) -> None:
        """A heading."""
        self.row += 1
        self.sheet.across(self.row, 0, LAST, words, "section")
        self.row += 1

    def given(self, label: str, *values: Any, number: str = "plain", unit: str = "") -> str:
        """Inputs in one row; the address of the first."""
        self.sheet.label(self.row, 0, label)
        for offset, value in enumerate(values):
            self.sheet.input(self.row, FIGURE + offset, value, number)
        self.sheet.text(self.row, FIGURE + len(values), f" {unit}")
        self.row += 1
        return f"B{self.row}"

    def answer(self, label: str, formula: str, *, number: str = "plain", unit: str = "") -> None:
        """An answer, and beside it the formula as text."""
        self.sheet.label(self.row, 0, label)
        self.sheet.formula(self.row, FIGURE, formula, "result", number)
        self.sheet.raw.write_string(self.row, TEXT, formula, self.sheet.book.style("note"))
        self.sheet.book.words[self.sheet.name, self.row, TEXT] = formula
        if unit:
            self.sheet.text(self.row, LAST, unit)
        self.row += 1

    def sentence(self, label: str, formula: str, *looks: str, height: float = 45) -> None:
        """An answer in words over the page, or a figure that may be words; and below it the formula
        as text.
        """
        self.sheet.label(self.row, 0, label)
        self.sheet.across(self.row, 1, LAST, formula, "remark", *looks, height=height, formula=True)
        self.row += 1
        self.sheet.raw.write_string(self.row, FIGURE, formula, self.sheet.book.style("note"))
        self.row += 1

    def headers(self, *titles: str) -> None:
        """Titles of columns."""
        self.sheet.headers(self.row, 0, list(titles))
        self.row += 1

    def rows(self, rows, formulas: dict[int, tuple[str, str]]) -> tuple[int, int]:
        """Rows of inputs; ``formulas`` by column, with ``{r}`` for the row, and a number format.
        First and last row.
        """
        first = self.row + 1
        for values in rows:
            for column, value in enumerate(values):
                self.sheet.input(self.row, column, value)
            for column, (formula, number) in formulas.items():
                self.sheet.formula(
                    self.row, column, formula.format(r=self.row + 1), "result", number
                )
            self.row += 1
        self.sheet.text(self.row, 0, f"As typed in row {first}, and filled down:", "note")
        for column, (formula, _) in formulas.items():
            self.row += 1
            self.sheet.raw.write_string(
                self.row, FIGURE, f"column {chr(65 + column)}:  {formula.format(r=first)}"
            )
        self.row += 2
        return first, first + len(rows) - 1
