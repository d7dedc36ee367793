"""Fresh values in a book's own file."""

import os
from datetime import date, datetime, time

import openpyxl
import pytest
import xlsxwriter
from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900

from tests.workbook_template.test_share import decorate, with_forms
from tests.workbook_template.travel_fixtures import quick_engine  # noqa: F401
from tests.workbook_template.travelling import (
    formulas,
    fresh,
    parts,
    plan,
    rewritten,
    stored,
    values,
)
from udfs import call
from workbook_template.engine_number import current
from workbook_template.travel.recalc import recalculate
from workbook_template.user_errors import BookError

pytestmark = pytest.mark.usefixtures("quick_engine")
SHEET = "xl/worksheets/sheet1.xml"


def test_only_the_values_of_the_sheets_change(tmp_path):
    path = plan(tmp_path / "plan.xlsx", 3, decorate, settled=False)
    before, text = parts(path), formulas(path.read_bytes())
    assert recalculate(path).changed == 8
    after = parts(path)
    assert {name for name in before if before[name] != after[name]} == {
        SHEET,
        "xl/worksheets/sheet2.xml",
        "xl/workbook.xml",  # the engine's number
    }
    assert after["xl/workbook.xml"] == current(before["xl/workbook.xml"])
    assert formulas(path.read_bytes()) == text
    assert stored(path)["Plan", 2, 7] == call("ACID_DOSE", 102.0, 7.5, 5.5, 302.0, "lactic", 88.0)
    assert {
        place: value for place, value in values(path.read_bytes()).items() if place in text
    } == fresh(path)


def test_a_fresh_book_is_left_alone(tmp_path):
    path = plan(tmp_path / "plan.xlsx", 2)
    before = path.read_bytes(), os.stat(path).st_mtime_ns, os.stat(path).st_ino
    assert recalculate(path).changed == 0
    assert (path.read_bytes(), os.stat(path).st_mtime_ns, os.stat(path).st_ino) == before


def test_every_stored_form_keeps_its_form(tmp_path):
    path = with_forms(tmp_path)
    text = formulas(path.read_bytes())
    recalculate(path)
    assert formulas(path.read_bytes()) == text
    assert stored(path)["Plan", 41, 1] == call("ACID_DOSE", 101.0, 7.5, 5.5, 301.0, "lactic", 88.0)
    assert b'<f t="shared" si="0"/>' in parts(path)[SHEET]


@pytest.mark.parametrize("rows", [2, 6])
def test_a_dynamic_array_that_grew_or_shrank_gets_its_new_area(tmp_path, rows):
    def extra(book, sheet):
        ranges = ",".join(f"{letter}1:{letter}{rows}" for letter in "ABCDEF")
        sheet.write_dynamic_array_formula("K1:K4", f"=ACID_DOSE({ranges})")

    path = plan(tmp_path / "plan.xlsx", 6, extra)
    found = stored(path)
    assert [row for row in range(1, 9) if ("Plan", row, 11) in found] == list(range(1, rows + 1))
    assert f'cm="1"><f t="array" ref="K1:K{rows}">'.encode() in parts(path)[SHEET]


def test_values_of_every_kind_are_written_as_what_they_are(tmp_path):
    path = tmp_path / "kinds.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        for row, formula in enumerate(
            ["=1/4", '="=1+1"', "=1>0", "=NA()", '=""', '="  a<b  "', "=1E+300*10", "=-0.1"], 1
        ):
            sheet.write_formula(f"A{row}", formula, None, "stale")
    recalculate(path)
    found = values(path.read_bytes())
    assert [found["Sheet1", row, 1] for row in range(1, 9)] == [
        0.25,
        "=1+1",
        True,
        "#N/A",
        "",
        "  a<b  ",
        1e301,
        -0.1,
    ]
    assert len(formulas(path.read_bytes())) == 8


def test_native_formulas_beyond_the_engine_keep_their_value(tmp_path):
    def extra(book, sheet):
        sheet.write_formula("J1", "=MYSTERY(3)", None, 42)
        sheet.write_formula("J2", "=J1+1", None, 43)

    path = plan(tmp_path / "plan.xlsx", 1, extra, settled=False)
    result = recalculate(path)
    assert (
        result.kept == 2 and stored(path)["Plan", 1, 10] == 42 and stored(path)["Plan", 2, 10] == 43
    )


