"""One argument from its cell: blanks and defaults, names, numbers, ions, and the sentences for what
is wrong.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain
from typing import Any

from chemcore.errors import DomainError
from chemcore.water import Ions
from udfs import words
from udfs.arguments import Block, IonCells, Quantity, Word
from udfs.catalogue import Argument
from udfs.numbers import empty, number

ERRORS = (
    "#NULL!",
    "#DIV/0!",
    "#VALUE!",
    "#REF!",
    "#NAME?",
    "#NUM!",
    "#N/A",
    "#GETTING_DATA",
    "#SPILL!",
    "#CALC!",
)
ION_NAMES = Ions._fields
ION_RULE = (
    f"give one range of five cells ({', '.join(ION_NAMES)}), or five columns with a row for each"
    " row of a column"
)

_CODES = frozenset(ERRORS)


def read(argument: Argument, cell: Any) -> Any:
    """The value of an argument from a single cell (or one range of ions, or a block).

    Raises
    ------
    DomainError
        For a cell that will not do; among them error codes and sentences, which :func:`passed_on`
        finds.
    """
    kind = argument.kind
    if type(cell) is float and type(kind) is Quantity and kind.low <= cell <= kind.high:
        return cell
    if empty(cell):
        return _default(argument)
    if type(cell) is str and (cell in _CODES or cell.startswith("Check ")):
        raise DomainError(argument.name, "an error stands in the cell")
    if type(kind) is Quantity:
        return number(argument.name, cell, kind, wanted(argument))
    if type(kind) is Word:
        return words.named(argument.name, cell, kind)
    if type(kind) is IonCells:
        return _ions(argument, cell)
    return _block(argument, cell)


def passed_on(cells: Iterable[Any]) -> str | None:
    """What goes before any other answer: the first error code in cells or ranges, else the sentence
    of a formula inside.
    """
    texts = list(_texts(cells))
    codes = (text for text in texts if text in _CODES)
    sentences = (text for text in texts if text.startswith("Check "))
    return next(codes, None) or next(sentences, None)


def _texts(cells: Iterable[Any]) -> Iterator[str]:
    for cell in cells:
        if type(cell) is str:
            yield cell
        elif type(cell) is tuple:
            yield from _texts(cell)


def wanted(argument: Argument) -> str:
    """What would be right, for the end of a sentence."""
    kind = argument.kind
    if isinstance(kind, Word):
        return words.wanted(kind)
    if isinstance(kind, IonCells):
        return ION_RULE
    if isinstance(kind, Block):
        return "give a range of cells"
    return f"type a number, {kind.range_text()}"


def _default(argument: Argument) -> Any:
    if argument.required:
        raise DomainError(argument.name, f"the cell is empty; {wanted(argument)}")
    named = isinstance(argument.kind, Word) and argument.default is not None
    return argument.kind.find(argument.default) if named else argument.default


def _ions(argument: Argument, cell: Any) -> Ions | None:
    cells = list(chain.from_iterable(cell)) if type(cell) is tuple else [cell]
    high = argument.kind.high
    if len(cells) == len(ION_NAMES):
        for value in cells:
            if type(value) is not float or not 0.0 <= value <= high:
                break
        else:
            return Ions(*cells)
    if all(map(empty, cells)):
        none: Ions | None = _default(argument)
        return none
    if len(cells) != len(ION_NAMES):
        raise DomainError(argument.name, ION_RULE)
    values = []
    for name, value in zip(ION_NAMES, cells):
        if empty(value):
            raise DomainError(
                argument.name, f"the {name} cell is empty; type 0 where there is none"
            )
        kind = Quantity(name, argument.kind.unit, 0.0, high)
        values.append(number(argument.name, value, kind, f"type the {name}, {kind.range_text()}"))
    return Ions(*values)


def _block(argument: Argument, cell: Any) -> Any:
    block = cell if type(cell) is tuple else ((cell,),)
    if passed_on(block):
        raise DomainError(argument.name, "an error stands in the range")
    return argument.kind.read(argument.name, block)
