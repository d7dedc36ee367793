"""Stoichiometry of the salts from their formulas, with the formula masses of PyPI molmass."""

import molmass
import pytest

from chemcore.salts import alkalinity_added, find_salt, ions_added, mass_for
from chemcore.tables import rows
from chemcore.water import Ions

#: mol of calcium, magnesium, sodium, chloride, sulfate, and equivalents of alkalinity, counted by
#: hand off the formula.
BY_HAND = {
    "CaSO4.2H2O": (1, 0, 0, 0, 1, 0),
    "CaCl2": (1, 0, 0, 2, 0, 0),
    "CaCl2.2H2O": (1, 0, 0, 2, 0, 0),
    "MgSO4.7H2O": (0, 1, 0, 0, 1, 0),
    "MgCl2.6H2O": (0, 1, 0, 2, 0, 0),
    "NaCl": (0, 0, 1, 1, 0, 0),
    "NaHCO3": (0, 0, 1, 0, 0, 1),
    "CaCO3": (1, 0, 0, 0, 0, 2),
    "Ca(OH)2": (1, 0, 0, 0, 0, 2),
}
IN_ORDER = ("Ca", "Mg", "Na", "Cl", "SO4")


def mass(formula):
    """Formula mass; molmass has no dot for crystal water, so its parts are added up."""
    total = 0.0
    for part in formula.split("."):
        count = part.removesuffix("H2O")
        total += (
            int(count) * molmass.Formula("H2O").mass
            if count.isdigit()
            else molmass.Formula(part).mass
        )
    return total


@pytest.mark.parametrize("row", rows("salts"), ids=lambda row: row["salt"])
def test_salt(row):
    salt = find_salt(row["salt"])
    formula = row["formula"]
    assert salt.molar_mass == pytest.approx(mass(formula), rel=2e-4)
    *counts, equivalents = BY_HAND[formula]
    moles = 1000.0 / mass(formula)  # of 1 g in 1 L, in mmol/L
    expected = [moles * count * mass(ion) for count, ion in zip(counts, IN_ORDER)]
    assert ions_added(salt, 1.0, 1.0, 100.0) == pytest.approx(expected, rel=3e-4)
    assert alkalinity_added(salt, 1.0, 1.0, 100.0) == pytest.approx(
        moles * equivalents * mass("CaCO3") / 2.0, rel=3e-4
    )


def test_handbook_figures():
    """Figures of the trade's tables (from memory): a g of gypsum in a L is 233 mg/L calcium and 558
    mg/L sulfate, of dihydrate 273 and 482 chloride, of Epsom salt 99 magnesium and 390 sulfate.
    """
    assert ions_added(find_salt("gypsum"), 1.0, 1.0) == pytest.approx((233, 0, 0, 0, 558), abs=0.5)
    assert ions_added(find_salt("CaCl2.2H2O"), 1.0, 1.0) == pytest.approx(
        (273, 0, 0, 482, 0), abs=0.5
    )
    assert ions_added(find_salt("Epsom salts"), 1.0, 1.0) == pytest.approx(
        (0, 99, 0, 0, 390), abs=0.5
    )


def test_a_solution_is_its_strength_of_the_anhydrous_salt():
    solution, dry = find_salt("calcium chloride solution"), find_salt("calcium chloride anhydrous")
    assert ions_added(solution, 100.0, 50.0, 35.0) == pytest.approx(ions_added(dry, 35.0, 50.0))
    assert mass_for(solution, "calcium", 50.0, 1000.0) * 0.33 == pytest.approx(
        mass_for(dry, "calcium", 50.0, 1000.0)
    )
    assert Ions(*ions_added(dry, 1.0, 1.0)).sulfate == 0.0
