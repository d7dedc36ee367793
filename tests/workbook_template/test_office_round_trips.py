"""Through the real LibreOffice without the add-in: what the recipient sees, and what comes back
from there.
"""

import re
from datetime import datetime, timezone

import pytest

from tests.workbook_template.test_share import copy_of, decorate, with_forms
from tests.workbook_template.travel_fixtures import libreoffice, quick_engine  # noqa: F401
from tests.workbook_template.travelling import formulas, fresh, plan, values
from udfs import call
from workbook_template.cli.main import main
from workbook_template.travel import check
from workbook_template.travel.edits import Edits
from workbook_template.travel.formulas import calls
from workbook_template.travel.merge import merged
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.travel.restore import restored
from workbook_template.travel.share import shared

pytestmark = pytest.mark.usefixtures("quick_engine")
LEDGER = "spargesheet formulas"


def close(found: dict, expected: dict) -> None:
    assert {place for place in expected if place not in found and expected[place] != ""} == set()
    for place, value in expected.items():
        if isinstance(value, float):
            assert found[place] == pytest.approx(value, rel=1e-12), place
        elif value != "":
            assert found[place] == value, place


@pytest.mark.parametrize("kind", ["xlsx", "ods"])
def test_the_recipient_sees_the_same_numbers(libreoffice, tmp_path, kind):  # noqa: F811
    """A profile without the extension; the truth is a fresh evaluation of the source, cell by
    cell.
    """
    path = with_forms(tmp_path)
    copy = copy_of(path)
    seen = libreoffice.converted(copy.data, "copy.xlsx", kind)
    if kind == "ods":
        seen = libreoffice.converted(seen, "copy.ods", "xlsx")
    found = values(seen)
    close(found, fresh(path))
    assert not any(value in ("#NAME?", "#REF!") for value in found.values())


def test_charts_and_rules_survive_in_the_program(libreoffice, tmp_path):  # noqa: F811
    copy = copy_of(plan(tmp_path / "plan.xlsx", 4, decorate))
    close(
        values(libreoffice.converted(copy.data, "copy.xlsx", "xlsx")),
        {place: value for place, value in values(copy.data).items() if place[0] != LEDGER},
    )
    assert libreoffice.converted(copy.data, "copy.xlsx", "pdf").startswith(b"%PDF")


@pytest.mark.parametrize("kind", ["xlsx", "ods"])
def test_a_copy_that_libreoffice_saved_is_restored(libreoffice, tmp_path, kind):  # noqa: F811
    path = with_forms(tmp_path)
    data = libreoffice.converted(copy_of(path).data, "copy.xlsx", kind)
    if kind == "ods":
        data = libreoffice.converted(data, "copy.ods", "xlsx")
    result = restored(Package(data, "copy.xlsx"))
    assert result.inputs == [] and result.overwritten == [] and result.answers == []
    close(values(result.data), fresh(path))
    assert (
        sum(1 for text in formulas(result.data).values() if calls(text)) == result.formulas - 1
    )  # one goes by a name
    assert not any(name == LEDGER for name, _, _ in values(result.data))


@pytest.mark.parametrize("kind", ["xlsx", "ods"])
def test_books_that_libreoffice_wrote_are_shared(libreoffice, tmp_path, kind):  # noqa: F811
    """LibreOffice without the add-in stores the names that it does not know in lower case."""
    source = plan(tmp_path / "plan.xlsx", 3)
    path = tmp_path / f"own.{kind}"
    path.write_bytes(libreoffice.converted(source.read_bytes(), "plan.xlsx", kind))
    copy = shared(libreoffice.read(path), now=datetime(2025, 3, 4, tzinfo=timezone.utc))
    assert copy.frozen == 3
    assert values(copy.data)["Plan", 2, 7] == call(
        "ACID_DOSE", 102.0, 7.5, 5.5, 302.0, "lactic", 88.0
    )
    out = tmp_path / "out.ods"
    libreoffice.write(out, copy.data)
    report = check.checked(libreoffice.read(out))
    assert report.formulas == 3 and report.findings == []


def _with_rules(book, sheet):
    """Rules and a truth value, which LibreOffice writes in its own way into an .ods and back."""
    sheet.write_formula("J1", "=AND(G1>0,G2>0)")
    sheet.write_formula("K1", '=IF(J1,ACID_DOSE(A1,B1,C1,D1,E1,F1),"see remark")')
    begins = {"type": "text", "criteria": "begins with", "value": "can drop"}
    sheet.conditional_format("G1:G4", begins | {"format": book.add_format({"bold": True})})
    sheet.data_validation("E1", {"validate": "list", "source": ["lactic", " phosphoric"]})
    sheet.data_validation("A1", {"validate": "decimal", "criteria": ">=", "value": 1})
    ph = {"validate": "decimal", "criteria": "between", "minimum": 1.5, "maximum": 1e7}
    sheet.data_validation("B1:B2", ph)
    sheet.data_validation("B3:C4", ph)
    bold = {"format": book.add_format({"bold": True})}
    sheet.conditional_format("A1:A4", bold | {"type": "cell", "criteria": ">", "value": 1000})
    sheet.conditional_format("B1:B4", bold | {"type": "top", "value": 3})
    sheet.conditional_format("D1:D4", {"type": "3_color_scale"})


