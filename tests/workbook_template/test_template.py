"""The committed template: what the builder writes, with figures that every reader sees alike."""

from __future__ import annotations

import re
import zipfile
from datetime import date, datetime
from graphlib import TopologicalSorter

import pytest
from openpyxl import load_workbook
from openpyxl.formula import Tokenizer
from openpyxl.formula.tokenizer import Token
from openpyxl.utils import range_boundaries
from openpyxl.utils.datetime import to_excel
from python_calamine import CalamineWorkbook

from udfs import CATALOGUE, ERRORS, call
from udfs.hosts import engine
from workbook_template.template import description, scenario
from workbook_template.template.build import SHEETS, TEMPLATE, build
from workbook_template.template.sheets import batch_plan

#: Texts that a formula of the template may show in place of a figure; remarks and headers are
#: sentences of their own.
PLAIN_WORDS = {"", "weigh it", "no limit", "powder", "g", "mL"}


@pytest.fixture(scope="module")
def live():
    """The template's formulas as openpyxl reads them."""
    return load_workbook(TEMPLATE)


@pytest.fixture(scope="module")
def stored():
    """The template's stored figures as openpyxl reads them."""
    return load_workbook(TEMPLATE, data_only=True)


def formulas(book):
    return [
        (sheet.title, cell)
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    ]


def test_the_committed_template_is_what_the_builder_writes(tmp_path):
    heard = []
    build(tmp_path / "new.xlsx", heard.append)
    assert [text.split()[0] for text in heard] == ["writing", "working", "writing"]
    with zipfile.ZipFile(tmp_path / "new.xlsx") as new, zipfile.ZipFile(TEMPLATE) as committed:
        assert new.namelist() == committed.namelist()
        for name in new.namelist():
            assert new.read(name) == committed.read(name), (
                f"{name} differs: run `make template` and commit the result"
            )


def test_sheets_stand_in_the_order_of_reading(stored):
    assert stored.sheetnames == [*(sheet.NAME for sheet in SHEETS), description.NAME]


def test_no_macro_no_link_no_recalculation_on_load():
    with zipfile.ZipFile(TEMPLATE) as package:
        names = package.namelist()
        assert not [name for name in names if "vba" in name.lower() or "externalLink" in name]
        assert b"fullCalcOnLoad" not in package.read("xl/workbook.xml")
        assert b"<dc:creator></dc:creator>" in package.read("docProps/core.xml")
        assert b"Microsoft Excel" in package.read(
            "docProps/app.xml"
        )  # keeps cached texts in LibreOffice


def test_every_formula_has_a_figure_or_words_that_explain_themselves(live, stored):
    odd = []
    for title, cell in formulas(live):
        value = stored[title][cell.coordinate].value
        if value is None or isinstance(value, (int, float, datetime)):
            continue
        if (
            value in ERRORS
            or value.startswith(("Check ", "see ", "row ", "#", "Choose"))
            or value == "?"
        ):
            odd.append((title, cell.coordinate, value))
    assert not odd


def test_stored_figures_are_those_of_a_fresh_evaluation(live, stored):
    book = engine.load(TEMPLATE)
    book.evaluate_all()
    assert len(formulas(live)) > 1500
    for title, cell in formulas(live):
        fresh = book.get_value(title, cell.row, cell.column)
        kept = stored[title][cell.coordinate].value
        fresh, kept = (
            to_excel(value) if isinstance(value, date) else value for value in (fresh, kept)
        )
        if isinstance(fresh, (int, float)):
            assert kept == pytest.approx(fresh, rel=1e-11, abs=1e-11), (title, cell.coordinate)
        else:
            assert (kept or "") == fresh, (title, cell.coordinate)


def test_another_reader_sees_the_same_figures(stored):
    other = CalamineWorkbook.from_path(str(TEMPLATE))
    for sheet in stored:
        rows = other.get_sheet_by_name(sheet.title).to_python(skip_empty_area=False)
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, float):
                    assert rows[cell.row - 1][cell.column - 1] == pytest.approx(
                        cell.value, rel=1e-12
                    )


