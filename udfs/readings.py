"""Columns of readings: the ranges that a function takes as one whole, with blanks where a reading was missed."""

from __future__ import annotations

import math
from typing import Annotated, Any

from chemcore.acids import acid_names, find_acid
from chemcore.errors import DomainError
from udfs.arguments import STRENGTH, TITRANT_ML, Block, Quantity, Word
from udfs.numbers import empty, number


def _line(name: str, block: tuple) -> list[tuple[str, Any]]:
    """Cells of one column or one row, each with its place in words and None where it is blank."""
    width = max((len(row) for row in block), default=0)
    if len(block) > 1 and width > 1:
        raise DomainError(name, f"the range is {len(block)} rows by {width} columns; give one column or one row of cells")
    place = "row" if len(block) > 1 else "cell"
    flat = [cell for row in block for cell in row]
    return [(f"{place} {i}", None if empty(cell) else cell) for i, cell in enumerate(flat, start=1)]


def numbers(quantity: Quantity) -> Block:
    """A column (or row) of numbers as a tuple of floats, NaN where a cell is blank; a text is named with its row."""

    def read(name: str, block: tuple) -> tuple[float, ...]:
        values = []
        for place, cell in _line(name, block):
            if cell is None:
                values.append(math.nan)
                continue
            try:
                values.append(number(name, cell, quantity, "leave headings out and missing readings blank"))
            except DomainError as error:
                raise DomainError(name, f"{place} of the range: {error.reason}") from None
        return tuple(values)

    return Block(quantity.help, read, quantity.unit)


def words(word: Word) -> Block:
    """A column (or row) of names as a tuple of what they name, None where a cell is blank."""

    def read(name: str, block: tuple) -> tuple:
        values = []
        for place, cell in _line(name, block):
            try:
                values.append(None if cell is None else word.find(str(cell)))
            except DomainError as error:
                raise DomainError(name, f"{place} of the range: {error.reason}") from None
        return tuple(values)

    return Block(word.help, read)


_PH = Quantity("pH readings, one for each volume; blank where one was missed", "pH", 0.5, 13.0)
_RUN_OFF = Quantity("Total wort run off at each reading", "L", 0.0, 1e7)
_PLATO = Quantity("Gravities of the runnings; blank where one was missed", "°P", 0.0, 40.0)
_DOSE = Quantity("Doses as bought (g for a powder)", "mL", 0.0, 1e7)
_PH_BEFORE = Quantity("pH of the source water of each batch, cooled sample", "pH", 4.0, 11.0)
_PH_AFTER = Quantity("pH of each batch's liquor after its dose, cooled sample", "pH", 1.0, 11.0)
_LITRES = Quantity("Liquor of each batch, as litres at 20 °C", "L", 0.001, 1e7)
_VALUE = Quantity("Numbers", "", -1e12, 1e12)
_ACID = Word("Acid of each batch, or one for all", find_acid, acid_names())

MLColumn = Annotated[tuple, numbers(TITRANT_ML)]
PHColumn = Annotated[tuple, numbers(_PH)]
RunOffColumn = Annotated[tuple, numbers(_RUN_OFF)]
PlatoColumn = Annotated[tuple, numbers(_PLATO)]
DoseColumn = Annotated[tuple, numbers(_DOSE)]
PHBeforeColumn = Annotated[tuple, numbers(_PH_BEFORE)]
PHAfterColumn = Annotated[tuple, numbers(_PH_AFTER)]
LitresColumn = Annotated[tuple, numbers(_LITRES)]
StrengthColumn = Annotated[tuple, numbers(STRENGTH)]
ValueColumn = Annotated[tuple, numbers(_VALUE)]
AcidColumn = Annotated[tuple, words(_ACID)]
