"""Random books recalculated, shared and restored: no figure differs from the truth without being
named.
"""

import math
import re
import tempfile
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st
from python_calamine import CalamineWorkbook

from tests.calc_office import libreoffice  # noqa: F401  (fixture)
from tests.gnumeric import recalculated
from tests.workbook_template.random_books import (
    ALKALINITY,
    books,
    close,
    doses,
    native,
    write,
)
from tests.workbook_template.travel_fixtures import quick_engine  # noqa: F401
from tests.workbook_template.travelling import formulas, parts, rewritten, values
from workbook_template.cli.calc_edition import to_ods
from workbook_template.travel.formulas import plain
from workbook_template.travel.frozen import CHANGED
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.recalc import recalculate
from workbook_template.travel.restore import restored
from workbook_template.travel.share import shared

pytestmark = pytest.mark.usefixtures("quick_engine")


def some(examples):
    """So many books, however long each takes."""
    return settings(
        max_examples=examples,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=[HealthCheck.function_scoped_fixture],
    )


#: Natives whose stored figure no engine gives, as they are worked out in a book that asks for it.
BY_HAND = {
    "ROUND(G{0},1)+COUNT(G{0}:G{1})": lambda given: round(given[0], 1) + len(given),
    "CEILING(-G{0},1)": lambda given: float(math.ceil(-given[0])),
}


#: Stored without the mark that a file gives functions since Excel 2010: Calc shows an error for it.
UNMARKED = "AGGREGATE("
#: Natives of which each program has its own answer.
PROGRAM = ("CEILING(0,0)", "YEARFRAC(1,2,1)", 'CELL("address",A1)')


def apart_by_hand(book):
    """The same of natives that read nothing of ours."""
    today = float((date.today() - date(1899, 12, 30)).days)
    return {
        "SUBTOTAL(103,A1:A9)": {float(len(book["rows"]) - len(book["hidden"]))},
        "TODAY()": {today - 1, today},  # the day may have turned since
    }


def judge(book, found, said, asks=False):
    """Our figures and those apart are the truth; the natives that read ours are, or the words name
    them.

    A book that ``asks`` to be worked out may have those apart named as well.
    """
    name, named = book["sheet"], set(re.findall(r"!([A-Z]+\d+) \(", said))
    true = doses(book)
    for row, dose in enumerate(true, 1):
        assert close(found[name, row, 7], dose)
    for row, (text, truth) in enumerate(book["natives"], 1):
        if asks and text in BY_HAND and close(found[name, row, 10], BY_HAND[text](true)):
            continue
        if truth is None and not book["stale"]:
            assert found[name, row, 10] == 77.0
        elif truth is None or not close(found[name, row, 10], native(truth, true, book["hidden"])):
            assert f"J{row}" in named
    for row, (text, truth) in enumerate(book["apart"], 1):
        if not asks:
            assert found[name, row, 11] == truth and f"K{row}" not in named
        elif found[name, row, 11] not in {truth, *apart_by_hand(book).get(text, ())}:
            assert f"K{row}" in named, (text, found[name, row, 11])


@some(60)
@given(books())
def test_no_figure_is_wrong_without_a_word(book):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "book.xlsx"
        write(path, book)
        result = recalculate(path)
        found = values(path.read_bytes())
    judge(book, found, result.warning or "")


def with_alkalinity(path, value):
    """Another figure typed into A1 by a program that works nothing out."""
    cell = re.compile(rb'(<c r="A1"[^>]*><v>)[^<]*')
    return rewritten(
        path,
        {
            "xl/worksheets/sheet1.xml": lambda data: cell.sub(
                rb"\g<1>" + f"{value:g}".encode(), data
            )
        },
    )


@some(15)
@given(books(), st.none() | ALKALINITY)
def test_no_figure_of_a_copy_or_of_what_comes_back_is_wrong_without_a_word(book, typed):
    """Shared, sent back as it went or with another alkalinity in A1, and restored."""
    with tempfile.TemporaryDirectory() as folder:
        path, copy = Path(folder) / "book.xlsx", Path(folder) / "copy.xlsx"
        write(path, book)
        sent = shared(Package.read(path))
        judge(book, values(sent.data), " ".join(sent.remarks))
        copy.write_bytes(sent.data)
        if typed is not None:
            with_alkalinity(copy, typed)
        result = restored(Package.read(copy))
        before = {place: plain(text) for place, text in formulas(path.read_bytes()).items()}
    assert result.locked == [] and formulas(result.data) == before
    now = book if typed is None else book | {"rows": [typed, *book["rows"][1:]]}
    changed = [typed] if typed not in (None, book["rows"][0]) else []
    assert [now for _, _, now in result.inputs] == changed
    said = [result.warning or "", *(f"{where} (" for where, _, _ in result.answers)]
    judge(
        now | {"stale": book["stale"] or bool(changed)},
        values(result.data),
        " ".join(said),
        b"fullCalcOnLoad" in parts(sent.data)["xl/workbook.xml"],
    )


@some(5)
@given(books(), ALKALINITY)
def test_a_copy_in_a_program_without_the_functions(book, typed):
    """Gnumeric works all of the copy out: what it shows for the same natives over typed doses, or
    that these changed.
    """
    # In a sheet named A1 Gnumeric 1.12 reads no range that begins there, not even =SUM(A1:A2).
    assume(book["sheet"] != "A1")
    with tempfile.TemporaryDirectory() as folder:
        path, copy, plainly = (Path(folder) / f"{n}.xlsx" for n in ("book", "copy", "plainly"))
        write(path, book)
        copy.write_bytes(shared(Package.read(path)).data)
        now = book | {"rows": [typed, *book["rows"][1:]]}
        # Gnumeric reads no name that leads to a sheet with an apostrophe in its name.
        unread = book["form"] == "name" and "'" in book["sheet"]
        for given_now in (book, now):
            write(plainly, given_now, typed=True)
            true = recalculated(plainly.read_bytes(), Path(folder))
            found = recalculated(copy.read_bytes(), Path(folder))
            for place, value in true.items():
                same = close(found.get(place), value)
                if given_now is book and not unread:
                    assert same, place
                else:
                    assert same or found[place] == CHANGED, place
            with_alkalinity(copy, typed)


@pytest.mark.office
@some(4)
@given(books())
def test_no_figure_of_a_converted_book_is_wrong(libreoffice, book):  # noqa: F811
    """What Calc makes of a book: our figures and sums by hand; what Calc does not know either is no
    number.
    """
    with tempfile.TemporaryDirectory() as folder:
        path, made = Path(folder) / "book.xlsx", Path(folder) / "book.ods"
        write(path, book)
        to_ods(path, made)
        rows = CalamineWorkbook.from_path(made).get_sheet_by_name(book["sheet"]).to_python()
    true = doses(book)
    for row, dose in enumerate(true):
        assert close(rows[row][6], dose)
    by_hand = {text: answer(true) for text, answer in BY_HAND.items()}
    for row, (text, truth) in enumerate(book["natives"]):
        if truth is not None:
            by_hand[text] = native(truth, true, book["hidden"])
        shown = rows[row][9]
        if text in by_hand and not text.startswith(UNMARKED):
            assert close(shown, by_hand[text])
        else:
            assert not isinstance(shown, float)
    for row, (text, truth) in enumerate(book["apart"]):
        shown = rows[row][10]
        if isinstance(shown, date):  # a cell of Calc's own choice of format
            shown = float((shown - date(1899, 12, 30)).days)
        assert shown in {truth, *apart_by_hand(book).get(text, ())} or text in PROGRAM, text
