"""Functions: blends of waters."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any

from chemcore import blend
from chemcore.numeric import Number
from chemcore.water import Ions
from udfs.arguments import (
    Alkalinity,
    Block,
    IonRange,
    Quantity,
    SourcePH,
    TempC,
    kind,
)
from udfs.blocks import BlockColumn, filled, numbers, table
from udfs.catalogue import function

_VOLUME = Quantity("Litres of each water, one column", "L", 0.0, 1e7)
_ALKALINITY = replace(kind(Alkalinity), help="Alkalinity of each water, one column")
_PH = replace(kind(SourcePH), help="pH of each water, one column")
_ION = Quantity("", kind(IonRange).unit, 0.0, kind(IonRange).high)

Volumes = Annotated[tuple[Any, ...], numbers(_VOLUME)]
Alkalinities = Annotated[tuple[Any, ...], numbers(_ALKALINITY)]
PHs = Annotated[tuple[Any, ...], numbers(_PH)]
Waters = Annotated[
    list[Any],
    Block(
        "Ions of each water, a row of five cells each: calcium, magnesium, sodium, chloride,"
        " sulfate",
        table(tuple(BlockColumn(ion, _ION) for ion in Ions._fields)),
        kind(IonRange).unit,
    ),
]


@function("Blend and salts", "mg/L, a row of five cells", cells=5)
def blend_ions(litres: Volumes, waters: Waters) -> Ions:
    """Calcium, magnesium, sodium, chloride and sulfate of a blend of waters.

    Rows that are empty in both ranges are passed over.

    References
    ----------
    Mass balance.
    """
    given = filled(litres=litres, waters=waters)
    return blend.blended_ions(given["litres"], [Ions(*row) for row in given["waters"]])


@function("Blend and salts", "mg/L as CaCO3")
def blend_alkalinity(litres: Volumes, alkalinities: Alkalinities) -> Number:
    """Total alkalinity of a blend of waters.

    Rows that are empty in both ranges are passed over.

    References
    ----------
    Balance; alkalinity mixes in proportion (Stumm & Morgan 1996, ch. 4).
    """
    given = filled(litres=litres, alkalinities=alkalinities)
    return blend.blended(given["litres"], given["alkalinities"])


@function("Blend and salts", "pH")
def blend_ph(litres: Volumes, alkalinities: Alkalinities, phs: PHs, temp_c: TempC = 20.0) -> Number:
    """pH of a blend of waters, by the carbonate equilibrium of the blend; it is not the mean of the
    pHs.

    Each water is taken as calcium bicarbonate water, which moves the answer by about 0.02 for
    common waters. No carbon dioxide leaves. Demineralised water: alkalinity 0 and its pH, which
    hardly counts; above about 9 it is refused.

    Parameters
    ----------
    temp_c
        Temperature of the readings and of the blend; left out: 20

    References
    ----------
    Balance of alkalinity and dissolved carbonate; constants of USGS phreeqc.dat (Parkhurst & Appelo
    2013).
    """
    given = filled(litres=litres, alkalinities=alkalinities, phs=phs)
    return blend.blended_ph(given["litres"], given["alkalinities"], given["phs"], temp_c)


@function("Blend and salts", "share, 0 to 1")
def blend_share(
    alkalinity_a: Alkalinity, alkalinity_b: Alkalinity, target_alkalinity: Alkalinity
) -> Number:
    """Share of the second water in a blend of two that has the target alkalinity.

    Parameters
    ----------
    alkalinity_a
        Total alkalinity of the first water
    alkalinity_b
        Total alkalinity of the second water (0 for demineralised water)
    target_alkalinity
        Total alkalinity that the blend is to have

    References
    ----------
    Balance.
    """
    return blend.share(alkalinity_a, alkalinity_b, target_alkalinity)
