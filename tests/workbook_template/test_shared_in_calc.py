"""The shared copy of the template in a Calc that has no add-in, against the template in a Calc that has it."""

import math

import pytest
from python_calamine import CalamineWorkbook

from tests.calc_office import calc, libreoffice  # noqa: F401  (fixtures)
from tests.workbook_template.travel_fixtures import quick_engine  # noqa: F401
from udfs.hosts.calc.extension import stored_name
from udfs.hosts.calc.office import Office
from workbook_template.template.build import TEMPLATE
from workbook_template.travel.ledger import TITLE
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.share import shared
from workbook_template.travel.stored_names import rename


@pytest.fixture
def bare(libreoffice, tmp_path):  # noqa: F811
    """A headless Calc without the extension."""
    with Office(libreoffice, tmp_path / "profile") as running:
        yield running


def shown(office, path):
    """What the cells of a workbook show, by sheet, row and column, after this office has worked all of it out."""
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


def test_who_gets_the_copy_sees_what_the_sender_sees(calc, bare, quick_engine, tmp_path):  # noqa: F811
    live, copy = tmp_path / "live.xlsx", tmp_path / "copy.xlsx"
    rename(TEMPLATE, live, stored_name)
    sender = shown(calc, live)
    made = shared(Package.read(TEMPLATE))
    copy.write_bytes(made.data)
    seen = {place: value for place, value in shown(bare, copy).items() if place[0] != TITLE}
    (note,) = (place for place in seen if place not in sender)
    assert seen.pop(note).startswith("Values of ")
    assert made.frozen > 1000 and sum(isinstance(value, float) for value in seen.values()) > 2000
    assert {
        place: (value, seen.get(place))
        for place, value in sender.items()
        if not alike(value, seen.get(place))
    } == {}

    bare.ask("new")
    sheet = bare.ask("sheets")[0]
    bare.ask("put", sheet, "A1:A1", [["=HARDNESS(10;5)"]])
    assert bare.ask("cells", sheet, "A1:A1") == [[{"error": "#NAME?"}]]
