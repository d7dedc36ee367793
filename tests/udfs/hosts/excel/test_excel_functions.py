"""The functions as Excel gets them, through xlwings' own decorators, import and calls."""

import re
from datetime import datetime
from decimal import Decimal
from itertools import cycle

import pytest

from tests.udfs.hosts.excel.excel_samples import blanked, has_answer, sample
from tests.udfs.hosts.excel.xlwings_standins import ERROR_NUMBERS, MISSING, Cells, refusal
from udfs import CATALOGUE, ERRORS, call
from udfs.arguments import Block, IonCells, Quantity
from udfs.catalogue import HELP_LENGTH

MODULE = "udfs.hosts.excel.functions"
NAMES = sorted(CATALOGUE)

#: Reserved words of VBA ([MS-VBAL] 3.3.5.2), plus the names that xlwings' wrapper uses in each
#: function.
RESERVED = set(
    """
    abs addressof and any array as attribute boolean byref byte byval call case cbool cbyte ccur
    cdate cdbl cdec cint circle clng clnglng clngptr close const csng cstr currency cvar cverr date
    debug decimal declare defbool defbyte defcur defdate defdbl defdec defint deflng deflnglng
    deflngptr defobj defsng defstr defvar dim do doevents double each else elseif empty end endif
    enum eqv erase event exit false fix for friend function get global gosub goto if imp implements
    in input inputb int integer is lbound len lenb let like linput lock long longlong longptr loop
    lset me mod new next not nothing null on open option optional or paramarray preserve print
    private pset public put raiseevent redim rem resume return rset scale seek select set sgn shared
    single spc static stop string sub tab then to true type typeof ubound unlock until variant wend
    while with withevents write xor application activeworkbook thisworkbook xlpy failed caller app
    err
""".split()
)


class Taker:
    """A workbook that keeps what ``import_udfs`` hands it."""

    Name, FullName, Worksheets = "spargesheet.xlam", "C:\\x\\spargesheet.xlam", ()

    def __init__(self):
        self.text, self.options = "", {}
        self.Application = type(
            "App", (), {"Version": "16.0", "MacroOptions": staticmethod(self._options)}
        )
        taker = self

        class Components:
            def __call__(self, name):
                raise refusal("no such module")

            def Remove(self, component):
                raise AssertionError("there is nothing to remove")

            def Import(self, path):
                with open(path, encoding="ascii") as file:
                    taker.text = file.read()

        self.VBProject = type("Project", (), {"VBComponents": Components()})

    def _options(self, macro, **options):
        self.options[macro] = options


@pytest.fixture(scope="module")
def imported(windows):
    book = Taker()
    windows.udfs.import_udfs(MODULE, book)
    return book


@pytest.fixture(scope="module")
def ask(windows):
    def answer(name, *arguments):
        return windows.server.CallUDF(MODULE, name, arguments, None, Cells(None))

    return answer


def headers(text):
    return dict(re.findall(r"^Function (\w+)\((.*)\)$", text, flags=re.MULTILINE))


def is_cell_address(name):
    a1 = re.fullmatch(r"([A-Z]{1,3})([0-9]{1,7})", name.upper())
    if a1 and len(a1[1]) == 3 and a1[1] > "XFD":
        a1 = None
    return bool(a1 or re.fullmatch(r"R[0-9]*(C[0-9]*)?|C[0-9]*", name.upper()))


def test_every_function_and_nothing_else_is_imported(imported):
    assert sorted(headers(imported.text)) == NAMES
    assert sorted(imported.options) == [f"'spargesheet.xlam'!{name}" for name in NAMES]


def test_arguments_in_order_with_optional_where_they_may_be_left_out(imported):
    for name, header in headers(imported.text).items():
        wanted = [
            argument.name if argument.required else f"Optional {argument.name}"
            for argument in CATALOGUE[name].arguments
        ]
        assert header.split(", ") == wanted, name


def test_vba_is_valid(imported):
    assert imported.text.count("\nEnd Function\n") == len(NAMES)
    for line in imported.text.splitlines():
        assert len(line) < 1024
    for name in NAMES:
        entry = CATALOGUE[name]
        words = [name, *(argument.name for argument in entry.arguments)]
        for word in words:
            assert re.fullmatch(r"[A-Za-z][A-Za-z0-9_]{0,254}", word), word
            assert word.lower() not in RESERVED, f"{word} of {name} is a word of VBA"
        assert len({word.lower() for word in words}) == len(words), (
            f"{name} shares its name with an argument"
        )
        assert not is_cell_address(name), name
        quoted = re.search(
            rf'\b{name} = XLPy\.CallUDF\("([\w.]+)", "(\w+)", Array\((.*?)\), ActiveWorkbook',
            imported.text.replace(" _\n", ""),
        )
        assert quoted.groups() == (MODULE, name, ", ".join(words[1:]))


