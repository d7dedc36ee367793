"""One spelling of the mathematics for plain floats and for numpy arrays.

The equations are written once, with ``xp`` standing for one of the two back ends below: :data:`FLOAT`
for a single cell (fast, no numpy call) and :data:`ARRAY` for a column (no Python loop per row).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, TypeAlias

import numpy as np

from chemcore.errors import DomainError

#: An array of floats, and what every calculation takes and gives: one figure, or an array of them.
Array: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]
Number: TypeAlias = float | Array

LN10 = math.log(10.0)


class FLOAT:
    """Back end for plain floats."""

    exp = staticmethod(math.exp)
    log10 = staticmethod(math.log10)
    log = staticmethod(math.log)
    sqrt = staticmethod(math.sqrt)
    maximum = staticmethod(max)
    minimum = staticmethod(min)

    @staticmethod
    def where(condition, yes, no):
        """``yes`` or ``no``; both have been worked out."""
        return yes if condition else no

    @staticmethod
    def largest(value):
        """The value itself."""
        return value


class ARRAY:
    """Back end for numpy arrays."""

    exp = np.exp
    log10 = np.log10
    log = np.log
    sqrt = np.sqrt
    maximum = np.maximum
    minimum = np.minimum
    where = np.where

    @staticmethod
    def largest(value):
        """The largest element that is a number, 0 where none is."""
        return np.fmax.reduce(value, axis=None, initial=0.0)


def backend(*values: Any):
    """:data:`ARRAY` where any value is an array, else :data:`FLOAT`."""
    return ARRAY if np.ndarray in map(type, values) else FLOAT


def require(condition, argument: str, reason: Callable[[], str], value):
    """``value`` where ``condition`` holds.

    A single value that fails raises :class:`DomainError` with the text of ``reason``; failing elements of
    an array become NaN, so that a column goes on and the caller can ask again for the one bad row.
    """
    if isinstance(condition, np.ndarray):
        return np.where(condition, value, np.nan)
    if not condition:
        raise DomainError(argument, reason())
    return value


def find_root(function, low, high, args=(), xp=FLOAT):
    """Root of a monotone ``function(x, *args)`` between ``low`` and ``high``; NaN where there is none.

    Brent's method for a float, Chandrupatla's for an array (both from scipy, imported on first use so that
    importing this package stays quick). The ends must be of different sign; else the answer is NaN.
    """
    if xp is FLOAT:
        from scipy.optimize import brentq

        f_low, f_high = function(low, *args), function(high, *args)
        if f_low == 0.0:
            return low
        if f_high == 0.0:
            return high
        if not f_low * f_high < 0.0:
            return math.nan
        try:
            return brentq(function, low, high, args=args, xtol=1e-13, rtol=4 * np.finfo(float).eps)
        except ValueError:  # scipy's word for a function that is NaN on the way
            return math.nan
    from scipy.optimize import elementwise

    low, high, *rest = np.broadcast_arrays(low, high, *args)
    with np.errstate(
        invalid="ignore"
    ):  # scipy multiplies the ends' values by 0; one may be infinite
        found = elementwise.find_root(
            function,
            (low.astype(float), high.astype(float)),
            args=tuple(rest),
            tolerances={"xatol": 1e-13, "xrtol": 4 * np.finfo(float).eps},
        )
    return np.where(found.success, found.x, np.nan)
