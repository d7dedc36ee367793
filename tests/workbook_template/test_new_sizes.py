"""Workbooks of other sizes, empty or filled, in other units: no error, and no example where none is
asked for.
"""

from __future__ import annotations

import pytest
from openpyxl import load_workbook

from udfs import call
from workbook_template.cli.main import main
from workbook_template.template import description, scenario
from workbook_template.template.build import build, drafted
from workbook_template.template.sizes import READ_AGAIN, Sizes, Starting
from workbook_template.travel import bounds

#: Everything that the example has a name for.
NAMES = {
    text.casefold()
    for text in (
        *(batch.name for batch in scenario.BATCHES),
        *(water.name for water in scenario.WATERS),
        *(acid.label for acid in scenario.ACIDS),
        *(row.batch for row in scenario.LOG),
    )
}


def cells(path, data_only=False):
    for sheet in load_workbook(path, data_only=data_only):
        for row in sheet.iter_rows():
            yield from row


@pytest.mark.slow
@pytest.mark.parametrize("sizes", [Sizes(1, 1, 1), Sizes(70, 12, 12)])
def test_an_empty_book_of_any_size(tmp_path, sizes):
    path = tmp_path / "book.xlsx"
    assert build(path, sizes=sizes, example=False) == []
    described = description.of_openpyxl(load_workbook(path))
    for table, key, rows in (
        ("Plan", "batch", sizes.batches),
        ("Source", "source", sizes.waters),
        ("Shelf", "label", sizes.acids),
    ):
        place = described[table][key]
        assert place.last - place.first + 1 == rows
    for cell in cells(path):
        if not cell.protection.locked and cell.value is not None:
            assert str(cell.value).casefold() not in NAMES, cell
    shown = [cell.value for cell in cells(path, data_only=True)]
    assert not [value for value in shown if isinstance(value, str) and value.startswith("#")]


@pytest.mark.slow
def test_us_units_currency_and_paper(tmp_path, capsys):
    """The example's 11.5 hL read at 77 degrees C are typed as 9.8 US bbl at 171 degrees F; the dose
    is by those.
    """
    path = tmp_path / "us.xlsx"
    options = ["--units", "us", "--currency", "USD", "--paper", "letter", "--quiet"]
    assert main(["new", str(path), *options]) == 0
    assert capsys.readouterr().err == ""
    live, figures = load_workbook(path), load_workbook(path, data_only=True)
    described = description.of_openpyxl(live)

    def first(table, key):
        place = described[table][key]
        return figures[place.sheet].cell(place.first, place.column).value

    settings = {key: first(description.CELLS, key) for key in ("Volume_unit", "Currency")}
    assert settings == {"Volume_unit": "US bbl", "Currency": "USD"}
    assert first(description.CELLS, "Tank_temp") == 170
    assert first(description.CELLS, "Tank_volume") == 11.9  # 14 hL
    assert (first("Plan", "volume"), first("Plan", "read_at")) == (9.8, 171)
    litres = call("COLD_LITRES", 9.8 * 31 * 3.785411784, (171 - 32) / 1.8)
    assert first("Plan", "cold") == pytest.approx(litres, rel=1e-9)
    assert {sheet.page_setup.paperSize for sheet in live} == {1}


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--batches", "0"], "batches is 0: it is a whole number from 1 to 2,000"),
        (["--batches", "2001"], "from 1 to 2,000"),
        (["--batches", "5"], "the example has 9 batches"),
        (["--waters", "61"], "waters is 61"),
        (["--units", "metres"], "one of metric, us, imperial"),
        (["--paper", "a3"], "one of a4, letter"),
        (["--currency", "=1+1"], "does not begin with ="),
        (["--currency", ""], "short label such as USD"),
    ],
)
def test_what_cannot_be_is_one_line(tmp_path, capsys, arguments, words):
    assert main(["new", str(tmp_path / "x.xlsx"), *arguments]) == 2
    said = capsys.readouterr().err.strip().splitlines()
    assert len(said) == 1 and words in said[0]
    assert list(tmp_path.iterdir()) == []


def test_a_starting_volume_is_the_same_water():
    """31 US gallons of 3.785411784 L to the US beer barrel (27 CFR 25.11)."""
    typed = Starting("us").typed(scenario.BATCHES[0].volume)
    assert typed * 31 * 3.785411784 == pytest.approx(1150, rel=0.005)
    assert Starting().typed(scenario.BATCHES[0].volume) == 11.5


def test_the_commands_read_a_book_of_as_many_batches_as_new_says(tmp_path):
    """Formulas grow by the batch: two small books tell those of a large one."""
    few, more = (
        len(drafted(tmp_path / "book.xlsx", sizes=Sizes(n, 60, 60), example=False).formulas)
        for n in (10, 20)
    )
    each = (more - few) / 10
    assert few + each * (READ_AGAIN - 10) <= bounds.FORMULAS < few + each * (READ_AGAIN + 200)
