"""The words in which formulas are written, and tables whose columns are declared once."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook
from xlsxwriter.utility import xl_rowcol_to_cell

from udfs.hosts import engine
from workbook_template.template.book import Book
from workbook_template.template.formula import (
    DEEPEST,
    LONGEST_FORMULA,
    LONGEST_TEXT,
    FormulaError,
    all_of,
    call,
    calls,
    cell_text,
    first,
    joined,
    name,
    number_or,
    part,
    ref,
    text,
    when,
    xl,
)
from workbook_template.template.table import Input, Shown, Table, Working

A, B = ref("A1"), ref("B1")


@pytest.mark.parametrize(
    "later", ["XLOOKUP(A1,B1:B9,C1:C9)", "1+_xlfn.STDEV.S(A1:A9)", "SORT(A1:A9)"]
)
def test_a_function_of_later_programs_is_refused_and_its_name_as_a_word_is_not(later):
    with pytest.raises(FormulaError, match="not known to every spreadsheet program"):
        cell_text(f"={later}")
    assert cell_text(f'="{later}"') == f'="{later}"'


def test_a_book_holds_the_formula_that_was_written_last_with_its_value(tmp_path):
    """Read by openpyxl: markup in a text, an empty text, a truth, and a cell that was written
    twice.
    """
    book = Book(tmp_path / "book.xlsx")
    sheet = book.sheet("S", [10])
    cells = {0: ('=IF(1<2,"<&>","")', "<&>"), 1: ('=""', ""), 2: ("=1=1", True), 3: ("=2*3", 6)}
    sheet.formula(3, 0, "=7*7")
    for row, (formula, _) in cells.items():
        sheet.formula(row, 0, formula)
    book.draft(tmp_path / "draft.xlsx")
    sheet.formula(4, 0, "=A4+1")
    values = {row: value for row, (_, value) in cells.items()} | {4: 7}
    book.close({("S", row, 0): value for row, value in values.items()})
    live = load_workbook(tmp_path / "book.xlsx")["S"]
    assert [live.cell(row + 1, 1).value for row in range(5)] == [
        *(formula for formula, _ in cells.values()),
        "=A4+1",
    ]
    stored = load_workbook(tmp_path / "book.xlsx", data_only=True)["S"]
    assert [stored.cell(row + 1, 1).value for row in range(5)] == ["<&>", None, True, 6, 7]
    draft = load_workbook(tmp_path / "draft.xlsx")["S"]
    assert (draft["A1"].value, draft["A4"].value, draft["A5"].value) == (
        cells[0][0],
        "=2*3",
        None,
    )


def test_operators_take_brackets_only_where_they_change_the_answer():
    assert str(A - (B - 1)) == "A1-(B1-1)" and str((A - B) - 1) == "A1-B1-1"
    assert str((A + B) / 2 * 3) == "(A1+B1)/2*3" and str(1 / (A / B)) == "1/(A1/B1)"
    assert str((A & " is " & B) == "x") == 'A1&" is "&B1="x"'
    assert str("a" & (A == B)) == '"a"&(A1=B1)'
    assert str(-(A + 1)) == "-(A1+1)" and str(A * -2) == "A1*-2"


def test_first_and_when_close_their_own_brackets():
    assert str(first((A == 0, ""), (B == "", "no"), A)) == 'IF(A1=0,"",IF(B1="","no",A1))'
    assert str(when(all_of(A > 0, B > 0), "both")) == 'IF(AND(A1>0,B1>0),"both","")'
    with pytest.raises(TypeError):
        first((A == 0, ""), (B == 0, ""))


def test_a_formula_is_neither_true_nor_false_in_python():
    with pytest.raises(TypeError):
        if A == 0:
            pass
    with pytest.raises(TypeError):
        A in [B]  # noqa: B015


def test_a_call_knows_its_function_and_how_many_arguments_it_takes():
    assert str(call("LITRES", A, "hL")) == 'LITRES(A1,"hL")'
    for called, given_to_it in (("LITERS", (A,)), ("LITRES", ()), ("LITRES", (A,) * 9)):
        with pytest.raises(FormulaError):
            call(called, *given_to_it)
    with pytest.raises(FormulaError):
        xl.LITRES(A, "hL")


def test_number_or_refuses_a_call_that_would_be_worked_out_twice():
    assert str(number_or(A, "?")) == 'IF(ISNUMBER(A1),A1,"?")'
    with pytest.raises(FormulaError, match="twice"):
        number_or(call("LITRES", A, "hL"), "?")


def test_calls_are_found_whole_and_not_within_texts():
    formula = first((call("LITRES", A, "(") > 1, "LITRES(1)"), call("COLD_LITRES", B, 20))
    assert calls(str(formula)) == ['LITRES(A1,"(")', "COLD_LITRES(B1,20)"]


def test_what_excel_would_refuse_is_refused_here():
    deep = A
    for _ in range(DEEPEST):
        deep = xl.ABS(deep)
    assert cell_text(deep).startswith("=ABS(")
    with pytest.raises(FormulaError, match="within brackets"):
        cell_text(xl.ABS(deep))
    with pytest.raises(FormulaError, match="characters"):
        cell_text(xl.SUM(*[ref("$AA$1000")] * (LONGEST_FORMULA // 8)))
    for written in ("=IF(A1", "=A1)", '="' + "x" * (LONGEST_TEXT + 1) + '"'):
        with pytest.raises(FormulaError):
            cell_text(written)
    assert cell_text('=")("') == '=")("'
    for number in (float("nan"), float("inf")):
        with pytest.raises(FormulaError):
            part(number)
    with pytest.raises(FormulaError):
        name("A 1")


def _in_the_engine(tmp_path_factory, formula):
    path = tmp_path_factory.mktemp("formula") / "one.xlsx"
    book = Book(path)
    sheet = book.sheet("S", [9])
    sheet.formula(0, 0, formula)
    book.close()
    assert load_workbook(path)["S"]["A1"].value == cell_text(formula)
    loaded = engine.load(path)
    loaded.evaluate_all()
    return loaded.get_value("S", 1, 1)


#: No control characters: a file cannot hold them.
WORDS = st.text(
    st.characters(blacklist_categories=("Cs", "Cc"), max_codepoint=0xFFFD), max_size=700
)


@settings(max_examples=60, deadline=None)
@given(WORDS)
def test_words_of_any_length_come_out_of_the_cell_as_they_went_in(tmp_path_factory, words):
    assert _in_the_engine(tmp_path_factory, text(words)) == words
    pieces = re.findall(r'"((?:[^"]|"")*)"', str(text(words)))
    assert max(map(len, pieces)) <= LONGEST_TEXT


def _both(parts):
    sign, (left, known_left), (right, known_right) = parts
    return {
        "+": lambda: (left + right, known_left + known_right),
        "-": lambda: (left - right, known_left - known_right),
        "*": lambda: (left * right, known_left * known_right),
    }[sign]()


NUMBERS = st.one_of(st.integers(-99, 99), st.floats(-99, 99).map(lambda x: round(x, 3)))
SUMS = st.recursive(
    NUMBERS.map(lambda number: (part(number), number)),
    lambda inner: st.tuples(st.sampled_from("+-*"), inner, inner).map(_both),
    max_leaves=8,
)


@settings(max_examples=60, deadline=None)
@given(SUMS)
def test_a_formula_comes_to_what_python_makes_of_the_same_sum(tmp_path_factory, both):
    formula, known = both
    assert _in_the_engine(tmp_path_factory, formula) == pytest.approx(known, rel=1e-9, abs=1e-9)


def _doses(extra=()):
    return Table(
        "Doses",
        head=2,
        rows=3,
        left=1,
        columns=[
            *extra,
            Input("water", "Water", width=12, choice=["a", "b"], span=2),
            Input("volume", "Volume, hL", width=9, number="share", limits=(0, 9, "A volume")),
            Working("litres", "L", lambda c: call("LITRES", c.volume, "hL"), name="litres"),
            Shown("said", "Litres", lambda c: number_or(c.litres, "see remark"), number="litres"),
        ],
    )


def _written(path, table, data):
    book = Book(path)
    table.write(book.sheet("S", [9] * 12), data)
    book.close()
    return load_workbook(path)


def test_a_column_is_declared_once(tmp_path):
    table = _doses()
    book = _written(tmp_path / "t.xlsx", table, [("a", 2.5)])
    sheet = book["S"]
    assert table.at == {"water": 1, "volume": 3, "said": 4, "litres": 6}
    assert [sheet.cell(3, column).value for column in (2, 4, 5, 7)] == [
        "Water",
        "Volume, hL",
        "Litres",
        "L",
    ]
    assert sheet["G4"].value == '=LITRES(INDEX($D$3:$D$7,ROWS($F$3:$F4)),"hL")'
    assert sheet["E6"].value.count("G6") == 2
    assert (sheet["B4"].value, sheet["D4"].value, sheet["D5"].value) == ("a", 2.5, None)
    assert not sheet["D6"].protection.locked and sheet["E6"].protection.locked
    assert sheet["D4"].number_format == "0.0" and sheet["E4"].number_format == "#,##0"
    assert book.defined_names["Doses_litres"].attr_text == "'S'!$G$4:$G$6"
    assert {str(rule.sqref) for rule in sheet.data_validations.dataValidation} == {"B4:B6", "D4:D6"}
    assert "B4:C4" in map(str, sheet.merged_cells.ranges)
    assert sheet.column_dimensions["G"].outlineLevel == 1


def test_a_new_column_moves_the_others_with_all_that_reads_them(tmp_path):
    table = _doses([Input("batch", "Batch", width=5)])
    sheet = _written(tmp_path / "t.xlsx", table, [("7", "a", 2.5)])["S"]
    assert sheet["H4"].value == '=LITRES(INDEX($E$3:$E$7,ROWS($G$3:$G4)),"hL")'
    assert sheet["E4"].value == 2.5
    assert xl_rowcol_to_cell(table.first, table.at["litres"]) == "H4"


def test_mistakes_in_a_declaration_are_named():
    with pytest.raises(ValueError, match="one key"):
        _doses([Input("volume", "Volume")])
    with pytest.raises(ValueError, match="no name"):
        _doses().named("said")
    table = Table("T", head=0, rows=1, columns=[Shown("a", "A", lambda c: c.nothing + 1)])
    with pytest.raises(AttributeError, match="no column 'nothing'"):
        table.columns["a"].formula(_row(table))


def _row(table):
    from workbook_template.template.table import Row

    return Row(table, table.first)


def test_joined_remarks():
    assert str(joined("a", A, "b")) == '"a"&A1&"b"'
