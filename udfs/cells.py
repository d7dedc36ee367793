"""Cell values in, cell values out: the answer of one function for what stands in cells.

A cell holds a float (or int), a bool, a text, None (empty) or an error code, which is one of the
texts in ``ERRORS``; a range is a tuple of row tuples. What goes back is a cell or a range of such
cells.
"""

from __future__ import annotations

import math
from typing import Any

from chemcore.errors import DomainError
from udfs.catalogue import Function
from udfs.columns import column_answers, common_shape
from udfs.reading import ERRORS, passed_on, read

__all__ = ["ERRORS", "evaluate"]

_RANGES = frozenset((tuple, list))


def evaluate(entry: Function, cells: tuple[Any, ...]) -> Any:
    """Answer of one catalogue function for cell arguments; never raises for any cell."""
    missing = len(entry.arguments) - len(cells)
    if missing < 0:
        return (
            f"Check arguments: {entry.name} takes at most {len(entry.arguments)}, {len(cells)} are"
            " given"
        )
    given = [_unwrapped(cell) if type(cell) in _RANGES else cell for cell in cells]
    if missing:
        given += [None] * missing
    try:
        shape = common_shape(entry, given)
        if shape is None:
            return _single(entry, given)
        return column_answers(entry, given, shape, _single)
    except DomainError as error:
        return _sentence(error)
    except Exception as error:
        return _unforeseen(entry, error)


def _unwrapped(cell: tuple[Any, ...] | list[Any]) -> Any:
    """A range of one cell is that cell; lists count as tuples."""
    if type(cell) is list:
        cell = tuple(map(tuple, cell))
    if len(cell) == 1 and len(cell[0]) == 1:
        return cell[0][0]
    return cell


def _single(entry: Function, given: list[Any]) -> Any:
    """One answer from single cells."""
    try:
        return _answer(
            entry,
            entry.body(*[read(argument, cell) for argument, cell in zip(entry.arguments, given)]),
        )
    except DomainError as error:
        return passed_on(given) or _sentence(error)
    except Exception as error:
        return _unforeseen(entry, error)


def _answer(entry: Function, value: Any) -> float | str | tuple[Any, ...]:
    if isinstance(value, str):
        return value
    if entry.cells > 1:
        return (tuple(_finite(entry, one) for one in value),)
    return _finite(entry, value)


def _finite(entry: Function, value: Any) -> float:
    number = float(value)
    if not math.isfinite(number):
        raise DomainError("arguments", f"{entry.name} has no answer for these values")
    return number


def _sentence(error: DomainError) -> str:
    return f"Check {error.argument}: {error.reason}"


def _unforeseen(entry: Function, error: Exception) -> str:
    """The last resort: a host must never see a traceback."""
    return (
        f"Check arguments: {entry.name} cannot work with them ({type(error).__name__}); please"
        " report this case"
    )
