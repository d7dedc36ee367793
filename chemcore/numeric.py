"""One spelling of the mathematics for plain floats and for numpy arrays.

The equations are written once, with ``xp`` standing for one of the two back ends below:
:data:`FLOAT` for a single cell (fast, no numpy call) and :data:`ARRAY` for a column (no Python loop
per row).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any, Protocol, TypeAlias, cast

import numpy as np

from chemcore.errors import DomainError

#: An array of floats, and what every calculation takes and gives: one figure, or an array of them.
Array: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]
Number: TypeAlias = float | Array
#: Readings that were written down one below the other, NaN where one was missed.
Column: TypeAlias = Sequence[float] | Array

LN10 = math.log(10.0)
EPSILON = float(np.finfo(float).eps)


class Mathematics(Protocol):
    """What either back end does, for figures of its kind."""

    exp: Callable[[Any], Number]
    log10: Callable[[Any], Number]
    log: Callable[[Any], Number]
    sqrt: Callable[[Any], Number]
    maximum: Callable[[Any, Any], Number]
    minimum: Callable[[Any, Any], Number]
    where: Callable[[Any, Any, Any], Number]
    largest: Callable[[Any], float]


class _Float:
    """Back end for plain floats."""

    exp = staticmethod(math.exp)
    log10 = staticmethod(math.log10)
    log = staticmethod(math.log)
    sqrt = staticmethod(math.sqrt)
    maximum = staticmethod(max)
    minimum = staticmethod(min)

    @staticmethod
    def where(condition: Any, yes: Any, no: Any) -> Any:
        """``yes`` or ``no``; both have been worked out."""
        return yes if condition else no

    @staticmethod
    def largest(value: float) -> float:
        """The value itself."""
        return value


class _Array:
    """Back end for numpy arrays."""

    exp = np.exp
    log10 = np.log10
    log = np.log
    sqrt = np.sqrt
    maximum = np.maximum
    minimum = np.minimum
    where = np.where

    @staticmethod
    def largest(value: Array) -> Any:
        """The largest element that is a number, 0 where none is."""
        return np.fmax.reduce(value, axis=None, initial=0.0)


FLOAT = cast(Mathematics, _Float)
ARRAY = cast(Mathematics, _Array)


def backend(*values: Any) -> Mathematics:
    """:data:`ARRAY` where any value is an array, else :data:`FLOAT`.

    Parameters
    ----------
    *values
        Floats and arrays, in any mixture.

    Returns
    -------
    Mathematics
        What :data:`FLOAT` or :data:`ARRAY` stands for.
    """
    return ARRAY if np.ndarray in map(type, values) else FLOAT


def require(condition: Any, argument: str, reason: Callable[[], str], value: Number) -> Number:
    """``value`` where ``condition`` holds.

    A single value that fails raises :class:`DomainError` with the text of ``reason``; failing
    elements of an array become NaN, so that a column goes on and the caller can ask again for the
    one bad row.

    Parameters
    ----------
    condition
        True or false, or an array of these.
    argument
        Name of the argument at fault, for the refusal.
    reason
        Gives what is wrong and what would be right; called only where it is needed.
    value
        What is handed on.

    Returns
    -------
    Number
        ``value``, NaN in the elements that fail.

    Raises
    ------
    DomainError
        For ``argument``, where a single value fails.
    """
    if isinstance(condition, np.ndarray):
        return np.where(condition, value, np.nan)
    if not condition:
        raise DomainError(argument, reason())
    return value


#: Width, beside 4 times the rounding of the root itself, of the ends between which a root counts as
#: found.
ROOT_WIDTH = 1e-13
#: Steps at most of :func:`find_root`; halving alone needs less than 60 for any pair of ends here.
ROOT_STEPS = 200


def find_root(
    function: Callable[..., Any],
    low: Number,
    high: Number,
    args: Sequence[Any] = (),
    xp: Mathematics = FLOAT,
    near: tuple[Number, Number] | None = None,
) -> Number:
    """Root of a monotone ``function(x, *args)`` between ``low`` and ``high``; NaN where there is
    none.

    The ends must be of different sign; else the answer is NaN. Inverse quadratic interpolation
    where that is safe, else halving. Source: Chandrupatla 1997, Adv. Eng. Softw. 28:145.

    Parameters
    ----------
    function
        Of ``x`` and ``args``, all floats or all arrays of one length.
    low, high
        Ends; arrays, or floats for every row.
    args
        Further arguments of ``function``.
    xp
        Back end of the values.
    near
        A place near the root and about how steep the function is there: secants from there come
        first, and the ends only where these fail.

    Returns
    -------
    Number
        x, a float or one for each row.
    """
    if xp is FLOAT:
        ends = cast(float, low), cast(float, high)
        guess = cast(tuple[float, float] | None, near)
        found = _by_secants(function, *guess, *ends, args) if guess else math.nan
        return found if found == found else _root_of_float(function, *ends, args)
    lows, highs, *args = np.broadcast_arrays(low, high, *args)
    roots = np.full(lows.shape, math.nan)
    with np.errstate(all="ignore"):  # an end's value may be infinite
        x1, x2 = lows.astype(float).ravel(), highs.astype(float).ravel()
        args = [one.ravel() for one in args]
        if near:
            roots = _by_secants_of_array(function, *near, x1, x2, args).reshape(lows.shape)
        rows = np.flatnonzero(np.isnan(roots))
        if not rows.size:
            return roots
        x1, x2, args = x1[rows], x2[rows], [one[rows] for one in args]
        f1, f2 = function(x1, *args), function(x2, *args)
        roots.flat[rows[f2 == 0.0]] = x2[f2 == 0.0]
        roots.flat[rows[f1 == 0.0]] = x1[f1 == 0.0]
        left = f1 * f2 < 0.0
        rows, x1, x2, f1, f2 = (one[left] for one in (rows, x1, x2, f1, f2))
        args = [one[left] for one in args]
        share = np.full(rows.size, 0.5)
        for _ in range(ROOT_STEPS):
            if not rows.size:
                break
            x = x1 + share * (x2 - x1)
            f = function(x, *args)
            same = np.sign(f) == np.sign(f1)
            x3, f3 = np.where(same, x1, x2), np.where(same, f1, f2)
            x2, f2 = np.where(same, x2, x1), np.where(same, f2, f1)
            x1, f1 = x, f
            best = np.where(np.abs(f1) < np.abs(f2), x1, x2)
            least = (4.0 * EPSILON * np.abs(best) + ROOT_WIDTH) / np.abs(x2 - x1)
            done = (least > 0.5) | (f1 == 0.0)
            roots.flat[rows[done]] = best[done]
            xi, phi = (x1 - x2) / (x3 - x2), (f1 - f2) / (f3 - f2)
            curved = f1 / (f1 - f2) * f3 / (f3 - f2) - (x3 - x1) / (x2 - x1) * f1 / (
                f3 - f1
            ) * f2 / (f2 - f3)
            safe = (phi * phi < xi) & ((1.0 - phi) * (1.0 - phi) < 1.0 - xi)
            share = np.where(safe, curved, 0.5)
            share = np.minimum(np.maximum(share, least), 1.0 - least)
            left = ~done & (f == f)  # a function that is NaN on the way has no root
            if not left.all():
                rows, x1, x2, f1, f2, share = (one[left] for one in (rows, x1, x2, f1, f2, share))
                args = [one[left] for one in args]
    return roots


#: Secants at most before the ends are tried; the relative step after which a root counts as found;
#: and, where steps shrink tenfold or more, the product of the last two relative steps after which
#: it does: the error left is about that.
SECANTS, SECANT_STEP, SECANT_PRODUCT, SECANT_GAIN = 10, 1e-9, 1e-12, 0.1


def _by_secants(
    function: Callable[..., float],
    x0: float,
    slope: float,
    low: float,
    high: float,
    args: Sequence[Any],
) -> float:
    """Root between the ends by secants, NaN where they leave these or do not come to rest."""
    f0 = function(x0, *args)
    x1 = min(max(x0 - f0 / slope, low), high)
    for _ in range(SECANTS):
        f1 = function(x1, *args)
        if f1 == 0.0:
            return x1
        if x0 == x1 or f0 == f1 or f0 != f0 or f1 != f1:
            break
        x2 = x1 - f1 * (x1 - x0) / (f1 - f0)
        if not low <= x2 <= high:
            break
        step, last, size = abs(x2 - x1), abs(x1 - x0), abs(x2)
        if step <= SECANT_STEP * size or (
            step <= SECANT_GAIN * last and step * last <= SECANT_PRODUCT * size * size
        ):
            return x2
        x0, f0, x1 = x1, f1, x2
    return math.nan


def _by_secants_of_array(
    function: Callable[..., Any],
    near: Number,
    slope: Number,
    low: Array,
    high: Array,
    args: Sequence[Any],
) -> Array:
    """:func:`_by_secants` for all rows at once; a row that is done stays where it is until the last
    is.
    """
    found = np.full(low.shape, math.nan)
    x0 = near + np.zeros_like(low)
    f0 = function(x0, *args)
    x1 = np.clip(x0 - f0 / slope, low, high)
    going = f0 == f0
    for _ in range(SECANTS):
        f1 = function(x1, *args)
        x2 = x1 - np.where(f1 == 0.0, 0.0, f1 * (x1 - x0) / (f1 - f0))
        going &= (x2 >= low) & (x2 <= high) & ((x1 != x0) | (f1 == 0.0))
        step, last, size = abs(x2 - x1), abs(x1 - x0), abs(x2)
        near_enough = (step <= SECANT_GAIN * last) & (step * last <= SECANT_PRODUCT * size * size)
        done = going & ((step <= SECANT_STEP * size) | near_enough)
        found[done] = x2[done]
        going &= ~done
        if not going.any():
            break
        x0, f0, x1 = x1, f1, np.where(going, x2, x1)
    return found


def _root_of_float(
    function: Callable[..., Any], x1: float, x2: float, args: Sequence[Any]
) -> float:
    """:func:`find_root` for a float."""
    f1, f2 = function(x1, *args), function(x2, *args)
    if f1 == 0.0:
        return x1
    if f2 == 0.0:
        return x2
    if not f1 * f2 < 0.0:
        return math.nan
    share = 0.5
    for _ in range(ROOT_STEPS):
        x = x1 + share * (x2 - x1)
        f = function(x, *args)
        if f == 0.0:
            return x
        if f != f:  # NaN on the way
            break
        if (f > 0.0) == (f1 > 0.0):
            x3, f3 = x1, f1
        else:
            x3, f3, x2, f2 = x2, f2, x1, f1
        x1, f1 = x, f
        best = x1 if abs(f1) < abs(f2) else x2
        least = (4.0 * EPSILON * abs(best) + ROOT_WIDTH) / abs(x2 - x1)
        if least > 0.5:
            return best
        share = 0.5
        if f3 != f2 and abs(f3) != math.inf != abs(f2):
            xi, phi = (x1 - x2) / (x3 - x2), (f1 - f2) / (f3 - f2)
            if phi * phi < xi and (1.0 - phi) * (1.0 - phi) < 1.0 - xi:
                share = f1 / (f1 - f2) * f3 / (f3 - f2) - (x3 - x1) / (x2 - x1) * f1 / (
                    f3 - f1
                ) * f2 / (f2 - f3)
        share = min(max(share, least), 1.0 - least)
    return math.nan
