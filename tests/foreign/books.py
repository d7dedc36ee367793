"""Books as other programs write them, made here by XlsxWriter and by edits of the package; none is
anybody else's.
"""

from __future__ import annotations

import re
import zipfile
from pathlib import Path

import xlsxwriter

from udfs import call
from workbook_template.travel.ooxml.addresses import address

WATER = (101.0, 7.5, 5.5, 301.0, "lactic", 88.0)
DOSE = call("ACID_DOSE", *WATER)
#: The formula of a dose in a row.
DOSE_OF = "=ACID_DOSE(A{0},B{0},C{0},D{0},E{0},F{0})"


def as_saved(path: Path, changes: dict | None = None, rename: dict | None = None) -> Path:
    """The book as a spreadsheet program saved it: it does not ask to be calculated again, and its
    figures are its own.
    """
    with zipfile.ZipFile(path) as file:
        parts = {name: file.read(name) for name in file.namelist()}
    parts["xl/workbook.xml"] = parts["xl/workbook.xml"].replace(b' fullCalcOnLoad="1"', b"")
    for name, change in (changes or {}).items():
        parts[name] = change(parts.get(name))
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        for name, data in parts.items():
            file.writestr((rename or {}).get(name, name), data)
    return path


def with_dose(path: Path, fill=None, name: str = "Plan", stored: float = DOSE) -> Path:
    """A book with a dose in G1; ``fill(book, sheet)`` adds to it."""
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet(name)
        sheet.write_row(0, 0, WATER)
        sheet.write_formula("G1", DOSE_OF.format(1), None, stored)
        if fill:
            fill(book, sheet)
    return as_saved(path)


def arrays(path: Path, dynamic: bool) -> Path:
    """Array formulas of ours and native ones with a text in each cell beside them, and their
    totals.
    """
    alkalinities = [100.0, 101.0, 102.0, 103.0]
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("Plan")
        for row, alkalinity in enumerate(alkalinities):
            sheet.write_row(row, 0, [alkalinity, 7.5, 5.5, 300.0, 88.0])
            sheet.write(row, 6, "note")
            sheet.write(row, 8, "note")
        write = sheet.write_dynamic_array_formula if dynamic else sheet.write_array_formula
        write("F1:F4", '=ACID_DOSE(A1:A4,B1:B4,C1:C4,D1:D4,"lactic",E1:E4)', None, 1.0)
        write("H1:H4", "=A1:A4*2", None, 200.0)
        for row, alkalinity in enumerate(alkalinities[1:], 1):
            sheet.write_number(row, 5, 1.0)
            sheet.write_number(row, 7, alkalinity * 2)
        sheet.write_formula("F6", "=SUM(F1:F4)", None, 4.0)
        sheet.write_formula("H6", "=SUM(H1:H4)", None, 812.0)
    return as_saved(path)


def repeated_array(path: Path) -> Path:
    """An array formula whose one answer fills its whole area, one that is cut off by it, and totals
    over both.
    """

    def fill(_, sheet):
        for row in range(5):
            sheet.write_number(row, 9, float(row + 1))
        sheet.write_array_formula("K1:K3", "=A1", None, 101.0)
        sheet.write_array_formula("L1:L2", "=J1:J5*1", None, 1.0)
        for row in (1, 2):
            sheet.write_number(row, 10, 101.0)
        sheet.write_number(1, 11, 2.0)
        sheet.write_formula("K9", "=SUM(K1:K8)", None, 303.0)
        sheet.write_formula("L9", "=SUM(L1:L8)", None, 3.0)

    return with_dose(path, fill)


def what_if_table(path: Path) -> Path:
    """A what-if table over the dose, and a formula that reads one of its cells."""

    def fill(_, sheet):
        for row in range(3):
            sheet.write_number(row + 3, 9, 50.0)
        sheet.write_formula("L4", "=J5*2", None, 100.0)

    def tabled(data: bytes) -> bytes:
        return data.replace(
            b'<c r="J4"><v>',
            b'<c r="J4"><f t="dataTable" ref="J4:J6" dt2D="0" dtr="0" r1="D1"/><v>',
        )

    with_dose(path, fill, stored=1.0)
    return as_saved(path, {"xl/worksheets/sheet1.xml": tabled})


def table_with_alternative_text(path: Path) -> Path:
    """A table whose part carries Excel's element for alternative text, which is called a table
    too.
    """
    with_dose(
        path,
        lambda book, sheet: sheet.add_table(
            "J1:K3", {"name": "Doses", "columns": [{"header": "a"}]}
        ),
    )

    def described(data: bytes) -> bytes:
        extension = (
            b'<extLst><ext uri="{504A1905-F514-4f6f-8877-14C23A59335A}"'
            b' xmlns:x14="http://schemas.microsoft.com/office/spreadsheetml/2009/9/main"><x14:table'
            b' altText="Doses" altTextSummary="of acid"/></ext></extLst>'
        )
        return data.replace(b"</table>", extension + b"</table>")

    return as_saved(path, {"xl/tables/table1.xml": described})


def shared_texts_in_capitals(path: Path) -> Path:
    """The part of shared texts in another case than the relationship that points to it."""
    with_dose(path)
    return as_saved(path, rename={"xl/sharedStrings.xml": "xl/SharedStrings.xml"})


def own_names(path: Path) -> Path:
    """Names that look like cells beyond a sheet, and names of the book behind ``[0]!``."""

    def fill(book, sheet):
        book.define_name("Rate", "=Plan!$A$1")
        sheet.write_formula("J1", "=[0]!Rate*2", None, 202.0)
        sheet.write_formula("J2", "=V0+XYZ1+A0", None, 7.0)

    return with_dose(path, fill)


def pivot_chart(path: Path) -> Path:
    """A chart that says from which pivot table it comes, as a pivot chart does, with the file's
    name in brackets.
    """

    def fill(book, sheet):
        chart = book.add_chart({"type": "line"})
        chart.add_series({"values": "=Plan!$A$1:$D$1"})
        sheet.insert_chart("J1", chart)

    with_dose(path, fill)
    source = (
        b'<c:pivotSource><c:name>[plan.xlsx]Plan!Pivot</c:name><c:fmtId val="0"/></c:pivotSource>'
    )
    return as_saved(
        path,
        {
            "xl/charts/chart1.xml": lambda data: re.sub(
                rb"(<c:chart>)", source + rb"\1", data, count=1
            )
        },
    )


def hidden_rows(path: Path) -> Path:
    """Totals that pass over a hidden row, one of which reads doses that are stale."""

    def fill(_, sheet):
        for row in range(4):
            sheet.write_number(row, 9, 10.0)
        sheet.set_row(2, None, None, {"hidden": True})
        sheet.write_formula("K1", "=SUBTOTAL(109,J1:J4)", None, 30.0)
        sheet.write_formula("K2", "=AGGREGATE(9,5,J1:J4)", None, 30.0)
        sheet.write_formula("K4", "=SUBTOTAL(103,J1:J4)", None, 3.0)
        sheet.write_formula("K5", "=SUBTOTAL(109,G1:G4)", None, 1.0)

    return with_dose(path, fill, stored=1.0)


def natives(path: Path, formulas: list[tuple[str, object]]) -> Path:
    """Native formulas with the values that their own program stored, from J1 downwards; the dose is
    stale.
    """

    def fill(_, sheet):
        for row, (formula, value) in enumerate(formulas):
            sheet.write_formula(f"J{row + 1}", formula, None, value)

    return with_dose(path, fill, stored=1.0)


def cell(row: int, column: int) -> str:
    """An address, for messages."""
    return address(row, column)
