"""The smallest books with features that come from other programs; each is written here, none is
anybody's file.
"""

from pathlib import Path

import xlsxwriter

from tests.workbook_template.hand_parts import (
    MICROSOFT,
    SHEET,
    WORKBOOK,
    HandMade,
    form_control,
    pivot,
    threaded_comment,
    with_controls,
)
from tests.workbook_template.travelling import fill


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


def _links(book, sheet):
    sheet.write_formula("L1", "=[Other.xlsx]Sheet1!A1", None, 5)


FEATURES = [_arrays, _table, _chart, _comments, _hidden, _rules, _links]


def _pivoted(made: HandMade):
    pivot(made)


def _threaded(made: HandMade):
    threaded_comment(made, "An Author", "S::author@example.org::1")


def _controls(made: HandMade):
    with_controls(made, form_control(made))


def _objects(made: HandMade):
    identity = made.add(
        SHEET,
        "oleObject",
        "xl/embeddings/oleObject1.bin",
        b"an object",
        "application/vnd.ms-office",
    )
    made.before(
        SHEET,
        "/legacyDrawing",
        f'<oleObjects><oleObject progId="Package" shapeId="1902" r:id="{identity}"/></oleObjects>',
    )


def _macros(made: HandMade):
    main = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"
    made.change("[Content_Types].xml", main, "application/vnd.ms-excel.sheet.macroEnabled.main+xml")
    made.add(
        WORKBOOK,
        "vbaProject",
        "xl/vbaProject.bin",
        b"no macro at all",
        "application/vnd.ms-office.vbaProject",
        f"{MICROSOFT}/2006/relationships",
    )


def _model(made: HandMade):
    made.add(
        WORKBOOK,
        "powerPivotData",
        "xl/model/item.data",
        b"no tables at all",
        base=f"{MICROSOFT}/2011/relationships",
    )


def _odd(made: HandMade):
    """A part of a kind that no standard names."""
    made.add(WORKBOOK, "odd", "xl/odd/part.xml", "<x/>", base="http://example.org")


HAND_MADE = [_pivoted, _threaded, _controls, _objects, _macros, _model, _odd]

#: Books that ``share`` refuses, with the words of the sentence.
REFUSED = {"links.xlsx": "reads other workbooks", "model.xlsx": "data model"}


def write(folder: Path) -> None:
    """Write one book for each feature, with nothing evaluated yet."""
    for feature in FEATURES:
        _book(folder / f"{feature.__name__.strip('_')}.xlsx", feature)
    for feature in HAND_MADE:
        suffix = ".xlsm" if feature is _macros else ".xlsx"
        path = folder / f"{feature.__name__.strip('_')}{suffix}"
        _book(path, _comments)
        made = HandMade(path)
        feature(made)
        made.written()


def _book(path: Path, feature) -> None:
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("Plan")
        fill(sheet, 2)
        feature(book, sheet)
        book.add_worksheet("Notes").write_row("A1", ["no formula here", 1.5, True])
