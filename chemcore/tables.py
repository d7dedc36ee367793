"""Reads the tables in ``chemcore/data``: the one place of every constant and its source."""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files
from typing import overload

from chemcore.numeric import Number


@cache
def rows(name: str) -> tuple[dict[str, str], ...]:
    """All rows of ``data/<name>.csv`` as dictionaries of text.

    Parameters
    ----------
    name
        Of the file, without its ending.

    Returns
    -------
    tuple[dict[str, str], ...]
        One dictionary by column for each row.
    """
    text = (files("chemcore") / "data" / f"{name}.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


@cache
def constant(name: str) -> float:
    """Value of one row of ``data/constants.csv``.

    Parameters
    ----------
    name
        Of the row.

    Returns
    -------
    float
        In the unit that stands in the row.
    """
    return float(_constants()[name]["value"])


@overload
def given_or(value: float | None, name: str) -> float: ...
@overload
def given_or(value: Number | None, name: str) -> Number: ...
def given_or(value: Number | None, name: str) -> Number:
    """``value``, or the constant of that name where none is given.

    Parameters
    ----------
    value
        None for not given.
    name
        Of the row of data/constants.csv.

    Returns
    -------
    Number
        In the unit of both.
    """
    return constant(name) if value is None else value


@cache
def _constants() -> dict[str, dict[str, str]]:
    return {row["name"]: row for row in rows("constants")}


def number(text: str, default: float = 0.0) -> float:
    """A cell of a table as a number; an empty cell is ``default``.

    Parameters
    ----------
    text
        Of a cell.
    default
        For an empty cell.

    Returns
    -------
    float
        In the unit of the column.
    """
    return float(text) if text else default


@cache
def named_rows(table: str, key: str) -> dict[str, dict[str, str]]:
    """Rows of a table by every spelling that stands in its ``key`` and ``aliases`` columns, folded.

    Parameters
    ----------
    table
        Name of the file, without its ending.
    key
        Column with the name.

    Returns
    -------
    dict[str, dict[str, str]]
        The row by each spelling.
    """
    found: dict[str, dict[str, str]] = {}
    for row in rows(table):
        for spelling in (row[key], *row["aliases"].split(";")):
            if spelling:
                found[fold(spelling)] = row
    return found


def fold(text: str) -> str:
    """Spelling without case and extra spaces, for look-up by name.

    Parameters
    ----------
    text
        As typed.

    Returns
    -------
    str
        Lower case, single spaces.
    """
    return " ".join(text.casefold().split())
