"""A malt's own figures, its pH in demineralised water and its buffering, from a titration of its
mash.

Milled malt is mashed in demineralised water; to equal portions, or to one portion step by step, a
known volume of strong acid or base is given, and the cooled pH read. Base counts negative.

A malt's titration bends. deLange (2015, MBAA Tech. Quarterly 52(1), abstract) expands what a malt
takes up in three powers of the distance from its own pH. The same number of terms is tried here,
with the pH as a cubic in what was added, because the error is in the pH; it is kept only where an F
test at 95 % says that it fits better than a straight line. The rest of
:mod:`chemcore.mash` counts with one buffering a malt: that between its own pH and the mash's.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from chemcore.errors import DomainError
from chemcore.numeric import Array, Column, Number
from chemcore.readings import pairs
from chemcore.tables import given_or
from chemcore.uncertainty import Z95

#: Readings that a straight line, and a cubic, take at least: one more than their figures, and three
#: more.
FEWEST_READINGS, FEWEST_TO_BEND = 3, 7
#: A meter may drift up by this much between two readings; more is a slip of the pen.
LARGEST_RISE = 0.1
#: Buffering in mEq/(kg pH) that a malt may have: well around the 21 to 63 that are published.
LEAST_BUFFERING, MOST_BUFFERING = 5.0, 200.0


class MaltBuffer(NamedTuple):
    """A malt's figures with half the widths of their 95 % intervals, and whether the bent curve was
    kept.

    ``ph`` in demineralised water; ``buffering`` in mEq/(kg pH), the mean between ``ph`` and the
    mash's pH.
    """

    ph: float
    buffering: float
    ph_half_width: float
    buffering_half_width: float
    bent: bool


def malt_buffer(
    ml: Column,
    phs: Column,
    malt_g: float,
    normality: float,
    mash_ph: float | None = None,
    ph_error: Number | None = None,
    titrant_error: Number | None = None,
) -> MaltBuffer:
    """The figures of a malt from its titration.

    Parameters
    ----------
    ml
        Strong acid added at each reading, mL in all to that portion; base negative; 0 for none.
    phs
        pH of each, cooled sample; NaN where one was missed.
    malt_g
        Malt in the portion, g.
    normality
        Of acid and base, eq/L.
    mash_ph
        pH to which the buffering is wanted; left out, that of data/constants.csv.
    ph_error
        Standard error of the meter's zero, the same for all readings, pH.
    titrant_error
        Standard error of titrant and weight together, %.

    Returns
    -------
    MaltBuffer
        Its intervals hold the scatter of the readings about the curve (Student's t), the meter's
        zero in ``ph`` and the titrant in ``buffering``. How far another bag or another mash differs
        is not in them.

    Raises
    ------
    DomainError
        For columns of unlike length, fewer than three readings, a pH that rises with acid, readings
        that do not reach from no addition to ``mash_ph``, or figures that no malt has.
    """
    wanted = given_or(mash_ph, "mash_ph_wanted")
    added, ph = _readings(ml, phs, malt_g, normality)
    if not added.min() <= 0.0 <= added.max():
        raise DomainError(
            "ml", "none of the readings is without acid or base; give that of the malt alone, 0 mL"
        )
    if not ph.min() <= wanted <= ph.max():
        raise DomainError(
            "mash_ph",
            f"{wanted:g} is outside the readings, pH {ph.min():g} to {ph.max():g}; titrate further,"
            f" with {'base' if wanted > ph.max() else 'acid'}",
        )
    line = _fit(added, ph, 1)
    cubic = _fit(added, ph, 3) if len(ph) >= FEWEST_TO_BEND else None
    kept = cubic if cubic and _bends(line, cubic, added) else line
    figures = _figures(kept.terms, wanted, added)
    half = _half_widths(kept, wanted, added)
    zero = Z95 * given_or(ph_error, "error_ph")
    titrant = Z95 * given_or(titrant_error, "error_titrant") / 100.0
    found = MaltBuffer(
        figures[0],
        figures[1],
        float(np.hypot(half[0], zero)),
        float(np.hypot(half[1], titrant * figures[1])),
        kept is cubic,
    )
    if not LEAST_BUFFERING <= found.buffering <= MOST_BUFFERING:
        raise DomainError(
            "malt_g",
            f"{malt_g:g} g would buffer {found.buffering:.3g} mEq/(kg·pH), outside"
            f" {LEAST_BUFFERING:g} to {MOST_BUFFERING:g}; look at malt_g, normality and the mL"
            " again",
        )
    return found


class _Curve(NamedTuple):
    """A polynomial in what was added: its terms from the constant up, the covariance, and the
    squares left over.
    """

    terms: np.ndarray
    covariance: np.ndarray
    squares: float
    freedom: int


def _readings(ml: Column, phs: Column, malt_g: float, normality: float) -> tuple[Array, Array]:
    """mEq of acid added for a kg of malt, rising, and the pH of each."""
    ml, ph, rows = pairs(ml, phs, "type what was added, 0 for the malt alone")
    order = np.argsort(ml, kind="stable")
    ml, ph, rows = ml[order], ph[order], rows[order]
    if len(np.unique(ml)) < FEWEST_READINGS:
        raise DomainError(
            "phs",
            f"{len(np.unique(ml))} different additions make no titration; give {FEWEST_READINGS} or"
            " more",
        )
    for i in np.flatnonzero(np.diff(ph) > LARGEST_RISE):
        raise DomainError(
            "phs",
            f"row {rows[i + 1]} has pH {ph[i + 1]:g} with more acid than the {ph[i]:g} of row"
            f" {rows[i]}; acid only lowers pH (base is negative mL)",
        )
    if not ph[0] > ph[-1]:
        raise DomainError("phs", "the pH does not fall with acid; base is negative mL")
    return 1000.0 * normality * ml / malt_g, ph


def _fit(added: Array, ph: Array, degree: int) -> _Curve:
    """Least squares of the pH on what was added."""
    scale = abs(added).max()
    powers = np.vander(added / scale, degree + 1, increasing=True)
    terms, *_ = np.linalg.lstsq(powers, ph, rcond=None)
    rest = ph - powers @ terms
    squares, freedom = float(rest @ rest), len(ph) - degree - 1
    inverse = np.linalg.pinv(powers.T @ powers)
    scales = scale ** -np.arange(degree + 1.0)
    covariance = inverse * (squares / freedom) * np.outer(scales, scales)
    return _Curve(terms * scales, covariance, squares, freedom)


def _bends(line: _Curve, cubic: _Curve, added: Array) -> bool:
    """Whether the cubic fits better than the line by an F test at 95 %, and falls everywhere
    between the readings.
    """
    from scipy.special import fdtri  # on first use: importing scipy takes longer than all else

    limit = float(fdtri(2, cubic.freedom, 0.95))
    gained = (line.squares - cubic.squares) / 2.0
    between = np.linspace(added.min(), added.max(), 101)
    falls = np.polynomial.Polynomial(cubic.terms).deriv()(between) < 0.0
    return bool(gained > limit * cubic.squares / cubic.freedom and falls.all())


def _figures(terms: Array, wanted: float, added: Array) -> tuple[float, float]:
    """pH of the malt alone, and the mean buffering from there to the wanted pH."""
    polynomial = np.polynomial.Polynomial(terms)
    own = float(terms[0])
    roots = (polynomial - wanted).roots()
    real = roots[abs(roots.imag) < 1e-9].real
    span = np.ptp(added)
    inside = real[(real >= added.min() - 0.2 * span) & (real <= added.max() + 0.2 * span)]
    if not len(inside):
        raise DomainError(
            "phs", f"the curve through the readings does not reach pH {wanted:g}; titrate further"
        )
    to = float(inside[np.argmin(abs(inside))])
    steps = to ** np.arange(len(terms) - 1.0)  # (pH - own)/added: no division by nothing near own
    slope = float(terms[1:] @ steps)
    if not slope < 0.0:
        raise DomainError("phs", "the pH does not fall with acid; base is negative mL")
    return own, -1.0 / slope


def _half_widths(curve: _Curve, wanted: float, added: Array) -> tuple[float, float]:
    """Half the 95 % intervals of both figures from the scatter of the readings, by the change with
    each term.
    """
    from scipy.special import stdtrit

    best = np.array(_figures(curve.terms, wanted, added))
    changes = []
    for i, error in enumerate(np.sqrt(np.diag(curve.covariance))):
        moved = curve.terms.copy()
        step = 1e-3 * error
        moved[i] += step
        changes.append(
            (np.array(_figures(moved, wanted, added)) - best) / step if step else 0.0 * best
        )
    gradient = np.array(changes)
    variances = np.einsum("if,ij,jf->f", gradient, curve.covariance, gradient)
    t = float(stdtrit(curve.freedom, 0.975))
    return tuple(t * np.sqrt(np.maximum(variances, 0.0)))
