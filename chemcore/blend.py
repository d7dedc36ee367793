"""Blends of waters: ions and alkalinity by balance, pH by the carbonate equilibrium of the blend.

What mixes in proportion are the totals: the ions, the charge that no reaction changes, and the
dissolved carbonate. pH does not, so it is solved for from them.
"""

from __future__ import annotations

from collections.abc import Sequence

from chemcore.errors import DomainError
from chemcore.numeric import Number, require
from chemcore.speciation import solve_for_ph
from chemcore.water import Ions, source_water


def blended(litres: Sequence[Number], values: Sequence[Number]) -> Number:
    """Mean of ``values`` weighted by the volumes.

    Parameters
    ----------
    litres
        Volume of each water, in one unit.
    values
        What is known of each, in one unit.

    Returns
    -------
    Number
        In the unit of ``values``.

    Raises
    ------
    DomainError
        For ``litres``, where nothing is blended.
    """
    whole = sum(litres)
    if not whole > 0.0:
        raise DomainError("litres", "all volumes are 0; give the litres of each water")
    return sum(volume * value for volume, value in zip(litres, values)) / whole


def blended_ions(litres: Sequence[Number], waters: Sequence[Ions]) -> Ions:
    """Ions of a blend, mg/L.

    Parameters
    ----------
    litres
        Volume of each water, in one unit.
    waters
        Ions of each, mg/L.

    Returns
    -------
    Ions
        mg/L.

    Raises
    ------
    DomainError
        As :func:`blended`.
    """
    return Ions(*(blended(litres, column) for column in zip(*waters)))


def blended_ph(
    litres: Sequence[Number],
    alkalinities: Sequence[Number],
    phs: Sequence[Number],
    temp_c: Number = 20.0,
) -> Number:
    """pH of a blend without loss of carbon dioxide; every water is taken as calcium bicarbonate
    water.

    Parameters
    ----------
    litres
        Volume of each water.
    alkalinities
        Alkalinity of each, mg/L as CaCO3.
    phs
        pH of each, all at ``temp_c``, which is the blend's temperature too.
    temp_c
        Temperature of the readings and of the blend, 0 to 100 °C.

    Returns
    -------
    Number
        pH at ``temp_c``.

    Raises
    ------
    DomainError
        For a pH that does not go with its alkalinity.
    """
    waters = []
    for alkalinity, ph in zip(alkalinities, phs):
        try:
            waters.append(source_water(alkalinity, ph, None, temp_c))
        except DomainError as error:
            raise DomainError("phs", error.reason) from None
    totals = [water.totals for water in waters]
    mixed = totals[0]._replace(
        ca=blended(litres, [water.ca for water in totals]),
        strong=blended(litres, [water.strong for water in totals]),
        anions={"CO3": blended(litres, [water.anions["CO3"] for water in totals])},
    )
    return solve_for_ph(temp_c, mixed, start=waters[0])


def share(alkalinity_a: Number, alkalinity_b: Number, target_alkalinity: Number) -> Number:
    """Share of the second water, 0 to 1, in a blend of the target alkalinity.

    Parameters
    ----------
    alkalinity_a
        Of the first water, mg/L as CaCO3.
    alkalinity_b
        Of the second, mg/L as CaCO3.
    target_alkalinity
        Of the blend, mg/L as CaCO3, between the two.

    Returns
    -------
    Number
        Volume of the second water over that of the blend, 0 to 1.

    Raises
    ------
    DomainError
        For a target that is not between the two.
    """
    between = ((target_alkalinity - alkalinity_a) * (target_alkalinity - alkalinity_b) <= 0.0) & (
        alkalinity_a != alkalinity_b
    )
    difference = require(
        between,
        "target_alkalinity",
        lambda: (
            f"{target_alkalinity:g} is not between the two waters' {alkalinity_a:g} and"
            f" {alkalinity_b:g} mg/L as CaCO3, so no blend of them has it"
            if alkalinity_a != alkalinity_b
            else f"both waters have {alkalinity_a:g} mg/L as CaCO3, so has every blend of them"
        ),
        alkalinity_b - alkalinity_a,
    )
    return (target_alkalinity - alkalinity_a) / difference
