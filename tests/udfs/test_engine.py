"""The embedded engine gives what the one door gives."""

import formualizer
import pytest

from tests.udfs.samples import alike, samples
from udfs import CATALOGUE, call
from udfs.hosts import engine

SHEET = "Sheet1"


def new_book():
    book = formualizer.Workbook()
    book.add_sheet(SHEET)
    engine.register(book)
    return book


def put(book, row, column, cells):
    """Write cells from a place on; their address as a formula names it."""
    for i, line in enumerate(cells):
        for j, cell in enumerate(line):
            if cell is not None:
                book.set_value(SHEET, row + i, column + j, cell)
    first, last = (
        f"{letters(c)}{r}"
        for r, c in ((row, column), (row + len(cells) - 1, column + len(cells[0]) - 1))
    )
    return first if first == last else f"{first}:{last}"


def letters(column):
    name = ""
    while column:
        column, rest = divmod(column - 1, 26)
        name = chr(ord("A") + rest) + name
    return name


def ask(name, *arguments):
    """The answer of a formula whose arguments stand in cells, as the engine shows it."""
    book = new_book()
    places, column = [], 30
    for argument in arguments:
        cells = argument if isinstance(argument, tuple) else ((argument,),)
        places.append(put(book, 1, column, cells))
        column += len(cells[0]) + 1
    book.set_formula(SHEET, 1, 1, f"={name}({','.join(places)})")
    book.evaluate_all()
    return book


def shown(book, row=1, column=1):
    return book.get_value(SHEET, row, column)


@pytest.mark.parametrize("number", range(3))
@pytest.mark.parametrize("entry", CATALOGUE.values(), ids=CATALOGUE.keys())
def test_same_answer_as_the_one_door(entry, number):
    arguments = samples(entry)[number]
    book = ask(
        entry.name, *arguments
    )  # first, since ADDIN_STATUS says where the functions are asked
    expected = call(entry.name, *arguments)
    cells = expected if isinstance(expected, tuple) else ((expected,),)
    found = tuple(
        tuple(shown(book, 1 + i, 1 + j) for j in range(len(line))) for i, line in enumerate(cells)
    )
    assert alike(found, cells, 1e-9)


@pytest.mark.parametrize(
    "formula, kind",
    [
        ("=NA()", "Na"),
        ("=1/0", "Div"),
        ("=NOSUCHFUNCTION(1)", "Name"),
        ('=VALUE("x")', "Value"),
        ("=SQRT(-1)", "Num"),
    ],
)
def test_errors_pass_through(formula, kind):
    book = new_book()
    book.set_formula(SHEET, 1, 2, formula)
    book.set_formula(SHEET, 1, 1, "=HARDNESS(B1,10)")
    book.evaluate_all()
    assert shown(book)["type"] == "Error" and shown(book)["kind"] == kind


def test_bad_input_is_a_sentence():
    assert shown(ask("HARDNESS", "7,2", 10.0)) == call("HARDNESS", "7,2", 10.0)
    assert shown(ask("HARDNESS", None, 10.0)) == call("HARDNESS", None, 10.0)
    assert shown(ask("HARDNESS", True, 10.0)) == call("HARDNESS", True, 10.0)
    assert shown(ask("HARDNESS", 1.0, 2.0)) == call("HARDNESS", 1.0, 2.0)


def test_blank_optional_cells_mean_the_default():
    arguments = (150.0, 7.6, 5.7, 1500.0, "phosphoric")
    blank = shown(ask("ACID_DOSE", *arguments, None, ((None,) * 5,), None, None))
    assert alike(blank, call("ACID_DOSE", *arguments), 1e-9)


def test_a_range_answer_spills():
    alkalinity = ((150.0,), (100.0,), (None,), ("x",))
    expected = call("ACID_DOSE", alkalinity, 7.6, 5.7, 1500.0, "phosphoric")
    book = ask("ACID_DOSE", alkalinity, 7.6, 5.7, 1500.0, "phosphoric")
    assert alike(tuple((shown(book, row, 1),) for row in range(1, 5)), expected, 1e-9)


def test_a_workbook_file_is_loaded_with_the_functions(tmp_path):
    import xlsxwriter

    with xlsxwriter.Workbook(tmp_path / "book.xlsx") as book:
        sheet = book.add_worksheet(SHEET)
        sheet.write_row(0, 0, [60.0, 10.0])
        sheet.write_formula(0, 2, "=HARDNESS(A1,B1)")
        sheet.write_formula(0, 3, '=ROUND(C1,0)&" mg/L"')
    loaded = engine.load(tmp_path / "book.xlsx")
    loaded.evaluate_all()
    assert alike(shown(loaded, 1, 3), call("HARDNESS", 60.0, 10.0), 1e-9)
    assert shown(loaded, 1, 4) == "191 mg/L"
