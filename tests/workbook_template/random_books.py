"""Random books for the tests of the commands, with the truth about their figures.

The truth of our formulas is the function itself; that of native formulas is Python's arithmetic, or
what the book's own program stored for a formula that reads nothing that changed.
"""

import math
from pathlib import Path

import xlsxwriter
from hypothesis import strategies as st

from tests.foreign.books import as_saved
from udfs import call

SHEETS = st.sampled_from(
    ["Plan", "sheet1", "SHEET1", "It's a plan", "2025", "A1", "a-b", "shadow 0"]
)
ALKALINITY = st.integers(20, 300).map(float)
#: Forms of a dose of row {0}; the last column tells whether one formula fills all rows.
FORMS = ("plain", "array", "dynamic", "first", "name", "marked")
#: Native formulas over the doses in G, with the truth by Python; None where only the book's own
#: program knows it.
NATIVES = [
    ("SUM(G{0}:G{1})", math.fsum),
    ("MAX(G{0}:G{1})*2", lambda given: max(given) * 2),
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
def books(draw):
    """What a book holds, for :func:`write`."""
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


def arguments(alkalinity):
    """Of a dose for water of this alkalinity."""
    return alkalinity, 7.5, 5.5, 300.0, "lactic", 88.0


def doses(book: dict) -> list[float]:
    """The true doses of its rows."""
    return [call("ACID_DOSE", *arguments(one)) for one in book["rows"]]


def write(path: Path, book: dict, typed: bool = False) -> None:
    """The book as a spreadsheet program saved it; ``typed`` has the true doses as numbers in place
    of our formulas.
    """
    rows, last = book["rows"], len(book["rows"])
    shown = [dose + book["stale"] * (not typed) for dose in doses(book)]
    with xlsxwriter.Workbook(path) as made:
        sheet = made.add_worksheet(book["sheet"])
        for row, one in enumerate(rows):
            sheet.write_row(row, 0, arguments(one))
            if book["note"]:
                sheet.write(row, 7, "note")
        for row in book["hidden"]:
            sheet.set_row(row - 1, None, None, {"hidden": True})
        ranges = ",".join(f"{letter}1:{letter}{last}" for letter in "ABCDEF")
        if typed:
            sheet.write_column("G1", shown)
        elif book["form"] in ("array", "dynamic"):
            put = getattr(
                sheet, f"write_{'dynamic_' if book['form'] == 'dynamic' else ''}array_formula"
            )
            put(f"G1:G{last}", f"=ACID_DOSE({ranges})", None, shown[0])
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
                row, 9, "=" + text.format(1, last), None, native(truth, shown, book["hidden"])
            )
        for row, (text, truth) in enumerate(book["apart"]):
            sheet.write_formula(row, 10, "=" + text, None, truth)
    as_saved(path)


def native(truth, given, hidden):
    """What the book's own program would hold; a figure that no engine gives where only that program
    knows.
    """
    if truth == "hidden":
        return math.fsum(dose for row, dose in enumerate(given, 1) if row not in hidden)
    return truth(given) if truth else 77.0


def close(one, other) -> bool:
    """Whether two values of a cell are the same figure."""
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=1e-9)
    return one == other