@pytest.fixture
def home_again(libreoffice, tmp_path):  # noqa: F811
    """A book, and its copy after LibreOffice saved it as .ods and again as .xlsx."""
    path = plan(tmp_path / "plan.xlsx", 4, _with_rules)
    seen = libreoffice.converted(copy_of(path).data, "copy.xlsx", "ods")
    return path, Package(libreoffice.converted(seen, "copy.ods", "xlsx"), "copy.xlsx")


def test_rules_and_truths_that_libreoffice_rewrote_are_not_new(home_again):
    path, copy = home_again
    result = restored(copy)
    assert result.new == result.locked == result.inputs == result.answers == []
    assert result.warning is None
    close(values(result.data), fresh(path))


def test_a_rule_of_another_length_is_new(home_again):
    _, copy = home_again
    part = "xl/worksheets/sheet1.xml"
    changed, times = re.subn(rb"LEN\(.*?\)", b"7", copy[part])
    copy[part] = changed
    assert times == 1
    assert [where for where, _ in restored(copy).new] == [
        "a conditional format on Plan!G1:G4",
        "Plan",
    ]


def test_inputs_of_an_ods_copy_come_into_the_workbook(home_again):
    path, copy = home_again
    book = StoredBook(copy)
    edits = Edits(book)
    edits.of(book.sheet("Plan")).freeze(1, 1, 150.0)
    edits.apply()
    result = merged(copy, Package.read(path))
    assert result.inputs == [("Plan!A1", 101.0, 150.0)] and result.refused == []
    dose = call("ACID_DOSE", 150.0, 7.5, 5.5, 301.0, "lactic", 88.0)
    assert values(result.data)["Plan", 1, 7] == pytest.approx(dose, rel=1e-12)


@pytest.mark.parametrize("copied", [".xlsx", ".ods"])
def test_a_copy_comes_home_into_an_ods_workbook(libreoffice, tmp_path, copied, capsys):  # noqa: F811
    """The sender's book is an .ods: formulas from it, the input from the copy, and the rule's new
    bound is told.
    """
    source = plan(tmp_path / "plan.xlsx", 4, _with_rules)
    book, copy, out = (tmp_path / name for name in ("mine.ods", f"copy{copied}", "back.ods"))
    book.write_bytes(libreoffice.converted(source.read_bytes(), "plan.xlsx", "ods"))
    sent = Package(copy_of(source).data, "copy.xlsx")
    edits = Edits(stored := StoredBook(sent))
    edits.of(stored.sheet("Plan")).freeze(1, 1, 150.0)
    edits.apply()
    part = "xl/worksheets/sheet1.xml"
    sent[part] = sent[part].replace(b"<formula>1000</formula>", b"<formula>100</formula>")
    data = sent.tobytes()
    if copied == ".ods":
        data = libreoffice.converted(data, "copy.xlsx", "ods")
    copy.write_bytes(data)
    mine = book.read_bytes()
    assert main(["restore", str(copy), str(out), "--into", str(book), "--quiet"]) == 0
    said = capsys.readouterr().out
    assert f"formulas from {book} only" in said and "Plan!A1: 101 -> 150" in said
    where = "a conditional format on Plan!A1:A4"
    assert f"{where}: is > 100 in the copy and > 1000 in your workbook" in said
    assert f"{out}: 5 formulas of the add-in are live again" in said
    assert book.read_bytes() == mine
    back = libreoffice.converted(out.read_bytes(), "back.ods", "xlsx")
    found = libreoffice.read(out)
    dose = call("ACID_DOSE", 150.0, 7.5, 5.5, 301.0, "lactic", 88.0)
    assert values(found.data)["Plan", 1, 7] == pytest.approx(dose, rel=1e-12)
    assert calls(formulas(back)["Plan", 1, 7]) == ["ACID_DOSE"]
    assert not any(name == LEDGER for name, _, _ in values(back))


def test_what_is_no_spreadsheet_is_told(libreoffice, tmp_path):  # noqa: F811
    path = tmp_path / "broken.ods"
    path.write_bytes(b"PK\x03\x04 broken")
    with pytest.raises(Exception, match="broken.ods is not a whole .ods spreadsheet"):
        libreoffice.read(path)
