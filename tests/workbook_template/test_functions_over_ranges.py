"""Functions of single values that are handed several: each figure is that of the programs, or it is
named.
"""

import pytest
import xlsxwriter

from tests.foreign.books import DOSE, as_saved
from tests.workbook_template.travel_fixtures import quick_engine  # noqa: F401
from tests.workbook_template.travelling import fresh, values
from udfs import call
from workbook_template.travel import trust
from workbook_template.travel.fresh_values import fresh_values
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import StoredBook

pytestmark = pytest.mark.usefixtures("quick_engine")

NUMBERS, TEXTS, GIVEN = [100.0, 150.0, 200.0, 250.0], ["ab", "abcd", "ab", "abc"], [3.0, "", 0.0]
#: Array formulas over A (numbers), C (texts) and G (a number, an empty text, zero, a blank), with
#: their answers by hand.
TRUTH = {
    "SUM(ISNUMBER(G1:G4)*A1:A4)": 300.0,
    "SUMPRODUCT(ISNUMBER(G1:G4)*A1:A4)": 300.0,
    "AVERAGE(IF(ISNUMBER(G1:G4),A1:A4))": 150.0,
    "COUNT(IF(LEN(C1:C4)>2,A1:A4))": 2.0,
    "MAX(IF(ISBLANK(G1:G4),A1:A4,0))": 250.0,
    "SUM(LEN(C1:C4))": 11.0,
    'SUM((LEFT(C1:C4,3)="abc")*1)': 2.0,
    'SUM(ISNUMBER(SEARCH("c",C1:C4))*1)': 2.0,
    "SUM(ROUND(A1:A4/3,0))": 233.0,
    "SUM(NOT(A1:A4>120)*1)": 1.0,
    "MIN(IF(A1:A4>120,ROW(A1:A4)))": 2.0,
    'SUM(SUMIF(C1:C4,{"ab","abc"},A1:A4))': 550.0,
    "SUM(LARGE(A1:A4,{1,2}))": 450.0,
    "INDEX(A1:A4,MATCH(TRUE,LEN(C1:C4)>2,0))": 150.0,
    "SUM(MATCH(C1:C4,C1:C4,0))": 8.0,
    "SUM(IFERROR(1/ABS(G1:G4),0))": 1 / 3,
    # and those that the engine does know
    "SUM((A1:A4>120)*A1:A4)": 600.0,
    'MAX(IF(C1:C4="ab",A1:A4))': 200.0,
    "INDEX(A1:A4,MATCH(1,(A1:A4>120)*1,0))": 150.0,
    "SUM(IFERROR(1/A1:A4,0))": sum(1 / number for number in NUMBERS),
}
KNOWN = list(TRUTH)[-4:]


def book(path, texts, stored=None):
    """A book with array formulas in column I; as a program saved it where it has values."""
    with xlsxwriter.Workbook(path) as made:
        sheet = made.add_worksheet("Plan")
        sheet.write_column("A1", NUMBERS)
        sheet.write_column("C1", TEXTS)
        sheet.write_column("G1", GIVEN)
        sheet.write_string("G2", "")
        for row, text in enumerate(texts):
            value = stored[row] if stored else 0
            sheet.write_array_formula(row, 8, row, 8, f"{{={text}}}", None, value)
    return as_saved(path) if stored else path


def test_an_answer_without_a_stored_one_is_right_or_named(tmp_path):
    found = fresh(book(tmp_path / "book.xlsx", TRUTH))
    rows = {text: ("Plan", row, 9) for row, text in enumerate(TRUTH, 1)}
    given = {text: found[place] for text, place in rows.items() if place in found}
    assert given == {text: pytest.approx(TRUTH[text], rel=1e-12) for text in given}
    assert set(given) >= set(KNOWN)


def test_a_figure_of_ours_is_right_or_refused(tmp_path):
    dose = 'ACID_DOSE(A1:A4,7.5,5.5,300,"lactic",88)'
    doses = [call("ACID_DOSE", one, 7.5, 5.5, 300.0, "lactic", 88.0) for one in NUMBERS]
    texts = [f"AVERAGE(IF(ISNUMBER(G1:G4),{dose}))", f"SUM({dose}*(A1:A4>120))"]
    right = [(doses[0] + doses[2]) / 2, sum(doses[1:])]
    path = book(tmp_path / "book.xlsx", texts, right)
    found = fresh_values(StoredBook(Package.read(path)))
    assert [place[:3] for place in found.failed] == [("Plan", 1, 9)]
    assert found.values["Plan", 2, 9] == pytest.approx(right[1], rel=1e-12)
    assert values(path.read_bytes())["Plan", 1, 9] == right[0]


#: What stands around a dose for each of four rows, the second of which has no volume; and whether
#: the engine knows it.
AROUND = {
    "IF(ISNUMBER({0}),{0},0)": False,
    "ROUND({0},1)": False,
    "IF(ISTEXT({0}),1,0)": False,
    "LEN({0})": False,
    "IFERROR({0}*2,0)": True,
    "IF({0}>60,{0},60)": True,
}


