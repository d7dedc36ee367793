"""The smooth curve through points against scipy's, and that it never swings past them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from chemcore.monotone import MonotoneCurve

points = st.lists(
    st.tuples(st.floats(0.01, 20.0), st.integers(-5000, 5000).map(lambda y: y / 1000.0)),
    min_size=2,
    max_size=12,
).map(lambda pairs: (list(np.cumsum([gap for gap, _ in pairs])), [y for _, y in pairs]))


@given(points, st.lists(st.floats(0.0, 1.0), min_size=1, max_size=20))
def test_agrees_with_scipy(points, places):
    x, y = points
    at = x[0] + (x[-1] - x[0]) * np.array(places)
    at = np.minimum(at, x[-1])
    theirs = PchipInterpolator(x, y, extrapolate=False)(at)
    scale = max(map(abs, y)) + 1e-300
    assert MonotoneCurve(x, y)(at) == pytest.approx(theirs, abs=1e-12 * scale, rel=1e-12)


@given(points)
def test_a_float_is_answered_as_an_array_is(points):
    x, y = points
    curve, at = MonotoneCurve(x, y), np.linspace(x[0], x[-1], 13)
    assert [curve(float(one)) for one in at] == pytest.approx(curve(at), rel=1e-14, abs=1e-14)


@given(points)
def test_it_meets_its_points_and_stays_between_them(points):
    x, y = points
    curve = MonotoneCurve(x, y)
    assert [curve(one) for one in x] == pytest.approx(y, abs=1e-11)
    for left, right, low, high in zip(x, x[1:], y, y[1:]):
        between = curve(np.linspace(left, right, 7))
        assert between.min() >= min(low, high) - 1e-11
        assert between.max() <= max(low, high) + 1e-11


@given(points, st.floats(0.0, 1.0))
def test_the_first_place_with_a_value_is_scipys(points, share):
    """Compared by the value there: where the curve is level, places far apart have it."""
    x, y = points
    wanted = min(y) + (max(y) - min(y)) * share
    theirs = PchipInterpolator(x, y, extrapolate=False)
    found = MonotoneCurve(x, y).first_at(wanted)
    assert theirs(min(found, x[-1])) == pytest.approx(wanted, abs=1e-9)
    before = np.linspace(x[0], found, 200)[:-1]
    side = np.sign(theirs(before) - wanted) * np.sign(y[0] - wanted)
    assert (side >= 0.0).all() or np.abs(theirs(before) - wanted).min() < 1e-9
    assert math.isnan(MonotoneCurve(x, y).first_at(max(y) + 0.01))


def test_outside_its_points_there_is_no_answer():
    curve = MonotoneCurve([1.0, 2.0], [3.0, 4.0])
    assert math.isnan(curve(0.999)) and math.isnan(curve(2.001))
    assert np.isnan(curve(np.array([0.5, 1.5, 2.5]))).tolist() == [True, False, True]


def test_points_that_do_not_rise_are_refused():
    with pytest.raises(ValueError, match="rise"):
        MonotoneCurve([1.0, 1.0], [3.0, 4.0])
