"""Shared copies: what is frozen, what stays byte for byte, what must not travel."""

import io
import posixpath
import re
from datetime import datetime, timezone
from xml.etree import ElementTree

import openpyxl
import pytest
import xlsxwriter
from openpyxl.worksheet.formula import ArrayFormula
from python_calamine import CalamineWorkbook

from chemcore import __version__
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
from workbook_template.travel.formulas import calls
from workbook_template.travel.guards import without_guard
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.travel.share import shared
from workbook_template.user_errors import BookError

#: How near the rows of a range are to the same rows one by one, as in
#: tests/chemcore/test_speciation.py.
ALIKE = 1e-12

pytestmark = pytest.mark.usefixtures("quick_engine")
SHEET = "xl/worksheets/sheet1.xml"
NOW = datetime(2025, 3, 4, 5, 6, tzinfo=timezone.utc)
PNG = (
    b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\1\0\0\0\1\x08\x06\0\0\0\x1f\x15\xc4\x89\0\0\0\rIDATx\x9cc\xf8\xcf\xc0\xf0"
    b"\x1f\0\5\0\1\xff\x89\x99=\x1d\0\0\0\0IEND\xaeB`\x82"
)


def decorate(book, sheet):
    """Everything that a careless edit would lose."""
    chart = book.add_chart({"type": "line"})
    chart.add_series({"values": "=Plan!$G$1:$G$4"})
    sheet.insert_chart("N2", chart)
    sheet.insert_image("N20", "dot.png", {"image_data": io.BytesIO(PNG)})
    sheet.insert_textbox("N30", "A remark")
    sheet.write_comment("A1", "From the water report")
    sheet.conditional_format("G1:G4", {"type": "3_color_scale"})
    sheet.data_validation(
        "A1:A4", {"validate": "decimal", "criteria": "between", "minimum": 0, "maximum": 2000}
    )
    sheet.add_sparkline("M1", {"range": "Plan!G1:G4"})
    sheet.set_header("&LBatch sheet&RPage &P")
    sheet.freeze_panes(1, 0)
    book.define_name("Alkalinity", "=Plan!$A$1")
    book.add_worksheet("Other").write_formula("A1", "=SUM(Plan!G1:G4)+Alkalinity")


def copy_of(path, **options):
    return shared(Package.read(path), now=NOW, **options)


def test_catalogues_calls_are_frozen_and_the_others_stay_live(tmp_path):
    path = plan(tmp_path / "plan.xlsx", 4, decorate)
    copy = copy_of(path)
    before = formulas(path.read_bytes())
    after = {
        place: text
        for place, text in formulas(copy.data).items()
        if place[0] != "spargesheet formulas"
    }
    ours = {place for place, text in before.items() if calls(text)}
    assert copy.frozen == len(ours) == 4 and set(after) == set(before)
    assert not any(calls(text) for text in after.values())
    for place in set(before) - ours:
        assert without_guard(after[place]) == before[place]
    for row in range(1, 5):
        assert values(copy.data)["Plan", row, 7] == call(
            "ACID_DOSE", 100.0 + row, 7.5, 5.5, 300.0 + row, "lactic", 88.0
        )


def test_all_else_stays_byte_for_byte(tmp_path):
    path = plan(tmp_path / "plan.xlsx", 4, decorate)
    before, after = parts(path), parts(copy_of(path).data)
    changed = {name for name in before if before[name] != after.get(name)}
    assert changed == {
        SHEET,
        "xl/worksheets/sheet2.xml",
        "[Content_Types].xml",
        "xl/workbook.xml",
        "xl/_rels/workbook.xml.rels",
        "docProps/core.xml",
        "docProps/app.xml",
    }
    assert set(after) - set(before) == {"xl/worksheets/spargesheet.xml"}
    outside = re.compile(rb"<sheetData>.*</sheetData>|<dimension[^>]*>", re.DOTALL)
    assert outside.sub(b"", before[SHEET]) == outside.sub(b"", after[SHEET])
    cells = re.compile(rb'<c r="([A-Z]+\d+)".*?(?:</c>|/>)', re.DOTALL)
    old, new = (
        {match[1]: match[0] for match in cells.finditer(data)}
        for data in (before[SHEET], after[SHEET])
    )
    assert {place for place in new if new[place] != old.get(place)} == {
        b"G1",
        b"G2",
        b"G3",
        b"G4",
        b"G5",
        b"H1",
        b"H2",
        b"H3",
        b"H4",
        b"I1",
    }


