"""Settings of the tank, and tables that take their rows from the sizes of the book."""

from __future__ import annotations

import pytest
from openpyxl import load_workbook

from udfs import call
from workbook_template.template.book import Book
from workbook_template.template.sheets import acid_choice, batch_plan, curves, settings, water
from workbook_template.template.sizes import Sizes


@pytest.mark.parametrize("tank", settings.TANKS[:-1], ids=lambda tank: tank.kept)
def test_how_the_tank_is_kept_gives_its_shares_and_the_doses_reckon_with_the_least(desk, tank):
    desk.enter("Tank_kept", tank.kept)
    desk.work_out()
    shares = desk.named("CO2_lost_from"), desk.named("CO2_lost_to")
    assert shares == (tank.lost_from, tank.lost_to)
    assert desk.named("CO2_lost") == tank.lost_from
    given = 168, 7.5, 5.7, desk.answer("cold"), "phosphoric", 75, [[72, 9, 18, 31, 48]], 20
    assert desk.answer("ml") == pytest.approx(call("ACID_DOSE", *given, tank.lost_from), rel=1e-9)


def test_own_figures_are_taken_and_the_share_reckoned_with_lies_between_them(desk):
    desk.enter("Tank_kept", "own figures")
    desk.enter("Own_lost_from", 0.2)
    desk.enter("Own_lost_to", 0.6)
    desk.enter("Reckoned_lost", 0.4)
    desk.work_out()
    assert [desk.named(f"CO2_lost{end}") for end in ("_from", "_to", "")] == [0.2, 0.6, 0.4]


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"Tank_kept": "in a shed"}, "how the tank is kept"),
        ({"Tank_kept": None}, "how the tank is kept"),
        ({"Tank_kept": "own figures"}, "is empty; give both"),
        ({"Tank_kept": "own figures", "Own_lost_from": 0.2}, "is empty; give both"),
        ({"Reckoned_lost": 0.7}, "lies outside what the tank loses"),
    ],
)
def test_a_share_that_is_not_known_is_no_share_and_the_plan_says_so(desk, typed, words):
    for name, value in typed.items():
        desk.enter(name, value)
    desk.work_out()
    assert desk.answer("ml") == "see remark"
    assert words in desk.answer("remark")


@pytest.mark.parametrize(
    ("module", "table", "rows"),
    [
        (settings, settings.SHELF, 12),
        (water, water.SOURCES, 9),
        (batch_plan, batch_plan.PLAN, 75),
        (acid_choice, acid_choice.COMPARED, 12),
    ],
    ids=["Settings", "Water", "Batch plan", "Acid choice"],
)
@pytest.mark.parametrize("example", [True, False])
def test_a_table_has_the_rows_of_the_sizes_and_the_example_only_where_it_is_wanted(
    tmp_path, module, table, rows, example
):
    path = tmp_path / "one.xlsx"
    book = Book(path, sizes=Sizes(batches=75, waters=9, acids=12), example=example)
    for each in (module, curves):  # the charts of Acid choice are drawn from Curves
        each.write(book)
    book.close()
    written = next(found for sheet, found in book.tables if sheet == module.NAME)
    assert written.last - written.first + 1 == rows
    sheet = load_workbook(path)[module.NAME]
    shown = {key for key in written.columns if key not in {c.key for c in written.inputs}}
    for row in (written.first + 1, written.last + 1):
        assert all(sheet.cell(row, written.at[key] + 1).data_type == "f" for key in shown)
    typed = [
        sheet.cell(row + 1, written.at[column.key] + 1).value
        for row in range(written.first, written.last + 1)
        for column in written.inputs
    ]
    assert any(value is not None for value in typed) == (example and bool(typed))
