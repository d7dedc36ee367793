"""Workbooks between Excel and Calc, through the real Calc."""

import math
import re
import zipfile
from datetime import date, datetime, time
from pathlib import Path
from xml.etree import ElementTree

import openpyxl
import pytest
import xlsxwriter
from openpyxl.utils import get_column_letter
from openpyxl.utils.cell import coordinate_to_tuple
from openpyxl.utils.datetime import to_excel
from xlsxwriter.utility import xl_rowcol_to_cell

import workbook_template
from tests.calc_office import calc, libreoffice  # noqa: F401  (fixtures)
from udfs import call
from workbook_template.cli import main as cli
from workbook_template.cli.calc_edition import Edition, to_ods, to_xlsx
from workbook_template.template.sheets import batch_plan

TEMPLATES = sorted(Path(workbook_template.__file__).parent.glob("*.xlsx"))
ROWS = ((10.0, 5.0), (50.0, 8.0), (120.0, 30.0))


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """A small book with what the template uses: formulas with cached values, a chart, a list,
    rules, names, an array.
    """
    path = tmp_path_factory.mktemp("book") / "plan à l'été.xlsx"
    with xlsxwriter.Workbook(path) as out:
        sheet = out.add_worksheet("It's a plan")
        red = out.add_format({"bg_color": "#F4CCCC"})
        answers = [call("HARDNESS", *row) for row in ROWS]
        for number, (row, answer) in enumerate(zip(ROWS, answers)):
            sheet.write_row(number, 0, row)
            sheet.write_formula(number, 2, f"=HARDNESS(A{number + 1},B{number + 1})", None, answer)
            sheet.write_formula(
                number,
                3,
                f'=IF(C{number + 1}>100,"hard (see HARDNESS(",ROUND(C{number + 1},1))',
                None,
                "hard (see HARDNESS(" if answer > 100 else round(answer, 1),
            )
        sheet.write_array_formula(
            "E1:E3", "{=HARDNESS(A1:A3,5)}", None, call("HARDNESS", ROWS[0][0], 5.0)
        )
        for number, row in enumerate(ROWS[1:], 1):
            sheet.write_number(number, 4, call("HARDNESS", row[0], 5.0))
        sheet.write_formula("A5", '=HARDNESS("x",2)', None, call("HARDNESS", "x", 2.0))
        sheet.write_formula("B5", "=HARDNESS(NA(),2)", None, "#N/A")
        sheet.write_formula("C5", "=total", None, call("HARDNESS", 10.0, 20.0))
        sheet.write_datetime(
            "D5", datetime(2030, 1, 2), out.add_format({"num_format": "yyyy-mm-dd"})
        )
        out.define_name("total", "=HARDNESS('It''s a plan'!$A$1,20)")
        sheet.data_validation("A7", {"validate": "list", "source": ["lactic", "phosphoric"]})
        sheet.conditional_format(
            "C1:C3", {"type": "formula", "criteria": "=HARDNESS($A1,$B1)>100", "format": red}
        )
        chart = out.add_chart({"type": "line"})
        chart.add_series({"values": "='It''s a plan'!$C$1:$C$3"})
        sheet.insert_chart("G1", chart)
    return path


@pytest.fixture(scope="module")
def edition(book, libreoffice, tmp_path_factory):  # noqa: F811
    path = tmp_path_factory.mktemp("edition") / "plan à l'été.ods"
    assert to_ods(book, path) == Edition(8, 0)
    return path


def cached(path):
    """Values stored in an .xlsx by sheet and address, in the terms of the driver."""
    found = {}
    for sheet in openpyxl.load_workbook(path, data_only=True).worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                value = cell.value
                if isinstance(value, (date, time)):
                    value = to_excel(value)
                elif cell.data_type == "e":
                    value = {"error": value}
                if value not in (None, ""):
                    found[sheet.title, cell.coordinate] = value
    return found


def shown_by(calc):  # noqa: F811
    """Values in the book that Calc has open, by sheet and address."""
    found = {}
    for sheet in calc.ask("sheets"):
        columns, rows = calc.ask("used", sheet)
        for y, row in enumerate(
            calc.ask("cells", sheet, f"A1:{get_column_letter(columns)}{rows}"), 1
        ):
            for x, value in enumerate(row, 1):
                if value not in (None, ""):
                    found[sheet, f"{get_column_letter(x)}{y}"] = value
    return found


