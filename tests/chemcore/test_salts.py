"""Salts, lime and chalk: charge, alkalinity and the limits of what dissolves."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chemcore import precipitation
from chemcore.acids import find_acid, volume_of_moles
from chemcore.dosing import alkalinity_after
from chemcore.errors import DomainError
from chemcore.salts import (
    AIMS,
    after_salt,
    alkalinity_added,
    find_salt,
    ions_added,
    mass_for,
    salt_names,
)
from chemcore.tables import constant
from chemcore.water import Ions

salt_name = st.sampled_from(salt_names())
HARD = Ions(110.0, 18.0, 20.0, 40.0, 70.0)


@settings(deadline=None, max_examples=40)
@given(name=salt_name, grams=st.floats(0.0, 1e5), litres=st.floats(1.0, 1e5))
def test_no_salt_changes_the_charge_balance(name, grams, litres):
    salt = find_salt(name)
    ions = ions_added(salt, grams, litres)
    positive = (
        2.0 * ions.calcium / constant("molar_mass_calcium")
        + 2.0 * ions.magnesium / constant("molar_mass_magnesium")
        + ions.sodium / constant("molar_mass_sodium")
    )
    negative = (
        ions.chloride / constant("molar_mass_chloride")
        + 2.0 * ions.sulfate / constant("molar_mass_sulfate")
        + alkalinity_added(salt, grams, litres) / constant("calcium_carbonate_equivalent")
    )
    assert positive == pytest.approx(negative, rel=1e-12, abs=1e-12)


@settings(deadline=None, max_examples=40)
@given(
    name=salt_name,
    aim=st.sampled_from(AIMS),
    wanted=st.floats(0.1, 500.0),
    litres=st.floats(1.0, 1e5),
    strength=st.floats(5.0, 100.0),
)
def test_mass_brings_what_was_asked_for(name, aim, wanted, litres, strength):
    salt = find_salt(name)
    held = {**salt.ions._asdict(), "alkalinity": salt.alkalinity}
    if not held[aim]:
        with pytest.raises(DomainError, match=f"brings no {aim}"):
            mass_for(salt, aim, wanted, litres, strength)
        return
    grams = mass_for(salt, aim, wanted, litres, strength)
    brought = {
        **ions_added(salt, grams, litres, strength)._asdict(),
        "alkalinity": alkalinity_added(salt, grams, litres, strength),
    }
    assert brought[aim] == pytest.approx(wanted)


@settings(deadline=None, max_examples=40)
@given(alkalinity=st.floats(40.0, 350.0), ph=st.floats(6.5, 8.2), part=st.floats(0.05, 0.95))
def test_acid_and_the_same_equivalents_of_lime_return_the_alkalinity(alkalinity, ph, part):
    litres, acid, lime = 1000.0, find_acid("hydrochloric"), find_salt("slaked lime")
    moles = part * alkalinity / 50.0435  # of 1000 L
    acidified = alkalinity_after(
        alkalinity, ph, volume_of_moles(moles, acid, 31.0), litres, acid, 31.0
    )
    taken = alkalinity - acidified
    assert taken == pytest.approx(part * alkalinity, rel=2e-3)
    brought = alkalinity_added(lime, moles * lime.molar_mass / 2.0, litres)
    assert acidified + brought == pytest.approx(alkalinity, abs=2e-3 * alkalinity)


@pytest.mark.parametrize(
    "name", ["gypsum", "calcium chloride dihydrate", "Epsom salt", "table salt"]
)
def test_neutral_salts_leave_the_alkalinity(name):
    treated = after_salt(200.0, 7.3, find_salt(name), 200.0, 1000.0, None, HARD)
    assert treated.alkalinity == 200.0
    assert treated.ph == pytest.approx(7.3, abs=0.03)


def test_chalk_dissolves_no_further_than_saturation():
    chalk = find_salt("chalk")
    little = after_salt(30.0, 6.2, chalk, 10.0, 1000.0)
    assert little.alkalinity == pytest.approx(40.0, abs=0.01)
    much, more = (after_salt(30.0, 6.2, chalk, grams, 1000.0) for grams in (1000.0, 2000.0))
    assert much == pytest.approx(more)
    assert 40.0 < much.alkalinity < 130.0


def test_lime_softens_a_hard_water():
    lime = find_salt("lime")
    clear = after_salt(280.0, 7.2, lime, 150.0, 1000.0, None, HARD)
    settled = after_salt(280.0, 7.2, lime, 150.0, 1000.0, None, HARD, settled=1.0)
    half = after_salt(280.0, 7.2, lime, 150.0, 1000.0, None, HARD, settled=0.5)
    assert clear.alkalinity > 280.0 > settled.alkalinity
    assert half.alkalinity == pytest.approx((clear.alkalinity + settled.alkalinity) / 2.0)
    assert settled.ph < half.ph < clear.ph


@settings(deadline=None, max_examples=40)
@given(alkalinity=st.floats(5.0, 400.0), ph=st.floats(6.5, 8.2), lost=st.floats(0.0, 1.0))
def test_scale_takes_no_more_than_there_is_and_leaves_saturation(alkalinity, ph, lost):
    fallen = precipitation.scale(alkalinity, ph, None, 20.0, 77.0, lost)
    assert 0.0 <= fallen <= alkalinity
    assert fallen <= precipitation.scale(alkalinity, ph, None, 20.0, 77.0, 1.0) + 1e-6


def test_a_column_gives_what_its_rows_give():
    alkalinity, ph, grams = (
        np.array([280.0, 30.0, 150.0]),
        np.array([7.2, 6.2, 7.8]),
        np.array([150.0, 100.0, 20.0]),
    )
    for name in ("lime", "chalk", "gypsum"):
        salt = find_salt(name)
        column = after_salt(alkalinity, ph, salt, grams, 1000.0, settled=0.5)
        for i in range(3):
            row = after_salt(
                float(alkalinity[i]), float(ph[i]), salt, float(grams[i]), 1000.0, settled=0.5
            )
            assert (column.ph[i], column.alkalinity[i]) == pytest.approx(row, rel=1e-8)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("calcium chloride", "does not say how much water"),
        ("magnesium chloride", "does not say how much water"),
        ("quicklime", "not a salt known here"),
    ],
)
def test_a_name_without_its_water_is_refused(name, words):
    with pytest.raises(DomainError, match=words):
        find_salt(name)