def test_values_are_fresh_not_the_stale_ones(tmp_path):
    path = plan(tmp_path / "plan.xlsx", 3, settled=False)
    assert stored(path)["Plan", 1, 7] == 0
    found = values(copy_of(path).data)
    truth = fresh(path)
    assert found["Plan", 1, 7] == truth["Plan", 1, 7] > 0
    assert found["Plan", 1, 8] == 2 * found["Plan", 1, 7]
    assert found["Plan", 4, 7] == pytest.approx(
        sum(found["Plan", row, 7] for row in (1, 2, 3)), rel=1e-12
    )


def test_no_recalculation_no_order_of_calculation_no_people(tmp_path):
    path = rewritten(
        plan(tmp_path / "plan.xlsx", 1),
        {
            "xl/calcChain.xml": (
                b'<?xml version="1.0"?><calcChain'
                b' xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><c r="G1"'
                b' i="1"/></calcChain>'
            ),
            "xl/_rels/workbook.xml.rels": lambda data: data.replace(
                b"</Relationships>",
                b'<Relationship Id="rId77"'
                b' Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/calcChain"'
                b' Target="calcChain.xml"/></Relationships>',
            ),
            "[Content_Types].xml": lambda data: data.replace(
                b"</Types>",
                b'<Override PartName="/xl/calcChain.xml"'
                b' ContentType="application/vnd.openxmlformats-'
                b'officedocument.spreadsheetml.calcChain+xml"/></Types>',
            ),
            "xl/workbook.xml": lambda data: data.replace(
                b"<bookViews>",
                b'<fileSharing userName="An Author"/><mc:AlternateContent'
                b' xmlns:mc="http://schemas.openxmlformats.org/markup-compatibility/2006"><mc:Choice'
                b' Requires="x15"><x15ac:absPath'
                b' xmlns:x15ac="http://schemas.microsoft.com/office/spreadsheetml/2010/11/ac"'
                b' url="C:\\Users\\An Author\\"/></mc:Choice></mc:AlternateContent><bookViews>',
            ),
        },
    )
    copy = parts(copy_of(path).data)
    everything = b"".join(copy.values())
    assert (
        b"An Author" not in everything
        and b"A Manager" not in everything
        and b"Invented Ltd" not in everything
    )
    assert (
        b"fullCalcOnLoad" not in everything
        and b"absPath" not in everything
        and b"calcChain" not in everything
    )
    kept = b"".join(parts(copy_of(path, keep_metadata=True).data).values())
    assert b"An Author" in kept and b"absPath" in kept and b"fullCalcOnLoad" not in kept


def test_printer_settings_stay_at_home(tmp_path):
    relation = (
        b'<?xml version="1.0"?><Relationships'
        b' xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship'
        b' Id="rId1"'
        b' Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/printerSettings"'
        b' Target="../printerSettings/printerSettings1.bin"/></Relationships>'
    )
    path = rewritten(
        plan(tmp_path / "plan.xlsx", 1, lambda book, sheet: sheet.set_landscape()),
        {
            "xl/printerSettings/printerSettings1.bin": b"\\\\server\\printer",
            "xl/worksheets/_rels/sheet1.xml.rels": relation,
            SHEET: lambda data: data.replace(b"<pageSetup ", b'<pageSetup r:id="rId1" '),
        },
    )
    copy = parts(copy_of(path).data)
    assert not any("printerSettings" in name for name in copy) and b"landscape" in copy[SHEET]
    assert (
        b"r:id" not in copy[SHEET]
        and b"printerSettings" not in copy["xl/worksheets/_rels/sheet1.xml.rels"]
    )


