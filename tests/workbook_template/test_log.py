"""The log: what it takes from the readings, what it keeps of the day, what it learns, and what it
asks first.
"""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from openpyxl import load_workbook

from tests.workbook_template.test_sparge_day import type_reading, water_of
from udfs import call
from workbook_template.template import scenario
from workbook_template.template.build import TEMPLATE
from workbook_template.template.sheets import log, water

LOG = log.NAME
NEW = len(scenario.LOG)


def type_log(desk, row: int, **values) -> None:
    for key, value in values.items():
        desk.type(LOG, log.FIRST + row, log.COLUMN[key], value)


def logged(desk, row: int, key: str):
    return desk.read(LOG, log.FIRST + row, log.COLUMN[key])


def test_a_batch_of_the_plan_needs_only_its_name(desk):
    type_log(desk, NEW, batch="0207 Pale")
    desk.work_out()
    assert [logged(desk, NEW, f"{key}_used") for key in ("before", "dose", "after", "later")] == [
        "",
        220,
        5.78,
        5.9,
    ]
    assert logged(desk, NEW, "taken") == "dose 220; pH after 5.78; later 5.9; last running 5.83; "
    assert "Readings missing" in logged(desk, NEW, "remark")
    type_reading(desk, "before", 7.48)
    desk.work_out()
    alkalinity, _, ions = water_of(desk, 0)
    liquor = desk.answer("cold"), "phosphoric", 75, ions, 20, desk.named("CO2_lost")
    implied = call("ALKALINITY_FROM_DOSE", 7.48, 5.78, 220, *liquor)
    assert logged(desk, NEW, "implied") == pytest.approx(implied, rel=1e-9)
    type_log(desk, NEW, after=5.7)
    desk.work_out()
    implied = call("ALKALINITY_FROM_DOSE", 7.48, 5.7, 220, *liquor)
    assert logged(desk, NEW, "implied") == pytest.approx(implied, rel=1e-9)


def test_what_was_planned_stays_when_the_advice_is_followed(desk):
    kept = ("planned", "expected", "report", "drift", "remark")
    before = [[logged(desk, row, key) for key in kept] for row in range(NEW)]
    type_log(desk, NEW, batch="0207 Pale", before=7.48, dose_then=237)
    desk.type(water.NAME, water.FIRST, water.SOURCES.at["alkalinity"], 176)
    desk.work_out()
    assert [[logged(desk, row, key) for key in kept] for row in range(NEW)] == before
    assert logged(desk, NEW, "planned") == 237
    assert logged(desk, NEW, "report") == 176
    assert desk.named("Log_report") == 176


def test_the_line_to_copy_is_a_row_of_the_log(desk):
    type_reading(desk, "before", 7.48)
    type_reading(desk, "beer_ph", 4.21)
    desk.work_out()
    line = {key: desk.read(LOG, log.HEAD - 1, log.COLUMN[key]) for key in log.INPUTS}
    type_log(desk, NEW, **{key: None if value == "" else value for key, value in line.items()})
    desk.work_out()
    assert (logged(desk, NEW, "planned"), logged(desk, NEW, "report")) == (
        desk.named("Day_dose"),
        desk.named("Day_alkalinity"),
    )
    assert [line[key] for key in ("dose", "after", "later", "last", "beer")] == [
        220,
        5.78,
        5.9,
        5.83,
        4.21,
    ]
    type_reading(desk, "ph_2", 5.2)
    desk.plan("target", 5.2)
    desk.work_out()
    assert logged(desk, NEW, "after") == 5.78
    assert logged(desk, NEW, "planned") == line["dose_then"] != desk.named("Day_dose")


@pytest.mark.parametrize("dose", [400, 120, 2.4])
def test_a_dose_far_outside_asks_for_the_entry_first(desk, dose):
    type_log(desk, 0, dose=dose)
    desk.work_out()
    said = logged(desk, 0, "remark")
    assert said.startswith(f"Check the entry first: {dose:.0f} mL where ")
    assert said.endswith("If so, titrate the water.")


def test_bias_and_drift_are_of_the_water_and_acid_chosen(desk):
    type_log(
        desk,
        NEW,
        batch="other",
        water="Yard well",
        acid="Phosphoric 75 drum",
        litres=9,
        target=5.7,
        before=7.3,
        dose=200,
        after=6.6,
    )
    bias = desk.named("Log_bias")
    own = [logged(desk, row, "miss") for row in range(NEW)]
    assert bias == pytest.approx(sum(own) / NEW, rel=1e-9)
    desk.work_out()
    assert isinstance(logged(desk, NEW, "miss"), float)
    assert desk.named("Log_bias") == pytest.approx(bias, rel=1e-12)
    desk.enter("Log_water", "Yard well")
    desk.work_out()
    assert desk.named("Log_batches") == 1
    assert desk.named("Log_bias") == pytest.approx(logged(desk, NEW, "miss"), rel=1e-9)


