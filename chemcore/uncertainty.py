"""How far off a dose may be, from the errors of what was measured."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import cache
from statistics import NormalDist
from typing import NamedTuple

import numpy as np

from chemcore.acids import Acid, checked_strength
from chemcore.dosing import dose_volume
from chemcore.errors import DomainError
from chemcore.numeric import Column, Number, backend, find_root, require
from chemcore.tables import given_or
from chemcore.titration import calcium_for, curve, dose_of_equivalents, ml_at_ph
from chemcore.water import Ions

#: Standard errors from the middle to either end of a 95 % interval.
Z95 = NormalDist().inv_cdf(0.975)


class Interval(NamedTuple):
    """Lower and upper end."""

    low: Number
    high: Number


def interval_95(
    answer: Callable[..., Number],
    middle: Sequence[Number],
    errors: Sequence[Number],
    least: float = 0.0,
) -> Interval:
    """95 % interval of ``answer(*inputs)``, not below ``least``, for independent normal errors of
    the inputs.

    Each input alone is moved to both ends of its own 95 % interval, through the whole model; the
    changes upward and those downward are each combined in quadrature. Where one end lies outside
    the model, the change at the other end stands for it. Exact for one input that counts and any
    monotone model, and for any number in a linear one (Zou & Donner 2008, Statist. Med. 27:1693,
    from memory).

    Parameters
    ----------
    answer
        The model, of as many inputs as ``middle`` has.
    middle
        What was measured.
    errors
        Standard error of each, in its own unit.
    least
        Bound of the lower end.

    Returns
    -------
    Interval
        In the unit of ``answer``.
    """
    best = answer(*middle)
    xp = backend(best, *middle, *errors)
    upward: Number = 0.0
    downward: Number = 0.0
    for i, error in enumerate(errors):
        ends = []
        for sign in (1.0, -1.0):
            moved = [*middle]
            moved[i] = middle[i] + sign * Z95 * error
            ends.append(_change(answer, moved, best))
        up, down = ends
        up, down = xp.where(up == up, up, -down), xp.where(down == down, down, -up)
        upward = upward + xp.maximum(xp.maximum(up, down), 0.0) ** 2
        downward = downward + xp.minimum(xp.minimum(up, down), 0.0) ** 2
    low = best - xp.sqrt(downward)
    return Interval(xp.maximum(low, least), best + xp.sqrt(upward))


def _change(answer: Callable[..., Number], inputs: Sequence[Number], best: Number) -> Number:
    try:
        with np.errstate(all="ignore"):  # an element outside the model is NaN
            return answer(*inputs) - best
    except DomainError:
        return float("nan")


def dose_interval(
    alkalinity: Number,
    ph: Number,
    target_ph: Number,
    litres: Number,
    acid: Acid,
    strength: Number | None = None,
    alkalinity_error: Number | None = None,
    ph_error: Number | None = None,
    strength_error: Number | None = None,
    volume_error: Number | None = None,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
    co2_lost: Number = 0.0,
    co2_lost_from: Number | None = None,
    co2_lost_to: Number | None = None,
    constants_error: Number = 0.0,
) -> Interval:
    """95 % interval of the dose at which the meter will read the target.

    Parameters
    ----------
    alkalinity, ph, target_ph, litres, acid, strength, ions, temp_c, co2_lost
        As in :func:`chemcore.dosing.dose_volume`.
    alkalinity_error
        Standard error, mg/L as CaCO3; this and the next three, left out, are those of
        data/constants.csv.
    ph_error
        Of each reading, the source water's and the one at the target.
    strength_error
        Mass %.
    volume_error
        % of the volume.
    co2_lost_from, co2_lost_to
        Between what the share of carbon dioxide lost may be, each value as likely as any other;
        either is ``co2_lost`` where left out.
    constants_error
        Of the equilibrium constants, % of the dose.

    Returns
    -------
    Interval
        mL at 20 °C of the acid as bought.

    Raises
    ------
    DomainError
        As :func:`chemcore.dosing.dose_volume`, and for ``co2_lost_to`` below ``co2_lost_from``.
    """
    least, most = (co2_lost if end is None else end for end in (co2_lost_from, co2_lost_to))
    most = require(
        most >= least,
        "co2_lost_to",
        lambda: f"{most:g} is below co2_lost_from, {least:g}; give the smaller share first",
        most,
    )
    arguments = (
        alkalinity,
        ph,
        target_ph,
        litres,
        acid,
        strength,
        alkalinity_error,
        ph_error,
        strength_error,
        volume_error,
        ions,
        temp_c,
    )
    low = _dose_interval(*arguments, least, constants_error)
    if co2_lost_from is None and co2_lost_to is None:
        return Interval(low.low, low.high)
    high = _dose_interval(*arguments, most, constants_error)
    width = high.best - low.best
    return Interval(
        backend(width).maximum(low.best - _reach(low.best - low.low, width), 0.0),
        high.best + _reach(high.high - high.best, width),
    )


def _reach(half_width: Number, width: Number) -> Number:
    """How far the 95 % interval reaches past either end of a range of ``width`` that is known to
    ``half_width``.

    Of what is spread evenly over the range, plus a normal error with 95 % within ``half_width``,
    2.5 % lie further out. Negative where the range is so wide that the limit lies inside it.
    """
    from scipy.special import ndtr  # on first use: importing scipy takes longer than all else

    xp = backend(half_width, width)
    error = half_width / Z95
    sharp = error <= 1e-6 * width  # no error to speak of: the range alone
    ratio = width / xp.where(sharp, 1.0, error)
    narrow = ratio < 1e-6  # no range to speak of

    def beyond(z: Number) -> Number:
        """Integral of the upper tail of the normal distribution, from z up."""
        density: Number = xp.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
        tail: Number = ndtr(-z)
        return density - z * tail

    def excess(z: Number, ratio: Number) -> Number:
        return (beyond(z) - beyond(z + ratio)) / ratio - 0.025

    ratio = xp.where(narrow | sharp, 1.0, ratio)
    z = find_root(excess, -0.975 * ratio - 3.0, 3.0 + 0.0 * ratio, (ratio,), xp)
    return xp.where(narrow, half_width, xp.where(sharp, -0.025 * width, z * error))


class _Dose(NamedTuple):
    """Both ends of an interval, and the dose itself."""

    low: Number
    high: Number
    best: Number


def _dose_interval(
    alkalinity: Number,
    ph: Number,
    target_ph: Number,
    litres: Number,
    acid: Acid,
    strength: Number | None,
    alkalinity_error: Number | None,
    ph_error: Number | None,
    strength_error: Number | None,
    volume_error: Number | None,
    ions: Ions | None,
    temp_c: Number,
    co2_lost: Number,
    constants_error: Number,
) -> _Dose:
    """:func:`dose_interval` for one share of carbon dioxide lost."""
    strength = checked_strength(acid, strength)
    ph_error = given_or(ph_error, "error_ph")

    # refuses what cannot be (a row of a column: by NaN), before the inputs are moved
    best = dose_volume(alkalinity, ph, target_ph, litres, acid, strength, ions, temp_c, co2_lost)
    litres = litres + 0.0 * best

    def dose(
        alkalinity: Number,
        ph: Number,
        target: Number,
        litres: Number,
        strength: Number | None,
        constants: Number,
    ) -> Number:
        xp = backend(alkalinity, ph, target)
        return constants * dose_volume(
            xp.maximum(alkalinity, 0.0),
            ph,
            xp.minimum(target, ph),
            litres,
            acid,
            strength,
            ions,
            temp_c,
            co2_lost,
        )

    found = interval_95(
        dose,
        (alkalinity, ph, target_ph, litres, strength, 1.0),
        (
            given_or(alkalinity_error, "error_alkalinity"),
            ph_error,
            ph_error,
            litres * given_or(volume_error, "error_volume") / 100.0,
            given_or(strength_error, "error_strength"),
            constants_error / 100.0,
        ),
    )
    return _Dose(found.low, found.high, best)


def curve_dose_interval(
    ml: Column,
    phs: Column,
    sample_ml: float,
    titrant_normality: float,
    target_ph: float,
    litres: Number,
    acid: Acid,
    strength: Number | None = None,
    titrant: Acid | None = None,
    titrant_error: Number | None = None,
    ph_error: Number | None = None,
    strength_error: Number | None = None,
    volume_error: Number | None = None,
    ions: Ions | None = None,
    constants_error: Number = 0.0,
) -> Interval:
    """95 % interval of the dose from the measured curve alone.

    Gas that leaves the sample or the tank, and an electrode whose slope is off, are not in it.

    Parameters
    ----------
    ml, phs, sample_ml, titrant_normality, target_ph, litres, acid, strength, titrant, ions
        As in :func:`chemcore.titration.curve_dose`.
    titrant_error
        Standard error of titrant strength and sample volume together, %.
    ph_error
        Of a reading; counts at the target's reading in the tank and on the curve, where a value
        between two readings has the error of their weighted mean.
    strength_error, volume_error
        As in :func:`dose_interval`.
    constants_error
        Of the equilibrium constants, % of the dose; they cancel where the titrant was the tank's
        own acid.

    Returns
    -------
    Interval
        mL at 20 °C of the acid as bought.

    Raises
    ------
    DomainError
        As :func:`chemcore.titration.curve_dose`.
    """
    readings, strength = curve(ml, phs), checked_strength(acid, strength)
    if ions is None:
        ions = calcium_for(ml, phs, sample_ml, titrant_normality)
    reached = ml_at_ph(ml, phs, target_ph, "target_ph")

    @cache
    def titrant_ml(target: float) -> float:
        return ml_at_ph(ml, phs, min(target, float(readings.ph[0])))

    def dose(
        target: float,
        normality: float,
        litres: Number,
        strength: Number | None,
        constants: Number,
    ) -> Number:
        taken = titrant_ml(target) * normality / sample_ml
        return constants * dose_of_equivalents(taken, target, litres, acid, strength, titrant, ions)

    after = min(max(int(np.searchsorted(readings.ml, reached)), 1), len(readings.ml) - 1)
    share = (reached - readings.ml[after - 1]) / (readings.ml[after] - readings.ml[after - 1])
    both_readings = given_or(ph_error, "error_ph") * (1.0 + share**2 + (1.0 - share) ** 2) ** 0.5
    return interval_95(
        dose,
        (target_ph, titrant_normality, litres, strength, 1.0),
        (
            float(both_readings),
            titrant_normality * given_or(titrant_error, "error_titrant") / 100.0,
            litres * given_or(volume_error, "error_volume") / 100.0,
            given_or(strength_error, "error_strength"),
            0.0 if titrant == acid else constants_error / 100.0,
        ),
    )
