"""The measured curve: what it refuses, and that it agrees with the model on curves that the model
made.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chemcore import dosing, titration, uncertainty
from chemcore.acids import find_acid, volume_of_moles
from chemcore.errors import DomainError

NAN = math.nan
ML = (0.0, 2.0, 4.0, 6.0, 8.0, 9.0, 10.0, 11.0, 12.0, 13.0, 14.0)
PH = (7.6, 6.95, 6.5, 6.15, 5.7, 5.3, 4.4, 3.75, 3.45, 3.3, 3.15)


def model_curve(
    alkalinity, ph, titrant, strength=None, readings=24, normality=0.02, sample_ml=100.0
):
    """mL and pH of a sample titrated with an acid, nothing lost and not diluted, well past pH 4.5
    by the model.
    """
    each = 1.0 / titration.protons_released(titrant, 4.5)
    ml = np.linspace(0.0, 1.15 * alkalinity / 50.0435 * sample_ml / normality / 1000.0, readings)
    dose = [float(volume_of_moles(v * normality / sample_ml * each, titrant, strength)) for v in ml]
    return ml, np.array(
        [ph, *(dosing.ph_after(alkalinity, ph, one, 1.0, titrant, strength) for one in dose[1:])]
    )


@settings(max_examples=25, deadline=None)
@given(
    st.floats(40.0, 350.0),
    st.floats(6.9, 8.2),
    st.floats(5.0, 6.4),
    st.sampled_from(["phosphoric", "lactic", "hydrochloric", "sulfuric", "acetic"]),
    st.sampled_from([None, "phosphoric", "lactic"]),
)
def test_curve_dose_is_model_dose_on_a_model_curve(alkalinity, ph, target, name, titrant):
    acid, titrant = find_acid(name), find_acid(titrant) if titrant else None
    ml, phs = model_curve(alkalinity, ph, titrant or find_acid("hydrochloric"))
    by_curve = titration.curve_dose(ml, phs, 100.0, 0.02, target, 1000.0, acid, None, titrant)
    assert by_curve == pytest.approx(
        dosing.dose_volume(alkalinity, ph, target, 1000.0, acid), rel=6e-3
    )


def test_titrant_that_is_the_tanks_acid_cancels_its_chemistry():
    # 1 mL made up to 1000 mL, 8 mL of it in 100 mL of sample: 0.08 mL acid a litre of sample
    acid = find_acid("phosphoric")
    normality = titration.diluted_normality(acid, 85.0, 1.0, 1000.0)
    assert titration.curve_dose(
        ML, PH, 100.0, normality, 5.7, 1000.0, acid, 85.0, acid
    ) == pytest.approx(80.0, rel=1e-9)


def test_smooth_curve_passes_through_the_readings():
    for ml, ph in zip(ML, PH):
        assert titration.ph_at_ml(ML, PH, ml) == pytest.approx(ph, abs=1e-12)
        assert titration.ml_at_ph(ML, PH, ph) == pytest.approx(ml, abs=1e-9)


def test_gran_end_point_ignores_the_meters_zero():
    plain = titration.gran_line(ML[6:], PH[6:], 100.0, 0.02)
    shifted = titration.gran_line(ML[6:], np.array(PH[6:]) + 0.04, 100.0, 0.02)
    assert shifted.readings == plain.readings
    assert shifted.end_ml == pytest.approx(plain.end_ml, rel=1e-9)


def test_missed_readings_are_left_out():
    gaps = titration.end_point_ml((*ML, 15.0, NAN), (*PH, NAN, NAN), 100.0, 0.02)
    assert gaps == titration.end_point_ml(ML, PH, 100.0, 0.02)


def test_inflection_is_the_middle_of_the_steepest_pair():
    assert titration.inflection_ml(ML, PH) == pytest.approx(9.5)
    # two pairs alike: the middle of both
    assert titration.inflection_ml(
        (0.0, 1.0, 2.0, 3.0, 4.0), (6.0, 5.5, 4.75, 4.0, 3.8)
    ) == pytest.approx(2.0)


@pytest.mark.parametrize(
    "ml, phs, argument",
    [
        (ML[:-1], PH, "phs"),
        ((0.0, 1.0), (7.0, 6.0), "phs"),
        ((NAN, *ML[1:]), PH, "ml"),
        ((0.0, 2.0, 2.0, *ML[3:]), PH, "ml"),
        (ML, (7.6, 6.95, 7.3, *PH[3:]), "phs"),
    ],
)
def test_curves_that_cannot_be_are_refused(ml, phs, argument):
    with pytest.raises(DomainError) as refused:
        titration.alkalinity(ml, phs, 100.0, 0.02)
    assert refused.value.argument == argument


def test_curves_that_end_too_early_are_refused():
    with pytest.raises(DomainError, match="go on to below pH 4"):
        titration.alkalinity(ML[:8], PH[:8], 100.0, 0.02)
    with pytest.raises(DomainError, match="titrate further"):
        titration.alkalinity(ML[:7], PH[:7], 100.0, 0.02, "inflection")
    with pytest.raises(DomainError, match="titrate further"):
        titration.alkalinity(ML[:6], PH[:6], 100.0, 0.02, "end point")
    with pytest.raises(DomainError, match="first reading"):
        titration.curve_dose(ML, PH, 100.0, 0.02, 8.0, 1000.0, find_acid("lactic"))


@pytest.mark.slow
def test_curve_dose_interval_covers_the_truth():
    # titrant and tank from one can, every input with its error: the interval holds the dose that is
    # needed in 93 to 97 %
    acid, rng = find_acid("phosphoric"), np.random.default_rng(0)
    ml, clean = model_curve(150.0, 7.6, acid)
    held, runs, error = 0, 500, 0.02
    needed = dosing.dose_volume(150.0, 7.6, 5.7 + rng.normal(0.0, error, runs), 1000.0, acid, 85.0)
    for one in needed:
        found = uncertainty.curve_dose_interval(
            ml,
            clean + rng.normal(0.0, error, len(ml)),
            100.0,
            0.02 * rng.normal(1.0, 0.01),
            5.7,
            1000.0 * rng.normal(1.0, 0.01),
            acid,
            85.0 + rng.normal(0.0, 0.5),
            acid,
            1.0,
            error,
            0.5,
            1.0,
        )
        held += found.low <= one <= found.high
    assert 0.93 <= held / runs <= 0.97
