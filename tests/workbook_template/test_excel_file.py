"""The files that Excel gets: whole by the standard, within Excel's limits, and with no reason to
work them out again.
"""

from __future__ import annotations

import re
import shutil
import zipfile

import pytest
import xlsxwriter
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st

from tests.calc_office import libreoffice  # noqa: F401  (fixture)
from tests.workbook_template.spreadsheetml import MAIN, faults
from tests.workbook_template.travelling import parts, plan, rewritten, stored
from udfs import call
from workbook_template.cli.calc_edition import Edition, to_ods, to_xlsx
from workbook_template.engine_number import EXTENSION, FEATURES, NUMBER, current
from workbook_template.template.build import TEMPLATE
from workbook_template.travel import log_readings
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.recalc import recalculate
from workbook_template.travel.restore import restored
from workbook_template.travel.share import shared

WORKBOOK = "xl/workbook.xml"
READINGS = (
    "date,batch,water,acid,volume,target_ph,ph_before,dose,ph_after\n"
    "2026-01-12,0206,town MAIN,Phosphoric 75 drum,11.2,5.7,7.5,238,5.72\n"
)


def changed(data: bytes) -> bytes:
    """The sheet Settings with another tank temperature, as a user would type it."""
    new, count = re.subn(rb'(<c r="B7"[^>]*><v>)[^<]*', rb"\g<1>66", data)
    assert count == 1
    return new


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """What each command makes of the template, by its name."""
    folder = tmp_path_factory.mktemp("files")
    book = folder / "plan.xlsx"
    shutil.copy(TEMPLATE, book)
    made = {"new": book.read_bytes()}
    made["share"] = shared(Package(made["new"])).data
    made["restore"] = restored(Package(made["share"])).data
    # whoever types an input without working the book out says so in the file
    asked = {WORKBOOK: lambda data: data.replace(b"<calcPr ", b'<calcPr fullCalcOnLoad="1" ')}
    rewritten(book, {"xl/worksheets/sheet2.xml": changed, **asked})
    assert recalculate(book).changed > 10
    made["recalc"] = book.read_bytes()
    readings = folder / "meter.csv"
    readings.write_text(READINGS, encoding="utf-8")
    added = log_readings.add(Package(made["new"]), readings)
    assert added.rows and not added.refused
    made["log add"] = added.data
    return made


COMMANDS = ("new", "share", "restore", "recalc", "log add")
LIVE = ("new", "restore", "recalc", "log add")


@pytest.mark.slow
@pytest.mark.parametrize("command", COMMANDS)
def test_the_file_is_whole_and_within_excels_limits(files, command):
    assert faults(parts(files[command])) == []


@pytest.mark.slow
@pytest.mark.parametrize("command", LIVE)
def test_excel_has_no_reason_to_work_it_out_again(files, command):
    assert_settled(parts(files[command])[WORKBOOK])


def assert_settled(data: bytes) -> None:
    """The number and the features of a current Excel, and no request."""
    calculation = re.search(rb"<(?:\w+:)?calcPr\s[^>]*>", data)[0]
    assert int(re.search(rb'calcId="(\d+)"', calculation)[1]) >= NUMBER == 191029
    assert b"fullCalcOnLoad" not in data and b"forceFullCalc" not in data
    listed = re.findall(rb'<xcalcf:feature name="([^"]+)"/>', data)
    assert set(FEATURES) <= {name.decode() for name in listed}
    assert len(listed) == len(set(listed)) and data.count(EXTENSION.encode()) == 1


@pytest.mark.slow
@pytest.mark.parametrize("command", COMMANDS)
def test_no_sheet_is_volatile_or_has_an_order_of_calculation(files, command):
    content = parts(files[command])
    assert not [name for name in content if "calcChain" in name]
    text = b"".join(content[name] for name in content if "/worksheets/" in name)
    formulas = b"\n".join(re.findall(rb"<f[^>]*>[^<]*</f>", text))
    assert formulas.count(b"<f") > 1500
    assert not re.search(rb"\b(NOW|TODAY|RAND|RANDBETWEEN|OFFSET|INDIRECT|CELL|INFO)\(", formulas)


