"""Ranges that a function takes as one whole: columns of numbers or names, and tables with a row for
each thing.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

from chemcore.errors import DomainError
from udfs.arguments import Block, Quantity, Word
from udfs.numbers import empty, number
from udfs.words import named


class BlockColumn(NamedTuple):
    """One column of a table: its heading in a sentence, and the numbers that may stand in it."""

    heading: str
    kind: Quantity


def numbers(quantity: Quantity) -> Block:
    """A column (or row) of numbers as a tuple of floats, NaN where a cell is blank."""

    def read(name: str, block: tuple[Any, ...]) -> tuple[float, ...]:
        wanted = "leave headings out and missing readings blank"
        return tuple(
            _number(name, place, cell, quantity, wanted) for place, cell in _line(name, block)
        )

    return Block(quantity.help, read, quantity.unit)


def words(word: Word) -> Block:
    """A column (or row) of names as a tuple of what they name, None where a cell is blank."""

    def read(name: str, block: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(_word(name, place, cell, word) for place, cell in _line(name, block))

    return Block(word.help, read)


def table(columns: tuple[BlockColumn, ...]) -> Callable[[str, tuple[Any, ...]], list[Any]]:
    """Reader of a range with these columns; a row with nothing in it is None, a row with gaps is
    refused.
    """

    def read(name: str, block: tuple[Any, ...]) -> list[tuple[float, ...] | None]:
        if any(len(row) != len(columns) for row in block):
            raise DomainError(
                name,
                f"give {len(columns)} columns: {', '.join(column.heading for column in columns)}",
            )
        return [_row(name, i, row, columns) for i, row in enumerate(block, 1)]

    return read


def filled(**lists: Sequence[Any]) -> dict[str, list[Any]]:
    """Columns and tables that belong together row by row, without the rows that are blank in all of
    them.

    Raises
    ------
    DomainError
        For lists of unlike length, or a row that is blank in some of them only.
    """
    (first, length), *_ = ((name, len(values)) for name, values in lists.items())
    for name, values in lists.items():
        if len(values) != length:
            raise DomainError(
                name,
                f"it has {len(values)} rows but {first} has {length}; they belong together row"
                " by row",
            )
    kept: dict[str, list[Any]] = {name: [] for name in lists}
    for i in range(length):
        if all(_blank(values[i]) for values in lists.values()):
            continue
        for name, values in lists.items():
            if _blank(values[i]):
                raise DomainError(
                    name, f"row {i + 1} is empty; fill it in, or clear that row everywhere"
                )
            kept[name].append(values[i])
    if not kept[first]:
        raise DomainError(first, "every row is empty")
    return kept


def _blank(value: Any) -> bool:
    return value is None or value != value


def _line(name: str, block: tuple[Any, ...]) -> list[tuple[str, Any]]:
    """Cells of one column or one row, each with its place in words."""
    width = max((len(row) for row in block), default=0)
    if len(block) > 1 and width > 1:
        raise DomainError(
            name,
            f"the range is {len(block)} rows by {width} columns; give one column or one row of"
            " cells",
        )
    place = "row" if len(block) > 1 else "cell"
    return [
        (f"{place} {i} of the range", cell)
        for i, cell in enumerate((cell for row in block for cell in row), 1)
    ]


def _number(name: str, place: str, cell: Any, kind: Quantity, wanted: str) -> float:
    if empty(cell):
        return math.nan
    try:
        return number(name, cell, kind, wanted)
    except DomainError as error:
        raise DomainError(name, f"{place}: {error.reason}") from None


def _word(name: str, place: str, cell: Any, word: Word) -> Any:
    if empty(cell):
        return None
    try:
        return named(name, cell, word)
    except DomainError as error:
        raise DomainError(name, f"{place}: {error.reason}") from None


def _row(
    name: str, i: int, row: tuple[Any, ...], columns: tuple[BlockColumn, ...]
) -> tuple[float, ...] | None:
    values = tuple(
        _number(name, f"row {i}, {heading}", cell, kind, f"type a number, {kind.range_text()}")
        for (heading, kind), cell in zip(columns, row)
    )
    if all(map(_blank, values)):
        return None
    for (heading, kind), value in zip(columns, values):
        if _blank(value):
            raise DomainError(
                name,
                f"row {i}, {heading}: the cell is empty; type a number, {kind.range_text()}, or"
                " clear the whole row",
            )
    return values
