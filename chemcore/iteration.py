"""Iterates the equilibrium equations until they have settled.

The unknowns are the ionic strength, the activities of the metals and, where it is sought, the hydrogen ion. A pass
takes activity coefficients from the ionic strength, goes a few turns between anions and metals at these, and finds the
ionic strength that follows. After each pass comes Anderson's acceleration with one pass of memory (Anderson 1965, J. ACM
12:547): the unknowns go back by that share of the last step which, in least squares, makes the relative changes vanish.
The share is held down where the changes hardly differ, and is none while they are large, so that no unknown leaves the
positive numbers. The other answers go back by the same share at the end. Sodium, which hardly pairs, follows the others
and is not looked at.

Once the turns have settled the rest at each ionic strength, that is the one unknown left: where its change has fallen fast
twice in a row, it and all that follows come from the last three passes, by inverse quadratic interpolation to no change
(Brent 1973, Algorithms for Minimization without Derivatives, ch. 4, from memory). Most waters need three passes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

import numpy as np

from chemcore.numeric import FLOAT, LN10

#: Estimated relative error of the unknowns (root of the sum of squares) at which the substitution has settled, and
#: relative change at which it has come near enough where rounding keeps it from that.
SETTLED, NEARLY_SETTLED = 2e-13, 1e-9
#: The estimate of the error left after a pass is the last change, times so many times what that pass has gained on the
#: one before it, and no less than TRUSTED_GAIN of the change, lest a chance gain be trusted.
GAIN_WEIGHT, TRUSTED_GAIN = 10.0, 1e-3
#: Relative change that may be nothing but rounding: from there on no gain is to be had.
NOISE = 3e-15
#: Changes of the metals count so many times: they are those of the last turn, small beside what is left.
TURN_WEIGHT = 100.0
#: Their squares, as the iteration compares them.
_SETTLED, _NEARLY_SETTLED, _NOISE = SETTLED**2, NEARLY_SETTLED**2, NOISE**2
_GAIN_WEIGHT, _TRUSTED_GAIN, _TURN_WEIGHT = GAIN_WEIGHT**2, TRUSTED_GAIN**2, TURN_WEIGHT**2
#: Acceleration begins where the sum of the squares of the relative changes is below this.
NEAR_ENOUGH = 0.01
#: Where the ionic strength's change falls to the share FALL or less, twice in a row, and the changes within the last turn
#: times INNER are below it, inverse quadratic interpolation follows. The error left is at most about CURVED times the
#: product of the last three changes of the ionic strength, and TURNED times the change within the last turn.
FALL, INNER, CURVED, TURNED = 0.25, 100.0, 0.03, 0.3
_FALL, _INNER, _CURVED, _TURNED = FALL**2, INNER**2, CURVED**2, TURNED**2
#: Share of that sum which holds the acceleration down where two passes' changes hardly differ.
DAMPING = 0.05
#: Turns between metals, anions and hydrogen ion in a pass where the pH is sought.
TURNS_FOR_PH = 5
#: Share of the rows of an array that may go on without the others at most, which then leave.
MOST_TO_NARROW = 0.5
#: Charge, as a share of the ionic strength, that is nothing but rounding.
ROUNDING = 1e-15
#: Natural logarithms of the hydrogen ion between which it is sought: pH 14.5 to -0.5.
LEAST_HYDROGEN, MOST_HYDROGEN = -14.5 * LN10, 0.5 * LN10
#: Steps at most of the search before the first pass, and the step at which it is near enough.
FIRST_STEPS, FIRST_NEAR = 24, 1.5


class Iterated(NamedTuple):
    """Where the iteration ended: ionic strength, the other unknowns and what follows, and whether it has settled."""

    mu: Any
    found: list[Any]
    settled: Any


def iterate(
    one_pass: Callable[..., Any],
    mu: Any,
    unknowns: Sequence[Any],
    xp: Any,
    passes: int,
    for_rows: Callable[[Any, int], Callable[..., Any]] | None = None,
) -> Iterated:
    """Repeat a pass until it has settled.

    Parameters
    ----------
    one_pass
        Takes the ionic strength and the ``unknowns``; gives the new ionic strength, the relative
        changes of calcium, magnesium and hydrogen ion within its last turn, and a tuple of the new
        unknowns with whatever else follows.
    mu, unknowns
        Where to begin: mol/kg, activities on the molal scale.
    xp
        Back end of the values.
    passes
        Passes at most, two or more.
    for_rows
        Makes the pass of some rows of an array, from their numbers and the number of all: rows that
        have settled leave the others. Without it all go on until the last has settled.

    Returns
    -------
    Iterated
        Where it ended; elements of an array that have not settled are told by ``settled``.
    """
    if xp is FLOAT:
        return _iterate_floats(one_pass, mu, unknowns, passes)
    return _iterate_arrays(one_pass, mu, unknowns, passes, for_rows)


def _iterate_floats(
    one_pass: Callable[..., Any], mu: float, unknowns: Sequence[float], passes: int
) -> Iterated:
    """:func:`iterate` for one water; ``_1`` is the last pass, ``_2`` the one before it."""
    count = len(unknowns)
    mu_1, s_ca, s_mg, s_h, found_1 = one_pass(mu, *unknowns)
    off_1 = mu_1 - mu
    s_mu = off_1 / mu_1
    outer_1 = s_mu * s_mu
    inner_1 = s_ca * s_ca + s_mg * s_mg + s_h * s_h
    change_1 = outer_1 + inner_1
    off_2, mu_2, outer_2, inner_2, found_2 = 0.0, mu_1, 0.0, 0.0, found_1
    falls_1: Any = False
    mu, unknowns = mu_1, found_1[:count]
    for _ in range(passes - 1):
        mu_new, r_ca, r_mg, r_h, found = one_pass(mu, *unknowns)
        off = mu_new - mu
        r_mu = off / mu_new
        outer, turned = r_mu * r_mu, r_ca * r_ca + r_mg * r_mg
        inner = turned + r_h * r_h
        change = outer + inner
        falls = outer < _FALL * outer_1 and _INNER * inner < outer
        if falls and falls_1:
            share = off_2 * off / ((off_1 - off_2) * (off_1 - off))
            share_2 = off_1 * off / ((off_2 - off_1) * (off_2 - off))
            left = _left((outer, outer_1, outer_2), (inner, inner_1, inner_2))
            mu = mu_new + share * (mu_1 - mu_new) + share_2 * (mu_2 - mu_new)
            back = [
                new + share * (last - new) + share_2 * (before - new)
                for new, last, before in zip(found, found_1, found_2)
            ]
        else:
            d_mu, d_ca, d_mg, d_h = r_mu - s_mu, r_ca - s_ca, r_mg - s_mg, r_h - s_h
            along = r_mu * d_mu + r_ca * d_ca + r_mg * d_mg + r_h * d_h
            across = d_mu * d_mu + d_ca * d_ca + d_mg * d_mg + d_h * d_h
            share = along / (across + DAMPING * change + 1e-40) if change < NEAR_ENOUGH else 0.0
            gain = change / (change_1 + _NOISE)
            left = (change + _TURN_WEIGHT * turned) * (_GAIN_WEIGHT * gain + _TRUSTED_GAIN)
            mu = mu_new + share * (mu_1 - mu_new)
            back = [new + share * (last - new) for new, last in zip(found, found_1)]
        mu = max(mu, 0.5 * mu_new)
        if not left > _SETTLED:
            return Iterated(mu, back, True)
        unknowns = back[:count]
        s_mu, s_ca, s_mg, s_h, change_1, falls_1 = r_mu, r_ca, r_mg, r_h, change, falls
        off_2, mu_2, outer_2, inner_2, found_2 = off_1, mu_1, outer_1, inner_1, found_1
        off_1, mu_1, outer_1, inner_1, found_1 = off, mu_new, outer, inner, found
    return Iterated(mu, back, change < _NEARLY_SETTLED)


def _left(outer: tuple[Any, ...], inner: tuple[Any, ...]) -> Any:
    """Square of the error left by inverse quadratic interpolation, from the squares of the last three passes' changes.

    ``outer`` are those of the ionic strength, ``inner`` those within the last turn, each with the weight of its pass.
    """
    now, last, before = outer
    steep, steeper = last + 1e-60, before * before + 1e-60  # which may be 0 in a row of an array
    turns = inner[0] + now * (inner[1] / steep + inner[2] * last / steeper)
    return _CURVED * now * last * before + _TURNED * turns


def _iterate_arrays(
    one_pass: Callable[..., Any],
    mu: Any,
    unknowns: Sequence[Any],
    passes: int,
    for_rows: Callable[[Any, int], Callable[..., Any]] | None,
) -> Iterated:
    """:func:`iterate` for many waters at once; ``_1`` is the last pass, ``_2`` the one before it."""
    count = len(unknowns)
    mu_1, s_ca, s_mg, s_h, found_1 = one_pass(mu, *unknowns)
    off_1 = mu_1 - mu
    s_mu = off_1 / mu_1
    outer_1 = s_mu * s_mu
    inner_1 = s_ca * s_ca + s_mg * s_mg + s_h * s_h
    change_1 = outer_1 + inner_1
    off_2, mu_2, outer_2, inner_2, found_2 = 0.0, mu_1, 0.0, 0.0, found_1
    falls_1: Any = False
    mu, unknowns = mu_1, found_1[:count]
    ended: list[Any] | None = None
    rows: Any = None
    for to_come in reversed(range(passes - 1)):
        mu_new, r_ca, r_mg, r_h, found = one_pass(mu, *unknowns)
        off = mu_new - mu
        r_mu = off / mu_new
        outer, turned = r_mu * r_mu, r_ca * r_ca + r_mg * r_mg
        inner = turned + r_h * r_h
        change = outer + inner
        falls = (outer < _FALL * outer_1) & (_INNER * inner < outer)
        curved = falls & falls_1
        share_2 = None
        if np.count_nonzero(curved) > MOST_TO_NARROW * curved.size:
            # the others stay where the pass has led, and accelerate among themselves once these have left
            others = ~curved
            over = np.where(curved, off, 0.0) / (off_1 - off_2 + others)
            share = off_2 * over / (off_1 - off + others)
            share_2 = off_1 * over / (off - off_2 + others)
            left = np.where(
                curved, _left((outer, outer_1, outer_2), (inner, inner_1, inner_2)), change
            )
        else:
            d_mu, d_ca, d_mg, d_h = r_mu - s_mu, r_ca - s_ca, r_mg - s_mg, r_h - s_h
            along = r_mu * d_mu + r_ca * d_ca + r_mg * d_mg + r_h * d_h
            across = d_mu * d_mu + d_ca * d_ca + d_mg * d_mg + d_h * d_h
            share = np.where(change < NEAR_ENOUGH, along / (across + DAMPING * change + 1e-40), 0.0)
            gain = change / (change_1 + _NOISE)
            left = (change + _TURN_WEIGHT * turned) * (_GAIN_WEIGHT * gain + _TRUSTED_GAIN)
        going = left > _SETTLED
        keep = np.flatnonzero(going)
        few = keep.size <= MOST_TO_NARROW * going.size
        wanted = None if few or not to_come else count
        back = [
            new + share * (last - new)
            for new, last in zip((mu_new, *found[:wanted]), (mu_1, *found_1))
        ]
        if share_2 is not None:
            back = [
                one + share_2 * (before - new)
                for one, new, before in zip(back, (mu_new, *found), (mu_2, *found_2))
            ]
        mu = np.maximum(back.pop(0), 0.5 * mu_new)
        if not keep.size:
            return Iterated(*_together(ended, rows, mu, back), True)
        if few and for_rows and going.ndim == 1:
            rows = np.arange(going.size) if rows is None else rows
            ended = ended or [np.empty(going.size) for _ in (mu, *back)]
            _together(ended, rows, mu, back)
            rows = rows[keep]
            one_pass = for_rows(rows, len(ended[0]))
            now = (mu, mu_new, off, change, falls, outer, inner, r_mu, r_ca, r_mg, r_h)
            before = (mu_1, off_1, outer_1, inner_1)
            state, (mu_1, off_1, outer_1, inner_1), back, found, found_1 = (
                pick_rows(values, keep, going.size)
                for values in (now, before, back, found, found_1)
            )
            mu, mu_new, off, change, falls, outer, inner, r_mu, r_ca, r_mg, r_h = state
        unknowns = back[:count]
        s_mu, s_ca, s_mg, s_h, change_1, falls_1 = r_mu, r_ca, r_mg, r_h, change, falls
        off_2, mu_2, outer_2, inner_2, found_2 = off_1, mu_1, outer_1, inner_1, found_1
        off_1, mu_1, outer_1, inner_1, found_1 = off, mu_new, outer, inner, found
    settled = change < _NEARLY_SETTLED
    if ended is not None:
        among, settled = settled, np.ones(len(ended[0]), dtype=bool)
        settled[rows] = among
    return Iterated(*_together(ended, rows, mu, back), settled)


def _together(
    ended: list[Any] | None, rows: Any, mu: Any, back: list[Any]
) -> tuple[Any, list[Any]]:
    """Ionic strength and the rest with what the rows that went on have come to."""
    if ended is None:
        return mu, back
    for whole, some in zip(ended, (mu, *back)):
        whole[rows] = some
    return ended[0], ended[1:]


def pick_rows(values: Sequence[Any], rows: Any, size: int) -> list[Any]:
    """The values of some rows, of arrays with one for each of ``size`` rows; all else stays as it is.

    Parameters
    ----------
    values
        Floats, arrays, and dictionaries of these.
    rows
        Numbers of the rows.
    size
        Of the whole.

    Returns
    -------
    list[Any]
        In the order of ``values``.
    """
    return [
        one[rows]
        if isinstance(one, np.ndarray) and one.shape == (size,)
        else dict(zip(one, pick_rows(list(one.values()), rows, size)))
        if isinstance(one, dict)
        else one
        for one in values
    ]


def passes_for_ph(at_mu: Callable[..., Any], xp: Any) -> Callable[..., Any]:
    """The pass of :func:`iterate` where the hydrogen ion is one of the unknowns, as its natural logarithm.

    In each turn the hydrogen ion moves by Newton's step on the balance of charge, the metals held.

    Parameters
    ----------
    at_mu
        From the text of :func:`chemcore.equation_text.text_for_ph`.
    xp
        Back end of the values.

    Returns
    -------
    Callable[..., Any]
        A pass for :func:`iterate`, over calcium, magnesium, sodium and the logarithm of the
        hydrogen ion.
    """
    exp, maximum, minimum = xp.exp, xp.maximum, xp.minimum

    def one_pass(mu: Any, ca: Any, mg: Any, na: Any, log_h: Any) -> tuple[Any, ...]:
        turn = at_mu(mu)
        for left in reversed(range(TURNS_FOR_PH)):  # the ionic strength follows from the last
            ca_old, mg_old = ca, mg
            charge, slope, mu_new, ca, mg, na = turn(exp(log_h), ca, mg, na, not left)
            step = maximum(minimum(charge / slope, 1.0), -1.0)
            log_h = log_h - step
        r_ca, r_mg = (ca - ca_old) / (ca + 1e-30), (mg - mg_old) / (mg + 1e-30)
        r_h = xp.where(abs(charge) > ROUNDING * mu_new, step, 0.0)
        return mu_new, r_ca, r_mg, r_h, (ca, mg, na, log_h)

    return one_pass


class Beginning(NamedTuple):
    """Ionic strength, activities of the metals and logarithm of the hydrogen ion from which to set out."""

    mu: Any
    ca: Any
    mg: Any
    na: Any
    log_h: Any


def beginning(turn: Callable[..., Any], begin: Beginning, xp: Any) -> Beginning:
    """Where about the charges balance at these metals and activity coefficients, and what follows from that.

    Newton's steps, halving instead where one would leave the ends between which the balance has changed its sign.

    Parameters
    ----------
    turn
        What ``at_mu`` of :func:`chemcore.equation_text.text_for_ph` gives for an ionic strength.
    begin
        A guess: mol/kg, activities on the molal scale, natural logarithm of the hydrogen ion.
    xp
        Back end of the values: :func:`chemcore.numeric.backend`.

    Returns
    -------
    Beginning
        About half a unit of pH from the balance.
    """
    where, exp, largest = xp.where, xp.exp, xp.largest
    _, ca, mg, na, log_h = begin
    low, high = LEAST_HYDROGEN, MOST_HYDROGEN
    for _ in range(FIRST_STEPS):
        charge, slope, *follows = turn(exp(log_h), ca, mg, na, True)
        short = charge < 0.0
        low, high = where(short, log_h, low), where(short, high, log_h)
        new = log_h - charge / slope
        new = where((new > low) & (new < high), new, 0.5 * (low + high))
        step, log_h = abs(new - log_h), new
        if not largest(step) > FIRST_NEAR:
            break
    return Beginning(*follows, log_h)  # type: ignore[call-arg]
