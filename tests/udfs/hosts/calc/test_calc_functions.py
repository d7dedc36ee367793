"""Every function of the catalogue from cells of the real Calc."""

import math

import pytest

from tests.udfs.samples import samples
from udfs import CATALOGUE, call
from udfs.functions import about
from udfs.hosts.calc.extension import stored_name, wizard_text

BLOCK = 24  # rows that one call may use for its arguments


def letters(column):
    return (letters(column // 26 - 1) if column >= 26 else "") + chr(65 + column % 26)


def laid_out(calls):
    """Rows of cells: the formula in column A and its arguments to the right, wider and taller where
    they are ranges.
    """
    width = max(
        1 + sum(len(value[0]) if isinstance(value, tuple) else 1 for value in arguments)
        for _, arguments in calls
    )
    rows = [[None] * width for _ in range(len(calls) * BLOCK)]
    for number, (name, arguments) in enumerate(calls):
        top, column, references = number * BLOCK, 1, []
        for value in arguments:
            block = value if isinstance(value, tuple) else ((value,),)
            for y, row in enumerate(block):
                rows[top + y][column : column + len(row)] = row
            first, last = (
                f"{letters(column)}{top + 1}",
                f"{letters(column + len(block[0]) - 1)}{top + len(block)}",
            )
            references.append(f"{first}:{last}" if isinstance(value, tuple) else first)
            column += len(block[0])
        rows[top][0] = f"={name}({';'.join(references)})"
    return rows


def same(found, expected):
    if isinstance(expected, float):
        return isinstance(found, (int, float)) and math.isclose(
            found, expected, rel_tol=1e-9, abs_tol=1e-12
        )
    return found == expected


def test_every_function_answers_from_cells_as_it_does_in_python(sheet, monkeypatch):
    sheet.ask("put", 0, "A1:A1", [['=ADDIN_STATUS("host")']])
    monkeypatch.setattr(about, "HOST", sheet.ask("cells", 0, "A1:A1")[0][0])
    calls = [
        (entry.name, arguments) for entry in CATALOGUE.values() for arguments in samples(entry)
    ]
    assert {name for name, _ in calls} == set(CATALOGUE)
    rows = laid_out(calls)
    sheet.ask("put", 0, f"A1:{letters(len(rows[0]) - 1)}{len(rows)}", rows)
    column = [row[0] for row in sheet.ask("cells", 0, f"A1:A{len(calls) * BLOCK}")]
    wrong, numbers = [], set()
    for number, (name, arguments) in enumerate(calls):
        expected, found = call(name, *arguments), column[number * BLOCK]
        if isinstance(expected, tuple):  # a row of cells, of which a plain cell shows the first
            expected = expected[0][0]
        if isinstance(expected, float):
            numbers.add(name)
        if not same(found, expected):
            wrong.append((name, arguments, expected, found))
    assert not wrong
    assert numbers == {entry.name for entry in CATALOGUE.values() if entry.unit}, (
        "a function gave only sentences"
    )


def test_wizard_shows_the_words_of_the_catalogue(sheet):
    found = sheet.ask("described", list(CATALOGUE))
    assert set(found) == set(CATALOGUE)
    for name, entry in CATALOGUE.items():
        assert found[name]["text"] == wizard_text(entry)
        assert found[name]["arguments"] == [[one.name, one.help, True] for one in entry.arguments]


def test_files_get_the_stored_names(sheet):
    sheet.ask("put", 0, "A1:A1", [['=LITRES(1;"US gal")']])
    assert sheet.ask("formulas", 0, "A1:A1") == [[f'={stored_name("LITRES")}(1;"US gal")']]
    assert sheet.ask("shown", 0, "A1")[0] == '=LITRES(1,"US gal")'


@pytest.mark.parametrize(
    "formula, arguments",
    [
        ('=ACID_DOSE(150;7.6;5.7;400;"lactic")', (150.0, 7.6, 5.7, 400.0, "lactic")),
        ('=ACID_DOSE(150;7.6;5.7;400;"lactic";80)', (150.0, 7.6, 5.7, 400.0, "lactic", 80.0)),
        (
            '=ACID_DOSE(150;7.6;5.7;400;"lactic";;;25)',
            (150.0, 7.6, 5.7, 400.0, "lactic", None, None, 25.0),
        ),
        ("=HARDNESS(50)", (50.0,)),
    ],
)
def test_arguments_may_be_left_out(sheet, formula, arguments):
    sheet.ask("put", 0, "A1:A1", [[formula]])
    name = formula[1 : formula.index("(")]
    assert same(sheet.ask("cells", 0, "A1:A1")[0][0], call(name, *arguments))


def test_too_many_arguments_are_calcs_own_error(sheet):
    sheet.ask("put", 0, "A1:A1", [["=HARDNESS(1;2;3)"]])
    assert sheet.ask("cells", 0, "A1:A1") == [[{"error": "Err:504"}]]


def test_ranges_answer_as_array_formulas(sheet):
    sheet.ask("put", 0, "A1:A4", [[10.0], ["x"], [None], [40.0]])
    sheet.ask("array", 0, "B1:B4", "=HARDNESS(A1:A4;5)")
    expected = call("HARDNESS", ((10.0,), ("x",), (None,), (40.0,)), 5.0)
    found = sheet.ask("cells", 0, "B1:B4")
    assert [same(a[0], b[0]) for a, b in zip(found, expected)] == [True] * 4
    assert isinstance(expected[0][0], float) and expected[1][0].startswith("Check calcium")


def test_a_plain_formula_over_a_range_shows_the_first_answer_and_sums_them_all(sheet):
    sheet.ask("put", 0, "A1:A2", [[10.0], [20.0]])
    sheet.ask("put", 0, "B1:B2", [["=HARDNESS(A1:A2;5)"], ["=SUM(HARDNESS(A1:A2;5))"]])
    first, second = call("HARDNESS", 10.0, 5.0), call("HARDNESS", 20.0, 5.0)
    found = sheet.ask("cells", 0, "B1:B2")
    assert same(found[0][0], first) and same(found[1][0], first + second)


def test_answers_work_inside_other_functions(sheet):
    formulas = [
        "=ROUND(HARDNESS(1;2);1)",
        '=IF(HARDNESS(1;2)>3;"hard";"soft")',
        "=HARDNESS(HARDNESS(1;2);2)",
        '=TEXT(HARDNESS(1;2);"0.00")',
        "=ISNUMBER(HARDNESS(1;2))",
        '=ISTEXT(HARDNESS("x";2))',
    ]
    sheet.ask("put", 0, f"A1:A{len(formulas)}", [[formula] for formula in formulas])
    value = call("HARDNESS", 1.0, 2.0)
    found = [row[0] for row in sheet.ask("cells", 0, f"A1:A{len(formulas)}")]
    assert found[:2] == [round(value, 1), "hard"]
    assert same(found[2], call("HARDNESS", value, 2.0))
    assert found[3:] == [f"{value:.2f}", 1.0, 1.0]


@pytest.mark.parametrize(
    "formula, code",
    [
        ("=HARDNESS(NA();2)", "#N/A"),
        ("=HARDNESS(1/0;2)", "#DIV/0!"),
        ("=HARDNESS(B1;2)", "#N/A"),
        ('=HARDNESS(1;"#DIV/0!")', "#DIV/0!"),
        ('=HARDNESS(1;"#N/A")', "#N/A"),
        ('=HARDNESS(1;"#NUM!")', "#NUM!"),
        ('=HARDNESS(1;"#REF!")', "#REF!"),
        ('=HARDNESS(1;"#VALUE!")', "#VALUE!"),
        ("=HARDNESS(B1:B2;2)", "Err:504"),
    ],
)
def test_errors_pass_through(sheet, formula, code):
    sheet.ask("put", 0, "B1:B2", [["=NA()"], [3.0]])
    sheet.ask("put", 0, "A1:A1", [[formula]])
    shown = sheet.ask("shown", 0, "A1")[1]
    assert shown == code


def test_a_blank_cell_counts_as_zero_and_a_blank_in_a_range_as_empty(sheet):
    sheet.ask(
        "put",
        0,
        "A1:A4",
        [
            ["=HARDNESS(B1;2)"],
            ["=HARDNESS(B1:B1;2)"],
            ['=HARDNESS(IF(B1="";"";B1);2)'],
            ["=LITRES(1;B1)"],
        ],
    )
    zero, empty, text, word = (row[0] for row in sheet.ask("cells", 0, "A1:A4"))
    assert same(zero, call("HARDNESS", 0.0, 2.0))
    assert empty == text == call("HARDNESS", None, 2.0)
    assert empty.startswith("Check calcium: the cell is empty")
    assert word == call("LITRES", 1.0, 0.0) and word.startswith("Check unit")


def test_status_names_the_office(sheet):
    sheet.ask("put", 0, "A1:A2", [["=ADDIN_STATUS()"], ['=ADDIN_STATUS("host")']])
    text, host = (row[0] for row in sheet.ask("cells", 0, "A1:A2"))
    assert host.startswith("LibreOffice Calc ")
    assert text.startswith(f"spargesheet {call('ADDIN_STATUS', 'version')} in {host}, Python ")