def test_cell_addresses_are_recognised():
    assert all(map(is_cell_address, ("CO2", "SO4", "PH7", "RA1", "R", "C", "R1C1", "XFD1048576")))
    assert not any(map(is_cell_address, ("XFE1", "ACID_10", "ABCD1", "LITRES")))


def test_words_in_the_function_wizard_are_whole(imported):
    for name in NAMES:
        entry, options = CATALOGUE[name], imported.options[f"'spargesheet.xlam'!{name}"]
        assert options["Category"] == "spargesheet"
        assert options["Description"] == entry.description
        helps = options["ArgumentDescriptions"] or []
        assert helps == [argument.help for argument in entry.arguments]
        assert max(map(len, [entry.description, *helps])) <= HELP_LENGTH


def same(given, right):
    if isinstance(right, tuple):
        rows = (
            given if isinstance(given[0], (list, tuple)) else [given]
        )  # xlwings hands one row back as a flat list
        assert [len(row) for row in rows] == [len(row) for row in right]
        for row, wanted in zip(rows, right):
            for one, other in zip(row, wanted):
                same(one, other)
    elif isinstance(right, float):
        assert given == pytest.approx(right, rel=1e-9, abs=0)
    else:
        assert given == right and type(given) is type(right)


def in_excel(cell):
    """A cell's content as Excel's ``Value`` has it."""
    if isinstance(cell, tuple):
        return tuple(tuple(in_excel(value) for value in row) for row in cell)
    return ERROR_NUMBERS.get(cell, cell)


def as_range(cell):
    return Cells(in_excel(cell))


@pytest.mark.parametrize("name", NAMES)
def test_literals_and_cells_answer_as_call(ask, name):
    cells = sample(CATALOGUE[name])
    right = call(name, *cells)
    same(ask(name, *map(in_excel, cells)), right)
    same(ask(name, *map(as_range, cells)), right)


def test_the_samples_are_answered_and_not_refused():
    answered = [name for name in NAMES if has_answer(CATALOGUE[name])]
    assert len(answered) >= 27


@pytest.mark.parametrize("name", NAMES)
def test_omitted_and_empty_optionals_take_the_default(ask, name):
    entry = CATALOGUE[name]
    cells = sample(entry)[: entry.required]
    right = call(name, *cells)
    optional = len(entry.arguments) - entry.required
    same(ask(name, *map(as_range, cells), *[MISSING] * optional), right)
    same(ask(name, *map(as_range, cells), *[Cells(None)] * optional), right)
    same(ask(name, *map(as_range, cells), *[Cells("")] * optional), right)


@pytest.mark.parametrize("name", NAMES)
def test_a_missing_or_empty_required_argument_is_named(ask, name):
    entry = CATALOGUE[name]
    for position, argument in enumerate(entry.arguments[: entry.required]):
        for nothing in (MISSING, Cells(None)):
            cells = [as_range(cell) for cell in sample(entry)]
            cells[position] = nothing
            answer = ask(name, *cells)
            same(answer, call(name, *blanked(entry, position)))
            if not isinstance(argument.kind, IonCells) and has_answer(entry):
                assert answer.startswith(f"Check {argument.name}: ")


@pytest.mark.parametrize("name", NAMES)
def test_text_where_a_number_belongs_answers_as_call(ask, name):
    for position, argument in enumerate(CATALOGUE[name].arguments):
        if isinstance(argument.kind, Quantity):
            cells = list(sample(CATALOGUE[name]))
            cells[position] = "7,5 or so"
            same(ask(name, *map(as_range, cells)), call(name, *cells))


@pytest.mark.parametrize("name", NAMES)
def test_an_error_cell_comes_back_as_its_code(ask, name):
    for position, argument in enumerate(CATALOGUE[name].arguments):
        code = ERRORS[(position + len(name)) % len(ERRORS)]
        cells = list(sample(CATALOGUE[name]))
        cells[position] = (
            (cells[position][0][:-1] + (code,),) if isinstance(cells[position], tuple) else code
        )
        right = call(name, *cells)
        assert right == code or not has_answer(CATALOGUE[name])
        same(ask(name, *map(as_range, cells)), right)
        if not isinstance(argument.kind, (IonCells, Block)):
            same(ask(name, *map(in_excel, cells)), right)