def test_the_line_that_says_what_the_copy_is(tmp_path):
    path = plan(tmp_path / "plan.xlsx", 2, lambda book, sheet: book.add_worksheet("Empty"))
    found = values(copy_of(path).data)
    for place in (("Plan", 1, 9), ("Empty", 1, 1)):
        line = found[place]
        assert line.startswith("COPY of plan.xlsx, 2025-03-04") and __version__ in line
        assert "ask the sender" in line and str(tmp_path) not in line


@pytest.mark.parametrize(
    "extra, place",
    [
        (lambda sheet: sheet.write("A1", "Water", None), (2, 1)),
        (lambda sheet: [sheet.write(row, 0, "x") for row in range(5)], (1, 2)),
        (lambda sheet: sheet.write("A1", "A heading that runs on over its neighbours"), (2, 1)),
        (lambda sheet: [sheet.write(row, 0, "w" * 20) for row in range(3)], (1, 5)),
        (lambda sheet: [sheet.write_row(row, 0, range(30)) for row in range(3)], (1, 31)),
        (lambda sheet: sheet.write_formula("K9", "=COUNTA(A1:A3)"), (1, 2)),
        (lambda sheet: sheet.write_formula("K9", "=COUNTA(1:3)"), (11, 1)),
        (lambda sheet: sheet.merge_range("A1:J2", ""), (3, 1)),
    ],
)
def test_the_line_disturbs_nothing(tmp_path, extra, place):
    """Not where a cell is in use, merged, or read by a formula."""
    path = plan(
        tmp_path / "plan.xlsx", 1, lambda book, sheet: extra(book.add_worksheet("Other")), False
    )
    found = values(copy_of(path).data)
    (line,) = (
        key for key, value in found.items() if str(value).startswith("COPY") and key[0] == "Other"
    )
    assert line[1:] == place


TEXTS = [
    "=1+1",
    "+1",
    "-1",
    "@SUM(A1)",
    "=cmd|' /c x'!A1",
    "\t=1",
    "a<b>&\"'",
    "_x0041_",
    "bell\x07",
    "  spaces  ",
    "two\nlines",
    "é水",
    "]]>",
]


def test_a_value_that_looks_like_a_formula_stays_text(tmp_path):
    """A formula of ours may pass a text from a cell on; nothing of it becomes a formula or
    markup.
    """

    def extra(book, sheet):
        for row, text in enumerate(TEXTS, 1):
            sheet.write_string(f"J{row}", text)
            sheet.write_formula(
                f"K{row}", f'=IF(ACID_DOSE($A$1,$B$1,$C$1,$D$1,$E$1,$F$1)>0,J{row},"")'
            )

    copy = copy_of(plan(tmp_path / "plan.xlsx", 1, extra, settled=False))
    left, found = formulas(copy.data), values(copy.data)
    sheet = openpyxl.load_workbook(io.BytesIO(copy.data))["Plan"]
    for row, text in enumerate(TEXTS, 1):
        assert found["Plan", row, 11] == text
        assert f',J{row},"")' in left["Plan", row, 11] and sheet.cell(row, 11).data_type == "f"


def stored_forms(book, sheet):
    sheet.write_array_formula("J1:J4", "{=ACID_DOSE(A1:A4,B1:B4,C1:C4,D1:D4,E1:E4,F1:F4)}")
    sheet.write_dynamic_array_formula("K1:K4", "=ACID_DOSE(A1:A4,B1:B4,C1:C4,D1:D4,E1:E4,F1:F4)")
    book.define_name(
        "First_dose", "=ACID_DOSE(Plan!$A$1,Plan!$B$1,Plan!$C$1,Plan!$D$1,Plan!$E$1,Plan!$F$1)"
    )
    sheet.write_formula("L1", "=First_dose*1")


FORMS = [
    "acid_dose",
    "[1]!ACID_DOSE",
    "'C:\\Users\\An Author\\x.xlam'!ACID_DOSE",
    "tools.xlam!ACID_DOSE",
    "_xll.ACID_DOSE",
    "_xludf.ACID_DOSE",
    "_xldudf_ACID_DOSE",
    "ORG.SPARGESHEET.FUNCTIONS.ACIDDOSE",
    "org.spargesheet.functions.acid_dose",
]


