"""The work sheet of the day: what it shows of the readings, and its table for the tank."""

from __future__ import annotations

import pytest

from udfs import call
from workbook_template.template import scenario
from workbook_template.template.sheets import readings, sparge_day, water

DAY = sparge_day.NAME
STEP, PAPER = sparge_day.STEPS, sparge_day.PAPER


def type_reading(desk, key: str, value, row: int = 0) -> None:
    desk.type(readings.NAME, readings.FIRST + row, readings.COLUMN[key], value)


def step(desk, key: str, portion: int = 1):
    return desk.read(DAY, STEP.head + portion, STEP.at[key])


def remark(desk) -> str:
    return desk.read(DAY, sparge_day.REMARK, 0)


def paper(desk, key: str) -> list:
    return [desk.read(DAY, row, PAPER.at[key]) for row in range(PAPER.first, PAPER.last + 1)]


def water_of(desk, batch: int):
    """Alkalinity, pH, ions and temperature of the water of a batch, as the sheet Water has them."""
    source = next(
        place
        for place, one in enumerate(scenario.WATERS)
        if one.name == desk.answer("water", batch)
    )
    row, at = water.FIRST + source, water.SOURCES.at
    ions = [[desk.read(water.NAME, row, at[ion]) for ion in water.IONS]]
    return (*(desk.read(water.NAME, row, at[key]) for key in ("alkalinity_said", "ph")), ions)


def test_the_work_sheet_leads_to_the_target(desk):
    first = desk.named("Day_first")
    assert first == pytest.approx(0.6 * desk.answer("ml"), rel=1e-9)
    type_reading(desk, "given_1", first)
    type_reading(desk, "ph_1", desk.named("Day_expected"))
    type_reading(desk, "given_2", None)
    type_reading(desk, "ph_2", None)
    desk.work_out()
    assert step(desk, "still") == pytest.approx(desk.answer("ml") - first, rel=1e-6)
    assert desk.named("Day_least") < desk.answer("ml") < desk.named("Day_most")


def test_the_work_sheet_of_a_powder_is_in_grams(desk):
    batch = next(i for i in range(8) if desk.answer("measure", i) == "g")
    desk.enter("Day_batch", desk.answer("batch", batch))
    type_reading(desk, "batch", desk.answer("batch", batch))
    desk.work_out()
    assert desk.named("Day_unit") == "g"
    assert desk.named("Day_dose") == pytest.approx(desk.answer("grams", batch), rel=1e-9)
    grams, read = desk.named("Day_first"), desk.named("Day_expected")
    for key, value in (("given_1", grams), ("ph_1", read), ("given_2", None), ("ph_2", None)):
        type_reading(desk, key, value)
    desk.work_out()
    assert step(desk, "still") == pytest.approx(desk.answer("grams", batch) - grams, rel=1e-6)
    assert "Citric acid 100 %" in desk.read(DAY, sparge_day.CAUTIONS, 0)


def test_another_batch_shows_its_own_readings(desk):
    for key, value in (
        ("batch", desk.answer("batch", 1)),
        ("before", 7.1),
        ("given_1", 99),
        ("ph_1", 6.4),
    ):
        type_reading(desk, key, value, 5)
    desk.enter("Day_batch", desk.answer("batch", 1))
    desk.work_out()
    assert [step(desk, key) for key in ("given", "in_all", "read")] == [99, 99, 6.4]
    assert desk.named("Day_ph") == 7.1
    assert step(desk, "read", 2) == ""
    desk.enter("Day_batch", desk.answer("batch", 2))
    desk.work_out()
    assert [step(desk, key) for key in ("given", "in_all", "read", "still")] == [""] * 4
    assert desk.named("Day_ph") == desk.read(water.NAME, water.FIRST, water.SOURCES.at["ph"])
    assert remark(desk) == ""
    desk.enter("Day_batch", desk.answer("batch", 0))
    desk.work_out()
    assert [step(desk, "in_all", portion) for portion in (1, 2)] == [140, 220]
    desk.enter("Day_batch", None)
    desk.work_out()
    assert remark(desk) == "Choose a batch above."


def test_a_row_of_readings_that_is_moved_is_found(desk):
    for key in readings.COLUMN:
        if key in {column.key for column in readings.READ.inputs}:
            there = desk.read(readings.NAME, readings.FIRST, readings.COLUMN[key])
            type_reading(desk, key, there, 20)
            type_reading(desk, key, None)
    desk.work_out()
    assert [step(desk, "in_all", portion) for portion in (1, 2)] == [140, 220]


def test_the_work_sheet_warns_before_too_much_acid_and_of_a_reading_far_off(desk):
    most = desk.named("Day_most")
    said = remark(desk).splitlines()
    assert (
        said[0]
        == "Portion 1: given and still to give make 283 mL, more than the water should take (up to"
        f" {most:.0f}): check meter, volume and label before giving it."
    )
    assert said[1] == "Portion 2: as expected within 0.2 pH; 11 mL remain, in portions."
    type_reading(desk, "ph_1", step(desk, "expected") - 0.25)
    type_reading(desk, "ph_2", 5.7)
    type_reading(desk, "later_ph", None)
    desk.work_out()
    first, second = remark(desk).splitlines()
    assert first == "Portion 1: the reading is 0.25 below the expected pH: stop and ask. "
    assert second == "Portion 2: no more acid."


