"""A whole season through the real Calc: typed in, worked out, logged, sent and brought back,
carried into the next year.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache

import pytest
from openpyxl import load_workbook
from openpyxl.utils import get_column_letter
from openpyxl.utils.datetime import to_excel

from tests.calc_office import calc, libreoffice  # noqa: F401  (fixtures)
from tests.workbook_template import season
from tests.workbook_template.season import ACIDS, BATCHES, SEASON
from workbook_template.cli.calc_edition import to_ods, to_xlsx
from workbook_template.cli.main import main
from workbook_template.template import description
from workbook_template.template.build import drafted
from workbook_template.template.sizes import Sizes
from workbook_template.travel.log_readings import add
from workbook_template.travel.ooxml.package import Package

pytestmark = pytest.mark.slow

SIZES = Sizes(BATCHES, 5, 3)


def stored(value):
    """An entry as Calc takes it: a day as its number, and words that are no formula and no
    number.
    """
    if isinstance(value, date):
        return to_excel(value)
    return f"'{value}" if isinstance(value, str) else value


class Shown:
    """What a workbook shows, by table and key."""

    def __init__(self, sheets: dict[str, list[list]], places):
        self.sheets = sheets
        self.places = places

    def row(self, table: str, key: str, number: int):
        """A figure of a row of a table; rows count from 0."""
        place = self.places[table][key]
        return self.sheets[place.sheet][place.first + number - 1][place.column - 1]

    def rows(self, table: str, key: str, count: int) -> list:
        """The first rows of a column."""
        return [self.row(table, key, number) for number in range(count)]


def of_file(path, places=None) -> Shown:
    """What a file shows, by openpyxl."""
    places = places or description.of_openpyxl(load_workbook(path))
    sheets = {
        sheet.title: [
            [to_excel(v) if isinstance(v, date) else v for v in row]
            for row in sheet.iter_rows(values_only=True)
        ]
        for sheet in load_workbook(path, data_only=True)
    }
    return Shown(sheets, places)


@lru_cache
def _figures(path):
    return load_workbook(path, data_only=True)


def named(path, name: str):
    """The figure of a named cell of a file."""
    book = _figures(path)
    sheet, _, cell = book.defined_names[name].attr_text.rpartition("!")
    return book[sheet.strip("'")][cell.replace("$", "")].value


@pytest.fixture(scope="module")
def year(calc, tmp_path_factory):  # noqa: F811
    """The season, typed column by column into an empty book that Calc has open, and saved by
    Calc.
    """
    folder = tmp_path_factory.mktemp("season")
    empty, ods, book = folder / "empty.xlsx", folder / "season.ods", folder / "season.xlsx"
    drafted(empty, sizes=SIZES, example=False)
    to_ods(empty, ods)
    places = description.of_openpyxl(load_workbook(empty))
    calc.ask("open", str(ods), True)

    def typed(place, values):
        letter = get_column_letter(place.column)
        area = f"{letter}{place.first}:{letter}{place.first + len(values) - 1}"
        calc.ask("put", place.sheet, area, [[stored(value)] for value in values])

    for table, rows in season.tables().items():
        for key in dict.fromkeys(key for row in rows for key in row):
            typed(places[table][key], [row.get(key) for row in rows])
    for key, value in {
        "Default_target": season.TARGET,
        "Waste": season.WASTE,
        "Order_days": season.ORDER_DAYS,
        "Log_water": "Town",
        "Log_acid": "Phosphoric",
        "Day_batch": "What?",
    }.items():
        typed(places[description.CELLS][key], [value])
    calc.ask("save", str(ods))
    to_xlsx(ods, book)
    return book


@pytest.fixture(scope="module")
def shown(year):
    return of_file(year)


@pytest.fixture(scope="module")
def plan(year):
    settings = {error: named(year, error) for error in season.ERRORS}
    return [season.planned(b, settings) for b in SEASON]


@pytest.fixture(scope="module")
def mashes():
    return [season.mashed(b) for b in SEASON]


def test_every_batch_of_the_plan(year, shown, plan):
    """Doses, intervals, readings and costs of 120 batches, each by the report of its day."""
    for key in plan[0]:
        expected = [row[key] for row in plan]
        assert shown.rows("Plan", key, BATCHES) == pytest.approx(expected, rel=1e-9), key
    total = sum(row["money"] for row in plan)
    assert named(year, "Plan_cost_total") == pytest.approx(total, rel=1e-9)


def test_every_mash(shown, mashes):
    """Mash pH and acid of 120 mashes, malt by malt, though the rows stand backwards."""
    for number, (b, row) in enumerate(zip(reversed(SEASON), reversed(mashes), strict=True)):
        for key, expected in row.items():
            found = shown.row("Mashes", key, number)
            assert found == pytest.approx(expected, rel=1e-9), (b.name, key)
        assert (shown.row("Mashes", "amount", number) in ("", None)) == (b.mash_acid is None)


def test_purchasing(shown, plan, mashes):
    for number, acid in enumerate(ACIDS):
        expected = season.bought(acid, plan, mashes, 25)
        assert shown.row("Need", "need", number) == pytest.approx(expected.need, rel=1e-9)
        assert shown.row("Need", "packs", number) == expected.packs
        months = shown.rows("Months", f"acid{number + 1}", 25)
        assert months == pytest.approx(expected.months, rel=1e-9, abs=1e-9)
        out = "after the plan" if expected.runs_out is None else to_excel(expected.runs_out)
        assert shown.row("Need", "runs_out", number) == out
        if expected.runs_out:
            order = expected.runs_out - timedelta(season.ORDER_DAYS)
            assert shown.row("Need", "order_by", number) == to_excel(order)
        left = acid["stock"] - expected.need / 1000
        assert shown.row("Shelf", "left", number) == pytest.approx(left, rel=1e-9)
    assert {season.bought(acid, plan, mashes, 25).runs_out is None for acid in ACIDS} == {
        True,
        False,
    }


def test_the_day_of_a_batch_whose_name_is_a_pattern(year, plan):
    number = next(b.number for b in SEASON if b.name == "What?")
    assert named(year, "Day_row") == number + 1
    assert named(year, "Day_dose") == pytest.approx(plan[number]["amount"], rel=1e-9)
    readings = SEASON[number].readings
    assert named(year, "Day_given") == readings["given_1"] + readings["given_2"]


def test_no_question_is_asked_of_the_season(shown):
    assert not any(shown.rows("Plan", "questions", BATCHES))


@pytest.fixture(scope="module")
def with_log(year):
    """The season with the meter's file in its log."""
    out, file = year.with_name("logged.xlsx"), year.with_name("meter.csv")
    file.write_text(season.metered(), encoding="utf-8")
    added = add(Package.read(year), file)
    assert len(added.rows) == len(season.METERED) and added.refused == []
    out.write_bytes(added.data)
    return out


