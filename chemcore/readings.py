"""Readings that were written down side by side, some of them missed."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np

from chemcore.errors import DomainError
from chemcore.numeric import Array, Column

#: Places of readings in their columns, from 1.
Places: TypeAlias = np.ndarray[Any, np.dtype[np.intp]]

#: True or false for each reading.
Mask: TypeAlias = np.ndarray[Any, np.dtype[np.bool_]]


def side_by_side(**columns: Column) -> list[np.ndarray]:
    """The columns as arrays; NaN stands where a reading was missed.

    Parameters
    ----------
    **columns
        Readings by the name of their argument; NaN where missed.

    Returns
    -------
    list[np.ndarray]
        One array for each, in order.

    Raises
    ------
    DomainError
        For columns of unlike length; it names the first that differs.
    """
    arrays = {name: np.asarray(values, dtype=float) for name, values in columns.items()}
    first, *others = arrays
    for name in others:
        if len(arrays[name]) != len(arrays[first]):
            raise DomainError(
                name,
                f"its range has {len(arrays[name])} cells but that of {first} has "
                f"{len(arrays[first])}; give ranges of the same length",
            )
    return list(arrays.values())


def present(*arrays: Array) -> Mask:
    """Where every one of the arrays has a reading.

    Parameters
    ----------
    *arrays
        Of one length; NaN where missed.

    Returns
    -------
    Mask
        True or false for each reading.
    """
    whole: Mask = np.logical_and.reduce([values == values for values in arrays])
    return whole


def pairs(ml: Column, phs: Column, instead: str) -> tuple[Array, Array, Places]:
    """The volumes and pH that both were read, and their places, from 1.

    Parameters
    ----------
    ml
        Titrant so far at each reading, mL; NaN where missed.
    phs
        pH of each reading; NaN where missed.
    instead
        What to do about a pH without its volume, for the end of the refusal.

    Returns
    -------
    tuple[Array, Array, Places]
        mL, pH, and the places.

    Raises
    ------
    DomainError
        For columns of unlike length, or a pH without its volume.
    """
    volumes, ph = side_by_side(ml=ml, phs=phs)
    for row in np.flatnonzero(np.isnan(volumes) & ~np.isnan(ph)) + 1:
        raise DomainError("ml", f"row {row} has a pH but no mL; {instead}")
    kept = present(volumes, ph)
    return volumes[kept], ph[kept], np.flatnonzero(kept) + 1


def require_rising(name: str, what: str, values: Array, rows: Places) -> None:
    """Refuse values that do not rise from one reading to the next.

    Parameters
    ----------
    name
        Argument at fault, for the refusal.
    what
        Unit of the values, for the refusal.
    values
        That must rise.
    rows
        Their places in the column, from 1.

    Raises
    ------
    DomainError
        For ``name``, where a value is not above the one before it.
    """
    for before, after, row in zip(values, values[1:], rows[1:]):
        if not after > before:
            raise DomainError(
                name,
                f"row {row} has {after:g} {what}, which is not above the {before:g} before it; "
                "write totals in the order of the readings",
            )
