"""Catalogue functions in formula text in every stored form; copies of formulas; names and tables
spelled out.
"""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.formula.translate import Translator

from tests.workbook_template.travelling import plan
from udfs import CATALOGUE
from workbook_template.travel.calls import without_underscores
from workbook_template.travel.expressions import of_texts
from workbook_template.travel.formulas import calls, links, plain
from workbook_template.travel.ooxml.addresses import address, block, column_letters, column_number
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.spelling import Speller
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.travel.ooxml.tokens import corners, moved, tokens


@pytest.mark.parametrize(
    "formula, found",
    [
        ("ACID_DOSE(A1,B1)", ["ACID_DOSE"]),
        ("acid_dose (A1)", ["ACID_DOSE"]),
        ("[1]!ACID_DOSE(A1)", ["ACID_DOSE"]),
        ("[1]!'ACID_DOSE'(A1)", ["ACID_DOSE"]),
        (r"'C:\add ins\it''s.xlam'!ACID_DOSE(A1)", ["ACID_DOSE"]),
        ("tools.xlam!ACID_DOSE(A1)", ["ACID_DOSE"]),
        (
            "_xll.ACID_DOSE(1)+_xludf.ACID_DOSE(1)+_xldudf_ACID_DOSE(1)+_xlfn.ACID_DOSE(1)",
            ["ACID_DOSE"] * 4,
        ),
        ("_xlfn._xludf.ACID_DOSE(1)", ["ACID_DOSE"]),
        ("ORG.SPARGESHEET.FUNCTIONS.ACIDDOSE(A1)", ["ACID_DOSE"]),
        ("org.spargesheet.functions.acid_dose(A1)", ["ACID_DOSE"]),
        ('IF(A1>0,PH_AFTER_ACID(A1,ACID_DOSE(A1)),"")', ["PH_AFTER_ACID", "ACID_DOSE"]),
        ('"ACID_DOSE(1)"&A1', []),
        ("org.spargesheet.functions.acid_dose(A1)", ["ACID_DOSE"]),
        ("'ACID_DOSE'(A1)", ["ACID_DOSE"]),
        ("other.ACID_DOSE(A1)+OTHER.LITRES(1)+ORG.EXAMPLE.X.LITRES(1)", []),
        ("'ACID_DOSE(1)'!A1+1", []),
        ("T[ACID_DOSE(1)]", []),
        ("MY_ACID_DOSE(1)+ACID_DOSES(1)+ACIDDOSE(1)+ACID_DOSE", []),
        ("SUM(A1:A3)", []),
    ],
)
def test_calls_in_every_stored_form(formula, found):
    assert calls(formula) == found


def test_names_without_underscores_stay_unique():
    assert len(without_underscores()) == len(CATALOGUE)


@pytest.mark.parametrize(
    "formula, expected",
    [
        (
            r"1+'C:\Users\somebody\x.xlam'!ACID_DOSE(A1,'My Sheet'!B1)",
            "1+ACID_DOSE(A1,'My Sheet'!B1)",
        ),
        ("[1]!'ACID_DOSE'(A1)", "ACID_DOSE(A1)"),
        ("_xll.ACID_DOSE(1)", "ACID_DOSE(1)"),
        ("ORG.SPARGESHEET.FUNCTIONS.ACIDDOSE(1)", "ORG.SPARGESHEET.FUNCTIONS.ACIDDOSE(1)"),
        ("[1]Sheet1!A1", "[1]Sheet1!A1"),
    ],
)
def test_the_way_to_an_add_in_is_taken_off(formula, expected):
    assert plain(formula) == expected


def test_links_are_told_from_calls_of_the_add_in():
    assert links("[1]Sheet1!A1+1") and links(r"'C:\x\[b.xlsx]S'!A1") and links("[2]!OTHER(1)")
    assert (
        not links("[1]!ACID_DOSE(A1)")
        and not links("Sheet1!A1")
        and not links("T[Column]")
        and not links('"[1]S!A1"')
    )


#: Pieces that formulas are made of, well and badly.
PIECES = st.sampled_from(
    [
        "ACID_DOSE(",
        "acid_dose (",
        "[1]!",
        "'C:\\x.xlam'!",
        "_xll.",
        "ORG.SPARGESHEET.FUNCTIONS.ACIDDOSE(",
        "SUM(",
        ")",
        "(",
        ",",
        "+",
        "-",
        "A1",
        "$B$2:C3",
        "Sheet1!",
        "'My ''Sheet'!",
        '"text"',
        '"',
        "'",
        "[",
        "]",
        "T[[#This Row],[a]]",
        "@",
        "#REF!",
        "#",
        "1.5E+3",
        "{1,2;3}",
        "A:A",
        "$1:2",
        " ",
        "\n",
        "é",
        "\\x",
        "!",
        ":",
        "[1]S!A1",
        "Rate",
        "_xlfn.",
        "'",
        "&lt;",
        "0",
        "%",
    ]
)


