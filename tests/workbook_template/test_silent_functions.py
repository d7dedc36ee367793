"""The template worked out by a program in which the functions, all or some, give #NAME?: nothing
may sound like an all-clear.
"""

from __future__ import annotations

import re

import pytest
from openpyxl import load_workbook
from openpyxl.utils import get_column_letter

from chemcore.safety import cautions
from udfs import CATALOGUE, call
from udfs.hosts import engine
from workbook_template.template import scenario
from workbook_template.template.build import TEMPLATE
from workbook_template.template.layout import SILENT
from workbook_template.template.sheets import (
    acid_choice,
    batch_plan,
    curves,
    liquor_plan,
    purchasing,
    settings,
    water,
)
from workbook_template.template.sizes import Sizes

#: What a formula may say only where the functions answered.
REASSURING = (
    "no limit",
    "stays dissolved",
    "below every limit",
    "slow scale",
    "Calcium stays",
    "Enough",
    "no sparge",
    "not planned",
    "after the plan",
    "No acid chosen",
    "Plausible",
    "what the sheet Water hands on",
    "The blend is enough",
    "Brings ",
    "near each other",
    "Little alkalinity",
)
CAUTIONS = " ".join(cautions())


def worked_out(silent):
    """The template after an evaluation in which these functions are not known."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            engine, "call", lambda name, *given: "#NAME?" if name in silent else call(name, *given)
        )
        book = engine.load(TEMPLATE)
        book.evaluate_all()
    return book


@pytest.fixture(scope="module")
def bare():
    return worked_out(CATALOGUE)


@pytest.fixture(scope="module")
def partly():
    """As after a change in a book whose other cells keep what they showed."""
    return worked_out(
        {name for name in CATALOGUE if name.startswith("CALCIUM_") or name == "ACID_CAUTIONS"}
    )


def test_nothing_sounds_like_an_all_clear(bare):
    formulas = [
        (sheet.title, cell)
        for sheet in load_workbook(TEMPLATE)
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    ]
    shown = {
        (title, cell.coordinate): bare.get_value(title, cell.row, cell.column)
        for title, cell in formulas
    }
    assert SILENT in shown.values()
    limits = [get_column_letter(batch_plan.COLUMN[key] + 1) for key in ("calcium_limit", "safe_ph")]
    plan = [
        value
        for (title, place), value in shown.items()
        if title == batch_plan.NAME and re.match(f"({'|'.join(limits)})[0-9]", place)
    ]
    assert plan.count("see remark") == 2 * len(scenario.BATCHES)
    assert {
        place: text
        for place, text in shown.items()
        if isinstance(text, str) and any(word in text for word in REASSURING)
    } == {}


def test_each_batch_says_that_nothing_answers_and_the_totals_refuse(bare):
    row = batch_plan.FIRST + 1
    for batch in range(len(scenario.BATCHES)):
        remark = bare.get_value(batch_plan.NAME, row + batch, batch_plan.COLUMN["remark"] + 1)
        assert remark == SILENT or remark.startswith(
            "Choose a water"
        )  # the blend is not on the sheet Water then
    assert bare.get_value(batch_plan.NAME, batch_plan.TOTALS + 2, 3) == f"row {row}: see remark"


def test_needs_by_month_are_not_short(bare):
    months, need = purchasing.months(Sizes()), purchasing.NEED
    assert bare.get_value(purchasing.NAME, months.first + 1, 2) == "see remark"
    assert bare.get_value(purchasing.NAME, need.first + 1, need.at["need"] + 1) == "see remark"


@pytest.mark.parametrize("which", ["bare", "partly"])
def test_the_cautions_for_any_acid_stand_in(which, request):
    book = request.getfixturevalue(which)
    assert book.get_value(acid_choice.NAME, 4, 5) == CAUTIONS
    assert book.get_value(liquor_plan.NAME, liquor_plan.CAUTIONS + 1, 1) == CAUTIONS
    assert book.get_value(liquor_plan.NAME, liquor_plan.CAUTIONS + 2, 1) in (CAUTIONS, "")


def test_calcium_that_is_not_worked_out_is_not_called_without_limit(partly):
    for offset, batch in enumerate(scenario.BATCHES):
        limit, safe, remark = (
            partly.get_value(
                batch_plan.NAME, batch_plan.FIRST + 1 + offset, batch_plan.COLUMN[key] + 1
            )
            for key in ("calcium_limit", "safe_ph", "remark")
        )
        if "Phosphoric" in batch.acid:
            assert (limit, safe) == ("see remark", "see remark") and remark.startswith(SILENT)
        else:
            assert (limit, safe) == ("no limit", "no limit") and remark.startswith(
                "No calcium phosphate"
            )
    row, at = acid_choice.FIRST + 1, acid_choice.COMPARED.at
    assert partly.get_value(acid_choice.NAME, row, at["safe_ph"] + 1) == "see Settings"
    assert partly.get_value(acid_choice.NAME, row, at["state"] + 1).startswith("not known")
    assert isinstance(
        partly.get_value(curves.NAME, curves.FIRST + 1, 8), dict
    )  # the error itself, and not a limit


def test_calcium_that_no_acidity_keeps_dissolved_is_said(desk):
    """The functions answer with a text then, which a comparison takes for more than any number."""
    desk.type(water.NAME, water.FIRST, 2, 4900)
    desk.work_out()
    texts = (
        desk.answer("remark"),
        desk.answer("safe_ph"),
        desk.read(acid_choice.NAME, acid_choice.FIRST, acid_choice.COMPARED.at["state"]),
    )
    assert not any("stays dissolved" in str(text) or text == "no limit" for text in texts)


def test_an_acid_by_a_name_that_is_not_on_the_list_is_no_all_clear(desk):
    """The functions know H3PO4; pasted past the list, it must not pass for an acid without
    phosphate.
    """
    desk.type(settings.NAME, settings.SHELF_FIRST, 1, "H3PO4")
    desk.work_out()
    assert (
        desk.answer("remark")
        == "Choose the acid of this label from the list on the sheet Settings."
    )
    assert (desk.answer("calcium_limit"), desk.answer("safe_ph")) == ("see remark", "see remark")
    at = acid_choice.COMPARED.at
    assert [
        desk.read(acid_choice.NAME, acid_choice.FIRST, at[key]) for key in ("safe_ph", "state")
    ] == [
        "see Settings",
        "see Settings",
    ]
    assert (
        desk.read(settings.NAME, settings.SHELF_FIRST, settings.SHELF.at["remark"])
        == "Choose the acid from the list."
    )
