"""A shared copy comes back: live again, with the recipient's inputs, and with a list of what they
changed.
"""

import io

import openpyxl
import pytest

from tests.workbook_template.test_share import copy_of, decorate, with_forms
from tests.workbook_template.travel_fixtures import quick_engine  # noqa: F401
from tests.workbook_template.travelling import formulas, parts, plan, rewritten, stored, values
from udfs import call
from workbook_template.travel.formulas import plain
from workbook_template.travel.native_functions import normal
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.restore import alike, restored
from workbook_template.user_errors import BookError

pytestmark = pytest.mark.usefixtures("quick_engine")
LEDGER = "spargesheet formulas"


def edited(data: bytes, change) -> Package:
    """The copy after somebody edited it with openpyxl and saved it."""
    book = openpyxl.load_workbook(io.BytesIO(data))
    change(book)
    out = io.BytesIO()
    book.save(out)
    return Package(out.getvalue(), "returned.xlsx")


def test_nothing_edited_nothing_lost(tmp_path):
    path = plan(tmp_path / "plan.xlsx", 3, decorate)
    result = restored(Package(copy_of(path, keep_metadata=True).data))
    assert result.formulas == 3 and not (result.inputs or result.answers or result.overwritten)
    assert formulas(result.data) == formulas(path.read_bytes()) and values(result.data) == values(
        path.read_bytes()
    )
    before, after = parts(path), parts(result.data)
    assert set(before) == set(after)
    assert {name for name in before if before[name] != after[name]} <= {
        "xl/worksheets/sheet1.xml",
        "xl/worksheets/sheet2.xml",
        "xl/workbook.xml",
        "[Content_Types].xml",
        "xl/_rels/workbook.xml.rels",
    }


def test_every_stored_form_comes_back_without_the_add_ins_folder(tmp_path):
    path = with_forms(tmp_path)
    result = restored(Package(copy_of(path).data))
    assert formulas(result.data) == {
        place: plain(text) for place, text in formulas(path.read_bytes()).items()
    }
    sheet = parts(result.data)["xl/worksheets/sheet1.xml"]
    assert (
        b'<c r="K1" cm="1"><f t="array" ref="K1:K4">' in sheet
        and b'<f t="array" ref="J1:J4">' in sheet
    )


def test_edits_of_the_recipient_are_kept_and_listed(tmp_path):
    def change(book):
        book["Plan"]["A1"] = 150
        book["Plan"]["D2"] = None
        book["Plan"]["G3"] = 99
        book["Plan"]["J9"] = "thanks"

    copy = copy_of(plan(tmp_path / "plan.xlsx", 3))
    result = restored(edited(copy.data, change))
    dose = call("ACID_DOSE", 150.0, 7.5, 5.5, 301.0, "lactic", 88.0)
    assert result.inputs == [("Plan!A1", 101.0, 150.0), ("Plan!D2", 302.0, None)]
    assert [where for where, _, now in result.overwritten] == ["Plan!G3"]
    assert [(where, now) for where, _, now in result.answers] == [
        ("Plan!G1", dose),
        ("Plan!G2", call("ACID_DOSE", 102.0, 7.5, 5.5, None, "lactic", 88.0)),
    ]
    found = values(result.data)
    assert (
        found["Plan", 1, 7] == dose
        and found["Plan", 1, 8] == 2 * dose
        and found["Plan", 9, 10] == "thanks"
    )
    assert formulas(result.data)["Plan", 3, 7] == "ACID_DOSE(A3,B3,C3,D3,E3,F3)"
    assert not any(name == LEDGER for name, _, _ in found) and not any(
        str(value).startswith("COPY of") for value in found.values()
    )


def test_a_blank_input_that_was_filled_in_is_listed(tmp_path):
    def extra(book, sheet):
        sheet.write_formula("J1", "=ACID_DOSE(A1,B1,C1,K1,E1,F1)")

    copy = copy_of(plan(tmp_path / "plan.xlsx", 1, extra))
    assert values(copy.data)["Plan", 1, 10].startswith("Check litres")
    result = restored(edited(copy.data, lambda book: book["Plan"].__setitem__("K1", 200)))
    assert result.inputs == [("Plan!K1", None, 200.0)]
    assert result.answers[0][2] == call("ACID_DOSE", 101.0, 7.5, 5.5, 200.0, "lactic", 88.0)


def test_an_empty_answer_comes_back_from_a_program_that_saves_no_empty_text(tmp_path):
    def extra(book, sheet):
        sheet.write_formula("J1", '=IF(K1="","",ACID_DOSE(A1,B1,C1,K1,E1,F1))')

    copy = copy_of(plan(tmp_path / "plan.xlsx", 1, extra))
    result = restored(edited(copy.data, lambda book: None))
    assert not (result.inputs or result.answers or result.overwritten)
    assert (
        "ACID_DOSE" in formulas(result.data)["Plan", 1, 10]
        and values(result.data)["Plan", 1, 10] == ""
    )