def test_a_portion_left_out_is_named(desk):
    type_reading(desk, "given_1", None)
    desk.work_out()
    assert step(desk, "in_all", 2) == "a portion is missing"
    at = readings.FIRST, readings.COLUMN["remark"]
    assert desk.read(readings.NAME, *at).startswith("A portion is missing")


def test_a_climbing_reading_is_gas_and_no_more_acid(desk):
    assert "The pH climbed by 0.12 while no acid was given: gas left the tank" in remark(desk)
    alkalinity, ph, ions = water_of(desk, 0)
    share = call(
        "CO2_LOST_FROM_TWO_READINGS",
        ph,
        5.78,
        5.9,
        220,
        desk.answer("cold"),
        "phosphoric",
        75,
        ions,
    )
    assert f"(about {100 * share:.0f} % of what can leave). Read again before more acid." in remark(
        desk
    )
    type_reading(desk, "later_ph", 5.8)
    desk.work_out()
    assert remark(desk).splitlines()[-1] == "The pH stayed where it was."
    type_reading(desk, "later_ph", 5.6)
    desk.work_out()
    assert "lower than that right after mixing" in remark(desk)
    type_reading(desk, "later_ph", 7.2)
    desk.work_out()
    assert "higher than the gas of such a tank explains" in remark(desk)


def test_the_readings_to_expect_span_what_the_tank_may_lose(desk):
    alkalinity, ph, ions = water_of(desk, 0)
    for named, amount, share in (
        ("Day_expected", "Day_first", "CO2_lost_from"),
        ("Day_climb", "Day_first", "CO2_lost_to"),
        ("Day_whole_climb", "Day_dose", "CO2_lost_to"),
    ):
        expected = call(
            "PH_AFTER_ACID",
            alkalinity,
            ph,
            desk.named(amount),
            desk.answer("cold"),
            "phosphoric",
            75,
            ions,
            20,
            desk.named(share),
        )
        assert desk.named(named) == pytest.approx(expected, rel=1e-9)
    assert desk.named("Day_expected") < desk.named("Day_climb")


@pytest.mark.parametrize("batch", range(9))
def test_the_table_for_the_tank_says_what_the_sheet_would(desk, batch):
    """What is printed for a reading is what the readings' own column says once that reading is
    typed.
    """
    desk.enter("Day_batch", desk.answer("batch", batch))
    type_reading(desk, "batch", desk.answer("batch", batch))
    type_reading(desk, "later_ph", None)
    for portion in (1, 2):
        type_reading(desk, readings.given(portion), None)
        type_reading(desk, readings.read(portion), None)
    desk.work_out()
    printed = {
        "one": [desk.named("Day_first")],
        **{
            f"two_{place}": [desk.named("Day_first"), desk.named(f"Day_second_{place}")]
            for place in (1, 2, 3)
        },
    }
    phs, target, most = paper(desk, "ph"), desk.named("Day_target"), desk.named("Day_most")
    known = [ph for ph in phs if ph != ""]
    assert known == sorted(known, reverse=True) and len(known) >= 3
    assert all(round(high - low, 9) == 0.1 for high, low in zip(known, known[1:]))
    columns = {key: paper(desk, key) for key in printed}
    for key, given in printed.items():
        type_reading(desk, "given_1", given[0])
        if len(given) > 1:
            type_reading(desk, "given_2", given[1] - given[0])
        portion = len(given)
        for ph, says in list(zip(phs, columns[key]))[::4]:
            if ph == "":
                assert says == ""
                continue
            type_reading(desk, readings.read(portion), ph)
            desk.work_out()
            still, expected = step(desk, "still", portion), step(desk, "expected", portion)
            marked = isinstance(says, str) and says.endswith("*")
            if ph <= target:
                assert still == "no more acid"
                assert says.startswith("no more")
                assert marked == (round(abs(ph - expected), 2) > sparge_day.FAR)
                continue
            figure = float(str(says).removesuffix(" *").replace(",", ""))
            assert figure == pytest.approx(still, abs=0.51 if marked else 1e-6)
            off = round(abs(ph - expected), 2) > sparge_day.FAR
            assert marked == (off or still + given[-1] > most)


def test_the_tank_is_written_as_it_is_read(desk):
    assert desk.named("Day_tank") == "11.5 hL at 77 °C"
    desk.enter("Volume_unit", "US bbl")
    desk.enter("Temperature_unit", "°F")
    desk.plan("volume", 9.5)
    desk.plan("read_at", 170)
    desk.work_out()
    assert desk.named("Day_tank") == "9.50 US bbl at 170 °F"
    litres = call("COLD_LITRES", call("LITRES", 9.5, "US bbl"), (170 - 32) / 1.8)
    assert desk.named("Day_litres") == pytest.approx(litres, rel=1e-9)
    desk.plan("read_at", None)
    desk.work_out()
    assert desk.named("Day_tank") == "9.50 US bbl cold"


def test_readings_that_cannot_be_right_are_named(desk):
    def said(row=0):
        return desk.read(readings.NAME, readings.FIRST + row, readings.COLUMN["remark"])

    assert [said(row) for row in range(3)] == ["", "", ""]
    type_reading(desk, "batch", "0207 Pale", 7)
    type_reading(desk, "ph_1", 6.1, 8)
    type_reading(desk, "batch", "0999", 9)
    desk.work_out()
    assert said().startswith("This batch stands twice") and said(7).startswith("This batch stands")
    assert said(8) == "Choose the batch of these readings."
    assert said(9).startswith("No batch of the plan has this name")
