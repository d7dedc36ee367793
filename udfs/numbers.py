"""A number in a cell: what counts as one, and the words for what does not."""

from __future__ import annotations

import math
from datetime import date, time
from typing import Any

import numpy as np

from chemcore.errors import DomainError
from udfs.arguments import Quantity


def number(name: str, cell: Any, kind: Quantity, wanted: str) -> float:
    """The number in a cell.

    Parameters
    ----------
    name
        Argument that the cell belongs to.
    cell
        What stands in it.
    kind
        Unit and valid range.
    wanted
        What would be right, for the sentence.

    Raises
    ------
    DomainError
        For anything else than a finite number in the range.
    """
    if type(cell) is not float:
        if isinstance(cell, str):
            hint = (f'"{cell.strip()[:40]}" is text, not a number; type it as a number with the decimal sign of your '
                    "spreadsheet" if cell.strip()[:1].isdigit() else f'"{cell.strip()[:40]}" is not a number; {wanted}')
            raise DomainError(name, hint)
        if isinstance(cell, (bool, np.bool_)) or isinstance(cell, (date, time)) or isinstance(cell, tuple):
            raise DomainError(name, f"{shown(cell)} is not a number; {wanted}")
        try:
            cell = float(cell)
        except (TypeError, ValueError, OverflowError):
            raise DomainError(name, f"{shown(cell)} is not a number; {wanted}") from None
    if not math.isfinite(cell):
        raise DomainError(name, f"the cell holds no finite number; {wanted}")
    problem = kind.problem(cell)
    if problem:
        raise DomainError(name, problem)
    return cell


def shown(cell: Any) -> str:
    """A cell's value in words."""
    if isinstance(cell, (bool, np.bool_)):
        return "TRUE" if cell else "FALSE"
    if isinstance(cell, tuple):
        return "a range"
    if isinstance(cell, (date, time)):
        return "a date"
    return f"{cell!s:.40}"


def empty(cell: Any) -> bool:
    """Whether a cell holds nothing, or a text of blanks as a formula leaves it."""
    return cell is None or (isinstance(cell, str) and not cell.strip())
