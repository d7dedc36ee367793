"""What a dose costs."""

from __future__ import annotations


def dose_cost(amount, pack_amount, pack_price):
    """Money of a dose: its share of the pack, times the price of the pack.

    ``amount`` is in thousandths of the unit of ``pack_amount``: mL of a pack in litres, grams of a pack in kg.
    """
    return amount / (1000.0 * pack_amount) * pack_price
