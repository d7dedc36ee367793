"""The shared copy of the template in a Calc that has no add-in, against the template in a Calc that
has it.
"""

import math
import os
import re

import openpyxl
import pytest
from python_calamine import CalamineWorkbook

from tests.calc_office import calc, libreoffice  # noqa: F401  (fixtures)
from tests.gnumeric import recalculated
from tests.workbook_template import travelling
from tests.workbook_template.travel_fixtures import engine_that, quick_engine  # noqa: F401
from tests.workbook_template.travelling import rewritten
from udfs.hosts.calc.extension import stored_name
from udfs.hosts.calc.office import Office
from workbook_template.template.build import TEMPLATE
from workbook_template.travel import fresh_values
from workbook_template.travel.evaluation import Evaluation
from workbook_template.travel.frozen import CHANGED
from workbook_template.travel.ledger import TITLE, find
from workbook_template.travel.ooxml.addresses import address
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.travel.share import shared
from workbook_template.travel.stored_names import rename


def version_lines():
    """Where the template says which add-in answers, below the version that made it; a copy says
    there what it is.
    """
    names = openpyxl.load_workbook(TEMPLATE, read_only=True).defined_names
    ((sheet, cell),) = names["Made_with"].destinations
    row = int(cell.rpartition("$")[2])
    return (sheet, row + 1, 2), (sheet, row + 2, 1)


VERSION_LINES = version_lines()
#: The test changes one input of so many; with SPARGESHEET_EVERY_INPUT in the environment it changes
#: each (about 20 min).
ONE_OF = 1 if os.environ.get("SPARGESHEET_EVERY_INPUT") else 60


@pytest.fixture
def bare(libreoffice, tmp_path):  # noqa: F811
    """A headless Calc without the extension."""
    with Office(libreoffice, tmp_path / "profile") as running:
        yield running


def shown(office, path):
    """What the cells of a workbook show, by sheet, row and column, after this office has worked all
    of it out.
    """
    office.ask("open", str(path))
    office.ask("recalculate")
    saved = path.with_name(f"saved-{path.name}")
    office.ask("save", str(saved))
    book = CalamineWorkbook.from_path(saved)
    return {
        (name, y, x): value
        for name in book.sheet_names
        for y, row in enumerate(book.get_sheet_by_name(name).to_python(skip_empty_area=False), 1)
        for x, value in enumerate(row, 1)
        if value != ""
    }


def alike(a, b):
    if isinstance(a, float) and isinstance(b, float):
        return math.isclose(a, b, rel_tol=1e-9)
    return a == b


class Live:
    """The template in the embedded engine, kept open: an input changes, and what depends on it is
    worked out.
    """

    def __init__(self, monkeypatch):
        jobs = []
        engine = engine_that(lambda job: jobs.append(job) or NOTHING)
        monkeypatch.setattr(fresh_values, "EngineProcess", engine)
        self.book = StoredBook(Package.read(TEMPLATE))
        fresh_values.fresh_values(self.book)
        self.engine = Evaluation(jobs[0])
        self.engine.judge()
        self.engine.evaluate()
        self.places = [
            (sheet.name, *place) for sheet in self.book.sheets for place in sheet.cells.formulas
        ]

    def put(self, place, value) -> None:
        """Type a value into an input."""
        self.engine.book.book.set_value(*place, value)

    def with_input(self, place, value) -> dict:
        """Values of all formulas; an error as none."""
        self.put(place, value)
        self.engine.book.evaluate()
        found = {p: self.engine.book.get(*p) for p in self.places}
        return {p: None if isinstance(value, dict) else value for p, value in found.items()}


#: An evaluation that was not made.
NOTHING = {"values": [], "failed": [], "stale": [], "kept": 0, "grown": [], "asked": []}


def other(entry, entries):
    """What a recipient might type over an input: another figure, or another text of its column."""
    if isinstance(entry.value, float):
        return entry.value * 1.07 or 0.35
    column = [
        one.value
        for one in entries
        if (one.sheet, one.column) == (entry.sheet, entry.column)
        and one.value not in (None, "", entry.value)
    ]
    return column[0] if column else f"{entry.value or ''}x"


