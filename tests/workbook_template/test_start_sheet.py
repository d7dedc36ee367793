"""The sheet Start: what its version lines say, and the rows that tables say they have."""

from __future__ import annotations

import re

import pytest
from openpyxl import load_workbook

from chemcore import __version__
from workbook_template.template.build import TEMPLATE, drafted
from workbook_template.template.sheets import (
    batch_plan,
    grists,
    log,
    mash_plan,
    readings,
    settings,
    start,
    water,
)
from workbook_template.template.sizes import Sizes


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        (__version__, "The same version"),
        ("99.0", "The versions differ"),
        ("copy of 2026-02-02, no add-in", "This is a copy"),
        ("Check add-in: its Python is gone or moved", "do not answer here, for the reason above"),
    ],
)
def test_versions_differ_only_where_two_versions_are_known(desk, answer, words):
    sheet, row, column = desk.place("Made_with")
    assert sheet == start.NAME
    desk.type(sheet, row + 1, column, answer)
    desk.work_out()
    said = desk.read(sheet, row + 2, 0)
    assert words in said
    assert ("differ" in said) == (answer == "99.0")


def test_where_nothing_answers_it_says_so(desk):
    sheet, row, column = desk.place("Made_with")
    desk.typed.append((sheet, row + 2, column + 1, __version__))
    desk.book.set_formula(sheet, row + 2, column + 1, "=NO_SUCH_FUNCTION()")
    desk.work_out()
    assert desk.read(sheet, row + 2, 0).startswith("Nothing answers here")


@pytest.mark.slow
@pytest.mark.parametrize("sizes", [Sizes(), Sizes(batches=9, waters=3, acids=11)])
def test_each_table_says_how_many_rows_it_has(tmp_path, sizes):
    """Right below its last yellow row, where a paste of more rows ends; and how to get more."""
    path = TEMPLATE
    if sizes != Sizes():
        path = tmp_path / "book.xlsx"
        drafted(path, sizes=sizes, example=False)
    book = load_workbook(path)
    for sheet, of, count in (
        (batch_plan, "batches", 1),
        (mash_plan, "batches", 1),
        (grists, "batches", 1),
        (readings, "batches", 2),
        (log, "batches", 1),
        (settings, "acids", 1),
        (water, "waters", 1),
    ):
        cells = [
            (cell, found)
            for row in book[sheet.NAME].iter_rows()
            for cell in row
            if isinstance(cell.value, str)
            and (
                found := re.match(
                    r"(\d+) rows, no more: .* spargesheet carry .* --(\w+) N", cell.value
                )
            )
        ]
        assert len(cells) == count, sheet.NAME
        for cell, found in cells:
            assert found[2] == of
            yellow, row = 0, cell.row - 1
            column = cell.column
            if sheet is water:  # the blend's row and the notes stand between
                row = next(
                    r
                    for r in range(cell.row, 0, -1)
                    if not book[water.NAME].cell(r, 1).protection.locked
                )
            while not book[sheet.NAME].cell(row - yellow, column).protection.locked:
                yellow += 1
            assert yellow == int(found[1]), (sheet.NAME, cell.coordinate)


def test_what_a_cell_says_of_a_wrong_entry_is_a_sentence():
    """One line, its article right, its figures as people write them."""
    book = load_workbook(TEMPLATE)
    said = {
        words
        for sheet in book
        for rule in sheet.data_validations.dataValidation
        for words in (rule.error, rule.prompt)
        if words
    }
    assert len(said) > 30
    for words in said:
        assert re.fullmatch(r"[A-Z].*\.", words), words
        assert not re.search(r"\ba [aeio]|\ban [^aeio]|e\+|\(", words), words
