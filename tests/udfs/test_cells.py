"""What stands in cells, and what is said about it."""

import datetime
import decimal

import pytest

from tests.udfs.samples import alike
from udfs import CATALOGUE, ERRORS, call
from udfs.catalogue import Function

WATER = (150.0, 7.6, 5.7, 1500.0, "phosphoric", 85.0)
IONS = (60.0, 10.0, 20.0, 30.0, 60.0)
DOSE = call("ACID_DOSE", *WATER)
WANTED = "type a number, 0 to 2000 mg/L as CaCO3"


def column(*cells):
    return tuple((cell,) for cell in cells)


def dose(**cells):
    """ACID_DOSE with some cells other than usual."""
    usual = {
        "alkalinity": 150.0,
        "ph": 7.6,
        "target_ph": 5.7,
        "litres": 1500.0,
        "acid": "phosphoric",
        "strength": 85.0,
        "ions": None,
        "temp_c": 20.0,
        "co2_lost": 0.0,
    }
    return call("ACID_DOSE", *{**usual, **cells}.values())


@pytest.mark.parametrize(
    "cell, reason",
    [
        (None, f"the cell is empty; {WANTED}"),
        ("", f"the cell is empty; {WANTED}"),
        ("   ", f"the cell is empty; {WANTED}"),
        (
            "7,2",
            (
                '"7,2" is text, not a number; type it as a number with the decimal sign of your'
                " spreadsheet"
            ),
        ),
        (
            "-7.2",
            (
                '"-7.2" is text, not a number; type it as a number with the decimal sign of your'
                " spreadsheet"
            ),
        ),
        ("high", f'"high" is not a number; {WANTED}'),
        pytest.param("x" * 30000, f'"{"x" * 40}" is not a number; {WANTED}', id="long text"),
        (True, f"TRUE is not a number; {WANTED}"),
        (False, f"FALSE is not a number; {WANTED}"),
        (float("nan"), f"the cell holds no finite number; {WANTED}"),
        (float("-inf"), f"the cell holds no finite number; {WANTED}"),
        pytest.param(10**400, f"the number is far too large; {WANTED}", id="400 digits"),
        pytest.param(10**5000, f"the number is far too large; {WANTED}", id="5000 digits"),
        (1e300, "1e+300 is not 0 to 2000 mg/L as CaCO3"),
        (-1, "-1 is not 0 to 2000 mg/L as CaCO3"),
        (2000.5, "2000.5 is not 0 to 2000 mg/L as CaCO3"),
        (datetime.date(2024, 5, 1), f"a date is not a number; {WANTED}"),
        (datetime.datetime(2024, 5, 1, 8), f"a date is not a number; {WANTED}"),
        (datetime.timedelta(1), f'"1 day, 0:00:00" is not a number; {WANTED}'),
    ],
)
def test_a_cell_that_is_no_number(cell, reason):
    sentence = f"Check alkalinity: {reason}"
    assert dose(alkalinity=cell) == sentence
    assert dose(alkalinity=column(150.0, cell)) == column(DOSE, sentence)


@pytest.mark.parametrize("cell", [150, 150.0, decimal.Decimal(150)])
def test_whole_numbers_and_currency_count_as_numbers(cell):
    assert dose(alkalinity=cell) == DOSE
    assert dose(alkalinity=column(cell, cell)) == column(DOSE, DOSE)


def test_a_ph_reads_as_a_ph():
    assert dose(ph=12.0) == "Check ph: 12 is not pH 4 to 11"
    assert (
        dose(target_ph=8.2)
        == "Check target_ph: 8.2 is above the water's pH 7.6; acid only lowers pH"
    )


@pytest.mark.parametrize("cell", [0.85, 0.1, 1.0, 0.0])
def test_a_fraction_is_hinted_at(cell):
    sentence = dose(strength=cell)
    assert sentence.startswith(f"Check strength: {cell:g} is not ")
    assert "a cell formatted as % holds a fraction (0.85 for 85 %)" in sentence
    assert dose(strength=column(85.0, cell))[1][0] == sentence


def test_a_range_that_excludes_its_low_end_says_so():
    assert dose(strength=1.0).startswith("Check strength: 1 is not above 1 to 100 mass %; ")