def with_forms(tmp_path):
    """A book with every stored form, shared and array formulas, a name, and the link that an
    add-in's file leaves.
    """
    path = plan(tmp_path / "forms.xlsx", 4, stored_forms, settled=False)
    rows = "".join(
        f'<row r="{row}"><c r="A{row}"><f>{form}(A1,B1,C1,D1,E1,F1)</f><v>0</v></c></row>'
        for row, form in enumerate(FORMS, 40)
    )
    rows += (
        '<row r="60"><c r="A60"><f t="shared" si="0"'
        ' ref="A60:A62">ACID_DOSE(A1,B1,C1,D1,E1,F1)</f><v>0</v></c></row>'
    )
    rows += "".join(
        f'<row r="{row}"><c r="A{row}"><f t="shared" si="0"/><v>0</v></c></row>' for row in (61, 62)
    )
    relation = (
        b'<Relationship Id="rId88"'
        b' Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/externalLink"'
        b' Target="externalLinks/externalLink1.xml"/></Relationships>'
    )
    rels = (
        b'<?xml version="1.0"?><Relationships'
        b' xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship'
        b' Id="rId1"'
        b' Type="http://schemas.microsoft.com/office/2006/relationships/xlExternalLinkPath/xlPathMissing"'
        b' Target="x.xlam" TargetMode="External"/></Relationships>'
    )
    return rewritten(
        path,
        {
            SHEET: lambda data: data.replace(b"</sheetData>", rows.encode() + b"</sheetData>"),
            "xl/externalLinks/externalLink1.xml": (
                b'<?xml version="1.0"?><externalLink'
                b' xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><externalBook'
                b' xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"'
                b' r:id="rId1"/></externalLink>'
            ),
            "xl/externalLinks/_rels/externalLink1.xml.rels": rels,
            "xl/_rels/workbook.xml.rels": lambda data: data.replace(b"</Relationships>", relation),
            "xl/workbook.xml": lambda data: data.replace(
                b"<definedNames>",
                b"<externalReferences><externalReference"
                b' r:id="rId88"/></externalReferences><definedNames>',
            ),
            "[Content_Types].xml": lambda data: data.replace(
                b"</Types>",
                b'<Override PartName="/xl/externalLinks/externalLink1.xml"'
                b' ContentType="application/vnd.'
                b'openxmlformats-officedocument.spreadsheetml.externalLink+xml"/></Types>',
            ),
        },
    )


def test_every_stored_form_is_frozen_and_the_add_ins_link_goes(tmp_path):
    path = with_forms(tmp_path)
    copy = copy_of(path)
    left = [
        text
        for place, text in formulas(copy.data).items()
        if place[0] != "spargesheet formulas" and calls(text)
    ]
    assert left == [] and copy.frozen == 4 + 2 + 1 + len(FORMS) + 3
    found = values(copy.data)
    first = call("ACID_DOSE", 101.0, 7.5, 5.5, 301.0, "lactic", 88.0)
    assert {found["Plan", row, 1] for row in range(40, 40 + len(FORMS))} == {first}
    alone = pytest.approx([found["Plan", row, 7] for row in range(1, 5)], rel=ALIKE)
    assert [found["Plan", row, 10] for row in range(1, 5)] == alone
    assert [found["Plan", row, 11] for row in range(1, 5)] == alone
    assert found["Plan", 1, 12] == first
    assert [found["Plan", row, 1] for row in (60, 61, 62)] == pytest.approx(
        [found["Plan", row, 7] for row in (1, 2, 3)], rel=ALIKE
    )
    everything = parts(copy.data)
    assert not any("externalLink" in name for name in everything) and b"An Author" not in b"".join(
        everything.values()
    )
    assert (
        b" cm=" not in everything[SHEET]
        and b"externalReference" not in everything["xl/workbook.xml"]
    )
    assert any("First_dose" in remark for remark in copy.remarks)