def log_of(shown: Shown) -> None:
    """Every row of the log against the functions."""
    for number, (b, before, after, dose) in enumerate(season.logged()):
        report = b.report["alkalinity"]
        expected = season.implied(b, before, after, dose)
        assert shown.row("Log", "alkalinity_implied", number) == pytest.approx(expected, rel=1e-9)
        assert shown.row("Log", "report", number) == report
        drift = 100 * (expected / report - 1)
        assert shown.row("Log", "drift", number) == pytest.approx(drift, rel=1e-9)


def test_the_log(with_log):
    log_of(of_file(with_log))
    count, learnt = season.learnt("Town", ACIDS[1])
    of_all_reports = sum(b.water == "Town" and b.acid is ACIDS[1] for b, *_ in season.logged())
    assert 0 < count < of_all_reports > 10  # those of an older report say nothing of today's water
    assert named(with_log, "Log_batches") == count
    assert named(with_log, "Log_learnt") == pytest.approx(learnt, rel=1e-9)


def test_the_copy_that_is_sent_shows_the_same(with_log, tmp_path):
    copy = tmp_path / "copy.xlsx"
    assert main(["share", str(with_log), str(copy), "--quiet"]) == 0
    sender = of_file(with_log)
    sent = of_file(copy, sender.places)  # the cells stand where they stood
    for key in ("volume_ml", "low_ml", "high_ml", "mixed_ph", "money", "remark"):
        was, found = (book.rows("Plan", key, BATCHES) for book in (sender, sent))
        assert found == (was if key == "remark" else pytest.approx(was, rel=1e-12)), key
    log_of(sent)


def test_carried_into_the_next_year(with_log, plan, mashes, tmp_path, capsys):
    """Waters and log stay as they were, the stock is what the plan left, and the plan is empty."""
    new = tmp_path / "next.xlsx"
    code = main(["carry", str(with_log), str(new), "--log-only", "--quiet"])
    said = capsys.readouterr().out
    found = of_file(new)
    log_of(found)
    assert found.rows("Source", "source", 4) == [water["source"] for water in season.WATERS]
    assert {*found.rows("Plan", "batch", BATCHES), *found.rows("Read", "batch", BATCHES)} == {None}
    beer = [b.readings["beer_ph"] for b in SEASON if b.readings]
    assert found.rows("Log", "beer", len(beer)) == pytest.approx(beer, rel=1e-12)
    for number, acid in enumerate(ACIDS):
        left = acid["stock"] - season.bought(acid, plan, mashes, 25).need / 1000
        stock = found.row("Shelf", "stock", number)
        assert stock == (None if left < 0 else pytest.approx(left, rel=1e-5))
    assert code == 1 and "count what stands on the shelf" in said
    assert named(new, "Log_learnt") == pytest.approx(season.learnt("Town", ACIDS[1])[1], rel=1e-9)
