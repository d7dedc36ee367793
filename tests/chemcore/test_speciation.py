"""The written-out equations against a plain loop over the species table, and the solver's behaviour
at the ends.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from chemcore import speciation
from chemcore.carbonate import carbon_dioxide_of_air
from chemcore.equations import equations
from chemcore.numeric import FLOAT
from chemcore.speciation import (
    Totals,
    Venting,
    molalities,
    solve_at_ph,
    solve_for_ph,
    strong_charge,
)
from chemcore.species import METAL_CHARGE, METALS, all_species, constants_at, log_gamma
from chemcore.water import Ions, source_water

ANIONS = {
    "CO3": 3e-3,
    "SO4": 1e-3,
    "Cl": 2e-3,
    "PO4": 1.5e-3,
    "Lactate": 5e-4,
    "Citrate": 4e-4,
    "Acetate": 6e-4,
    "Malate": 3e-4,
}
WATER = Totals(1.5e-3, 8e-4, 1.2e-3, ANIONS, 4e-3)


@pytest.fixture(params=[(4.0, 5.0), (5.7, 20.0), (7.5, 25.0), (9.5, 77.0), (11.0, 100.0)])
def solution(request):
    ph, temp_c = request.param
    return solve_at_ph(ph, temp_c, WATER)


def test_totals_by_the_plain_loop(solution):
    found = molalities(solution)
    for metal, total in zip(METALS, (WATER.ca, WATER.mg, WATER.na)):
        assert sum(found[s.name] for s in all_species() if s.metal == metal) == pytest.approx(
            total, rel=1e-11
        )
    for family, total in ANIONS.items():
        assert sum(found[s.name] for s in all_species() if s.family == family) == pytest.approx(
            total, rel=1e-11
        )


def test_ionic_strength_by_the_plain_loop(solution):
    found = molalities(solution)
    assert 0.5 * sum(s.charge**2 * found[s.name] for s in all_species()) == pytest.approx(
        solution.mu, rel=1e-11
    )


def test_charge_left_over_by_the_plain_loop(solution):
    """``charge`` is the charge of all species, less that of the metals, plus ``strong`` in their
    place.
    """
    found = molalities(solution)
    metals = sum(METAL_CHARGE[m] * t for m, t in zip(METALS, (WATER.ca, WATER.mg, WATER.na)))
    total = sum(s.charge * found[s.name] for s in all_species())
    assert total - metals + WATER.strong == pytest.approx(solution.charge, abs=1e-14)


def test_activities_are_molalities_times_coefficients(solution):
    found = molalities(solution)
    for name, activity in (("Ca+2", solution.ca), ("PO4-3", solution.activity["PO4"])):
        species = next(s for s in all_species() if s.name == name)
        gamma = 10.0 ** log_gamma(
            species, solution.mu, solution.constants.slope_a, solution.constants.slope_b, FLOAT
        )
        assert found[name] * gamma == pytest.approx(activity, rel=1e-12)


@pytest.mark.parametrize(
    "free", ["CO3", "PO4", "Cl", "SO4", "Lactate", "Citrate", "Acetate", "Malate"]
)
def test_free_family_closes_the_balance(free):
    anions = {family: total for family, total in ANIONS.items() if family != free}
    water = WATER._replace(anions=anions, strong=6e-3)
    solved = solve_at_ph(5.5, 20.0, water, free=free)
    again = solve_at_ph(5.5, 20.0, solved.totals)
    assert again.charge == pytest.approx(0.0, abs=1e-13)
    assert again.mu == pytest.approx(solved.mu, rel=1e-11)


@pytest.mark.parametrize("temp_c", [0.0, 20.0, 100.0])
def test_ph_of_known_totals_undoes_the_balance(temp_c):
    for ph in (4.5, 6.0, 8.0):
        solved = solve_at_ph(ph, temp_c, WATER._replace(strong=8e-3), free="Cl")
        assert solve_for_ph(temp_c, solved.totals) == pytest.approx(ph, abs=1e-9)


def test_ph_outside_1_to_13_is_nan():
    assert math.isnan(solve_for_ph(20.0, Totals(0.0, 0.0, 0.0, {"Cl": 0.5}, 0.0)))


def test_venting_leaves_the_share_of_the_excess():
    air = carbon_dioxide_of_air(20.0)
    total = {"CO3": 3e-3}
    closed = molalities(solve_at_ph(6.0, 20.0, WATER._replace(anions=total)))["CO2"]
    for lost in (0.0, 0.3, 1.0):
        vented = molalities(
            solve_at_ph(6.0, 20.0, WATER._replace(anions=total), venting=Venting(air, lost))
        )["CO2"]
        # the pairs shift a little as carbonate leaves, the share is of the carbonate at this pH
        assert vented == pytest.approx(closed - lost * (closed - air), rel=2e-3)


def test_venting_takes_nothing_from_a_water_below_the_air():
    poor = WATER._replace(anions={"CO3": 1e-6})
    vented = solve_at_ph(7.0, 20.0, poor, venting=Venting(carbon_dioxide_of_air(20.0), 1.0))
    assert vented.charge == pytest.approx(solve_at_ph(7.0, 20.0, poor).charge, rel=1e-13)


def test_start_changes_speed_only():
    first = solve_at_ph(7.5, 20.0, WATER)
    cold = solve_at_ph(5.0, 20.0, WATER)
    warm = solve_at_ph(5.0, 20.0, WATER, start=first)
    assert warm.mu == pytest.approx(cold.mu, rel=1e-13)
    assert warm.charge == pytest.approx(cold.charge, rel=1e-12)


def test_column_of_waters_equals_single_waters():
    ph = np.linspace(3.0, 12.0, 19)
    column = solve_at_ph(ph, 40.0, WATER)
    for i, one_ph in enumerate(ph):
        one = solve_at_ph(float(one_ph), 40.0, WATER)
        assert column.mu[i] == pytest.approx(one.mu, rel=1e-12)
        assert column.charge[i] == pytest.approx(one.charge, rel=1e-11, abs=1e-15)


@pytest.mark.parametrize("ph, temp_c", [(13.0, 0.0), (13.0, 100.0), (1.0, 20.0), (12.0, 60.0)])
@pytest.mark.parametrize("scale", [0.01, 1.0, 20.0])
def test_strong_pairs_settle(ph, temp_c, scale):
    """Where nearly all calcium is paired, plain substitution would take hundreds of passes."""
    water = Totals(
        scale * WATER.ca,
        scale * WATER.mg,
        scale * WATER.na,
        {family: scale * total for family, total in ANIONS.items()},
        scale * WATER.strong,
    )
    solved = solve_at_ph(ph, temp_c, water)
    found = molalities(solved)
    assert sum(found[s.name] for s in all_species() if s.metal == "Ca") == pytest.approx(
        water.ca, rel=1e-10
    )


def test_what_does_not_settle_is_nan(monkeypatch):
    monkeypatch.setattr(speciation, "PASSES", 3)
    assert math.isnan(solve_at_ph(9.0, 20.0, WATER).mu)
    assert math.isnan(solve_at_ph(9.0, 20.0, WATER).charge)
    assert np.isnan(solve_at_ph(np.array([9.0, 5.0]), 20.0, WATER).charge).all()


@pytest.mark.parametrize("ph", [6.5, 7.0, 8.0])
def test_deionised_water(ph):
    """No alkalinity on the report, and any pH that a trace of carbon dioxide or of rounding
    explains.
    """
    pure = source_water(0.0, ph, Ions(0.0, 0.0, 0.0, 0.0, 0.0), 25.0)
    assert pure.totals.anions["CO3"] >= 0.0
    assert solve_for_ph(25.0, pure.totals) == pytest.approx(ph, abs=1e-3)


def test_strong_charge_counts_the_end_point_forms():
    """At the end point phosphate stands as H2PO4-, citrate as H2 citrate 1-... each with its own
    charge.
    """
    assert strong_charge(2e-3, {"CO3": 5e-3}) == 2e-3
    assert strong_charge(2e-3, {"SO4": 1e-3, "Cl": 1e-3, "PO4": 1e-3}) == pytest.approx(6e-3)


def test_equations_are_made_once():
    assert equations(("CO3", "Cl"), "CO3") is equations(("CO3", "Cl"), "CO3")


def test_constants_of_a_column_equal_those_of_its_temperatures():
    temps = np.array([0.0, 20.0, 77.0, 100.0])
    column = constants_at(temps)
    for i, temp in enumerate(temps):
        one = constants_at(float(temp))
        assert column.slope_a[i] == pytest.approx(one.slope_a, rel=1e-14)
        for name, value in one.log_k.items():
            assert np.broadcast_to(column.log_k[name], temps.shape)[i] == pytest.approx(
                value, rel=1e-13
            )
