"""Answers of the solver against a slow path of its own: bracketed roots by scipy over a plain loop
of whole solves.

Nothing here is a stored digit: the slow path sums the species one by one from the table
(``molalities``) and looks for the pH, the alkalinity or the calcium by Brent's method between two
ends.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from chemcore.acids import find_acid, moles_of_volume
from chemcore.carbonate import venting
from chemcore.dosing import alkalinity_from_dose, dose_volume, dosed_totals, ph_after, top_up_volume
from chemcore.errors import DomainError
from chemcore.solids import calcium_safe_ph, calcium_solubility, find_solid, index_in
from chemcore.speciation import Totals, molalities, solve_at_ph, solve_for_ph
from chemcore.species import METAL_CHARGE, all_species
from chemcore.tables import constant
from chemcore.units import report_density
from chemcore.water import per_kg, per_litre, source_water
from tests.chemcore.strategies import (
    STRENGTH,
    acids,
    alkalinities,
    ions,
    lost,
    source_ph,
    target_ph,
    temperatures,
)


def charge_by_species(ph, temp_c, totals, gas):
    """Charge left over, summed species by species."""
    solved = solve_at_ph(ph, temp_c, totals, venting=gas)
    found = molalities(solved)
    metals = sum(METAL_CHARGE[m] * getattr(totals, m.lower()) for m in METAL_CHARGE)
    return sum(s.charge * found.get(s.name, 0.0) for s in all_species()) - metals + totals.strong


@settings(deadline=None, max_examples=40)
@given(alkalinities, source_ph, target_ph, acids, ions, temperatures, lost)
def test_ph_after_a_dose(alkalinity, ph, target, acid, ions, temp_c, lost):
    strength = STRENGTH[acid.name]
    try:
        dose = dose_volume(alkalinity, ph, target, 100.0, acid, strength, ions, temp_c, lost)
        water = source_water(alkalinity, ph, ions, temp_c)
    except DomainError:
        return
    fast = ph_after(alkalinity, ph, dose, 100.0, acid, strength, ions, temp_c, lost)
    totals, gas = dosed_totals(water, dose, 100.0, acid, strength), venting(temp_c, lost)
    slow = brentq(charge_by_species, 1.5, 12.5, args=(temp_c, totals, gas), xtol=1e-13)
    # a balance of charge is known to its rounding only: in water without buffer that is more than
    # 1e-9 of pH
    rounding = 1e-15 / abs(
        charge_by_species(slow + 0.01, temp_c, totals, gas)
        - charge_by_species(slow - 0.01, temp_c, totals, gas)
    )
    assert fast == pytest.approx(slow, abs=1e-9 + rounding)


@pytest.mark.parametrize("acid", ["phosphoric", "lactic", "hydrochloric", "citric", "sulfuric"])
@pytest.mark.parametrize("alkalinity, before, after", [(30.0, 7.2, 6.1), (260.0, 7.9, 5.4)])
def test_alkalinity_from_a_dose(acid, alkalinity, before, after):
    acid = find_acid(acid)
    strength = STRENGTH[acid.name]
    dose = dose_volume(alkalinity, before, after, 100.0, acid, strength)

    def excess(alkalinity):
        return dose_volume(alkalinity, before, after, 100.0, acid, strength) - dose

    slow = brentq(excess, 1.0, 1900.0, xtol=1e-12)
    fast = alkalinity_from_dose(before, after, dose, 100.0, acid, strength)
    assert fast == pytest.approx(slow, rel=1e-9)


@pytest.mark.parametrize("solid", ["hydroxyapatite", "brushite", "octacalcium phosphate"])
@pytest.mark.parametrize("ph, phosphate, temp_c", [(5.6, 150.0, 20.0), (6.4, 40.0, 77.0)])
def test_calcium_that_stays_is_at_saturation(solid, ph, phosphate, temp_c):
    """Alone in sodium chloride, with a chloride for each charge of the calcium."""
    solid, salt = find_solid(solid), constant("background_salt")
    po4 = per_kg(phosphate, constant("molar_mass_phosphate"))

    def index(log_calcium):
        ca = 10.0**log_calcium
        anions = {"SO4": 0.0, "Cl": salt + 2.0 * ca, "PO4": po4}
        return index_in(solve_at_ph(ph, temp_c, Totals(ca, 0.0, salt, anions, 0.0)), solid)

    slow = per_litre(10.0 ** brentq(index, -9.0, -1.0, xtol=1e-13), constant("molar_mass_calcium"))
    assert calcium_solubility(ph, phosphate, solid, temp_c) == pytest.approx(slow, rel=1e-9)


@settings(deadline=None, max_examples=25)
@given(st.floats(1.2, 12.8), temperatures, st.floats(1e-4, 5e-3), acids)
def test_the_ph_of_any_water_is_found_again(ph, temp_c, total, acid):
    """From pH 1 to 13: a water whose chloride closes the balance at a pH has that pH."""
    water = source_water(150.0, 7.5, None, 20.0)
    totals = water.totals.with_anion(acid.family, total)._replace(strong=0.05)
    solved = solve_at_ph(ph, temp_c, totals, free="Cl")
    if not solved.mu < 0.5:
        return
    found = solve_for_ph(temp_c, solved.totals)
    assert found == pytest.approx(ph, abs=1e-7)


def test_a_column_has_the_digits_of_its_rows():
    acid, draw = find_acid("phosphoric"), np.random.default_rng(5)
    alkalinity, ph = draw.uniform(20.0, 350.0, 200), draw.uniform(6.8, 8.3, 200)
    dose, temp_c = draw.uniform(1.0, 20.0, 200), draw.uniform(0.0, 100.0, 200)
    column = ph_after(alkalinity, ph, dose, 100.0, acid, 85.0, None, temp_c)
    for i in range(200):
        one = tuple(float(a[i]) for a in (alkalinity, ph, dose))
        alone = ph_after(*one, 100.0, acid, 85.0, None, float(temp_c[i]))
        assert column[i] == pytest.approx(alone, rel=1e-12)


def test_searches_over_a_column_have_the_digits_of_their_rows():
    """One row without an answer among them leaves the others as they are."""
    acid, draw, count = find_acid("phosphoric"), np.random.default_rng(6), 120
    before, after = draw.uniform(6.8, 8.3, count), draw.uniform(4.8, 6.5, count)
    alkalinity, temp_c = draw.uniform(20.0, 350.0, count), draw.uniform(0.0, 100.0, count)
    calcium = draw.uniform(1.0, 200.0, count)
    dose = dose_volume(alkalinity, before, after, 100.0, acid, 85.0, None, temp_c)
    dose[7] = 1e5
    solid = find_solid("octacalcium phosphate")

    def answers(before, after, dose, alkalinity, temp_c, calcium):
        rest = 100.0, acid, 85.0, None, temp_c
        yield lambda: alkalinity_from_dose(before, after, dose, *rest)
        yield lambda: top_up_volume(before, after, after - 0.3, dose, *rest)
        yield lambda: calcium_safe_ph(alkalinity, before, calcium, acid, solid, 20.0, temp_c)
        yield lambda: calcium_solubility(after, alkalinity, solid, temp_c)

    given = before, after, dose, alkalinity, temp_c, calcium
    columns = [answer() for answer in answers(*given)]
    for i in range(count):
        for column, alone in zip(columns, answers(*(float(one[i]) for one in given))):
            if i == 7 and np.isnan(column[i]):
                with pytest.raises(DomainError):
                    alone()
            else:
                whole = dose[i] if column is columns[1] else 0.0  # a difference of two doses
                assert column[i] == pytest.approx(alone(), rel=1e-12, abs=1e-12 * whole)


@pytest.mark.parametrize("ph", np.linspace(6.5, 8.5, 21).tolist())
def test_no_acid_that_moves_the_ph_is_explained_by_no_alkalinity(ph):
    acid = find_acid("hydrochloric")
    with pytest.raises(DomainError):
        alkalinity_from_dose(ph, 4.93, 0.0, 1000.0, acid, None, None, 52.0)
    column = alkalinity_from_dose(
        np.array([ph, 7.5]), 4.93, np.array([0.0, 200.0]), 1000.0, acid, None, None, 52.0
    )
    assert np.isnan(column[0]) and column[1] > 0.0


def test_moles_and_density_belong_together():
    """The slow path above rests on this: a litre at 20 °C holds the density of water in kg."""
    acid = find_acid("phosphoric")
    water = source_water(100.0, 7.5, None, 20.0)
    added = dosed_totals(water, 10.0, 100.0, acid, 85.0).anions["PO4"]
    assert added * 100.0 * report_density() == pytest.approx(moles_of_volume(10.0, acid, 85.0))
