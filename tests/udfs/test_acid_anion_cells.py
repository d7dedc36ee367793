"""ACID_ANION and ACID_ANION_MASS: what a dose that is no dose of brewing liquor gets."""

import pytest

from udfs import call


@pytest.mark.parametrize("litres", [100.0, 1.0, 0.001])
def test_more_acid_than_liquor_is_a_sentence(litres):
    dose = 2000.0 * litres
    assert (
        call("ACID_ANION", dose, litres, "lactic", 88.0)
        == f"Check dose_ml: {dose:g} mL in {litres:g} L is far past any pH of brewing liquor; look"
        " at the units"
    )
    assert (
        call("ACID_ANION_MASS", dose, litres, "citric")
        == f"Check dose_g: {dose:g} g in {litres:g} L is far past any pH of brewing liquor; look at"
        " the units"
    )


def test_in_a_column_only_its_own_row_is_refused():
    answers = call("ACID_ANION", ((100.0,), (200_000.0,)), 100.0, "lactic", 88.0)
    assert answers[0][0] == call("ACID_ANION", 100.0, 100.0, "lactic", 88.0)
    assert answers[1][0].startswith("Check dose_ml: 200000 mL in 100 L is far past")


def test_it_reaches_as_far_as_the_dose_that_is_answered():
    """By hand: 1 mol/kg of lactate (89.07 g/mol) in water of 0.9982 kg/L is 88.9 g/L."""
    assert call("ACID_ANION", 84.0 * 100, 100.0, "lactic", 88.0) == pytest.approx(88_900, rel=2e-2)
    assert call("ACID_ANION", 87.0 * 100, 100.0, "lactic", 88.0).startswith("Check dose_ml")
