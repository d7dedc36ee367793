"""Figures of the trade, held against the model. Common practice, no source: the checks say what
would have to be true.
"""

from __future__ import annotations

import pytest

import udfs

BARRELS = 10.0


def test_dose_for_ten_barrels():
    """About 210 mL of 85 % phosphoric acid in 10 US barrels takes a water from about pH 7.5 to
    about 5.7.

    That is a raw water of about 170 mg/L alkalinity, of which 136 mg/L is neutralised: 1.036 eq a
    mole.
    """
    litres = udfs.call("LITRES", BARRELS, "US bbl")
    alkalinity = udfs.call("ALKALINITY_FROM_DOSE", 7.5, 5.7, 210.0, litres, "phosphoric", 85.0)
    assert alkalinity == pytest.approx(172.0, abs=3.0)
    sodium_water = ((0.0, 0.0, 78.1, 0.0, 0.0),)  # the same alkalinity as sodium bicarbonate
    alkalinity = udfs.call(
        "ALKALINITY_FROM_DOSE", 7.5, 5.7, 210.0, litres, "phosphoric", 85.0, sodium_water, 25.0
    )
    assert alkalinity == pytest.approx(170.0, abs=2.0)
    open_to_air = udfs.call(
        "ALKALINITY_FROM_DOSE", 7.5, 5.7, 210.0, litres, "phosphoric", 85.0, sodium_water, 25.0, 1.0
    )
    assert open_to_air == pytest.approx(136.0, abs=1.5)


def _limit(solid: str, ph: float, phosphate: float, temp_c: float) -> float:
    return udfs.call("CALCIUM_SOLUBILITY", ph, phosphate, solid, temp_c)


@pytest.mark.parametrize("phosphate, temp_c", [(59.5, 77.0), (204.0, 49.0)])
def test_four_milligrams_at_ph_6_is_hot_hydroxyapatite(phosphate, temp_c):
    assert _limit("hydroxyapatite", 6.0, phosphate, temp_c) == pytest.approx(4.0, abs=0.02)
    assert 19.0 < _limit("hydroxyapatite", 5.5, phosphate, temp_c) < 20.0


@pytest.mark.parametrize(
    "solid, phosphate, temp_c, at_ph_6",
    [
        ("brushite", 372.0, 20.0, 105.0),
        ("brushite", 208.0, 77.0, 94.0),
        ("octacalcium phosphate", 340.0, 20.0, 77.0),
        ("octacalcium phosphate", 150.0, 77.0, 68.0),
    ],
)
def test_four_hundred_milligrams_at_ph_5_5_is_brushite_or_octacalcium_phosphate(
    solid, phosphate, temp_c, at_ph_6
):
    assert _limit(solid, 5.5, phosphate, temp_c) == pytest.approx(400.0, abs=2.0)
    assert _limit(solid, 6.0, phosphate, temp_c) == pytest.approx(at_ph_6, abs=1.0)


def test_no_solid_gives_both():
    """100 to 1 over half a pH unit; the model has 3 to 13 to 1."""
    ratios = [
        _limit(solid, 5.5, phosphate, temp_c) / _limit(solid, 6.0, phosphate, temp_c)
        for solid in ("hydroxyapatite", "brushite", "octacalcium phosphate")
        for temp_c in (20.0, 50.0, 77.0)
        for phosphate in (95.0, 190.0, 475.0)
        if not isinstance(_limit(solid, 5.5, phosphate, temp_c), str)
    ]
    assert len(ratios) >= 25
    assert 3.0 < min(ratios) and max(ratios) < 13.0


def test_cold_hydroxyapatite_never_gets_to_four_milligrams_at_a_brewing_phosphate():
    assert min(_limit("hydroxyapatite", 6.0, p, 20.0) for p in (50.0, 100.0, 200.0, 500.0)) > 5.0