@pytest.mark.parametrize("rows", ["A1:A4", "alk"])
def test_no_dose_of_an_array_becomes_a_zero(tmp_path, rows):
    """Nothing is stored; by hand from the doses themselves."""
    path = tmp_path / "book.xlsx"
    dose = f'ACID_DOSE({rows},7.5,5.5,B1:B4,"lactic",88)'
    with xlsxwriter.Workbook(path) as made:
        sheet = made.add_worksheet("Plan")
        made.define_name("alk", "=Plan!$A$1:$A$4")
        sheet.write_column("A1", NUMBERS)
        sheet.write_column("B1", [300.0, "x", 300.0, 300.0])
        for at, text in enumerate(AROUND):
            sheet.write_array_formula(0, 3 + at, 3, 3 + at, f"{{={text.format(dose)}}}")
    found = fresh_values(StoredBook(Package.read(path)))
    failed = {place[2] - 4 for place in found.failed}
    assert failed == {at for at, known in enumerate(AROUND.values()) if not known}
    doses = [call("ACID_DOSE", one, 7.5, 5.5, 300.0, "lactic", 88.0) for one in NUMBERS]
    assert [found.values["Plan", row, 8] for row in (1, 3, 4)] == [
        pytest.approx(doses[row - 1] * 2) for row in (1, 3, 4)
    ]
    assert [found.values["Plan", row, 9] for row in (1, 3, 4)] == [
        pytest.approx(max(doses[row - 1], 60.0)) for row in (1, 3, 4)
    ]


def test_copies_of_a_formula_are_told_apart_by_what_is_an_area_in_them(tmp_path):
    path = tmp_path / "book.xlsx"
    with xlsxwriter.Workbook(path) as made:
        sheet = made.add_worksheet("Plan")
        sheet.write_column("A1", NUMBERS)
        for row, cells in enumerate(("A1", "A2", "A1:A2", "A3")):
            dose = f'ACID_DOSE({cells},7.5,5.5,300,"lactic",88)'
            sheet.write_formula(row, 2, f"=IF(ISNUMBER({dose}),{dose},0)")
    found = fresh_values(StoredBook(Package.read(path)))
    assert [place[1] for place in found.failed] == [3]
    assert all(found.values["Plan", row, 3] > 40 for row in (1, 2, 4))


@pytest.mark.parametrize("text", ["LEN(A1)", "ROUND(SUM(A1:A4),1)", "IF(LEN(C1)>2,SUM(A1:A4),0)"])
def test_a_single_value_beside_a_range_is_relied_on(text):
    assert trust.known(text)


def test_texts_and_truths_in_a_product_of_cells_are_counted_by_no_program(tmp_path):
    """By hand: TRUE and a number that is a text are none."""
    path = tmp_path / "book.xlsx"
    with xlsxwriter.Workbook(path) as made:
        sheet = made.add_worksheet("Plan")
        sheet.write_column("A1", [2.0, True])
        sheet.write_string("A3", "5")
        sheet.write_formula("C1", "=SUMPRODUCT(A1:A3)")
    assert fresh(path).get(("Plan", 1, 3), 2.0) == 2.0


#: Formulas that are no array formulas, in rows 1 and 2; what each program shows there.
ROWS = [
    ("IF(A$1:A$2>120,{dose},0)", [0.0, DOSE]),
    ("{dose}*A$1:A$2", [100.0 * DOSE, 150.0 * DOSE]),
    ("ACID_NEEDED(A$1:A$2*2,0)", [200.0, 300.0]),
    ("SUM((A$1:A$2>120)*A$1:A$2)", [0.0, 150.0]),
]


@pytest.mark.parametrize(("text", "shown"), ROWS)
def test_a_range_where_one_cell_is_meant_keeps_its_figures(tmp_path, text, shown):
    """The cell of the formula's own row counts; the engine would take all, or the first."""
    path = tmp_path / "book.xlsx"
    with xlsxwriter.Workbook(path) as made:
        sheet = made.add_worksheet("Plan")
        sheet.write_column("A1", NUMBERS[:2])
        for row, value in enumerate(shown):
            dose = 'ACID_DOSE(101,7.5,5.5,301,"lactic",88)'
            sheet.write_formula(row, 2, "=" + text.format(dose=dose), None, value)
    found = fresh_values(StoredBook(Package.read(as_saved(path))))
    assert ("Plan", 1, 3) not in found.values and ("Plan", 2, 3) not in found.values
    assert len(found.failed) + found.kept == 2


@pytest.mark.parametrize(
    "text",
    [
        "SUMPRODUCT((A1:A4>120)*A1:A4)",
        "MAX(INDEX((A1:A4>120)*A1:A4,0))",
        "SUM(A1:A4)*2+COUNTIF(A1:A4,A1)",
        "SUM(IF(A1>120,A1:A4,C1:C4))",
        "INDEX(A1:A4,2,1)*INDEX(A1:A4,1,1)",
        "ROWS(A$1:A1)-1",
    ],
)
def test_a_range_that_is_taken_whole_is_worked_out(text):
    assert trust.beyond(text, False, False) is None


@pytest.mark.parametrize(
    ("argument", "sure"),
    [
        ("A1:A3", False),
        ("(A1:A3)", False),
        ("( (A1:A3) )", False),
        ("INDEX(A1:A9,0)", False),
        ("INDEX(A1:B9,1+1,0)", False),
        ("CHOOSE(1,A1:A3)", False),
        ("--(A1:A3>2)", True),
        ("(A1:A3>2)*A1:A3", True),
        ("INDEX(A1:A9,0)*1", True),
        ("LARGE(A1:A3,{1,2})", True),
    ],
)
def test_a_product_of_cells_as_they_are_is_told_from_one_of_what_is_made_of_them(argument, sure):
    reason = trust.unsure(f"SUMPRODUCT({argument})") or ""
    assert ("cells as they are" not in reason) == sure, reason


def test_a_function_is_named_with_its_digits():
    assert "LOG10 over several cells" in (trust.unsure("SUM(LOG10(A1:A3))") or "")
