"""The edits of all sheets of a book, and fresh values in place of stale ones."""

from __future__ import annotations

from workbook_template.travel.fresh_values import same
from workbook_template.travel.ooxml.addresses import address
from workbook_template.travel.ooxml.edit import SheetEdit
from workbook_template.travel.ooxml.stored_book import StoredBook, StoredSheet


class Edits:
    """The edits of all sheets of a book, made when first needed."""

    def __init__(self, book: StoredBook):
        self.book = book
        self._edits: dict[str, SheetEdit] = {}

    def of(self, sheet: StoredSheet) -> SheetEdit:
        """The edit of a sheet."""
        if sheet.part not in self._edits:
            self._edits[sheet.part] = SheetEdit(sheet)
        return self._edits[sheet.part]

    def apply(self) -> None:
        """Write the edited sheets into the package."""
        for part, edit in self._edits.items():
            self.book.package[part] = edit.tobytes()


def refresh(book: StoredBook, values: dict, grown: dict, edits: Edits) -> int:
    """Write fresh values where they differ from the stored ones; how many did.

    A dynamic array formula (in ``grown``) that fills other cells than before gets its new area;
    cells that it no longer fills become empty.
    """
    changed = 0
    for (name, row, column), value in values.items():
        sheet = book.sheet(name)
        formula = sheet.cells.formulas.get((row, column))
        last = grown.get((name, row, column))
        if last and formula and formula.area and last != formula.area[2:]:
            area = f"{address(row, column)}:{address(*last)}"
            edits.of(sheet).put_formula(row, column, formula.text, value, area, dynamic=True)
        elif same(sheet.value(row, column), value):
            continue
        elif value is None:
            edits.of(sheet).erase(row, column)
        else:
            edits.of(sheet).refresh(row, column, value)
        changed += 1
    return changed
