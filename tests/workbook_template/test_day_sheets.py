"""The sheets of the brewer's day: titration, work sheet, last runnings, log, purchasing."""

from __future__ import annotations

import pytest

from udfs import call
from workbook_template.template import scenario
from workbook_template.template.sheets import (
    bench_titration,
    log,
    mash_plan,
    purchasing,
    settings,
    water,
)

BENCH, LOG, BUY = (sheet.NAME for sheet in (bench_titration, log, purchasing))


def test_the_bench_finds_the_demo_waters_alkalinity_and_both_doses(desk):
    measured, low, high = (desk.named(f"Bench_measured{end}") for end in ("", "_low", "_high"))
    assert low < measured < high
    assert measured == pytest.approx(176, abs=2)  # the invented curve was drawn for 176
    curve, model = desk.named("Bench_curve_dose"), desk.named("Bench_model_dose")
    assert curve == pytest.approx(model * measured / 168, rel=0.02)
    assert desk.named("Bench_remark").startswith("The curve and the report agree")


def test_bench_and_log_speak_of_the_same_water_alike(desk):
    bench, learnt = desk.named("Bench_remark"), desk.named("Log_says")
    assert "measured 175 mg/L, report 168, 7 more." in bench
    assert "Type 175 mg/L into the sheet Water" in bench
    assert "the sheet Log says whether later batches bear it out" in bench
    assert "10 batches gave 176 mg/L, 8 more than the report" in learnt
    assert "One titration alone may still agree" in learnt
    desk.type(water.NAME, water.FIRST, 7, 175)
    desk.work_out()
    assert "measured 175 mg/L, report 175. Dose by the curve" in desk.named("Bench_remark")
    assert "into the sheet Water" not in desk.named("Bench_remark")
    assert (
        "still fits the doses given: 10 batches gave 176 mg/L, 1 more than the report"
        in desk.named("Log_says")
    )


def test_the_bench_says_when_report_and_curve_disagree(desk):
    desk.type(water.NAME, water.FIRST, 7, 120)
    desk.work_out()
    assert "disagree by more than both errors allow" in desk.named("Bench_remark")


def test_a_titrant_made_of_the_tanks_acid_is_reckoned(desk):
    desk.enter("Bench_titrant", "Hydrochloric 31 can")
    desk.enter("Bench_titrant_ml", 10)
    desk.enter("Bench_titrant_total", 1000)
    desk.work_out()
    assert desk.named("Bench_used") == pytest.approx(
        call("DILUTE_NORMALITY", "hydrochloric", 31, 10, 1000), rel=1e-12
    )


def test_too_few_readings_are_said_in_words(desk):
    for row in range(bench_titration.FIRST + 2, bench_titration.LAST + 1):
        desk.type(BENCH, row, 0, None)
        desk.type(BENCH, row, 1, None)
    desk.work_out()
    assert desk.named("Bench_remark").startswith("Check ")


def test_the_log_learns_the_waters_alkalinity(desk):
    implied = sorted(desk.read(LOG, log.FIRST + i, log.COLUMN["implied"]) for i in range(10))
    assert desk.named("Log_learnt") == pytest.approx((implied[4] + implied[5]) / 2, rel=1e-9)
    assert "not what the report says" in desk.named("Log_says")


def test_a_batch_whose_dose_the_report_does_not_explain_gets_a_remark(desk):
    remarks = [desk.read(LOG, log.FIRST + i, log.COLUMN["remark"]) for i in range(10)]
    assert remarks[:8] == [""] * 8
    assert (
        remarks[9]
        == "Water stronger than planned: pH came out 0.14 high; titrate before the next batch."
    )
    assert desk.read(LOG, log.FIRST + 9, log.COLUMN["most"]) < 222
    desk.type(LOG, log.FIRST + 9, log.COLUMN["after"], 5.4)
    desk.work_out()
    assert desk.read(LOG, log.FIRST + 9, log.COLUMN["remark"]).startswith(
        "Water weaker than planned: pH came out 0.40 low;"
    )


def test_the_chart_of_the_water_draws_no_point_far_from_the_others(desk):
    drawn = [
        desk.read(LOG, row, log.COLUMN["chart_implied"]) for row in range(log.FIRST, log.LAST + 1)
    ]
    dates = [
        desk.read(LOG, row, log.COLUMN["chart_date"]) for row in range(log.FIRST, log.LAST + 1)
    ]
    assert set(drawn[10:]) == {drawn[0]} and set(dates[10:]) == {dates[0]}
    desk.type(LOG, log.FIRST, log.COLUMN["after"], None)
    desk.work_out()
    assert desk.read(LOG, log.FIRST, log.COLUMN["chart_implied"]) == drawn[1]
    assert desk.read(LOG, log.LAST, log.COLUMN["chart_report"]) == 168


def test_below_eight_batches_the_log_says_it_is_no_evidence(desk):
    for row in range(log.FIRST + 7, log.FIRST + 10):
        desk.type(LOG, row, log.COLUMN["beer"], None)
    desk.work_out()
    assert "no evidence yet" in desk.named("Log_beer_says")


def test_a_log_row_that_makes_no_sense_is_named(desk):
    desk.type(LOG, log.FIRST, log.COLUMN["after"], 7.9)
    desk.work_out()
    assert desk.read(LOG, log.FIRST, log.COLUMN["remark"]).startswith("Check ph_after")
    assert desk.named("Log_learnt").startswith("Check ")


def test_purchasing_adds_up_and_refuses_an_undated_batch(desk):
    planned = sum(
        desk.answer("amount", i) for i in range(8) if desk.answer("acid", i) == "Phosphoric 75 drum"
    )
    mashes = mash_plan.MASHES
    planned += sum(
        desk.read(mash_plan.NAME, mashes.first + i, mashes.at["amount"])
        for i, mash in enumerate(scenario.MASHES)
        if mash.acid == "Phosphoric 75 drum"
    )
    assert desk.read(BUY, purchasing.FIRST, purchasing.NEED.at["need"]) == pytest.approx(
        planned * 1.03, rel=1e-9
    )
    desk.plan("date", None)
    desk.work_out()
    assert desk.read(BUY, purchasing.FIRST, purchasing.NEED.at["need"]) == "see remark"
    assert "has no date" in desk.read(BUY, purchasing.FIRST, purchasing.NEED.at["remark"])
    assert "a row has no order" in desk.read(BUY, purchasing.LAST + 1, purchasing.NEED.at["order"])


def test_a_short_stock_is_ordered_in_whole_packs(desk):
    desk.type(settings.NAME, settings.SHELF_FIRST, 5, 0.1)
    desk.type(settings.NAME, settings.SHELF_FIRST, 3, 0.5)
    desk.work_out()
    row = purchasing.FIRST
    need = desk.read(BUY, row, purchasing.NEED.at["need"])
    assert desk.read(BUY, row, purchasing.NEED.at["packs"]) == -(-(need - 100) // 500)
    assert desk.read(BUY, row, purchasing.NEED.at["remark"]).startswith("Order ")