def test_arrays_that_openpyxl_wrote_get_their_missing_cells(tmp_path):
    path = tmp_path / "array.xlsx"
    book = openpyxl.Workbook()
    sheet = book.active
    for row in range(1, 4):
        for column, value in enumerate([100 + row, 7.5, 5.5, 300, "lactic", 88], 1):
            sheet.cell(row, column, value)
    sheet["H1"] = ArrayFormula("H1:H4", "=ACID_DOSE(A1:A3,B1:B3,C1:C3,D1:D3,E1:E3,F1:F3)")
    book.save(path)
    found = values(copy_of(path).data)
    assert [found["Sheet", row, 8] for row in (1, 2, 3)] == pytest.approx(
        [call("ACID_DOSE", 100.0 + row, 7.5, 5.5, 300.0, "lactic", 88.0) for row in (1, 2, 3)],
        rel=ALIKE,
    )
    assert found["Sheet", 4, 8] == "#N/A"


def test_links_to_other_workbooks_refuse_or_stay_on_demand(tmp_path):
    path = rewritten(
        with_forms(tmp_path),
        {
            SHEET: lambda data: data.replace(
                b"</sheetData>",
                b'<row r="70"><c r="A70"><f>[1]Sheet1!A1</f><v>5</v></c></row></sheetData>',
            )
        },
    )
    with pytest.raises(BookError, match="Plan!A70"):
        copy_of(path)
    kept = copy_of(path, keep_links=True)
    assert values(kept.data)[
        "Plan", 70, 1
    ] == 5.0 and "xl/externalLinks/externalLink1.xml" in parts(kept.data)


def test_names_that_libreoffice_writes_for_functions_go(tmp_path):
    stray = (
        b'<definedNames><definedName function="true" name="ORG.SPARGESHEET.FUNCTIONS.ACIDDOSE"'
        b' vbProcedure="true"></definedName></definedNames><calcPr'
    )
    path = rewritten(
        plan(tmp_path / "m.xlsx", 1, settled=False),
        {"xl/workbook.xml": lambda data: data.replace(b"<calcPr", stray)},
    )
    assert b"definedName" not in parts(copy_of(path).data)["xl/workbook.xml"]


def test_macros_are_left_out(tmp_path):
    path = rewritten(
        plan(tmp_path / "m.xlsx", 1),
        {
            "xl/vbaProject.bin": b"not read",
            "xl/_rels/workbook.xml.rels": lambda data: data.replace(
                b"</Relationships>",
                b'<Relationship Id="rId55"'
                b' Type="http://schemas.microsoft.com/office/2006/relationships/vbaProject"'
                b' Target="vbaProject.bin"/></Relationships>',
            ),
            "[Content_Types].xml": lambda data: data.replace(
                b"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml",
                b"application/vnd.ms-excel.sheet.macroEnabled.main+xml",
            ),
        },
    )
    copy = copy_of(path)
    everything = parts(copy.data)
    assert (
        "xl/vbaProject.bin" not in everything
        and b"macroEnabled" not in everything["[Content_Types].xml"]
    )
    assert any("macros" in remark for remark in copy.remarks)


def test_no_fresh_value_no_copy(tmp_path):
    def extra(book, sheet):
        sheet.write_formula("J1", "=MYSTERY(3)")
        sheet.write_formula("J2", "=ACID_DOSE(J1,B1,C1,D1,E1,F1)")
        sheet.write_formula("J3", "=OTHER(4)", None, 8)

    path = plan(tmp_path / "plan.xlsx", 1, extra, settled=False)
    with pytest.raises(BookError) as told:
        copy_of(path)
    assert (
        "Plan!J1" in str(told.value)
        and "Plan!J2" in str(told.value)
        and "J3" not in str(told.value)
    )


def test_a_feature_that_the_engine_lacks_is_no_answer(tmp_path):
    """CONVERT of volumes gives #N/A in the embedded engine; the number of the book's own program
    stays and is used.
    """

    def extra(book, sheet):
        sheet.write_formula("J1", '=CONVERT(100,"l","gal")', None, 26.4)
        sheet.write_formula("J2", "=ACID_DOSE(A1,B1,C1,J1,E1,F1)", None, 1.0)

    path = rewritten(
        plan(tmp_path / "plan.xlsx", 1, extra, settled=False),
        {"xl/workbook.xml": lambda data: data.replace(b' fullCalcOnLoad="1"', b"")},
    )
    found = values(copy_of(path).data)
    assert found["Plan", 1, 10] == 26.4
    assert found["Plan", 2, 10] == call("ACID_DOSE", 101.0, 7.5, 5.5, 26.4, "lactic", 88.0)


