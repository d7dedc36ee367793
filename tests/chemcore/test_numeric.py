from __future__ import annotations

import math

import numpy as np
import pytest

from chemcore.errors import DomainError
from chemcore.numeric import ARRAY, FLOAT, backend, find_root, require


def test_backend_is_arrays_where_any_value_is_one():
    assert backend(1.0, None, 2.0) is FLOAT
    assert backend(1.0, np.array([2.0])) is ARRAY


def test_largest_of_numbers_only():
    assert FLOAT.largest(3.0) == 3.0
    assert ARRAY.largest(np.array([1.0, math.nan, 2.0])) == 2.0
    assert ARRAY.largest(np.array([math.nan, math.nan])) == 0.0
    assert ARRAY.largest(np.float64(2.0)) == 2.0


def test_require_raises_for_one_and_marks_in_a_column():
    assert require(True, "a", lambda: "wrong", 5.0) == 5.0
    with pytest.raises(DomainError) as error:
        require(False, "a", lambda: "wrong", 5.0)
    assert (error.value.argument, error.value.reason) == ("a", "wrong")
    marked = require(np.array([True, False]), "a", lambda: "wrong", np.array([1.0, 2.0]))
    assert marked[0] == 1.0 and math.isnan(marked[1])


@pytest.mark.parametrize("xp", [FLOAT, ARRAY])
def test_root_of_a_monotone_function(xp):
    ends = (0.0, 2.0) if xp is FLOAT else (np.zeros(2), np.full(2, 2.0))
    target = 2.0 if xp is FLOAT else np.array([2.0, 3.0])
    found = find_root(lambda x, t: x * x - t, *ends, (target,), xp)
    assert found == pytest.approx(np.sqrt(target), abs=1e-12)


def test_no_root_is_nan_and_an_end_may_be_one():
    assert math.isnan(find_root(lambda x: x + 1.0, 0.0, 2.0))
    assert find_root(lambda x: x, 0.0, 2.0) == 0.0
    assert find_root(lambda x: x - 2.0, 0.0, 2.0) == 2.0
    found = find_root(
        lambda x, t: x - t, np.zeros(3), np.ones(3), (np.array([0.5, 2.0, math.nan]),), ARRAY
    )
    assert found[0] == pytest.approx(0.5) and np.isnan(found[1:]).all()


def test_function_that_is_nan_on_the_way_has_no_root():
    assert math.isnan(find_root(lambda x: x - 1.0 if x in (0.0, 3.0) else math.nan, 0.0, 3.0))


def test_infinite_end():
    """A saturation index is minus infinity without calcium."""
    found = find_root(
        lambda x, t: np.where(x > 0.0, x - t, -np.inf),
        np.zeros(2),
        np.ones(2),
        (np.array([0.2, 0.9]),),
        ARRAY,
    )
    assert found == pytest.approx([0.2, 0.9], abs=1e-12)
