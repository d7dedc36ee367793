"""Gravity and extract of wort: conversion, topping up, boiling down, dextrose.

Volumes in litres at 20 °C. Extract and water are weighed out and balanced by mass, so that boiling
off the water of a top-up gives back volume and gravity. Extract counts as sucrose, which is what °P
means.
"""

from __future__ import annotations

from chemcore.numeric import Number, backend, require
from chemcore.tables import constant
from chemcore.units import report_density

#: End of the table behind the polynomial.
HIGHEST_PLATO = 40.0
#: A target within this of what is there already is reached: the last digits of computed figures
#: differ.
GRACE = 1e-9


def plato(sg: Number) -> Number:
    """°P (g extract in 100 g) of a specific gravity 20/20 °C from 1.000 to 1.178.

    Source: cubic fitted to the sucrose table of NBS Circular C440 (1942); within 0.005 °P.

    Parameters
    ----------
    sg
        Specific gravity 20/20 °C, 1.000 to 1.178.

    Returns
    -------
    Number
        °P.
    """
    return _not_negative(_polynomial(sg))


def _not_negative(value: Number) -> Number:
    return backend(value).maximum(value, 0.0)


def _polynomial(sg: Number) -> Number:
    a0, a1, a2, a3 = (constant(f"plato_{i}") for i in range(4))
    return ((a3 * sg + a2) * sg + a1) * sg + a0


def specific_gravity(plato: Number) -> Number:
    """Specific gravity 20/20 °C of °P from 0 to 40; undoes :func:`plato` (Newton's method).

    Parameters
    ----------
    plato
        °P, 0 to 40.

    Returns
    -------
    Number
        At 20/20 °C.
    """
    a1, a2, a3 = (constant(f"plato_{i}") for i in range(1, 4))
    sg = 1.0 + plato * 0.0042
    for _ in range(8):
        sg = sg - (_polynomial(sg) - plato) / ((3.0 * a3 * sg + 2.0 * a2) * sg + a1)
    return sg


def wort_mass(litres: Number, plato: Number) -> Number:
    """kg of wort in litres at 20 °C.

    Parameters
    ----------
    litres
        Wort, L at 20 °C.
    plato
        Gravity of the wort, °P, 0 to 40.

    Returns
    -------
    Number
        kg.
    """
    return litres * specific_gravity(plato) * report_density()


def _volume(mass: Number, plato: Number) -> Number:
    return mass / (specific_gravity(plato) * report_density())


def top_up(litres_in_kettle: Number, target_litres: Number) -> Number:
    """Litres of water to add; the 0.02 % by which wort and water shrink on mixing is left out.

    Parameters
    ----------
    litres_in_kettle
        Wort, L at 20 °C.
    target_litres
        Wanted, L at 20 °C.

    Returns
    -------
    Number
        L of water at 20 °C, 0 or more.

    Raises
    ------
    DomainError
        For ``target_litres`` below what is in the kettle.
    """
    missing = target_litres - litres_in_kettle
    missing = require(
        missing >= -GRACE * litres_in_kettle,
        "target_litres",
        lambda: (
            f"{target_litres:g} L is less than the {litres_in_kettle:g} L in the kettle; there is "
            "nothing to top up"
        ),
        missing,
    )
    return _not_negative(missing)


def plato_after_top_up(litres: Number, plato: Number, added_litres: Number) -> Number:
    """°P after water was added.

    Parameters
    ----------
    litres
        Wort before, L at 20 °C.
    plato
        Gravity of the wort, °P, 0 to 40.
    added_litres
        Water, L at 20 °C.

    Returns
    -------
    Number
        °P.
    """
    mass = wort_mass(litres, plato)
    return plato * mass / (mass + added_litres * report_density())


