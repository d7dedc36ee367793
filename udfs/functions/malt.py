"""Functions: a malt's own figures from a titration of its mash."""

from __future__ import annotations

from typing import Annotated, Any

from chemcore import malt_titration
from chemcore.mash import HIGHEST_MASH_PH
from chemcore.tables import constant
from udfs.arguments import Normality, PHError, Quantity, TitrantError
from udfs.blocks import numbers
from udfs.catalogue import function
from udfs.reading_columns import PHColumn

_ADDED = Quantity(
    "Strong acid added at each reading, in all; base negative; 0 for the malt alone",
    "mL",
    -1e5,
    1e5,
)
AddedColumn = Annotated[tuple[Any, ...], numbers(_ADDED)]
MaltGrams = Annotated[
    float, Quantity("Malt in the portion that was titrated, as weighed dry", "g", 0.1, 1e6)
]
WantedMashPH = Annotated[
    float | None,
    Quantity(
        f"Mash pH to which the buffering is taken; left out: {constant('mash_ph_wanted'):g}",
        "pH",
        4.0,
        HIGHEST_MASH_PH,
    ),
]

_ROW = "pH and mEq/(kg·pH), a row of two cells"


@function("Mash", _ROW, cells=2)
def malt_buffer(
    ml: AddedColumn,
    phs: PHColumn,
    malt_g: MaltGrams,
    normality: Normality,
    mash_ph: WantedMashPH = None,
) -> tuple[float, float]:
    """A malt's own pH and buffering, from a titration of its mash in demineralised water with
    strong acid or base.

    Mash at mashing temperature, cool, read: first the malt alone, then with acid (for a dark malt
    with base) down to the mash pH or past it; seven readings or more. The two cells belong into the
    grist beside the kg. A curve is taken for the line where it fits better.

    References
    ----------
    deLange 2015, MBAA Tech. Quarterly 52(1) (abstract): three terms about the malt's own pH. Here
    least squares of pH on what was added, three terms where an F test at 95 % keeps them, else one.
    """
    found = malt_titration.malt_buffer(ml, phs, malt_g, normality, mash_ph)
    return (found.ph, found.buffering)


@function("Mash", _ROW, cells=2)
def malt_buffer_error(
    ml: AddedColumn,
    phs: PHColumn,
    malt_g: MaltGrams,
    normality: Normality,
    mash_ph: WantedMashPH = None,
    ph_error: PHError = None,
    titrant_error: TitrantError = None,
) -> tuple[float, float]:
    """Half the widths of the 95 % intervals of MALT_BUFFER: of the pH, and of the buffering.

    The scatter of the readings about the line, the meter's zero, the titrant. How far another bag
    of the malt, or a mash of another thickness, differs is not in it.

    Parameters
    ----------
    ph_error
        Standard error of the meter's zero, the same for all readings

    References
    ----------
    As MALT_BUFFER; Student's t for the readings on the line.
    """
    found = malt_titration.malt_buffer(ml, phs, malt_g, normality, mash_ph, ph_error, titrant_error)
    return (found.ph_half_width, found.buffering_half_width)
