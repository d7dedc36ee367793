"""Gas lost, from readings: its interval holds the truth, and what no loss explains is refused."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chemcore import dosing, gas
from chemcore.acids import find_acid
from chemcore.errors import DomainError
from chemcore.water import Ions

ACID = find_acid("phosphoric")
IONS = Ions(72.0, 9.0, 18.0, 31.0, 48.0)
WATER, LITRES = (168.0, 7.5), 1122.0
DOSE = dosing.dose_volume(*WATER, 5.7, LITRES, ACID, 75.0, IONS)


def _reading(share, alkalinity=168.0, ph=7.5):
    return dosing.ph_after(alkalinity, ph, DOSE, LITRES, ACID, 75.0, IONS, 20.0, share)


@given(
    share=st.floats(0.0, 1.0),
    alkalinity=st.floats(20.0, 400.0),
    ph=st.floats(6.8, 8.2),
    target=st.floats(4.8, 6.4),
    acid=st.sampled_from(["phosphoric", "lactic", "sulfuric", "citric"]),
    temp_c=st.floats(5.0, 80.0),
)
@settings(max_examples=60, deadline=None)
def test_a_share_is_found_again_from_its_reading(share, alkalinity, ph, target, acid, temp_c):
    acid = find_acid(acid)
    strength = 50.0
    dose = dosing.dose_volume(alkalinity, ph, target, 1000.0, acid, strength, None, temp_c)
    read = dosing.ph_after(alkalinity, ph, dose, 1000.0, acid, strength, None, temp_c, share)
    arguments = (dose, 1000.0, acid, strength, None, temp_c)
    one = gas.co2_lost_from_reading(alkalinity, ph, dose, read, *arguments[1:])
    two = gas.co2_lost_from_two_readings(ph, target, read, *arguments)
    assert one == pytest.approx(share, abs=1e-6)
    assert two == pytest.approx(share, abs=1e-5)


@pytest.mark.parametrize("share", [0.3, 0.6])
def test_interval_covers_the_truth(share):
    """The water and the gas are what they are; what is measured scatters as stated."""
    rng, runs = np.random.default_rng(3), 2000
    by_alkalinity, by_ph, by_strength, by_volume = errors = (2.0, 0.03, 0.5, 1.0)

    def measured(value, error):
        return value + error * rng.normal(0.0, 1.0, runs)

    found = gas.co2_lost_interval(
        measured(168.0, by_alkalinity),
        measured(7.5, by_ph),
        np.full(runs, DOSE),
        measured(_reading(share), by_ph),
        measured(LITRES, LITRES * by_volume / 100.0),
        ACID,
        measured(75.0, by_strength),
        *errors,
        IONS,
    )
    held = np.mean((found.low <= share) & (share <= found.high))
    assert 0.93 <= held <= 0.97


@pytest.mark.parametrize("share", [0.3, 0.6])
def test_interval_of_two_readings_covers_the_truth(share):
    rng, runs = np.random.default_rng(4), 2000
    by_ph, by_strength, by_volume = errors = (0.03, 0.5, 1.0)

    def measured(value, error):
        return value + error * rng.normal(0.0, 1.0, runs)

    found = gas.co2_lost_from_two_interval(
        measured(7.5, by_ph),
        measured(5.7, by_ph),
        measured(_reading(share), by_ph),
        np.full(runs, DOSE),
        measured(LITRES, LITRES * by_volume / 100.0),
        ACID,
        measured(75.0, by_strength),
        *errors,
        IONS,
    )
    held = np.mean((found.low <= share) & (share <= found.high))
    assert 0.93 <= held <= 0.97


@pytest.mark.parametrize("by, share", [(-0.08, 0.0), (0.08, 1.0)])
def test_a_reading_within_the_meters_limit_of_an_end_counts_as_that_end(by, share):
    read = _reading(share) + by
    assert gas.co2_lost_from_reading(*WATER, DOSE, read, LITRES, ACID, 75.0, IONS) == share


@pytest.mark.parametrize(
    "read, words",
    [(5.5, "lower than this dose"), (6.9, "higher than this dose"), (10.5, "no more carbon")],
)
def test_readings_that_gas_does_not_explain_are_refused(read, words):
    with pytest.raises(DomainError) as refused:
        gas.co2_lost_from_reading(*WATER, DOSE, read, LITRES, ACID, 75.0, IONS)
    assert refused.value.argument == "ph_read"
    assert words in refused.value.reason


def test_two_readings_name_their_own_arguments():
    with pytest.raises(DomainError) as refused:
        gas.co2_lost_from_two_readings(7.5, 7.6, 7.7, DOSE, LITRES, ACID, 75.0, IONS)
    assert refused.value.argument == "ph_mixed"
    with pytest.raises(DomainError) as refused:
        gas.co2_lost_from_two_readings(7.5, 5.7, 5.4, DOSE, LITRES, ACID, 75.0, IONS)
    assert refused.value.argument == "ph_later"


def test_one_reading_takes_alkalinity_for_gas_and_two_do_not():
    """A report 10 mg/L too low, nothing lost: one reading sees gas, two see the alkalinity."""
    read = _reading(0.0, alkalinity=178.0)
    one = gas.co2_lost_from_reading(*WATER, DOSE, read, LITRES, ACID, 75.0, IONS)
    two = gas.co2_lost_from_two_readings(7.5, read, read, DOSE, LITRES, ACID, 75.0, IONS)
    assert one > 0.15
    assert two == pytest.approx(0.0, abs=1e-6)


def test_a_column_is_its_rows_and_a_bad_row_is_nan():
    reads = np.array([5.7, 5.85, 5.0, 6.5])
    column = gas.co2_lost_from_reading(*WATER, DOSE, reads, LITRES, ACID, 75.0, IONS)
    for read, share in zip(reads, column):
        if read == 5.0:
            assert share != share
        else:
            assert share == pytest.approx(
                gas.co2_lost_from_reading(*WATER, DOSE, float(read), LITRES, ACID, 75.0, IONS)
            )
