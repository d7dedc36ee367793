"""Intervals by Monte Carlo: what is drawn with the errors stated lies inside 93 to 97 times in 100.

Doses, gas lost and titrations have theirs in test_uncertainty.py, test_gas.py,
test_titration_curve.py and tests/outside/test_alkalinity_titration.py: ``DRAWN`` names the check of
every interval of the catalogue.
"""

import ast
import re
from pathlib import Path

import numpy as np
import pytest

from chemcore import gas, uncertainty
from chemcore.acids import find_acid, moles_of_volume, protons_released
from chemcore.dosing import dose_volume, ph_after
from chemcore.learning import slope_interval
from chemcore.malt_titration import malt_buffer
from chemcore.mash import Malt, mash_ph, mash_ph_range
from chemcore.numeric import ARRAY, find_root
from chemcore.tables import constant
from chemcore.water import Ions
from tests.outside.test_alkalinity_titration import phreeqc_curve
from udfs import CATALOGUE

TESTS = Path(__file__).parents[1]
#: Where the errors of an interval are drawn, by the beginning of the names of its functions.
DRAWN = {
    "ACID_DOSE": (
        "chemcore/test_uncertainty.py",
        "test_interval_covers_the_truth_with_gas_and_constants_among_the_errors",
    ),
    "TITRATION_DOSE": (
        "chemcore/test_coverage.py",
        "test_dose_from_a_curve_with_the_constants_among_the_errors",
    ),
    "TITRATION": (
        "outside/test_alkalinity_titration.py",
        "test_gran_interval_covers_the_truth",
    ),
    "CO2_LOST_FROM_READING": (
        "chemcore/test_coverage.py",
        "test_gas_lost_with_the_constants_among_the_errors",
    ),
    "CO2_LOST_FROM_TWO_READINGS": (
        "chemcore/test_gas.py",
        "test_interval_of_two_readings_covers_the_truth",
    ),
    "MASH_PH": ("chemcore/test_coverage.py", "test_mash_ph_range"),
    "MALT_BUFFER": ("chemcore/test_coverage.py", "test_malt_buffer_error"),
    "SLOPE": ("chemcore/test_coverage.py", "test_slope_interval"),
}
#: Ends of what is published for a constant, and no interval of 95 %.
PUBLISHED = "CALCIUM_SAFE_PH"
END = re.compile("_(LOW|HIGH|LOWEST|HIGHEST|HALF_WIDTH|ERROR)$")

HARD = Ions(110.0, 12.0, 20.0, 60.0, 90.0)
SOFT = Ions(20.0, 3.0, 8.0, 10.0, 10.0)
NONE = Ions(0.0, 0.0, 0.0, 0.0, 0.0)
CACO3 = 50.0435


def _held(low, high, truth) -> float:
    return float(np.mean((low <= truth) & (truth <= high)))


def test_every_interval_of_the_catalogue_is_drawn():
    found = {END.sub("", name) for name in CATALOGUE if END.search(name)} - {PUBLISHED}
    assert found == DRAWN.keys()
    for file, name in DRAWN.values():
        body = next(
            node
            for node in ast.parse((TESTS / file).read_text(encoding="utf-8")).body
            if isinstance(node, ast.FunctionDef) and node.name == name
        )
        assert {0.93, 0.97} <= {
            node.value for node in ast.walk(body) if isinstance(node, ast.Constant)
        }


@pytest.mark.parametrize(
    "alkalinity, ions, acid_ml, malt_error, buffering_error",
    [
        (168.0, HARD, 0.0, 0.25, None),
        (40.0, HARD, 0.0, 0.25, None),
        (60.0, SOFT, 300.0, 0.25, None),
        (30.0, SOFT, 150.0, 0.05, 10.0),
        (120.0, SOFT, 0.0, 0.0, None),
        (0.0, NONE, 0.0, 0.25, None),
    ],
)
def test_mash_ph_range(alkalinity, ions, acid_ml, malt_error, buffering_error):
    """A charge balance of its own: malts' pH and buffering, Kolbach's factor and the prediction
    drawn as stated.
    """
    rng, runs = np.random.default_rng(11), 6000
    kg, litres, lactic = 200.0, 600.0, find_acid("lactic")
    grist = (Malt(kg, 5.75, 50.0),)
    given = (grist, litres, alkalinity, ions, acid_ml, lactic, 80.0)
    found = mash_ph_range(*given, malt_error, buffering_error)
    least, most = (constant(f"mash_buffering_{end}") for end in ("least", "most"))
    if buffering_error is not None:
        least, most = 50.0 * (1.0 - buffering_error / 100.0), 50.0 * (1.0 + buffering_error / 100.0)
    own = 5.75 + malt_error * rng.uniform(-1.0, 1.0, runs)
    strength = kg / 1000.0 * rng.uniform(least, most, runs)
    factor = rng.uniform(constant("mash_kolbach_least"), constant("mash_kolbach_most"), runs)
    taken = 2.0 * ions.calcium / 40.078 / 3.5 + 2.0 * ions.magnesium / 24.305 / 7.0  # meq/L
    plain = own + litres * (alkalinity / CACO3 - factor * taken) / 1000.0 / strength
    moles = moles_of_volume(acid_ml, lactic, 80.0)
    truth = find_root(
        lambda ph, plain, strength: strength * (ph - plain) + moles * protons_released(lactic, ph),
        plain - 3.0,
        plain + 0.0,
        (plain, strength),
        ARRAY,
    )
    truth = np.where(np.isnan(truth), plain, truth)  # without acid there is nothing to solve
    truth = truth + constant("mash_ph_error") / uncertainty.Z95 * rng.normal(0.0, 1.0, runs)
    assert found.low < mash_ph(*given) < found.high
    assert 0.93 <= _held(found.low, found.high, truth) <= 0.97


