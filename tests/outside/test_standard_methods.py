"""The sums of a water report against worked examples of the standards.

Standard Methods for the Examination of Water and Wastewater 2320 B (alkalinity), 2340 B (hardness),
1030 E (ion balance), the formulas from memory; Kolbach 1953 (residual alkalinity, from memory);
DIN's German degree.
"""

from __future__ import annotations

import pytest

from chemcore.acids import find_acid, volume_of_moles
from tests.outside.record import call, near

#: 1 German degree of hardness is 10 mg/L CaO: 17.848 mg/L as CaCO3 (CaO 56.077, CaCO3 100.087).
GERMAN_DEGREE = 10.0 * 100.087 / 56.077


@pytest.mark.parametrize(
    "titrant_ml, normality, sample_ml, alkalinity",
    [(20.0, 0.0200, 100.0, 200.0), (12.35, 0.0200, 100.0, 123.5), (4.0, 0.0200, 100.0, 40.0)],
)
def test_alkalinity_by_titration_2320b(titrant_ml, normality, sample_ml, alkalinity):
    """A N 50000/V. The same acid in a litre, read at pH 4.5, gives that alkalinity back.

    Within 2 mg/L: at 4.5 a little bicarbonate is left and a little acid is over, whatever the
    water.
    """
    assert titrant_ml * normality * 50000.0 / sample_ml == near(alkalinity)
    moles = titrant_ml * normality / sample_ml  # hydrochloric acid, per litre of sample
    dose = volume_of_moles(moles, find_acid("hydrochloric"), 31.0)
    found = call("ALKALINITY_FROM_DOSE", 8.0, 4.5, dose, 1.0, "hydrochloric", 31.0)
    assert found == near(alkalinity, abs=2.0)


@pytest.mark.parametrize("alkalinity, end_point", [(30.0, 4.9), (150.0, 4.6), (500.0, 4.3)])
def test_end_points_2320b(alkalinity, end_point):
    """pH at which 2320 B says the alkalinity is used up. Closed here; in the beaker some carbon
    dioxide leaves.
    """
    dose = volume_of_moles(alkalinity / 50.0435 / 1000.0, find_acid("hydrochloric"), 31.0)
    found = call("PH_AFTER_ACID", alkalinity, 8.0, dose, 1.0, "hydrochloric", 31.0)
    assert end_point - 0.2 < found < end_point
    vented = call(
        "PH_AFTER_ACID", alkalinity, 8.0, dose, 1.0, "hydrochloric", 31.0, None, 20.0, 0.5
    )
    assert found < vented < end_point + 0.1


@pytest.mark.parametrize(
    "calcium, magnesium, hardness",
    [(50.0, 10.0, 166.03), (110.0, 20.0, 357.03), (1.0, 0.0, 2.497), (0.0, 1.0, 4.118)],
)
def test_hardness_2340b(calcium, magnesium, hardness):
    assert call("HARDNESS", calcium, magnesium) == near(hardness, rel=2e-4)


def test_ion_balance_1030e():
    """3 meq/L calcium, 1 magnesium, 1 sodium against 3 alkalinity, 1 chloride, 1 sulfate; then
    without the sodium.
    """
    ions = (60.117, 12.1525, 22.990, 35.45, 48.028)
    assert call("ION_BALANCE", (ions,), 150.13, 7.0) == near(0.0, abs=0.01)
    lacking = (*ions[:2], 0.0, *ions[3:])
    assert call("ION_BALANCE", (lacking,), 150.13, 7.0) == near(100.0 * -1.0 / 9.0, abs=0.01)


@pytest.mark.parametrize(
    "alkalinity, calcium, magnesium, german",
    [(120.0, 50.0, 10.0, 4.39), (300.0, 110.0, 20.0, 11.75)],
)
def test_residual_alkalinity_in_german_degrees(alkalinity, calcium, magnesium, german):
    """Kolbach: RA = carbonate hardness - (calcium hardness + magnesium hardness / 2)/3.5, all in
    German degrees.
    """
    found = call("RESIDUAL_ALKALINITY", alkalinity, calcium, magnesium)
    assert found == near(german * GERMAN_DEGREE, abs=0.01 * GERMAN_DEGREE)
    degrees = [mg * 56.077 / 10.0 / mass for mg, mass in ((calcium, 40.078), (magnesium, 24.305))]
    wanted = alkalinity / GERMAN_DEGREE - (degrees[0] + degrees[1] / 2.0) / 3.5
    assert found == near(wanted * GERMAN_DEGREE, abs=1e-3 * GERMAN_DEGREE)


def test_bicarbonate_of_a_neutral_water():
    """Below pH 8.3 nearly all alkalinity is bicarbonate: 61.016 mg for each 50.0435 mg as CaCO3
    (USGS Field Manual).
    """
    assert call("BICARBONATE", 150.0, 7.5) == near(150.0 * 61.016 / 50.0435, rel=0.01)
    assert call("ALKALINITY_FROM_BICARBONATE", 183.0, 7.5) == near(
        183.0 * 50.0435 / 61.016, rel=0.01
    )


def test_calcite_saturation_2330():
    """Ca 1.25 mmol/L, bicarbonate 2.4 mmol/L, ionic strength 0.006, 25 °C, pH 7.6: SI = pH - pHs =
    0.049.

    2330's sum takes ions as free and the Davies equation; ion pairs lower ours by about 0.06.
    """
    alkalinity, calcium = 2.4 * 50.0435, 1.25 * 40.078
    ions = (
        calcium,
        0.0,
        57.5,
        60.0,
        33.7,
    )  # sodium, chloride and sulfate that bring 0.006 and balance
    found = call("SATURATION_INDEX", "calcite", 7.6, calcium, alkalinity, 0.0, 25.0, (ions,))
    assert found == near(0.049, abs=0.08)