@pytest.mark.parametrize(
    "acid, strength", [("citric", 5.0), ("phosphoric", 9.0), ("sulfuric", 4.0), ("lactic", 1.0001)]
)
def test_cautions_of_a_weak_acid_name_its_class_or_say_that_it_has_none(acid, strength):
    text = call("ACID_CAUTIONS", acid, strength)
    assert "none" not in text
    assert ("(GHS/CLP)" in text) == (acid == "lactic")
    assert (
        acid == "lactic"
        or f"acid {strength:g} %: not classified at this strength, still an acid. Wear" in text
    )


def test_a_strength_that_is_not_sold():
    assert (
        dose(acid="hydrochloric", strength=60.0)
        == "Check strength: 60 % is outside the range of hydrochloric acid, 1 to 40 mass %; read it"
        " off the label"
    )


def test_a_powder_is_weighed():
    hint = "Check acid: citric acid of 100 % is a powder, which is weighed; use ACID_DOSE_MASS"
    assert dose(acid="citric", strength=None) == hint
    assert dose(acid="citric", strength=100.0) == hint
    assert dose(acid=column("phosphoric", "citric"), strength=None) == column(DOSE, hint)
    assert isinstance(call("ACID_DOSE_MASS", 150.0, 7.6, 5.7, 1500.0, "citric"), float)


@pytest.mark.parametrize(
    "cell, sentence",
    [
        (
            "vinegar",
            (
                'Check acid: "vinegar" is not an acid known here; use one of phosphoric, lactic,'
                " hydrochloric, sulfuric, citric, acetic, malic"
            ),
        ),
        (
            85.0,
            (
                "Check acid: 85 is not a name; type one of phosphoric, lactic, hydrochloric,"
                " sulfuric, citric, acetic, malic"
            ),
        ),
        (
            True,
            (
                "Check acid: TRUE is not a name; type one of phosphoric, lactic, hydrochloric,"
                " sulfuric, citric, acetic, malic"
            ),
        ),
        (
            None,
            (
                "Check acid: the cell is empty; type one of phosphoric, lactic, hydrochloric,"
                " sulfuric, citric, acetic, malic"
            ),
        ),
        pytest.param(
            "y" * 30000,
            f'Check acid: "{"y" * 40} ..." is not a name; type one of phosphoric, lactic,'
            " hydrochloric, sulfuric, citric, acetic, malic",
            id="long text",
        ),
    ],
)
def test_an_acid_that_is_none(cell, sentence):
    assert dose(acid=cell) == sentence
    assert dose(acid=column("phosphoric", cell)) == column(DOSE, sentence)


@pytest.mark.parametrize("name", ["phosphoric", "Phosphoric acid", "H3PO4", "  h3po4 "])
def test_an_acid_by_any_of_its_names(name):
    assert dose(acid=name) == DOSE


@pytest.mark.parametrize(
    ("unit", "whose"), [("gal", "US gal, imp gal"), ("BBL", "US bbl, imp bbl")]
)
def test_a_unit_that_does_not_say_whose(unit, whose):
    assert (
        call("LITRES", 10.0, unit) == f'Check unit: "{unit}" does not say whose; use one of {whose}'
    )


@pytest.mark.parametrize("unit", ["barrel", "litre per hour"])
def test_a_unit_that_is_none(unit):
    assert call("LITRES", 10.0, unit).startswith(
        f'Check unit: "{unit}" is not a unit of volume here; use one of L, mL'
    )


def test_an_unknown_function():
    assert call("ACID_DOES", 1.0) == "Check name: ACID_DOES is not a function of this add-in"
    assert call("acid_dose", *WATER) == DOSE
    assert call("FUNCTION_SOURCE", "ACID_DOES").startswith(
        'Check name: "ACID_DOES" is not a function of this add-in'
    )


def test_too_many_and_too_few_arguments():
    assert (
        call("HARDNESS", 1.0, 2.0, 3.0) == "Check arguments: HARDNESS takes at most 2, 3 are given"
    )
    assert (
        call("HARDNESS", 1.0) == "Check magnesium: the cell is empty; type a number, 0 to 2000 mg/L"
    )
    assert call("HARDNESS") == "Check calcium: the cell is empty; type a number, 0 to 4000 mg/L"


@pytest.mark.parametrize("code", ERRORS)
def test_an_error_comes_back_before_all_else(code):
    assert dose(ph=code) == code
    assert dose(acid=code) == code
    assert dose(ions=code) == code
    assert dose(alkalinity="nonsense", co2_lost=code) == code
    assert dose(ions=((60.0, None, code, 1.0, 2.0),)) == code
    assert call("FUNCTION_SOURCE", code) == code
    assert dose(ph=column(7.6, code)) == column(DOSE, code)
    assert dose(alkalinity=column(150.0, 100.0), ph=code) == column(code, code)