@pytest.mark.parametrize("bend", [0.0, 0.004])
def test_malt_buffer_error(bend):
    """A malt of known pH and buffering, straight or bent: scatter, the meter's zero and the titrant
    drawn as stated.
    """
    rng, runs, target = np.random.default_rng(12), 700, 5.3
    meq = np.linspace(-4.0, 26.0, 10)
    clean = 5.75 - meq / 45.0 - bend * meq + bend / 40.0 * meq**2 - bend / 3000.0 * meq**3
    roots = (
        np.polynomial.Polynomial((5.75, -1.0 / 45.0 - bend, bend / 40.0, -bend / 3000.0)) - target
    ).roots()
    to = min(root.real for root in roots if abs(root.imag) < 1e-9 and root.real > 0.0)
    buffering = to / (5.75 - target)
    inside_ph, inside_buffering = [], []
    for _ in range(runs):
        zero = rng.normal(0.0, 0.05)
        made_up = rng.normal(1.0, 0.01)  # eq/L of the titrant as a share of what its bottle says
        # the meter's zero moves every reading, and the target that is read with it
        found = malt_buffer(
            meq * 50.0 / 1000.0 / 0.1 / made_up,
            clean + zero + rng.normal(0.0, 0.015, len(meq)),
            50.0,
            0.1,
            target + zero,
        )
        inside_ph.append(abs(found.ph - 5.75) <= found.ph_half_width)
        inside_buffering.append(abs(found.buffering - buffering) <= found.buffering_half_width)
    assert 0.93 <= np.mean(inside_ph) <= 0.97
    assert 0.93 <= np.mean(inside_buffering) <= 0.97


def test_slope_interval():
    rng, xs = np.random.default_rng(13), np.array([5.4, 5.6, 5.7, 5.7, 5.9, 6.1])
    ends = np.array(
        [slope_interval(xs, 4.2 + 0.3 * xs + rng.normal(0.0, 0.05, len(xs))) for _ in range(3000)]
    )
    assert 0.93 <= _held(ends[:, 0], ends[:, 1], 0.3) <= 0.97


@pytest.mark.parametrize("share", [0.3, 0.6])
def test_gas_lost_with_the_constants_among_the_errors(share):
    """Water, acid and readings as stated, and every dose off by half a per cent, as another
    database would have it.
    """
    rng, runs, acid = np.random.default_rng(14), 2000, find_acid("phosphoric")
    by_alkalinity, by_ph, by_strength, by_volume = errors = (1.0, 0.01, 0.2, 0.3)
    ions = Ions(72.0, 9.0, 18.0, 31.0, 48.0)
    dose = dose_volume(168.0, 7.5, 5.7, 1122.0, acid, 75.0, ions)
    every = np.full(runs, 1.0)
    constants = 1.0 + 0.005 * rng.normal(0.0, 1.0, runs)
    read = ph_after(
        168.0 * every, 7.5, dose / constants, 1122.0, acid, 75.0, ions, 20.0, share * every
    )

    def measured(value, error):
        return value + error * rng.normal(0.0, 1.0, runs)

    found = gas.co2_lost_interval(
        measured(168.0, by_alkalinity),
        measured(7.5, by_ph),
        dose * every,
        measured(read, by_ph),
        measured(1122.0, 11.22 * by_volume),
        acid,
        measured(75.0, by_strength),
        *errors,
        ions,
        20.0,
        0.5,
    )
    assert 0.93 <= _held(found.low, found.high, share) <= 0.97


@pytest.mark.slow
def test_dose_from_a_curve_with_the_constants_among_the_errors():
    """A strong titrant, so that the constants do not cancel: PHREEQC's clean curve, everything else
    drawn.
    """
    rng, acid, runs, error = np.random.default_rng(15), find_acid("phosphoric"), 400, 0.02
    water = Ions(60.0, 10.0, 20.0, 30.0, 40.0)  # that of phreeqc_curve
    ml = np.array([0.5 * i for i in range(37)])
    clean = np.array(phreeqc_curve(150.0, 7.6, ml.tolist(), 100.0, 0.02))
    needed = (1.0 + 0.005 * rng.normal(0.0, 1.0, runs)) * dose_volume(
        np.full(runs, 150.0), 7.6, 5.7 + rng.normal(0.0, error, runs), 1000.0, acid, 75.0, water
    )
    held = 0
    for one in needed:
        found = uncertainty.curve_dose_interval(
            ml,
            clean + rng.normal(0.0, error, len(ml)),
            100.0,
            0.02 * rng.normal(1.0, 0.01),
            5.7,
            1000.0 * rng.normal(1.0, 0.01),
            acid,
            75.0 + rng.normal(0.0, 0.5),
            None,
            1.0,
            error,
            0.5,
            1.0,
            water,
            0.5,
        )
        held += found.low <= one <= found.high
    assert 0.93 <= held / runs <= 0.97
