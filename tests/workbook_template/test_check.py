"""What ``check`` finds, and that it finds nothing in a clean book."""

import zipfile

import openpyxl
import pytest
import xlsxwriter
from openpyxl.workbook.defined_name import DefinedName

from tests.workbook_template.test_restore import edited
from tests.workbook_template.test_share import copy_of
from tests.workbook_template.travel_fixtures import quick_engine  # noqa: F401
from tests.workbook_template.travelling import DOSE, plan, rewritten, stored
from workbook_template.cli import main as cli
from workbook_template.template.build import TEMPLATE
from workbook_template.travel import ods
from workbook_template.travel.check import checked
from workbook_template.travel.ooxml.package import Package
from workbook_template.user_errors import BookError

pytestmark = pytest.mark.usefixtures("quick_engine")
SHEET = "xl/worksheets/sheet1.xml"


def findings(path_or_package, kind=None):
    package = (
        path_or_package if isinstance(path_or_package, Package) else Package.read(path_or_package)
    )
    return [
        (finding.where, finding.text)
        for finding in checked(package).findings
        if kind in (None, finding.kind)
    ]


#: Names of the template that a test changes, as a finding writes them.
RENAMED = ("Water_pH", "Water_alkalinity", "Waste", "CO2_lost")


def test_a_clean_book_has_no_findings(tmp_path):
    report = checked(Package.read(plan(tmp_path / "plan.xlsx", 4)))
    assert report.findings == [] and report.formulas == 4


def test_stale_values_with_both_numbers(tmp_path):
    path = rewritten(
        plan(tmp_path / "plan.xlsx", 3),
        {SHEET: lambda data: data.replace(b"<v>102</v>", b"<v>122</v>")},
    )
    ((where, text),) = findings(path)
    assert (
        where == "Plan!G2"
        and f"{stored(path)['Plan', 2, 7]:.10g}" in text
        and "made with" not in text
    )


def test_another_version_is_named(tmp_path):
    path = plan(
        tmp_path / "plan.xlsx",
        1,
        lambda book, sheet: book.set_custom_property("spargesheet", "0.0.1"),
    )
    assert findings(path) == []
    rewritten(path, {SHEET: lambda data: data.replace(b"<v>101</v>", b"<v>121</v>")})
    ((_, text),) = findings(path)
    assert "made with version 0.0.1" in text


def test_a_number_typed_over_a_formula(tmp_path):
    def extra(book, sheet):
        sheet.write_number("G3", 50)
        sheet.write_number("J1", 7)

    ((where, text),) = findings(plan(tmp_path / "plan.xlsx", 5, extra))
    assert where == "Plan!G3" and "holds 50 where" in text


def test_a_number_typed_over_a_calculated_column(tmp_path):
    path = tmp_path / "table.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("Plan")
        rows = [[101.0, 7.5, 5.5, 301.0, "lactic", 88.0]] * 3
        names = ["alkalinity", "ph", "target", "litres", "acid", "strength"]
        formula = "=ACID_DOSE(" + ",".join(f"[@[{name}]]" for name in names) + ")"
        sheet.add_table(
            "A1:G4",
            {
                "data": [[*row, None] for row in rows],
                "columns": [
                    *({"header": name} for name in names),
                    {"header": "dose", "formula": formula},
                ],
            },
        )
        sheet.write_number("G4", 12)
    assert [where for where, _ in findings(path, "typed over")] == ["Plan!G4"]
    assert any("table" in text for _, text in findings(path, "cannot be frozen"))


def test_text_where_a_number_belongs_and_a_total_that_leaves_it_out(tmp_path):
    path = plan(tmp_path / "plan.xlsx", 3, lambda book, sheet: sheet.write_string("A2", "102"))
    found = checked(Package.read(path)).findings
    assert {(finding.kind, finding.where) for finding in found} == {
        ("input", "Plan!G2"),
        ("total", "Plan!G4"),
    }
    assert any('"102" is text, not a number' in finding.text for finding in found)


