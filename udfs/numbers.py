"""A number in a cell: what counts as one, and the words for what does not."""

from __future__ import annotations

import math
from datetime import date, time
from typing import Any

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
    if isinstance(cell, str):
        text = f'"{cell.strip()[:40]}"'
        if cell.strip().lstrip("+-.,")[:1].isdigit():
            raise DomainError(
                name,
                f"{text} is text, not a number; type it as a number with the decimal sign of your "
                "spreadsheet",
            )
        raise DomainError(name, f"{text} is not a number; {wanted}")
    if isinstance(cell, (bool, date, time, tuple)):
        raise DomainError(name, f"{shown(cell)} is not a number; {wanted}")
    try:
        value = float(cell)
    except OverflowError:
        raise DomainError(name, f"the number is far too large; {wanted}") from None
    except (TypeError, ValueError):
        raise DomainError(name, f"{shown(cell)} is not a number; {wanted}") from None
    if not math.isfinite(value):
        raise DomainError(name, f"the cell holds no finite number; {wanted}")
    problem = kind.problem(value)
    if problem:
        raise DomainError(name, problem)
    return value


def shown(cell: Any) -> str:
    """A cell's value in words."""
    if isinstance(cell, bool):
        return "TRUE" if cell else "FALSE"
    if isinstance(cell, tuple):
        return "a range"
    if isinstance(cell, (date, time)):
        return "a date"
    if isinstance(cell, (int, float)):
        return "a number" if abs(cell) > 1e15 else f"{cell:.12g}"
    return f'"{cell!s:.40}"'


def empty(cell: Any) -> bool:
    """Whether a cell holds nothing, or a text of blanks as a formula leaves it."""
    return cell is None or (isinstance(cell, str) and not cell.strip())
