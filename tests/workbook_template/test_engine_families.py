"""Formulas of one shape, row by row with other literals: each is worked out by itself, not taken
from its neighbour.
"""

import openpyxl
import pytest
from hypothesis import example, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from udfs.hosts import engine
from workbook_template.travel.engine_book import EngineBook
from workbook_template.travel.evaluation import runs

ROWS = 4
#: Column F, that the formulas look through; column A holds what they read by a relative reference.
FIGURES = [10, 20, 30, 40]
RANGE = f"$F$1:$F${ROWS}"

#: A formula of row # in which only the literal differs from the row above, and its figure by hand
#: in row n.
LOOKUPS = [
    (f"INDEX({RANGE},#)", lambda n: FIGURES[n - 1]),
    (f"MATCH(#0,{RANGE},0)", lambda n: n),
    (f"VLOOKUP(#0,{RANGE},1,FALSE)", lambda n: 10 * n),
    (f"SUMIF({RANGE},#0)", lambda n: 10 * n),
    (f'SUMIF({RANGE},">#0")', lambda n: sum(f for f in FIGURES if f > 10 * n)),
    (f"SUMIFS({RANGE},{RANGE},#0)", lambda n: 10 * n),
    (f'COUNTIF({RANGE},">=#0")', lambda n: ROWS + 1 - n),
    (f"COUNTIFS({RANGE},INDEX({RANGE},#))", lambda n: 1),
    (f"LARGE({RANGE},#)", lambda n: FIGURES[-n]),
    (f"SUM(INDEX({RANGE},#):$F${ROWS})", lambda n: sum(FIGURES[n - 1 :])),
    (f'LITRES(INDEX({RANGE},#),"hL")', lambda n: 1000 * n),
    ("#", lambda n: n),
]
AROUND = [
    ("(A#+{0})", lambda a, x, y: a + x),
    ("({0}-A#*{1})", lambda a, x, y: x - a * y),
    ("SUM(A#,{0},{1})", lambda a, x, y: a + x + y),
    ("MAX({0},A#,{1})", lambda a, x, y: max(a, x, y)),
    ("IF(A#>0,{0},{1})", lambda a, x, y: x if a > 0 else y),
    ("N(A#={0})", lambda a, x, y: float(a == x)),
    ("ROUND({0}+A#,0)", lambda a, x, y: x + a),
    ("IFERROR({0},A#)", lambda a, x, y: x),
    ("N(AND(A#>0,{0}>{1}))", lambda a, x, y: float(a > 0 and x > y)),
]


def nested(inner):
    def put(shape, first, second):
        text, answer = shape
        return text.format(first[0], second[0]), lambda a, n: answer(
            a, first[1](a, n), second[1](a, n)
        )

    return st.builds(put, st.sampled_from(AROUND), inner, inner)


FORMULAS = st.recursive(
    st.sampled_from([(text, lambda a, n, f=f: f(n)) for text, f in LOOKUPS]), nested, max_leaves=4
)


def loaded(texts, read, tmp_path):
    """What the engine answers where it loads the file of a workbook."""
    book = openpyxl.Workbook()
    sheet = book.active
    for row in range(ROWS):
        sheet.cell(row + 1, 1, read[row])
        sheet.cell(row + 1, 6, FIGURES[row])
        sheet.cell(row + 1, 10, f"={texts[row]}")
    path = tmp_path / "family.xlsx"
    book.save(path)
    found = engine.load(path)
    found.evaluate_all()
    return [found.get_value(sheet.title, row + 1, 10) for row in range(ROWS)]


def filled(texts, read, tmp_path):
    """What the engine answers where a job fills it, as the commands do."""
    book = EngineBook(
        {"date1904": False, "calls": [], "status": None, "sheets": [{"name": "Plan"}]}
    )
    cells = [[row + 1, 1, read[row]] for row in range(ROWS)]
    figures = [[row + 1, 6, FIGURES[row]] for row in range(ROWS)]
    book.fill([runs({(row, column): value for row, column, value in cells + figures})])
    for row in range(ROWS):
        book.set("Plan", row + 1, 10, texts[row])
    book.evaluate()
    return [book.get("Plan", row + 1, 10) for row in range(ROWS)]


@pytest.mark.parametrize("way", [loaded, filled])
@example(family=(f"(A#+INDEX({RANGE},#))", lambda a, n: a + FIGURES[n - 1]), read=[2] * ROWS)
@example(family=(f"SUM(A#,SUMIF({RANGE},#0))", lambda a, n: a + 10 * n), read=[2] * ROWS)
@given(family=FORMULAS, read=st.lists(st.integers(-1, 2), min_size=ROWS, max_size=ROWS))
@hypothesis_settings(max_examples=60, deadline=None)
def test_each_formula_of_a_family_is_worked_out_by_itself(way, tmp_path_factory, family, read):
    text, answer = family
    texts = [text.replace("#", str(row + 1)) for row in range(ROWS)]
    found = way(texts, read, tmp_path_factory.mktemp("family"))
    assert found == pytest.approx([answer(a, row + 1) for row, a in enumerate(read)])
