"""A frozen formula shows its figure while what it was asked is unchanged, else words; never another
figure.
"""

import io

import pytest
import xlsxwriter
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.gnumeric import recalculated
from tests.workbook_template.travel_fixtures import quick_engine  # noqa: F401
from tests.workbook_template.travelling import formulas, values
from udfs import call
from workbook_template.travel.band import FIXED
from workbook_template.travel.expressions import Unreadable, parsed, written
from workbook_template.travel.formulas import calls
from workbook_template.travel.fresh_values import fresh_values, same
from workbook_template.travel.frozen import CHANGED, Unfit, frozen, literal
from workbook_template.travel.guards import with_guard, without_guard
from workbook_template.travel.ooxml.addresses import address
from workbook_template.travel.ooxml.edit import SheetEdit
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.travel.restore import restored
from workbook_template.travel.share import shared

ROWS = 3
#: Formulas of ours; ``{0}`` is a row.
OURS = (
    "HARDNESS(A{0},B{0})",
    "hardness( $A{0} , B{0} )",
    'IF(A{0}>20,HARDNESS(A{0},B{0}),"")',
    'IF(A{0}>20,"",HARDNESS(A{0},B{0}))',
    "IF(ISNUMBER(HARDNESS(A{0},B{0})),HARDNESS(A{0},B{0}),0)",
    "IFERROR(HARDNESS(A{0},B{0})+1,0)",
    "IFERROR(HARDNESS(A{0},B{0})/C{0},HARDNESS(B{0},A{0}))",
    "IF(IF(C{0}>1,ISNUMBER(HARDNESS(A{0},B{0})),FALSE),1,2)",
    "IF(HARDNESS(A{0},B{0})>100,1,0)",
    "HARDNESS(INDEX($A$1:$A$3,C{0}),B{0})",
    "HARDNESS(HARDNESS(A{0},B{0}),B{0})",
    "HARDNESS(IF(A{0}>20,HARDNESS(B{0},A{0}),3),B{0})",
    "-HARDNESS(A{0},B{0})^2",
    'HARDNESS(A{0},B{0})&" mg/L"',
    "HARDNESS(A{0},)",
    "SUM(HARDNESS(A{0},B{0}),C{0})",
    "CHOOSE(1,HARDNESS(A{0},B{0}),HARDNESS(B{0},A{0}))",
    "CHOOSE(2,C{0},HARDNESS(A{0},B{0}))",
    "ION_BALANCE($A$1:$A$3,100,7)",
    "ION_BALANCE(D{0}:H{0},A{0},7)",
    "INDEX(SALT_IONS(I{0},A{0},100),1,2)",
    'SALT_MASS(I{0},"Ca",A{0},100)',
    "HARDNESS(Named,B{0})",
    "Called+C{0}",
    "MIN(HARDNESS(A{0},B{0}),HARDNESS(B{0},A{0}))",
    "ADDIN_STATUS()",
)
#: Native formulas over the cells of ours, which are K1:K3.
NATIVE = (
    "K{0}",
    "SUM($K$1:$K$3)",
    "IF(ISNUMBER(K{0}),1,0)",
    "IF(K{0}>100,1,2)",
    "COUNT(K1:K3)",
    "IFERROR(K{0}*2,0)",
    "C{0}*2",
    'K{0}&""',
    "IF(L{0}>0,5,6)",
)
CELLS = st.one_of(
    st.none(),
    st.floats(1, 400).map(lambda value: round(value, 3)),
    st.sampled_from([0.0, 1.0, 2.0, -1.0, "gypsum", "x", "12", "", True]),
)
NUMBERS = st.floats(1, 400).map(lambda value: round(value, 3))


@st.composite
def books(draw):
    """Inputs A to I, formulas of ours in K, native ones in L and M, of three rows; and changes of
    the inputs.
    """
    inputs = {
        (row, column): draw(st.one_of(NUMBERS, CELLS) if column > 2 else NUMBERS)
        for row in range(ROWS)
        for column in range(8)
    }
    inputs |= {(row, 2): draw(st.sampled_from([1.0, 2.0, 3.0])) for row in range(ROWS)}
    inputs |= {
        (row, 8): draw(st.sampled_from(["gypsum", "calcium chloride dihydrate"]))
        for row in range(ROWS)
    }
    ours = [draw(st.sampled_from(OURS)) for _ in range(ROWS)]
    native = [draw(st.sampled_from(NATIVE)) for _ in range(2 * ROWS)]
    changes = draw(st.lists(st.tuples(st.sampled_from(sorted(inputs)), CELLS), max_size=6))
    return inputs, ours, native, changes