@pytest.mark.parametrize(
    "total, skipped",
    [
        ("=SUM(G1:G3)", "G4, G5"),
        ("=SUM(G2:G5)", "G1"),
        ("=AVERAGE(G1:G5)", None),
        ("=SUM(G7:G9)", None),
        ("=MAX(G1:G2)", None),
    ],
)
def test_a_total_that_skips_rows(tmp_path, total, skipped):
    path = plan(tmp_path / "plan.xlsx", 5, lambda book, sheet: sheet.write_formula("J9", total))
    found = findings(path, "total")
    assert [where for where, _ in found] == (["Plan!J9"] if skipped else [])
    assert not skipped or f"skips {skipped} of Plan" in found[0][1]


def test_blank_inputs_with_a_formula_behind_them(tmp_path):
    def extra(book, sheet):
        for row in (10, 11, 12):
            sheet.write_formula(f"G{row}", f'=IF(COUNT(A{row}:D{row})<4,"",{DOSE.format(row)[1:]})')
        sheet.write_row("A10", [100, 7.5, 5.5])
        sheet.write_row("A11", [100, 7.5, 5.5, 300, "lactic", 88])

    ((where, text),) = findings(plan(tmp_path / "plan.xlsx", 1, extra))
    assert where == "Plan!G10" and "Plan!D10" in text and "Plan!A10" not in text


def test_what_cannot_be_frozen(tmp_path):
    def extra(book, sheet):
        book.define_name("Dose", "=ACID_DOSE(1,2,3,4,5)")
        bold = book.add_format({"bold": True})
        sheet.conditional_format(
            "A1:A2", {"type": "formula", "criteria": "=ACID_DOSE(A1,7,5,1,E1)>5", "format": bold}
        )
        sheet.data_validation(
            "B1", {"validate": "custom", "value": "=PH_AFTER_ACID(A1,B1,1,1,E1)>5"}
        )

    texts = " ".join(
        text for _, text in findings(plan(tmp_path / "plan.xlsx", 1, extra), "cannot be frozen")
    )
    assert (
        "the name Dose" in texts
        and "conditional format on Plan" in texts
        and "data validation on Plan" in texts
    )


@pytest.mark.parametrize(
    "name, found",
    [
        ("xlwings.conf", True),
        ("Tools.conf", True),
        ("_xlwings.conf", False),
        ("configuration", False),
    ],
)
def test_a_sheet_that_redirects_the_add_in(tmp_path, name, found):
    path = plan(tmp_path / "plan.xlsx", 1, lambda book, sheet: book.add_worksheet(name).hide())
    assert [where for where, _ in findings(path, "redirect")] == ([name] if found else [])


def test_macros_links_and_connections(tmp_path):
    path = rewritten(
        plan(tmp_path / "plan.xlsx", 1),
        {
            "xl/vbaProject.bin": b"not read",
            SHEET: lambda data: data.replace(
                b"</sheetData>",
                b'<row r="70"><c r="A70"><f>[1]Sheet1!A1</f><v>5</v></c></row></sheetData>',
            ),
            "xl/_rels/workbook.xml.rels": lambda data: data.replace(
                b"</Relationships>",
                b'<Relationship Id="rId55"'
                b' Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/connections"'
                b' Target="connections.xml"/></Relationships>',
            ),
        },
    )
    found = {(finding.kind, finding.where) for finding in checked(Package.read(path)).findings}
    assert found == {
        ("macros", "plan.xlsx"),
        ("external link", "Plan!A70"),
        ("external link", "plan.xlsx"),
    }


def test_a_copy_that_comes_back(tmp_path):
    def change(book):
        book["Plan"]["A1"] = 150
        book["Plan"]["G2"] = 1.5

    copy = copy_of(plan(tmp_path / "plan.xlsx", 3))
    assert checked(Package(copy.data)).findings == []
    found = checked(edited(copy.data, change)).findings
    assert {(finding.kind, finding.where) for finding in found} == {
        ("typed over", "Plan!G2"),
        ("changed input", "Plan!A1"),
        ("stale", "Plan!G1"),
    }


