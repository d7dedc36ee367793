"""A data validation or conditional format that was changed in a copy is listed on the way back,
whatever was changed.
"""

import pytest

from tests.workbook_template.test_share import copy_of
from tests.workbook_template.travel_fixtures import quick_engine  # noqa: F401
from tests.workbook_template.travelling import plan
from workbook_template.travel.merge import merged
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.travel.restore import restored
from workbook_template.travel.rules import rules

pytestmark = pytest.mark.usefixtures("quick_engine")
PART = "xl/worksheets/sheet1.xml"


def with_rules(book, sheet):
    """Rules whose bounds stand in other rules of the sheet too."""
    ph = {"validate": "decimal", "criteria": "between", "minimum": 1, "maximum": 11}
    sheet.data_validation("B1:B4", ph)
    sheet.data_validation("C1:C4", ph | {"minimum": 0, "maximum": 14})
    sheet.data_validation("D1:D4", {"validate": "decimal", "criteria": ">=", "value": 0})
    sheet.data_validation("E1:E4", {"validate": "list", "source": ["lactic", "phosphoric"]})
    bold = {"format": book.add_format({"bold": True})}
    sheet.conditional_format("G1:G4", bold | {"type": "cell", "criteria": ">", "value": 14})
    sheet.conditional_format("H1:H4", bold | {"type": "formula", "criteria": "=$G1>11"})
    sheet.conditional_format("A1:A4", bold | {"type": "top", "value": 1})
    sheet.conditional_format(
        "F1:F4", {"type": "2_color_scale", "min_type": "num", "min_value": 0, "max_type": "max"}
    )


@pytest.fixture(scope="module")
def sent(tmp_path_factory):
    """The sender's book and its copy."""
    path = plan(tmp_path_factory.mktemp("rules") / "plan.xlsx", 2, with_rules)
    return path.read_bytes(), copy_of(path).data


CHANGES = {
    "a bound that another rule has": (
        b"<formula2>11</formula2>",
        b"<formula2>14</formula2>",
        "a data validation on Plan!B1:B4",
        "between 1 and 11",
        "between 1 and 14",
    ),
    "a bound of 0": (
        b"<formula2>11</formula2>",
        b"<formula2>0</formula2>",
        "a data validation on Plan!B1:B4",
        "between 1 and 11",
        "between 1 and 0",
    ),
    "another comparison": (
        b'operator="greaterThanOrEqual"',
        b'operator="lessThanOrEqual"',
        "a data validation on Plan!D1:D4",
        ">= 0",
        "<= 0",
    ),
    "another kind": (
        b'type="decimal" operator="greaterThanOrEqual"',
        b'type="textLength" operator="greaterThanOrEqual"',
        "a data validation on Plan!D1:D4",
        "decimal >= 0",
        "textLength >= 0",
    ),
    "a choice more": (
        b'"lactic,phosphoric"',
        b'"lactic,phosphoric,nitric"',
        "a data validation on Plan!E1:E4",
        '"lactic,phosphoric"',
        '"lactic,phosphoric,nitric"',
    ),
    "a format's bound": (
        b"<formula>14</formula>",
        b"<formula>11</formula>",
        "a conditional format on Plan!G1:G4",
        "> 14",
        "> 11",
    ),
    "a format's formula": (
        b"<formula>$G1&gt;11</formula>",
        b"<formula>$G1&gt;14</formula>",
        "a conditional format on Plan!H1:H4",
        "$G1>11",
        "$G1>14",
    ),
    "how many are the top": (
        b'rank="1"',
        b'rank="14"',
        "a conditional format on Plan!A1:A4",
        "rank 1",
        "rank 14",
    ),
    "the end of a colour scale": (
        b'<cfvo type="num" val="0"/>',
        b'<cfvo type="num" val="14"/>',
        "a conditional format on Plan!F1:F4",
        "num 0",
        "num 14",
    ),
}


def changed(data: bytes, was: bytes, now: bytes) -> Package:
    copy = Package(data, "copy.xlsx")
    assert copy[PART].count(was) == 1
    copy[PART] = copy[PART].replace(was, now)
    return copy


@pytest.mark.parametrize("what", CHANGES)
def test_a_changed_rule_is_listed(sent, what):
    book, copy = sent
    was, now, where, before, after = CHANGES[what]
    alone = dict(restored(changed(copy, was, now)).new)
    assert after in alone[where] and alone["Plan"].startswith("1 of the data validations")
    ((place, sentence),) = merged(changed(copy, was, now), Package(book, "plan.xlsx")).refused
    assert place == where
    copys, _, own = sentence.partition(" in the copy and ")
    assert after in copys and before in own


def test_a_rule_that_is_for_other_cells_or_gone_is_listed(sent):
    book, copy = sent
    fewer = restored(changed(copy, b'sqref="B1:B4"', b'sqref="B2:B4"'))
    assert "a data validation on Plan!B2:B4" in dict(fewer.new)
    gone = (b"<cfRule type=", b"cellIs", b"</cfRule>")
    data = Package(copy)[PART]
    start = data.index(gone[1]) - len(b'<cfRule type="')
    rule = data[start : data.index(gone[2], start) + len(gone[2])]
    assert [where for where, _ in restored(changed(copy, rule, b"")).new] == ["Plan"]
    refused = merged(changed(copy, rule, b""), Package(book, "plan.xlsx")).refused
    assert refused == [
        ("a conditional format on Plan!G1:G4", "is > 14 in your workbook and not in the copy")
    ]


@pytest.mark.parametrize("cut", [b"B1:B2 B3:B4", b"B4 B1:B3", b"B1 B2 B3 B4", b"B1:B4 B2"])
def test_the_same_cells_otherwise_cut_up_are_the_same_rule(sent, cut):
    book, copy = sent
    same = changed(copy, b'sqref="B1:B4"', b'sqref="%s"' % cut)
    assert restored(same).new == []
    same = changed(copy, b'sqref="B1:B4"', b'sqref="%s"' % cut)
    assert merged(same, Package(book, "plan.xlsx")).refused == []


def test_a_block_is_the_same_however_it_is_cut_up(sent):
    areas = []
    for cut in (b"B1:C4", b"B1:C2 B3:C4", b"B1:B4 C1:C4", b"C1:C3 C4 B1:B2 B3:B4"):
        copy = changed(sent[1], b'sqref="B1:B4"', b'sqref="%s"' % cut)
        found = rules(StoredBook(copy).sheet("Plan"))
        areas += [rule.area for rule in found if "between 1 and 11" in rule.said]
    assert areas == ["B1:C4"] * 4