def test_the_first_batch_is_what_the_functions_say(stored):
    batch, shelf = scenario.BATCHES[0], scenario.ACIDS[0]
    water = next(w for w in scenario.WATERS if w.name == batch.water)
    ions = ((water.calcium, water.magnesium, water.sodium, water.chloride, water.sulfate),)
    litres = call("COLD_LITRES", call("LITRES", batch.volume, "hL"), batch.read_at)
    dose = call(
        "ACID_DOSE",
        water.alkalinity,
        water.ph,
        batch.target_ph,
        litres,
        shelf.acid,
        shelf.strength,
        ions,
    )
    sheet = stored[batch_plan.NAME]
    row = batch_plan.FIRST + 1
    assert sheet.cell(row, batch_plan.COLUMN["ml"] + 1).value == pytest.approx(dose, rel=1e-11)
    assert sheet.cell(row, batch_plan.COLUMN["cost"] + 1).value == pytest.approx(
        dose / 1000 / shelf.pack * shelf.price, rel=1e-11
    )


def test_blank_rows_stay_blank(stored):
    sheet = stored[batch_plan.NAME]
    for row in range(batch_plan.FIRST + 1 + len(scenario.BATCHES), batch_plan.LAST + 2):
        shown = [sheet.cell(row, column + 1).value for column in range(batch_plan.PLAN.gap)]
        assert all(value in (None, "") for value in shown)


def test_inputs_are_unlocked_and_formulas_locked(live):
    for title, cell in formulas(live):
        assert cell.protection.locked, (title, cell.coordinate)
    plan = live[batch_plan.NAME]
    assert plan.protection.sheet
    for column in range(1, len(batch_plan.PLAN.inputs) + 1):
        assert not plan.cell(batch_plan.FIRST + 1, column).protection.locked


def test_names_are_no_function_and_no_cell(live):
    for name in live.defined_names:
        assert name.upper() not in CATALOGUE, f"{name} hides the function of that name"
        assert not re.fullmatch(r"[A-Z]{1,3}[0-9]+|R[0-9]*C[0-9]*", name, re.IGNORECASE), name


def test_template_formulas_leave_no_middle_argument_out(live):
    for title, cell in formulas(live):
        assert not re.search(r",\s*[,)]", re.sub(r'"[^"]*"', '""', cell.value)), (
            title,
            cell.coordinate,
        )


def test_no_text_in_a_formula_is_longer_than_excel_takes(live):
    for title, cell in formulas(live):
        assert max(map(len, re.findall(r'"((?:[^"]|"")*)"', cell.value)), default=0) <= 255, (
            title,
            cell.coordinate,
        )


def test_each_chart_has_titles_on_both_axes():
    with zipfile.ZipFile(TEMPLATE) as package:
        charts = [
            package.read(name).decode()
            for name in package.namelist()
            if name.startswith("xl/charts/chart")
        ]
    assert len(charts) == 11
    for chart in charts:
        axes = (
            chart.count("<c:valAx>") + chart.count("<c:catAx>") - chart.count('<c:delete val="1"/>')
        )
        assert axes >= 2
        assert chart.count("<c:title>") == 1 + axes


def test_no_formula_depends_on_itself_by_whole_ranges(live):
    """Excel counts every cell of a range that a formula names, INDEX(range, n) too, when it looks
    for circles.
    """
    given = {name: defined.attr_text for name, defined in live.defined_names.items()}
    formula_of = {(title, cell.row, cell.column): cell.value for title, cell in formulas(live)}
    cells_of: dict[tuple[str, str], list] = {}

    def cells(sheet: str, text: str) -> list:
        """The cells with a formula that a reference or a name stands for."""
        where, _, area = given.get(text, text).rpartition("!")
        where = where.strip("'") or sheet
        if (where, area) not in cells_of:
            left, top, right, bottom = range_boundaries(area.replace("$", ""))
            cells_of[where, area] = [
                key
                for row in range(top, bottom + 1)
                for column in range(left, right + 1)
                if (key := (where, row, column)) in formula_of
            ]
        return cells_of[where, area]

    needs = {
        key: {
            cell
            for token in Tokenizer(value).items
            if token.subtype == Token.RANGE
            for cell in cells(key[0], token.value)
        }
        for key, value in formula_of.items()
    }
    TopologicalSorter(needs).prepare()  # raises CycleError
