"""What a cell gets from the functions of blends, salts and mash: rows, ranges and one sentence for
bad input.
"""

import formualizer
import pytest

from udfs import CATALOGUE, call
from udfs.hosts.engine import register

GRIST = ((80.0, 5.75, 50.0), (None, None, None), (5.0, 4.65, 45.0))
IONS = ((80.0, 10.0, 20.0, 30.0, 40.0),)
NEW = [entry for entry in CATALOGUE.values() if entry.category in ("Blend and salts", "Mash")]


def test_blend_of_columns_passes_over_rows_empty_everywhere():
    litres = ((600.0,), (None,), (400.0,))
    waters = ((80.0, 10.0, 20.0, 30.0, 40.0), (None,) * 5, (0.0,) * 5)
    assert call("BLEND_IONS", litres, waters) == ((48.0, 6.0, 12.0, 18.0, 24.0),)
    assert call("BLEND_ALKALINITY", litres, ((200.0,), ("",), (0.0,))) == pytest.approx(120.0)
    assert call(
        "BLEND_PH", litres, ((200.0,), (None,), (0.0,)), ((7.4,), (None,), (6.5,))
    ) == pytest.approx(7.4, abs=0.05)


def test_one_water_may_stand_in_single_cells():
    assert call("BLEND_ALKALINITY", 600.0, 150.0) == 150.0


def test_a_row_of_cells_is_one_row():
    answer = call("SALT_IONS", "Epsom salt", 100.0, 1000.0)
    assert len(answer) == 1 and len(answer[0]) == CATALOGUE["SALT_IONS"].cells == 5


def test_a_row_of_cells_never_broadcasts():
    assert call("SALT_IONS", "gypsum", ((1.0,), (2.0,)), 10.0) == (
        "Check grams: give one cell, not a range; one answer of SALT_IONS fills a row of 5 cells"
    )
    assert call("SALT_IONS", "gypsum", ((1.0,),), 10.0) == call("SALT_IONS", "gypsum", 1.0, 10.0)


def test_row_in_the_embedded_engine_spills_and_is_indexed():
    book = formualizer.Workbook()
    book.add_sheet("S")
    register(book)
    book.set_formula("S", 1, 1, '=SALT_IONS("gypsum",100,1000)')
    book.set_formula("S", 3, 1, '=INDEX(SALT_IONS("gypsum",100,1000),1,5)')
    book.evaluate_all()
    expected = call("SALT_IONS", "gypsum", 100.0, 1000.0)[0]
    assert [book.get_value("S", 1, column) for column in range(1, 6)] == pytest.approx(expected)
    assert book.get_value("S", 3, 1) == pytest.approx(expected[4])


def test_columns_broadcast_beside_a_grist():
    answer = call(
        "MASH_PH",
        GRIST,
        250.0,
        ((0.0,), (100.0,)),
        IONS,
        ((0.0,), (50.0,)),
        (("lactic",), ("phosphoric",)),
    )
    assert answer[0][0] == pytest.approx(call("MASH_PH", GRIST, 250.0, 0.0, IONS), rel=1e-9)
    assert answer[1][0] == pytest.approx(
        call("MASH_PH", GRIST, 250.0, 100.0, IONS, 50.0, "phosphoric"), rel=1e-9
    )


def test_a_salted_column_says_which_row_is_bad():
    answer = call(
        "PH_AFTER_SALT",
        100.0,
        7.2,
        (("lime",), ("lime",), ("rust",)),
        ((20.0,), (1e5,), (1.0,)),
        1000.0,
    )
    assert answer[0][0] == pytest.approx(
        call("PH_AFTER_SALT", 100.0, 7.2, "lime", 20.0, 1000.0), rel=1e-9
    )
    assert answer[1][0].startswith("Check grams: ")
    assert answer[2][0].startswith("Check salt: ")