def test_a_book_of_another_writer(tmp_path):
    path = tmp_path / "own.xlsx"
    book = openpyxl.Workbook()
    book.active.append([101, 7.5, 5.5, 301, "lactic", 88, "=ACID_DOSE(A1,B1,C1,D1,E1,F1)"])
    book.save(path)
    ((where, text),) = findings(path)
    assert where == "Sheet!G1" and text.startswith("holds nothing, a fresh evaluation gives")


def test_the_template_is_clean_and_its_figures_are_fresh(tmp_path, capsys):
    book = tmp_path / "plan.xlsx"
    book.write_bytes(TEMPLATE.read_bytes())
    assert cli.main(["check", str(book)]) == 0
    assert cli.main(["recalc", str(book)]) == 0
    assert "no values changed" in capsys.readouterr().out
    assert cli.main(["share", str(book)]) == 0
    assert cli.main(["check", str(tmp_path / "plan-shared.xlsx")]) == 0


def template_with(tmp_path, change):
    """The template after openpyxl changed something in it."""
    path = tmp_path / "changed.xlsx"
    path.write_bytes(edited(TEMPLATE.read_bytes(), change).data)
    return path


def test_formulas_of_the_template_that_were_changed_moved_or_typed_over(tmp_path):
    """Cells are found by what the template has: the first three formulas of the plan that read a
    cell.
    """
    book = openpyxl.load_workbook(TEMPLATE)
    cells = [
        cell.coordinate
        for row in book["Batch plan"].iter_rows()
        for cell in row
        if isinstance(cell.value, str) and cell.value.startswith("=IF(")
    ][:3]

    def change(book):
        sheet = book["Batch plan"]
        sheet[cells[0]] = sheet[cells[0]].value + "&10"
        sheet["AZ300"] = sheet[cells[1]].value
        sheet[cells[1]] = 5

    found = dict(findings(template_with(tmp_path, change), "template"))
    assert set(found) == {f"'Batch plan'!{cell}" for cell in (cells[0], cells[1], "AZ300")}
    assert "does not have there" in found["'Batch plan'!AZ300"]
    assert "has no formula" in found[f"'Batch plan'!{cells[1]}"]


def test_names_of_the_template_that_stand_for_other_cells_are_named(tmp_path):
    """A formula keeps its text where a name leads elsewhere, also past a sheet's own of that
    name.
    """

    def change(book):
        names = book.defined_names
        names["Water_pH"].attr_text, names["Water_alkalinity"].attr_text = (
            names["Water_alkalinity"].attr_text,
            names["Water_pH"].attr_text,
        )
        del names["Waste"]
        names["Mine"] = DefinedName("Mine", attr_text="Settings!$B$1")
        book["Log"].defined_names["CO2_lost"] = DefinedName("CO2_lost", attr_text="0.5")

    found = findings(template_with(tmp_path, change), "template")
    texts = {where: text for where, text in found if where.startswith("the name ")}
    assert set(texts) == {f"the name {name}" for name in RENAMED}
    assert "on the sheet Log" in texts["the name CO2_lost"]


def test_a_book_of_another_version_says_that_it_was_not_compared(tmp_path):
    path = plan(
        tmp_path / "plan.xlsx",
        1,
        lambda book, sheet: book.set_custom_property("spargesheet", "0.0.1"),
    )
    report = checked(Package.read(path))
    assert not report.looked_at
    assert any("made with version 0.0.1" in text for text in report.not_looked_at)


def test_the_summary_says_what_was_not_looked_at(tmp_path, capsys):
    def extra(book, sheet):
        sheet.write_formula("J1", '=CELL("row",A1)', None, 1)

    path = plan(tmp_path / "plan.xlsx", 2, extra)
    cli.main(["check", str(path)])
    out = capsys.readouterr().out
    assert "Not checked: " in out and "without a function of the add-in" in out


@pytest.mark.parametrize(
    "formula",
    ['WEBSERVICE("x")', 'INDIRECT("A1")', 'HYPERLINK("x")', 'RTD("a",,"b")', "cmd|'/C x'!A0"],
)
def test_formulas_that_reach_out(tmp_path, formula):
    path = plan(tmp_path / "plan.xlsx", 1)
    path.write_bytes(
        edited(path.read_bytes(), lambda book: book["Plan"].__setitem__("J1", "=" + formula)).data
    )
    assert [where for where, _ in findings(path, "unsafe formula")] == ["Plan!J1"]


