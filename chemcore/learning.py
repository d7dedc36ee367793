"""What past batches teach: the alkalinity that the water really had, and whether one figure follows
another.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from chemcore.acids import Acid
from chemcore.dosing import alkalinity_from_dose
from chemcore.errors import DomainError
from chemcore.numeric import Array, Column, Number
from chemcore.readings import present, side_by_side
from chemcore.uncertainty import Interval
from chemcore.water import Ions

#: Makes the median absolute deviation of a normal distribution its standard deviation (1/0.67449).
MAD_TO_SIGMA = 1.4826
FEWEST_FOR_SPREAD = 3


def implied_alkalinities(
    ph_before: Column,
    ph_after: Column,
    dose_ml: Column,
    litres: Column,
    acid: Sequence[Acid | None],
    strength: Column | None = None,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
    co2_lost: Number = 0.0,
) -> np.ndarray:
    """Alkalinity in mg/L as CaCO3 that each past dose implies.

    Columns with a row for each batch, NaN (None for an acid) where a cell is blank. A column of one
    value stands for all rows. A row without both pH readings, its dose or its litres is not a batch
    yet and does not count; a blank strength is the acid's usual one.

    Parameters
    ----------
    ph_before
        pH of the source water of each batch.
    ph_after
        pH of each batch's liquor after its dose.
    dose_ml
        Acid as bought that went into each, mL at 20 °C.
    litres
        Liquor of each, L at 20 °C.
    acid
        Acid of each, or one for all.
    strength
        Mass % of each, or one for all.
    ions
        Of the source water, mg/L, for all; left out, calcium bicarbonate.
    temp_c
        Temperature of all readings, 0 to 100 °C.
    co2_lost
        Share, 0 to 1, of the carbon dioxide above air equilibrium that leaves.

    Returns
    -------
    np.ndarray
        mg/L as CaCO3, one for each whole row.

    Raises
    ------
    DomainError
        For columns of unlike length, no whole row, a row without its acid, or a row that no
        alkalinity explains; it names the row.
    """
    columns = {
        "ph_before": ph_before,
        "ph_after": ph_after,
        "dose_ml": dose_ml,
        "litres": litres,
        "strength": (np.nan,) if strength is None else strength,
    }
    rows = max(len(acid), *(len(values) for values in columns.values()))
    full = {
        name: np.repeat(values, rows) if len(values) == 1 else values
        for name, values in columns.items()
    }
    acids = list(acid) * rows if len(acid) == 1 else list(acid)
    before, after, dose, litres, strength, _ = side_by_side(
        **full, acid=[np.nan if one is None else 1.0 for one in acids]
    )
    whole = present(before, after, dose, litres)
    if not whole.any():
        raise DomainError(
            "ph_after", "no row has both pH readings, a dose and its litres; log a batch first"
        )
    found = np.full(rows, np.nan)
    for one in {acids[i] for i in np.flatnonzero(whole)}:
        if one is None:
            continue
        mine = whole & np.array([acid is not None and acid == one for acid in acids])
        known = np.where(np.isnan(strength), one.default_strength, strength)
        found[mine] = alkalinity_from_dose(
            before[mine],
            after[mine],
            dose[mine],
            litres[mine],
            one,
            known[mine],
            ions,
            temp_c,
            co2_lost,
        )
    for i in np.flatnonzero(whole & np.isnan(found)):
        given = acids[i]
        if given is None:
            raise DomainError(
                "acid", f"row {i + 1} has readings but no acid; type which one went in"
            )
        try:
            alkalinity_from_dose(
                float(before[i]),
                float(after[i]),
                float(dose[i]),
                float(litres[i]),
                given,
                None if np.isnan(strength[i]) else float(strength[i]),
                ions,
                temp_c,
                co2_lost,
            )
        except DomainError as error:
            raise DomainError(error.argument, f"row {i + 1}: {error.reason}") from None
    return found[whole]


def effective_alkalinity(found: Array) -> float:
    """Median of :func:`implied_alkalinities`: one bad reading among several does not move it far.

    Parameters
    ----------
    found
        mg/L as CaCO3, one or more.

    Returns
    -------
    float
        mg/L as CaCO3.
    """
    return float(np.median(found))


def effective_alkalinity_spread(found: Array) -> float:
    """Robust standard deviation of :func:`implied_alkalinities`: 1.4826 times the median absolute
    deviation.

    Parameters
    ----------
    found
        mg/L as CaCO3.

    Returns
    -------
    float
        mg/L as CaCO3.

    Raises
    ------
    DomainError
        For fewer than three batches.
    """
    if len(found) < FEWEST_FOR_SPREAD:
        raise DomainError(
            "ph_after",
            f"{len(found)} whole rows have no spread; log {FEWEST_FOR_SPREAD} or more batches",
        )
    return float(MAD_TO_SIGMA * np.median(abs(found - np.median(found))))


def slope_interval(xs: Column, ys: Column) -> Interval:
    """95 % interval of the slope of ys on xs by least squares; pairs with a blank do not count.

    Source: Draper & Smith 1998, Applied Regression Analysis, 3rd ed., sec. 1.4 (from memory).

    Parameters
    ----------
    xs
        Values of the cause; NaN where there is none.
    ys
        Values of the effect, one for each.

    Returns
    -------
    Interval
        In the unit of ``ys`` over that of ``xs``.

    Raises
    ------
    DomainError
        For columns of unlike length, fewer than three pairs, or xs that are all the same.
    """
    from scipy.special import stdtrit  # on first use: importing scipy takes longer than all else

    xs, ys = side_by_side(xs=xs, ys=ys)
    kept = present(xs, ys)
    xs, ys = xs[kept], ys[kept]
    if len(xs) < 3:
        raise DomainError("xs", f"{len(xs)} whole pairs give no interval; it takes 3 or more")
    dx = xs - xs.mean()
    spread = float(dx @ dx)
    if not spread > 1e-12 * float(xs @ xs):
        raise DomainError("xs", "all values are the same; a slope needs values that differ")
    slope = float(dx @ ys) / spread
    residual = ys - ys.mean() - slope * dx
    half = float(stdtrit(len(xs) - 2, 0.975)) * float(
        np.sqrt(residual @ residual / (len(xs) - 2) / spread)
    )
    return Interval(slope - half, slope + half)
