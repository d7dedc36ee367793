"""Functions through the catalogue against a second reckoning: by hand from a published figure, or
by PHREEQC.

What the other files of this folder check in chemcore is called here as a cell calls it, so that a
wrong factor between the two would show.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from chemcore.acids import find_acid, volume_of_moles
from chemcore.tables import constant
from chemcore.units import report_density
from chemcore.water import Ions
from tests.outside import phreeqc_runs
from tests.outside.record import call, held, near
from tests.outside.test_alkalinity_titration import phreeqc_curve
from tests.outside.waters import random_cases

#: g/mol, IUPAC 2021.
H3PO4, PO4, HCL, CACO3_EQ = 97.994, 94.970, 36.458, 50.0435


def _column(*values):
    return tuple((value,) for value in values)


def test_mass_and_anion_of_phosphoric_acid():
    """85 % acid is 1.689 kg/L (International Critical Tables): 100 mL in 1,000 L."""
    grams = 100.0 * 1.689
    assert call("ACID_MASS", 100.0, "phosphoric", 85.0) == near(grams, rel=1e-3)
    anion = grams * 0.85 / H3PO4 * PO4  # g in 1,000 L: mg/L
    assert call("ACID_ANION", 100.0, 1000.0, "phosphoric", 85.0) == near(anion, rel=1e-3)
    assert call("ACID_ANION_MASS", grams, 1000.0, "phosphoric", 85.0) == near(anion, rel=1e-6)


@pytest.mark.parametrize(
    "acid, strength, ph, equivalents",
    [
        ("hydrochloric", 37.0, 4.5, 12.1),
        ("sulfuric", 96.0, 4.5, 36.0),
        ("phosphoric", 85.0, 4.5, 14.7),
        ("acetic", 100.0, 8.0, 17.5),
    ],
)
def test_equivalents_of_concentrated_acids(acid, strength, ph, equivalents):
    """Molarity of the concentrated reagents: table on the inside cover of most laboratory handbooks
    (from memory).
    """
    found = call("ACID_EQUIVALENTS", acid, strength, ph)
    assert found == near(equivalents, rel=0.01)
    price = call("PRICE_PER_EQUIVALENT", 20.0, 90.0, acid, strength, ph)
    assert price == near(90.0 / (20.0 * equivalents), rel=0.01)
    diluted = call("DILUTE_NORMALITY", acid, strength, 10.0, 1000.0)
    assert diluted == near(0.01 * call("ACID_EQUIVALENTS", acid, strength, 4.5), rel=1e-9)


def test_money_and_packs():
    """Sums by hand: 237 mL and 295 mL of a 20 L pack at 90.00, a tenth spilt; an independent second
    computation.
    """
    assert call("ACID_COST", 237.0, 20.0, 90.0) == near(1.0665)
    assert call("COST_PER_HL", 237.0, 20.0, 90.0, 1122.0) == near(1.0665 / 11.22)
    need = call("ACID_NEEDED", _column(237.0, None, 295.0), 10.0)
    assert need == near(585.2)
    assert call("PACKS_TO_BUY", 45000.0, 4000.0, 20.0) == near(3.0)
    assert call("PACKS_TO_BUY", 45000.0, 5000.0, 20.0) == near(2.0)
    assert call("PACKS_TO_BUY", 3000.0, 5000.0, 20.0) == near(0.0)
    assert call("BATCHES_LEFT", 1185.0, 237.0) == near(5.0)
    assert call("BATCHES_LEFT", 1184.0, 237.0) == near(4.0)


def test_blends_are_weighted_means():
    """Conservative mixing (Stumm & Morgan 1996, ch. 4): ions and alkalinity by volume."""
    waters = ((72.0, 9.0, 18.0, 31.0, 48.0), (2.0, 1.0, 4.0, 5.0, 6.0))
    mixed = call("BLEND_IONS", _column(300.0, 100.0), waters)[0]
    assert mixed == near([(3.0 * a + b) / 4.0 for a, b in zip(*waters)])
    assert call("BLEND_ALKALINITY", _column(300.0, 100.0), _column(168.0, 8.0)) == near(128.0)
    assert call("BLEND_SHARE", 168.0, 8.0, 128.0) == near(0.25)


def test_dose_by_mass_top_up_and_ph_when_hot_by_phreeqc():
    """Half the dose, a reading by PHREEQC, the rest; and the same water warmed to 77 °C."""
    for case in random_cases(12, seed=31):
        case = case._replace(temp_c=20.0)
        ions = (tuple(case.ions),)
        moles = phreeqc_runs.dose_to_ph(
            case.alkalinity, case.ph, case.target_ph, "phosphoric", case.ions, 20.0
        )
        grams = moles * 1000.0 * report_density() * H3PO4 / 0.75
        assert call(
            "ACID_DOSE_MASS",
            case.alkalinity,
            case.ph,
            case.target_ph,
            1000.0,
            "phosphoric",
            75.0,
            ions,
        ) == near(grams, rel=0.005)
        half, _ = phreeqc_runs.after_dose(
            case.alkalinity, case.ph, 0.5 * moles, "phosphoric", case.ions, 20.0
        )
        ml = volume_of_moles(moles * 1000.0 * report_density(), find_acid("phosphoric"), 75.0)
        rest = call(
            "ACID_TOP_UP",
            case.ph,
            half,
            case.target_ph,
            0.5 * ml,
            1000.0,
            "phosphoric",
            75.0,
            ions,
        )
        assert rest == near(0.5 * ml, rel=0.02)
        _, hot, _, _ = phreeqc_runs.hot_tank(
            case.alkalinity, case.ph, moles, "phosphoric", case.ions, 20.0, 77.0, "brushite", False
        )
        found = call(
            "PH_WHEN_HOT",
            case.alkalinity,
            case.ph,
            ml,
            1000.0,
            "phosphoric",
            75.0,
            ions,
            20.0,
            77.0,
        )
        assert found == near(hot, abs=0.01)


def test_alkalinity_from_a_dose_of_phreeqc():
    for case in random_cases(40, seed=34):
        moles = phreeqc_runs.dose_to_ph(
            case.alkalinity, case.ph, case.target_ph, "lactic", case.ions, case.temp_c
        )
        ml = volume_of_moles(moles * 1000.0 * report_density(), find_acid("lactic"), 80.0)
        given = (case.ph, case.target_ph, ml, 1000.0, "lactic", 80.0)
        found = call("ALKALINITY_FROM_DOSE", *given, (tuple(case.ions),), case.temp_c)
        assert found == near(case.alkalinity, rel=0.005)


def test_alkalinity_learnt_from_batches_of_a_phreeqc_water():
    """Three doses of one water by PHREEQC, their readings in the log: the alkalinity comes back,
    without spread.
    """
    case = random_cases(1, seed=32)[0]._replace(temp_c=20.0)
    doses, readings = [], []
    for target in (6.2, 5.9, 5.6):
        moles = phreeqc_runs.dose_to_ph(
            case.alkalinity, case.ph, target, "phosphoric", case.ions, 20.0
        )
        doses.append(
            volume_of_moles(moles * 1000.0 * report_density(), find_acid("phosphoric"), 75.0)
        )
        readings.append(target)
    log = (
        _column(*[case.ph] * 3),
        _column(*readings),
        _column(*doses),
        _column(*[1000.0] * 3),
        "phosphoric",
        75.0,
        (tuple(case.ions),),
    )
    found = call("EFFECTIVE_ALKALINITY", *log)
    assert found == near(case.alkalinity, rel=0.005)
    spread = call("EFFECTIVE_ALKALINITY_SPREAD", *log)
    assert held("EFFECTIVE_ALKALINITY_SPREAD", spread < 0.005 * case.alkalinity)


def test_slope_interval_is_that_of_least_squares():
    """Draper & Smith, Applied Regression Analysis, ch. 1: b -+ t s / sqrt(Sxx), t 3.182 for 3
    degrees of freedom.
    """
    xs, ys = np.array([5.5, 5.6, 5.7, 5.8, 6.0]), np.array([4.20, 4.24, 4.23, 4.29, 4.36])
    dx = xs - xs.mean()
    slope = (dx * ys).sum() / (dx**2).sum()
    rest = ys - ys.mean() - slope * dx
    half = 3.18245 * math.sqrt((rest**2).sum() / 3.0 / (dx**2).sum())
    given = (_column(*xs.tolist()), _column(*ys.tolist()))
    assert call("SLOPE_LOW", *given) == near(slope - half, rel=1e-5)
    assert call("SLOPE_HIGH", *given) == near(slope + half, rel=1e-5)


def test_kettle_by_an_extract_balance():
    """NBS Circular C440: 12 °P is 1.04838, 10 °P 1.04003 (20/20 °C); water 0.99821 kg/L."""
    assert call("PLATO", 1.04838) == near(12.0, abs=0.006)
    assert call("GRAVITY_SG", 12.0) == near(1.04838, abs=3e-5)
    assert call("KETTLE_TOP_UP", 940.0, 1000.0) == near(60.0)
    kg = 1000.0 * 1.04838 * 0.99821
    extract = 0.12 * kg
    added = call("PLATO_AFTER_TOP_UP", 1000.0, 12.0, 100.0)
    assert added == near(100.0 * extract / (kg + 99.821), abs=0.003)


def test_salts_by_their_formulas():
    """100 g gypsum, CaSO4.2H2O 172.164 g/mol (IUPAC 2021), in 1,000 L; baking soda 84.006 brings
    one equivalent.
    """
    brought = call("SALT_IONS", "gypsum", 100.0, 1000.0)[0]
    assert brought == near(
        (100.0 * 40.078 / 172.164, 0.0, 0.0, 0.0, 100.0 * 96.056 / 172.164), rel=1e-4
    )
    assert call("SALT_MASS", "gypsum", "calcium", brought[0], 1000.0) == near(100.0)
    assert call("SALT_ALKALINITY", "gypsum", 100.0, 1000.0) == near(0.0)
    assert call("SALT_ALKALINITY", "sodium bicarbonate", 100.0, 1000.0) == near(
        100.0 / 84.006 * CACO3_EQ, rel=1e-4
    )
    after = call("ALKALINITY_AFTER_SALT", 120.0, 7.4, "sodium bicarbonate", 100.0, 1000.0)
    assert after == near(120.0 + 100.0 / 84.006 * CACO3_EQ, rel=1e-4)
    assert call("SULFATE_CHLORIDE_RATIO", 150.0, 60.0) == near(2.5)


def test_titration_by_its_equations():
    """Gran 1952: (V0 + V) 10^-pH; Standard Methods 2320 B: A N 50000/mL at the end point of an
    exact strong acid line.
    """
    assert call("GRAN_VALUE", 20.0, 3.3, 100.0) == near(120.0 * 10.0**-3.3 * 1000.0, rel=1e-9)
    # strong acid past 15 mL of 0.02 eq/L on 100 mL of a sample that held no carbonate at its first
    # reading
    ml = [0.0, *(16.0 + 0.5 * i for i in range(9))]
    ph = [4.9, *(-math.log10(0.02 * (v - 15.0) / (100.0 + v)) for v in ml[1:])]
    curve = (_column(*ml), _column(*ph))
    bench = (*curve, 100.0, 0.02)
    assert call("END_POINT_ML", *bench) == near(15.0, abs=1e-6)
    assert call("TITRATION_ALKALINITY", *bench) == near(15.0 * 0.02 * 50000.0 / 100.0, rel=1e-3)
    assert held("TITRATION_ERROR", call("TITRATION_ERROR", *bench) < 1e-6)
    assert held("TITRATION_HALF_WIDTH", call("TITRATION_HALF_WIDTH", *bench) < 1e-5)
    assert call("GRAN_LINE", *bench, 18.0) == near(1000.0 * 0.02 * 3.0, rel=1e-6)
    assert call("TITRATION_PH", *curve, 18.0) == near(-math.log10(0.02 * 3.0 / 118.0), abs=1e-9)


def test_mash_by_a_charge_balance():
    """One malt, no residual alkalinity, hydrochloric acid: 100 kg of 50 mEq/(kg pH) falls 0.2 by 1
    eq.
    """
    grist = ((100.0, 5.75, 50.0),)
    none = ((0.0, 0.0, 0.0, 0.0, 0.0),)
    assert call("MASH_PH", grist, 300.0, 0.0, none) == near(5.75)
    one_eq = call("MASH_ACID_DOSE", grist, 300.0, 0.0, none, 5.55, "hydrochloric", 37.0)
    assert one_eq == near(1000.0 / 12.1, rel=0.01)
    after = call("MASH_PH", grist, 300.0, 0.0, none, one_eq, "hydrochloric", 37.0)
    assert after == near(5.55, abs=1e-6)
    # 50.0435 mg/L alkalinity in 300 L is 0.3 eq: 0.06 up; 20.039 mg/L calcium is 1 meq/L, of which
    # 1/3.5 counts
    assert call("MASH_PH", grist, 300.0, CACO3_EQ, none) == near(5.81, abs=1e-6)
    hard = ((20.039, 0.0, 0.0, 0.0, 0.0),)
    assert call("MASH_PH", grist, 300.0, 0.0, hard) == near(5.75 - 0.06 / 3.5, abs=1e-5)
    magnesium = ((0.0, 12.1525, 0.0, 0.0, 0.0),)
    assert call("MASH_PH", grist, 300.0, 0.0, magnesium) == near(5.75 - 0.06 / 7.0, abs=1e-5)
    # lactic acid of acidulated malt: 1 eq (90.078 g, nearly all given off at pH 5.55) less what its
    # malt takes up
    kg = call("ACID_MALT_MASS", grist, 300.0, 0.0, none, 5.55, 3.0)
    per_kg = 30.0 / 90.078 * 1.0 / (1.0 + 10.0 ** (3.83 - 5.55)) - 0.050 * 0.2
    assert kg == near(1.0 / per_kg, rel=0.01)


def test_boil_and_sugar_by_an_extract_balance():
    """As above; 80 L/h of water boiled off for an hour. Dextrose monohydrate is 180.156/198.171
    extract (IUPAC 2021).
    """
    kg = 1000.0 * 1.04838 * 0.99821
    extract = 0.12 * kg
    boiled = 100.0 * extract / (kg - 79.857)
    given = (1000.0, 12.0, 60.0, 80.0)
    assert call("PLATO_AFTER_BOIL", *given) == near(boiled, abs=0.005)
    litres = (kg - 79.857) / (call("GRAVITY_SG", boiled) * 0.99821)
    assert call("LITRES_AFTER_BOIL", *given) == near(litres, rel=2e-4)
    assert call("BOIL_MINUTES", 1000.0, 12.0, boiled, 80.0) == near(60.0, abs=0.3)
    sugar = call("DEXTROSE_MASS", 1000.0, 12.0, 13.0)
    wanted = (0.13 * kg - extract) / (180.156 / 198.171 - 0.13)
    assert sugar == near(wanted, rel=0.003)


def test_calcite_scale_of_the_catalogue_by_phreeqc():
    """What falls at 77 °C from a hard water, all its excess gas kept."""
    case = random_cases(6, seed=33)[1]._replace(temp_c=20.0)
    script = (
        phreeqc_runs.solution(case.alkalinity, case.ph, case.ions, 20.0)
        + "\nEND\nUSE solution 1\nREACTION_TEMPERATURE 1\n77\nEQUILIBRIUM_PHASES 1\nCalcite 0 0"
    )
    (fallen,) = phreeqc_runs.run(phreeqc_runs.engine(False), script, 'EQUI("Calcite")')
    scale = call("CALCITE_SCALE", case.alkalinity, case.ph, (tuple(case.ions),), 20.0, 77.0, 0.0)
    assert fallen > 0.0
    assert scale == near(fallen * 2.0 * CACO3_EQ * 1000.0 * report_density(), rel=0.01, abs=0.1)


def test_dose_from_a_phreeqc_curve_by_the_catalogue():
    """A PHREEQC titration with hydrochloric acid, and PHREEQC's dose of phosphoric acid to pH
    5.7.
    """
    water = Ions(60.0, 10.0, 20.0, 30.0, 40.0)  # that of phreeqc_curve
    ml = [0.5 * i for i in range(37)]
    ph = phreeqc_curve(150.0, 7.6, ml, 100.0, 0.02)
    moles = phreeqc_runs.dose_to_ph(150.0, 7.6, 5.7, "phosphoric", water, 20.0)
    wanted = volume_of_moles(moles * 1000.0 * report_density(), find_acid("phosphoric"), 75.0)
    arguments = (_column(*ml), _column(*ph), 100.0, 0.02, 5.7, 1000.0, "phosphoric", 75.0)
    found = call("TITRATION_DOSE", *arguments, None, (tuple(water),))
    assert found == near(wanted, rel=0.006)


def test_interval_of_one_error_by_phreeqc():
    """Alkalinity 168 -+ 1.96 x 10 mg/L, nothing else but the constants' 1 %: both doses by
    PHREEQC.
    """
    ions = Ions(72.0, 9.0, 18.0, 31.0, 48.0)
    low, best, high = (
        volume_of_moles(
            phreeqc_runs.dose_to_ph(alkalinity, 7.5, 5.7, "phosphoric", ions, 20.0)
            * 1000.0
            * report_density(),
            find_acid("phosphoric"),
            75.0,
        )
        for alkalinity in (168.0 - 19.6, 168.0, 168.0 + 19.6)
    )
    constants = 0.0098 * best
    given = (168.0, 7.5, 5.7, 1000.0, "phosphoric", 75.0, 10.0, 0.0, 0.0, 0.0, (tuple(ions),))
    assert call("ACID_DOSE_LOW", *given) == near(
        best - math.hypot(best - low, constants), rel=0.004
    )
    assert call("ACID_DOSE_HIGH", *given) == near(
        best + math.hypot(high - best, constants), rel=0.004
    )


def test_cautions_of_strong_phosphoric_acid():
    """ECHA registration dossier 15531: corrosive from 25 % up, eye irritant from 10 to 25 %."""
    strong, weak = (call("ACID_CAUTIONS", "phosphoric", strength) for strength in (75.0, 20.0))
    assert held("ACID_CAUTIONS", "H314" in strong)
    assert held("ACID_CAUTIONS", "H319" in weak and "H314" not in weak)


def test_runoff_stops_where_a_line_between_readings_crosses():
    """Readings 400 L at pH 5.7 and 600 L at 6.2: a straight line reads 5.9 at 480 L; gravity is not
    the reason.
    """
    readings = (
        _column(0.0, 200.0, 400.0, 600.0),
        _column(5.3, 5.5, 5.7, 6.2),
        _column(16.0, 9.0, 5.0, 4.0),
    )
    assert call("RUNOFF_CUTOFF", *readings, 5.9, 2.5) == near(480.0)
    assert held("RUNOFF_REASON", "pH" in call("RUNOFF_REASON", *readings, 5.9, 2.5))


def test_ph_of_a_blend_by_phreeqc():
    """PHREEQC's MIX of two calcium bicarbonate waters."""
    first, second = (Ions(0.5 * a / CACO3_EQ * 40.078, 0.0, 0.0, 0.0, 0.0) for a in (200.0, 40.0))
    script = (
        phreeqc_runs.solution(200.0, 7.3, first, 20.0)
        + "\nEND\n"
        + phreeqc_runs.solution(40.0, 7.9, second, 20.0).replace("SOLUTION 1", "SOLUTION 2")
        + "\nEND\nMIX 1\n1 0.6\n2 0.4"
    )
    (mixed,) = phreeqc_runs.run(phreeqc_runs.engine(False), script, '-LA("H+")')
    found = call("BLEND_PH", _column(600.0, 400.0), _column(200.0, 40.0), _column(7.3, 7.9))
    assert found == near(mixed, abs=0.002)


