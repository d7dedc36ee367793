"""Functions: what past batches teach."""

from __future__ import annotations

from operator import attrgetter

from chemcore import learning
from chemcore.numeric import Number
from chemcore.uncertainty import Interval
from udfs.arguments import CO2Lost, IonRange, TempC
from udfs.catalogue import function, twin
from udfs.reading_columns import (
    AcidColumn,
    CauseColumn,
    EffectColumn,
    GivenColumn,
    LitresColumn,
    PHAfterColumn,
    PHBeforeColumn,
    StrengthColumn,
)


@function("Past batches", "mg/L as CaCO3", part=learning.effective_alkalinity)
def effective_alkalinity(
    ph_before: PHBeforeColumn,
    ph_after: PHAfterColumn,
    dose_ml: GivenColumn,
    litres: LitresColumn,
    acid: AcidColumn,
    strength: StrengthColumn = None,
    ions: IonRange = None,
    temp_c: TempC = 20.0,
    co2_lost: CO2Lost = 0.0,
) -> Number:
    """Alkalinity that the source water really had, learnt from past doses: the median of what each
    implies.

    A row for each batch; acid, strength or another of the columns may be one cell for all. Rows
    without both pH readings, dose and litres do not count; a row that makes no sense is named. One
    bad reading among several does not move the median far.

    References
    ----------
    ALKALINITY_FROM_DOSE of each row; median.
    """
    return learning.implied_alkalinities(
        ph_before,
        ph_after,
        dose_ml,
        litres,
        acid,
        strength,
        ions=ions,
        temp_c=temp_c,
        co2_lost=co2_lost,
    )


@twin(effective_alkalinity, learning.effective_alkalinity_spread)
def effective_alkalinity_spread() -> None:
    """Scatter from batch to batch of the alkalinity that past doses imply, as a standard deviation;
    3 batches or more.

    Arguments as in EFFECTIVE_ALKALINITY. Meter, dose and volume errors are in it, and what the
    water itself does.

    References
    ----------
    1.4826 times the median absolute deviation (Hampel 1974, J. Am. Statist. Assoc. 69:383).
    """


@function("Past batches", "y per x", part=attrgetter("low"))
def slope_low(xs: CauseColumn, ys: EffectColumn) -> Interval:
    """Lower end of the 95 % interval of the slope of a straight line; where 0 lies within, no trend
    is shown.

    Such as final beer pH against sparge pH. Pairs with a blank cell do not count.

    References
    ----------
    Least squares with Student's t (Draper & Smith 1998, sec. 1.4, from memory); the slope itself is
    the sheet's SLOPE.
    """
    return learning.slope_interval(xs, ys)


@twin(slope_low, attrgetter("high"))
def slope_high() -> None:
    """Upper end of the 95 % interval of the slope of a straight line; where 0 lies within, no trend
    is shown.

    References
    ----------
    As SLOPE_LOW.
    """