@pytest.mark.slow
@pytest.mark.parametrize("command", LIVE)
def test_an_empty_result_is_typed_as_a_text(files, command):
    content = parts(files[command])
    typed = 0
    for name in content:
        if not name.startswith("xl/worksheets/sheet"):
            continue
        for attributes, value in re.findall(
            rb"<c ([^>]*)><f[^>]*>[^<]*</f>(<v>[^<]*</v>|<v/>)", content[name]
        ):
            if value in (b"<v></v>", b"<v/>"):
                assert b't="str"' in attributes, (name, attributes)
                typed += 1
    assert typed > 2000


@pytest.mark.office
@pytest.mark.slow
def test_a_book_that_calc_saved(libreoffice, tmp_path):  # noqa: F811
    book, ods, back = plan(tmp_path / "plan.xlsx"), tmp_path / "plan.ods", tmp_path / "back.xlsx"
    to_ods(book, ods)
    assert to_xlsx(ods, back) == Edition(4, 0)
    content = parts(back)
    assert_settled(content[WORKBOOK])
    assert faults(content) == []


# The rules of the number, over books of all kinds


@pytest.mark.parametrize("number, kept", [("191029", True), ("191999", True), ("124519", False)])
def test_a_newer_number_stays_and_an_older_one_is_raised(number, kept):
    data = (
        f'<workbook xmlns="{MAIN[1:-1]}"><sheets/><calcPr calcId="{number}"/></workbook>'.encode()
    )
    assert (f'calcId="{number}"'.encode() in current(data)) == kept
    assert_settled(current(data))


@pytest.mark.parametrize(
    "data",
    [
        b"<workbook><sheets></workbook>",
        b"",
        "<workbook><sheets name='ü'/></workbook>".encode("utf-16"),
        "<workbook><sheets name='ü'/></workbook>".encode("latin-1"),
        b'<!DOCTYPE w [<!ENTITY a "aa"><!ENTITY b "&a;&a;">]><workbook>&b;</workbook>',
    ],
)
def test_a_part_that_is_no_workbook_is_left_alone(data):
    assert current(data) == data


@pytest.mark.parametrize("request_", ["fullCalcOnLoad", "forceFullCalc"])
def test_a_file_that_nobody_worked_out_keeps_asking_for_it(tmp_path, request_):
    """As convert gets it from a program that stores no values."""
    path = plan(tmp_path / "plan.xlsx", 2)
    asking = f'<calcPr calcId="124519" {request_}="1"/>'.encode()
    rewritten(path, {WORKBOOK: lambda data: re.sub(rb"<calcPr[^>]*>", asking, data)})
    before = parts(path)
    assert to_xlsx(path, tmp_path / "out.xlsx") == Edition(2, 0)
    assert parts(tmp_path / "out.xlsx") == before


def test_features_of_a_later_excel_stay():
    later = '<x:feature name="microsoft.com:LATER"/>'
    data = (
        f'<workbook xmlns="{MAIN[1:-1]}"><calcPr calcId="191030"/><extLst><ext uri="{EXTENSION}"'
        ' xmlns:x="http://schemas.microsoft.com/office/spreadsheetml/2018/calcfeatures"><x:calcFeatures><x:feature'
        f' name="microsoft.com:RD"/>{later}</x:calcFeatures></ext></extLst></workbook>'
    ).encode()
    after = current(data).decode()
    assert later in after and after.count("microsoft.com:RD") == 1
    assert all(f'<x:feature name="{name}"/>' in after for name in FEATURES)


_BEFORE = ("workbookPr", "bookViews", "sheets", "externalReferences", "definedNames")
_AFTER = ("oleSize", "pivotCaches", "webPublishObjects")