BAD = [
    (
        "BLEND_IONS",
        (((1.0,), (2.0,)), ((1.0,) * 5,)),
        "Check waters: it has 1 rows but litres has 2",
    ),
    ("BLEND_IONS", (((1.0,), (2.0,)), ((1.0,) * 4,) * 2), "Check waters: give 5 columns"),
    (
        "BLEND_IONS",
        (((1.0,),), ((1.0, None, 1.0, 1.0, 1.0),)),
        "Check waters: row 1, magnesium: the cell is empty",
    ),
    ("BLEND_ALKALINITY", (((0.0,), (0.0,)), ((1.0,), (2.0,))), "Check litres: all volumes are 0"),
    ("BLEND_ALKALINITY", (((1.0,), (None,)), ((1.0,), (2.0,))), "Check litres: row 2 is empty"),
    (
        "BLEND_ALKALINITY",
        (((1.0, 2.0), (3.0, 4.0)), ((1.0,), (2.0,))),
        "Check litres: the range is 2 rows by 2 columns; give one column",
    ),
    (
        "BLEND_ALKALINITY",
        (((1.0,), (2.0,)), ((1.0,), ("x",))),
        'Check alkalinities: row 2 of the range: "x" is not a number',
    ),
    (
        "BLEND_PH",
        (((1.0,), (1.0,)), ((200.0,), (0.0,)), ((7.4,), (10.0,))),
        "Check phs: pH 10 does not go with",
    ),
    ("BLEND_SHARE", (100.0, 0.0, 150.0), "Check target_alkalinity: 150 is not between"),
    (
        "SALT_IONS",
        ("calcium chloride", 1.0, 1.0),
        'Check salt: "calcium chloride" does not say how much water it holds',
    ),
    ("SALT_IONS", ("gypsum", 1.0, 1.0, 0.5), "Check strength: 0.5 is not above 1 to 100 mass %"),
    (
        "SALT_MASS",
        ("gypsum", "sodium", 10.0, 1.0),
        "Check ion: gypsum brings no sodium; it brings calcium, sulfate",
    ),
    ("SALT_MASS", ("gypsum", "potassium", 10.0, 1.0), "Check ion: "),
    (
        "PH_AFTER_SALT",
        (100.0, 7.2, "gypsum", 100.0, 1.0),
        "Check grams: 100 g in 1 L is more than 20 g/L",
    ),
    (
        "PH_AFTER_SALT",
        (100.0, 7.2, "lime", 10.0, 1.0),
        "Check grams: 10 g of slaked lime in 1 L takes the pH above 13",
    ),
    ("CALCITE_SCALE", (10.0, 11.0), "Check ph: pH 11 does not go with"),
    ("SULFATE_CHLORIDE_RATIO", (100.0, 0.0), "Check chloride: 0 mg/L leaves no ratio"),
    ("MASH_PH", (None, 250.0, 100.0, IONS), "Check grist: the cell is empty"),
    ("MASH_PH", (((0.0, 5.7, 50.0),), 250.0, 100.0, IONS), "Check grist: there is no malt in it"),
    ("MASH_PH", (((5.0, 5.7),), 250.0, 100.0, IONS), "Check grist: give 3 columns"),
    (
        "MASH_PH",
        (((5.0, 9.0, 50.0),), 250.0, 100.0, IONS),
        "Check grist: row 1, pH in demineralised water: 9 is not",
    ),
    ("MASH_PH", (GRIST, 1e6, 100.0, IONS), "Check litres: the mash would be at pH"),
    ("MASH_PH", (GRIST, 250.0, 100.0, IONS, 1e4), "Check acid_ml: the mash would be at pH"),
    (
        "MASH_PH",
        (GRIST, 250.0, 100.0, IONS, 10.0, "citric", 100.0),
        "Check acid: citric acid of 100 % is a powder",
    ),
    (
        "MASH_ACID_DOSE",
        (GRIST, 250.0, 100.0, IONS, 5.9, "lactic"),
        "Check target_ph: 5.9 is above the pH",
    ),
    ("ACID_MALT_MASS", (GRIST, 250.0, 100.0, IONS, 5.2, 0.1), "Check lactic_percent: "),
]


@pytest.mark.parametrize(
    "name, cells, start", BAD, ids=lambda value: value if isinstance(value, str) else ""
)
def test_bad_input_is_one_sentence(name, cells, start):
    answer = call(name, *cells)
    assert isinstance(answer, str) and answer.startswith(start)
    assert "\n" not in answer and "please report" not in answer


@pytest.mark.parametrize(
    "cells", [(((5.0, "#N/A", 50.0),), 250.0, 100.0, IONS), (GRIST, 250.0, "#N/A", IONS)]
)
def test_an_error_comes_back_as_that_error(cells):
    assert call("MASH_PH", *cells) == "#N/A"


def test_a_sentence_in_a_table_comes_back_as_that_sentence():
    assert (
        call("BLEND_ALKALINITY", ((1.0,), (2.0,)), ((100.0,), ("Check ph: 3 is low",)))
        == "Check ph: 3 is low"
    )


@pytest.mark.parametrize("entry", NEW, ids=lambda entry: entry.name)
def test_no_cell_makes_a_function_fail(entry):
    for odd in (
        None,
        "",
        "x",
        True,
        -1.0,
        1e300,
        float("nan"),
        "#REF!",
        (),
        ((),),
        ((1.0,), (2.0, 3.0)),
        ((None,) * 3,),
    ):
        for place in range(len(entry.arguments)):
            cells = [1.0] * len(entry.arguments)
            cells[place] = odd
            answer = call(entry.name, *cells)
            assert "please report" not in str(answer), (entry.name, place, odd, answer)


@pytest.mark.parametrize("entry", NEW, ids=lambda entry: entry.name)
def test_words_fit_a_function_wizard(entry):
    assert len(entry.description) <= 255 and entry.source
    assert all(0 < len(argument.help) <= 255 for argument in entry.arguments)
