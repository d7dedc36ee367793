"""No total of the book is short in silence: with any one input emptied it is right, or it is
words.
"""

from __future__ import annotations

import re

import pytest
from openpyxl import load_workbook
from openpyxl.utils import get_column_letter

from udfs import call
from udfs.hosts import engine
from workbook_template.template import scenario
from workbook_template.template.build import TEMPLATE
from workbook_template.template.sheets import (
    batch_plan,
    blend_salts,
    grists,
    log,
    malts,
    mash_plan,
    purchasing,
    settings,
)

PLAN = batch_plan.PLAN
#: What an empty cell means by the words beside it, so that a total goes on with that meaning.
MEANINGS = {
    (batch_plan.NAME, "E"): "the volume is read cold",
    (batch_plan.NAME, "F"): "the target of the settings",
    (blend_salts.NAME, "B"): "none of this salt, or no demineralised water",
    (mash_plan.NAME, "B"): "the water of the batch",
    (mash_plan.NAME, "D"): "the volume is read cold",
    (mash_plan.NAME, "E"): "the target of the settings",
    (mash_plan.NAME, "F"): "no acid in the mash",
    (grists.NAME, "D"): "the figure of the sheet Malts",
    (grists.NAME, "E"): "as for D",
    (
        log.NAME,
        "A",
    ): "a reading that is missing: the row says so, and the average goes over the others",
    **{(log.NAME, letter): "as for A" for letter in "CDEFGHI"},
}
SHEETS = (
    batch_plan.NAME,
    settings.NAME,
    purchasing.NAME,
    malts.NAME,
    grists.NAME,
    mash_plan.NAME,
    blend_salts.NAME,
)


#: A look-up of a water's report, which gives the number of a row and adds nothing up.
LOOK_UP = re.compile(r"SUMPRODUCT\(\((Water|Source)_name=")


def _summing(formula: str) -> str:
    """A formula without its counts of a name, which change with the name, and its look-ups of a
    report's row.
    """
    formula = LOOK_UP.sub("((", formula)
    return re.sub(r"SUMPRODUCT\(\(\w+=INDEX\([^()]*(\([^()]*\))?\)\)\*1\)", "", formula)


def _cells():
    """Inputs that hold something, and formulas that add up, by sheet, row and column."""
    inputs, totals = [], []
    for sheet in load_workbook(TEMPLATE):
        for row in sheet.iter_rows():
            for cell in row:
                where = (sheet.title, cell.row, cell.column)
                if cell.data_type == "f":
                    if re.search(r"\b(SUM|SUMIFS|SUMPRODUCT|AVERAGE)\(", _summing(cell.value)):
                        totals.append(where)
                elif not cell.protection.locked and cell.value is not None:
                    inputs.append(where)
    return inputs, totals


INPUTS, TOTALS = _cells()


@pytest.fixture(scope="module")
def book():
    loaded = engine.load(TEMPLATE)
    loaded.evaluate_all()
    return loaded


def _emptied(book, where, cells):
    held = book.get_value(*where)
    book.set_value(*where, None)
    book.evaluate_all()
    found = {cell: book.get_value(*cell) for cell in cells}
    book.set_value(*where, held)
    return found


def _is_number(value):
    return isinstance(value, (int, float)) and not isinstance(value, bool)


@pytest.mark.slow
@pytest.mark.parametrize("sheet", SHEETS)
def test_with_any_input_emptied_each_total_is_as_before_or_words(book, sheet):
    book.evaluate_all()
    before = {cell: book.get_value(*cell) for cell in TOTALS}
    assert sum(map(_is_number, before.values())) > 50
    short = []
    for where in INPUTS:
        if where[0] != sheet or (sheet, get_column_letter(where[2])) in MEANINGS:
            continue
        for cell, after in _emptied(book, where, TOTALS).items():
            if _is_number(after) and _is_number(before[cell]):
                if after != pytest.approx(before[cell], rel=1e-9, abs=1e-9):
                    short.append((where, cell, before[cell], after))
    assert short == []


@pytest.mark.parametrize("key", ["read_at", "target"])
def test_an_empty_cell_with_a_meaning_changes_the_totals_by_that_meaning(book, key):
    """By hand, from the functions: the first batch read cold, or taken to the target of the
    settings.
    """
    batch, shelf = scenario.BATCHES[0], scenario.ACIDS[0]
    water = next(w for w in scenario.WATERS if w.name == batch.water)
    ions = ((water.calcium, water.magnesium, water.sodium, water.chloride, water.sulfate),)
    default = 5.7

    def of(read_at, target):
        litres = call("COLD_LITRES", call("LITRES", batch.volume, "hL"), read_at)
        dose = call(
            "ACID_DOSE",
            water.alkalinity,
            water.ph,
            target,
            litres,
            shelf.acid,
            shelf.strength,
            ions,
        )
        return litres, dose / 1000 / shelf.pack * shelf.price

    totals = [(batch_plan.NAME, batch_plan.TOTALS + 2, column) for column in (3, 7)]
    book.evaluate_all()
    before = [book.get_value(*cell) for cell in totals]
    after = _emptied(book, (batch_plan.NAME, PLAN.first + 1, PLAN.at[key] + 1), totals).values()
    as_typed = of(batch.read_at, batch.target_ph)
    as_meant = of(20, batch.target_ph) if key == "read_at" else of(batch.read_at, default)
    for was, now, typed, meant in zip(before, after, as_typed, as_meant, strict=True):
        assert now - was == pytest.approx(meant - typed, rel=1e-7, abs=1e-9)


def test_the_total_names_the_acid_without_a_price(book):
    price = (settings.NAME, settings.SHELF.first + 1, settings.SHELF.at["price"] + 1)
    total = (batch_plan.NAME, batch_plan.TOTALS + 2, 7)
    remark = (batch_plan.NAME, PLAN.first + 1, PLAN.at["remark"] + 1)
    dose = (batch_plan.NAME, PLAN.first + 1, PLAN.at["ml"] + 1)
    found = _emptied(book, price, (total, remark, dose))
    assert found[total] == f"no price: {scenario.ACIDS[0].label}"
    assert "price on the sheet Settings" in found[remark] and "Calcium" in found[remark]
    assert _is_number(found[dose])
