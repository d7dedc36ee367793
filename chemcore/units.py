"""Volumes, and the density of water that turns a hot volume into a cold one."""

from __future__ import annotations

from functools import lru_cache

from chemcore.errors import DomainError
from chemcore.numeric import Number
from chemcore.tables import constant, fold, named_rows, rows


def unit_names() -> tuple[str, ...]:
    """Units of volume by the name used on sheets."""
    return tuple(row["unit"] for row in rows("units"))


def litres_per_unit(unit: str) -> float:
    """Litres in one ``unit``.

    Accepts the names and spellings of ``data/units.csv`` in any case. A bare "gal", "gallon", "bbl"
    or "barrel" is refused: it does not say whose.

    Parameters
    ----------
    unit
        A name or spelling of data/units.csv, in any case.

    Returns
    -------
    float
        L.

    Raises
    ------
    DomainError
        For any other name.
    """
    row = named_rows("units", "unit").get(fold(unit))
    if row is None:
        named = tuple(name for name in unit_names() if name.endswith(f" {fold(unit)}"))
        why = "does not say whose" if named else "is not a unit of volume here"
        raise DomainError("unit", f'"{unit}" {why}; use one of {", ".join(named or unit_names())}')
    return float(row["litres"])


def litres(amount: Number, unit: str) -> Number:
    """Litres in ``amount`` of ``unit``.

    A US beer barrel is 31 US gallons (27 CFR 25.11), an imperial brewery barrel 36 imperial
    gallons.

    Parameters
    ----------
    amount
        In the unit.
    unit
        A name or spelling of data/units.csv, in any case.

    Returns
    -------
    Number
        L.

    Raises
    ------
    DomainError
        As :func:`litres_per_unit`.
    """
    return amount * litres_per_unit(unit)


def water_density(temp_c: Number) -> Number:
    """Density of pure water at 1 atm in kg/L, 0 to 100 °C.

    Source: Kell 1975, J. Chem. Eng. Data 20:97, eq. 16.

    Parameters
    ----------
    temp_c
        0 to 100 °C.

    Returns
    -------
    Number
        kg/L.
    """
    a0, a1, a2, a3, a4, a5, a6 = _kell()
    t = temp_c
    return (((((a5 * t + a4) * t + a3) * t + a2) * t + a1) * t + a0) / (1.0 + a6 * t) / 1000.0


@lru_cache(maxsize=1)
def _kell() -> tuple[float, ...]:
    return tuple(constant(f"water_density_{i}") for i in range(7))


@lru_cache(maxsize=1)
def report_density() -> float:
    """Density of water in kg/L at the temperature to which volumes refer (20 °C)."""
    return float(water_density(constant("report_temperature")))


def cold_litres(hot_litres: Number, temp_c: Number) -> Number:
    """Litres at 20 °C of the water that fills ``hot_litres`` at ``temp_c``.

    Water only: the widening of the tank itself, about 0.3 % for steel between 20 and 77 °C, is left
    out.

    Parameters
    ----------
    hot_litres
        As read on the hot tank, L.
    temp_c
        Of the hot water, 0 to 100 °C.

    Returns
    -------
    Number
        L at 20 °C.
    """
    return hot_litres * (water_density(temp_c) / report_density())
