"""How the formulas of the sheets are written: each closes its own brackets, each slow call is
worked out once.
"""

from __future__ import annotations

import ast
from collections import Counter
from pathlib import Path

import pytest
from openpyxl import load_workbook

from workbook_template.template import sheets
from workbook_template.template.build import SHEETS, TEMPLATE
from workbook_template.template.formula import calls
from workbook_template.travel import trust

FOLDER = Path(sheets.__file__).parent


def _closes_more_than_it_opens(literal: str) -> bool:
    depth = 0
    for sign in literal:
        depth += {"(": 1, ")": -1}.get(sign, 0)
        if depth < 0:
            return True
    return depth != 0


def _literals(node):
    """Texts of a module; what is put into an f-string counts as a letter."""
    if isinstance(node, ast.JoinedStr):
        yield "".join(
            str(part.value) if isinstance(part, ast.Constant) else "x" for part in node.values
        )
    elif isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    else:
        for child in ast.iter_child_nodes(node):
            yield from _literals(child)


@pytest.mark.parametrize(
    "path",
    sorted(FOLDER.glob("*.py")),
    ids=lambda path: path.name,
)
def test_no_literal_closes_a_bracket_that_it_did_not_open(path):
    literals = list(_literals(ast.parse(path.read_text())))
    assert literals
    assert [literal for literal in literals if _closes_more_than_it_opens(literal)] == []


def test_no_formula_works_out_one_call_twice():
    book = load_workbook(TEMPLATE)
    twice = [
        (sheet.title, cell.coordinate, call)
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
        for call, times in Counter(calls(cell.value)).items()
        if times > 1
    ]
    assert twice == []
    assert {sheet.NAME for sheet in SHEETS} <= set(book.sheetnames)


def test_every_formula_is_one_that_the_engine_is_relied_on_for():
    """A formula beyond it would keep a stored value, and have Excel work the whole book out on
    opening.
    """
    book = load_workbook(TEMPLATE)
    beyond = [
        (sheet.title, cell.coordinate)
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell.value, str)
        and cell.value.startswith("=")
        and (trust.beyond(cell.value, array=False, hidden=True) or not trust.known(cell.value))
    ]
    assert beyond == []
