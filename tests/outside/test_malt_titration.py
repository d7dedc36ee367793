"""MALT_BUFFER against a titration by USGS PHREEQC 3.8.6 of a solution that buffers as a malt does.

No published titration of a malt, reading by reading, could be retrieved; the solution is made of
what buffers a wort at mash pH (phosphate, citrate, lactate, acetate; from memory, amounts invented
to give published bufferings of 21 to 63 mEq/(kg pH)). Its own pH and the acid to any pH are
PHREEQC's.
"""

from __future__ import annotations

import numpy as np
import pytest

from chemcore.malt_titration import malt_buffer
from tests.outside import phreeqc_runs
from tests.outside.record import call, held, near

#: mol for a kg of malt, in 4 kg of water: phosphate, citrate, lactate, acetate, and the sodium that
#: makes its own pH.
MALTS = {
    "weak": (0.080, 0.014, 0.020, 0.012, 0.151),
    "middle": (0.140, 0.026, 0.040, 0.025, 0.276),
    "strong": (0.210, 0.040, 0.060, 0.050, 0.430),
}
#: mEq for a kg, strongest buffer: from base to past the mash's pH.
ADDED = np.linspace(-12.0, 36.0, 10)
WATER, GRAMS, NORMALITY = 4.0, 50.0, 0.1


def _ph(malt: str, added) -> list[float]:
    """pH of a portion by mEq of acid (base negative) for a kg of malt."""
    amounts = MALTS[malt]
    names = ("P", "Citrate", "Lactate", "Acetate", "Na")
    lines = "\n".join(f" {name} {amount / WATER!r}" for name, amount in zip(names, amounts))
    found = []
    for meq in map(float, added):
        acid = "HCl" if meq > 0.0 else "NaOH"
        script = (
            f"SOLUTION 1\n units mol/kgw\n temp 20\n pH 5.7 charge\n{lines}\n"
            f"REACTION 1\n{acid} 1\n{abs(meq) / 1000.0 / WATER!r} moles"
        )
        found += phreeqc_runs.run(phreeqc_runs.engine(False), script, '-LA("H+")')
    return found


def _acid_to(malt: str, target: float) -> float:
    """mEq for a kg that takes it there, by halving."""
    low, high = -60.0, 60.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _ph(malt, [middle])[0] > target else (low, middle)
    return 0.5 * (low + high)


def _column(values):
    return tuple((float(value),) for value in values)


@pytest.mark.parametrize("malt", MALTS)
@pytest.mark.parametrize("target", [5.2, 5.4])
def test_figures_of_a_solution_that_buffers_as_malt(malt, target):
    meq = ADDED * MALTS[malt][0] / 0.210
    phs = _ph(malt, meq)
    own = _ph(malt, [0.0])[0]
    wanted = _acid_to(malt, target) / (own - target)
    assert 20.0 < wanted < 66.0
    curve = (_column(meq * GRAMS / 1000.0 / NORMALITY), _column(phs), GRAMS, NORMALITY, target)
    ((ph, buffering),) = call("MALT_BUFFER", *curve)
    assert ph == near(own, abs=0.005)
    assert buffering == near(wanted, rel=0.01)
    ((_, spread),) = call("MALT_BUFFER_ERROR", *curve, 0.0, 0.0)
    assert held("MALT_BUFFER_ERROR", abs(buffering - wanted) < spread < 0.03 * wanted)


@pytest.mark.parametrize("malt", MALTS)
def test_three_terms_fit_better_than_a_line(malt):
    """deLange 2015: a malt's titration bends. Down to pH 5.2 a line is 3 to 5 % off; three terms
    are kept.
    """
    meq = ADDED * MALTS[malt][0] / 0.210
    phs, own = _ph(malt, meq), _ph(malt, [0.0])[0]
    wanted = _acid_to(malt, 5.2) / (own - 5.2)
    slope = np.polyfit(meq, phs, 1)[0]
    assert 0.025 < -1.0 / slope / wanted - 1.0 < 0.055
    assert malt_buffer(meq * GRAMS / 1000.0 / NORMALITY, phs, GRAMS, NORMALITY).bent


def test_a_buffer_that_is_a_line_stays_one():
    """With the scatter of a good meter three terms are kept 1 time in 20, as an F test at 95 %
    should.
    """
    draw, meq = np.random.default_rng(3), np.linspace(0.0, 20.0, 9)
    bent = [
        malt_buffer(
            meq * GRAMS / 1000.0 / NORMALITY,
            5.75 - meq / 45.0 + draw.normal(0.0, 0.02, 9),
            GRAMS,
            NORMALITY,
        ).bent
        for _ in range(400)
    ]
    assert 0.02 <= np.mean(bent) <= 0.08
