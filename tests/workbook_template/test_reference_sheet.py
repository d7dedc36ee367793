"""Figures that stand in words on the sheet Reference, against the functions and sums by hand."""

from __future__ import annotations

import pytest

from chemcore.acids import find_acid, moles_of_volume, protons_released
from udfs import call
from workbook_template.template import scenario
from workbook_template.template.sheets import reference

SAID = dict(reference.ALKALINITIES)
#: Of CaCO3 that a milliequivalent is worth, mg.
EACH = 50.0435
WATER = scenario.WATERS[0]
IONS = ((WATER.calcium, WATER.magnesium, WATER.sodium, WATER.chloride, WATER.sulfate),)
STRENGTHS = {"phosphoric": 75, "lactic": 80}


@pytest.fixture(scope="module")
def after():
    """For each acid a function that asks for the first batch's liquor once it is dosed, by the
    litre; and the mol of acid.
    """
    found = {}
    for acid, strength in STRENGTHS.items():
        liquor = WATER.alkalinity, WATER.ph
        target = scenario.BATCHES[0].target_ph
        ml = call("ACID_DOSE", *liquor, target, 1, acid, strength, IONS)

        def ask(what, liquor=liquor, ml=ml, acid=acid, strength=strength):
            return call(f"{what}_AFTER_ACID", *liquor, ml, 1, acid, strength, IONS)

        found[acid] = ask, moles_of_volume(ml, find_acid(acid), strength)
    return found


def test_bicarbonate_left_is_nearly_one_figure(after):
    left = {acid: f"{ask('BICARBONATE'):.0f}" for acid, (ask, _) in after.items()}
    assert set(left.values()) == {"41"}
    assert "about 41 mg/L" in SAID["Bicarbonate left"]


def test_alkalinity_by_titration_of_both_acids(after):
    phosphoric, lactic = (after[acid][0]("ALKALINITY") for acid in STRENGTHS)
    assert (
        f"{phosphoric:.0f} mg/L as CaCO3 after phosphoric acid, {lactic:.0f} after lactic"
        in SAID["Alkalinity by titration"]
    )
    taken = [ask("ANION_ALKALINITY") / EACH / 1000 / moles for ask, moles in after.values()]
    assert (
        f"a mole of lactate takes up about {taken[1]:.2f} equivalents of acid, of phosphate"
        f" {taken[0]:.2f}" in SAID["Alkalinity by titration"]
    )


def test_equivalents_and_moles_of_both_acids(after):
    released = [protons_released(find_acid(acid), 5.7) for acid in STRENGTHS]
    words = SAID["Per mole of acid"]
    assert (
        f"phosphoric acid gives off {released[0]:.2f} equivalents, of lactic {released[1]:.2f}"
        in words
    )
    more = 100 * (after["lactic"][1] / after["phosphoric"][1] - 1)
    assert 6 < more < 7 and "6 to 7 % more moles of lactic" in words