def words(value):
    """A text without the white space at its ends, which Calc drops from a value that it loads."""
    return (value.strip() or None) if isinstance(value, str) else value


@pytest.mark.office
@pytest.mark.slow
def test_an_input_changed_gives_the_live_figure_or_words(bare, tmp_path, monkeypatch):
    """One input at a time, in Calc without the add-in: no figure and no statement that the live
    book does not show.
    """
    path = tmp_path / "copy.xlsx"
    path.write_bytes(shared(Package.read(TEMPLATE)).data)
    copy = StoredBook(Package.read(path))
    inputs = find(copy).of("input")
    rewritten(
        path,
        {
            sheet.part: lambda data: re.sub(rb"<sheetProtection[^>]*/>", b"", data)
            for sheet in copy.sheets
        },
    )
    live = Live(monkeypatch)
    bare.ask("open", str(path))
    bare.ask("recalculate")
    areas = {sheet.name: f"A1:{address(*sheet.cells.extent)}" for sheet in live.book.sheets}

    def seen():
        rows = {name: bare.ask("data", name, area) for name, area in areas.items()}
        return {place: words(rows[place[0]][place[1] - 1][place[2] - 1]) for place in live.places}

    sent = seen()
    filled = [one for one in inputs if one.value not in (None, "")]
    for entry in [*filled[::ONE_OF], *inputs[1 :: 2 * ONE_OF]]:
        place, value = (entry.sheet, entry.row, entry.column), other(entry, inputs)
        true = live.with_input(place, value)
        bare.ask("put", entry.sheet, address(*place[1:]), [[value]])
        shown_now = seen()
        wrong = {
            cell: (figure, true[cell])
            for cell, figure in shown_now.items()
            if not alike(figure, words(true[cell]))
            and (isinstance(figure, float) or figure == sent[cell])
            and figure not in (None, CHANGED)
            and cell not in VERSION_LINES
        }
        assert wrong == {}, (entry.shown, value)
        live.put(place, entry.value)
        bare.ask("put", entry.sheet, address(*place[1:]), [[entry.value]])
    assert seen() == sent


@pytest.mark.office
@pytest.mark.slow
def test_gnumeric_shows_the_same(tmp_path):
    made = shared(Package.read(TEMPLATE))
    before, after = travelling.values(made.data), recalculated(made.data, tmp_path)
    differ = {
        place: (value, after.get(place))
        for place, value in before.items()
        if place[0] != TITLE and not alike(words(value), words(after.get(place)))
    }
    assert differ == {}


def test_who_gets_the_copy_sees_what_the_sender_sees(calc, bare, quick_engine, tmp_path):  # noqa: F811
    live, copy = tmp_path / "live.xlsx", tmp_path / "copy.xlsx"
    rename(TEMPLATE, live, stored_name)
    sender = shown(calc, live)
    made = shared(Package.read(TEMPLATE))
    copy.write_bytes(made.data)
    seen = {place: value for place, value in shown(bare, copy).items() if place[0] != TITLE}
    notes = [place for place in seen if place not in sender]
    assert (
        len(notes)
        == len({place[0] for place in notes})
        == len(StoredBook(Package.read(TEMPLATE)).sheets)
    )
    assert all(seen.pop(note).startswith("COPY of batch-plan.xlsx") for note in notes)
    assert made.frozen > 1000 and sum(isinstance(value, float) for value in seen.values()) > 2000
    assert {
        place: (value, seen.get(place))
        for place, value in sender.items()
        if place not in VERSION_LINES and not alike(value, seen.get(place))
    } == {}
    assert seen[VERSION_LINES[0]].startswith("copy of ")

    bare.ask("new")
    sheet = bare.ask("sheets")[0]
    bare.ask("put", sheet, "A1:A1", [["=HARDNESS(10;5)"]])
    assert bare.ask("cells", sheet, "A1:A1") == [[{"error": "#NAME?"}]]
