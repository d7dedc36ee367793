"""Readings that were written down side by side, some of them missed."""

from __future__ import annotations

import numpy as np

from chemcore.errors import DomainError


def side_by_side(**columns) -> list[np.ndarray]:
    """The columns as arrays; NaN stands where a reading was missed.

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


def present(*arrays) -> np.ndarray:
    """Where every one of the arrays has a reading."""
    return ~np.logical_or.reduce([np.isnan(values) for values in arrays])


def require_rising(name: str, what: str, values, rows) -> None:
    """Refuse values that do not rise from one reading to the next; ``rows`` are their places, from 1."""
    for before, after, row in zip(values, values[1:], rows[1:]):
        if not after > before:
            raise DomainError(
                name,
                f"row {row} has {after:g} {what}, which is not above the {before:g} before it; "
                "write totals in the order of the readings",
            )
