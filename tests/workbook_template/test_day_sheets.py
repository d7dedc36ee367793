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


@pytest.mark.parametrize(
    "error, missing", [("alkalinity", "Bench_report_low"), ("strength", "Bench_sample_low")]
)
def test_a_dose_without_an_interval_says_why(desk, error, missing):
    desk.enter(f"Error_{error}", -3)
    desk.work_out()
    why = desk.named(missing)
    assert isinstance(why, str) and why.startswith("Check ")
    assert desk.named("Bench_remark") == f"The doses have no interval: {why}"


def test_a_titrant_made_of_the_tanks_acid_is_reckoned(desk):
    desk.enter("Bench_normality", None)
    desk.enter("Bench_titrant", "Hydrochloric 31 can")
    desk.enter("Bench_titrant_ml", 10)
    desk.enter("Bench_titrant_total", 1000)
    desk.work_out()
    assert desk.named("Bench_used") == pytest.approx(
        call("DILUTE_NORMALITY", "hydrochloric", 31, 10, 1000), rel=1e-12
    )


@pytest.mark.parametrize("strong", ["hydrochloric", "sulfuric", None])
def test_a_strong_titrant_is_reckoned_as_what_it_is(desk, strong):
    desk.enter("Bench_strong", strong)
    desk.work_out()
    row = next(a for a in scenario.ACIDS if a.label == scenario.BATCHES[0].acid)
    readings = [[[value] for value in column] for column in zip(*scenario.TITRATION.readings)]
    liquor = desk.named("Bench_target"), desk.named("Bench_litres")
    expected = call(
        "TITRATION_DOSE",
        *readings,
        scenario.TITRATION.sample_ml,
        scenario.TITRATION.normality,
        *liquor,
        row.acid,
        row.strength,
        strong or "hydrochloric",
        [[getattr(scenario.WATERS[0], ion) for ion in water.IONS]],
    )
    assert desk.named("Bench_curve_dose") == pytest.approx(expected, rel=1e-9)


def test_too_few_readings_are_said_in_words(desk):
    for row in range(bench_titration.FIRST + 2, bench_titration.LAST + 1):
        for key in ("ml", "ph"):
            desk.type(BENCH, row, bench_titration.READINGS.at[key], None)
    desk.work_out()
    assert desk.named("Bench_remark").startswith("Check ")
    assert desk.named("Bench_odd_said") == "not looked for"


def _read(desk, number: int, ph: float | None) -> None:
    """Type a pH into a row of the titration, as the table numbers it."""
    table = bench_titration.READINGS
    desk.type(BENCH, table.head + number, table.at["ph"], ph)


@pytest.mark.parametrize("number, off", [(5, 0.5), (7, -0.4), (15, 0.4)])
def test_a_slip_is_named_by_its_number_before_the_water_is_doubted(desk, number, off):
    ml, ph = scenario.TITRATION.readings[number - 1]
    _read(desk, number, ph + off)
    desk.work_out()
    said = desk.named("Bench_remark")
    assert said.startswith(
        f"Look at reading no. {number} first: pH {ph + off:.2f} at {ml:.2f} mL lies "
    )
    assert (" above " if off > 0 else " below ") in said
    assert "mg/L into the sheet Water" not in said
    assert desk.named("Bench_odd_said") == f"no. {number}"
    _read(desk, number, ph)
    desk.work_out()
    assert desk.named("Bench_odd_said") == "none"
    assert "agree within their errors" in desk.named("Bench_remark")


def test_two_slips_side_by_side_ask_for_another_titration(desk):
    for number in (2, 3):
        _read(desk, number, scenario.TITRATION.readings[number - 1][1] + 0.5)
    desk.work_out()
    said = desk.named("Bench_remark")
    assert said.startswith("Check phs: the readings do not fit one another")
    assert said.endswith("titrate again")
    assert desk.named("Bench_odd_said") == "see the note"
    assert desk.read(LOG, log.HEAD - 1, log.COLUMN["titrated"]) == ""


@pytest.mark.parametrize(
    "cell, typed, words", [("sample", 50, "twice"), ("normality", 0.05, "half")]
)
def test_twice_or_half_the_report_asks_about_sample_and_titrant_first(desk, cell, typed, words):
    desk.enter(f"Bench_{cell}", typed)
    desk.work_out()
    said = desk.named("Bench_remark")
    assert f"is about {words} the report's 168. Ask first: was the sample " in said
    if words == "twice":
        assert "was the sample 50 mL, not 100? Was the titrant 0.1 eq/L, not 0.05?" in said
    else:
        assert "was the sample 100 mL, not 50? Was the titrant 0.05 eq/L, not 0.1?" in said
    assert " Type " not in said


