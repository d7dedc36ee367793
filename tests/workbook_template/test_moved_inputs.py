"""Input cells that are cut, pasted, sorted and dragged in the real Calc: each row still answers for
what stands in it.
"""

from __future__ import annotations

from datetime import datetime

import pytest
from openpyxl.utils import get_column_letter
from openpyxl.utils.datetime import to_excel

from tests.calc_office import calc, libreoffice  # noqa: F401  (fixtures)
from udfs.hosts import engine
from workbook_template.cli.calc_edition import to_ods
from workbook_template.template.build import TEMPLATE
from workbook_template.template.sheets import batch_plan, log, settings

pytestmark = [pytest.mark.office, pytest.mark.slow]

TABLES = {
    batch_plan.NAME: batch_plan.PLAN,
    log.NAME: log.LOG,
    settings.NAME: settings.SHELF,
}
NEW_BATCH = (
    to_excel(datetime(2026, 4, 1)),
    "0299 New",
    "Yard well",
    6.0,
    None,
    5.6,
    "Lactic 80 can",
)


@pytest.fixture(scope="module")
def edition(tmp_path_factory):
    path = tmp_path_factory.mktemp("edition") / "plan.ods"
    to_ods(TEMPLATE, path)
    return path


def inputs_of(table):
    """The cells that the user fills in, as an address."""
    first, last = (
        get_column_letter(table.at[column.key] + 1)
        for column in (table.inputs[0], table.inputs[-1])
    )
    return f"{first}{table.first + 1}:{last}{table.last + 1}"


def row_of(table, offset):
    """The inputs of one row, as an address."""
    first, last = inputs_of(table).replace(str(table.first + 1), "{}").split(":")
    at = table.first + 1 + offset
    return f"{first.format(at)}:{last.rstrip('0123456789')}{at}"


def cut_row(calc, sheet, table):  # noqa: F811
    calc.ask("move", sheet, row_of(table, 1), row_of(table, len(table.inputs)).split(":")[0])


def cut_and_type(calc, sheet, table):  # noqa: F811
    plan = batch_plan.PLAN
    calc.ask("move", sheet, row_of(plan, 1), row_of(plan, 15).split(":")[0])
    calc.ask("put", sheet, row_of(plan, 1), [NEW_BATCH])


def cut_onto_another(calc, sheet, table):  # noqa: F811
    calc.ask("move", sheet, row_of(table, 0), row_of(table, 2).split(":")[0])


def cut_a_column(calc, sheet, table):  # noqa: F811
    """All of one column down by a row: the names of the book's ranges must not go along."""
    start, end = row_of(table, 0).split(":")[0], row_of(table, table.last - table.first - 1)
    calc.ask("move", sheet, f"{start}:{end.split(':')[0]}", row_of(table, 1).split(":")[0])


def sort(calc, sheet, table):  # noqa: F811
    calc.ask("sort", sheet, inputs_of(table), 1 if table is not settings.SHELF else 0, False)


def drag(calc, sheet, table):  # noqa: F811
    """Copies of a row over the next ones, as dragging its corner makes them."""
    for offset in (1, 2, 3):
        calc.ask("copy", sheet, row_of(table, 0), row_of(table, offset).split(":")[0])


CASES = [
    *(
        (batch_plan.NAME, change)
        for change in (cut_and_type, cut_onto_another, cut_a_column, sort, drag)
    ),
    (log.NAME, cut_row),
    (settings.NAME, cut_a_column),
]


@pytest.mark.parametrize(
    ("sheet", "change"), CASES, ids=[f"{sheet}: {change.__name__}" for sheet, change in CASES]
)
def test_each_row_answers_for_what_stands_in_it(calc, edition, sheet, change):  # noqa: F811
    table = TABLES[sheet]
    calc.ask("open", str(edition))
    change(calc, sheet, table)
    calc.ask("recalculate")
    fresh = engine.load(TEMPLATE)
    for name, other in TABLES.items():
        typed = calc.ask("cells", name, inputs_of(other))
        for offset, row in enumerate(typed):
            for column, value in zip(other.inputs, row, strict=True):
                fresh.set_value(name, other.first + 1 + offset, other.at[column.key] + 1, value)
    fresh.evaluate_all()
    wrong = []
    for name, other in TABLES.items():
        for column in other.columns:
            letter = get_column_letter(other.at[column] + 1)
            shown = calc.ask("cells", name, f"{letter}{other.first + 1}:{letter}{other.last + 1}")
            for offset, (value,) in enumerate(shown):
                right = fresh.get_value(name, other.first + 1 + offset, other.at[column] + 1)
                if not _same(value, right):
                    wrong.append((name, column, offset + 1, value, right))
    assert wrong == []


def _same(value, right):
    if isinstance(right, datetime):
        right = to_excel(right)
    if isinstance(value, float) and isinstance(right, (int, float)):
        return value == pytest.approx(right, rel=1e-9, abs=1e-9)
    if isinstance(value, str) and isinstance(right, str):
        return value == right or value.startswith("Check ") and right.startswith("Check ")
    return (value or "") == (right or "")
