"""Intervals of a dose hold the truth as often as they say, and behave at their ends."""

import numpy as np
import pytest

from chemcore import dosing, uncertainty
from chemcore.acids import find_acid
from chemcore.errors import DomainError


@pytest.mark.parametrize(
    "alkalinity, ph, target, acid, strength, errors, co2_lost",
    [
        (150.0, 7.6, 5.7, "phosphoric", 85.0, (5.0, 0.05, 0.5, 1.0), 0.0),
        (60.0, 7.2, 6.0, "lactic", 80.0, (10.0, 0.10, 1.0, 3.0), 0.0),
        (250.0, 7.8, 5.3, "sulfuric", 93.0, (15.0, 0.05, 2.0, 2.0), 0.0),
        (100.0, 7.4, 6.4, "hydrochloric", 31.0, (5.0, 0.15, 1.0, 2.0), 0.0),
        (150.0, 7.6, 5.7, "phosphoric", 75.0, (0.0, 0.10, 0.0, 0.0), 0.5),
        (30.0, 7.2, 5.7, "phosphoric", 75.0, (10.0, 0.05, 1.0, 2.0), 0.0),
    ],
)
def test_interval_covers_the_truth(alkalinity, ph, target, acid, strength, errors, co2_lost):
    # the water is what it is; what is measured of it scatters, and so does the meter at the target
    acid, rng, runs = find_acid(acid), np.random.default_rng(7), 2000
    by_alkalinity, by_ph, by_strength, by_volume = errors

    def measured(value, error):
        return value + error * rng.normal(0.0, 1.0, runs)

    found = uncertainty.dose_interval(
        abs(measured(alkalinity, by_alkalinity)),
        measured(ph, by_ph),
        np.full(runs, target),
        measured(1500.0, 15.0 * by_volume),
        acid,
        measured(strength, by_strength),
        *errors,
        None,
        20.0,
        co2_lost,
    )
    every = np.full(runs, 1.0)
    needed = dosing.dose_volume(
        alkalinity * every,
        ph * every,
        measured(target, by_ph),
        1500.0 * every,
        acid,
        strength,
        None,
        20.0,
        co2_lost,
    )
    held = np.mean((found.low <= needed) & (needed <= found.high))
    assert 0.93 <= held <= 0.97


def test_one_error_is_the_model_at_its_limits():
    acid = find_acid("lactic")
    found = uncertainty.dose_interval(150.0, 7.6, 5.7, 1000.0, acid, 88.0, 10.0, 0.0, 0.0, 0.0)
    for end, sign in ((found.low, -1.0), (found.high, 1.0)):
        moved = dosing.dose_volume(
            150.0 + sign * uncertainty.Z95 * 10.0, 7.6, 5.7, 1000.0, acid, 88.0
        )
        assert end == pytest.approx(moved, rel=1e-12)


def test_no_errors_leave_the_dose():
    acid = find_acid("phosphoric")
    found = uncertainty.dose_interval(150.0, 7.6, 5.7, 1000.0, acid, 85.0, 0.0, 0.0, 0.0, 0.0)
    assert found.low == found.high == dosing.dose_volume(150.0, 7.6, 5.7, 1000.0, acid, 85.0)


def test_ends_outside_the_model_are_mirrored_and_never_negative():
    # an alkalinity of 3 ± 5 at pH 8.2 has no lower limit in the model; a strength of 90 % none
    # above
    acid = find_acid("phosphoric")
    found = uncertainty.dose_interval(3.0, 8.2, 5.7, 1000.0, acid, 90.0, 5.0, 0.05, 0.5, 1.0)
    assert 0.0 <= found.low < dosing.dose_volume(3.0, 8.2, 5.7, 1000.0, acid, 90.0) < found.high


def test_column_is_its_rows():
    acid = find_acid("phosphoric")
    alkalinities = np.array([20.0, 150.0, 300.0])
    column = uncertainty.dose_interval(alkalinities, 7.6, 5.7, 1000.0, acid)
    for i, alkalinity in enumerate(alkalinities):
        row = uncertainty.dose_interval(float(alkalinity), 7.6, 5.7, 1000.0, acid)
        assert (column.low[i], column.high[i]) == pytest.approx(row, rel=1e-10)


def test_what_has_no_dose_has_no_interval():
    with pytest.raises(DomainError) as refused:
        uncertainty.dose_interval(150.0, 7.6, 7.9, 1000.0, find_acid("lactic"))
    assert refused.value.argument == "target_ph"


@pytest.mark.parametrize("least, most", [(0.0, 0.3), (0.1, 0.5), (0.0, 1.0), (0.5, 0.5)])
@pytest.mark.parametrize("errors", [(5.0, 0.05, 0.5, 1.0), (1.0, 0.01, 0.1, 0.2)])
def test_interval_covers_the_truth_with_gas_and_constants_among_the_errors(least, most, errors):
    """The share lost drawn evenly from its range, the constants off by half a per cent of the
    dose.
    """
    acid, rng, runs = find_acid("phosphoric"), np.random.default_rng(9), 4000
    by_alkalinity, by_ph, by_strength, by_volume = errors
    every = np.full(runs, 1.0)

    def measured(value, error):
        return value + error * rng.normal(0.0, 1.0, runs)

    found = uncertainty.dose_interval(
        measured(168.0, by_alkalinity),
        measured(7.5, by_ph),
        5.7 * every,
        measured(1122.0, 11.22 * by_volume),
        acid,
        measured(75.0, by_strength),
        *errors,
        None,
        20.0,
        0.0,
        least * every,
        most * every,
        0.5,
    )
    needed = measured(1.0, 0.005) * dosing.dose_volume(
        168.0 * every,
        7.5 * every,
        measured(5.7, by_ph),
        1122.0 * every,
        acid,
        75.0,
        None,
        20.0,
        rng.uniform(least, most, runs),
    )
    assert 0.93 <= np.mean((found.low <= needed) & (needed <= found.high)) <= 0.97


def test_a_range_of_gas_without_other_errors_is_its_inner_95_per_cent():
    acid = find_acid("phosphoric")
    none = (0.0, 0.0, 0.0, 0.0, None, 20.0)
    found = uncertainty.dose_interval(150.0, 7.6, 5.7, 1000.0, acid, 85.0, *none, 0.0, 0.0, 1.0)
    closed, vented = (
        dosing.dose_volume(150.0, 7.6, 5.7, 1000.0, acid, 85.0, None, 20.0, lost)
        for lost in (0.0, 1.0)
    )
    assert found.low == pytest.approx(closed + 0.025 * (vented - closed), rel=1e-6)
    assert found.high == pytest.approx(vented - 0.025 * (vented - closed), rel=1e-6)


def test_equal_ends_of_a_range_are_that_share():
    acid = find_acid("phosphoric")
    plain = uncertainty.dose_interval(
        150.0, 7.6, 5.7, 1000.0, acid, 85.0, None, None, None, None, None, 20.0, 0.4
    )
    ranged = uncertainty.dose_interval(
        150.0, 7.6, 5.7, 1000.0, acid, 85.0, None, None, None, None, None, 20.0, 0.0, 0.4, 0.4
    )
    assert ranged == pytest.approx(plain, rel=1e-12)


def test_a_range_of_gas_the_wrong_way_round_is_refused():
    with pytest.raises(DomainError) as refused:
        uncertainty.dose_interval(
            150.0, 7.6, 5.7, 1000.0, find_acid("lactic"), co2_lost_from=0.5, co2_lost_to=0.2
        )
    assert refused.value.argument == "co2_lost_to"
