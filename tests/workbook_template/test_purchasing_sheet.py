"""Purchasing over the whole plan: by month, by the day on which the stock runs out, and in one
voice with Settings.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from hypothesis import HealthCheck, example, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from openpyxl.utils.datetime import from_excel

import udfs
from workbook_template.template import scenario
from workbook_template.template.sheets import batch_plan, mash_plan, purchasing, settings
from workbook_template.template.sizes import Sizes

BUY, SHELF = purchasing.NAME, settings.SHELF
NEED, MONTHS, MASHES = purchasing.NEED, purchasing.months(Sizes()), mash_plan.MASHES
LABELS = [shelf.label for shelf in scenario.ACIDS]
WASTE = 1.03


def bought(desk, acid: int, key: str):
    return desk.read(BUY, NEED.first + acid, NEED.at[key])


def on_shelf(desk, acid: int, key: str):
    return desk.read(settings.NAME, SHELF.first + acid, SHELF.at[key])


def stocked(desk, acid: int, key: str, value) -> None:
    desk.type(settings.NAME, SHELF.first + acid, SHELF.at[key], value)


def day(value) -> date:
    """A day of a cell, which the engine gives as a day or as its number."""
    if isinstance(value, (int, float)):
        value = from_excel(value)
    return value.date() if isinstance(value, datetime) else value


def draws(desk, label: str) -> list[tuple[date, float]]:
    """Day and amount of each batch and mash that takes an acid, in the order of the days."""
    dates = {desk.answer("batch", i): desk.answer("date", i) for i in range(len(scenario.BATCHES))}
    sparges = [
        (dates[batch.name], desk.answer("amount", i))
        for i, batch in enumerate(scenario.BATCHES)
        if batch.acid == label
    ]
    mashes = [
        (dates[mash.batch], desk.read(mash_plan.NAME, MASHES.first + i, MASHES.at["amount"]))
        for i, mash in enumerate(scenario.MASHES)
        if mash.acid == label
    ]
    return sorted((day(date), amount) for date, amount in sparges + mashes)


DAYS = st.lists(
    st.integers(0, 1_100), min_size=len(scenario.BATCHES), max_size=len(scenario.BATCHES)
)


# a stock of exactly what is needed reaches, in whatever order the sheet adds the batches up
@example(days=[0, 1, 0, 0, 0, 0, 0, 0, 0], shares=[1.0] * 5)
@given(days=DAYS, shares=st.lists(st.floats(0.05, 1.4), min_size=5, max_size=5))
@hypothesis_settings(
    max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_months_and_the_day_on_which_the_stock_runs_out_are_the_sums_by_hand(desk, days, shares):
    start = datetime(2026, 3, 9)
    for batch, offset in enumerate(days):
        desk.plan("date", start + timedelta(offset), batch)
    desk.work_out()
    whole = [sum(amount for _, amount in draws(desk, label)) * WASTE for label in LABELS]
    for acid, share in enumerate(shares):
        stocked(desk, acid, "stock", whole[acid] * share / 1000)
    desk.work_out()
    begin = min(days)
    first = (start + timedelta(begin)).replace(day=1)
    for acid, label in enumerate(LABELS):
        rows = [0.0] * (purchasing.MONTHS + 1)
        left, out = whole[acid] * shares[acid], None
        for taken, amount in draws(desk, label):
            month = 12 * (taken.year - first.year) + taken.month - first.month
            rows[min(month, purchasing.MONTHS)] += amount
            left -= amount * WASTE
            if left < -1e-6 and out is None:
                out = taken
        at = MONTHS.at[f"acid{acid + 1}"]
        shown = [desk.read(BUY, MONTHS.first + row, at) for row in range(purchasing.MONTHS + 1)]
        assert shown == pytest.approx(rows, rel=1e-9, abs=1e-9)
        assert bought(desk, acid, "need") == pytest.approx(whole[acid], rel=1e-9)
        if out is None:
            assert bought(desk, acid, "runs_out") == purchasing.AFTER_PLAN
        else:
            # batches of one day run out on that day, in whatever order they stand
            assert day(bought(desk, acid, "runs_out")) == out
            assert day(bought(desk, acid, "order_by")) == out - timedelta(14)
            assert f" by {out - timedelta(14)}." in bought(desk, acid, "remark")
    desk.tidy()


@pytest.mark.parametrize("stock", [None, 0, 0.05, 3.0, 1000, "many"])
@pytest.mark.parametrize("waste", [None, 0, 3, 40])
def test_settings_and_purchasing_agree_of_every_acid(desk, stock, waste):
    desk.enter("Waste", waste)
    for acid in range(len(LABELS)):
        stocked(desk, acid, "stock", stock)
    desk.work_out()
    for acid in range(len(LABELS)):
        needed, need = on_shelf(desk, acid, "needed"), bought(desk, acid, "need")
        if need == "see remark":
            assert needed == "see remark"
        else:
            assert needed == pytest.approx(need / 1000, rel=1e-12)
        assert on_shelf(desk, acid, "remark") == bought(desk, acid, "remark")
        left, packs = on_shelf(desk, acid, "left"), bought(desk, acid, "packs")
        if isinstance(left, float) and isinstance(packs, float):
            assert (left < 0) == (packs > 0)


def test_an_acid_without_a_price_is_named_in_every_total_that_it_makes_short(desk):
    lactic = LABELS.index("Lactic 80 can")
    totals = {
        "plan": lambda: desk.total(6),
        "mashes": lambda: desk.read(mash_plan.NAME, mash_plan.TOTALS + 1, 2),
        "year": lambda: desk.read(BUY, purchasing.OVERVIEW.last, purchasing.OVERVIEW.figure),
        "order": lambda: desk.named("Order_in_all"),
    }
    assert all(isinstance(total(), float) for total in totals.values())
    stocked(desk, lactic, "stock", 0)
    stocked(desk, lactic, "price", None)
    desk.work_out()
    assert {total() for total in totals.values()} == {"no price: Lactic 80 can"}
    assert bought(desk, lactic, "remark").endswith("No price given.")
    stocked(desk, 0, "pack", None)
    desk.work_out()
    assert desk.total(6) == "no price: Phosphoric 75 drum, Lactic 80 can"


def test_an_acid_that_nothing_takes_makes_no_total_short(desk):
    desk.type(settings.NAME, SHELF.first + len(LABELS), SHELF.at["label"], "Spare")
    for key, value in (("acid", "lactic"), ("strength", 80), ("pack", 5), ("stock", 0)):
        stocked(desk, len(LABELS), key, value)
    desk.work_out()
    assert isinstance(desk.total(6), float) and isinstance(desk.named("Order_in_all"), float)
    assert bought(desk, len(LABELS), "lasts") == "not planned"


def test_an_undated_batch_is_in_no_month(desk):
    lactic = LABELS.index("Lactic 80 can")
    stout = [batch.acid for batch in scenario.BATCHES].index("Lactic 80 can")
    desk.plan("date", None, stout)
    desk.work_out()
    at = MONTHS.at[f"acid{lactic + 1}"]
    shown = {desk.read(BUY, row, at) for row in range(MONTHS.first, MONTHS.last + 1)}
    assert shown == {"see remark"}
    assert [bought(desk, lactic, key) for key in ("need", "packs", "runs_out", "order_by")] == [
        "see remark"
    ] * 4
    assert "has no date or no dose" in bought(desk, lactic, "remark")


def test_without_the_days_of_an_order_there_is_no_day_to_order_by(desk):
    stocked(desk, 0, "stock", 0)
    desk.enter("Order_days", None)
    desk.work_out()
    assert bought(desk, 0, "order_by") == "type the days an order takes"
    assert bought(desk, 0, "remark") == "Order 1 of 25 L."
    assert desk.read(batch_plan.NAME, batch_plan.FIRST, 0) is not None


@pytest.mark.parametrize(
    ("label", "unit", "factor"),
    [
        ("Phosphoric 75 drum", "US gal", 3.785411784),
        ("Phosphoric 75 drum", "imp gal", 4.54609),
        ("Phosphoric 75 drum", "L", 1.0),
        ("Phosphoric 75 drum", "lb", None),
        ("Lactic 80 can", "kg", None),
        ("Citric powder", "kg", 1.0),
        ("Citric powder", "lb", 0.45359237),
    ],
)
def test_a_pack_in_any_unit_costs_and_lasts_the_same(desk, label, unit, factor):
    """The same pack and stock, typed in another unit, change no answer but those that stand in that
    unit.
    """
    acid = LABELS.index(label)
    shelf = scenario.ACIDS[acid]
    if factor is None:
        mass = {"kg": 1.0, "lb": 0.45359237}[unit]
        factor = mass / udfs.call("ACID_DENSITY", shelf.acid, shelf.strength)
    keys = ("need", "stock", "packs", "order", "runs_out", "lasts", "per_unit", "per_equivalent")

    def found():
        desk.work_out()
        return [bought(desk, acid, key) for key in keys] + [desk.total(6)]

    before, left = found(), on_shelf(desk, acid, "left")
    assert sum(isinstance(figure, float) for figure in before) >= 6
    for key, value in (
        ("unit", unit),
        ("pack", shelf.pack / factor),
        ("stock", shelf.stock / factor),
    ):
        stocked(desk, acid, key, value)
    for was, now in zip(before, found()):
        assert now == (pytest.approx(was, rel=1e-9) if isinstance(was, float) else was)
    assert on_shelf(desk, acid, "left") * factor == pytest.approx(left, rel=1e-8)


def test_a_powder_is_not_counted_by_volume(desk):
    citric = LABELS.index("Citric powder")
    stocked(desk, citric, "unit", "US gal")
    desk.work_out()
    said = "Check pack: a powder is weighed; choose kg or lb for it"
    assert on_shelf(desk, citric, "remark") == said
    assert not isinstance(on_shelf(desk, citric, "left"), float)
    assert not isinstance(bought(desk, citric, "packs"), float)


def test_the_order_names_the_pack_as_it_is_sold(desk):
    stocked(desk, 0, "unit", "US gal")
    stocked(desk, 0, "stock", 0)
    desk.enter("Order_days", None)
    desk.work_out()
    assert bought(desk, 0, "remark") == "Order 1 of 25 US gal."


@pytest.mark.parametrize("unit", ["hL", "US bbl", "L"])
def test_the_cost_of_a_volume_is_in_the_workbooks_unit(desk, unit):
    litres = udfs.call("LITRES", 1, unit)
    desk.enter("Volume_unit", unit)
    desk.work_out()
    per_hl, per_unit = (bought(desk, 0, key) for key in ("per_hl", "per_unit"))
    assert per_unit == pytest.approx(per_hl * litres / 100, rel=1e-12)