def test_a_copy_is_not_shared_again(tmp_path):
    path = tmp_path / "copy.xlsx"
    path.write_bytes(copy_of(plan(tmp_path / "plan.xlsx", 1)).data)
    with pytest.raises(BookError, match="shared copy already"):
        copy_of(path)


@pytest.mark.parametrize(
    "make", [lambda tmp_path: plan(tmp_path / "p.xlsx", 4, decorate), with_forms]
)
def test_every_part_resolves(tmp_path, make):
    """ECMA-376 part 2: each relationship leads to a part, each part has a content type, each
    override names a part.
    """
    content = parts(copy_of(make(tmp_path)).data)
    types = ElementTree.fromstring(content["[Content_Types].xml"])
    overrides = {
        element.get("PartName").lstrip("/") for element in types if element.tag.endswith("Override")
    }
    defaults = {
        element.get("Extension").lower() for element in types if element.tag.endswith("Default")
    }
    assert overrides <= set(content)
    for name, data in content.items():
        if name.endswith((".xml", ".rels", ".vml")):
            ElementTree.fromstring(data)
        assert (
            name == "[Content_Types].xml"
            or name in overrides
            or name.rpartition(".")[2].lower() in defaults
        )
        if name.endswith(".rels"):
            folder = name.partition("_rels/")[0]
            identities = []
            for element in ElementTree.fromstring(data):
                identities.append(element.get("Id"))
                target = element.get("Target")
                if element.get("TargetMode") != "External":
                    assert (
                        posixpath.normpath(posixpath.join("/", folder, target)).lstrip("/")
                        in content
                    )
            assert len(identities) == len(set(identities))
            source = folder + name.rpartition("/")[2].removesuffix(".rels")
            if source in content and source.endswith(".xml"):
                asked = set(re.findall(rb'\br:(?:id|embed|link)="([^"]+)"', content[source]))
                assert asked <= {identity.encode() for identity in identities}
    sheets = re.findall(rb'<sheet [^>]*?sheetId="(\d+)"', content["xl/workbook.xml"])
    assert len(sheets) == len(set(sheets))


def test_readers_agree(tmp_path):
    path = tmp_path / "copy.xlsx"
    path.write_bytes(copy_of(with_forms(tmp_path)).data)
    ours = values(path.read_bytes())
    by_openpyxl = stored(path)
    with CalamineWorkbook.from_path(path) as book:
        for name in book.sheet_names:
            rows = book.get_sheet_by_name(name).to_python(skip_empty_area=False)
            for (sheet, row, column), value in ours.items():
                if sheet == name:
                    assert by_openpyxl[sheet, row, column] == value
                    if not str(value).startswith("#"):
                        assert rows[row - 1][column - 1] == value


def test_a_book_without_our_formulas_is_only_cleaned(tmp_path):
    path = tmp_path / "plain.xlsx"
    with xlsxwriter.Workbook(path) as book:
        book.add_worksheet().write_formula("A1", "=1+1", None, 2)
    copy = copy_of(path)
    assert copy.frozen == 0 and formulas(copy.data)["Sheet1", 1, 1] == "1+1"


def test_prefixed_elements_are_edited_in_kind(tmp_path):
    """Some programs write every element with a prefix."""
    path = rewritten(
        plan(tmp_path / "p.xlsx", 2, settled=False),
        {
            SHEET: lambda data: (
                re.sub(rb"<(/?)([a-zA-Z])", rb"<\1x:\2", data)
                .replace(b"xmlns=", b"xmlns:x=")
                .replace(b"<x:?xml", b"<?xml")
            )
        },
    )
    found = values(copy_of(path).data)
    assert found["Plan", 1, 7] == call("ACID_DOSE", 101.0, 7.5, 5.5, 301.0, "lactic", 88.0)
    assert found["Plan", 1, 9].startswith("COPY of")
    StoredBook(Package(copy_of(path).data))
