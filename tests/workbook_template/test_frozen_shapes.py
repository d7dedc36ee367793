"""A formula frozen from the marks of another of its shape, against the same frozen by itself."""

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.workbook_template.test_frozen_formulas import OURS
from udfs import ERRORS
from workbook_template.travel.expressions import calls_in, parsed
from workbook_template.travel.frozen import Unfit, frozen
from workbook_template.travel.frozen_shapes import FrozenShapes

FORMULAS = (
    *OURS,
    "HARDNESS(A{0},A{0})+HARDNESS(B{0},$A${0})",
    "IF(HARDNESS(A{0},B{0})>HARDNESS(B{0},A{0}),A{0},HARDNESS(A{0},B{0}))",
    "IF(TRUE,HARDNESS(A{0},B{0}),Named)",
    "HARDNESS(HARDNESS(A{0},B{0}),HARDNESS(A{0},C{0}))",
    "HARDNESS(A{0},A{1})+HARDNESS(A{1},A{0})",
    "IF(HARDNESS(A{0},B{1})>1,HARDNESS(A{1},B{0}),HARDNESS(A{0},B{0}))",
    "HARDNESS(Sheet2!A{0},B{0})",
    "HARDNESS('A1 to B2'!A{0},B{0})",
    'HARDNESS(A{0},B{0})&"A1 and B{0}"',
    "HARDNESS(A1:A3,B{0})",
)
VALUES = st.one_of(
    st.sampled_from(
        [None, "", "lactic", "x", "12", "TRUE", "a" * 300, 'say "no"', "\x07", *ERRORS]
    ),
    st.sampled_from([True, False, 0, 0.0, -0.0, 1, 1.0, -1.0, 1e300, 1e-300, float("inf")]),
    st.floats(allow_nan=False),
    st.lists(st.lists(st.floats(1, 9), min_size=2, max_size=2), min_size=1, max_size=2),
)


@st.composite
def asked(draw):
    """Formulas on any rows, with what their calls were asked and answered, or that they were not
    made.
    """
    formulas, records, number = [], {}, 0
    few = draw(st.lists(st.sampled_from(FORMULAS), min_size=1, max_size=2))
    pool = draw(st.lists(VALUES, min_size=1, max_size=4))
    for _ in range(draw(st.integers(1, 8))):
        rows = draw(st.sampled_from([1, 2, 30])), draw(st.sampled_from([1, 2, 30]))
        text = draw(st.sampled_from(few)).format(*rows)
        formulas.append((text, number))
        for one in calls_in(parsed(text)):
            if draw(st.integers(0, 5)):
                given = [draw(st.sampled_from(pool)) for _ in one.arguments]
                records[number] = (given, draw(st.sampled_from(pool)))
            number += 1
    return formulas, records


def outcome(work, *case):
    try:
        return work(*case, lambda piece: piece)
    except Unfit as reason:
        return f"unfit: {reason}"


@settings(max_examples=600)
@given(asked())
def test_a_formula_of_a_known_shape_is_frozen_as_if_it_were_the_first(case):
    formulas, records = case
    shapes = FrozenShapes()
    for text, first in formulas:
        one = text, first, records
        assert outcome(shapes.frozen, *one) == outcome(frozen, *one), text


def test_copies_of_a_formula_are_made_from_one():
    """What the shapes are for."""
    shapes = FrozenShapes()
    records = {n: ([10.0 + n, 5.0], 40.0 + n) for n in range(50)}
    made = [shapes.frozen(f"HARDNESS(A{n},B{n})", n, records, str) for n in range(1, 50)]
    assert len(set(made)) == 49 and len(shapes._models) == 1
