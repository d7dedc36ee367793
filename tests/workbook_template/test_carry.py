"""Entries of one workbook in a fresh one: every input is found again, or named."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from openpyxl import load_workbook

from udfs import call
from workbook_template.cli.main import main
from workbook_template.template import description, scenario
from workbook_template.template.build import TEMPLATE, drafted
from workbook_template.template.sizes import Sizes
from workbook_template.template.table import Input
from workbook_template.travel.carry import carry
from workbook_template.travel.ooxml.package import Package

FIRST = Path(__file__).parent / "data" / "batch-plan-0.1.0.xlsx"


def typed(path) -> dict[tuple[str, str], list]:
    """What stands in the input cells of a book, by table and key, empty cells left out; openpyxl
    and the description.
    """
    book = load_workbook(path)
    found: dict[tuple[str, str], list] = {}
    for table, columns in description.of_openpyxl(book).items():
        for key, place in columns.items():
            cells = [
                book[place.sheet].cell(row, place.column)
                for row in range(place.first, place.last + 1)
            ]
            found[table, key] = [
                cell.value
                for cell in cells
                if not cell.protection.locked and cell.value is not None
            ]
    return {where: values for where, values in found.items() if values}


def filled(path, seed: int, sizes: Sizes, share: float) -> int:
    """A book of these sizes with figures and words in a share of all its input cells; how many."""
    chance, given = random.Random(seed), {}
    layout = drafted(path, sizes=sizes, example=False)
    single = description.cells_of(layout).values()
    numbers = {
        (where, row, table.at[column.key]): column
        for where, table in layout.tables
        for column in table.inputs
        for row in range(table.first, table.last + 1)
    }
    given.update(dict.fromkeys((*numbers, *single)))  # what a new book begins with is emptied
    for cell in (*numbers, *single):
        if chance.random() < share:
            column = numbers.get(cell)
            text = isinstance(column, Input) and (column.choice or column.number == "plain")
            given[cell] = (
                f"=entry <{chance.randrange(10**6)}> é" if text else chance.uniform(0.1, 50_000)
            )
    drafted(path, sizes=sizes, example=False, given=given)
    return sum(value is not None for value in given.values())


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, 2])
def test_every_entry_of_a_filled_book_is_found_again(tmp_path, seed):
    """Whatever is typed: words where figures belong, formulas as words, rows left out."""
    chance = random.Random(seed)
    sizes = Sizes(chance.randint(2, 9), chance.randint(1, 5), chance.randint(1, 4))
    old, new = tmp_path / "old.xlsx", tmp_path / "new.xlsx"
    count = filled(old, seed, sizes, chance.choice((0.3, 0.9)))
    before, entries = old.read_bytes(), typed(old)
    assert sum(map(len, entries.values())) == count > 50
    result = carry(Package.read(old), new, asked={"batches": sizes.batches + 3})
    assert result.left == [] and result.notes == [
        note for note in result.notes if "error" in note[1]
    ]
    assert typed(new) == entries
    assert old.read_bytes() == before
    assert result.sizes == Sizes(sizes.batches + 3, sizes.waters, sizes.acids)


@pytest.fixture(scope="module")
def from_first(tmp_path_factory):
    """The filled book of version 0.1.0 in a book of this version."""
    new = tmp_path_factory.mktemp("carried") / "new.xlsx"
    before = FIRST.read_bytes()
    result = carry(Package.read(FIRST), new)
    assert FIRST.read_bytes() == before
    return new, result


def test_what_was_typed_in_the_first_version_is_there_or_named(from_first):
    """Each unlocked cell that holds something, as openpyxl sees it."""
    new, result = from_first
    named = {where.replace("'", "") for where, _ in result.left + result.notes}
    there = [value for values in typed(new).values() for value in values]
    missing = [
        (sheet.title, cell.coordinate, cell.value)
        for sheet in load_workbook(FIRST)
        if sheet.title != "Start"
        for row in sheet.iter_rows()
        for cell in row
        if not cell.protection.locked
        and cell.value is not None
        and cell.value not in there
        and f"{sheet.title}!{cell.coordinate}" not in named
    ]
    assert missing == []


def test_the_first_versions_tables_stand_in_order(from_first):
    entries = typed(from_first[0])
    assert entries["Plan", "batch"] == [batch.name for batch in scenario.BATCHES]
    assert entries["Plan", "volume"] == [batch.volume for batch in scenario.BATCHES]
    assert entries["Source", "source"] == [water.name for water in scenario.WATERS]
    assert entries["Shelf", "stock"] == [acid.stock for acid in scenario.ACIDS]
    assert entries["Log", "dose"] == [row.dose for row in scenario.LOG]
    assert entries["Log", "date"] == [row.date for row in scenario.LOG]
    assert entries["Read", "given_1"] == [140] and entries["Read", "mash_ph"] == [5.43]
    assert entries[description.CELLS, "Tank_temp"] == [77]


def test_its_figures_are_those_of_this_version(from_first):
    book = load_workbook(from_first[0], data_only=True)
    plan = description.of_openpyxl(load_workbook(from_first[0]))["Plan"]["volume_ml"]
    town = scenario.WATERS[0]
    ions = [[town.calcium, town.magnesium, town.sodium, town.chloride, town.sulfate]]
    litres = call("COLD_LITRES", 1150, 77)
    dose = call("ACID_DOSE", 168, 7.5, 5.7, litres, "phosphoric", 75, ions, 20, 0)
    assert book[plan.sheet].cell(plan.first, plan.column).value == pytest.approx(dose, rel=1e-9)


@pytest.mark.slow
def test_a_new_season_begins_with_the_stock_that_the_plan_left(tmp_path, capsys):
    new = tmp_path / "next.xlsx"
    main(["carry", str(TEMPLATE), str(new), "--log-only"])
    said = capsys.readouterr().out
    assert "left out, as --log-only asks" in said
    entries = typed(new)
    assert ("Plan", "batch") not in entries
    assert entries["Log", "dose"] == [row.dose for row in scenario.LOG]
    old = load_workbook(TEMPLATE, data_only=True)
    place = description.of_openpyxl(load_workbook(TEMPLATE))["Shelf"]["left"]
    left = [
        old[place.sheet].cell(row, place.column).value for row in range(place.first, place.last + 1)
    ]
    known = [value for value in left if isinstance(value, (int, float)) and value >= 0]
    assert entries["Shelf", "stock"] == pytest.approx(known, rel=1e-5)
    assert len(known) > 0


def test_refusals_are_one_line(tmp_path, capsys):
    def refused(*arguments) -> str:
        assert main(["carry", *map(str, arguments)]) == 2
        line = capsys.readouterr().err.strip().splitlines()[-1]
        assert line.startswith("spargesheet: ")
        return line

    new, own = tmp_path / "new.xlsx", tmp_path / "own.xlsx"
    new.write_text("mine")
    assert "add --force" in refused(FIRST, new)
    assert new.read_text() == "mine"
    own.write_bytes(FIRST.read_bytes())
    assert "is the old workbook itself" in refused(own, own, "--force")
    assert "room for" in refused(FIRST, tmp_path / "small.xlsx", "--batches", "5")
    assert "from 1 to 2,000" in refused(FIRST, tmp_path / "large.xlsx", "--batches", "2001")
    book = load_workbook(FIRST)
    book["Batch plan"].insert_rows(3)
    book.save(own)
    assert "Were rows or columns put in?" in refused(own, tmp_path / "x.xlsx")
    book = load_workbook(FIRST)
    del book["Log"]
    book.save(own)
    assert "was not written by this version" in refused(own, tmp_path / "x.xlsx")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["new.xlsx", "own.xlsx"]
