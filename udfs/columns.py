"""Ranges: their common shape, and the answers of whole columns in one go."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import chain
from typing import Any

import numpy as np

from chemcore.errors import DomainError
from chemcore.water import Ions
from udfs.arguments import Block, IonCells, Word
from udfs.catalogue import Argument, Function
from udfs.numbers import empty
from udfs.reading import ION_NAMES, ION_RULE, read

#: Rows worked out together: few enough for the processor's cache to hold them.
ROWS_TOGETHER = 5000


def _keep_memory() -> None:
    """Let the C library keep the memory of a column's arrays from one solve to the next.

    They lie at the top of the heap, which glibc trims past 128 kB, so that every solve would fetch its pages again (a sixth
    to a quarter of its time). One mapped block of 8 MB let go raises that to 16 MB for this process: mallopt(3),
    M_TRIM_THRESHOLD with its dynamic adjustment. The block is never touched; other C libraries take no notice.
    """
    np.empty(1 << 20)


_keep_memory()


def common_shape(entry: Function, given: list) -> tuple[int, int] | None:
    """Rows and columns of the answer, or None where every argument is one cell (or one set of ions, or a block).

    Raises
    ------
    DomainError
        For ranges that do not go together.
    """
    shape, first = None, ""
    for argument, cell in zip(entry.arguments, given):
        if type(cell) is not tuple or isinstance(argument.kind, Block):
            continue
        if (
            isinstance(argument.kind, IonCells)
            and len(cell) == 1
            and len(cell[0]) == len(ION_NAMES)
        ):
            continue
        widths = set(map(len, cell))
        if not widths or widths == {0}:
            raise DomainError(argument.name, "the range is empty")
        if len(widths) > 1:
            raise DomainError(argument.name, "the range has rows of unlike length")
        this = (len(cell), widths.pop())
        if isinstance(argument.kind, IonCells):
            if this[0] * this[1] == len(ION_NAMES):
                continue
            if this[1] != len(ION_NAMES):
                raise DomainError(argument.name, ION_RULE)
            this = (this[0], 1)
        if entry.cells > 1:
            raise DomainError(
                argument.name,
                f"give one cell, not a range; one answer of {entry.name} fills a row of "
                f"{entry.cells} cells",
            )
        if shape is None:
            shape, first = this, argument.name
        elif this != shape:
            other = f"the range of {first} is {shape[0]} by {shape[1]} cells"
            if isinstance(argument.kind, IonCells):
                raise DomainError(
                    argument.name,
                    f"it has {this[0]} rows but {other}; give five ions in a row for each row "
                    "of it",
                )
            raise DomainError(
                argument.name,
                f"its range is {this[0]} by {this[1]} cells (rows by columns) but {other}; "
                "give both the same shape",
            )
    return shape


def column_answers(entry: Function, given: list, shape: tuple[int, int], single: Callable) -> tuple:
    """Answers of a range: clean rows in one go, the others one by one so that each says what is wrong with it.

    Parameters
    ----------
    entry, given, shape
        Function, its cells, and what :func:`common_shape` found in them.
    single
        Gives the answer of one row from its cells.
    """
    size, width = shape[0] * shape[1], shape[1]
    found = np.full(size, math.nan)
    if entry.unit and not any(isinstance(argument.kind, Block) for argument in entry.arguments):
        with np.errstate(all="ignore"):  # what is not finite is asked again, alone
            for rows, values in _groups(entry, given, size):
                try:
                    found[rows] = _numbers(entry.body(*values))
                except Exception:  # asked again row by row, each of which has its own sentence
                    continue
    answers = found.tolist()
    for place in np.flatnonzero(~np.isfinite(found)).tolist():
        answers[place] = single(
            entry,
            [
                _of_row(argument, cell, *divmod(place, width))
                for argument, cell in zip(entry.arguments, given)
            ],
        )
    return tuple(zip(*[iter(answers)] * width))


def _numbers(answers: Any) -> Any:
    """Answers that are numbers; TypeError for a text, which numpy would read for one."""
    if isinstance(answers, str):
        raise TypeError("a text")
    return answers


def _by_row(argument: Argument, cell: Any) -> bool:
    """Whether the argument has a value of its own for each row."""
    if type(cell) is not tuple or isinstance(argument.kind, Block):
        return False
    return not isinstance(argument.kind, IonCells) or len(cell) * len(cell[0]) != len(ION_NAMES)


def _of_row(argument: Argument, cell: Any, row: int, column: int) -> Any:
    """What one row of the ranges holds for an argument."""
    if not _by_row(argument, cell):
        return cell
    return (cell[row],) if isinstance(argument.kind, IonCells) else cell[row][column]


class _Column:
    """One argument of a column of rows: numbers in an array, names and blanks by key."""

    def __init__(self, argument: Argument, cell: Any, readable: np.ndarray):
        self.argument = argument
        self.keys: list | None = None
        self.numbers: Any = None
        kind = argument.kind
        if not _by_row(argument, cell):
            self.value = read(argument, cell)
            return
        flat = list(chain.from_iterable(cell))
        if isinstance(kind, Word):
            if len(set(flat)) == 1:
                self.value = read(argument, flat[0])
            else:
                self.keys = flat
            return
        low, high = (0.0, kind.high) if isinstance(kind, IonCells) else (kind.low, kind.high)
        numbers = _as_floats(flat)
        fine = (numbers >= low) & (numbers <= high)
        if isinstance(kind, IonCells):
            numbers = numbers.reshape(-1, len(ION_NAMES)).T.copy()
            fine = fine.reshape(-1, len(ION_NAMES)).all(axis=1)
            blank = [all(map(empty, row)) for row in cell] if not fine.all() else []
        else:
            blank = list(map(empty, flat)) if not fine.all() else []
        if not argument.required and any(blank):
            self.keys = blank
            fine |= blank
        self.numbers = numbers
        readable &= fine

    def of(self, rows: np.ndarray | slice, key: Any) -> Any:
        """The value for some rows, all of one key."""
        if self.numbers is None:
            return self.value if self.keys is None else read(self.argument, key)
        if key:
            return read(self.argument, None)
        if isinstance(self.argument.kind, IonCells):
            return Ions(*(ion[rows] for ion in self.numbers))
        return self.numbers[rows]


def _groups(entry: Function, given: list, size: int) -> Iterator[tuple[np.ndarray | slice, list]]:
    """Readable rows that can be worked out together, with the values of the arguments."""
    readable = np.ones(size, dtype=bool)
    try:
        columns = [
            _Column(argument, cell, readable) for argument, cell in zip(entry.arguments, given)
        ]
    except DomainError:
        return
    keyed = [column for column in columns if column.keys is not None]
    for key, rows in _together(keyed, readable):
        keys = dict(zip(map(id, keyed), key))
        try:
            yield rows, [column.of(rows, keys.get(id(column))) for column in columns]
        except DomainError:
            continue


def _together(
    keyed: list[_Column], readable: np.ndarray
) -> Iterator[tuple[tuple, np.ndarray | slice]]:
    """Readable rows of one key, few enough to be worked out at once, after their key."""
    if not keyed and readable.all():
        for start in range(0, readable.size, ROWS_TOGETHER):
            yield (), slice(start, start + ROWS_TOGETHER)
        return
    groups: dict[tuple, list[int]] = {}
    for row in np.flatnonzero(readable).tolist():
        groups.setdefault(tuple(column.keys[row] for column in keyed), []).append(row)
    for key, members in groups.items():
        for start in range(0, len(members), ROWS_TOGETHER):
            yield key, np.asarray(members[start : start + ROWS_TOGETHER])


def _as_floats(cells: list) -> np.ndarray:
    """Cells as an array, NaN where there is no number."""
    if set(map(type, cells)) == {float}:
        return np.fromiter(cells, float, len(cells))
    return np.array(
        [
            cell
            if type(cell) is float
            else float(cell)
            if type(cell) is int and abs(cell) < 1e300
            else math.nan
            for cell in cells
        ]
    )
