"""Titrations against published equations, published data and PHREEQC."""

import numpy as np
import phreeqc
import pytest

from chemcore import dosing, electrode, titration
from chemcore.acids import find_acid
from chemcore.water import Ions
from tests.outside.record import call, near

WATER = Ions(60.0, 10.0, 20.0, 30.0, 40.0)
STEPS = [0.0, *np.arange(1.0, 15.0), *np.arange(15.0, 19.01, 0.4)]


def phreeqc_curve(alkalinity, ph, ml, sample_ml, normality, acid="HCl", protons=1):
    """pH of the sample, nothing lost to the air, after each total of titrant: phreeqc.dat, PHREEQC
    3.8, 20 °C.
    """
    engine = phreeqc.Phreeqc()
    engine.LoadBuiltInDatabase("phreeqc.dat")
    water_per_mole = 998.207 / 18.0153 * protons / normality
    moles = " ".join(repr(float(normality * v / 1000.0 / protons)) for v in ml)
    failed = engine.RunString(f"""
SOLUTION 1
 temp 20
 units mg/L
 density 0.998207
 pH {ph}
 Ca {WATER.calcium}
 Mg {WATER.magnesium}
 Na {WATER.sodium}
 Cl {WATER.chloride}
 S(6) {WATER.sulfate} as SO4
 Alkalinity {alkalinity} as Ca0.5(CO3)0.5
 -water {sample_ml / 1000.0 * 0.998207}
END
SELECTED_OUTPUT 1
 -reset false
 -high_precision true
USER_PUNCH 1
 -headings pH
 10 PUNCH -LA("H+")
USE solution 1
REACTION 1
 {acid} 1
 H2O {water_per_mole}
 {moles} mol
END
""")
    assert not failed, engine.GetErrorString()
    return engine.GetSelectedOutput()["pH"]


@pytest.fixture(scope="module")
def clean_curve():
    return np.array(phreeqc_curve(150.0, 7.6, STEPS, 100.0, 0.02))


def test_standard_methods_2320_b_equation():
    # Standard Methods 2320 B: mg CaCO3/L = A N 50000/mL sample, and "1.00 mL of 0.0200 N = 1.00 mg
    # CaCO3" (from memory). The method rounds the equivalent mass 50.0435 to 50.
    assert titration.alkalinity_of(20.0, 100.0, 0.0200) == near(
        20.0 * 0.0200 * 50000.0 / 100.0, rel=1e-3
    )
    assert titration.alkalinity_of(1.0, 1000.0, 0.0200) == near(1.0, rel=1e-3)
    ml, ph = (0.0, 10.0, 19.0, 20.0, 21.0), (7.6, 6.3, 5.1, 4.5, 3.8)
    assert titration.alkalinity(ml, ph, 100.0, 0.02, "end point") == near(200.0, rel=1e-3)


def test_usgs_field_manual_equation():
    # USGS National Field Manual ch. A6, 6.6.5.A: meq/L = 1000 B Ca CF/Vs with CF 1.01 for its
    # cartridges, and mg/L as CaCO3 = 50.044 meq/L. The figures are an example of ours: 4.1 mL, 0.16
    # N, 50 mL.
    by_manual = 50.044 * 1000.0 * 4.1 * 0.16 * 1.01 / 50.0
    assert titration.alkalinity_of(4.1, 50.0, 0.16 * 1.01) == near(by_manual, rel=2e-5)


@pytest.mark.parametrize("alkalinity, end_ph", [(30.0, 4.9), (150.0, 4.6), (500.0, 4.3)])
def test_standard_methods_end_points_by_alkalinity(alkalinity, end_ph):
    # Standard Methods 2320 B.1, end points for these alkalinities (from memory), against a
    # titration by PHREEQC.
    end = alkalinity / 50.0435 / 1000.0 * 100.0 / 0.05
    ml = np.linspace(0.0, 1.2 * end, 40)
    ph = phreeqc_curve(alkalinity, 7.5, ml, 100.0, 0.05)
    assert titration.alkalinity(ml, ph, 100.0, 0.05, "end point", end_ph) == near(
        alkalinity, rel=0.015
    )


