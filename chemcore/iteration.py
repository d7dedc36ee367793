"""Iterates the equilibrium equations until they have settled.

The unknowns are the ionic strength, the activities of the metals and, where it is sought, the
hydrogen ion. A pass takes activity coefficients from the ionic strength, goes a few turns between
anions and metals at these, and finds the ionic strength that follows. After each pass comes
Anderson's acceleration with one pass of memory (Anderson 1965, J. ACM 12:547): the unknowns go back
by that share of the last step which, in least squares, makes the relative changes vanish. The share
is held down where the changes hardly differ, and is none while they are large, so that no unknown
leaves the positive numbers. The other answers go back by the same share at the end. Sodium, which
hardly pairs, follows the others and is not looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

from chemcore.numeric import LN10

#: Estimated relative error of the unknowns (root of the sum of squares) at which the substitution
#: has settled, and relative change at which it has come near enough where rounding keeps it from
#: that.
SETTLED, NEARLY_SETTLED = 2e-13, 1e-9
#: The estimate of the error left after a pass is the last change, times so many times what that
#: pass has gained on the one before it, and no less than TRUSTED_GAIN of the change, lest a chance
#: gain be trusted.
GAIN_WEIGHT, TRUSTED_GAIN = 10.0, 1e-3
#: Relative change that may be nothing but rounding: from there on no gain is to be had.
NOISE = 3e-15
#: Changes of the metals count so many times: they are those of the last turn, small beside what is
#: left.
TURN_WEIGHT = 100.0
#: Acceleration begins where the sum of the squares of the relative changes is below this.
NEAR_ENOUGH = 0.01
#: Share of that sum which holds the acceleration down where two passes' changes hardly differ.
DAMPING = 0.05
#: Turns between metals, anions and hydrogen ion in a pass where the pH is sought.
TURNS_FOR_PH = 3
#: Charge, as a share of the ionic strength, that is nothing but rounding.
ROUNDING = 1e-15
#: Natural logarithms of the hydrogen ion between which it is sought: pH 14.5 to -0.5.
LEAST_HYDROGEN, MOST_HYDROGEN = -14.5 * LN10, 0.5 * LN10
#: Steps at most of the search before the first pass, and the step at which it is near enough.
FIRST_STEPS, FIRST_NEAR = 24, 0.5


class Iterated(NamedTuple):
    """Where the iteration ended: ionic strength, the other unknowns and what follows, and whether
    it has settled.
    """

    mu: Any
    found: list[Any]
    settled: Any


def iterate(
    one_pass: Callable[..., Any], mu: Any, unknowns: Sequence[Any], xp: Any, passes: int
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

    Returns
    -------
    Iterated
        Where it ended; elements of an array that have not settled are told by ``settled``.
    """
    where, maximum, largest = xp.where, xp.maximum, xp.largest
    count = len(unknowns)
    mu_last, s_ca, s_mg, s_h, last = one_pass(mu, *unknowns)
    s_mu = (mu_last - mu) / mu_last
    change_last = s_mu * s_mu + s_ca * s_ca + s_mg * s_mg + s_h * s_h
    mu, unknowns = mu_last, last[:count]
    for _ in range(passes - 1):
        mu_new, r_ca, r_mg, r_h, found = one_pass(mu, *unknowns)
        r_mu = (mu_new - mu) / mu_new
        turned = r_ca * r_ca + r_mg * r_mg
        change = r_mu * r_mu + turned + r_h * r_h
        d_mu, d_ca, d_mg, d_h = r_mu - s_mu, r_ca - s_ca, r_mg - s_mg, r_h - s_h
        along = r_mu * d_mu + r_ca * d_ca + r_mg * d_mg + r_h * d_h
        across = d_mu * d_mu + d_ca * d_ca + d_mg * d_mg + d_h * d_h
        share = where(change < NEAR_ENOUGH, along / (across + DAMPING * change + 1e-40), 0.0)
        mu = maximum(mu_new - share * (mu_new - mu_last), 0.5 * mu_new)
        gain = change / (change_last + NOISE**2)
        left = (change + TURN_WEIGHT**2 * turned) * (GAIN_WEIGHT**2 * gain + TRUSTED_GAIN**2)
        if not largest(left) > SETTLED**2:
            return Iterated(mu, _back(found, last, share), True)
        unknowns = _back(found[:count], last, share)
        s_mu, s_ca, s_mg, s_h, change_last = r_mu, r_ca, r_mg, r_h, change
        mu_last, last_but_one, last = mu_new, last, found
    return Iterated(mu, _back(last, last_but_one, share), change < NEARLY_SETTLED**2)


def _back(new: Sequence[Any], old: Sequence[Any], share: Any) -> list[Any]:
    """Each of the new values, taken back by a share of its last step."""
    return [one - share * (one - before) for one, before in zip(new, old)]


def passes_for_ph(at_mu: Callable[..., Any], xp: Any) -> Callable[..., Any]:
    """The pass of :func:`iterate` where the hydrogen ion is one of the unknowns, as its natural
    logarithm.

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
    """Ionic strength, activities of the metals and logarithm of the hydrogen ion from which to set
    out.
    """

    mu: Any
    ca: Any
    mg: Any
    na: Any
    log_h: Any


def beginning(turn: Callable[..., Any], begin: Beginning, xp: Any) -> Beginning:
    """Where about the charges balance at these metals and activity coefficients, and what follows
    from that.

    Newton's steps, halving instead where one would leave the ends between which the balance has
    changed its sign.

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
