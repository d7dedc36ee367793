"""What the plan asks where a cell may have been typed wrong; no question keeps a batch from its
dose.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from xlsxwriter.utility import xl_col_to_name

from udfs import call
from workbook_template.template import scenario
from workbook_template.template.sheets import (
    acid_choice,
    batch_plan,
    grists,
    mash_plan,
    purchasing,
    readings,
    settings,
    water,
)


def batch(desk, **cells):
    for key, value in cells.items():
        desk.plan(key, value)


@pytest.mark.parametrize(
    ("named", "cells", "words"),
    [
        ({}, {"batch": "0208 Stout"}, "Batch B8: this name stands twice"),
        ({}, {"volume": 1150}, "Volume D8: 1150.0 beside a tank of 14.0 hL; is it in that unit?"),
        ({}, {"volume": 0.4}, "Volume D8: 0.4 beside a tank of 14.0 hL"),
        ({"Temperature_unit": "°F", "Tank_temp": 170}, {}, "Temperature E8: is it in °C?"),
        ({"Temperature_unit": "°F"}, {}, "Tank temperature on Settings, B7: 77 °F is 25 °C"),
        ({}, {"water": "Yard well", "acid": "Lactic 80 can"}, "lactate"),
    ],
    ids=["name", "too much", "too little", "hot volume", "tank", "taste"],
)
def test_a_question_names_the_cell_and_blocks_nothing(desk, named, cells, words):
    for name, value in named.items():
        desk.enter(name, value)
    if "lactate" in words:
        desk.enter("Lactate_taste", 300)
    batch(desk, **cells)
    desk.work_out()
    assert words in desk.answer("remark")
    assert isinstance(desk.answer("ml"), float)


def test_the_example_is_asked_nothing(desk):
    desk.work_out()
    for offset in range(len(scenario.BATCHES)):
        assert desk.answer("questions", offset) == ""


def test_the_chloride_of_the_water_counts_with_that_of_the_acid(desk):
    desk.enter("Chloride_taste", 120)
    desk.work_out()
    place = next(i for i, each in enumerate(scenario.BATCHES) if each.name == "0212 Lager")
    own = next(each.chloride for each in scenario.WATERS if each.name == "Softened main")
    total = own + desk.answer("added", place)
    assert desk.answer("added", place) < 120 < total
    assert f"chloride {total:.0f} mg/L: tasted from about 120" in desk.answer("remark", place)


@pytest.mark.parametrize("tank", settings.TANKS[:-1], ids=lambda tank: tank.kept)
def test_the_interval_the_readings_and_both_states_of_calcium_span_what_the_tank_loses(desk, tank):
    desk.enter("Tank_kept", tank.kept)
    desk.work_out()
    source, ions = (168, 7.5), [[72, 9, 18, 31, 48]]
    litres, acid = desk.answer("cold"), ("phosphoric", 75)
    errors = (desk.named(f"Error_{what}") for what in ("alkalinity", "ph", "strength", "volume"))
    shares = tank.lost_from, tank.lost_from, tank.lost_to
    given_to = *source, 5.7, litres, *acid, *errors, ions, 20, *shares
    dose = desk.answer("volume_ml")
    low, high = (call(f"ACID_DOSE_{end}", *given_to) for end in ("LOW", "HIGH"))
    assert desk.answer("low") == pytest.approx(min(low, dose), rel=1e-9)
    assert desk.answer("high") == pytest.approx(max(high, dose), rel=1e-9)
    dosed = *source, dose, litres, *acid, ions, 20
    readings = [call("PH_AFTER_ACID", *dosed, share) for share in (0, tank.lost_to)]
    assert [desk.answer(key) for key in ("mixed", "climbs")] == pytest.approx(readings, rel=1e-9)
    hot = *source, 72, dose, litres, *acid, 20, 77, ions
    said = [call("CALCIUM_STATE", *hot, share) for share in (0, tank.lost_to)]
    assert [desk.answer("mixed_state"), desk.answer("open_state")] == said
    assert f"Calcium is {said[0]}." in desk.answer("remark")
    assert ("as gas leaves: read again before more acid" in desk.answer("remark")) == (
        readings[1] - readings[0] >= batch_plan.CLIMB
    )
    assert ("gas lost" in desk.answer("state")) == (said[0] != said[1])


@hypothesis_settings(max_examples=8, deadline=None)
@given(
    alkalinity=st.integers(60, 300),
    calcium=st.integers(20, 180),
    target=st.sampled_from([5.2, 5.5, 5.8, 6.1]),
    tank=st.sampled_from(settings.TANKS[:-1]),
)
def test_plan_and_comparison_of_acids_say_the_same_of_a_batch(
    one_desk, alkalinity, calcium, target, tank
):
    desk = one_desk
    try:
        for column, value in ((2, calcium), (7, alkalinity)):
            desk.type(water.NAME, water.FIRST, column, value)
        desk.enter("Tank_kept", tank.kept)
        desk.plan("target", target)
        desk.work_out()
        at = acid_choice.COMPARED.at
        for key in ("ml", "low", "high", "mixed", "climbs", "safe_ph", "state"):
            shown = desk.read(acid_choice.NAME, acid_choice.FIRST, at[key])
            planned = desk.answer(key)
            assert shown == (
                pytest.approx(planned, rel=1e-9) if isinstance(planned, float) else planned
            ), key
        assert desk.answer("low") <= desk.answer("ml") <= desk.answer("high")
    finally:
        desk.tidy()


def test_bicarbonate_left_and_the_anions_buffering_stand_apart(desk):
    desk.work_out()
    at = acid_choice.COMPARED.at
    for shelf, acid in enumerate(scenario.ACIDS[:4]):
        row = acid_choice.FIRST + shelf
        ml = desk.read(acid_choice.NAME, row, at["volume_ml"])
        dosed = 168, 7.5, ml, desk.answer("cold"), acid.acid, acid.strength
        more = [[72, 9, 18, 31, 48]], 20, 0
        for key, called in (
            ("bicarbonate", "BICARBONATE_AFTER_ACID"),
            ("left", "ALKALINITY_AFTER_ACID"),
            ("buffering", "ANION_ALKALINITY_AFTER_ACID"),
        ):
            shown = desk.read(acid_choice.NAME, row, at[key])
            assert shown == pytest.approx(call(called, *dosed, *more), rel=1e-9), (acid, key)


@pytest.mark.parametrize("key", ["last_plato", "kettle_plato", "wanted_plato"])
def test_a_specific_gravity_typed_for_degrees_plato_is_asked_about(desk, key):
    """1.048 is 11.9 °P: the table of the American Society of Brewing Chemists, as PLATO has it;
    real °P are asked nothing.
    """
    row, at = readings.FIRST, readings.COLUMN
    for figure, asked in ((1.048, True), (11.9, False), (2.3, False), (1.1, False)):
        desk.type(readings.NAME, row, at[key], figure)
        desk.work_out()
        said = desk.read(readings.NAME, row, at["remark"])
        assert ("is it a specific gravity? That is 11.9 °P." in said) == asked
        letter = xl_col_to_name(at[key])
        assert (f"Gravity {letter}{row + 1}: 1.048 °P" in said) == asked


def test_a_specific_gravity_among_the_runnings_is_asked_about(desk):
    run = readings.RUN
    desk.work_out()
    assert desk.named("Run_says") == ""
    desk.type(readings.NAME, run.first + 2, run.at["plato"], 1.048)
    desk.work_out()
    place = f"{xl_col_to_name(run.at['plato'])}{run.first + 3}"
    assert (
        desk.named("Run_says") == f"Gravity {place}: 1.048 °P; is it a specific gravity? That is"
        f" {call('PLATO', 1.048):.1f} °P."
    )


NAMES = st.lists(
    st.text(st.sampled_from("ab*?~<>=! 7"), min_size=1, max_size=4).map(
        lambda name: f"{name.strip()}x"
    ),
    min_size=9,
    max_size=9,
    unique_by=str.casefold,
)


@hypothesis_settings(max_examples=12, deadline=None)
@given(names=NAMES, chosen=st.integers(0, 8))
def test_batches_acids_and_waters_are_found_whatever_characters_their_names_hold(
    one_desk, names, chosen
):
    """The day of a batch, its dose, and what is bought: as with the names of the example."""
    desk = one_desk
    desk.work_out()
    amounts = [desk.answer("amount", i) for i in range(9)]
    acids = [acid.label for acid in scenario.ACIDS]
    sources = [each.name for each in scenario.WATERS]
    shelf = settings.SHELF
    need = [desk.read(purchasing.NAME, purchasing.FIRST + i, 2) for i in range(len(acids))]
    try:
        for i in range(len(acids)):
            desk.type(settings.NAME, shelf.first + i, shelf.at["label"], names[i])
        for i in range(len(sources)):
            desk.type(water.NAME, water.FIRST + i, 0, names[-1 - i])
        for i, each in enumerate(scenario.BATCHES):
            desk.plan("batch", names[i], i)
            desk.plan("acid", names[acids.index(each.acid)], i)
            if each.water in sources:
                desk.plan("water", names[-1 - sources.index(each.water)], i)
        for i, mash in enumerate(scenario.MASHES):
            at, row = mash_plan.MASHES.at, mash_plan.MASHES.first + i
            place = [each.name for each in scenario.BATCHES].index(mash.batch)
            desk.type(mash_plan.NAME, row, at["batch"], names[place])
            if mash.acid:
                desk.type(mash_plan.NAME, row, at["acid"], names[acids.index(mash.acid)])
            if mash.water:
                own = names[-1 - sources.index(mash.water)]
                desk.type(mash_plan.NAME, row, at["water"], own)
        grist = [malt for mash in scenario.MASHES for malt in [mash.batch] * len(mash.grist)]
        for i, batch_name in enumerate(grist):
            place = [each.name for each in scenario.BATCHES].index(batch_name)
            desk.type(grists.NAME, grists.GRIST.first + i, 0, names[place])
        blend = [i for i, each in enumerate(scenario.BATCHES) if each.water not in sources]
        desk.enter("Day_batch", names[chosen])
        desk.work_out()
        assert desk.named("Day_plan") == chosen + 1
        for i in range(9):
            if i not in blend:
                assert desk.answer("amount", i) == pytest.approx(amounts[i], rel=1e-12)
                assert "stands twice" not in desk.answer("remark", i)
        found = [desk.read(purchasing.NAME, purchasing.FIRST + i, 2) for i in range(len(acids))]
        hydrochloric = acids.index("Hydrochloric 31 can")
        for i, (before, now) in enumerate(zip(need, found, strict=True)):
            if i != hydrochloric and acids[i] != "Lactic 80 can":
                assert now == pytest.approx(before, rel=1e-12)
    finally:
        desk.tidy()


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ((None, None), "Give this report its date, B12: without one it counts as the oldest."),
        ((46200.0, "1.6.2026"), "The date B12 is not a date"),
        ((46200.0, 46200.0), "This name stands twice"),
    ],
    ids=["none", "text", "the same"],
)
def test_a_report_that_cannot_be_put_in_order_says_so(desk, typed, words):
    """A second report of a water with a worse figure, in the first free row."""
    sheet, table = water.NAME, water.SOURCES
    first, row = table.first, table.first + len(scenario.WATERS)
    for key in ("source", "calcium", "magnesium", "sodium", "chloride", "sulfate", "ph"):
        desk.type(sheet, row, table.at[key], desk.read(sheet, first, table.at[key]))
    desk.type(sheet, row, table.at["alkalinity"], 300)
    for at, day in zip((first, row), typed, strict=True):
        if day is not None:
            desk.type(sheet, at, table.at["date"], day)
    desk.work_out()
    remark = desk.read(sheet, row, table.at["remark"])
    assert remark.startswith(words.replace("B12", f"B{row + 1}"))