def differences(found, expected):
    def same(a, b):
        if isinstance(a, (int, float)) and isinstance(b, (int, float)):
            return math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-9)
        return a == b

    return {
        place: (found.get(place), expected.get(place))
        for place in {*found, *expected}
        if not same(found.get(place), expected.get(place))
    }


def test_the_calc_edition_holds_the_same_values_and_recalculates(calc, book, edition):  # noqa: F811
    calc.ask("open", str(edition))
    assert differences(shown_by(calc), cached(book)) == {}
    sheet = calc.ask("sheets")[0]
    calc.ask("put", sheet, "A1:A1", [[77.0]])
    assert calc.ask("cells", sheet, "C1:C1")[0][0] == pytest.approx(call("HARDNESS", 77.0, 5.0))
    assert calc.ask("cells", sheet, "E1:E1")[0][0] == pytest.approx(call("HARDNESS", 77.0, 5.0))
    assert calc.ask("cells", sheet, "C5:C5")[0][0] == pytest.approx(call("HARDNESS", 77.0, 20.0))
    assert calc.ask("shown", sheet, "C1")[0] == "=HARDNESS(A1,B1)"


def test_chart_list_and_rule_are_there(edition):
    with zipfile.ZipFile(edition) as archive:
        content = archive.read("content.xml").decode()
    assert content.count("<draw:object ") == 1
    assert "content-validation " in content and "phosphoric" in content
    assert "org.spargesheet.functions.hardness([.$a1];[.$b1])&gt;100" in content.lower()


def test_and_back_again_the_names_are_plain(book, edition, tmp_path):
    back = tmp_path / "back.xlsx"
    assert to_xlsx(edition, back) == Edition(8, 0)
    assert differences(cached(back), cached(book)) == {}
    again = openpyxl.load_workbook(back)
    sheet = again.worksheets[0]
    assert sheet["C1"].value == "=HARDNESS(A1,B1)"
    assert sheet["E1"].value.text.lstrip("=") == "HARDNESS(A1:A3,5)"
    assert set(again.defined_names) == {"total"}
    with zipfile.ZipFile(back) as archive:
        text = b"".join(archive.read(name) for name in archive.namelist() if name.endswith(".xml"))
    assert b"SPARGESHEET" not in text and b'vbProcedure="true"' not in text


def test_an_xlsx_that_calc_saved_gets_its_names_back(calc, edition, tmp_path):  # noqa: F811
    saved, back = tmp_path / "saved.xlsx", tmp_path / "back.xlsx"
    calc.ask("open", str(edition))
    calc.ask("save", str(saved))
    assert to_xlsx(saved, back) == Edition(8, 0)
    sheet = openpyxl.load_workbook(back).worksheets[0]
    assert sheet["C1"].value == "=HARDNESS(A1,B1)"
    assert differences(cached(back), cached(saved)) == {}


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: path.name)
def test_calc_computes_the_template_as_it_was_stored(calc, template, tmp_path):  # noqa: F811
    to_ods(template, tmp_path / "edition.ods")
    calc.ask("open", str(tmp_path / "edition.ods"))
    assert differences(shown_by(calc), cached(template)) == {}


#: Namespace of an OpenDocument file's settings; a split of mode 2 is a frozen pane.
CONFIG = "{urn:oasis:names:tc:opendocument:xmlns:config:1.0}"


def kept_views(ods):
    """(freeze panes, gridlines) by sheet as an .ods file tells them to whoever opens it."""
    with zipfile.ZipFile(ods) as archive:
        settings = ElementTree.fromstring(archive.read("settings.xml"))
    tables = settings.find(f".//{CONFIG}config-item-map-named[@{CONFIG}name='Tables']")
    found = {}
    for table in tables:
        items = {item.get(f"{CONFIG}name"): item.text for item in table}
        columns, rows = (
            int(items[f"{way}SplitPosition"]) if items.get(f"{way}SplitMode") == "2" else 0
            for way in ("Horizontal", "Vertical")
        )
        corner = xl_rowcol_to_cell(rows, columns)
        found[table.get(f"{CONFIG}name")] = (
            None if corner == "A1" else corner,
            items["ShowGrid"] == "true",
        )
    return found


def views(xlsx):
    """(freeze panes, gridlines) by sheet of an .xlsx."""
    return {
        sheet.title: (sheet.freeze_panes, sheet.sheet_view.showGridLines is not False)
        for sheet in openpyxl.load_workbook(xlsx)
    }