@st.composite
def workbooks(draw):
    """Workbook parts as any program may write them: a prefix, comments, quotes, other extensions,
    an old number.
    """
    prefix = draw(st.sampled_from(("", "x:")))
    quote = draw(st.sampled_from("\"'"))

    def element(name):
        comment = draw(st.sampled_from(("", "", "<!-- <calcPr calcId='1'/> </extLst> -->")))
        body = draw(st.sampled_from(("/>", f"> </{prefix}{name}>")))
        return f"{comment}<{prefix}{name} note={quote}a > b{quote}{body}"

    children = [element(name) for name in _BEFORE if draw(st.booleans())]
    if draw(st.booleans()):
        attributes = draw(
            st.lists(
                st.sampled_from(
                    ("iterate='1'", "fullCalcOnLoad='1'", 'forceFullCalc = "1"', "calcMode='auto'")
                ),
                unique=True,
            )
        )
        number = draw(st.sampled_from((None, 0, 124519, 191028, 191029, 191031)))
        if number is not None:
            attributes.insert(
                draw(st.integers(0, len(attributes))), f"calcId={quote}{number}{quote}"
            )
        ending = draw(st.sampled_from(("/>", " />", f"></{prefix}calcPr>")))
        children.append(f"<{prefix}calcPr {' '.join(attributes)}{ending}")
    children += [element(name) for name in _AFTER if draw(st.booleans())]
    if draw(st.booleans()):
        inner = draw(st.sampled_from(("", f"<{prefix}ext uri='other'><deep/></{prefix}ext>")))
        ext = f">{inner}</{prefix}extLst>" if inner or draw(st.booleans()) else "/>"
        children.append(f"<{prefix}extLst{ext}")
    space = f'xmlns{":x" if prefix else ""}="{MAIN[1:-1]}"'
    return (
        f"<?xml version='1.0'?>\n<{prefix}workbook {space}>{''.join(children)}</{prefix}workbook>"
    )


@examples(max_examples=200, deadline=None)
@given(workbook=workbooks())
def test_the_number_goes_in_wherever_a_program_left_it_out(workbook):
    from xml.etree import ElementTree

    from tests.workbook_template.spreadsheetml import ORDER

    after = current(workbook.encode())
    tree, old = ElementTree.fromstring(after), ElementTree.fromstring(workbook)
    names = [child.tag.removeprefix(MAIN) for child in tree]
    order = ORDER["workbook"].split()
    assert names == sorted(names, key=order.index) and len(set(names)) == len(names)
    assert {child.tag for child in old} | {f"{MAIN}calcPr", f"{MAIN}extLst"} == {
        child.tag for child in tree
    }
    calculation, before = tree.find(f"{MAIN}calcPr"), old.find(f"{MAIN}calcPr")
    was = dict(before.attrib) if before is not None else {}
    wanted = {k: v for k, v in was.items() if k not in ("fullCalcOnLoad", "forceFullCalc")}
    wanted["calcId"] = str(max(NUMBER, int(was.get("calcId", 0))))
    assert calculation.attrib == wanted
    assert [e.get("name") for e in tree.iter() if e.tag.endswith("}feature")] == list(FEATURES)
    assert len(list(tree.iter(f"{MAIN}ext"))) == 1 + len(list(old.iter(f"{MAIN}ext")))
    assert current(after) == after


# A book that came through another Excel: "edit, save, recalc, open again"


@pytest.mark.parametrize("number, request_", [("191031", ""), ("124519", ' fullCalcOnLoad="1"')])
def test_a_book_edited_elsewhere_is_worked_out_and_settled_again(tmp_path, number, request_):
    """As Excel for Mac leaves it: an input typed, the add-in's cells at #NAME?, a newer number; and
    as openpyxl does.
    """
    path = plan(tmp_path / "plan.xlsx", 3)

    def typed(data):
        data, count = re.subn(rb'(<c r="A1"[^>]*><v>)101(</v>)', rb"\g<1>150\2", data)
        assert count == 1
        data, count = re.subn(
            rb'<c r="(G[123])"([^>]*)>(<f>[^<]*</f>)<v>[^<]*</v>',
            rb'<c r="\1"\2 t="e">\3<v>#NAME?</v>',
            data,
        )
        assert count == 3
        return data

    def numbered(data):
        return re.sub(rb"<calcPr[^>]*>", f'<calcPr calcId="{number}"{request_}/>'.encode(), data)

    rewritten(path, {"xl/worksheets/sheet1.xml": typed, WORKBOOK: numbered})
    assert recalculate(path).changed >= 3
    values = stored(path)
    assert values["Plan", 1, 1] == 150
    for row in (1, 2, 3):
        inputs = [values["Plan", row, column] for column in range(1, 7)]
        dose = values["Plan", row, 7]
        assert dose == pytest.approx(call("ACID_DOSE", *inputs), rel=1e-9)
        assert values["Plan", row, 8] == pytest.approx(2 * dose, rel=1e-9)
    assert_settled(parts(path)[WORKBOOK])
    assert f'calcId="{max(int(number), NUMBER)}"'.encode() in parts(path)[WORKBOOK]


