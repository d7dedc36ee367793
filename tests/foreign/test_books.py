"""Books of other programs: figures that are right stay, figures that are stale are renewed or
named.
"""

import pytest

from tests.foreign import books
from tests.workbook_template.travel_fixtures import quick_engine  # noqa: F401
from tests.workbook_template.travelling import values
from udfs import call
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.recalc import recalculate
from workbook_template.travel.restore import restored
from workbook_template.travel.share import shared
from workbook_template.user_errors import BookError

pytestmark = pytest.mark.usefixtures("quick_engine")


@pytest.mark.parametrize("dynamic", [False, True])
def test_a_neighbour_never_turns_an_array_into_zeros(tmp_path, dynamic):
    path = books.arrays(tmp_path / "arrays.xlsx", dynamic)
    recalculate(path)
    found = values(path.read_bytes())
    doses = [call("ACID_DOSE", 100.0 + row, 7.5, 5.5, 300.0, "lactic", 88.0) for row in range(4)]
    assert [found["Plan", row, 6] for row in range(1, 5)] == doses
    assert [found["Plan", row, 8] for row in range(1, 5)] == [200.0, 202.0, 204.0, 206.0]
    assert found["Plan", 6, 6] == pytest.approx(sum(doses), rel=1e-12)
    assert found["Plan", 6, 8] == 812.0


def test_an_array_fills_its_area_and_no_more(tmp_path):
    path = books.repeated_array(tmp_path / "book.xlsx")
    before = values(path.read_bytes())
    result = recalculate(path)
    assert values(path.read_bytes()) == before and result.warning is None


@pytest.mark.parametrize("name", ["Sheet1", "sheet1", "SHEET1", "sHeEt1", "shadow 0", "scratch 0"])
def test_any_name_of_a_sheet(tmp_path, name):
    path = books.with_dose(tmp_path / "book.xlsx", name=name, stored=1.0)
    recalculate(path)
    assert values(path.read_bytes())[name, 1, 7] == books.DOSE


def test_a_sheet_that_is_not_there_is_no_zero(tmp_path):
    path = books.natives(tmp_path / "book.xlsx", [("=Sheet1!A1+1", 6.0)])
    recalculate(path)
    assert values(path.read_bytes())["Plan", 1, 10] == 6.0


def test_totals_over_hidden_rows_stay_and_a_stale_one_is_named(tmp_path):
    path = books.hidden_rows(tmp_path / "book.xlsx")
    result = recalculate(path)
    found = values(path.read_bytes())
    assert [found["Plan", row, 11] for row in (1, 2, 4)] == [30.0, 30.0, 3.0]
    assert "Plan!K5 (" in result.warning and "Plan!K1" not in result.warning


#: Stored as the documented functions give them (ECMA-376 part 1, 18.17.7; Excel's help for signs
#: and zero).
FIGURES = [
    ("=CEILING(0,0)", 0.0),
    ("=FLOOR(0,0)", 0.0),
    ('=TEXT(1.5,"# ?/?")', "1 1/2"),
    ('=TEXT(12345,"0.0E+00")', "1.2E+04"),
    ('=TEXT(1234567,"#,##0,")', "1,235"),
    ('=CELL("row",A1)', 1.0),
    ("=YEARFRAC(45000,45400,1)", 1.09439124487),
    ('=(0.1+0.2)&""', "0.3"),
]


def test_native_figures_that_the_engine_gives_otherwise_stay(tmp_path):
    path = books.natives(tmp_path / "book.xlsx", FIGURES)
    result = recalculate(path)
    found = values(path.read_bytes())
    assert [found["Plan", row, 10] for row in range(1, len(FIGURES) + 1)] == [
        value for _, value in FIGURES
    ]
    assert found["Plan", 1, 7] == books.DOSE and result.changed == 1


def test_what_reads_a_stale_figure_is_named_and_kept(tmp_path):
    path = books.natives(
        tmp_path / "book.xlsx",
        [('=TEXT(G1,"# ?/?")', "1"), ('=J1&" mL"', "1 mL"), ("=G1*2", 2.0), ("=J3+1", 3.0)],
    )
    result = recalculate(path)
    found = values(path.read_bytes())
    assert "Plan!J1 (" in result.warning and "Plan!J2 (" in result.warning
    assert "J3" not in result.warning and "J4" not in result.warning
    assert [found["Plan", row, 10] for row in range(1, 5)] == [
        "1",
        "1 mL",
        books.DOSE * 2,
        books.DOSE * 2 + 1,
    ]


def test_a_stale_figure_feeds_no_dose(tmp_path):
    path = books.natives(
        tmp_path / "book.xlsx",
        [("=MYSTERY(G1)", 9.0), ("=ACID_DOSE(J1,B1,C1,D1,E1,F1)", 1.0)],
    )
    with pytest.raises(BookError, match=r"Plan!J2 \(it waits for Plan!J1"):
        recalculate(path)