def boil_minutes(
    litres: Number, plato: Number, target_plato: Number, evaporation_l_per_h: Number
) -> Number:
    """Minutes of boil that concentrate the wort to a gravity; evaporation as litres of water at 20
    °C an hour.

    Parameters
    ----------
    litres
        Wort before the boil, L at 20 °C.
    plato
        Gravity of the wort, °P, 0 to 40.
    target_plato
        Gravity wanted, °P, 40 at most.
    evaporation_l_per_h
        Water that boils off, L at 20 °C in an hour.

    Returns
    -------
    Number
        Minutes, 0 or more.

    Raises
    ------
    DomainError
        For ``target_plato`` below the wort's gravity, or wort without extract.
    """
    some = require(
        plato > GRACE, "plato", lambda: "0 °P is water, which boiling does not concentrate", plato
    )
    target_plato = require(
        target_plato >= some - GRACE,
        "target_plato",
        lambda: (
            f"{target_plato:g} °P is below the wort's {plato:g} °P; boiling only raises gravity"
        ),
        target_plato,
    )
    water = wort_mass(litres, some) * (1.0 - some / target_plato) / report_density()
    return _not_negative(60.0 * water / evaporation_l_per_h)


def _boiled(
    litres: Number, plato: Number, minutes: Number, evaporation_l_per_h: Number
) -> tuple[Number, Number]:
    """Mass and °P of what a boil leaves."""
    mass = wort_mass(litres, plato)
    left = mass - minutes / 60.0 * evaporation_l_per_h * report_density()
    strong = plato * mass / backend(left).maximum(left, 1e-9 * mass)
    left = require(
        (left > 0.0) & (strong <= HIGHEST_PLATO),
        "minutes",
        lambda: (
            f"{minutes:g} minutes would boil the wort down past {HIGHEST_PLATO:g} °P; look at the"
            " minutes and the evaporation"
        ),
        left,
    )
    return left, plato * mass / left


def plato_after_boil(
    litres: Number, plato: Number, minutes: Number, evaporation_l_per_h: Number
) -> Number:
    """°P after so many minutes of boil.

    Parameters
    ----------
    litres
        Wort before the boil, L at 20 °C.
    plato
        Gravity of the wort, °P, 0 to 40.
    minutes
        Of the boil, 0 or more.
    evaporation_l_per_h
        Water that boils off, L at 20 °C in an hour.

    Returns
    -------
    Number
        °P, 40 at most.

    Raises
    ------
    DomainError
        For ``minutes`` that boil the wort past 40 °P.
    """
    return _boiled(litres, plato, minutes, evaporation_l_per_h)[1]


def litres_after_boil(
    litres: Number, plato: Number, minutes: Number, evaporation_l_per_h: Number
) -> Number:
    """Litres of wort at 20 °C after so many minutes of boil.

    Parameters
    ----------
    litres
        Wort before the boil, L at 20 °C.
    plato
        Gravity of the wort, °P, 0 to 40.
    minutes
        Of the boil, 0 or more.
    evaporation_l_per_h
        Water that boils off, L at 20 °C in an hour.

    Returns
    -------
    Number
        L at 20 °C.

    Raises
    ------
    DomainError
        For ``minutes`` that boil the wort past 40 °P.
    """
    return _volume(*_boiled(litres, plato, minutes, evaporation_l_per_h))


def dextrose_extract() -> float:
    """Extract in mass % of dextrose monohydrate; the rest is its water."""
    return 100.0 * constant("molar_mass_dextrose") / constant("molar_mass_dextrose_monohydrate")


def dextrose_mass(
    litres: Number, plato: Number, target_plato: Number, extract_percent: Number | None = None
) -> Number:
    """kg of dextrose that raises the wort to a gravity; monohydrate (90.9 % extract) where no other
    is given.

    Dextrose counts as its own mass of extract; in °P it reads about 0.5 % less than sucrose.

    Parameters
    ----------
    litres
        Wort, L at 20 °C.
    plato
        Gravity of the wort, °P, 0 to 40.
    target_plato
        Gravity wanted, °P, 40 at most.
    extract_percent
        Extract of the dextrose, mass %; left out, that of the monohydrate.

    Returns
    -------
    Number
        kg as weighed.

    Raises
    ------
    DomainError
        For ``target_plato`` below the wort's gravity.
    """
    share = dextrose_extract() if extract_percent is None else extract_percent
    target_plato = require(
        target_plato >= plato - GRACE,
        "target_plato",
        lambda: (
            f"{target_plato:g} °P is below the wort's {plato:g} °P; dextrose only raises gravity"
        ),
        target_plato,
    )
    return _not_negative(wort_mass(litres, plato) * (target_plato - plato) / (share - target_plato))
