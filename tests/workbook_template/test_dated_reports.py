"""A water's reports by their dates: each batch takes the one that held on its day."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from workbook_template.template import scenario
from workbook_template.template.sheets import batch_plan, mash_plan, water

TOWN = scenario.WATERS[0]
START = datetime(2026, 1, 1)
SOURCES = water.SOURCES


def report(desk, row: int, name, day, alkalinity=None):
    """Type name and date of a row of the sheet Water, and its alkalinity."""
    for key, value in (("source", name), ("date", day), ("alkalinity", alkalinity)):
        if key != "alkalinity" or value is not None:
            desk.type(water.NAME, SOURCES.first + row, SOURCES.at[key], value)


@hypothesis_settings(max_examples=12, deadline=None)
@given(
    days=st.lists(st.integers(0, 400), min_size=3, max_size=3, unique=True),
    batches=st.lists(st.integers(-50, 500), min_size=4, max_size=4),
)
def test_each_batch_takes_the_newest_report_of_its_day_or_the_first(one_desk, days, batches):
    desk = one_desk
    try:
        for row, day in enumerate(days):
            report(desk, row, TOWN.name, START + timedelta(day), 150 + row)
        for i, day in enumerate(batches):
            desk.plan("date", START + timedelta(day), i)
            desk.plan("water", TOWN.name, i)
        desk.work_out()
        for i, day in enumerate(batches):
            earlier = [d for d in days if d <= day]
            row = days.index(max(earlier) if earlier else min(days))
            assert desk.answer("alk", i) == 150 + row
    finally:
        desk.tidy()


def test_a_batch_without_a_date_takes_the_newest_and_its_mash_the_same(desk):
    report(desk, 1, TOWN.name, START + timedelta(200), 199)
    desk.plan("date", None, 0)
    desk.work_out()
    assert desk.answer("alk", 0) == 199
    row = mash_plan.MASHES.first + [mash.batch for mash in scenario.MASHES].index("0207 Pale")
    assert desk.read(mash_plan.NAME, row, mash_plan.MASHES.at["alk"]) == 199
    assert desk.answer("alk", 2) == TOWN.alkalinity


@pytest.mark.parametrize("day", [None, TOWN.date])
def test_two_reports_of_one_water_need_two_dates(desk, day):
    report(desk, 0, TOWN.name, day)
    report(desk, 1, TOWN.name, day)
    desk.work_out()
    for row in (0, 1):
        said = desk.read(water.NAME, SOURCES.first + row, SOURCES.at["remark"])
        assert said.startswith("This name stands twice") and "its own date" in said
    report(desk, 1, TOWN.name, START + timedelta(90))
    desk.work_out()
    for row in (0, 1):
        said = desk.read(water.NAME, SOURCES.first + row, SOURCES.at["remark"])
        assert "twice" not in said
    assert desk.read(batch_plan.NAME, batch_plan.FIRST, batch_plan.COLUMN["batch"]) == "0207 Pale"
