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
#: Rows read together, from which those that can be worked out together are picked.
ROWS_READ = 4 * ROWS_TOGETHER
#: Fewer rows than these are faster one by one: arrays cost the same for one row as for some dozens.
FEWEST_TOGETHER = 64


def _keep_memory() -> None:
    """Let the C library keep the memory of a column's arrays from one solve to the next.

    They lie at the top of the heap, which glibc trims past 128 kB, so that every solve would fetch
    its pages again (a sixth to a quarter of its time). One mapped block of 8 MB let go raises that
    to 16 MB for this process: mallopt(3), M_TRIM_THRESHOLD with its dynamic adjustment. The block
    is never touched; other C libraries take no notice.
    """
    np.empty(1 << 20)


_keep_memory()


def common_shape(entry: Function, given: list[Any]) -> tuple[int, int] | None:
    """Rows and columns of the answer, or None where every argument is one cell (or one set of ions,
    or a block).

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


def column_answers(
    entry: Function, given: list[Any], shape: tuple[int, int], single: Callable[..., Any]
) -> tuple[Any, ...]:
    """Answers of a range: clean rows in one go, the others one by one so that each says what is
    wrong with it.

    Parameters
    ----------
    entry, given, shape
        Function, its cells, and what :func:`common_shape` found in them.
    single
        Gives the answer of one row from its cells.

    Returns
    -------
    Row tuples of that shape: numbers, texts and error codes.
    """
    height, width = shape
    together = bool(entry.unit) and not any(isinstance(a.kind, Block) for a in entry.arguments)
    by_row = [_by_row(argument, cell) for argument, cell in zip(entry.arguments, given)]
    own = [(i, entry.arguments[i]) for i in range(len(given)) if by_row[i]]
    rows_read = max(1, ROWS_READ // width)
    answers: list[tuple[Any, ...]] = []
    for top in range(0, height, rows_read):
        some = [
            cell[top : top + rows_read] if moves and height > rows_read else cell
            for moves, cell in zip(by_row, given)
        ]
        size = min(rows_read, height - top) * width
        if together and size >= FEWEST_TOGETHER:
            numbers = _found_together(entry, some, by_row, size)
            found, alone = numbers.tolist(), np.flatnonzero(~np.isfinite(numbers)).tolist()
        else:
            found, alone = [math.nan] * size, list(range(size))
        cells = some.copy()
        for place in alone:
            row, column = divmod(place, width)
            for i, argument in own:
                cells[i] = _of_row(argument, some[i], row, column)
            found[place] = single(entry, cells)
        answers.extend(zip(*[iter(found)] * width))
    return tuple(answers)


def _found_together(entry: Function, given: list[Any], by_row: list[bool], size: int) -> np.ndarray:
    """Numbers of the rows that can be worked out in one go, NaN for all others."""
    found = np.full(size, math.nan)
    with np.errstate(all="ignore"):  # what is not finite is asked again, alone
        for rows, values in _groups(entry, given, by_row, size):
            try:
                found[rows] = _numbers(entry.body(*values))
            except Exception:  # asked again row by row, each of which has its own sentence
                continue
    return found


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
    """What one row of the ranges holds for an argument that has a value of its own there."""
    return (cell[row],) if isinstance(argument.kind, IonCells) else cell[row][column]


class _Column:
    """One argument of a column of rows: numbers in an array, names and blanks by key."""

    def __init__(self, argument: Argument, cell: Any, own: bool, readable: np.ndarray):
        self.argument = argument
        self.keys: list[Any] | None = None
        self.numbers: Any = None
        kind = argument.kind
        if not own:
            self.value = read(argument, cell)
            return
        if isinstance(kind, Word):
            names = set(chain.from_iterable(cell))
            if len(names) == 1:
                self.value = read(argument, names.pop())
            else:
                self.keys = list(chain.from_iterable(cell))
            return
        ions = isinstance(kind, IonCells)
        low, high = (0.0, kind.high) if ions else (kind.low, kind.high)
        numbers = _as_floats(cell, readable.size * (len(ION_NAMES) if ions else 1))
        fine = (numbers >= low) & (numbers <= high)
        if ions:
            numbers = numbers.reshape(-1, len(ION_NAMES)).T
            fine = fine.reshape(-1, len(ION_NAMES)).all(axis=1)
        if not fine.all():
            if not argument.required:
                blank = (
                    [all(map(empty, row)) for row in cell]
                    if ions
                    else list(map(empty, chain.from_iterable(cell)))
                )
                if any(blank):
                    self.keys = blank
                    fine |= blank
            readable &= fine
        self.numbers = numbers

    def of(self, rows: np.ndarray | slice, key: Any) -> Any:
        """The value for some rows, all of one key."""
        if self.numbers is None:
            return self.value if self.keys is None else read(self.argument, key)
        if key:
            return read(self.argument, None)
        if isinstance(self.argument.kind, IonCells):
            return Ions(*np.ascontiguousarray(self.numbers[:, rows]))
        return self.numbers[rows]


def _groups(
    entry: Function, given: list[Any], by_row: list[bool], size: int
) -> Iterator[tuple[np.ndarray | slice, list[Any]]]:
    """Readable rows that can be worked out together, with the values of the arguments."""
    readable = np.ones(size, dtype=bool)
    try:
        columns = [
            _Column(argument, cell, own, readable)
            for argument, cell, own in zip(entry.arguments, given, by_row)
        ]
    except DomainError:
        return
    keyed = [(id(column), column.keys) for column in columns if column.keys is not None]
    for rows in _together([keys for _, keys in keyed], readable):
        first = rows.start if isinstance(rows, slice) else int(rows[0])
        key_of = {place: keys[first] for place, keys in keyed}
        try:
            yield rows, [column.of(rows, key_of.get(id(column))) for column in columns]
        except DomainError:
            continue


def _together(keys: list[list[Any]], readable: np.ndarray) -> Iterator[np.ndarray | slice]:
    """Readable rows of one key, few enough to be worked out at once and not so few that they are
    faster alone.
    """
    if keys:
        numbers: dict[tuple[Any, ...], int] = {}
        each = np.fromiter(
            (numbers.setdefault(key, len(numbers)) for key in zip(*keys)), int, readable.size
        )
        each[~readable] = -1
        order = np.argsort(each, kind="stable")
        groups = np.split(order, np.flatnonzero(np.diff(each[order])) + 1)
        groups = [group for group in groups if each[group[0]] >= 0]
    elif readable.all():
        for start in range(0, readable.size, ROWS_TOGETHER):
            yield slice(start, min(start + ROWS_TOGETHER, readable.size))
        return
    else:
        groups = [np.flatnonzero(readable)]
    for group in groups:
        if group.size >= FEWEST_TOGETHER:
            yield from np.array_split(group, -(-group.size // ROWS_TOGETHER))


def _as_floats(cell: tuple[Any, ...], size: int) -> np.ndarray:
    """Cells as an array, NaN where there is no number."""
    values = list(chain.from_iterable(cell))
    if set(map(type, values)) == {float}:
        return np.fromiter(values, float, size)
    return np.array(
        [
            one
            if type(one) is float
            else float(one)
            if type(one) is int and abs(one) < 1e300
            else math.nan
            for one in values
        ]
    )