def test_host_dependent_formulas_only_where_figures_read_them(tmp_path):
    def change(book):
        book["Plan"]["J1"] = '=CELL("row",A9)'
        book["Plan"]["J2"] = "=J1+1"
        book["Plan"]["J3"] = '=INFO("osversion")'
        book["Plan"]["J4"] = "=ACID_DOSE(J2,7.5,5.5,300,E1,F1)"

    path = plan(tmp_path / "plan.xlsx", 1)
    path.write_bytes(edited(path.read_bytes(), change).data)
    assert [where for where, _ in findings(path, "host-dependent")] == ["Plan!J1"]


def test_a_name_like_a_function_stops_the_check_and_is_said(tmp_path, capsys):
    def change(book):
        book.defined_names["ACID_DOSE"] = DefinedName(
            "ACID_DOSE", attr_text="_xlfn.LAMBDA(_xlpm.x,1)"
        )

    path = plan(tmp_path / "plan.xlsx", 1)
    path.write_bytes(edited(path.read_bytes(), change).data)
    assert cli.main(["check", str(path)]) == 1
    out = capsys.readouterr().out
    assert "the name ACID_DOSE: redirect" in out and "Not checked: everything else" in out


def test_one_missing_input_is_one_finding(tmp_path):
    def extra(book, sheet):
        for column in "JKLMNOPQRS":
            sheet.write_formula(
                f"{column}1", '=IF(OR(I1="",A1=""),"",ACID_DOSE(A1,B1,I1,D1,E1,F1))'
            )

    ((where, text),) = findings(plan(tmp_path / "plan.xlsx", 1, extra), "blank input")
    assert where == "Plan!J1" and "9 more" in text and "Plan!I1 is empty" in text


def test_a_tampered_copy_is_told(tmp_path):
    copy = copy_of(plan(tmp_path / "plan.xlsx", 1))

    def change(book):
        book["spargesheet formulas"]["E5"] = "ACID_DOSE(A1,B1,2.5,D1,E1,F1)"
        book["Plan"]["Z9"] = '=WEBSERVICE("x")'

    kinds = {finding.kind for finding in checked(edited(copy.data, change)).findings}
    assert {"tampered", "unsafe formula"} <= kinds


LISTENER = (
    b'<?xml version="1.0"?><office:document-content'
    b' xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
    b'xmlns:script="urn:oasis:names:tc:opendocument:xmlns:script:1.0"'
    b' xmlns:xlink="http://www.w3.org/1999/xlink">'
    b'<office:scripts><office:event-listeners><script:event-listener script:language="ooo:script" '
    b'script:event-name="dom:load" xlink:href="vnd.sun.star.script:Standard.M.Go?language=Basic"/>'
    b"</office:event-listeners></office:scripts></office:document-content>"
)


def test_macros_of_an_ods_are_read_before_libreoffice(tmp_path):
    path = tmp_path / "x.ods"
    with zipfile.ZipFile(path, "w") as file:
        file.writestr("content.xml", LISTENER)
        file.writestr("Basic/script-lc.xml", "<a/>")
        file.writestr("Basic/Standard/script-lb.xml", "<a/>")
    ((part, text),) = ods.scripts(path)
    assert part == "content.xml" and "dom:load" in text and "Standard.M.Go" in text
    with zipfile.ZipFile(path, "w") as file:
        file.writestr("content.xml", LISTENER.replace(b"script:event-listener", b"script:other"))
        file.writestr("Basic/Standard/M.xml", "<a/>")
        file.writestr("Scripts/python/m.py", "pass")
    assert [part for part, _ in ods.scripts(path)] == [
        "Basic/Standard/M.xml",
        "Scripts/python/m.py",
    ]
    path.write_bytes(b"no zip")
    with pytest.raises(BookError, match="not a whole .ods"):
        ods.scripts(path)
