"""Columns against their rows one by one: the same numbers, and for a row that cannot be answered
the same sentence.
"""

import math
import random

import pytest

from udfs import CATALOGUE, call
from udfs.arguments import Block, IonCells, Word

#: Rows of a kind, enough to be worked out together: one acid, the same arguments left out.
ROWS, KINDS = 66, 2
#: Far apart beside what the solver leaves (about 1e-12), near beside what anybody reads.
ALIKE = 1e-10
ODD = (None, "", "7,2", "x", "#N/A", "Check ph: read it again", True, math.nan, -1e9, 1e12, 10**400)

BROADCAST = [
    name
    for name, entry in CATALOGUE.items()
    if entry.cells == 1
    and entry.arguments
    and not any(isinstance(a.kind, Block) for a in entry.arguments)
]


def a_number(argument, draw):
    """Inside the range, mostly where brewing liquor lies."""
    kind = argument.kind
    if kind.unit == "pH":
        return draw.uniform(max(kind.low, 4.0), min(kind.high, 9.5))
    if "°C" in kind.unit:
        return draw.uniform(max(kind.low, 5.0), min(kind.high, 80.0))
    high = min(kind.high, 600.0)
    return (
        draw.uniform(kind.low, high)
        if draw.random() < 0.3
        else kind.low + (high - kind.low) * 10 ** draw.uniform(-3, 0)
    )


def a_cell(argument, draw, common, odd):
    """``common`` is what the argument has in all rows of a kind: a name, or nothing where it is
    left out.
    """
    if odd:
        if isinstance(argument.kind, IonCells):
            return (1.0, 2.0, 3.0, 4.0, draw.choice(ODD))
        return draw.choice(ODD)
    if common is not Ellipsis:
        return common
    if isinstance(argument.kind, IonCells):
        return tuple(10 ** draw.uniform(-1, 2.4) for _ in range(5))
    return a_number(argument, draw)


def a_kind(arguments, draw):
    """What each argument has in common, ``...`` where it differs from row to row."""
    kind = []
    for argument in arguments:
        if not argument.required and draw.random() < 0.4:
            kind.append((None,) * 5 if isinstance(argument.kind, IonCells) else None)
        elif isinstance(argument.kind, Word):
            kind.append(draw.choice(argument.kind.choices or ("ACID_DOSE",)))
        else:
            kind.append(...)
    return kind


#: Functions whose columns take seconds: a search over whole equilibria a row.
SLOW = {"PH_AFTER_SALT", "ALKALINITY_AFTER_SALT", "CALCITE_SCALE", "CALCIUM_LEFT"}


@pytest.mark.parametrize("odd_rows", [False, True], ids=["clean", "odd cells"])
@pytest.mark.parametrize(
    "name",
    [pytest.param(name, marks=pytest.mark.slow) if name in SLOW else name for name in BROADCAST],
)
def test_a_column_answers_as_its_rows_do(name, odd_rows):
    arguments, draw = CATALOGUE[name].arguments, random.Random(f"{name} {odd_rows}")
    rows = [
        [
            a_cell(a, draw, common, odd_rows and draw.random() < 0.01)
            for a, common in zip(arguments, kind)
        ]
        for kind in (a_kind(arguments, draw) for _ in range(KINDS))
        for _ in range(ROWS)
    ]
    draw.shuffle(rows)
    columns = [
        tuple(row[i] if isinstance(a.kind, IonCells) else (row[i],) for row in rows)
        for i, a in enumerate(arguments)
    ]
    together = call(name, *columns)
    assert len(together) == ROWS * KINDS
    for row, (answer,) in zip(rows, together):
        alone = call(
            name,
            *((cell,) if isinstance(a.kind, IonCells) else cell for a, cell in zip(arguments, row)),
        )
        if isinstance(alone, str) or isinstance(answer, str):
            assert answer == alone, row
        else:
            assert answer == pytest.approx(alone, rel=ALIKE, abs=ALIKE), row