#: A dosed tank: ions, pH before, when mixed and later, mol/kg of phosphoric acid, mL of 75 % in
#: 1,000 L.
TANK = Ions(72.0, 9.0, 18.0, 31.0, 48.0)
BEFORE, MIXED, LATER = 7.5, 5.7, 5.9


def _moles(alkalinity: float) -> float:
    return phreeqc_runs.dose_to_ph(alkalinity, BEFORE, MIXED, "phosphoric", TANK, 20.0)


def _share(alkalinity: float, moles: float) -> float:
    """Share of the excess gas lost at the later reading: PHREEQC takes out carbon dioxide until it
    has that pH.
    """
    water = phreeqc_runs.solution(alkalinity, BEFORE, TANK, 20.0)
    one = phreeqc_runs.engine(False)
    (held,) = phreeqc_runs.run(one, water, 'TOT("C(4)")')
    left, gas, henry = phreeqc_runs.run(
        one,
        f"{water}\nREACTION 1\nH3PO4 1\n{moles!r} moles\n"
        f"EQUILIBRIUM_PHASES 1\nFix_H+ {-LATER!r} CO2 10.0",
        'TOT("C(4)"), MOL("CO2"), LK_PHASE("CO2(g)")',
    )
    above_air = held * gas / left - constant("air_carbon_dioxide") * 10.0**henry
    return (held - left) * gas / left / above_air