@settings(max_examples=5_000, deadline=None)
@given(st.one_of(st.lists(PIECES, max_size=12).map("".join), st.text(max_size=30)))
def test_any_text_is_read_without_loss(text):
    pieces = list(tokens(text))
    assert "".join(piece.text for piece in pieces) == text
    for name in calls(text):
        assert name in CATALOGUE
    plain(text)
    assert moved(text, 0, 0) == text
    moved(text, 3, -2)
    links(text)


@pytest.mark.parametrize(
    "piece",
    [
        "'",
        "'a",
        "[",
        "a:",
        '"',
        "a.",
        "A1:",
        "$",
        "[a]",
        "''!",
        "1:",
        "\\",
        "a'",
        "[a",
        "A1 ",
        "ACID_DOSE(",
        "(",
        "_xll.",
        "[1]!",
    ],
)
def test_time_is_in_proportion_to_the_length(piece):
    """Each piece 8,192 characters long; work that grows with the square would take minutes, and a
    hang fails the run.
    """
    text = piece * (8_192 // len(piece))
    assert "".join(token.text for token in tokens(text)) == text
    calls("ACID_DOSE(" + text)


@settings(max_examples=300, deadline=None)
@given(
    st.lists(
        st.sampled_from(
            ["A1", "$B2", "C$3", "$D$4", "A1:B$2", "'My Sheet'!C5", "SUM(E5:F6)", "1", '"A1"']
        ),
        min_size=1,
        max_size=6,
    ),
    st.integers(0, 50),
    st.integers(0, 20),
)
def test_copies_read_as_openpyxl_translates_them(pieces, rows, columns):
    formula = "+".join(pieces)
    expected = Translator("=" + formula, origin="A1").translate_formula(
        address(1 + rows, 1 + columns)
    )[1:]
    assert moved(formula, rows, columns) == expected


@pytest.mark.parametrize("name", ["A0", "V0", "XYZ1", "ABC9999999", "XFE5"])
def test_names_that_look_like_cells_beyond_the_sheet_are_names(name):
    assert [token.kind for token in tokens(name)] == ["name"]
    assert moved(f"{name}+A1", 1, 1) == f"{name}+B2"


def test_the_workbook_itself_is_no_other_workbook():
    assert not links("[0]!Rate+'[0]My Sheet'!A1") and links("[1]!Rate")


def test_addresses():
    assert [column_letters(number) for number in (1, 26, 27, 702, 703, 16_384)] == [
        "A",
        "Z",
        "AA",
        "ZZ",
        "AAA",
        "XFD",
    ]
    assert all(column_number(column_letters(number)) == number for number in range(1, 16_385))
    assert (
        block("B7:C9") == (7, 2, 9, 3)
        and corners("$C$3:A1") == (1, 1, 3, 3)
        and corners("B:A")[1::2] == (1, 2)
    )


def test_names_and_table_references_become_addresses(tmp_path):
    def extra(book, sheet):
        columns = [{"header": name} for name in ("Litres", "pH [now]", "c")]
        sheet.add_table("J1:L4", {"name": "Doses", "columns": columns})
        book.define_name("Rate", "=Plan!$A$1")
        book.define_name("Plan!Local", "=Rate*2")
        book.define_name("Left", "=Plan!A1")
        book.define_name("Twice", "=Plan!$A$1")
        book.define_name("Plan!Twice", "=Plan!$B$1")

    book = StoredBook(Package.read(plan(tmp_path / "t.xlsx", 1, extra, settled=False)))
    spelled = Speller(book).spelled
    assert spelled("Rate+Local", "Plan", 3, 3) == "Plan!$A$1+(Plan!$A$1*2)"
    assert spelled("Left", "Plan", 3, 3) == "Plan!C3"
    assert spelled("Twice+[0]!Twice+Plan!Twice", "Plan", 3, 3) == "Plan!$B$1+Plan!$A$1+Plan!$B$1"
    assert spelled('SUM(Doses[Litres])&"Rate"', "Plan", 9, 1) == 'SUM(Plan!J2:J4)&"Rate"'
    assert spelled("Doses[[#This Row],[pH '[now']]]", "Plan", 3, 1) == "Plan!K3"
    assert spelled("[@Litres]+Doses[@[Litres]]", "Plan", 3, 11) == "Plan!J3+Plan!J3"
    assert (
        spelled("SUM(Doses[[Litres]:[c]],Doses[#All],Doses)", "Plan", 9, 1)
        == "SUM(Plan!J2:L4,Plan!J1:L4,Plan!J2:L4)"
    )
    assert spelled("Doses[Nothing]", "Plan", 9, 1) == "Doses[Nothing]"
    assert spelled("Doses[@Litres]", "Plan", 9, 1) == "Doses[@Litres]"


@pytest.mark.parametrize(
    ("rows", "area"),
    [
        ("[#Headers],[#Data]", "K1:K4"),
        ("[#Data],[#Totals]", "K2:K5"),
        ("[#Totals],[#Data]", "K2:K5"),
        ("[#Data]", "K2:K4"),
        ("[#All]", "K1:K5"),
        ("[#Totals]", "K5"),
        ("[#Headers],[#Totals]", None),
        ("[#This Row],[#Totals]", None),
        ("[#Elsewhere]", None),
    ],
)
def test_rows_of_a_table_that_are_named_together_are_read_together(tmp_path, rows, area):
    def extra(_, sheet):
        columns = [{"header": "ml"}, {"header": "#, no'"}]
        sheet.add_table("J1:K5", {"name": "T", "columns": columns, "total_row": True})

    book = StoredBook(Package.read(plan(tmp_path / "t.xlsx", 1, extra, settled=False)))
    text = f"T[{rows},['#, no'']]"
    spelled = Speller(book).spelled(text, "Plan", 3, 1)
    assert spelled == (f"Plan!{area}" if area else text)


_PIECES = st.sampled_from(
    [
        "A1",
        "$B$2",
        "AB12:$C9",
        "'It''s A1'!A1",
        "A1!B2",
        '"A1 to B2"',
        "A0",
        "XYZ1",
        "LOG10(",
        "A1 (",
        ")",
        "[A1]",
    ]
    + [
        "#REF!",
        "#",
        "Plan!C3",
        "[1]B!C4",
        "1E5",
        ":",
        ",",
        "+",
        " ",
        "x?A1",
        "T[A1]",
        "'",
        "\0",
        "A:C",
        "ACID_DOSE(",
    ]
)


@given(
    st.lists(_PIECES, max_size=9), st.lists(st.sampled_from(["D7", "$E$8", "F1:G2"]), min_size=2)
)
@settings(max_examples=400, deadline=None)
def test_a_formula_like_one_before_is_taken_apart_as_if_it_were_the_first(pieces, references):
    for reference in references:
        text = "".join(pieces).replace("A1", reference) + f"+{reference})"
        found = tokens(text)
        alone = tokens(text + " " * 2_000)[: len(found)]  # a long one is not compared with others
        last = alone[-1]._replace(text=alone[-1].text.rstrip(), core=alone[-1].core.rstrip())
        assert found == (*alone[:-1], last)


@pytest.mark.parametrize(
    ("formula", "expected"),
    [
        ("LEFT(A1,2)", 'LEFT((A1)&"",2)'),
        (
            'IF(right( A1=B1 )="E",LEFT(LEFT(A1,3)),1)',
            'IF(right(( A1=B1 )&"")="E",LEFT((LEFT((A1)&"",3))&""),1)',
        ),
        ("LEFT()", "LEFT()"),
        ("LEFT(A1", "LEFT(A1"),
        ('"LEFT(A1)"&B1', '"LEFT(A1)"&B1'),
        ("MYLEFT(A1)", "MYLEFT(A1)"),
        ("TEXTLEFT+1", "TEXTLEFT+1"),
        ('"a"&TEXT(A1,"0.0")', '"a"&IFERROR(TEXT(A1,"0.0"),A1)'),
        (
            'TEXT(LEFT(A1,2),"0")&text(TEXT(B1,"0"),"0%")',
            'IFERROR(TEXT(LEFT((A1)&"",2),"0"),LEFT((A1)&"",2))'
            '&IFERROR(text(IFERROR(TEXT(B1,"0"),B1),"0%"),IFERROR(TEXT(B1,"0"),B1))',
        ),
    ],
)
def test_what_left_right_and_text_take_is_a_text_as_in_the_programs(formula, expected):
    assert of_texts(formula) == expected
