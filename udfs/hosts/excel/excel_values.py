"""What Excel hands over through xlwings, as :func:`udfs.call` takes it, and back."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

#: Excel's error values that xlwings leaves as a number (it names the seven old ones itself):
#: -2146828288 + XlCVError.
_LATER_ERRORS = {-2146826245: "#GETTING_DATA", -2146826243: "#SPILL!", -2146826238: "#CALC!"}
_FIRST_ERROR, _LAST_ERROR = -2146826288, -2146826233


def from_excel(cell: Any) -> Any:
    """One argument: a cell as itself, a range (which xlwings gives as a list of rows) as a tuple of
    row tuples.
    """
    if not isinstance(cell, (list, tuple)):
        return _value(cell)
    rows = tuple(tuple(_value(value) for value in row) for row in cell)
    return rows[0][0] if len(rows) == 1 and len(rows[0]) == 1 else rows


def to_excel(answer: Any) -> Any:
    """An answer: a number or a text as itself, a range as a list of rows.

    An error code such as ``#N/A`` goes back as that text, of which the add-in's VBA makes the error
    value (:mod:`udfs.hosts.excel.vba`).
    """
    return [list(row) for row in answer] if isinstance(answer, tuple) else answer


def _value(value: Any) -> Any:
    if isinstance(value, Decimal):  # a cell formatted as currency
        return float(value)
    if type(value) is int and _FIRST_ERROR <= value <= _LAST_ERROR:
        return _LATER_ERRORS.get(value, "#VALUE!")
    return value
