"""Any mixture of any cells in any argument of any function: always an answer, and only what a cell
may hold.
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.udfs.samples import IONS, alike, samples
from udfs import CATALOGUE, ERRORS, call
from udfs.arguments import Block, IonCells, Quantity, Word

SHAPES = ((2, 1), (1, 3), (2, 2))

HOSTILE = st.one_of(
    st.none(),
    st.booleans(),
    st.sampled_from(ERRORS),
    st.floats(),
    st.integers(-10, 20),
    st.integers().map(lambda n: n * 10**310),
    st.text(max_size=12),
    st.sampled_from(
        [
            "",
            " ",
            "7,2",
            "7.2",
            "NaN",
            "=A1",
            "#n/a",
            "Check ph: look",
            "citric",
            "calcite",
            "x" * 5000,
        ]
    ),
    st.sampled_from([0.0, -0.0, 1.0, 5e-324, 1e308, -1e-9, 100.0, 2000.0, 20000.0, 1e7]),
    st.dates(),
    st.datetimes(),
    st.times(),
)


def range_of(cell, shape):
    rows, columns = shape
    row = st.lists(cell, min_size=columns, max_size=columns).map(tuple)
    return st.lists(row, min_size=rows, max_size=rows).map(tuple)


def likely(argument, goods):
    """A cell as a user means it: a sample, a number that the argument allows, or blank where it may
    be.
    """
    cells = st.sampled_from(goods or [None])
    if isinstance(argument.kind, Quantity):
        cells |= st.floats(argument.kind.low, argument.kind.high)
    if isinstance(argument.kind, Word) and argument.kind.choices:
        cells |= st.sampled_from(argument.kind.choices)
    return cells if argument.required else cells | st.none()


def unlikely(argument, goods, shape):
    """Any cell, or a range of any cells, mostly of the shape that goes with the others."""
    good = likely(argument, goods)
    if isinstance(argument.kind, Block):
        blocks = [block if isinstance(block, tuple) else ((block,),) for block in goods]
        good = st.sampled_from([cell for block in blocks for line in block for cell in line])
    ranges = [
        range_of(good | HOSTILE, shape),
        st.sampled_from(SHAPES).flatmap(lambda other: range_of(HOSTILE, other)),
        st.sampled_from([(), ((),), ((1.0, 2.0), (3.0,)), ((None,),)]),
    ]
    if isinstance(argument.kind, IonCells):
        row = st.sampled_from(
            [tuple(cell for line in block for cell in line) for block in goods or IONS]
        )
        spoilt = st.tuples(row, HOSTILE, st.integers(0, 4)).map(
            lambda t: (*t[0][: t[2]], t[1], *t[0][t[2] + 1 :])
        )
        ranges.append(st.lists(row | spoilt, min_size=shape[0], max_size=shape[0]).map(tuple))
    return st.one_of(HOSTILE, *ranges)


@st.composite
def cells_of(draw, entry):
    """Cells for a function, up to three of them bad or ranges, some of the last left out."""
    sets, shape = samples(entry), draw(st.sampled_from(SHAPES))
    count = draw(st.integers(max(1, entry.required), len(entry.arguments)))
    odd = draw(st.sets(st.integers(0, count - 1), max_size=3))
    cells = []
    for i, argument in enumerate(entry.arguments[:count]):
        goods = [one[i] for one in sets if len(one) > i]
        cells.append(
            draw(unlikely(argument, goods, shape) if i in odd else likely(argument, goods))
        )
    return tuple(cells)


def check_cell(entry, cell, cells):
    """A cell of an answer: a finite number, a text, an error code that was handed in, the
    function's own words, or a sentence.
    """
    assert type(cell) in (float, bool, str), cell
    if type(cell) is float:
        assert entry.unit and math.isfinite(cell)
    elif type(cell) is str and entry.unit and cell not in (*ERRORS, entry.words):
        assert cell.startswith("Check ")
        assert "please report" not in cell, cell
        if cell not in handed_in(cells):
            names = {argument.name for argument in entry.arguments} | {"arguments"}
            assert cell.split(":")[0].removeprefix("Check ") in names, cell


def handed_in(cells):
    for cell in cells:
        if isinstance(cell, tuple):
            yield from handed_in(cell)
        elif isinstance(cell, str):
            yield cell


def of_place(entry, cells, row, column):
    """What the cells are for one place of the answer."""
    for argument, cell in zip(entry.arguments, cells):
        size = sum(map(len, cell)) if isinstance(cell, tuple) else 1
        if (
            size == 1
            or isinstance(argument.kind, Block)
            or (isinstance(argument.kind, IonCells) and size == 5)
        ):
            yield cell
        else:
            yield (cell[row],) if isinstance(argument.kind, IonCells) else cell[row][column]


@pytest.mark.parametrize("entry", CATALOGUE.values(), ids=CATALOGUE.keys())
def test_any_cells_get_an_answer(entry):
    @given(cells=cells_of(entry))
    @settings(max_examples=40, deadline=None, derandomize=True, database=None)
    def survives(cells):
        answer = call(entry.name, *cells)
        for cell in (
            [cell for row in answer for cell in row] if isinstance(answer, tuple) else [answer]
        ):
            check_cell(entry, cell, cells)
        if isinstance(answer, tuple) and entry.cells == 1:
            singles = tuple(
                tuple(call(entry.name, *of_place(entry, cells, r, c)) for c in range(len(row)))
                for r, row in enumerate(answer)
            )
            assert alike(answer, singles, 1e-12), (answer, singles)

    survives()


@pytest.mark.parametrize("entry", CATALOGUE.values(), ids=CATALOGUE.keys())
def test_ranges_of_good_cells_equal_single_cells(entry):
    """A column of the samples, every argument ranged at once where it can be."""
    longest = max(map(len, samples(entry)))
    sets = [one for one in samples(entry) if len(one) == longest]
    cells = []
    for i, argument in enumerate(entry.arguments[:longest]):
        if isinstance(argument.kind, Block):
            cells.append(sets[0][i])
        elif isinstance(argument.kind, IonCells):
            cells.append(tuple(tuple(cell for line in one[i] for cell in line) for one in sets))
        else:
            cells.append(tuple((one[i],) for one in sets))
    answer = call(entry.name, *cells)
    if len(sets) == 1 or all(
        isinstance(argument.kind, Block) for argument in entry.arguments[:longest]
    ):
        assert answer == call(entry.name, *sets[0])
        return
    if entry.cells > 1:
        assert answer.startswith("Check ") and "give one cell, not a range" in answer
        return
    singles = tuple(
        (call(entry.name, *of_place(entry, cells, row, 0)),) for row in range(len(sets))
    )
    assert alike(answer, singles, 1e-12)
