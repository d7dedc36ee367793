"""The smallest books with features that come from other programs; each is written here, none is anybody's file."""

from pathlib import Path

import xlsxwriter

from tests.workbook_template.travelling import fill, rewritten


def _arrays(book, sheet):
    sheet.write_array_formula("J1:J2", "{=A1:A2*2}")


def _table(book, sheet):
    rows = [[1, 2], [3, 4]]
    columns = [{"header": "x"}, {"header": "y"}]
    sheet.add_table("N1:O3", {"data": rows, "columns": columns})


def _chart(book, sheet):
    chart = book.add_chart({"type": "line"})
    chart.add_series({"values": "=Plan!$G$1:$G$2"})
    sheet.insert_chart("N2", chart)
    book.add_chartsheet("Chart").set_chart(_second(book))


def _second(book):
    chart = book.add_chart({"type": "bar"})
    chart.add_series({"values": "=Plan!$A$1:$A$2"})
    return chart


def _comments(book, sheet):
    sheet.write_comment("A1", "A remark", {"author": "An Author"})
    sheet.write_url("L1", "https://example.org/")


def _hidden(book, sheet):
    sheet.set_row(0, None, None, {"hidden": True})
    sheet.write_formula("L1", "=SUBTOTAL(9,A1:A2)", None, 203)


def _rules(book, sheet):
    sheet.conditional_format("G1:G2", {"type": "3_color_scale"})
    sheet.data_validation(
        "A1", {"validate": "decimal", "criteria": "between", "minimum": 0, "maximum": 999}
    )
    sheet.add_sparkline("M1", {"range": "Plan!G1:G2"})


FEATURES = [_arrays, _table, _chart, _comments, _hidden, _rules]


def write(folder: Path) -> None:
    """Write one book for each feature, with nothing evaluated yet."""
    for feature in FEATURES:
        path = folder / f"{feature.__name__.strip('_')}.xlsx"
        with xlsxwriter.Workbook(path) as book:
            sheet = book.add_worksheet("Plan")
            fill(sheet, 2)
            feature(book, sheet)
    # A part of a kind that no standard names.
    rewritten(
        folder / "comments.xlsx",
        {
            "xl/odd/part.xml": b"<x/>",
            "xl/_rels/workbook.xml.rels": lambda data: data.replace(
                b"</Relationships>",
                b'<Relationship Id="rId900" Type="http://example.org/odd" Target="odd/part.xml"/>'
                b"</Relationships>",
            ),
        },
    )
