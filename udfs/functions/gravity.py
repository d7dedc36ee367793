"""Functions: gravity and extract of wort in the kettle."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from chemcore import gravity
from chemcore.numeric import Number
from udfs.arguments import (
    AddedLitres,
    Evaporation,
    ExtractPercent,
    Minutes,
    Plato,
    SpecificGravity,
    WortLitres,
    kind,
)
from udfs.catalogue import function

TargetPlato = Annotated[Number, replace(kind(Plato), help="Gravity wanted, not below the wort's")]


@function("Kettle", "°P")
def plato(sg: SpecificGravity) -> Number:
    """Gravity in °P (g extract in 100 g wort) of a specific gravity 20/20 °C.

    References
    ----------
    Cubic fitted to the sucrose table of NBS Circular C440 (1942); within 0.005 °P of the table.
    """
    return gravity.plato(sg)


@function("Kettle", "20/20 °C")
def gravity_sg(plato: Plato) -> Number:
    """Specific gravity 20/20 °C of a gravity in °P; undoes PLATO.

    References
    ----------
    As PLATO.
    """
    return gravity.specific_gravity(plato)


@function("Kettle", "L of water")
def kettle_top_up(litres_in_kettle: WortLitres, target_litres: WortLitres) -> Number:
    """Water that brings the kettle to a volume.

    Read both volumes at the same temperature. Water and wort shrink by about 0.02 % on mixing,
    which is left out.

    Parameters
    ----------
    litres_in_kettle
        Wort in the kettle
    target_litres
        Volume wanted

    References
    ----------
    Difference.
    """
    return gravity.top_up(litres_in_kettle, target_litres)


@function("Kettle", "°P")
def plato_after_top_up(litres: WortLitres, plato: Plato, added_litres: AddedLitres) -> Number:
    """Gravity after water was added to the wort.

    References
    ----------
    Extract balance by mass; density of wort from PLATO's table.
    """
    return gravity.plato_after_top_up(litres, plato, added_litres)


@function("Kettle", "min")
def boil_minutes(
    litres: WortLitres, plato: Plato, target_plato: TargetPlato, evaporation_l_per_h: Evaporation
) -> Number:
    """Length of a boil that concentrates the wort to a gravity.

    References
    ----------
    Extract balance by mass; density of wort from PLATO's table.
    """
    return gravity.boil_minutes(litres, plato, target_plato, evaporation_l_per_h)


@function("Kettle", "°P")
def plato_after_boil(
    litres: WortLitres, plato: Plato, minutes: Minutes, evaporation_l_per_h: Evaporation
) -> Number:
    """Gravity after a boil.

    References
    ----------
    Extract balance by mass; density of wort from PLATO's table.
    """
    return gravity.plato_after_boil(litres, plato, minutes, evaporation_l_per_h)


@function("Kettle", "L at 20 °C")
def litres_after_boil(
    litres: WortLitres, plato: Plato, minutes: Minutes, evaporation_l_per_h: Evaporation
) -> Number:
    """Volume of the wort, cooled to 20 °C, after a boil.

    References
    ----------
    Extract balance by mass; density of wort from PLATO's table.
    """
    return gravity.litres_after_boil(litres, plato, minutes, evaporation_l_per_h)


@function("Kettle", "kg")
def dextrose_mass(
    litres: WortLitres,
    plato: Plato,
    target_plato: TargetPlato,
    extract_percent: ExtractPercent = None,
) -> Number:
    """Dextrose that raises the wort to a gravity.

    Monohydrate, 90.9 % extract and 9.1 % water of crystallisation, unless another extract is given
    (100 for anhydrous). Dextrose counts as its own mass of extract; a hydrometer shows about 0.5 %
    less of it than of sucrose.

    References
    ----------
    Extract balance by mass; C6H12O6.H2O by IUPAC 2021 atomic weights: 180.156/198.171.
    """
    return gravity.dextrose_mass(litres, plato, target_plato, extract_percent)
