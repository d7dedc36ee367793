"""Gravity and extract against published tables and a handbook's balance."""

import pytest
from molmass import Formula

from chemcore import gravity, runoff


@pytest.mark.parametrize(
    "plato, sg",
    [
        (0.1, 1.00039),
        (3.8, 1.01490),
        (4.0, 1.01569),
        (4.1, 1.01609),
        (7.6, 1.03017),
        (7.9, 1.03139),
        (8.4, 1.03344),
        (8.5, 1.03385),
        (8.8, 1.03508),
        (8.9, 1.03549),
    ],
)
def test_points_of_nbs_circular_c440(plato, sg):
    # sucrose in mass % against apparent specific gravity 20/20 °C, five decimals (USDA inspectors'
    # reprint)
    assert gravity.plato(sg) == pytest.approx(plato, abs=5e-3)
    assert gravity.specific_gravity(plato) == pytest.approx(sg, abs=2e-5)


@pytest.mark.parametrize(
    "plato, sg",
    [(5.0, 1.01966), (10.0, 1.04003), (12.0, 1.04838), (16.0, 1.06541), (20.0, 1.08291)],
)
def test_points_of_the_brewers_extract_table(plato, sg):
    # Plato's table as brewers print it (from memory; its last digit at 20 °P is 0.00006 below C440)
    assert gravity.specific_gravity(plato) == pytest.approx(sg, abs=7e-5)


@pytest.mark.parametrize("sg", [1.01, 1.03, 1.05, 1.07, 1.09])
def test_agrees_with_the_asbc_polynomial(sg):
    # ASBC: P = 135.997 S^3 - 630.272 S^2 + 1111.14 S - 616.868
    assert gravity.plato(sg) == pytest.approx(
        135.997 * sg**3 - 630.272 * sg**2 + 1111.14 * sg - 616.868, abs=3e-3
    )


def test_evaporation_balance_of_a_handbook():
    # Berk, Food Process Engineering and Technology, example 21.1: 5400 kg/h of 15 °Bx juice to 40
    # °Bx evaporates 3375 kg/h
    litres = 5400.0 / (gravity.specific_gravity(15.0) * 0.998207)
    minutes = gravity.boil_minutes(litres, 15.0, 40.0, 3375.0 / 0.998207)
    assert minutes == pytest.approx(60.0, rel=1e-4)


def test_dextrose_balance_from_first_principles():
    # no handbook example found: 100 kg of 10 °P wort holds 10 kg extract; d kg of monohydrate with
    # share x give (10 + x d)/(100 + d) = 0.12
    share = Formula("C6H12O6").mass / Formula("C6H12O6H2O").mass
    kg = (12.0 - 10.0) / (share - 0.12)
    litres = 100.0 / (gravity.specific_gravity(10.0) * 0.998207)
    assert gravity.dextrose_mass(litres, 10.0, 12.0) == pytest.approx(kg, rel=1e-4)


def test_top_up_balance_from_first_principles():
    # 100 kg of 12 °P and 20 kg of water are 120 kg of 10 °P
    litres = 100.0 / (gravity.specific_gravity(12.0) * 0.998207)
    assert gravity.plato_after_top_up(litres, 12.0, 20.0 / 0.998207) == pytest.approx(
        10.0, rel=1e-5
    )


@pytest.mark.parametrize(
    "max_ph, min_plato, litres, reason",
    [
        (6.0, 2.0, 500.0, "gravity fell to 2 °P at 500 L"),
        (5.7, 2.5, 400.0, "pH rose to 5.7 at 400 L"),
        (5.5, 3.0, 200.0 + 200.0 * 0.15 / 0.35, "pH rose to 5.5 at 285.7 L"),
    ],
)
def test_limits_of_common_practice(max_ph, min_plato, litres, reason):
    # 6.0 with 2, 5.7 with 2.5, 5.5 with 3: common practice, no source; readings invented, crossings
    # by hand
    run_off, phs, platos = (
        (0.0, 200.0, 400.0, 600.0),
        (5.30, 5.35, 5.70, 6.20),
        (16.0, 9.0, 2.8, 1.2),
    )
    found = runoff.cutoff(run_off, phs, platos, max_ph, min_plato)
    assert found.litres == pytest.approx(litres, rel=1e-12)
    assert found.reason == reason