def test_two_titrants_are_asked_about(desk):
    desk.enter("Bench_titrant", "Hydrochloric 31 can")
    desk.work_out()
    assert "both are filled in" in desk.named("Bench_remark")
    assert "clear the one that was not used" in desk.named("Bench_remark")
    for figure in ("Bench_measured", "Bench_curve_dose"):
        assert isinstance(desk.named(figure), str)


def test_an_aged_electrode_is_corrected_by_its_readings_in_two_buffers(desk):
    before = desk.named("Bench_measured"), desk.named("Bench_curve_dose")
    for number, (_, ph) in enumerate(scenario.TITRATION.readings, 1):
        _read(desk, number, 7.03 + 0.95 * (ph - 7.0))
    desk.work_out()
    assert desk.named("Bench_curve_dose") != pytest.approx(before[1], rel=0.02)
    desk.enter("Bench_buffer_7", 7.03)
    assert desk.work_out().named("Bench_remark").startswith("Check read_in_low: ")
    desk.enter("Bench_buffer_4", 7.03 + 0.95 * (4.01 - 7.0))
    desk.work_out()
    assert desk.named("Bench_slope") == pytest.approx(95.0)
    assert (desk.named("Bench_measured"), desk.named("Bench_curve_dose")) == pytest.approx(before)
    desk.enter("Bench_buffer_4", 4.8)
    desk.work_out()
    assert desk.named("Bench_remark").startswith(
        "Check read_in_low: the readings 7.03 and 4.8 make"
    )
    assert isinstance(desk.named("Bench_measured"), str)


def test_the_benchs_doses_have_the_gas_that_the_tank_may_lose(desk):
    desk.enter("Tank_kept", "vented, recirculated")
    desk.work_out()
    curve, model = (
        [desk.named(f"Bench_{dose}_dose{end}") for end in ("_low", "", "_high")]
        for dose in ("curve", "model")
    )
    plan = [desk.answer(key) for key in ("low_ml", "volume_ml", "high_ml")]
    assert model == pytest.approx(plan, rel=1e-12)
    water = scenario.WATERS[0]
    ions = ((water.calcium, water.magnesium, water.sodium, water.chloride, water.sulfate),)

    def tank(lost):
        liquor = 5.7, desk.named("Bench_litres"), "phosphoric", 75
        return call("ACID_DOSE", desk.named("Bench_measured"), water.ph, *liquor, ions, 20, lost)

    columns = [tuple((float(v),) for v in column) for column in zip(*scenario.TITRATION.readings)]
    bench = *columns, 100, 0.1, 5.7, desk.named("Bench_litres"), "phosphoric", 75, "hydrochloric"
    errors = 1, *(desk.named(f"Error_{of}") for of in ("ph", "strength", "volume"))
    sample = (
        call("TITRATION_DOSE_LOW", *bench, *errors, ions) + tank(0.1),
        call("TITRATION_DOSE", *bench, ions) + tank(desk.named("CO2_lost")),
        call("TITRATION_DOSE_HIGH", *bench, *errors, ions) + tank(0.5),
    )
    assert curve == pytest.approx([figure - tank(0) for figure in sample], rel=1e-9)
    assert "agree within their errors" in desk.named("Bench_remark")  # gas is no fault of the water


def test_the_bench_says_what_the_tank_reads_once_mixed_and_once_gas_has_left(desk):
    desk.enter("Tank_kept", "vented, recirculated")
    desk.work_out()
    water = scenario.WATERS[0]
    ions = ((water.calcium, water.magnesium, water.sodium, water.chloride, water.sulfate),)
    given = desk.named("Bench_measured"), water.ph, desk.named("Bench_curve_dose")
    dosed = *given, desk.named("Bench_litres"), "phosphoric", 75, ions, 20
    for name, lost in (("Bench_mixed_pH", 0), ("Bench_open_pH", 0.5)):
        assert desk.named(name) == pytest.approx(call("PH_AFTER_ACID", *dosed, lost), rel=1e-9)
    desk.enter("Bench_sample", "")
    desk.work_out()
    assert desk.named("Bench_mixed_pH") == desk.named("Bench_measured")  # the sentence of why not


def test_the_log_learns_the_waters_alkalinity(desk):
    implied = sorted(desk.read(LOG, log.FIRST + i, log.COLUMN["implied"]) for i in range(10))
    assert desk.named("Log_learnt") == pytest.approx((implied[4] + implied[5]) / 2, rel=1e-9)
    assert "not what the report says" in desk.named("Log_says")


def test_a_batch_whose_dose_the_report_does_not_explain_gets_a_remark(desk):
    desk.type(LOG, log.FIRST + 9, log.COLUMN["after"], 6.02)
    desk.work_out()
    remarks = [desk.read(LOG, log.FIRST + i, log.COLUMN["remark"]) for i in range(10)]
    assert remarks[:8] == [""] * 8
    assert (
        remarks[9]
        == "Water stronger than planned: pH came out 0.22 high; titrate before the next batch."
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
