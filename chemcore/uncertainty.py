"""How far off a dose may be, from the errors of what was measured."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from statistics import NormalDist
from typing import NamedTuple

from chemcore.acids import Acid, checked_strength
from chemcore.dosing import dose_volume
from chemcore.errors import DomainError
from chemcore.numeric import backend
from chemcore.tables import constant
from chemcore.titration import curve, curve_dose

#: Standard errors from the middle to either end of a 95 % interval.
Z95 = NormalDist().inv_cdf(0.975)


class Interval(NamedTuple):
    """Lower and upper end."""

    low: object
    high: object


def _or(value, name: str):
    return constant(name) if value is None else value


def interval_95(answer: Callable, middle: Sequence, errors: Sequence) -> Interval:
    """95 % interval of ``answer(*inputs)``, never below 0, for independent normal errors of the inputs.

    Each input alone is moved to both ends of its own 95 % interval, through the whole model; the changes upward
    and those downward are each combined in quadrature. Where one end lies outside the model, the change at the
    other end stands for it. Exact for one input that counts and any monotone model, and for any number in a
    linear one (Zou & Donner 2008, Statist. Med. 27:1693, from memory).
    """
    best = answer(*middle)
    xp = backend(best, *middle, *errors)
    upward = downward = 0.0
    for i, error in enumerate(errors):
        ends = []
        for sign in (1.0, -1.0):
            moved = [*middle]
            moved[i] = middle[i] + sign * Z95 * error
            ends.append(_change(answer, moved, best))
        up, down = ends
        up, down = xp.where(up == up, up, -down), xp.where(down == down, down, -up)
        upward = upward + xp.maximum(xp.maximum(up, down), 0.0 * up) ** 2
        downward = downward + xp.minimum(xp.minimum(up, down), 0.0 * up) ** 2
    low = best - xp.sqrt(downward)
    return Interval(xp.maximum(low, 0.0 * low), best + xp.sqrt(upward))


def _change(answer, inputs, best):
    try:
        return answer(*inputs) - best
    except DomainError:
        return float("nan")


def dose_interval(alkalinity, ph, target_ph, litres, acid: Acid, strength=None, alkalinity_error=None, ph_error=None,
                  strength_error=None, volume_error=None, ions=None, temp_c=20.0, co2_lost=0.0) -> Interval:
    """95 % interval in mL of the dose at which the meter will read the target.

    Standard errors: ``alkalinity_error`` in mg/L as CaCO3, ``ph_error`` of each reading (the source water's and
    the one at the target), ``strength_error`` in mass %, ``volume_error`` in % of the volume. Left out, those of
    data/constants.csv.
    """
    strength = checked_strength(acid, strength)
    ph_error = _or(ph_error, "error_ph")

    # refuses what cannot be, before the inputs are moved
    dose_volume(alkalinity, ph, target_ph, litres, acid, strength, ions, temp_c, co2_lost)

    def dose(alkalinity, ph, target, litres, strength):
        xp = backend(alkalinity, ph, target)
        return dose_volume(xp.maximum(alkalinity, 0.0 * alkalinity), ph, xp.minimum(target, ph), litres, acid, strength,
                           ions, temp_c, co2_lost)

    return interval_95(
        dose, (alkalinity, ph, target_ph, litres, strength),
        (_or(alkalinity_error, "error_alkalinity"), ph_error, ph_error,
         litres * _or(volume_error, "error_volume") / 100.0, _or(strength_error, "error_strength")))


def curve_dose_interval(ml, phs, sample_ml: float, titrant_normality: float, target_ph: float, litres: float, acid: Acid,
                        strength=None, titrant: Acid | None = None, titration_error=None, ph_error=None,
                        strength_error=None, volume_error=None, ions=None) -> Interval:
    """95 % interval in mL of the dose from the measured curve alone.

    Standard errors as in :func:`dose_interval`; ``titration_error`` in % is that of titrant strength and sample
    volume together, ``ph_error`` that of a reading on the curve and, once more, of the one at the target.
    """
    strength = checked_strength(acid, strength)
    reading_error = _or(ph_error, "error_ph")

    highest = float(curve(ml, phs).ph[0])
    # refuses what cannot be, before the inputs are moved
    curve_dose(ml, phs, sample_ml, titrant_normality, target_ph, litres, acid, strength, titrant, ions)

    def dose(target, normality, litres, strength):
        return curve_dose(ml, phs, sample_ml, normality, min(target, highest), litres, acid, strength, titrant, ions)

    return interval_95(
        dose, (target_ph, titrant_normality, litres, strength),
        (2.0**0.5 * reading_error, titrant_normality * _or(titration_error, "error_titration") / 100.0,
         litres * _or(volume_error, "error_volume") / 100.0, _or(strength_error, "error_strength")))