def test_interval_of_the_share_lost_by_phreeqc():
    """Alkalinity 168 -+ 1.96 x 2 mg/L and the constants' 1.96 x 0.5 % of the dose, the rest exact:
    shares by PHREEQC.
    """
    moles = _moles(168.0)
    ml = volume_of_moles(moles * 1000.0 * report_density(), find_acid("phosphoric"), 75.0)
    given = (168.0, BEFORE, ml, LATER, 1000.0, "phosphoric", 75.0)
    errors = (2.0, 0.0, 0.0, 0.0, (tuple(TANK),))
    best = _share(168.0, moles)
    less, more = _share(168.0, moles / 1.0098), _share(168.0, moles / 0.9902)
    low = best - math.hypot(best - _share(168.0 + 3.92, moles), best - min(less, more))
    high = best + math.hypot(_share(168.0 - 3.92, moles) - best, max(less, more) - best)
    assert 0.2 < low < high < 0.7
    found = call("CO2_LOST_FROM_READING_LOW", *given, *errors)
    assert found == near(low, abs=0.01)
    found = call("CO2_LOST_FROM_READING_HIGH", *given, *errors)
    assert found == near(high, abs=0.01)


def test_interval_of_the_share_by_two_readings_by_phreeqc():
    """Strength 75 -+ 1.96 x 2 % alone: the alkalinity of the first reading, then the share, both by
    PHREEQC.
    """
    moles = _moles(168.0)
    ml = volume_of_moles(moles * 1000.0 * report_density(), find_acid("phosphoric"), 75.0)
    given = (BEFORE, MIXED, LATER, ml, 1000.0, "phosphoric", 75.0)
    errors = (0.0, 2.0, 0.0, (tuple(TANK),))
    ends = []
    for strength in (75.0 - 3.92, 75.0 + 3.92):
        real = (
            moles
            * ml
            / volume_of_moles(moles * 1000.0 * report_density(), find_acid("phosphoric"), strength)
        )
        alkalinity = brentq(lambda a, real=real: _moles(a) - real, 100.0, 250.0, xtol=1e-4)
        ends.append(_share(alkalinity, real))
    found = call("CO2_LOST_FROM_TWO_READINGS_LOW", *given, *errors)
    assert found == near(min(ends), abs=0.01)
    found = call("CO2_LOST_FROM_TWO_READINGS_HIGH", *given, *errors)
    assert found == near(max(ends), abs=0.01)


def test_interval_of_a_curves_dose_of_one_error():
    """Volume 1 % alone with the constants' 0.5 %: the dose is in proportion to both."""
    ml = [0.5 * i for i in range(37)]
    ph = phreeqc_curve(150.0, 7.6, ml, 100.0, 0.02)
    given = (_column(*ml), _column(*ph), 100.0, 0.02, 5.7, 1000.0)
    dose = call("TITRATION_DOSE", *given, "phosphoric", 75.0)
    errors = ("phosphoric", 75.0, None, 0.0, 0.0, 0.0, 1.0)
    half = dose * math.hypot(0.0196, 0.0098)
    low = call("TITRATION_DOSE_LOW", *given, *errors)
    assert low == near(dose - half, rel=1e-4)
    high = call("TITRATION_DOSE_HIGH", *given, *errors)
    assert high == near(dose + half, rel=1e-4)
    own = call("TITRATION_DOSE", *given, "phosphoric", 75.0, "phosphoric")
    errors = ("phosphoric", 75.0, "phosphoric", 0.0, 0.0, 0.0, 1.0)
    high = call("TITRATION_DOSE_HIGH", *given, *errors)
    assert high == near(own * 1.0196, rel=1e-4)  # the tank's own acid: constants cancel
