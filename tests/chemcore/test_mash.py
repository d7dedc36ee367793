"""Mash pH: the balance, its inverse and the interval."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chemcore.acids import acid_names, find_acid, is_powder, volume_of_moles
from chemcore.errors import DomainError
from chemcore.mash import (
    Malt,
    acid_malt_mass,
    mash_acid_dose,
    mash_ph,
    mash_ph_range,
    typical_malts,
)
from chemcore.water import Ions

PALE = (Malt(100.0, 5.75, 50.0),)
MIXED = (Malt(80.0, 5.75, 50.0), Malt(15.0, 5.45, 50.0), Malt(5.0, 4.65, 45.0))
SOFT = Ions(0.0, 0.0, 0.0, 0.0, 0.0)
LIQUIDS = [
    name
    for name in acid_names()
    if not is_powder(find_acid(name), find_acid(name).default_strength)
]


def test_demineralised_water_gives_the_malts_own_ph():
    assert mash_ph(PALE, 300.0, 0.0, SOFT) == pytest.approx(5.75)


def test_one_equivalent_moves_the_mash_by_its_buffering():
    """50.0435 mg/L as CaCO3 is 1 mEq/L: 3 L/kg of it against 50 mEq/(kg·pH) is 0.06."""
    assert mash_ph(PALE, 300.0, 50.0435, SOFT) == pytest.approx(5.81)


@pytest.mark.parametrize(
    "ion, molar_mass, factor", [("calcium", 40.078, 3.5), ("magnesium", 24.305, 7.0)]
)
def test_kolbach(ion, molar_mass, factor):
    """So many equivalents of the metal undo one of alkalinity (Kolbach 1953: 3.5 and 7; from
    memory).
    """
    ions = SOFT._replace(**{ion: factor * molar_mass / 2.0})
    assert mash_ph(PALE, 300.0, 50.0435, ions) == pytest.approx(5.75, abs=1e-9)


def test_without_ions_the_alkalinity_is_calcium_bicarbonate():
    ions = SOFT._replace(calcium=100.0 / 50.0435 * 40.078 / 2.0)
    assert mash_ph(PALE, 300.0, 100.0) == pytest.approx(mash_ph(PALE, 300.0, 100.0, ions))


@settings(deadline=None, max_examples=30)
@given(
    name=st.sampled_from(LIQUIDS),
    target=st.floats(5.0, 5.6),
    alkalinity=st.floats(0.0, 300.0),
    thickness=st.floats(2.0, 5.0),
)
def test_dose_then_ph_gives_the_target(name, target, alkalinity, thickness):
    acid, litres = find_acid(name), 100.0 * thickness
    if mash_ph(MIXED, litres, alkalinity, SOFT) < target:
        return
    dose = mash_acid_dose(MIXED, litres, alkalinity, SOFT, target, acid)
    assert mash_ph(MIXED, litres, alkalinity, SOFT, dose, acid) == pytest.approx(target, abs=1e-9)


@settings(deadline=None, max_examples=30)
@given(percent=st.floats(1.0, 6.0), target=st.floats(5.0, 5.6))
def test_acid_malt_is_its_acid_and_its_malt(percent, target):
    kg = acid_malt_mass(MIXED, 300.0, 100.0, SOFT, target, percent)
    whole = sum(malt.kg for malt in MIXED)
    grown = [malt._replace(kg=malt.kg * (1.0 + kg / whole)) for malt in MIXED]
    lactic = find_acid("lactic")
    dose = volume_of_moles(10.0 * percent / lactic.molar_mass * kg, lactic, 88.0)
    assert mash_ph(grown, 300.0, 100.0, SOFT, dose, lactic, 88.0) == pytest.approx(target, abs=1e-9)


def test_the_interval_is_never_tighter_than_a_tenth_and_grows_with_what_is_unsure():
    soft = mash_ph_range(PALE, 300.0, 0.0, SOFT)
    assert soft == pytest.approx((5.65, 5.85))
    chalky = mash_ph_range(PALE, 300.0, 100.0, SOFT)
    hard = mash_ph_range(PALE, 300.0, 100.0, SOFT._replace(calcium=150.0))
    assert 0.2 < chalky.high - chalky.low < hard.high - hard.low


def test_typical_malts_mash_between_roast_and_wheat():
    malts = typical_malts()
    assert len(malts) >= 6
    for malt in malts.values():
        assert 4.0 <= mash_ph((malt,), 3.0, 0.0, SOFT) <= 6.0


@pytest.mark.parametrize(
    "call, argument",
    [
        (lambda: mash_ph((), 300.0, 0.0, SOFT), "grist"),
        (lambda: mash_ph(PALE, 3e5, 100.0, SOFT), "litres"),
        (lambda: mash_ph(PALE, 300.0, 100.0, SOFT, 1e6, find_acid("lactic")), "acid_ml"),
        (lambda: mash_acid_dose(PALE, 300.0, 0.0, SOFT, 5.8, find_acid("lactic")), "target_ph"),
        (lambda: acid_malt_mass(PALE, 300.0, 0.0, SOFT, 5.0, 0.2), "lactic_percent"),
    ],
)
def test_what_has_no_answer_says_which_argument(call, argument):
    with pytest.raises(DomainError) as caught:
        call()
    assert caught.value.argument == argument