def test_the_sentence_of_an_inner_formula_comes_back():
    inner = call("LITRES", "many", "L")
    assert dose(litres=inner) == inner
    assert dose(litres=column(1500.0, inner)) == column(DOSE, inner)
    assert dose(litres=inner, ph="#N/A") == "#N/A"


def test_empty_optional_cells_mean_the_default():
    assert call("ACID_DOSE", *WATER[:5]) == DOSE
    assert dose(strength=None, ions=None, temp_c=None, co2_lost=None) == DOSE
    assert dose(strength="", ions=" ", temp_c="", co2_lost="") == DOSE
    assert dose(
        strength=column(None, 85.0, "", 75.0), temp_c=column(20.0, "", None, None)
    ) == column(DOSE, DOSE, DOSE, dose(strength=75.0))
    assert call("CALCIUM_SOLUBILITY", 6.0, 190.0, column(None, "hydroxyapatite")) == column(
        *[call("CALCIUM_SOLUBILITY", 6.0, 190.0)] * 2
    )


def test_calcium_without_a_limit_in_practice_accuses_no_input():
    least = call("CALCIUM_SOLUBILITY", 6.0, 190.0)
    assert call("CALCIUM_SOLUBILITY", 3.0, 190.0) == "no limit in practice"
    assert call("CALCIUM_SOLUBILITY", column(6.0, 3.0, "#N/A"), 190.0) == column(
        pytest.approx(least, rel=1e-12), "no limit in practice", "#N/A"
    )


def test_a_range_of_one_cell_is_that_cell():
    assert call("ACID_DOSE", *(((cell,),) for cell in WATER)) == DOSE
    assert dose(alkalinity=((None,),)).startswith("Check alkalinity: the cell is empty")


def test_lists_count_as_ranges():
    assert dose(alkalinity=[[150.0], [100.0]]) == dose(alkalinity=column(150.0, 100.0))


def test_the_answer_has_the_shape_of_the_ranges():
    row, block = ((150.0, 100.0, 50.0),), ((150.0, 100.0), (50.0, 20.0), (10.0, 5.0))
    for cells in (row, block, column(*row[0])):
        answer = dose(alkalinity=cells)
        assert alike(
            answer, tuple(tuple(dose(alkalinity=one) for one in line) for line in cells), 1e-12
        )
    both = dose(alkalinity=block, target_ph=((5.5, 5.6), (5.7, 5.8), (5.9, 6.0)))
    assert alike(both[2][1], dose(alkalinity=5.0, target_ph=6.0), 1e-12)


def test_ranges_that_do_not_go_together():
    assert (
        dose(alkalinity=column(150.0, 100.0), ph=((7.6, 7.5),))
        == "Check ph: its range is 1 by 2 cells (rows by columns) but the range of alkalinity is 2"
        " by 1 cells; give both the same shape"
    )
    assert (
        dose(alkalinity=((150.0, 100.0), (50.0,)))
        == "Check alkalinity: the range has rows of unlike length"
    )
    for empty in ((), ((),), ((), ())):
        assert dose(alkalinity=empty) == "Check alkalinity: the range is empty"
        assert dose(ions=empty) == "Check ions: the range is empty"


def test_a_column_may_mix_acids():
    names = ("phosphoric", "LACTIC", "HCl", "lactic", "citric", None, "sulphuric acid")
    answers = dose(alkalinity=column(*[150.0] * 7), acid=column(*names), strength=None)
    assert answers == column(*(dose(acid=name, strength=None) for name in names))


def test_text_answers_take_ranges():
    answer = call("ACID_CAUTIONS", column("lactic", "citric", "vinegar"), column(88.0, None, 10.0))
    assert answer[0][0] == call("ACID_CAUTIONS", "lactic", 88.0)
    assert answer[1][0] == call("ACID_CAUTIONS", "citric")
    assert answer[2][0].startswith('Check acid: "vinegar"')


def test_ions_as_a_row_or_a_column_of_five():
    as_row = dose(ions=(IONS,))
    assert isinstance(as_row, float) and as_row != DOSE
    assert dose(ions=column(*IONS)) == as_row
    assert alike(
        dose(ions=column(*IONS), alkalinity=column(*[150.0] * 5)), column(*[as_row] * 5), 1e-12
    )