def test_only_the_number_is_old(tmp_path):
    """Nothing else differs: the file is written once, with the number, and then not again."""
    path = plan(tmp_path / "plan.xlsx", 2)
    rewritten(path, {WORKBOOK: lambda data: data.replace(b"191029", b"191028")})
    before = parts(path)
    assert recalculate(path).changed == 0
    after, stamp = parts(path), path.read_bytes()
    assert {name for name in before if before[name] != after[name]} == {WORKBOOK}
    assert recalculate(path).changed == 0 and path.read_bytes() == stamp


def test_a_book_with_a_formula_beyond_the_engine_is_left_for_excel_to_work_out(tmp_path):
    """Where a formula kept its stored value, nobody says that all of the book is fresh."""

    def beyond(book, sheet):
        sheet.write_formula("J1", "=_xlfn.LAMBDA(_xlpm.x,_xlpm.x+1)(1)", None, 2)

    path = plan(tmp_path / "plan.xlsx", 2, beyond, settled=False)
    result = recalculate(path)
    assert result.kept == 1
    assert b'calcId="124519"' in parts(path)[WORKBOOK]


# The checker finds what it is there for


def broken(files, name, change):
    content = parts(files["new"])
    content[name] = change(content[name])
    return faults(content)


@pytest.mark.slow
@pytest.mark.parametrize(
    "name, old, new, words",
    [
        (WORKBOOK, rb"(<calcPr[^>]*>)(<extLst>.*</extLst>)", rb"\2\1", "out of order"),
        (WORKBOOK, rb' sheetId="2"', rb"", "no sheetId"),
        (
            "xl/worksheets/sheet6.xml",
            rb"(<pageMargins[^>]*>)(.*)(</worksheet>)",
            rb"\2\1\3",
            "order",
        ),
        ("xl/worksheets/sheet2.xml", rb' sqref="B5"', rb"", "no sqref"),
        (
            "xl/worksheets/sheet2.xml",
            rb'<formula1>"L,',
            rb'<formula1>"' + 250 * b"L" + b",",
            "validation of B5 has a formula of 2",
        ),
        ("xl/worksheets/sheet6.xml", rb"<f>IF\(", rb"<f>XLOOKUP(", "XLOOKUP is not of Excel 2010"),
        (
            "xl/worksheets/sheet6.xml",
            rb"<f>IF\(",
            b"<f>" + 70 * b"ABS(" + 70 * b")" + b"+IF(",
            "nested 70",
        ),
        ("xl/worksheets/sheet6.xml", rb"<f>IF\(", b'<f>"' + 256 * b"x" + b'"+IF(', "text of 258"),
        ("xl/worksheets/sheet6.xml", rb' t="str"(><f>[^<]*</f>)<v></v>', rb"\1<v></v>", "holds ''"),
        ("xl/worksheets/sheet6.xml", rb' s="\d+"', rb' s="9999"', "style 9999"),
        (
            "[Content_Types].xml",
            rb'<Override PartName="/xl/worksheets/sheet3[^>]*>',
            rb"",
            "any XML",
        ),
        ("xl/_rels/workbook.xml.rels", rb"worksheets/sheet3", rb"worksheets/sheet99", "not there"),
        ("xl/_rels/workbook.xml.rels", rb'Id="rId3"', rb'Id="rId2"', "twice"),
    ],
)
def test_the_checker_sees_a_fault(files, name, old, new, words):
    def change(data):
        data, count = re.subn(old, new, data, count=1, flags=re.DOTALL)
        assert count == 1
        return data

    found = broken(files, name, change)
    assert any(re.search(words, fault) for fault in found), found[:5]


def test_xlsxwriters_own_file_would_have_been_worked_out_again(tmp_path):
    """Why all of this: what the library writes by itself."""
    path = tmp_path / "book.xlsx"
    with xlsxwriter.Workbook(path) as book:
        book.add_worksheet().write_formula(0, 0, '=""', None, "")
    with zipfile.ZipFile(path) as file:
        assert b'calcId="124519" fullCalcOnLoad="1"' in file.read(WORKBOOK)
