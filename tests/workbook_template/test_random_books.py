"""Random books, recalculated: no figure differs from the truth without being named.

The truth of our formulas is the function itself; that of native formulas is Python's arithmetic, or what the book's own
program stored for a formula that reads nothing that changed.
"""

import math
import re
import tempfile
from pathlib import Path

import pytest
import xlsxwriter
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.foreign.books import as_saved
from tests.workbook_template.travel_fixtures import quick_engine  # noqa: F401
from tests.workbook_template.travelling import values
from udfs import call
from workbook_template.travel.recalc import recalculate

pytestmark = pytest.mark.usefixtures("quick_engine")

SHEETS = st.sampled_from(
    ["Plan", "sheet1", "SHEET1", "It's a plan", "2025", "A1", "a-b", "shadow 0"]
)
ALKALINITY = st.integers(20, 300).map(float)
#: Forms of a dose of row {0}; the last column tells whether one formula fills all rows.
FORMS = ("plain", "array", "dynamic", "first", "name", "marked")
#: Native formulas over the doses in G, with the truth by Python; None where only the book's own program knows it.
NATIVES = [
    ("SUM(G{0}:G{1})", math.fsum),
    ("MAX(G{0}:G{1})*2", lambda doses: max(doses) * 2),
    ("ROUND(G{0},1)+COUNT(G{0}:G{1})", None),
    ("SUBTOTAL(109,G{0}:G{1})", "hidden"),
    ("AGGREGATE(9,5,G{0}:G{1})", "hidden"),
    ('TEXT(G{0},"# ?/?")', None),
    ("MYSTERY(G{0})", None),
    ("CEILING(-G{0},1)", None),
]
#: Native formulas that read nothing of ours: the stored value is the truth.
APART = [
    ("CEILING(0,0)", 0.0),
    ('TEXT(1.5,"# ?/?")', "1 1/2"),
    ('CELL("address",A1)', "$A$1"),
    ("SUBTOTAL(103,A1:A9)", 41.0),
    ("TODAY()", 45000.0),
    ("1/4", 0.25),
    ("YEARFRAC(1,2,1)", 0.123),
]


@st.composite
def _books(draw):
    rows = draw(st.lists(ALKALINITY, min_size=2, max_size=5))
    return {
        "sheet": draw(SHEETS),
        "rows": rows,
        "form": draw(st.sampled_from(FORMS)),
        "hidden": draw(st.sets(st.integers(1, len(rows)), max_size=2)),
        "natives": draw(st.lists(st.sampled_from(NATIVES), max_size=4)),
        "apart": draw(st.lists(st.sampled_from(APART), max_size=4)),
        "stale": draw(st.booleans()),
        "note": draw(st.booleans()),
    }


def _arguments(alkalinity):
    return alkalinity, 7.5, 5.5, 300.0, "lactic", 88.0


def _write(path: Path, book: dict) -> None:
    rows, last = book["rows"], len(book["rows"])
    doses = [call("ACID_DOSE", *_arguments(one)) for one in rows]
    shown = [dose + 1 for dose in doses] if book["stale"] else doses
    with xlsxwriter.Workbook(path) as made:
        sheet = made.add_worksheet(book["sheet"])
        for row, one in enumerate(rows):
            sheet.write_row(row, 0, _arguments(one))
            if book["note"]:
                sheet.write(row, 7, "note")
        for row in book["hidden"]:
            sheet.set_row(row - 1, None, None, {"hidden": True})
        ranges = ",".join(f"{letter}1:{letter}{last}" for letter in "ABCDEF")
        if book["form"] in ("array", "dynamic"):
            write = getattr(
                sheet, f"write_{'dynamic_' if book['form'] == 'dynamic' else ''}array_formula"
            )
            write(f"G1:G{last}", f"=ACID_DOSE({ranges})", None, shown[0])
            for row in range(1, last):
                sheet.write_number(row, 6, shown[row])
        else:
            quoted = book["sheet"].replace("'", "''")
            made.define_name("Strength", f"='{quoted}'!$F$1")
            for row in range(1, last + 1):
                text = {
                    "plain": "ACID_DOSE(A{0},B{0},C{0},D{0},E{0},F{0})",
                    "first": "ACID_DOSE(A{0}:A{0},B{0},C{0},D{0},E{0},F{0})",
                    "name": "acid_dose(A{0},B{0},C{0},D{0},E{0},Strength)",
                    "marked": "_xludf.ACID_DOSE(A{0},B{0},C{0},D{0},E{0},F{0})",
                }[book["form"]].format(row)
                sheet.write_formula(row - 1, 6, "=" + text, None, shown[row - 1])
        for row, (text, truth) in enumerate(book["natives"]):
            sheet.write_formula(
                row, 9, "=" + text.format(1, last), None, _native(truth, shown, book["hidden"])
            )
        for row, (text, truth) in enumerate(book["apart"]):
            sheet.write_formula(row, 10, "=" + text, None, truth)
    as_saved(path)


def _native(truth, doses, hidden):
    """What the book's own program would hold; a figure that no engine gives where only that program knows."""
    if truth == "hidden":
        return math.fsum(dose for row, dose in enumerate(doses, 1) if row not in hidden)
    return truth(doses) if truth else 77.0


def _close(one, other) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=1e-9)
    return one == other


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(_books())
def test_no_figure_is_wrong_without_a_word(book):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "book.xlsx"
        _write(path, book)
        result = recalculate(path)
        found = values(path.read_bytes())
    name, named = book["sheet"], set(re.findall(r"!([A-Z]+\d+) \(", result.warning or ""))
    doses = [call("ACID_DOSE", *_arguments(one)) for one in book["rows"]]
    for row, dose in enumerate(doses, 1):
        assert _close(found[name, row, 7], dose)
    for row, (_, truth) in enumerate(book["natives"], 1):
        if truth is None and not book["stale"]:
            assert found[name, row, 10] == 77.0
        elif truth is None or not _close(
            found[name, row, 10], _native(truth, doses, book["hidden"])
        ):
            assert f"J{row}" in named
    for row, (_, truth) in enumerate(book["apart"], 1):
        assert found[name, row, 11] == truth and f"K{row}" not in named