def test_the_log_learns_what_share_of_the_gas_the_tank_loses(desk):
    assert desk.named("Log_gas") == "not known"
    assert "one reading cannot tell" in desk.named("Log_gas_says")
    assert desk.named("Log_gas_batches") == 0
    ions = water_of(desk, 0)[2]
    shares, lows, highs = [], [], []
    for row, share in ((0, 0.2), (1, 0.3), (3, 0.5)):
        one = scenario.LOG[row]
        litres = one.volume * 100
        alkalinity = call(
            "ALKALINITY_FROM_DOSE",
            one.ph_before,
            one.ph_after,
            one.dose,
            litres,
            "phosphoric",
            75,
            ions,
        )
        later = call(
            "PH_AFTER_ACID",
            alkalinity,
            one.ph_before,
            one.dose,
            litres,
            "phosphoric",
            75,
            ions,
            20,
            share,
        )
        type_log(desk, row, later=later)
        given = one.ph_before, one.ph_after, later, one.dose, litres, "phosphoric", 75
        shares.append(call("CO2_LOST_FROM_TWO_READINGS", *given, ions))
        errors = [desk.named(f"Error_{of}") for of in ("ph", "strength", "volume")]
        lows.append(call("CO2_LOST_FROM_TWO_READINGS_LOW", *given, *errors, ions))
        highs.append(call("CO2_LOST_FROM_TWO_READINGS_HIGH", *given, *errors, ions))
    desk.work_out()
    assert shares == pytest.approx([0.2, 0.3, 0.5], abs=1e-3)
    assert desk.named("Log_gas") == pytest.approx(0.3, abs=1e-3)
    assert desk.named("Log_gas_from") == pytest.approx(min(lows), rel=1e-6)
    assert desk.named("Log_gas_to") == pytest.approx(max(highs), rel=1e-6)
    assert min(lows) < 0.2 and max(highs) > 0.5
    assert "lost about 30 % of what could leave" in desk.named("Log_gas_says")
    assert f"type {min(lows):.2f} and {max(highs):.2f}." in desk.named("Log_gas_says")


def test_beside_a_titrated_alkalinity_the_later_reading_tells_the_gas(desk):
    one, row = scenario.LOG[1], 1
    type_log(desk, row, after=5.8, later=6.05, titrated=181)
    desk.work_out()
    ions = water_of(desk, 0)[2]
    given = 181, one.ph_before, one.dose, 6.05, one.volume * 100, "phosphoric", 75
    errors = [desk.named(f"Error_{of}") for of in ("alkalinity", "ph", "strength", "volume")]
    assert 0 < desk.named("Log_gas") < 1
    assert desk.named("Log_gas") == pytest.approx(
        call("CO2_LOST_FROM_READING", *given, ions), rel=1e-9
    )
    ends = [
        call(f"CO2_LOST_FROM_READING_{end}", *given, *errors, ions, 20) for end in ("LOW", "HIGH")
    ]
    found = [desk.named(f"Log_gas_{end}") for end in ("from", "to")]
    assert found == pytest.approx(ends, rel=1e-9)
    assert "within the errors of 1 batch" in desk.named("Log_gas_says")


def test_the_reading_right_after_mixing_says_nothing_of_what_the_tank_loses(desk):
    type_log(desk, 1, after=5.95, titrated=181)
    desk.work_out()
    assert (desk.named("Log_gas"), desk.named("Log_gas_batches")) == ("not known", 0)
    assert [desk.named(f"Log_gas_{end}") for end in ("from", "to")] == ["", ""]
    assert "your tank lost" not in desk.named("Log_gas_says")


def test_the_line_to_copy_has_the_titration_of_that_batch_alone(desk):
    def titrated():
        return desk.work_out().read(LOG, log.HEAD - 1, log.COLUMN["titrated"])

    assert titrated() == pytest.approx(desk.named("Bench_measured"), rel=1e-12)
    desk.enter("Bench_batch", "0209 Pale")
    assert titrated() == ""


