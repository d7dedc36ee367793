"""Functions: what to order, how long it lasts, what it costs."""

from __future__ import annotations

from chemcore import cost
from chemcore.numeric import Number
from udfs.arguments import (
    AcidName,
    DoseML,
    LabelStrength,
    Litres,
    MeanDose,
    PackPrice,
    PackSize,
    ReadPH,
    StockML,
    Waste,
)
from udfs.catalogue import function
from udfs.reading_columns import DoseColumn


@function("Purchasing", "mL")
def acid_needed(doses_ml: DoseColumn, waste_percent: Waste) -> Number:
    """Acid for all the doses in a range, with the share that is wasted on top.

    Blank cells do not count; a text among the doses is named, so that the total is never short. mL,
    or g throughout.

    References
    ----------
    Sum, with the share on top.
    """
    return cost.acid_needed(doses_ml, waste_percent)


@function("Purchasing", "packs")
def packs_to_buy(need_ml: StockML, on_hand_ml: StockML, pack_litres: PackSize) -> Number:
    """Whole packs to order so that stock and order cover a need; 0 where the stock does.

    Parameters
    ----------
    need_ml
        Acid needed (g for a powder)

    References
    ----------
    Difference, rounded up.
    """
    return cost.packs_to_buy(need_ml, on_hand_ml, pack_litres)


@function("Purchasing", "batches")
def batches_left(on_hand_ml: StockML, mean_dose_ml: MeanDose) -> Number:
    """Whole batches for which the stock lasts.

    References
    ----------
    Ratio, rounded down.
    """
    return cost.batches_left(on_hand_ml, mean_dose_ml)


@function("Purchasing", "money per hL")
def cost_per_hl(
    dose_ml: DoseML, pack_litres: PackSize, pack_price: PackPrice, litres: Litres
) -> Number:
    """Money of the acid for each hectolitre of liquor treated.

    mL with a pack in litres, or grams with a pack in kg.

    References
    ----------
    Proportion.
    """
    return cost.cost_per_hl(dose_ml, pack_litres, pack_price, litres)


@function("Purchasing", "money per eq")
def price_per_equivalent(
    pack_litres: PackSize,
    pack_price: PackPrice,
    acid: AcidName,
    strength: LabelStrength,
    ph: ReadPH,
) -> Number:
    """Money of one equivalent of acid at a target pH, by which packs, strengths and acids compare
    fairly.

    Parameters
    ----------
    ph
        Target pH of the plan

    References
    ----------
    As ACID_EQUIVALENTS; a powder by its mass.
    """
    return cost.price_per_equivalent(pack_litres, pack_price, acid, strength, ph)
