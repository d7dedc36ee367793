"""Water, volumes and molar masses against a reference library, the law and atomic weights."""

from __future__ import annotations

from fractions import Fraction

import iapws
import pytest
from molmass import Formula

from chemcore.acids import acid_names, find_acid
from chemcore.activity import debye_huckel, dielectric_constant
from chemcore.numeric import FLOAT
from chemcore.tables import constant, rows
from chemcore.units import water_density
from tests.outside import phreeqc_runs
from tests.outside.record import call, near

INCH = Fraction(254, 10000)  # metres, exact (International Yard and Pound Agreement 1959)


@pytest.mark.parametrize("temp_c", [1.0, 4.0, 10.0, 20.0, 25.0, 40.0, 60.0, 77.0, 90.0, 99.0])
def test_water_density(temp_c):
    """IAPWS-95 (PyPI iapws); Kell 1975 says 0.01 kg/m3 for its own data."""
    reference = iapws.IAPWS95(T=temp_c + 273.15, P=0.101325).rho / 1000.0
    assert water_density(temp_c) == near(reference, abs=2e-5)


def test_hot_tank_holds_less_water():
    """973.637 kg/m3 at 77 °C, 998.207 at 20 °C (IAPWS-95)."""
    assert call("COLD_LITRES", 1000.0, 77.0) == near(1000.0 * 973.637 / 998.207, rel=3e-5)


@pytest.mark.parametrize(
    "unit, litres",
    [
        ("US gal", 231 * INCH**3 * 1000),  # 27 CFR 7.10: 231 cubic inches
        ("US bbl", 31 * 231 * INCH**3 * 1000),  # 27 CFR 25.11: 31 gallons
        ("imp gal", Fraction(454609, 100000)),  # UK Weights and Measures Act 1985, Schedule 1
        ("imp bbl", 36 * Fraction(454609, 100000)),  # the brewers' barrel of 36 gallons
        ("hL", Fraction(100)),
        ("m3", Fraction(1000)),
        ("mL", Fraction(1, 1000)),
        ("L", Fraction(1)),
    ],
)
def test_legal_volumes(unit, litres):
    assert call("LITRES", 1.0, unit) == near(float(litres), rel=1e-12)


@pytest.mark.parametrize("name", acid_names())
def test_molar_masses_of_acids(name):
    """PyPI molmass. Its chlorine and sulfur have more digits than IUPAC's abridged weights."""
    row = next(r for r in rows("acids") if r["acid"] == name)
    acid = find_acid(name)
    assert acid.molar_mass == near(Formula(row["formula"]).mass, rel=1e-4)
    assert acid.anion_molar_mass == near(Formula(row["anion_formula"]).mass, rel=1e-4)


@pytest.mark.parametrize(
    "name, formula",
    [
        ("calcium", "Ca"),
        ("magnesium", "Mg"),
        ("sodium", "Na"),
        ("chloride", "Cl"),
        ("sulfate", "SO4"),
        ("phosphate", "PO4"),
        ("bicarbonate", "HCO3"),
    ],
)
def test_molar_masses_of_ions(name, formula):
    assert constant(f"molar_mass_{name}") == near(Formula(formula).mass, rel=1e-4)


@pytest.mark.parametrize(
    "ion, formula, element, symbol",
    [("sulfate", "SO4", "sulfur", "S"), ("nitrate", "NO3", "nitrogen", "N")],
)
def test_what_a_report_by_the_element_is_multiplied_by(ion, formula, element, symbol):
    """PyPI molmass has 32.065 for the sulfur whose abridged weight is 32.06: the two decimals shown
    are the same.
    """
    factor = constant(f"molar_mass_{ion}") / constant(f"molar_mass_{element}")
    assert f"{factor:.2f}" == f"{Formula(formula).mass / Formula(symbol).mass:.2f}"


def test_calcium_carbonate_equivalent():
    assert constant("calcium_carbonate_equivalent") == near(Formula("CaCO3").mass / 2.0, rel=1e-5)


@pytest.mark.parametrize(
    "temp_c, dielectric", [(0.0, 87.9), (25.0, 78.4), (50.0, 69.9), (100.0, 55.6)]
)
def test_dielectric_constant_of_water(temp_c, dielectric):
    """CRC Handbook, permittivity of water (from memory): 87.9, 78.4, 69.9, 55.6."""
    assert dielectric_constant(temp_c, FLOAT) == near(dielectric, rel=0.003)


@pytest.mark.parametrize("temp_c", [0.5, 25.0, 60.0, 95.0])
def test_debye_huckel_slopes(temp_c):
    """PHREEQC's own slopes (its DH_A and DH_B)."""
    wanted = phreeqc_runs.run(
        phreeqc_runs.engine(False), f"SOLUTION 1\n temp {temp_c}", "DH_A, DH_B"
    )
    assert debye_huckel(temp_c, FLOAT) == near(wanted, rel=5e-4)