def built(inputs, ours, native) -> bytes:
    """The book as a file."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        sheet = book.add_worksheet("Plan")
        for (row, column), value in inputs.items():
            if value is not None:
                sheet.write(row, column, value)
        book.define_name("Named", "=Plan!$A$2")
        book.define_name("Called", "=HARDNESS(Plan!$A$1,Plan!$B$1)")
        for row, text in enumerate(ours):
            sheet.write_formula(row, 10, "=" + text.format(row + 1))
        for number, text in enumerate(native):
            sheet.write_formula(number // 2, 11 + number % 2, "=" + text.format(number // 2 + 1))
    return out.getvalue()


def edited(data: bytes, place, value) -> bytes:
    """A book whose cell on the first sheet holds something else."""
    book = StoredBook(Package(data))
    sheet = book.sheets[0]
    edit = SheetEdit(sheet)
    if value is None:
        edit.erase(*place)
    else:
        edit.freeze(*place, value)
    book.package[sheet.part] = edit.tobytes()
    return book.package.tobytes()


def after(data: bytes, place, value) -> dict:
    """Fresh values of a book whose cell holds something else."""
    return fresh_values(StoredBook(Package(edited(data, place, value)))).values


@pytest.mark.slow
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(books())
def test_each_figure_is_the_live_books_or_words(quick_engine, made):  # noqa: F811
    """The same changes in the live book and in its copy, both through the embedded engine."""
    inputs, ours, native, changes = made
    live = built(inputs, ours, native)
    copy = shared(Package(live, "plan.xlsx"))
    fixed = {
        remark.partition(" ")[0] for remark in copy.remarks if "holds its value alone" in remark
    }
    assert not any(calls(text) for place, text in formulas(copy.data).items() if place[0] == "Plan")
    status = {("Plan", row + 1, 11) for row, text in enumerate(ours) if "STATUS" in text}
    before = fresh_values(StoredBook(Package(live))).values
    sent = fresh_values(StoredBook(Package(copy.data))).values
    for place, value in before.items():
        if not status:
            assert same(sent.get(place, values(copy.data).get(place)), value, 1e-9), place
    for (row, column), value in changes:
        place = (row + 1, column + 1)
        true, seen = after(live, place, value), after(copy.data, place, value)
        for cell, figure in seen.items():
            if cell[0] == "Plan" and isinstance(figure, float) and not status and not fixed:
                assert same(true[cell], figure, 2e-9), (cell, formulas(copy.data)[cell])
    back = restored(Package(copy.data, "copy.xlsx"))
    assert formulas(back.data) == formulas(live)


def asked(text, *records, spell=lambda piece: piece):
    """A frozen formula whose calls were asked and answered so, in order; None for one that was not
    made.
    """
    return frozen(text, 0, {n: one for n, one in enumerate(records) if one is not None}, spell)


def test_the_answer_stands_behind_a_check_of_each_argument():
    assert asked("HARDNESS(A1,B1)", ([100.0, None], 250.5)) == (
        f'IF(IFERROR(AND(ISNUMBER(A1),ABS(A1-100)<=1.0E-7,B1&""=""),FALSE),250.5,"{CHANGED}")'
    )


def test_the_check_stands_around_what_would_hide_the_words():
    found = asked("IF(ISNUMBER(HARDNESS(A1,5)),HARDNESS(A1,5),0)", ([100.0, 5.0], 270.0))
    assert found == (
        "IF(IFERROR(AND(ISNUMBER(A1),ABS(A1-100)<=1.0E-7),FALSE),IF(ISNUMBER(270),270,0),"
        f'"{CHANGED}")'
    )


def test_a_call_that_was_not_made_is_words():
    assert asked('IF(A1>1,HARDNESS(B1,C1),"")', None) == f'IF(A1>1,"{CHANGED}","")'


@pytest.mark.parametrize(
    "value, text",
    [
        (-5.25, "(-5.25)"),
        (1e-7, "1E-07"),
        ('say "5"', '"say ""5"""'),
        ("x" * 300, f'("{"x" * 255}"&"{"x" * 45}")'),
        ("#N/A", "#N/A"),
        ([[1.0, "a"], [None, True]], '{1,"a";"",TRUE}'),
    ],
)
def test_answers_as_literals(value, text):
    assert literal(value) == text