def test_ions_with_a_row_for_each_row():
    rows = (
        IONS,
        (20.0, 5.0, 10.0, 15.0, 30.0),
        (None, "", None, None, None),
        (60.0, None, 20.0, 30.0, 60.0),
        IONS,
    )
    missing = "Check ions: the magnesium cell is empty; type 0 where there is none"
    answer = dose(ions=rows, alkalinity=column(150.0, 100.0, 150.0, 150.0, 80.0))
    assert alike(
        answer,
        column(
            dose(ions=rows[:1]),
            dose(ions=rows[1:2], alkalinity=100.0),
            DOSE,
            missing,
            dose(ions=rows[:1], alkalinity=80.0),
        ),
        1e-12,
    )
    assert alike(dose(ions=(IONS, IONS)), column(*[dose(ions=(IONS,))] * 2), 1e-12)


@pytest.mark.parametrize(
    "ions", [5.0, "Ca 60", True, ((1.0, 2.0, 3.0),), column(1.0, 2.0), ((1.0,) * 4, (1.0,) * 4)]
)
def test_ions_that_are_not_five(ions):
    assert dose(ions=ions).startswith(
        "Check ions: give one range of five cells (calcium, magnesium, sodium, chloride, "
    )


@pytest.mark.parametrize(
    "ions, sentence",
    [
        (
            (60.0, "x", 20.0, 30.0, 60.0),
            'Check ions: "x" is not a number; type the magnesium, 0 to 20000 mg/L',
        ),
        ((60.0, 10.0, 20.0, -1.0, 60.0), "Check ions: -1 is not 0 to 20000 mg/L"),
        (
            (60.0, 10.0, 20.0, True, 60.0),
            "Check ions: TRUE is not a number; type the chloride, 0 to 20000 mg/L",
        ),
    ],
)
def test_ions_of_which_one_is_wrong(ions, sentence):
    assert dose(ions=(ions,)) == sentence
    assert dose(ions=(IONS, ions), alkalinity=column(150.0, 150.0))[1][0] == sentence


def test_ions_must_have_the_rows_of_the_others():
    assert (
        dose(ions=(IONS,) * 3, alkalinity=column(150.0, 100.0))
        == "Check ions: it has 3 rows but the range of alkalinity is 2 by 1 cells; give five ions"
        " in a row for each row of it"
    )


def test_ions_where_they_are_required():
    for blank in (None, "", ((None,) * 5,), column(*[""] * 5)):
        assert call("ION_BALANCE", blank, 150.0, 7.5).startswith(
            "Check ions: the cell is empty; give one range of five"
        )
    assert call("ION_BALANCE", (IONS, (None,) * 5), 150.0, 7.5)[1][0].startswith(
        "Check ions: the cell is empty"
    )


def test_a_clean_column_is_one_call_of_the_function(monkeypatch):
    calls = []
    entry = CATALOGUE["ACID_DOSE"]
    counting = Function.__new__(Function)
    counting.__dict__.update(entry.__dict__)
    counting.body = lambda *values: (calls.append(1), entry.body(*values))[1]
    monkeypatch.setitem(CATALOGUE, "ACID_DOSE", counting)
    n = 200
    answer = dose(
        alkalinity=column(*[100.0 + i for i in range(n)]),
        acid=column(*["lactic"] * n),
        strength=None,
        ions=(IONS,) * n,
        temp_c=column(*[20.0] * n),
    )
    assert len(answer) == n and len(calls) == 1
    dose(
        alkalinity=column(*[100.0] * n),
        acid=column(*["lactic", "HCl"] * (n // 2)),
        strength=column(*[None, 30.0] * (n // 2)),
    )
    assert len(calls) == 3


def test_a_fault_in_a_function_is_a_sentence(monkeypatch):
    def broken(*values):
        raise ZeroDivisionError

    entry = CATALOGUE["HARDNESS"]
    faulty = Function.__new__(Function)
    faulty.__dict__.update(entry.__dict__)
    faulty.body = broken
    monkeypatch.setitem(CATALOGUE, "HARDNESS", faulty)
    sentence = (
        "Check arguments: HARDNESS cannot work with them (ZeroDivisionError); please report this"
        " case"
    )
    assert call("HARDNESS", 1.0, 2.0) == sentence
    assert call("HARDNESS", column(1.0, 2.0), 2.0) == column(sentence, sentence)