@pytest.mark.parametrize("code", ERRORS)
def test_every_error_value_comes_back_as_its_code(ask, code):
    assert ask("HARDNESS", as_range(code), 10.0) == code
    same(ask("HARDNESS", as_range(((80.0, code),)), 10.0), ((call("HARDNESS", 80.0, 10.0), code),))


@pytest.mark.parametrize(
    "name, shape",
    [
        *zip(NAMES, cycle(["column", "row", "block"])),
        ("HARDNESS", "column"),
        ("HARDNESS", "row"),
        ("HARDNESS", "block"),
    ],
)
def test_ranges_answer_in_their_shape(ask, name, shape):
    entry = CATALOGUE[name]
    cells = [cell if isinstance(cell, tuple) else _spread(cell, shape) for cell in sample(entry)]
    same(ask(name, *map(as_range, cells)), call(name, *cells))


def test_arrays_written_in_a_formula(ask):
    right = call("HARDNESS", ((80.0, 90.0),), 10.0)
    same(
        ask("HARDNESS", (80.0, 90.0), 10.0), right
    )  # {80,90}: VBA hands over an array of one dimension
    same(
        ask("HARDNESS", ((80.0,), (90.0,)), 10.0), call("HARDNESS", ((80.0,), (90.0,)), 10.0)
    )  # {80;90}


def _spread(cell, shape):
    other = cell * 1.01 if isinstance(cell, float) else cell
    return {
        "column": ((cell,), (other,), ("#N/A",)),
        "row": ((cell, other, None),),
        "block": ((cell, other), (None, cell)),
    }[shape]


def test_dates_and_currency(ask, windows):
    assert ask("HARDNESS", Cells(datetime(2024, 5, 1)), 10.0) == call(
        "HARDNESS", datetime(2024, 5, 1), 10.0
    )
    assert "is not a number" in ask("HARDNESS", Cells(datetime(2024, 5, 1)), 10.0)
    from udfs.hosts.excel import excel_values

    assert type(excel_values.from_excel([[Decimal("39.5")]])) is float
    assert ask("ACID_COST", 210.0, 5.0, Cells(Decimal("39.5000"))) == call(
        "ACID_COST", 210.0, 5.0, 39.5
    )
    same(
        ask("ACID_COST", 210.0, 5.0, Cells(((Decimal("39.5"),), (Decimal("41"),)))),
        call("ACID_COST", 210.0, 5.0, ((39.5,), (41.0,))),
    )


def test_errors_that_xlwings_does_not_know_are_errors_all_the_same(ask):
    assert ask("HARDNESS", Cells(-2146826239), 10.0) == "#VALUE!"  # xlErrField, 2049
    assert "is not 0 to 4000" in ask(
        "HARDNESS", -2147352570, 10.0
    )  # just outside: a number like any other


def test_a_function_that_the_catalogue_no_longer_has_says_what_to_do(ask, windows, monkeypatch):
    monkeypatch.delattr(windows.functions, "HARDNESS")
    answer = ask("HARDNESS", Cells(80.0), 10.0)
    assert (
        answer.startswith("Check HARDNESS: ")
        and "spargesheet install excel" in answer
        and "\n" not in answer
    )


def test_a_broken_catalogue_entry_does_not_show_a_traceback(ask, monkeypatch):
    def broken(*values):
        raise ZeroDivisionError

    monkeypatch.setattr(CATALOGUE["HARDNESS"], "body", broken)
    assert ask("HARDNESS", 80.0, 10.0).startswith("Check arguments: ")


def test_the_module_has_no_other_public_names(windows):
    with pytest.raises(AttributeError):
        windows.functions.nothing_like_it  # noqa: B018


def test_without_windows_the_module_loads_and_answers_too():
    import subprocess
    import sys

    code = (
        "import sys, udfs.hosts.excel.functions as f, udfs.hosts.excel.excel_manage, "
        "udfs.hosts.excel.excel_opening\n"
        "assert not any(m.startswith(('win32', 'pythoncom', 'pywintypes')) for m in sys.modules)\n"
        "print(f.HARDNESS([[80.0]], 10.0))"
    )
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    assert float(done.stdout) == call("HARDNESS", 80.0, 10.0)