def test_what_the_clock_gave_stays(tmp_path):
    path = books.natives(
        tmp_path / "book.xlsx", [("=TODAY()", 45000.0), ("=RAND()", 0.5), ("=J1+1", 45001.0)]
    )
    result = recalculate(path)
    found = values(path.read_bytes())
    assert [found["Plan", row, 10] for row in (1, 2, 3)] == [45000.0, 0.5, 45001.0]
    assert result.warning is None


def test_a_what_if_table_is_named_with_what_reads_it(tmp_path):
    path = books.what_if_table(tmp_path / "book.xlsx")
    result = recalculate(path)
    assert "Plan!J4 (it is a what-if table" in result.warning and "Plan!L4 (" in result.warning
    assert values(path.read_bytes())["Plan", 4, 12] == 100.0


@pytest.mark.parametrize(
    "make",
    [
        books.table_with_alternative_text,
        books.shared_texts_in_capitals,
        books.own_names,
        books.pivot_chart,
        books.repeated_array,
    ],
)
def test_a_real_book_is_shared_and_comes_back(tmp_path, make):
    path = make(tmp_path / "book.xlsx")
    copy = shared(Package.read(path)).data
    assert values(copy)["Plan", 1, 7] == books.DOSE
    back = restored(Package(copy, "copy.xlsx"))
    assert values(back.data)["Plan", 1, 7] == books.DOSE and not back.inputs and not back.answers


@pytest.mark.parametrize("name", ["Sheet (2)", "Cell (2)", "Now (old)", "it's (2)", 'Sum "S (2)"'])
def test_a_word_before_a_bracket_in_the_name_of_a_sheet_is_no_function(tmp_path, name):
    def fill(book, sheet):
        other = "'" + name.replace("'", "''") + "'"
        sheet.write_formula("H1", f'=ACID_DOSE({other}!A1,7.5,5.5,301,"lactic",88)', None, 1.0)
        sheet.write_formula("I1", f"={other}!A1+G1", None, 102.0)
        book.add_worksheet(name).write("A1", 101.0)

    path = books.with_dose(tmp_path / "book.xlsx", fill, stored=1.0)
    assert recalculate(path).warning is None
    found = values(path.read_bytes())
    assert (found["Plan", 1, 8], found["Plan", 1, 9]) == (books.DOSE, 101.0 + books.DOSE)


@pytest.mark.parametrize(
    "total",
    [
        "SUM(G1:last)",
        "SUM(Plan!G1:Plan!G3)",
        "SUM(G1:CHOOSE(1,G3))",
        "SUM(G1 : G3)",
        "SUM((G1):(G3))",
        'SUMIF(E1:E3,"lactic",G1)',
        'SUMIF(E1:E3,"lactic",(G1))',
        '3*AVERAGEIF(E1:E3,"lactic",G1:H1)',
    ],
)
def test_a_figure_over_cells_that_are_not_written_out_is_named_where_one_changed(tmp_path, total):
    def fill(book, sheet):
        book.define_name("last", "=Plan!$G$3")
        for row in (2, 3):
            sheet.write_row(row - 1, 0, books.WATER)
            text = books.DOSE_OF.format(row)
            sheet.write_formula(row - 1, 6, text, None, 1.0 if row == 2 else books.DOSE)
        sheet.write_formula("I1", f"=CEILING({total},1)", None, 93.0)

    path = books.with_dose(tmp_path / "book.xlsx", fill)
    result = recalculate(path)
    found = values(path.read_bytes())
    assert found["Plan", 2, 7] == books.DOSE
    assert found["Plan", 1, 9] == 93.0
    assert result.warning and "Plan!I1" in result.warning


def test_a_sentence_in_place_of_a_number_goes_through_text_as_it_is(tmp_path):
    """All programs leave a text that is no number as it is in TEXT, also one with numbers in it."""

    def fill(_, sheet):
        sheet.write_row("A2", (*books.WATER[:3], "x", *books.WATER[4:]))
        for row in (1, 2):
            dose = books.DOSE_OF.format(row)[1:]
            sheet.write_formula(row - 1, 8, f'="Add "&TEXT({dose},"0.0")')

    path = books.with_dose(tmp_path / "book.xlsx", fill)
    recalculate(path)
    found = values(path.read_bytes())
    sentence = call("ACID_DOSE", *books.WATER[:3], "x", *books.WATER[4:])
    assert found["Plan", 1, 9] == f"Add {books.DOSE:.1f}"
    assert found["Plan", 2, 9] == f"Add {sentence}"
