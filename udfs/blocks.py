"""Ranges that a function takes as one whole: columns of numbers and tables with a row for each thing."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from chemcore.errors import DomainError
from udfs.arguments import Quantity
from udfs.numbers import empty, number


class Column(NamedTuple):
    """One column of a table: its heading in a sentence, and the numbers that may stand in it."""

    heading: str
    kind: Quantity


def series(kind: Quantity) -> Callable[[str, tuple], list]:
    """Reader of one row or one column of numbers; an empty cell stays None."""

    def read(name: str, block: tuple) -> list:
        if len(block) > 1 and any(len(row) > 1 for row in block):
            raise DomainError(name, "give one column (or one row) of cells")
        cells = [cell for row in block for cell in row]
        return [_one(name, f"cell {i}", cell, kind) for i, cell in enumerate(cells, 1)]

    return read


def table(columns: tuple[Column, ...]) -> Callable[[str, tuple], list]:
    """Reader of a range with these columns; a row with nothing in it is None, a row with gaps is refused."""
    headings = ", ".join(column.heading for column in columns)

    def row_of(name: str, i: int, row: tuple) -> tuple | None:
        if all(empty(cell) for cell in row):
            return None
        values = [_one(name, f"row {i}, {column.heading}", cell, column.kind) for column, cell in zip(columns, row)]
        for column, value in zip(columns, values):
            if value is None:
                raise DomainError(name, f"row {i}, {column.heading}: the cell is empty; type a number, "
                                        f"{column.kind.range_text()}, or clear the whole row")
        return tuple(values)

    def read(name: str, block: tuple) -> list:
        if any(len(row) != len(columns) for row in block):
            raise DomainError(name, f"give {len(columns)} columns: {headings}")
        return [row_of(name, i, row) for i, row in enumerate(block, 1)]

    return read


def filled(**lists: list) -> dict[str, list]:
    """Lists that belong together row by row, without the rows that are empty in all of them.

    Raises
    ------
    DomainError
        For lists of unlike length, or a row that is empty in some of them only.
    """
    (first, length), *_ = ((name, len(values)) for name, values in lists.items())
    for name, values in lists.items():
        if len(values) != length:
            raise DomainError(name, f"it has {len(values)} rows but {first} has {length}; they belong together row by row")
    kept: dict[str, list] = {name: [] for name in lists}
    for i in range(length):
        if all(values[i] is None for values in lists.values()):
            continue
        for name, values in lists.items():
            if values[i] is None:
                raise DomainError(name, f"row {i + 1} is empty; fill it in, or clear that row everywhere")
            kept[name].append(values[i])
    if not kept[first]:
        raise DomainError(first, "every row is empty")
    return kept


def _one(name: str, place: str, cell, kind: Quantity) -> float | None:
    if empty(cell):
        return None
    try:
        return number(name, cell, kind, f"type a number, {kind.range_text()}")
    except DomainError as error:
        raise DomainError(name, f"{place}: {error.reason}") from None
