"""What a dose costs, what to buy, and how long it lasts."""

from __future__ import annotations

import numpy as np

from chemcore.acids import (
    Acid,
    checked_strength,
    equivalents_per_kg,
    equivalents_per_litre,
    is_powder,
)
from chemcore.errors import DomainError
from chemcore.numeric import Column, Number

#: Whole packs and batches are counted with this much grace for rounding.
GRACE = 1e-9


def dose_cost(amount: Number, pack_amount: Number, pack_price: Number) -> Number:
    """Money of a dose: its share of the pack, times the price of the pack.

    ``amount`` is in thousandths of the unit of ``pack_amount``: mL of a pack in litres, grams of a
    pack in kg.

    Parameters
    ----------
    amount
        Dose: mL, of a powder g.
    pack_amount
        Acid in a pack: L, of a powder kg.
    pack_price
        Price of a pack, in any money.

    Returns
    -------
    Number
        In the money of ``pack_price``.
    """
    return amount / (1000.0 * pack_amount) * pack_price


def acid_needed(doses: Column, waste_percent: Number) -> Number:
    """Sum of the doses with the share that is spilt or left in the pack on top; NaN doses do not
    count.

    Parameters
    ----------
    doses
        mL or g, all in one unit; NaN for none.
    waste_percent
        Share on top, % of the sum.

    Returns
    -------
    Number
        In the unit of ``doses``.

    Raises
    ------
    DomainError
        Where there is no dose at all.
    """
    planned = np.asarray(doses, dtype=float)
    if np.isnan(planned).all():
        raise DomainError(
            "doses_ml", "the range has no dose; give the cells that hold the planned doses"
        )
    return float(np.nansum(planned)) * (1.0 + waste_percent / 100.0)


def packs_to_buy(need: Number, on_hand: Number, pack_amount: Number) -> Number:
    """Whole packs that cover what the stock does not; need and stock in thousandths of the pack's
    unit.

    Parameters
    ----------
    need
        mL, of a powder g.
    on_hand
        In the same unit.
    pack_amount
        Acid in a pack: L, of a powder kg.

    Returns
    -------
    Number
        A whole number, 0 or more.
    """
    missing = np.maximum(need - on_hand, 0.0) / (1000.0 * pack_amount)
    return np.ceil(missing - GRACE) + 0.0


def batches_left(on_hand: Number, mean_dose: Number) -> Number:
    """Whole batches that the stock lasts.

    Parameters
    ----------
    on_hand
        Stock: mL, of a powder g.
    mean_dose
        Of one batch, in the same unit, above 0.

    Returns
    -------
    Number
        A whole number.
    """
    return np.floor(on_hand / mean_dose + GRACE)


def cost_per_hl(dose: Number, pack_amount: Number, pack_price: Number, litres: Number) -> Number:
    """Money of a dose for each 100 litres of the liquor that it treats.

    Parameters
    ----------
    dose
        mL, of a powder g.
    pack_amount
        Acid in a pack: L, of a powder kg.
    pack_price
        Price of a pack, in any money.
    litres
        Liquor to treat, L at 20 °C, above 0.

    Returns
    -------
    Number
        Money for 100 L.
    """
    return dose_cost(dose, pack_amount, pack_price) * 100.0 / litres


def price_per_equivalent(
    pack_amount: Number, pack_price: Number, acid: Acid, strength: Number | None, ph: Number
) -> Number:
    """Money of one equivalent that the acid releases down to this pH; the pack in litres, a
    powder's in kg.

    Parameters
    ----------
    pack_amount
        Acid in a pack: L, of a powder kg.
    pack_price
        Price of a pack, in any money.
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.
    ph
        Down to which the acid counts, at 20 °C, 1 to 13.

    Returns
    -------
    Number
        Money for 1 eq.

    Raises
    ------
    DomainError
        As :func:`chemcore.acids.checked_strength`.
    """
    strength = checked_strength(acid, strength)
    return pack_price / (pack_amount * _equivalents(acid, strength, ph))


def _equivalents(acid: Acid, strength: Number, ph: Number) -> Number:
    """Equivalents in a litre of a liquid, in a kilogram of a powder."""
    if not isinstance(strength, np.ndarray):
        equivalents = equivalents_per_kg if is_powder(acid, strength) else equivalents_per_litre
        return equivalents(acid, strength, ph)
    return np.where(
        is_powder(acid, strength),
        equivalents_per_kg(acid, strength, ph),
        equivalents_per_litre(acid, strength, ph),
    )
