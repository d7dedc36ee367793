"""Mash pH against what is published, the error stated beside each.

Few sets could be retrieved: most of the literature is behind abstracts. Two sets of measured mash
pH are here (a series with calcium, and a mash without and with acidulated malt), and three
published relations: a handbook table of acid doses, a rule for acidulated malt and one for residual
alkalinity. None gives liquor, grist and malt figures in full; what is taken in their place stands
beside each. They disagree among themselves: the acid table has malt buffer about a quarter more
strongly than is taken here, the calcium series has calcium lower the pH two to three times as far
as Kolbach's factor does, and both figures for acidulated malt want more lactic acid in it than its
makers state.
"""

import pytest

from chemcore.acids import find_acid, moles_of_mass, volume_of_moles
from chemcore.mash import Malt, acid_malt_mass, mash_ph, mash_ph_range, typical_malts
from chemcore.water import Ions
from tests.outside.record import call, held, near

NOTHING = Ions(0.0, 0.0, 0.0, 0.0, 0.0)
PILSNER = typical_malts()["pilsner malt"]._replace(kg=100.0)

# Taylor 1990, MBAA Tech. Quarterly (abstract retrieved), as quoted from Briggs, Boulton, Brookes &
# Stevens 2004, Brewing: Science and Practice, in a retrieved discussion: mash pH by calcium in the
# liquor, mg/L. Liquor to grist is not given: 3 L/kg is taken; alkalinity is taken as none. The
# third column is our error, prediction less measurement.
CALCIUM_SERIES = [(0.0, 5.74, 0.00), (100.0, 5.48, 0.17), (200.0, 5.39, 0.18), (300.0, 5.28, 0.20)]


@pytest.mark.parametrize("calcium, measured, error", CALCIUM_SERIES)
def test_calcium_series(calcium, measured, error):
    """With the series' own pH at no calcium and the typical buffering; too high by up to 0.20."""
    grist, ions = (PILSNER._replace(ph=5.74),), NOTHING._replace(calcium=calcium)
    predicted = mash_ph(grist, 300.0, 0.0, ions)
    assert predicted - measured == near(error, abs=0.01)
    expected = mash_ph_range(grist, 300.0, 0.0, ions)
    assert expected.low <= measured <= expected.high


def test_calcium_series_beyond_the_first_step():
    """From 100 to 300 mg/L pH falls 0.20 as measured, 0.17 as predicted: the error lies in the
    first 100 mg/L.
    """
    grist = (PILSNER._replace(ph=5.74),)
    low, high = (
        mash_ph(grist, 300.0, 0.0, NOTHING._replace(calcium=calcium)) for calcium in (100.0, 300.0)
    )
    assert low - high == near(5.48 - 5.28, abs=0.04)


# Acid into the mash that lowers its pH by 0.1, mL for 100 kg of malt: table of a German brewing
# handbook as given in a retrieved brewing lexicon (handbook not seen).
ACID_TABLE = [("hydrochloric", 37.0, 53.0), ("lactic", 80.0, 60.0), ("sulfuric", 98.0, 17.0)]


@pytest.mark.parametrize("name, strength, ml", ACID_TABLE)
def test_acid_table(name, strength, ml):
    """The table's dose lowers the typical pilsner malt by 0.125 to 0.127, where the table says
    0.1.
    """
    predicted = mash_ph((PILSNER,), 300.0, 0.0, NOTHING, ml, find_acid(name), strength)
    assert 5.75 - predicted == near(0.126, abs=0.002)


@pytest.mark.parametrize("name, strength, ml", ACID_TABLE)
def test_acid_table_is_one_buffering(name, strength, ml):
    """Three acids, one figure: 63 mEq/(kg·pH), within 2 %; strengths, densities and dissociation
    must all be right.
    """
    predicted = mash_ph(
        (Malt(100.0, 5.75, 63.0),), 300.0, 0.0, NOTHING, ml, find_acid(name), strength
    )
    assert 5.75 - predicted == near(0.1, rel=0.02)


def test_rule_for_acidulated_malt():
    """1 % of the grist lowers mash pH by 0.1 (Oxford Companion to Beer 2011, "acidulated malt",
    retrieved). Ours needs a malt of 4.6 % lactic acid for that; with 2 %, the upper end of what is
    said of such malt (common practice, no source), it is 2.3 % of the grist.
    """
    target = 5.75 - 0.1
    assert acid_malt_mass((PILSNER,), 300.0, 0.0, NOTHING, target, 4.6) == near(1.0, abs=0.01)
    assert acid_malt_mass((PILSNER,), 300.0, 0.0, NOTHING, target, 2.0) == near(2.34, abs=0.01)


# Kraus-Weyermann, "pH in the Brewery" (a maltster's slides; retrieved as a second-hand text that
# breaks off after the first step): mash pH without acidulated malt, and with 0.5 % of it in the
# grist. Liquor and lactic acid are not given: no residual alkalinity is taken, and the 2 and 4 % at
# the ends of what is said of such malt (common practice, no source).
ACIDULATED_MASHES = (5.84, 5.77)


@pytest.mark.parametrize("lactic_percent, error", [(2.0, 0.05), (4.0, 0.03)])
def test_acidulated_mash(lactic_percent, error):
    """With the mash's own pH at none, the 0.07 of the measurement is predicted as 0.02 to 0.04;
    inside the interval.
    """
    without, measured = ACIDULATED_MASHES
    lactic = find_acid("lactic")
    grams = 0.5 * 10.0 * lactic_percent / (lactic.default_strength / 100.0)
    ml = volume_of_moles(moles_of_mass(grams, lactic, None), lactic, None)
    grist = (PILSNER._replace(kg=99.5, ph=without), PILSNER._replace(kg=0.5, ph=without))
    predicted = mash_ph(grist, 300.0, 0.0, NOTHING, ml, lactic)
    assert predicted - measured == near(error, abs=0.005)
    expected = mash_ph_range(grist, 300.0, 0.0, NOTHING, ml, lactic)
    assert expected.low <= measured <= expected.high


@pytest.mark.parametrize("litres_per_kg, error", [(3.0, -0.09), (4.0, -0.01), (5.0, 0.06)])
def test_rule_for_residual_alkalinity(litres_per_kg, error):
    """10 German degrees of residual alkalinity (178.5 mg/L as CaCO3) raise pH by 0.3. The rule goes
    by Kolbach's name in several retrieved tutorials; his paper, and the strength of wort it holds
    for, were not seen, so it is run at usual thicknesses of mash.
    """
    litres = 100.0 * litres_per_kg
    raised = mash_ph((PILSNER,), litres, 178.5, NOTHING) - mash_ph((PILSNER,), litres, 0.0, NOTHING)
    assert raised - 0.3 == near(error, abs=0.01)


def test_interval_holds_the_spread_of_one_kind_of_malt():
    """Congress wort of pilsner malt is 5.6 to 6.0 (a maltster's specification sheet): demineralised
    water, typical pH.
    """
    malt = typical_malts()["pilsner malt"]
    arguments = (((200.0, malt.ph, malt.buffering),), 600.0, 0.0, ((0.0, 0.0, 0.0, 0.0, 0.0),))
    assert held("MASH_PH_LOWEST", call("MASH_PH_LOWEST", *arguments) < 5.6)
    assert held("MASH_PH_HIGHEST", call("MASH_PH_HIGHEST", *arguments) > 6.0)
    measured = (*arguments, None, None, None, 0.0)
    assert call("MASH_PH_LOWEST", *measured) == near(malt.ph - 0.1)
