"""Traces of the sender: none is left in a copy unless the command says so."""

import io
import re

import openpyxl
import pytest

from tests.workbook_template import whole_package
from tests.workbook_template.hand_parts import (
    MICROSOFT,
    SHEET,
    WORKBOOK,
    HandMade,
    form_control,
    with_controls,
)
from tests.workbook_template.test_share import PNG
from tests.workbook_template.traced_book import JPEG, MARKERS, forms, noted_png, photograph, traced
from tests.workbook_template.travel_fixtures import quick_engine  # noqa: F401
from tests.workbook_template.travelling import parts, plan
from workbook_template.cli.through_office import converted
from workbook_template.travel import part_types, pictures
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.share import shared
from workbook_template.user_errors import BookError

pytestmark = pytest.mark.usefixtures("quick_engine")
#: What is meant to stay and is told to the sender.
LISTED = {
    *("mail address", "key in a link", "folder in a cell", "password in a cell"),
    "name of a query table",
}


@pytest.fixture
def before(tmp_path):
    return traced(tmp_path / "traced.xlsx")


def held(package: dict[str, bytes]) -> dict[str, set[str]]:
    """Places whose marker stands in a package, with the parts."""
    found = {}
    for place, marker in MARKERS.items():
        looks = forms(marker)
        where = {
            name
            for name, data in package.items()
            if marker in name or any(look in data for look in looks)
        }
        if where:
            found[place] = where
    return found


def test_no_trace_is_left_that_is_not_listed(before):
    assert set(held(parts(before))) == set(MARKERS) and len(MARKERS) >= 50
    copy = shared(Package.read(before))
    after = parts(copy.data)
    left = held(after)
    assert set(left) == LISTED, left
    said = "\n".join(copy.remarks)
    assert [place for place in LISTED if MARKERS[place] not in said] == []
    assert whole_package.faults(after) == []
    assert b"water.pdf" in after["xl/worksheets/_rels/sheet1.xml.rels"]
    assert b"https://example.org/report" in after["xl/worksheets/_rels/sheet1.xml.rels"]
    assert b"HTTPS://example.org/a" in after["xl/worksheets/_rels/sheet1.xml.rels"]
    assert b"<!-- stays -->" in after["xl/styles.xml"]
    assert b"&amp;&amp;Z kept" in after[SHEET] and b"A plan" in after["docProps/core.xml"]
    assert b"@author is this right?" in after["xl/threadedComments/threadedComment1.xml"]
    assert {after[name] for name in after if "/media/" in name} == {PNG, JPEG}


def test_each_thing_left_out_is_told(before):
    said = "\n".join(shared(Package.read(before)).remarks)
    for words in (
        "macros are left out",
        "a linked picture is left out",
        "1 part that nothing in the book uses is left out",
        "path of a pivot table's source is left out",
        "connections to data are left empty",
        "an embedded object is left out",
        "an ActiveX control is left out",
        "a sensitivity label is left out",
        "custom XML data",
        "XML maps is left out",
        "a part of an unknown kind is left out: xl/unheard/of.xml",
        "without the user and password in it: HTTPS://example.org/a",
        "the rows that it was made from",
    ):
        assert words in said, words


def test_secrets_do_not_travel_even_where_people_may(before):
    left = held(parts(shared(Package.read(before), keep_metadata=True).data))
    secret = {
        *("password of a connection", "query of a connection", "web query", "text import"),
        *("user in a link", "password in a link", "a kind unheard of", "macros", "Power Query"),
        *("OLE object", "ActiveX", "a part that nothing uses", "old values"),
    }
    assert not secret & set(left)
    assert {"author of a comment", "author of the book", "camera in EXIF", "printer"} <= set(left)


def test_a_form_control_stays_beside_an_activex_control_that_goes(before):
    after = parts(shared(Package.read(before)).data)
    sheet = after[SHEET]
    assert sheet.count(b"<control ") == 1 and b'name="List"' in sheet
    assert b"objectType=" in after["xl/ctrlProps/ctrlProp1.xml"]
    assert not [name for name in after if "activeX" in name]


def test_the_last_control_takes_its_list_along(tmp_path):
    path = plan(tmp_path / "plan.xlsx", 2, lambda book, sheet: sheet.write_comment("A1", "x"))
    made = HandMade(path)
    identity = made.add(SHEET, "control", "xl/activeX/activeX1.xml", "<x/>")
    with_controls(made, f'<control shapeId="1901" r:id="{identity}" name="Box"/>')
    after = parts(shared(Package.read(made.written())).data)
    assert b"<controls" not in after[SHEET] and whole_package.faults(after) == []


def test_targets_in_another_letter_case(tmp_path):
    path = plan(tmp_path / "plan.xlsx", 2, lambda book, sheet: sheet.write_comment("A1", "x"))
    made = HandMade(path)
    with_controls(made, form_control(made))
    made.change(
        "xl/worksheets/_rels/sheet1.xml.rels",
        "xl/ctrlProps/ctrlProp1.xml",
        "XL/CtrlProps/CTRLPROP1.XML",
    )
    assert whole_package.faults(made.parts) == []
    copy = shared(Package.read(made.written()))
    after = parts(copy.data)
    assert "xl/ctrlProps/ctrlProp1.xml" in after and whole_package.faults(after) == []
    assert not [remark for remark in copy.remarks if "left out" in remark]


