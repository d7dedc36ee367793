"""Cell values in, cell values out: blanks, text, errors, ranges, broadcasting and the sentences for bad input.

A cell holds a float (or int), a bool, a text, None (empty) or an error code, which is one of the texts in
``ERRORS``; a range is a tuple of row tuples. What goes back is a cell or a range of such cells.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from chemcore.errors import DomainError
from chemcore.water import Ions
from udfs.arguments import Block, IonCells, Quantity, Word
from udfs.catalogue import Argument, Function
from udfs.numbers import empty, number, shown

ERRORS = ("#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A", "#GETTING_DATA", "#SPILL!", "#CALC!")
ION_NAMES = Ions._fields


class _Answer(Exception):
    """Ends the reading of arguments with what the cell shows: a sentence or an error code."""

    def __init__(self, cell):
        self.cell = cell


def _bad(argument: str, reason: str) -> _Answer:
    return _Answer(f"Check {argument}: {reason}")


def evaluate(entry: Function, cells: tuple) -> Any:
    """Answer of one catalogue function for cell arguments; never raises for any cell."""
    try:
        if len(cells) > len(entry.arguments):
            raise _Answer(f"Check arguments: {entry.name} takes at most {len(entry.arguments)}, {len(cells)} are given")
        given = [_unwrapped(cell) for cell in cells] + [None] * (len(entry.arguments) - len(cells))
        shape = _shape(entry, given)
        if shape is not None and entry.cells > 1:
            raise _bad(_first_range(entry, given), f"give one cell, not a range; one answer of {entry.name} fills a row "
                                                   f"of {entry.cells} cells")
        if shape is None:
            return _single(entry, given)
        if any(isinstance(argument.kind, Block) for argument in entry.arguments):  # whole ranges: one answer at a time
            return tuple(tuple(_one_of(entry, given, row, column) for column in range(shape[1])) for row in range(shape[0]))
        return _many(entry, given, shape)
    except _Answer as answer:
        return answer.cell
    except Exception as error:  # the last resort: a host must never see a traceback
        return f"Check arguments: {entry.name} cannot work with them ({type(error).__name__}); please report this case"


def _first_range(entry: Function, given) -> str:
    return next(argument.name for argument, cell in zip(entry.arguments, given)
                if isinstance(cell, tuple) and not isinstance(argument.kind, Block))


def _unwrapped(cell):
    """A range of one cell is that cell; lists count as tuples."""
    if isinstance(cell, (tuple, list)):
        rows = tuple(tuple(row) if isinstance(row, (tuple, list)) else (row,) for row in cell)
        if len(rows) == 1 and len(rows[0]) == 1:
            return rows[0][0]
        return rows
    return cell


def _shape(entry: Function, given) -> tuple[int, int] | None:
    """Common shape of the ranges, or None where every argument is one cell (or one set of ions)."""
    shape, first = None, ""
    for argument, cell in zip(entry.arguments, given):
        if not isinstance(cell, tuple) or isinstance(argument.kind, (IonCells, Block)):
            continue
        this = (len(cell), max((len(row) for row in cell), default=0))
        if any(len(row) != this[1] for row in cell) or 0 in this:
            raise _bad(argument.name, "the range has rows of unlike length")
        if shape is None:
            shape, first = this, argument.name
        elif this != shape:
            raise _bad(argument.name, f"its range is {this[0]} rows by {this[1]} columns but that of {first} is "
                                      f"{shape[0]} by {shape[1]}; ranges must have the same shape")
    for argument, cell in zip(entry.arguments, given):
        if isinstance(argument.kind, IonCells) and isinstance(cell, tuple):
            count = sum(len(row) for row in cell)
            per_row = all(len(row) == len(ION_NAMES) for row in cell)
            if count == len(ION_NAMES):
                continue
            if per_row and (shape is None or shape == (len(cell), 1)):
                shape = shape or (len(cell), 1)
                continue
            raise _bad(argument.name, _ION_RULE)
    return shape


_ION_RULE = (f"give one range of five cells ({', '.join(ION_NAMES)}), or five columns with a row for each row of a "
             "column")


def _single(entry: Function, given) -> Any:
    """One answer from single cells."""
    values = [_read(argument, cell) for argument, cell in zip(entry.arguments, given)]
    try:
        return _cell(entry, entry.body(*values))
    except DomainError as error:
        raise _bad(error.argument, error.reason) from None


def _cell(entry: Function, value) -> Any:
    if isinstance(value, str):
        return value
    if entry.cells > 1:
        return (tuple(_finite(entry, one) for one in value),)
    return _finite(entry, value)


def _finite(entry: Function, value) -> float:
    value = float(value)
    if not math.isfinite(value):
        raise _Answer(f"Check arguments: {entry.name} has no answer for these values")
    return value


def _read(argument: Argument, cell) -> Any:
    """The value of one argument from a single cell (or one range of ions)."""
    kind = argument.kind
    if isinstance(kind, IonCells):
        return _read_ions(argument, cell)
    if isinstance(cell, str) and (cell in ERRORS or cell.startswith("Check ")):
        raise _Answer(cell)  # an error code, or the sentence of a formula inside this one
    if empty(cell):
        if argument.required:
            raise _bad(argument.name, f"the cell is empty; {_wanted(argument)}")
        named = isinstance(kind, Word) and argument.default is not None
        return kind.find(argument.default) if named else argument.default
    if isinstance(kind, Block):
        return _read_block(argument, cell)
    if isinstance(kind, Word):
        if not isinstance(cell, str):
            raise _bad(argument.name, f"{shown(cell)} is not a name; {_wanted(argument)}")
        try:
            return kind.find(cell)
        except DomainError as error:
            raise _bad(argument.name, error.reason) from None
    return _number(argument.name, cell, kind, _wanted(argument))


def _number(name: str, cell, kind: Quantity, wanted: str) -> float:
    try:
        return number(name, cell, kind, wanted)
    except DomainError as error:
        raise _bad(error.argument, error.reason) from None


def _wanted(argument: Argument) -> str:
    kind = argument.kind
    if isinstance(kind, Block):
        return "give a range of cells"
    if isinstance(kind, Word):
        return f"type one of {', '.join(kind.choices)}" if kind.choices else "type its name"
    return f"type a number, {kind.range_text()}"


def _read_block(argument: Argument, cell) -> Any:
    block = cell if isinstance(cell, tuple) else ((cell,),)
    for row in block:
        for value in row:
            if isinstance(value, str) and (value in ERRORS or value.startswith("Check ")):
                raise _Answer(value)  # an error code, or the sentence of a formula in the table
    try:
        return argument.kind.read(argument.name, block)
    except DomainError as error:
        raise _bad(error.argument, error.reason) from None


def _read_ions(argument: Argument, cell) -> Ions | None:
    if not isinstance(cell, tuple):
        if isinstance(cell, str) and cell in ERRORS:
            raise _Answer(cell)
        if (cell is None or (isinstance(cell, str) and not cell.strip())) and not argument.required:
            return None
        raise _bad(argument.name, _ION_RULE)
    flat = [value for row in cell for value in row]
    if len(flat) != len(ION_NAMES):
        raise _bad(argument.name, _ION_RULE)
    for value in flat:
        if isinstance(value, str) and value in ERRORS:
            raise _Answer(value)
    blanks = [empty(value) for value in flat]
    if all(blanks):
        if argument.required:
            raise _bad(argument.name, f"the cells are empty; {_ION_RULE}")
        return None
    kind = argument.kind
    values = []
    for name, value, blank in zip(ION_NAMES, flat, blanks):
        if blank:
            raise _bad(argument.name, f"the {name} cell is empty; type 0 where there is none")
        wanted = f"type the {name}, 0 to {kind.high:g} {kind.unit}"
        values.append(_number(argument.name, value, Quantity(name, kind.unit, 0.0, kind.high), wanted))
    return Ions(*values)


def _many(entry: Function, given, shape: tuple[int, int]) -> tuple:
    """Answers of a range: clean rows in one go, the others one by one so that each says what is wrong with it."""
    size = shape[0] * shape[1]
    clean = np.ones(size, dtype=bool)
    columns: list[Any] = []
    words: list[tuple] = []
    for argument, cell in zip(entry.arguments, given):
        ranged = isinstance(cell, tuple)
        if isinstance(argument.kind, IonCells) and ranged and len(cell) * len(cell[0]) != len(ION_NAMES):
            columns.append(_ion_columns(cell, argument.kind, clean))
        elif not ranged or isinstance(argument.kind, (IonCells, Block)):
            columns.append(_read(argument, cell))
        elif isinstance(argument.kind, Word):
            flat = [value for row in cell for value in row]
            words.append((len(columns), argument, flat))
            columns.append(None)
        else:
            columns.append(_number_column([value for row in cell for value in row], argument.kind, clean))
    answers: list[Any] = [None] * size
    for rows, chosen in _by_words(words, clean):
        values = [_rows_of(column, rows) for column in columns]
        for position, word in chosen:
            values[position] = word
        try:
            found = entry.body(*values)
        except DomainError:
            clean[rows] = False
            continue
        if isinstance(found, str):
            for row in rows:
                answers[row] = found
            continue
        found = np.broadcast_to(np.asarray(found, dtype=float), rows.shape)
        finite = np.isfinite(found)
        for row, value in zip(rows.tolist(), found.tolist()):
            answers[row] = value
        clean[rows[~finite]] = False
    width = shape[1]
    for row in np.flatnonzero(~clean).tolist():
        answers[row] = _one_of(entry, given, row // width, row % width)
    return tuple(tuple(answers[start:start + width]) for start in range(0, size, width))


def _one_of(entry: Function, given, row: int, column: int) -> Any:
    """The answer for one place of the ranges, from its own cells."""
    cells = []
    for argument, cell in zip(entry.arguments, given):
        if not isinstance(cell, tuple):
            cells.append(cell)
        elif isinstance(argument.kind, Block):
            cells.append(cell)
        elif isinstance(argument.kind, IonCells):
            per_row = len(cell) * len(cell[0]) != len(ION_NAMES)
            cells.append((cell[row],) if per_row else cell)
        else:
            cells.append(cell[row][column])
    try:
        return _single(entry, cells)
    except _Answer as answer:
        return answer.cell


def _number_column(flat: list, kind: Quantity, clean) -> np.ndarray:
    if all(type(value) is float for value in flat):
        numbers = np.array(flat)
    else:
        numbers = np.array([float(v) if type(v) in (float, int) else math.nan for v in flat])
    clean &= (numbers >= kind.low) & (numbers <= kind.high)
    return numbers


def _ion_columns(cell: tuple, kind: IonCells, clean) -> Ions:
    return Ions(*(
        _number_column([row[i] for row in cell], Quantity("", "", 0.0, kind.high), clean)
        for i in range(len(ION_NAMES))))


def _rows_of(column, rows):
    if isinstance(column, Ions):
        return Ions(*(_rows_of(one, rows) for one in column))
    return column[rows] if isinstance(column, np.ndarray) else column


def _by_words(words: list, clean):
    """Clean rows grouped by the words that stand in them, so that a column may mix acids."""
    if not words:
        rows = np.flatnonzero(clean)
        if rows.size:
            yield rows, []
        return
    groups: dict[tuple, list[int]] = {}
    for row in np.flatnonzero(clean).tolist():
        groups.setdefault(tuple(flat[row] for _, _, flat in words), []).append(row)
    for spelling, rows in groups.items():
        chosen = []
        try:
            for (position, argument, _), text in zip(words, spelling):
                chosen.append((position, _read(argument, text)))
        except _Answer:
            clean[rows] = False
            continue
        yield np.array(rows), chosen
