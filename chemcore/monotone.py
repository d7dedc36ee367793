"""A smooth curve through points that never swings past them: piecewise cubic, monotone where the
points are.

Fritsch & Carlson 1980, SIAM J. Numer. Anal. 17:238, with the slopes of Fritsch & Butland 1984, SIAM
J. Sci. Stat. Comput. 5:300 (weighted harmonic means), as in scipy's PchipInterpolator, which takes
longer to import than all of this package.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable
from typing import Any

import numpy as np


class MonotoneCurve:
    """The curve through two or more points, by rising ``x``; NaN outside them.

    Parameters
    ----------
    x, y
        Coordinates of the points, in any unit; ``x`` must rise from point to point.
    """

    def __init__(self, x: Iterable[float], y: Iterable[float]) -> None:
        self.x, self.y = [float(one) for one in x], [float(one) for one in y]
        width = [b - a for a, b in zip(self.x, self.x[1:])]
        if not width or min(width) <= 0.0:
            raise ValueError("two points or more are needed, and x must rise")
        secant = [(b - a) / w for a, b, w in zip(self.y, self.y[1:], width)]
        slopes = _slopes(width, secant)
        #: Factors of the cube, the square and the first power of the way into each piece.
        self._pieces = [
            ((left + right - 2.0 * s) / w / w, (3.0 * s - 2.0 * left - right) / w, left)
            for left, right, s, w in zip(slopes, slopes[1:], secant, width)
        ]

    def __call__(self, x: Any) -> Any:
        """Value at ``x``, a float or an array."""
        if isinstance(x, np.ndarray):
            return self._of_array(x)
        if not self.x[0] <= x <= self.x[-1]:
            return math.nan
        piece = min(bisect_right(self.x, x), len(self._pieces)) - 1
        cube, square, first = self._pieces[piece]
        way = x - self.x[piece]
        return ((cube * way + square) * way + first) * way + self.y[piece]

    def first_at(self, y: float) -> float:
        """Least ``x`` at which the curve has the value ``y``; NaN where it has it nowhere."""
        if self.y[0] == y:
            return self.x[0]
        for piece, (start, end) in enumerate(zip(self.y, self.y[1:])):
            if min(start, end) <= y <= max(start, end):
                return self._within(piece, y)
        return math.nan

    def _within(self, piece: int, y: float) -> float:
        """Where a piece has a value between those of its ends: halved until two neighbouring floats
        are left.
        """
        cube, square, first = self._pieces[piece]
        start, end = self.y[piece : piece + 2]
        if y == end:
            return self.x[piece + 1]
        low, high = 0.0, self.x[piece + 1] - self.x[piece]
        while True:
            way = 0.5 * (low + high)
            if not low < way < high:
                return self.x[piece] + way
            if (((cube * way + square) * way + first) * way + start < y) == (start < end):
                low = way
            else:
                high = way

    def _of_array(self, x: np.ndarray) -> np.ndarray:
        points = np.array(self.x)
        piece = np.searchsorted(points, x, side="right") - 1
        piece = np.clip(piece, 0, len(self._pieces) - 1)
        cube, square, first = np.array(self._pieces).T[:, piece]
        way = x - points[piece]
        value = ((cube * way + square) * way + first) * way + np.array(self.y)[piece]
        return np.where((x >= points[0]) & (x <= points[-1]), value, np.nan)


def _slopes(width: list[float], secant: list[float]) -> list[float]:
    """Slope of the curve at each point."""
    if len(width) == 1:
        return [secant[0], secant[0]]
    inner = []
    for w0, w1, s0, s1 in zip(width, width[1:], secant, secant[1:]):
        if s0 * s1 <= 0.0:  # a turning point, or a level piece on one side
            inner.append(0.0)
        else:
            near, far = 2.0 * w1 + w0, w1 + 2.0 * w0
            inner.append((near + far) / (near / s0 + far / s1))
    first = _end_slope(width[0], width[1], secant[0], secant[1])
    last = _end_slope(width[-1], width[-2], secant[-1], secant[-2])
    return [first, *inner, last]


def _end_slope(w0: float, w1: float, s0: float, s1: float) -> float:
    """Slope at an end: that of the parabola through three points, held so that the shape is
    kept.
    """
    slope = ((2.0 * w0 + w1) * s0 - w0 * s1) / (w0 + w1)
    if slope * s0 <= 0.0:
        return 0.0
    if s0 * s1 <= 0.0 and abs(slope) > 3.0 * abs(s0):
        return 3.0 * s0
    return slope
