"""Mash pH: the buffers of the malts against the residual alkalinity of the liquor and the acid.

One charge balance. A malt takes up ``kg * buffering * (pH - its pH in demineralised water)`` of
base; the liquor brings its residual alkalinity, that is its alkalinity less what calcium and
magnesium set free with the malt's phosphate after Kolbach; the acid brings what it gives off at the
mash's pH. The alkalinity counts whole, because carbon dioxide leaves a hot mash. pH is that of a
cooled sample.

Predictions of this kind are about 0.1 from measurement with the malts' own figures
(:mod:`chemcore.malt_titration` makes them of a titration), further with typical ones and where
calcium is high: :func:`mash_ph_range` says how far. tests/outside/test_mash_published.py has the
errors against published figures.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache, lru_cache
from typing import Any, NamedTuple

import numpy as np

from chemcore.acids import Acid, find_acid, moles_of_volume, protons_released, volume_of_moles
from chemcore.errors import DomainError
from chemcore.numeric import Array, Number, backend, find_root, require
from chemcore.tables import constant, rows
from chemcore.water import Ions, hardness, residual_alkalinity

#: Range in which the buffering of malt counts as the same at every pH.
LOWEST_MASH_PH, HIGHEST_MASH_PH = 4.0, 7.0
#: Lowest pH looked at where acid is far too much.
SEARCH_FROM_PH = 1.5


class Malt(NamedTuple):
    """One row of a grist: kg, pH in demineralised water, buffering in mEq/(kg·pH)."""

    kg: float
    ph: float
    buffering: float


class TypicalMalt(NamedTuple):
    """A row of ``data/malts.csv``: a :class:`Malt` that also says where its figures are from."""

    kg: float
    ph: float
    buffering: float
    source: str
    note: str


def typical_malts() -> dict[str, TypicalMalt]:
    """A kg of each malt by its name: typical figures, to give way to the maltster's.

    Returns
    -------
    :class:`TypicalMalt` by name: pH in demineralised water, buffering in mEq/(kg pH), and where
    both are from.
    """
    return {
        row["malt"]: TypicalMalt(
            1.0, float(row["ph"]), float(row["buffering"]), row["source"], row["note"]
        )
        for row in rows("malts")
    }


class _Buffer(NamedTuple):
    """A grist as one malt: eq per pH in all, and the pH at which it takes up nothing."""

    strength: float
    ph: float


def _buffer(grist: Sequence[Malt]) -> _Buffer:
    strength = sum(malt.kg * malt.buffering for malt in grist) / 1000.0
    if not strength > 0.0:
        raise DomainError("grist", "there is no malt in it; give the kg of each")
    return _Buffer(
        strength, sum(malt.kg * malt.buffering * malt.ph for malt in grist) / 1000.0 / strength
    )


def _equivalents(litres: Number, mg_per_litre: Number) -> Number:
    return litres * mg_per_litre / (1000.0 * constant("calcium_carbonate_equivalent"))


def _residual(alkalinity: Number, ions: Ions | None) -> tuple[Number, Number]:
    """Residual alkalinity of the liquor, and the part of it that calcium and magnesium take off,
    mg/L as CaCO3.
    """
    if ions is None:  # calcium bicarbonate water
        calcium = backend(alkalinity).maximum(alkalinity, 0.0) / hardness(1.0, 0.0)
        ions = Ions(calcium, 0.0, 0.0, 0.0, 0.0)
    left = residual_alkalinity(alkalinity, ions.calcium, ions.magnesium)
    return left, alkalinity - left


def _known(ph: Number, argument: str) -> Number:
    return require(
        (ph >= LOWEST_MASH_PH) & (ph <= HIGHEST_MASH_PH),
        argument,
        lambda: (
            f"the mash would be at pH {ph:.1f}, outside the {LOWEST_MASH_PH:g} to"
            f" {HIGHEST_MASH_PH:g} in which the buffering of malt is known; look at the amounts and"
            " their units"
        ),
        ph,
    )


def _without_acid(buffer: _Buffer, litres: Number, alkalinity: Number, ions: Ions | None) -> Number:
    return _known(
        buffer.ph + _equivalents(litres, _residual(alkalinity, ions)[0]) / buffer.strength, "litres"
    )


def mash_ph(
    grist: Sequence[Malt],
    litres: Number,
    alkalinity: Number,
    ions: Ions | None = None,
    acid_ml: Number = 0.0,
    acid: Acid | None = None,
    strength: Number | None = None,
) -> Number:
    """pH of the mash, cooled sample.

    Parameters
    ----------
    grist
        Sequence of :class:`Malt`.
    litres
        Mash liquor, L at 20 °C.
    alkalinity
        Of the mash liquor, mg/L as CaCO3; negative after more acid than alkalinity.
    ions
        mg/L; left out, the alkalinity is taken as calcium bicarbonate.
    acid_ml, acid, strength
        Acid as bought that goes into the mash.

    Raises
    ------
    DomainError
        For a mash below pH 4 or above 7.

    Returns
    -------
    pH of a cooled sample. Source: charge balance with linear malt buffers; Kolbach 1953 for calcium
    and magnesium.
    """
    buffer = _buffer(grist)
    plain = _without_acid(buffer, litres, alkalinity, ions)
    if acid is None:
        return plain
    moles = moles_of_volume(acid_ml, acid, strength)
    xp = backend(plain, moles)

    def surplus(ph: Number, plain: Number, moles: Number) -> Number:
        return buffer.strength * (ph - plain) + moles * protons_released(acid, ph)

    near = plain, 0.0 * plain + buffer.strength
    found = find_root(surplus, SEARCH_FROM_PH + 0.0 * plain, plain, (plain, moles), xp, near)
    found = require(
        found == found,
        "acid_ml",
        lambda: f"{acid_ml:g} mL takes the mash below pH {SEARCH_FROM_PH:g}; look at the units",
        found,
    )
    return _known(found, "acid_ml")


class MashRange(NamedTuple):
    """Between what pH a measured mash is to be expected, 19 times in 20."""

    low: Number
    high: Number


#: Mashes, evenly spread over what is not known of them, of which the interval is made.
_MASHES = 256


def mash_ph_range(
    grist: Sequence[Malt],
    litres: Number,
    alkalinity: Number,
    ions: Ions | None = None,
    acid_ml: Number = 0.0,
    acid: Acid | None = None,
    strength: Number | None = None,
    malt_ph_error: Number = 0.0,
    buffering_error: Number | None = None,
) -> MashRange:
    """95 % interval of a measured mash pH about the prediction of :func:`mash_ph`.

    Four errors: of the malts' pH, of their buffering, of the calcium and magnesium term (from none
    of it to ``mash_kolbach_most`` times), each value as likely as any other, and of the prediction
    itself, which is normal with ``mash_ph_error`` of data/constants.csv as its 95 % limit. The
    first three are taken together through the model, evenly spread (additive recurrence, Roberts
    2018, from memory), and the ends are those of the mixture of the normal errors.

    Parameters
    ----------
    grist, litres, alkalinity, ions, acid_ml, acid, strength
        As in :func:`mash_ph`.
    malt_ph_error
        How far the malts' pH may be off, any value as likely as any other; 0 where measured,
        ``mash_malt_ph_error`` for typical figures.
    buffering_error
        How far their buffering may be off, %; left out, it may be anything that is published,
        ``mash_buffering_least`` to ``mash_buffering_most``, or a quarter beyond the grist's own
        where that is outside.

    Returns
    -------
    MashRange
        pH of a cooled sample, lower and upper end.

    Raises
    ------
    DomainError
        As :func:`mash_ph`.
    """
    best = mash_ph(grist, litres, alkalinity, ions, acid_ml, acid, strength)
    buffer = _buffer(grist)
    left, taken = (_equivalents(litres, part) for part in _residual(alkalinity, ions))
    moles = 0.0 if acid is None else moles_of_volume(acid_ml, acid, strength)
    ends = (
        (buffer.ph - malt_ph_error, buffer.ph + malt_ph_error),
        _strengths(buffer, grist, buffering_error),
        (constant("mash_kolbach_least"), constant("mash_kolbach_most")),
    )
    several = isinstance(best, np.ndarray)
    own, buffering, factor = (
        low + (high - low) * (part[:, None] if several else part)
        for part, (low, high) in zip(_spread(), ends)
    )
    mashes = own + (left + (1.0 - factor) * taken) / buffering
    if acid is not None and np.any(moles):
        plain, known = mashes, _released(acid)
        mashes = _halved(
            lambda ph: buffering * (ph - plain) + moles * np.interp(ph, *known) > 0.0,
            np.full_like(plain, SEARCH_FROM_PH),
            plain,
        )
    low, high = (_quantile(mashes, share) for share in (0.025, 0.975))
    xp = backend(best)
    return MashRange(xp.minimum(low, best), xp.maximum(high, best))


@cache
def _spread() -> tuple[Array, ...]:
    """Three columns that fill the cube from 0 to 1 evenly."""
    root = 1.2207440846057596  # of x^4 = x + 1
    number = np.arange(1, _MASHES + 1)
    return tuple((0.5 + number * root**-power) % 1.0 for power in (1.0, 2.0, 3.0))


@lru_cache(maxsize=16)
def _released(acid: Acid) -> tuple[Array, Array]:
    """pH in steps of 0.02, and what the acid has given off there: to read between, for many mashes
    at once.
    """
    steps = np.linspace(SEARCH_FROM_PH, 12.0, 526)
    return steps, np.asarray(protons_released(acid, steps))


def _quantile(mashes: Array, share: float) -> Number:
    """pH below which ``share`` of the mashes lies, each with the normal error of the prediction."""
    from scipy.special import (
        ndtr,
        ndtri,
    )  # on first use: importing scipy takes longer than all else

    error = constant("mash_ph_error") / float(ndtri(0.975))
    found = _halved(
        lambda ph: ndtr((ph - mashes) / error).mean(axis=0) > share,
        mashes.min(axis=0) - 6.0 * error,
        mashes.max(axis=0) + 6.0 * error,
    )
    return found if found.ndim else float(found)


def _halved(above: Callable[[Array], Any], low: Array, high: Array) -> Array:
    """Where ``above`` turns true between ``low`` and ``high``, by halving, all elements at once."""
    for _ in range(26):
        middle = 0.5 * (low + high)
        yes = above(middle)
        low, high = np.where(yes, low, middle), np.where(yes, middle, high)
    return 0.5 * (low + high)


def _strengths(
    buffer: _Buffer, grist: Sequence[Malt], error: Number | None
) -> tuple[Number, Number]:
    """Least and most that a grist may buffer, eq per pH."""
    if error is not None:
        return buffer.strength * (1.0 - error / 100.0), buffer.strength * (1.0 + error / 100.0)
    xp = backend(buffer.strength)
    tonnes = sum(malt.kg for malt in grist) / 1000.0
    return (
        xp.minimum(constant("mash_buffering_least") * tonnes, 0.75 * buffer.strength),
        xp.maximum(constant("mash_buffering_most") * tonnes, 1.25 * buffer.strength),
    )


def _acid_needed(
    buffer: _Buffer, litres: Number, alkalinity: Number, ions: Ions | None, target_ph: Number
) -> Number:
    """Equivalents of acid that take the mash to a pH."""
    plain = _without_acid(buffer, litres, alkalinity, ions)
    down = require(
        plain >= target_ph,
        "target_ph",
        lambda: (
            f"{target_ph:g} is above the pH {plain:.2f} that the mash has without acid; acid only"
            " lowers pH"
        ),
        plain - target_ph,
    )
    return buffer.strength * down


def mash_acid_dose(
    grist: Sequence[Malt],
    litres: Number,
    alkalinity: Number,
    ions: Ions | None,
    target_ph: Number,
    acid: Acid,
    strength: Number | None = None,
) -> Number:
    """Acid that takes the mash to ``target_ph``; undone by :func:`mash_ph`.

    Parameters
    ----------
    grist, litres, alkalinity, ions
        As in :func:`mash_ph`.
    target_ph
        pH of a cooled sample.
    acid, strength
        The acid and its mass %; left out, its usual strength.

    Returns
    -------
    mL at 20 °C of the acid as bought.

    Raises
    ------
    DomainError
        For ``target_ph`` above the pH that the mash has without acid, and as :func:`mash_ph`.
    """
    needed = _acid_needed(_buffer(grist), litres, alkalinity, ions, target_ph)
    return volume_of_moles(needed / protons_released(acid, target_ph), acid, strength)


def acid_malt_mass(
    grist: Sequence[Malt],
    litres: Number,
    alkalinity: Number,
    ions: Ions | None,
    target_ph: Number,
    lactic_percent: Number,
) -> Number:
    """kg of acidulated malt, on top of the grist, that takes the mash to ``target_ph``.

    Its lactic acid counts as any other; the malt that carries it buffers like the mean of the
    grist.

    Parameters
    ----------
    grist, litres, alkalinity, ions, target_ph
        As in :func:`mash_acid_dose`.
    lactic_percent
        Lactic acid in the acidulated malt, mass %.

    Returns
    -------
    kg of acidulated malt.

    Raises
    ------
    DomainError
        For a lactic acid content that its own malt uses up.
    """
    buffer = _buffer(grist)
    needed = _acid_needed(buffer, litres, alkalinity, ions, target_ph)
    lactic = find_acid("lactic")
    brought = 10.0 * lactic_percent / lactic.molar_mass * protons_released(lactic, target_ph)
    own = buffer.strength / sum(malt.kg for malt in grist) * (buffer.ph - target_ph)
    left = require(
        brought > own,
        "lactic_percent",
        lambda: (
            f"at {lactic_percent:g} % the acid is less than its own malt takes up on the way to pH "
            f"{target_ph:g}"
        ),
        brought - own,
    )
    return needed / left