def test_gran_on_published_sea_water_titration():
    # Dickson 1981, Deep-Sea Research 28A:609, Table 1: 200 g, 0.3 mol/kg acid, exact answer 2450
    # µmol/kg. The table's sea water holds sulfate and carbonate with other constants than a brewing
    # water has: hence 0.3 %.
    ml = np.arange(0.0, 2.51, 0.05)
    ph = [
        8.065650,
        7.925895,
        7.752062,
        7.539922,
        7.312923,
        7.111723,
        6.948715,
        6.816116,
        6.704825,
        6.608421,
        6.522665,
        6.444704,
        6.372551,
        6.304758,
        6.240231,
        6.178101,
        6.117655,
        6.058275,
        5.999403,
        5.940504,
        5.881044,
        5.820455,
        5.758107,
        5.693259,
        5.625006,
        5.552183,
        5.473224,
        5.385920,
        5.286975,
        5.171175,
        5.029724,
        4.847252,
        4.601818,
        4.304988,
        4.046597,
        3.860034,
        3.722943,
        3.616542,
        3.530163,
        3.457664,
        3.395285,
        3.340587,
        3.291906,
        3.248062,
        3.208187,
        3.171626,
        3.137874,
        3.106531,
        3.077278,
        3.049854,
        3.024045,
    ]
    found = titration.alkalinity(ml, ph, 200.0, 0.3)
    assert found == near(2.450 * 50.0435, rel=3e-3)


def test_gran_on_published_measured_titration():
    # Dickson, Sabine & Christian 2007, Guide to best practices for ocean CO2 measurements, SOP 3b,
    # worked example: 140.32 g, acid 0.10046 mol/kg of 1.02393 g/mL, 24.25 °C, E0 394.401 mV, answer
    # 2260.06 µmol/kg. Carbon dioxide was blown out; hydrogensulfate and fluoride of sea water are
    # not in Gran's line: hence 0.2 %.
    ml = np.arange(3.5, 4.501, 0.05)
    mv = np.array(
        [
            186.07,
            188.93,
            191.5,
            193.84,
            196.01,
            198.0,
            199.86,
            201.59,
            203.21,
            204.73,
            206.17,
            207.53,
            208.8,
            210.02,
            211.2,
            212.33,
            213.41,
            214.46,
            215.45,
            216.41,
            217.32,
        ]
    )
    nernst = 1000.0 * np.log(10.0) * 8.314462618 * (24.25 + 273.15) / 96485.33212
    found = titration.alkalinity(ml * 1.02393, (394.401 - mv) / nernst, 140.32, 0.10046)
    assert found == near(2.26006 * 50.0435, rel=2e-3)


@pytest.mark.parametrize("acid, protons, bound", [("HCl", 1, 5e-4), ("H2SO4", 2, 1.2e-2)])
@pytest.mark.parametrize(
    "alkalinity, ph, sample_ml, normality, step",
    [
        (150.0, 7.6, 100.0, 0.02, 0.5),
        (20.0, 7.0, 100.0, 0.02, 0.1),
        (300.0, 7.3, 100.0, 0.1, 0.25),
        (250.0, 8.4, 50.0, 0.02, 0.5),
    ],
)
def test_gran_recovers_the_alkalinity_of_a_phreeqc_titration(
    alkalinity, ph, sample_ml, normality, step, acid, protons, bound
):
    # sulfuric acid leaves up to 1 % (at 20 mg/L) to hydrogensulfate
    end = alkalinity / 50.0435 / 1000.0 * sample_ml / normality
    ml = np.arange(0.0, 1.3 * end + 2.0 * step + 0.001 * sample_ml / normality, step)
    curve = phreeqc_curve(alkalinity, ph, ml, sample_ml, normality, acid, protons)
    found = titration.alkalinity(ml, curve, sample_ml, normality)
    assert found == near(alkalinity, rel=bound)


@pytest.mark.parametrize("meter_error", [0.01, 0.02])
def test_gran_interval_covers_the_truth(clean_curve, meter_error):
    # 500 titrations with noise: the stated 95 % interval holds the truth in 93 to 97 %
    rng = np.random.default_rng(42)
    held = 0
    for _ in range(500):
        noisy = clean_curve + rng.normal(0.0, meter_error, len(clean_curve))
        line = titration.gran_line(STEPS, noisy, 100.0, 0.02)
        found = titration.alkalinity_of(line.end_ml, 100.0, 0.02)
        held += abs(found - 150.0) <= titration.alkalinity_of(line.half_width_ml, 100.0, 0.02)
    assert 0.93 <= held / 500 <= 0.97


