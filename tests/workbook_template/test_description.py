"""What the workbook says of its own columns, and that commands which go by it survive what is done
to a book.
"""

from __future__ import annotations

import pytest
from openpyxl import load_workbook

from tests.calc_office import calc, libreoffice  # noqa: F401  (fixtures)
from workbook_template.cli.calc_edition import to_ods, to_xlsx
from workbook_template.cli.main import main
from workbook_template.template import description
from workbook_template.template.build import TEMPLATE
from workbook_template.template.sheets import batch_plan, log
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import StoredBook

DECLARED = {"Plan": (batch_plan.NAME, batch_plan.PLAN), "Log": (log.NAME, log.LOG)}


@pytest.fixture(scope="module")
def live():
    return load_workbook(TEMPLATE)


def test_each_column_of_the_declared_tables_is_described(live):
    found = description.of_openpyxl(live)
    for name, (sheet, table) in DECLARED.items():
        assert {key: place for key, place in found[name].items()} == {
            key: description.Place(
                sheet, column + 1, table.head + 1, table.first + 1, table.last + 1
            )
            for key, column in table.at.items()
        }


def test_the_titles_stand_where_the_description_says(live):
    for name, (sheet, table) in DECLARED.items():
        for key, place in description.of_openpyxl(live)[name].items():
            assert live[sheet].cell(place.title, place.column).value == table.columns[key].title


def test_no_program_shows_the_sheet(live):
    assert live[description.NAME].sheet_state == "veryHidden"
    assert live.sheetnames[-1] == description.NAME


def test_the_cells_at_both_ends_of_a_place_are_locked(live):
    """Only so do cutting and sorting of input cells leave the description alone.

    A cell of no table is followed instead, as the formulas that read it follow it.
    """
    for table, columns in description.of_openpyxl(live).items():
        if table == description.CELLS:
            continue
        for place in columns.values():
            for row in (place.title, place.last + 1):
                assert live[place.sheet].cell(row, place.column).protection.locked


def test_the_reader_of_files_sees_the_same(live):
    """The commands that edit a book do not go through openpyxl."""
    sheet = StoredBook(Package.read(TEMPLATE)).sheet(description.NAME)
    formulas = sheet.cells.formulas

    def cell(row, column):
        formula = formulas.get((row, column))
        return f"={formula.text}" if formula else sheet.value(row, column)

    assert description.read(cell) == description.of_openpyxl(live)


def _changed(tmp_path, change):
    book = load_workbook(TEMPLATE)
    change(book)
    book.save(tmp_path / "changed.xlsx")
    return tmp_path / "changed.xlsx"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda book: book.remove(book[description.NAME]), "was not written by this version"),
        (
            lambda book: book[description.NAME].cell(1, 2, description.LAYOUT - 1),
            "of another version",
        ),
        (lambda book: book[description.NAME].cell(3, 3, 42), "damaged"),
        (lambda book: book[description.NAME].cell(3, 3, "=ROWS(#REF!)"), "damaged"),
        (
            lambda book: book[description.NAME].delete_rows(2, 600),
            "was not written by this version",
        ),
    ],
)
def test_a_book_that_cannot_be_read_by_key_gets_one_line_of_what_to_do(
    change, words, tmp_path, capsys
):
    path = _changed(tmp_path, change)
    assert main(["show", str(path)]) == 2
    told = capsys.readouterr()
    assert words in told.err and "spargesheet new" in told.err
    assert len(told.err.strip().splitlines()) == 1 and not told.out


def _table_of(capsys, path):
    assert main(["show", str(path)]) == 0
    return capsys.readouterr().out


@pytest.mark.office
def test_show_prints_the_same_after_columns_are_put_in_and_cells_moved_in_calc(
    calc,  # noqa: F811
    tmp_path,
    capsys,
):
    before = _table_of(capsys, TEMPLATE)
    to_ods(TEMPLATE, tmp_path / "plan.ods")
    calc.ask("open", str(tmp_path / "plan.ods"))
    calc.ask("insert_columns", batch_plan.NAME, 3, 2)
    calc.ask("save", str(tmp_path / "wider.ods"))
    to_xlsx(tmp_path / "wider.ods", tmp_path / "wider.xlsx")
    assert _table_of(capsys, tmp_path / "wider.xlsx") == before
    dates = f"A{batch_plan.FIRST + 1}:A{batch_plan.LAST + 1}"
    calc.ask("move", batch_plan.NAME, dates, f"D{batch_plan.FIRST + 1}")
    calc.ask("save", str(tmp_path / "moved.ods"))
    to_xlsx(tmp_path / "moved.ods", tmp_path / "moved.xlsx")
    place = description.of_openpyxl(load_workbook(tmp_path / "moved.xlsx"))["Plan"]["date"]
    assert place == description.Place(
        batch_plan.NAME, 1, batch_plan.HEAD + 1, batch_plan.FIRST + 1, batch_plan.LAST + 1
    )