def test_moved_cells_are_refused(tmp_path):
    """A program that inserts a row moves the references of the hidden sheet; openpyxl does not, so
    it is done here.
    """

    def change(book):
        book["Plan"].insert_rows(1)
        for cell in book[LEDGER]["A"][3:]:
            name, _, place = cell.value[1:].partition("!")
            letters = place.rstrip("0123456789")
            cell.value = f"={name}!{letters}{int(place[len(letters) :]) + 1}"

    copy = copy_of(plan(tmp_path / "plan.xlsx", 2))
    with pytest.raises(BookError, match=r"inserted, deleted or renamed .*Plan!A1 is now Plan!A2"):
        restored(edited(copy.data, change))


def put(column, value):
    """Put something into the row of the first frozen formula."""

    def change(book):
        row = next(cell.row for cell in book[LEDGER]["B"] if cell.value == "formula")
        book[LEDGER][f"{column}{row}"] = value

    return change


@pytest.mark.parametrize(
    "change, words",
    [
        (lambda book: book.remove(book[LEDGER]), "carries no frozen formulas"),
        (put("E", "WEBSERVICE(A1)"), "changed on the way"),
        (
            put("E", "ACID_DOSE(A1)+[1]S!A1"),
            "changed on the way",
        ),
        (put("B", "macro"), "was changed"),
        (put("C", "Elsewhere"), "was changed"),
        (put("D", "A0"), "not a cell"),
        (put("E", None), "was changed"),
        (put("G", "A1:B2"), "was changed"),
    ],
)
def test_a_hidden_sheet_that_was_tampered_with_is_refused(tmp_path, change, words):
    copy = copy_of(plan(tmp_path / "plan.xlsx", 1, settled=False))
    with pytest.raises(BookError, match=words):
        restored(edited(copy.data, change))


def test_a_copy_without_formulas_cannot_be_restored(tmp_path):
    copy = copy_of(plan(tmp_path / "plan.xlsx", 1), keep_formulas=False)
    assert "xl/worksheets/spargesheet.xml" not in parts(copy.data)
    with pytest.raises(BookError, match="carries no frozen formulas"):
        restored(Package(copy.data))


def test_an_ordinary_book_is_no_copy(tmp_path):
    with pytest.raises(BookError, match="carries no frozen formulas"):
        restored(Package.read(plan(tmp_path / "plan.xlsx", 1, settled=False)))


def test_there_and_back_twice(tmp_path):
    path = plan(tmp_path / "plan.xlsx", 2)
    for _ in range(2):
        path.write_bytes(restored(Package(copy_of(path).data)).data)
    assert formulas(path.read_bytes())["Plan", 2, 7] == "ACID_DOSE(A2,B2,C2,D2,E2,F2)"
    assert stored(path)["Plan", 1, 7] == call("ACID_DOSE", 101.0, 7.5, 5.5, 301.0, "lactic", 88.0)
    assert rewritten(path, {}) == path


@pytest.mark.parametrize(
    "sent, saved",
    [
        ("IF(A1=1,32.0,0)", "IF(A1=1,32,0)"),
        ("ABS(B1-72)<=7.2E-8", "ABS(B1-72)<=0.000000072"),
        ("A1*84.72340471096277", "a1 * 84.7234047109628"),
        ("Plan!$A$4:$A$10+1.50", "'Plan'!$A$4:$A$10+1.5"),
    ],
)
def test_a_number_that_a_program_writes_otherwise_is_no_new_formula(sent, saved):
    """As LibreOffice 7.4 saved them."""
    assert normal(sent) == normal(saved)


@pytest.mark.parametrize(
    "sent, other",
    [
        ("A1*32.0", "A1*32.01"),
        ("A1*1.0E-7", "A1*1.0E-8"),
        ('A1&"1.0"', 'A1&"1"'),
        ("A10", "A1"),
        ("Rate1.0", "Rate1"),
        ("SUM(1:10)", "SUM(1:100)"),
    ],
)
def test_another_number_is_a_new_formula(sent, other):
    assert normal(sent) != normal(other)


def test_a_tiny_number_keeps_20_decimals():
    """As LibreOffice stores 4.4428476441298607e-14 in an .ods file."""
    assert alike(4.4428476441298607e-14, 4.442848e-14)
    assert not alike(4.4428476441298607e-14, 4.45e-14)
    assert not alike(1.0, 1.0001)
