"""Readings into an .ods workbook, through the real LibreOffice."""

from __future__ import annotations

from datetime import date

from openpyxl import load_workbook

from tests.calc_office import calc, libreoffice  # noqa: F401  (fixtures)
from udfs import call
from workbook_template.cli.calc_edition import to_ods, to_xlsx
from workbook_template.cli.main import main
from workbook_template.template import description, scenario
from workbook_template.template.build import TEMPLATE


def test_readings_stand_in_the_ods_and_are_worked_out(calc, tmp_path, capsys):  # noqa: F811
    book, file = tmp_path / "plan.ods", tmp_path / "meter.csv"
    to_ods(TEMPLATE, book)
    before = book.read_bytes()
    file.write_text(
        "date,batch,water,acid,volume,target_ph,ph_before,dose,ph_after,meter\n"
        "2026-01-12,0206,Town main,Phosphoric 75 drum,11.2,5.7,7.5,238,5.72,M7\n",
        encoding="utf-8",
    )
    assert main(["log", "add", str(book), "--csv", str(file)]) == 0
    said = capsys.readouterr()
    assert "1 row added" in said.out and "not taken: meter" in said.err
    assert book.read_bytes() == before
    back = tmp_path / "back.xlsx"
    to_xlsx(tmp_path / "plan-logged.ods", back)
    formulas, figures = load_workbook(back), load_workbook(back, data_only=True)
    places = description.of_openpyxl(formulas)["Log"]

    def cell(key: str, books=figures):
        place = places[key]
        return books[place.sheet].cell(place.first + len(scenario.LOG), place.column).value

    assert cell("date").date() == date(2026, 1, 12)
    assert [cell(key) for key in ("batch", "litres", "before", "dose", "after")] == [
        "0206",
        11.2,
        7.5,
        238,
        5.72,
    ]
    assert cell("dose_planned", formulas).startswith("=")
    town = scenario.WATERS[0]
    ions = [town.calcium, town.magnesium, town.sodium, town.chloride, town.sulfate]
    implied = call("ALKALINITY_FROM_DOSE", 7.5, 5.72, 238, 1120, "phosphoric", 75, [ions], 20, 0)
    assert abs(cell("implied") - implied) < 1e-6 * implied


def test_a_file_that_cannot_be_read_is_refused_first(tmp_path, capsys):
    book, file = tmp_path / "plan.ods", tmp_path / "meter.csv"
    book.write_bytes(b"no spreadsheet")
    file.write_text("batch\n", encoding="utf-8")
    assert main(["log", "add", str(book), "--csv", str(file)]) == 2
    assert "no column date" in capsys.readouterr().err