def test_a_dose_is_no_fault_of_the_water_where_the_tanks_gas_explains_it(desk):
    type_log(desk, NEW - 1, after=6.02)
    desk.work_out()
    assert logged(desk, NEW - 1, "remark").startswith("Water stronger than planned")
    desk.enter("Tank_kept", "sprayed or held hot")
    desk.work_out()
    assert not logged(desk, NEW - 1, "remark").startswith("Water stronger")


def test_the_table_stands_on_top():
    page = load_workbook(TEMPLATE)[LOG]
    assert page.freeze_panes == "C12"
    assert all(chart.anchor._from.row > log.LAST for chart in page._charts)


def type_report(desk, row: int, name: str, day: datetime | None, alkalinity: float) -> None:
    """Another report of the first water of the example, by its row of the table."""
    at, one = water.SOURCES.at, scenario.WATERS[0]._asdict()
    given = {**one, "source": name, "date": day, "alkalinity": alkalinity, "bicarbonate": None}
    for key, column in at.items():
        if key in given:
            desk.type(water.NAME, water.FIRST + row, column, given[key])


def test_a_batch_is_dosed_by_the_report_of_its_day(desk):
    before = [desk.answer("alk", batch) for batch in range(9)]
    type_report(desk, 4, "Town main", datetime(2026, 2, 5), 200)
    desk.work_out()
    assert before[0] == before[2] == before[6] == 168
    assert [desk.answer("alk", batch) for batch in (0, 2, 6)] == [168, 200, 200]
    others = (1, 3, 4, 5)  # the blend of 7 and 8 holds this water as it is today
    assert [desk.answer("alk", batch) for batch in others] == [before[batch] for batch in others]
    assert logged(desk, 0, "water_row") == 1  # of a day before both reports
    type_log(desk, NEW, batch="0209 Pale", before=7.48)
    desk.plan("date", None, 6)
    desk.enter("Bench_batch", "0209 Pale")
    desk.work_out()
    assert logged(desk, NEW, "report") == 200
    assert (desk.answer("alk", 6), desk.named("Bench_reported"), desk.named("Log_report")) == (
        200,
        200,
        200,
    )


def test_batches_of_an_older_report_do_not_speak_against_the_newest(desk):
    days = [one.date for one in scenario.LOG]
    type_report(desk, 0, "Town main", days[0] - timedelta(1), 168)
    type_report(desk, 4, "Town main", days[-1] + timedelta(1), 240)
    desk.work_out()
    assert (desk.named("Log_report"), desk.named("Log_batches")) == (240, 0)
    assert [desk.named(f"Log_{of}") for of in ("learnt", "scatter", "drift", "bias")] == [
        "no batch yet",
        "3 needed",
        "",
        "no batch yet",
    ]
    assert desk.named("Log_says").startswith("No batch of this acid yet by the newest report")
    desk.type(water.NAME, water.FIRST + 4, water.SOURCES.at["date"], days[-4])
    desk.work_out()
    newest = [row for row, day in enumerate(days) if day >= days[-4]]
    assert 4 <= len(newest) < NEW
    assert desk.named("Log_batches") == len(newest)
    miss = [logged(desk, row, "miss") for row in newest]
    assert desk.named("Log_bias") == pytest.approx(sum(miss) / len(miss), rel=1e-9)


def test_the_bench_takes_the_report_that_its_batch_was_planned_by(desk):
    row = [batch.name for batch in scenario.BATCHES].index(scenario.TITRATION.batch)
    day = scenario.BATCHES[row].date
    type_report(desk, 4, scenario.TITRATION.water, day + timedelta(1), 240)
    desk.work_out()
    assert desk.named("Bench_reported") == desk.answer("alk", row) == 168
    assert desk.named("Bench_remark").startswith("The curve and the report agree")
    copied = desk.read(LOG, log.HEAD - 1, log.COLUMN["titrated"])
    assert copied == pytest.approx(desk.named("Bench_measured"), rel=1e-12)
    for typed in (None, "some day"):
        desk.plan("date", typed, row)
        desk.work_out()
        assert desk.named("Bench_reported") == desk.answer("alk", row) == 240
    desk.plan("date", day, row)
    desk.enter("Bench_batch", None)
    desk.work_out()
    assert desk.named("Bench_reported") == 240


def test_two_reports_of_one_day_are_asked_about(desk):
    type_report(desk, 4, "Town main", scenario.WATERS[0].date, 200)
    desk.work_out()
    for row in (0, 4):
        said = desk.read(water.NAME, water.FIRST + row, water.SOURCES.at["remark"])
        assert said.startswith("This name stands twice")