def test_what_reads_a_catalogue_cell_and_is_not_known_is_named(tmp_path):
    path = plan(
        tmp_path / "plan.xlsx",
        1,
        lambda book, sheet: sheet.write_formula("J1", "=MYSTERY(G1)", None, 42),
        settled=False,
    )
    result = recalculate(path)
    assert (
        "Plan!J1 (it uses a name or function" in result.warning and "out of date" in result.warning
    )
    assert stored(path)["Plan", 1, 10] == 42


def test_what_is_not_known_feeds_no_catalogue_cell_where_it_may_be_stale(tmp_path):
    def extra(book, sheet):
        sheet.write_formula("J1", "=MYSTERY(G1)", None, 42)
        sheet.write_formula("K1", "=ACID_DOSE(J1,B1,C1,D1,E1,F1)", None, 1)

    path = plan(tmp_path / "plan.xlsx", 1, extra, settled=False)
    before = path.read_bytes()
    with pytest.raises(BookError, match=r"Plan!K1 \(it waits for Plan!J1"):
        recalculate(path)
    assert path.read_bytes() == before


def test_dates_since_1904(tmp_path):
    path = tmp_path / "mac.xlsx"
    with xlsxwriter.Workbook(path, {"date_1904": True}) as book:
        book.add_worksheet().write_formula("A1", "=YEAR(1)", None, 0)
    recalculate(path)
    assert stored(path)["Sheet1", 1, 1] == 1904


@pytest.mark.parametrize(
    ("epoch", "days", "day_1"),
    [
        (CALENDAR_WINDOWS_1900, 46086, date(1900, 1, 1)),
        (CALENDAR_MAC_1904, 44624, date(1904, 1, 2)),
    ],
)
def test_dates_that_a_writer_stores_as_iso_8601_are_numbers(tmp_path, epoch, days, day_1):
    path, book = tmp_path / "d.xlsx", openpyxl.Workbook()
    book.iso_dates, book.epoch = True, epoch
    sheet = book.active
    sheet.append([date(2026, 3, 5), datetime(2026, 3, 6, 12), time(6), day_1])
    formulas = ["=COUNT(A1:D1)", "=B1-A1", "=MONTH(A1)", "=C1*4", "=ACID_NEEDED(A1:B1,0)", "=D1"]
    sheet.append(formulas)
    book.save(path)
    assert b't="d"' in parts(path)["xl/worksheets/sheet1.xml"]
    recalculate(path)
    found = values(path.read_bytes())
    wanted = [4.0, 1.5, 3.0, 1.0, 2 * days + 1.5, 1.0]
    assert [found["Sheet", 2, column] for column in range(1, 7)] == wanted


def test_sheet_names_that_need_quotes(tmp_path):
    path = tmp_path / "names.xlsx"
    names = ("It's a plan", "2025", "A1", "été & co")
    with xlsxwriter.Workbook(path) as book:
        for name in names:
            sheet = book.add_worksheet(name)
            sheet.write_row(0, 0, [101.0, 7.5, 5.5, 301.0, "lactic", 88.0])
            sheet.write_formula("G1", "=ACID_DOSE(A1,B1,C1,D1,E1,F1)+'It''s a plan'!A1")
            sheet.write_formula("H1", "=MYSTERY(1)", None, 3)
    assert recalculate(path).changed == 4
    dose = call("ACID_DOSE", 101.0, 7.5, 5.5, 301.0, "lactic", 88.0) + 101
    assert all(stored(path)[name, 1, 7] == pytest.approx(dose, rel=1e-12) for name in names)


def test_rows_and_cells_without_addresses(tmp_path):
    """ECMA-376 lets a writer leave them out."""
    import re

    path = rewritten(
        plan(tmp_path / "plan.xlsx", 2, settled=False),
        {SHEET: lambda data: re.sub(rb'<(row|c) r="[A-Z0-9]+"', rb"<\1", data)},
    )
    recalculate(path)
    assert values(path.read_bytes())["Plan", 2, 7] == call(
        "ACID_DOSE", 102.0, 7.5, 5.5, 302.0, "lactic", 88.0
    )
