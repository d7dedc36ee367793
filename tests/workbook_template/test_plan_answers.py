"""What the workbook answers when a brewer types: units, mistakes, and totals that refuse to be
short.
"""

from __future__ import annotations

import math
import re

import pytest

from chemcore.units import litres_per_unit
from workbook_template.template import scenario
from workbook_template.template.sheets import acid_choice, batch_plan, curves, settings, water

PLAN = batch_plan.NAME


def test_barrels_and_fahrenheit_give_the_dose_of_hectolitres_and_celsius(desk):
    keys = ("ml", "grams", "low", "high", "climbs", "alkalinity_left", "calcium_limit", "cost")
    metric = {key: desk.answer(key) for key in keys}
    desk.type(settings.NAME, 4, 1, "US bbl")
    desk.type(settings.NAME, 5, 1, "°F")
    desk.type(settings.NAME, 6, 1, 170.6)
    desk.plan("volume", 1150 / litres_per_unit("US bbl"))
    desk.plan("read_at", 77 * 1.8 + 32)
    desk.work_out()
    for key in keys:
        assert desk.answer(key) == pytest.approx(metric[key], rel=1e-9), key
    assert desk.read(PLAN, batch_plan.HEAD, batch_plan.COLUMN["volume"]) == "Volume, US bbl"
    assert "°F" in desk.read(PLAN, batch_plan.HEAD, batch_plan.COLUMN["read_at"])


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("volume", None, "Check amount: the cell is empty"),
        ("volume", "7,2", 'Check amount: "7,2" is text'),
        ("volume", -3, "Check amount: -3 is not"),
        ("target", 8.4, "Check target_ph: 8.4 is above the water's pH 7.5"),
        ("water", "Moon", "Choose a water"),
        ("water", None, "Choose a water"),
        ("acid", "aqua regia", "Choose an acid"),
        ("read_at", 300, "Check temp_c: 300 is not 0 to 100"),
    ],
)
def test_a_bad_cell_is_named_and_the_totals_refuse(desk, key, value, words):
    desk.plan(key, value)
    desk.work_out()
    assert desk.answer("remark").startswith(words)
    row = batch_plan.FIRST + 1
    assert desk.total(6) == f"row {row}: see remark"
    if key in ("volume", "read_at"):
        assert desk.total(2) == f"row {row}: see remark"
    assert desk.answer("ml") in ("see remark", "")


def test_a_shelf_acid_needed_by_a_row_without_a_dose_says_so(desk):
    desk.plan("volume", None)
    desk.work_out()
    assert (
        desk.read(settings.NAME, settings.SHELF_FIRST, settings.SHELF.at["needed"]) == "see remark"
    )
    assert "has no date or no dose" in desk.read(
        settings.NAME, settings.SHELF_FIRST, settings.SHELF.at["remark"]
    )


@pytest.mark.parametrize(
    ("strength", "words"),
    [(0.75, "fraction"), (99, "1 to 90 mass %"), ("75", "is text"), (None, "empty")],
)
def test_a_bad_strength_shows_on_the_shelf_and_in_the_plan(desk, strength, words):
    desk.type(settings.NAME, settings.SHELF_FIRST, 2, strength)
    desk.work_out()
    assert words in desk.read(settings.NAME, settings.SHELF_FIRST, settings.SHELF.at["remark"])
    if strength is not None:
        assert words in desk.answer("remark")


def test_stock_that_is_short_is_named(desk):
    desk.type(settings.NAME, settings.SHELF_FIRST, 5, 0.5)
    desk.work_out()
    assert desk.read(settings.NAME, settings.SHELF_FIRST, settings.SHELF.at["remark"]).startswith(
        "Order "
    )


def test_the_four_states_of_calcium(desk):
    for column, figure in ((2, 1000), (5, 1000), (7, 1500)):  # the water of batch 4
        desk.type(water.NAME, water.FIRST + 1, column, figure)
    for batch, target in ((0, 4.6), (2, 5.7), (4, 6.2)):
        desk.plan("target", target, batch)
    desk.work_out()
    assert desk.answer("remark", 0).startswith("Calcium is below every limit")
    assert desk.answer("remark", 2).startswith("Calcium is above hydroxyapatite only: slow, scale")
    assert desk.answer("remark", 4).startswith("Calcium is above amorphous calcium phosphate")
    assert [desk.answer("state", batch) for batch in (0, 2, 4)] == [
        "stays",
        "slow scale",
        "drops at once",
    ]
    desk.tidy()
    desk.work_out()
    assert desk.answer("state", 4) == "can drop"
    assert desk.answer("remark", 4).startswith(
        "Calcium is above octacalcium phosphate or brushite: can drop within hours"
    )


def test_the_target_that_the_remark_advises_keeps_calcium(desk):
    desk.work_out()
    advised, low, high = map(float, re.findall(r"[\d.]+", desk.answer("safe_ph", 4)))
    assert low <= advised <= high
    desk.plan("target", advised, 4)
    desk.work_out()
    assert desk.answer("state", 4) in ("slow scale", "slow scale; gas lost: can drop")
    assert desk.answer("calcium_limit", 4) >= desk.answer("calcium", 4) * 0.999


