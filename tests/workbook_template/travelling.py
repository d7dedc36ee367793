"""Workbooks for the tests of share, restore, check and recalc, and what reads them."""

import io
import warnings
import zipfile
from pathlib import Path

import openpyxl
import xlsxwriter

from workbook_template.travel.fresh_values import fresh_values
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.travel.recalc import recalculate

DOSE = "=ACID_DOSE(A{0},B{0},C{0},D{0},E{0},F{0})"


#: Ordinary plans that were evaluated before, by their number of rows.
_SETTLED: dict[int, bytes] = {}


def fill(sheet, rows):
    """Rows of a plan: alkalinity, pH, target, litres, acid, strength, dose, twice the dose."""
    for row in range(1, rows + 1):
        sheet.write_row(row - 1, 0, [100.0 + row, 7.5, 5.5, 300.0 + row, "lactic", 88.0])
        sheet.write_formula(row - 1, 6, DOSE.format(row))
        sheet.write_formula(row - 1, 7, f"=G{row}*2")
    sheet.write_formula(rows, 6, f"=SUM(G1:G{rows})")


def plan(path: Path, rows: int = 4, extra=None, settled: bool = True) -> Path:
    """A book by XlsxWriter with fresh cached values; ``extra(book, sheet)`` adds to it."""
    if extra is None and settled and rows in _SETTLED:
        path.write_bytes(_SETTLED[rows])
        return path
    with xlsxwriter.Workbook(path) as book:
        book.set_properties(
            {"author": "An Author", "company": "Invented Ltd", "manager": "A Manager"}
        )
        sheet = book.add_worksheet("Plan")
        fill(sheet, rows)
        if extra:
            extra(book, sheet)
    if settled:
        recalculate(path)
        if extra is None:
            _SETTLED[rows] = path.read_bytes()
    return path


def parts(path_or_data) -> dict[str, bytes]:
    """The parts of a file."""
    if isinstance(path_or_data, bytes):
        path_or_data = io.BytesIO(path_or_data)
    with zipfile.ZipFile(path_or_data) as file:
        return {name: file.read(name) for name in file.namelist()}


def rewritten(path: Path, changes: dict, removed=()) -> Path:
    """A file with some parts changed (bytes, or a function of the old bytes)."""
    content = parts(path)
    for name, change in changes.items():
        content[name] = change(content.get(name)) if callable(change) else change
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        for name, data in content.items():
            if name not in removed:
                file.writestr(name, data)
    return path


def values(data: bytes, title: str = "book.xlsx") -> dict:
    """Stored values of all cells by our own reader."""
    book = StoredBook(Package(data, title))
    return {
        (sheet.name, *place): sheet.value(*place)
        for sheet in book.sheets
        for place in sheet.cells.cells
        if sheet.value(*place) is not None
    }


def formulas(data: bytes) -> dict:
    """Formulas of all cells by our own reader."""
    book = StoredBook(Package(data, "book.xlsx"))
    return {
        (sheet.name, *place): formula.text
        for sheet in book.sheets
        for place, formula in sheet.cells.formulas.items()
    }


def fresh(path: Path) -> dict:
    """Fresh values of a file's formulas."""
    return fresh_values(StoredBook(Package.read(path))).values


def stored(path: Path) -> dict:
    """Stored values by openpyxl, with None for empty cells left out."""
    with warnings.catch_warnings():
        warnings.simplefilter(
            "ignore", UserWarning
        )  # openpyxl says what it would lose on saving; it only reads here
        book = openpyxl.load_workbook(path, data_only=True)
    found = {
        (sheet.title, cell.row, cell.column): cell.value
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if cell.value is not None
    }
    book.close()
    return found