@pytest.mark.parametrize("method, bound", [("inflection", 0.02), ("end point", 0.005)])
def test_other_methods_on_a_phreeqc_titration(clean_curve, method, bound):
    # the inflection lies within half a step (0.2 of 15 mL) of the end point
    assert titration.alkalinity(STEPS, clean_curve, 100.0, 0.02, method) == near(150.0, rel=bound)


@pytest.mark.parametrize("acid", ["phosphoric", "lactic", "hydrochloric", "sulfuric"])
@pytest.mark.parametrize("target", [6.2, 5.7, 5.3])
def test_dose_from_a_phreeqc_curve_is_the_model_dose(clean_curve, acid, target):
    # the curve knows nothing of the model's carbonate; dilution of the sample by titrant is left in
    by_curve = titration.curve_dose(
        STEPS, clean_curve, 100.0, 0.02, target, 1000.0, find_acid(acid), None, None, WATER
    )
    by_model = dosing.dose_volume(150.0, 7.6, target, 1000.0, find_acid(acid), None, WATER)
    assert by_curve == near(by_model, rel=5e-3)


@pytest.mark.parametrize("alkalinity, off", [(20.0, -0.05), (60.0, -0.013), (150.0, -0.003)])
def test_an_electrode_of_95_per_cent_slope_is_corrected_by_two_buffers(alkalinity, off):
    """A PHREEQC titration read by an aged electrode (a straight line, IUPAC 2002), calibrated near
    pH 7 and drifted.

    In buffers of 7.00 and 4.01 it reads 7.03 and 4.19; uncorrected, Gran's line is off by what is
    given here.
    """
    end = alkalinity / 50.0435 / 1000.0 * 100.0 / 0.02
    ml = np.arange(0.0, 1.3 * end + 5.5, 0.05 * end + 0.05)
    true = np.array(phreeqc_curve(alkalinity, 7.6, ml, 100.0, 0.02))

    def reads(ph):
        return 7.03 + 0.95 * (ph - 7.0)

    read = reads(true)
    corrected = [
        call("CORRECTED_PH", float(ph), float(reads(7.0)), float(reads(4.01))) for ph in read
    ]
    assert corrected == near(true, abs=1e-9)
    assert call("ELECTRODE_SLOPE", float(reads(7.0)), float(reads(4.01))) == near(95.0)
    assert titration.alkalinity(ml, corrected, 100.0, 0.02) == near(alkalinity, rel=2e-3)
    assert titration.alkalinity(ml, read, 100.0, 0.02) / alkalinity - 1.0 == near(off, abs=0.01)


@pytest.mark.parametrize("alkalinity, buffer_error", [(150.0, 0.0), (20.0, 0.005), (60.0, 0.01)])
def test_gran_interval_covers_the_truth_where_the_electrodes_slope_is_drawn_and_corrected(
    alkalinity, buffer_error
):
    """Slopes of 88 to 102 % and a zero of its own; the readings in the buffers are off as well, up
    to 0.01 pH.
    """
    rng, runs, held = np.random.default_rng(3), 1000, 0
    end = alkalinity / 50.0435 / 1000.0 * 100.0 / 0.02
    ml = np.concatenate((np.linspace(0.0, end, 8), end + np.arange(1.0, 5.0, 0.3)))
    clean = np.array(phreeqc_curve(alkalinity, 7.6, ml, 100.0, 0.02))
    for _ in range(runs):
        share, zero = rng.uniform(0.88, 1.02), rng.normal(0.0, 0.05)
        read, high, low = (
            7.0 + zero + share * (ph + rng.normal(0.0, error, np.shape(ph)) - 7.0)
            for ph, error in ((clean, 0.015), (7.0, buffer_error), (4.01, buffer_error))
        )
        found = titration.gran_line(ml, electrode.corrected_ph(read, high, low), 100.0, 0.02)
        miss = titration.alkalinity_of(found.end_ml, 100.0, 0.02) - alkalinity
        held += abs(miss) <= titration.alkalinity_of(found.half_width_ml, 100.0, 0.02)
    assert 0.93 <= held / runs <= 0.97


def test_an_electrode_past_use_is_refused():
    answer = call("CORRECTED_PH", 5.7, 7.0, 4.6)
    assert answer.startswith("Check read_in_low: the readings 7 and 4.6 make a slope of 80 %")
    assert call("CORRECTED_PH", 5.7, 7.0, 4.0, 6.0, 5.0) != 5.7
    assert call("ELECTRODE_SLOPE", 7.0, 4.0, 6.0, 5.0).startswith("Check read_in_low")
