"""Runnings, kettle, past batches and purchasing: properties, and what they refuse."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import linregress

from chemcore import cost, dosing, gravity, learning, runoff
from chemcore.acids import equivalents_per_litre, find_acid
from chemcore.errors import DomainError
from chemcore.uncertainty import Z95
from chemcore.units import report_density

NAN = math.nan
reading = st.one_of(st.just(NAN), st.floats(4.5, 7.0))


@given(
    st.lists(
        st.tuples(st.floats(0.1, 500.0), reading, st.one_of(st.just(NAN), st.floats(0.0, 20.0))),
        min_size=1,
        max_size=15,
    ),
    st.floats(5.0, 6.5),
    st.floats(0.0, 5.0),
)
def test_cutoff_never_exceeds_the_last_reading(rows, max_ph, min_plato):
    steps, phs, platos = zip(*rows)
    litres = np.cumsum(steps)
    read = [i for i in range(len(rows)) if not (math.isnan(phs[i]) and math.isnan(platos[i]))]
    if not read:
        with pytest.raises(DomainError):
            runoff.cutoff(litres, phs, platos, max_ph, min_plato)
        return
    found = runoff.cutoff(litres, phs, platos, max_ph, min_plato)
    assert litres[read[0]] <= found.litres <= litres[read[-1]]
    reached = any(ph >= max_ph for ph in phs) or any(plato <= min_plato for plato in platos)
    assert found.reason.startswith("no limit") != reached


def test_cutoff_reads_across_missed_readings():
    found = runoff.cutoff(
        (100.0, 200.0, 300.0, 400.0), (5.4, NAN, NAN, 5.7), (8.0, 6.0, NAN, 4.0), 5.6, 2.0
    )
    assert found == (pytest.approx(300.0), "pH rose to 5.6 at 300 L")
    both = runoff.cutoff((100.0, 200.0), (5.0, 6.0), (4.0, 2.0), 5.5, 3.0)
    assert both == (150.0, "pH rose to 5.5 and gravity fell to 3 °P at 150 L")
    first = runoff.cutoff((100.0, 200.0), (5.8, 5.2), (9.0, 8.0), 5.7, 2.0)
    assert first.litres == 100.0


def test_runnings_past_a_limit_from_the_start_are_said_to_be():
    found = runoff.cutoff((0.0, 200.0), (6.2, 6.3), (1.0, 0.5), 6.0, 2.0)
    assert found == (0.0, "pH was already 6 or higher and gravity was already 2 °P or lower at 0 L")


@pytest.mark.parametrize(
    "litres, phs, platos, argument",
    [
        ((1.0, 2.0), (5.0,), (9.0, 8.0), "phs"),
        ((1.0, 2.0), (5.0, 5.1), (9.0,), "platos"),
        ((1.0, NAN), (5.0, 5.1), (9.0, 8.0), "litres"),
        ((2.0, 2.0), (5.0, 5.1), (9.0, 8.0), "litres"),
        ((1.0, 2.0), (NAN, NAN), (NAN, NAN), "phs"),
    ],
)
def test_runnings_that_cannot_be_are_refused(litres, phs, platos, argument):
    with pytest.raises(DomainError) as refused:
        runoff.cutoff(litres, phs, platos, 5.7, 2.5)
    assert refused.value.argument == argument


@given(st.floats(0.0, 39.0))
def test_gravity_goes_round(plato):
    assert gravity.plato(gravity.specific_gravity(plato)) == pytest.approx(plato, abs=1e-9)


@given(st.floats(10.0, 5000.0), st.floats(1.0, 25.0), st.floats(0.0, 500.0), st.floats(5.0, 500.0))
def test_top_up_then_boil_returns_the_gravity(litres, plato, added, evaporation):
    thin = gravity.plato_after_top_up(litres, plato, added)
    mass = gravity.wort_mass(litres, plato) + added * report_density()
    volume = litres * mass / gravity.wort_mass(litres, thin)
    assert volume == pytest.approx(litres + added, rel=2e-3)
    minutes = gravity.boil_minutes(volume, thin, plato, evaporation)
    assert minutes == pytest.approx(60.0 * added / evaporation, rel=1e-6, abs=1e-6)
    assert gravity.plato_after_boil(volume, thin, minutes, evaporation) == pytest.approx(
        plato, rel=1e-9
    )
    assert gravity.litres_after_boil(volume, thin, minutes, evaporation) == pytest.approx(
        litres, rel=1e-9
    )


@given(st.floats(10.0, 5000.0), st.floats(0.0, 20.0), st.floats(0.0, 15.0))
def test_dextrose_balances_the_extract(litres, plato, more):
    kg = gravity.dextrose_mass(litres, plato, plato + more)
    mass = gravity.wort_mass(litres, plato)
    extract = mass * plato / 100.0 + kg * gravity.dextrose_extract() / 100.0
    assert 100.0 * extract / (mass + kg) == pytest.approx(plato + more, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    "call, argument",
    [
        (lambda: gravity.top_up(1000.0, 900.0), "target_litres"),
        (lambda: gravity.boil_minutes(1000.0, 12.0, 10.0, 80.0), "target_plato"),
        (lambda: gravity.boil_minutes(1000.0, 0.0, 10.0, 80.0), "plato"),
        (lambda: gravity.plato_after_boil(1000.0, 12.0, 6000.0, 80.0), "minutes"),
        (lambda: gravity.dextrose_mass(1000.0, 12.0, 10.0), "target_plato"),
        (lambda: cost.acid_needed((NAN, NAN), 5.0), "doses_ml"),
    ],
)
def test_impossible_questions_are_refused(call, argument):
    with pytest.raises(DomainError) as refused:
        call()
    assert refused.value.argument == argument


def test_past_doses_give_back_the_alkalinity_and_one_slip_does_not_move_it():
    rng = np.random.default_rng(1)
    names = [
        "phosphoric",
        "lactic",
        "phosphoric",
        "hydrochloric",
        "lactic",
        "phosphoric",
        "phosphoric",
    ]
    acids = [find_acid(name) for name in names]
    before, after = rng.uniform(7.2, 7.9, 7), rng.uniform(5.5, 6.1, 7)
    litres = rng.uniform(800.0, 1600.0, 7)
    dose = np.array(
        [
            dosing.dose_volume(143.0, float(b), float(a), float(v), acid)
            for b, a, v, acid in zip(before, after, litres, acids)
        ]
    )
    found = learning.implied_alkalinities(before, after, dose, litres, acids)
    assert found == pytest.approx(143.0, rel=1e-8)
    slip = dose * np.array([1.0, 1.0, 10.0, 1.0, 1.0, 1.0, 1.0])
    slipped = learning.implied_alkalinities(before, after, slip, litres, acids)
    assert learning.effective_alkalinity(slipped) == pytest.approx(143.0, rel=1e-8)
    assert learning.effective_alkalinity_spread(slipped) == pytest.approx(0.0, abs=1e-5)
    # one acid for all rows, rows that are not batches yet
    ph = [dosing.ph_after(143.0, 7.6, d, 1000.0, acids[0]) for d in (60.0, 70.0, 80.0)]
    found = learning.implied_alkalinities(
        (7.6,), (*ph, NAN), (60.0, 70.0, 80.0, NAN), (1000.0,), (acids[0],), (85.0,)
    )
    assert found == pytest.approx(3 * [143.0], rel=1e-8)
    assert learning.effective_alkalinity(found) == pytest.approx(143.0, rel=1e-8)


def test_spread_is_a_standard_deviation():
    rng, acid = np.random.default_rng(2), find_acid("phosphoric")
    after = np.full(400, 5.7)
    dose = dosing.dose_volume(rng.normal(150.0, 8.0, 400), 7.6, after, 1000.0, acid)
    found = learning.implied_alkalinities(
        np.full(400, 7.6), after, dose, np.full(400, 1000.0), (acid,)
    )
    assert learning.effective_alkalinity_spread(found) == pytest.approx(8.0, rel=0.15)


@pytest.mark.parametrize(
    "change, argument, words",
    [
        ({"ph_after": (5.7, 7.9, 5.8)}, "ph_after", "row 2"),
        ({"dose_ml": (80.0, 8000.0, 80.0)}, "dose_ml", "row 2"),
        ({"acid": (find_acid("lactic"), None, find_acid("lactic"))}, "acid", "row 2"),
        ({"litres": (1000.0, 1000.0)}, "litres", "2 cells"),
        ({"dose_ml": (NAN, NAN, NAN)}, "ph_after", "no row"),
    ],
)
def test_batches_that_cannot_be_are_named(change, argument, words):
    columns = {
        "ph_before": (7.6, 7.6, 7.6),
        "ph_after": (5.7, 5.7, 5.8),
        "dose_ml": (150.0, 150.0, 150.0),
        "litres": (1000.0, 1000.0, 1000.0),
        "acid": (find_acid("lactic"),),
        **change,
    }
    with pytest.raises(DomainError) as refused:
        learning.implied_alkalinities(**columns)
    assert refused.value.argument == argument
    assert words in refused.value.reason


def test_slope_interval_is_that_of_a_statistics_library():
    rng = np.random.default_rng(3)
    xs = rng.uniform(5.4, 6.2, 9)
    ys = 4.1 + 0.3 * xs + rng.normal(0.0, 0.05, 9)
    fit = linregress(xs, ys)
    low, high = learning.slope_interval((*xs, NAN, 5.5), (*ys, 4.0, NAN))
    assert 0.5 * (low + high) == pytest.approx(fit.slope, rel=1e-9)
    assert 0.5 * (high - low) == pytest.approx(
        2.364624 * fit.stderr, rel=1e-6
    )  # Student's t, 7 degrees, tables
    with pytest.raises(DomainError, match="3 or more"):
        learning.slope_interval((1.0, 2.0), (1.0, 2.0))
    with pytest.raises(DomainError, match="differ"):
        learning.slope_interval((5.7, 5.7, 5.7), (4.2, 4.3, 4.4))


def test_purchasing_by_hand():
    assert cost.acid_needed((200.0, NAN, 300.0), 10.0) == pytest.approx(550.0)
    assert cost.packs_to_buy(5000.0, 0.0, 5.0) == 1.0
    assert cost.packs_to_buy(5001.0, 0.0, 5.0) == 2.0
    assert cost.packs_to_buy(5001.0, 6000.0, 5.0) == 0.0
    assert cost.batches_left(1000.0, 250.0) == 4.0
    assert cost.batches_left(999.0, 250.0) == 3.0
    assert cost.batches_left(0.3, 0.1) == 3.0
    assert cost.cost_per_hl(250.0, 5.0, 60.0, 1500.0) == pytest.approx(0.2)
    lactic = find_acid("lactic")
    price = cost.price_per_equivalent(5.0, 60.0, lactic, 88.0, 5.7)
    assert price == pytest.approx(12.0 / equivalents_per_litre(lactic, 88.0, 5.7))
    # citric acid powder: a kilogram holds 1000/192.123 mol, of which three protons go at high pH
    assert cost.price_per_equivalent(1.0, 10.0, find_acid("citric"), 100.0, 10.0) == pytest.approx(
        10.0 / (3000.0 / 192.123), rel=1e-3
    )


def test_quantile_of_the_interval():
    assert Z95 == pytest.approx(1.959964, abs=1e-6)  # any table of the normal distribution