def test_sheets_of_a_strange_book_keep_frozen_panes_and_gridlines(libreoffice, tmp_path):  # noqa: F811
    source, ods, back = (tmp_path / name for name in ("in.xlsx", "out.ods", "back.xlsx"))
    with xlsxwriter.Workbook(source) as out:
        for number, (title, panes) in enumerate(
            {"none": (0, 0), "rows": (3, 0), "it's & columns": (0, 2), "both": (12, 1)}.items()
        ):
            sheet = out.add_worksheet(title)
            if any(panes):
                sheet.freeze_panes(*panes)
            if number % 2:
                sheet.hide_gridlines(2)
    expected = views(source)
    assert set(expected.values()) == {(None, True), ("A4", False), ("C1", True), ("B13", False)}
    to_ods(source, ods)
    assert kept_views(ods) == expected
    to_xlsx(ods, back)
    assert views(back) == expected


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: path.name)
def test_the_editions_of_the_template_look_alike(libreoffice, template, tmp_path):  # noqa: F811
    """Frozen panes and gridlines of each sheet, and how cells are aligned, also coloured ones."""
    ods, back = tmp_path / "plan.ods", tmp_path / "back.xlsx"
    to_ods(template, ods)
    expected = views(template)
    assert {sheet: kept_views(ods)[sheet] for sheet in expected} == expected
    to_xlsx(ods, back)
    assert views(back) == expected
    again = openpyxl.load_workbook(back)
    lost = [
        (sheet.title, cell.coordinate)
        for sheet in openpyxl.load_workbook(template)
        for row in sheet.iter_rows()
        for cell in row
        if cell.value is not None
        and (cell.alignment.vertical or "bottom")
        != (again[sheet.title][cell.coordinate].alignment.vertical or "bottom")
    ]
    assert lost == []
    with zipfile.ZipFile(ods) as archive:
        styles = archive.read("styles.xml").decode()
    coloured = re.findall(r'<style:style style:name="ConditionalStyle.*?</style:style>', styles)
    default = re.search(r'<style:style style:name="Default".*?</style:style>', styles)[0]
    assert coloured and all('parent-style-name="Default"' in style for style in coloured)
    assert not any("vertical-align" in style for style in (default, *coloured))


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: path.name)
def test_no_frozen_part_is_higher_than_twelve_rows(template):
    frozen = [corner for corner, _ in views(template).values() if corner]
    assert frozen and all(coordinate_to_tuple(corner)[0] <= 13 for corner in frozen)


def test_new_writes_the_calc_edition(calc, tmp_path, capsys):  # noqa: F811
    plan = tmp_path / "plan.ods"
    assert cli.main(["new", str(plan)]) == 0
    assert "LibreOffice Calc" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == [plan]
    calc.ask("open", str(plan))
    assert "Batch plan" in calc.ask("sheets")
    dose, used = (
        xl_rowcol_to_cell(batch_plan.FIRST, batch_plan.COLUMN[key]) for key in ("volume_ml", "used")
    )
    assert calc.ask("shown", "Batch plan", dose)[0].startswith(f"=IF(AND({used}=1")


@pytest.fixture
def command(monkeypatch):
    monkeypatch.setattr(cli, "COMMANDS", ("convert",))
    return lambda *arguments: cli.main(["convert", *map(str, arguments)])


def test_command(command, book, edition, tmp_path, capsys):
    target = tmp_path / "new.xlsx"
    assert command(edition, target) == 0
    assert capsys.readouterr().out == f"{target}: 8 calls of the functions\n"
    assert command(edition, target) == 2
    assert "exists; name another file, or add --force" in capsys.readouterr().err


def test_command_gives_one_line_for_what_it_cannot_do(command, tmp_path, capsys):
    (tmp_path / "no.xlsx").write_text("no workbook")
    for arguments, words in (
        ((tmp_path / "absent.xlsx", tmp_path / "a.ods"), "there is no file"),
        ((tmp_path / "a.csv", tmp_path / "a.ods"), "convert turns .xlsx into .ods"),
        ((tmp_path / "no.xlsx", tmp_path / "a.ods"), "is not a whole .xlsx workbook"),
        (
            (tmp_path / "no.xlsx", tmp_path / "a.ods", "--office", tmp_path),
            "is not a whole .xlsx workbook",
        ),
    ):
        assert command(*arguments) == 2
        error = capsys.readouterr().err
        assert words in error and error.count("\n") == 1