@pytest.mark.parametrize("kind", part_types.REFUSED)
def test_a_book_that_would_be_damaged_is_refused(tmp_path, kind):
    made = HandMade(plan(tmp_path / "plan.xlsx", 2))
    made.add(WORKBOOK, kind, "xl/model/item.data", b"x", base=f"{MICROSOFT}/2011/relationships")
    with pytest.raises(BookError, match=re.escape(part_types.REFUSED[kind][:20])):
        shared(Package.read(made.written()))


def test_every_kind_of_part_is_in_one_table_with_its_reason():
    tables = [part_types.KEPT, part_types.CLEANED, part_types.DROPPED, part_types.REFUSED]
    kinds = [kind for table in tables for kind in table]
    assert len(kinds) == len(set(kinds))
    reasons = [reason for table in tables[1:] for reason in table.values()]
    assert all(len(reason) > 3 for reason in reasons)


def test_every_kind_in_the_traced_book_but_one_is_known(before):
    known = part_types.KEPT | {*part_types.CLEANED, *part_types.DROPPED, *part_types.REFUSED}
    kinds = set()
    for name, data in parts(before).items():
        if name.endswith(".rels"):
            kinds |= {kind.decode() for kind in re.findall(rb'Type="[^"]*/(\w[\w-]*)"', data)}
    assert kinds - known == {"unheardOf"}


def test_a_linked_object_goes_with_its_link(tmp_path):
    path = plan(tmp_path / "plan.xlsx", 2, lambda book, sheet: sheet.write_comment("A1", "x"))
    made = HandMade(path)
    made.before(
        SHEET,
        "/legacyDrawing",
        '<oleObjects><oleObject link="[1]!\'\'" oleUpdate="OLEUPDATE_ALWAYS" progId="Word"'
        ' shapeId="1902"/></oleObjects>',
    )
    copy = shared(Package.read(made.written()))
    assert b"oleObject" not in parts(copy.data)[SHEET]
    assert "objects that are linked to other files are left out" in copy.remarks


def test_a_pivot_table_of_another_book_does_not_turn_to_a_sheet_here(before):
    after = parts(shared(Package.read(before)).data)
    assert b'sheet="not in this copy"' in after["xl/pivotCache/pivotCacheDefinition1.xml"]


def test_parts_are_cleaned_whatever_they_are_called(tmp_path):
    path = plan(
        tmp_path / "plan.xlsx",
        2,
        lambda book, sheet: sheet.write_comment("A1", "x", {"author": "TRACE"}),
    )
    made = HandMade(path)
    name = next(name for name in made.parts if re.fullmatch(r"xl/comments\d\.xml", name))
    made.parts["xl/remarks.data"] = made.parts.pop(name)
    made.change("[Content_Types].xml", f"/{name}", "/xl/remarks.data")
    made.change("xl/worksheets/_rels/sheet1.xml.rels", f"../{name[3:]}", "../remarks.data")
    made.add("xl/styles.xml", "image", "xl/odd.emf", b"EMF", "image/x-emf")
    assert b"TRACE" in made.parts["xl/remarks.data"]
    copy = shared(Package.read(made.written()))
    after = parts(copy.data)
    assert b"TRACE" not in after["xl/remarks.data"] and whole_package.faults(after) == []
    assert any("xl/odd.emf is a picture of a kind" in remark for remark in copy.remarks)


def test_a_clean_copy_loads(before):
    copy = shared(Package.read(before))
    book = openpyxl.load_workbook(io.BytesIO(copy.data))
    assert book["Plan"]["A2"].comment.author == "author"
    assert book["Plan"]["A2"].comment.text.startswith("author:")
    assert book["Plan"]._pivots[0].name == "Litres"


def test_a_photograph_keeps_its_image_and_loses_its_notes():
    assert pictures.plain(photograph()) == JPEG
    assert pictures.plain(JPEG) == JPEG
    assert pictures.plain(noted_png()) == PNG


def test_a_picture_that_is_not_known_is_not_called_clean():
    assert pictures.plain(b"GIF89a") is None
    assert pictures.plain(noted_png()[:40]) is None
    assert pictures.plain(photograph()[:60]) is None
    assert [size for size in range(len(JPEG)) if pictures.plain(JPEG[:size]) is not None] == []


@pytest.mark.office
def test_libreoffice_opens_the_clean_copy(before):
    copy = shared(Package.read(before))
    opened = converted(copy.data, "copy.xlsx", "xlsx")
    sheet = openpyxl.load_workbook(io.BytesIO(opened), data_only=True)["Plan"]
    written = openpyxl.load_workbook(io.BytesIO(copy.data), data_only=True)["Plan"]
    assert sheet["G1"].value == pytest.approx(written["G1"].value, rel=1e-12)
    assert sheet["A2"].comment is not None
