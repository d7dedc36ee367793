"""The aqueous species of ``data/species.csv`` and their log K by temperature.

A species is ``metal + h H+ + ligand``; its log K forms it from the free ions. A row gives log K
either as ``a1 + a2 T + a3/T + a4 log10 T + a5/T² + a6 T²`` (T in kelvin) or as log K at 25 °C with
the enthalpy of the reaction (van 't Hoff), in both cases from its ``parent`` species, to whose own
log K it is added.
"""

from __future__ import annotations

from functools import cache, lru_cache
from typing import NamedTuple

import numpy as np

from chemcore.activity import debye_huckel
from chemcore.numeric import ARRAY, FLOAT, LN10, Mathematics, Number
from chemcore.tables import constant, number, rows

METALS = ("Ca", "Mg", "Na")
METAL_CHARGE = {"Ca": 2, "Mg": 2, "Na": 1}


class Species(NamedTuple):
    """One row of the species table: ``metal + h H+ + ligand of the family``, formed from ``parent``
    where one is named.

    ``coefficients`` are those of :func:`log_k`; ``ion_size`` in ångström and ``gamma_b`` in kg/mol
    are those of
    :func:`log_gamma`, None where the table has none.
    """

    name: str
    family: str
    metal: str
    h: int
    charge: int
    parent: str
    coefficients: tuple[float, ...]
    ion_size: float | None
    gamma_b: float | None


@cache
def all_species() -> tuple[Species, ...]:
    """Every row of ``data/species.csv``, in the order of the file."""
    return tuple(_species(row) for row in rows("species"))


def _species(row: dict[str, str]) -> Species:
    analytic = tuple(number(row[f"a{i}"]) for i in range(1, 7))
    if not any(analytic):
        slope = number(row["delta_h_kj"]) * 1000.0 / (constant("gas_constant") * LN10)
        analytic = (
            number(row["log_k"]) + slope / constant("reference_temperature"),
            0.0,
            -slope,
            0.0,
            0.0,
            0.0,
        )
    return Species(
        row["species"],
        row["family"],
        row["metal"],
        int(row["h"]),
        int(row["charge"]),
        row["parent"],
        analytic,
        float(row["ion_size"]) if row["ion_size"] else None,
        float(row["gamma_b"]) if row["gamma_b"] else None,
    )


def log_k(coefficients: tuple[float, ...], kelvin: Number, xp: Mathematics) -> Number:
    """``a1 + a2 T + a3/T + a4 log10 T + a5/T² + a6 T²``, the analytic expression of PHREEQC.

    Parameters
    ----------
    coefficients
        a1 to a6.
    kelvin
        Temperature, K.
    xp
        Back end of the values: :func:`chemcore.numeric.backend`.

    Returns
    -------
    Number
        log10 K.
    """
    a1, a2, a3, a4, a5, a6 = coefficients
    value = a1 + a3 / kelvin
    if a2:
        value = value + a2 * kelvin
    if a4:
        value = value + a4 * xp.log10(kelvin)
    if a5 or a6:
        value = value + a5 / (kelvin * kelvin) + a6 * (kelvin * kelvin)
    return value


class Constants(NamedTuple):
    """What depends on temperature alone: log K of each species by name, and the Debye-Hückel
    slopes.
    """

    log_k: dict[str, Number]
    k: dict[str, Number]
    slope_a: Number
    slope_b: Number


def constants_at(temp_c: Number) -> Constants:
    """Constants at a temperature in °C (0 to 100), kept for the temperatures asked last.

    Parameters
    ----------
    temp_c
        0 to 100 °C.

    Returns
    -------
    Constants
        For every species of the table.
    """
    if isinstance(temp_c, np.ndarray):
        return _constants(temp_c, ARRAY)
    return _constants_of_float(float(temp_c))


@lru_cache(maxsize=512)
def _constants_of_float(temp_c: float) -> Constants:
    return _constants(temp_c, FLOAT)


def _constants(temp_c: Number, xp: Mathematics) -> Constants:
    kelvin = temp_c + constant("zero_celsius")
    logs: dict[str, Number] = {}
    for one in all_species():
        logs[one.name] = log_k(one.coefficients, kelvin, xp) + (
            logs[one.parent] if one.parent else 0.0
        )
    slope_a, slope_b = debye_huckel(temp_c, xp)
    return Constants(logs, {name: 10.0**value for name, value in logs.items()}, slope_a, slope_b)


def log_gamma(
    species: Species, mu: Number, slope_a: Number, slope_b: Number, xp: Mathematics
) -> Number:
    """log10 of the activity coefficient at ionic strength ``mu``.

    Extended Debye-Hückel with the ion's size and linear term where the table has them, else Davies
    for an ion and 0.1 I for an uncharged species (Parkhurst & Appelo 2013, eqs. 4 to 6).

    Parameters
    ----------
    species
        From :func:`all_species`.
    mu
        Ionic strength, mol/kg.
    slope_a
        Debye-Hückel A, (kg/mol)^0.5.
    slope_b
        Debye-Hückel B, (kg/mol)^0.5/ångström.
    xp
        Back end of the values: :func:`chemcore.numeric.backend`.

    Returns
    -------
    Number
        log10, no unit.
    """
    root = xp.sqrt(mu)
    z2 = species.charge * species.charge
    if species.ion_size is not None:
        return (species.gamma_b or 0.0) * mu - slope_a * z2 * root / (
            1.0 + slope_b * species.ion_size * root
        )
    if species.charge == 0:
        return constant("neutral_salting") * mu
    return -slope_a * z2 * (root / (1.0 + root) - constant("davies_linear") * mu)