def test_water_without_ions_still_gets_a_dose(desk):
    for column in range(2, 7):
        desk.type(water.NAME, water.FIRST, column, None)
    desk.work_out()
    assert desk.answer("ml") == pytest.approx(237, rel=0.03)
    assert "five ions" in desk.answer("remark")
    assert desk.read(water.NAME, water.FIRST, 16).startswith("No ions given")


@pytest.mark.parametrize(
    ("column", "value", "words"),
    [
        (2, None, "calcium cell is empty"),
        (7, None, "Check alkalinity: the cell is empty"),
        (9, None, "Check ph: the cell is empty"),
        (8, 90, "Alkalinity H5 is 168, but bicarbonate I5 makes 74 mg/L as CaCO3: which is right?"),
        (8, 205, "Plausible."),
        (
            4,
            200,
            "before dosing by it. Is its sulfate given as sulfur (SO4-S)? Type 3.00 times that.",
        ),
        (4, 42, "a little out of balance"),
        (9, 9.2, "Unusual pH"),
        (7, "168 mg", "is text"),
    ],
)
def test_the_remark_of_a_water(desk, column, value, words):
    desk.type(water.NAME, water.FIRST, column, value)
    desk.work_out()
    assert words in desk.read(water.NAME, water.FIRST, 16)


def test_anions_that_are_more_are_no_sulfate_given_as_sulfur(desk):
    desk.type(water.NAME, water.FIRST, water.SOURCES.at["chloride"], 300)
    desk.work_out()
    remark = desk.read(water.NAME, water.FIRST, 16)
    assert remark.startswith("Ions do not balance") and remark.endswith("dosing by it.")


def test_every_batch_can_be_chosen_for_comparison(desk):
    for batch in range(8):
        name = desk.read(PLAN, batch_plan.FIRST + batch, batch_plan.COLUMN["batch"])
        desk.type(acid_choice.NAME, 3, 1, name)
        desk.work_out()
        grams = acid_choice.COMPARED.at["grams"]
        doses = [
            desk.read(acid_choice.NAME, acid_choice.FIRST + shelf, grams) for shelf in range(5)
        ]
        assert all(isinstance(dose, float) for dose in doses), (name, doses)
        chosen = {
            desk.read(acid_choice.NAME, acid_choice.FIRST + shelf, 0): doses[shelf]
            for shelf in range(5)
        }
        own = chosen[desk.read(PLAN, batch_plan.FIRST + batch, batch_plan.COLUMN["acid"])]
        assert own == pytest.approx(desk.answer("grams", batch), rel=1e-9)


def test_the_dose_curve_runs_in_tenths_from_the_water_to_its_end_and_the_target_lies_on_it(desk):
    for batch in scenario.BATCHES:
        desk.type(acid_choice.NAME, 3, 1, batch.name)
        desk.work_out()
        curve = [
            desk.read(curves.NAME, row, 0) for row in range(curves.FIRST, curves.DOSE_LAST + 1)
        ]
        assert curve == sorted(curve, reverse=True) and curve[-1] == curves.CURVE_TO
        assert curve[1:] == pytest.approx([round(ph, 1) for ph in curve[1:]], abs=1e-9)
        target, dose = desk.named("Choice_target"), desk.named("Choice_dose")
        doses = [
            desk.read(curves.NAME, row, 1) for row in range(curves.FIRST, curves.DOSE_LAST + 1)
        ]
        after = next(i for i, ph in enumerate(curve) if ph <= target)
        assert doses[after - 1] <= dose <= doses[after] + 1e-6


def test_an_unknown_batch_leaves_the_comparison_empty(desk):
    desk.type(acid_choice.NAME, 3, 1, "no such batch")
    desk.work_out()
    assert desk.read(acid_choice.NAME, acid_choice.FIRST, 3) == ""
    assert desk.read(acid_choice.NAME, 4, 1).startswith("choose a batch")


def test_the_limit_is_shown_to_one_decimal_and_its_range_never_too_narrow(desk):
    desk.work_out()
    for batch in (0, 2, 3, 4, 7):
        shown = desk.answer("safe_ph", batch)
        best, low, high = map(float, re.findall(r"[\d.]+", shown))
        exact = [desk.answer(key, batch) for key in ("prompt_ph", "prompt_low", "prompt_high")]
        assert (best, low) == tuple(math.floor(10 * ph) / 10 for ph in exact[:2])
        assert high == math.ceil(10 * exact[2]) / 10
    assert f"up to about pH {desk.answer('safe_ph', 4)} or" in desk.answer("remark", 4)


@pytest.mark.parametrize("batch", range(8))
@pytest.mark.parametrize(
    ("target", "said"), [(6.0, True), (5.81, True), (5.8, False), (5.5, False)]
)
def test_a_target_above_that_of_settings_is_said_for_every_acid(desk, batch, target, said):
    desk.plan("target", target, batch)
    desk.work_out()
    assert (
        f"Target {target:.2f} is above the 5.80 of Settings." in desk.answer("remark", batch)
    ) == said


def test_a_target_that_stands_on_settings_is_shown(desk):
    desk.work_out()
    for batch, given in enumerate(scenario.BATCHES):
        assert ("Target 5.70 is taken from Settings." in desk.answer("remark", batch)) == (
            given.target_ph is None
        )