@pytest.mark.parametrize(
    "text, record, words",
    [
        ("SALT_IONS(A1:A9,1)", ([[["#N/A"], [2.0]], 1.0], 5.0), "error"),
        ("ION_BALANCE(A:A,1,7)", ([[[1.0], [2.0]], 1.0, 7.0], 5.0), "whole columns"),
        ("_xlfn.LET(x,1,HARDNESS(x,2))", ([1.0, 2.0], 5.0), "LET"),
        ("HARDNESS(A1,2)", ([1.0, 2.0], "bell\x07"), "control"),
        ("HARDNESS(A1,2)", ([1.0, 2.0], float("nan")), "cell can hold"),
        ("ION_BALANCE(A1:A900,1,7)", ([[[1.5]] * 900, 1.0, 7.0], 5.0), "8192"),
        ("CHOOSE(1,2,HARDNESS(A1,2))", None, "CHOOSE"),
    ],
)
def test_what_cannot_be_frozen_says_why(text, record, words):
    with pytest.raises(Unfit, match=words):
        asked(text, record)


def test_a_formula_that_would_be_too_long_is_its_value_and_is_named(quick_engine):  # noqa: F811
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        sheet = book.add_worksheet("Plan")
        for row in range(700):
            sheet.write(row, 0, 1.5)
        sheet.write("C1", 3.0)
        sheet.write_formula("E5", "=HARDNESS(SUM(A1:A700),C1)")
        sheet.write_array_formula("F5:F704", "{=HARDNESS(A1:A700,C1)}")
    copy = shared(Package(out.getvalue(), "plan.xlsx"))
    found = values(copy.data)
    assert found["Plan", 5, 6] == pytest.approx(call("HARDNESS", 1.5, 3.0), rel=1e-12)
    assert ("Plan", 5, 6) not in formulas(copy.data) and ("Plan", 5, 5) in formulas(copy.data)
    assert any(remark.startswith("Plan!F5 holds its value alone") for remark in copy.remarks)
    assert any("Fixed whatever you change: F5" in str(value) for value in found.values())
    flags = [place for place, value in found.items() if value == FIXED and place[0] == "Plan"]
    assert flags == [("Plan", 5, 7)]
    back = values(restored(Package(copy.data, "plan-shared.xlsx")).data)
    assert FIXED not in back.values() and not any("COPY" in str(one) for one in back.values())


def test_an_array_keeps_its_area(quick_engine, tmp_path):  # noqa: F811
    """Gnumeric works the arrays of the copy out; with another input each cell has the words."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        sheet = book.add_worksheet("Plan")
        for row in range(3):
            sheet.write_row(row, 0, [100.0 + row, 7.0])
        sheet.write_array_formula("D1:D3", "{=HARDNESS(A1:A3,B1:B3)}")
        sheet.write_dynamic_array_formula("E1:E3", "=HARDNESS(A1:A3,B1:B3)")
    copy = shared(Package(out.getvalue(), "plan.xlsx"))
    sent = recalculated(copy.data, tmp_path)
    other = recalculated(edited(copy.data, (2, 1), 150.0), tmp_path)
    for row in range(1, 4):
        true = pytest.approx(call("HARDNESS", 99.0 + row, 7.0), rel=1e-12)
        for column in (4, 5):
            assert values(copy.data)["Plan", row, column] == sent["Plan", row, column] == true
            assert other["Plan", row, column] == CHANGED
    back = restored(Package(copy.data, "copy.xlsx"))
    assert formulas(back.data) == formulas(out.getvalue())


@pytest.mark.parametrize("text", ["A1+1", "IF(A1>0,1,2)", "SUM(A1:A9)", 'IF(B1="","",A1)'])
def test_a_guard_comes_off_as_it_went_on(text):
    whole = with_guard(text, ["A1", "Names"])
    assert without_guard(whole) == text
    assert without_guard(whole.replace(",", " , ").replace(")>0", ") > 0")) is not None
    assert without_guard(text) is None and with_guard(text, []) == text


@pytest.mark.parametrize(
    "text",
    ['IF(A1,"a,b",{1,2;3,4})', "SUM((A1,B2))+'a,b'!C3", "Table[[#All],[a(]]", "A1 %", "-(2)"],
)
def test_what_was_read_is_written_as_it_was(text):
    assert written(parsed(text)) == text


@pytest.mark.parametrize("text", ["SUM(A1", "A1)", "{1", "(A1}", "(" * 200 + ")" * 200])
def test_brackets_that_do_not_pair_are_told(text):
    with pytest.raises(Unreadable):
        parsed(text)


def test_places_are_told(quick_engine):  # noqa: F811
    """A shared copy says of itself when it was made where it would say which add-in answers."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        book.add_worksheet("Plan").write_formula("A9", '=ADDIN_STATUS("version")')
    copy = shared(Package(out.getvalue(), "plan.xlsx"))
    text = values(copy.data)["Plan", 9, 1]
    assert text.startswith("copy of ") and text.endswith("no add-in")
    assert not restored(Package(copy.data)).answers and address(9, 1) == "A9"
