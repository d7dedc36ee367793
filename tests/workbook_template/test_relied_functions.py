"""The native functions on which the engine is relied on, over arguments of every kind, against
Gnumeric and Calc.

Where the two programs differ from each other no answer is right for both: there the engine must
give one of the two.
"""

import datetime
import math
import re
import shutil
import subprocess
import warnings
import zipfile
from itertools import product

import openpyxl
import pytest
import xlsxwriter

from tests.workbook_template.travel_fixtures import libreoffice  # noqa: F401
from workbook_template.travel import template_formulas, trust
from workbook_template.travel.engine_book import EngineBook
from workbook_template.travel.evaluation import runs
from workbook_template.travel.ooxml.addresses import position

COLUMNS = {
    "A": [-2.5, 0.0, 1.0, 2.5, 7.0, -2.5],
    "B": ["lactic", "phosphoric", "Lactic", None, None, 3.0],
    "D": [None, None, 2.0, None, "x", 0.0],
    "E": [0.1, 0.2, 0.3, 0.4, 0.1, 0.2],
    "F": [-2.0, 0.0, 1.0, 2.5, 4.0, 6.0],
    "G": [10.0, 20.0, 30.0, 40.0, 50.0, 60.0],
}
#: Of these K1 is a text and J1 is blank; ``&`` stands before a text.
NUMBERS = ["-2.5", "0", "1", "2.5", "-0.5", "7", "1E6", "0.125", "-1"]
ANY = [*NUMBERS, "J1", "K1"]
RANGES = ["A1:A6", "B1:B6", "D1:D6", "E1:E6", "A1:D6", "J1", "K1", "J1:K1", "1,2,3", "A1:A6,5"]
CRITERIA = ['">0"', '"<=2"', "0", '"lac*"', '"LACTIC"', '"?actic"', '">"&A2', '"<>lactic"', "J1"]
FIGURES = ["-2.5", "2.5", "0", "-0.5", "0.5", "2.345", "-1.115", "1234.5678", "0.285", "J1", "K1"]
PLACES = ["0", "1", "2", "-1", "3", "J1"]
TEXTS = ["K1", '"Banana"', '"abc"', "12.5", "-0.5", "TRUE()", "FALSE()", "J1"]
#: From 1 March 1900 on; before, the programs count the days in three ways.
DAYS = ["45000", "45351", "45322.75", "366", "1E5", "K1"]
#: No blank: Excel looks for 0 then (from memory), as the engine does, Calc and Gnumeric for
#: nothing.
SOUGHT = [
    '"lactic"',
    '"LACTIC"',
    '"lac*"',
    "99",
    "-2.5",
    "0",
    "2.5",
    '"phosphoric"',
    "K1",
    "TRUE()",
]


def _of(name, *lists):
    return [f"{name}({','.join(one)})" for one in product(*lists)]


CASES = {
    **{
        name: _of(name, ANY)
        for name in """
            ABS ACOS ASIN ATAN COS EXP INT LN LOG10 SIGN SIN SQRT TAN NOT N T LEN LOWER UPPER TRIM
            ISBLANK ISERR ISERROR ISNA ISNUMBER ISTEXT
        """.split()
    },
    **{
        name: _of(name, RANGES)
        for name in """
            SUM AVERAGE COUNT COUNTA MAX MIN PRODUCT STDEV VAR MEDIAN SUMSQ AND OR SUMPRODUCT
        """.split()
    },
    "COUNTBLANK": _of("COUNTBLANK", RANGES[:5]),
    **{name: _of(name, FIGURES, PLACES) for name in ("ROUND", "ROUNDDOWN", "ROUNDUP", "TRUNC")},
    "FIXED": _of("FIXED", FIGURES, ["0", "1", "2", "-1"]),
    "POWER": _of("POWER", ["-8", "0", "2", "0.5", "J1", "4"], ["0", "-1", "0.5", "2", "1/3"]),
    "LOG": _of("LOG", ["100", "8", "0", "-1", "J1"], ["10", "2", "1", "0", "-2"]),
    "COUNTIF": _of("COUNTIF", RANGES[:4], CRITERIA),
    "SUMIF": _of("SUMIF", RANGES[:4], CRITERIA, ["A1:A6"]) + _of("SUMIF", RANGES[:4], CRITERIA),
    "AVERAGEIF": _of("AVERAGEIF", RANGES[:4], CRITERIA, ["A1:A6"]),
    "COUNTIFS": _of("COUNTIFS", ["A1:A6"], CRITERIA, ["B1:B6"], CRITERIA),
    "SUMIFS": _of("SUMIFS", ["A1:A6"], ["A1:A6"], CRITERIA, ["B1:B6"], CRITERIA),
    "AVERAGEIFS": _of("AVERAGEIFS", ["A1:A6"], ["B1:B6"], CRITERIA),
    "CHAR": _of("CHAR", ["65", "32", "126", "256", "-1", "48.9"]),
    "CHOOSE": _of("CHOOSE", ["1", "2", "3", "0", "4", "2.9", "-1", "J1"], ["10"], ["20"], ["30"]),
    "COLUMN": ["COLUMN(C5)", "COLUMN()"],
    "ROW": ["ROW(C5)", "ROW()"],
    "COLUMNS": ["COLUMNS(A1:C5)", "COLUMNS(A1)"],
    "ROWS": ["ROWS(A1:C5)", "ROWS(A1)"],
    "ADDRESS": [f"ADDRESS({one})" for one in ("1,2", "3,28,4", "2,3,2", "2,3,3", "0,1")],
    "DATE": _of("DATE", ["2024", "1999"], ["2", "13", "0", "1.9"], ["29", "1", "0", "-1"]),
    **{name: _of(name, DAYS) for name in ("YEAR", "MONTH", "DAY")},
    **{name: _of(name, DAYS[:3], ["0", "1", "-1", "12", "1.9"]) for name in ("EDATE", "EOMONTH")},
    "EXACT": _of("EXACT", ['"a"', '"A"', "J1", "K1", '"1"'], ['"a"', '"A"', '""']),
    **{
        name: (
            _of(name, ['"a"', '"A"', '"z"'], TEXTS) + [f'{name}("a","banana",{n})' for n in "1306"]
        )
        for name in ("FIND", "SEARCH")
    },
    **{name: _of(name, TEXTS, ["0", "1", "2.9", "-1", "9"]) for name in ("LEFT", "RIGHT")},
    "MID": _of("MID", TEXTS, ["0", "1", "2.9", "-1", "9"], ["0", "1", "2", "-1"]),
    "SUBSTITUTE": [
        f'SUBSTITUTE("banana",{one})'
        for one in ('"a","o"', '"a","o",2', '"A","o"', '"","o"', '"a",""', '"a","o",9')
    ],
    **{
        name: _of(name, ["A1:A6", "E1:E6", "D1:D6"], ["1", "2", "0", "6", "7", "-1"])
        for name in ("LARGE", "SMALL")
    },
    "INDEX": [
        f"INDEX({one})" for one in ("A1:A6,2", "A1:D6,2,1", "A1:A6,7", "A1:A6,1.9", "D1:D6,2")
    ],
    "MATCH": _of("MATCH", SOUGHT, ["A1:A6", "B1:B6", "F1:F6"], ["0"]),
    "IF": _of("IF", ["1", "0", "J1", "-0.1", "A1>0"], ["2", "J1"], ["3"]),
    **{
        name: _of(name, ["1/0", "NA()", "J1", "K1", "1", "SQRT(-1)"], ["9"])
        for name in ("IFERROR", "IFNA")
    },
    **{name: [f"{name}()"] for name in ("NA", "PI", "TRUE", "FALSE")},
    **{
        name: _of(name, ["A1:A6", "G1:G6", "E1:E6", "D1:D6"], ["F1:F6", "E1:E6"])
        for name in ("INTERCEPT", "SLOPE")
    },
    "TRANSPOSE": ["SUM(TRANSPOSE(A1:A6))", "INDEX(TRANSPOSE(A1:A6),1,3)"],
    "IFS": _of("IFS", ["0", "1", "J1", "A1>0"], ["1"], ["TRUE()"], ["2"]),
    "SWITCH": _of("SWITCH", ["1", "2", "9", '"a"'], ["1"], ["5"], ["2"], ["6"], ["7"]),
    "TEXT": _of("TEXT", FIGURES[:8], ['"0"', '"0.0"', '"0.00"', '"0%"', '"0.0%"']),
}
FORMULAS = [(name, text) for name, texts in CASES.items() for text in texts]
#: Functions of which the two programs give the same over all these arguments.
ALIKE = """
    ABS ACOS ASIN ATAN COS EXP INT LN LOG10 SIGN SIN SQRT TAN CHOOSE EXACT FIXED LOG MID ROUND
    ROUNDDOWN ROUNDUP TRUNC SUM AVERAGE MAX MIN MEDIAN PRODUCT SUMSQ COUNT COUNTBLANK SUBSTITUTE
    YEAR MONTH DAY
""".split()
FIRST, COLUMN = 20, 21


def _book(path):
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("Plan")
        for place, value in _values().items():
            sheet.write(place, value)
        for row, (_, text) in enumerate(FORMULAS, FIRST):
            stored = re.sub(r"\b(IFNA|IFS|SWITCH)\(", r"_xlfn.\1(", text)
            sheet.write_formula(row - 1, COLUMN - 1, "=" + stored)
    with zipfile.ZipFile(path) as file:
        parts = {name: file.read(name) for name in file.namelist()}
    part = "xl/worksheets/sheet1.xml"  # without stored values every program works them out
    parts[part] = re.sub(rb"</f><v>[^<]*</v>", b"</f>", parts[part])
    with zipfile.ZipFile(path, "w") as file:
        for name, data in parts.items():
            file.writestr(name, data)
    return path


def _values():
    found = {
        f"{letter}{row}": value
        for letter, column in COLUMNS.items()
        for row, value in enumerate(column, 1)
        if value is not None
    }
    return {**found, "K1": "lactic"}


@pytest.fixture(scope="module")
def by_engine():
    """What the engine gives."""
    names = {"name": "Plan"}
    book = EngineBook({"date1904": False, "calls": [], "status": "", "sheets": [names]})
    book.fill([runs({position(place): value for place, value in _values().items()})])
    for row, (_, text) in enumerate(FORMULAS, FIRST):
        book.set("Plan", row, COLUMN, text)
    book.evaluate()
    return [_plain(book.get("Plan", row, COLUMN)) for row in range(FIRST, FIRST + len(FORMULAS))]


@pytest.fixture(scope="module")
def by_gnumeric(tmp_path_factory):
    """What Gnumeric gives."""
    assert shutil.which("ssconvert"), "Gnumeric's ssconvert is needed"
    folder = tmp_path_factory.mktemp("gnumeric")
    path, out = _book(folder / "in.xlsx"), folder / "out.xlsx"
    subprocess.run(["ssconvert", "--recalc", path, out], check=True, capture_output=True)
    return _saved(out)


def _saved(path):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of a book without styles of its own
        return _read(path)


def _read(path):
    sheet = openpyxl.load_workbook(path, data_only=True)["Plan"]
    rows = range(FIRST, FIRST + len(FORMULAS))
    return [_plain(sheet.cell(row, COLUMN).value) for row in rows]


def _plain(value):
    if value is None or value == "":
        return ""
    if isinstance(value, dict):
        return value["error"]
    if isinstance(value, datetime.datetime):
        value = (value - datetime.datetime(1899, 12, 30)).total_seconds() / 86400
    return value if isinstance(value, (bool, str)) else float(value)


def _alike(one, other):
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-12)
    if isinstance(one, str) and isinstance(other, str) and one[:1] == other[:1] == "#":
        return True
    return type(one) is type(other) and one == other


def test_every_relied_function_is_tried():
    assert set(CASES) == trust.KNOWN | {"TEXT"}


@pytest.mark.parametrize(
    "name", "CEILING FLOOR YEARFRAC WEEKNUM MOD RANK VLOOKUP MROUND IRR PERCENTILE".split()
)
def test_functions_in_which_programs_differ_are_not_relied_on(name):
    assert not trust.known(f"{name}(A1,2)") and name in trust.unsure(f"{name}(A1,2)")


def test_only_products_of_several_arrays_are_not_relied_on_among_these():
    doubted = {name for name, text in FORMULAS if trust.unsure(text)}
    assert doubted == {"SUMPRODUCT"}
    assert not trust.unsure("SUMPRODUCT((A1:A6>0)*MAX(A1,2))")
    assert not trust.unsure('MATCH(A1,INDEX((B1:B6="a,b")*1,0), 0)+MATCH("x",C:C,FALSE)')
    for text in ("LOOKUP(2,1/(A1:A6=1),B1:B6)", "MATCH(2,1/(A1:A6=1))", "MATCH(2,A1:A6,1)"):
        assert "not relied on" in trust.unsure(text)


def test_every_formula_of_the_template_is_relied_on():
    sheets = template_formulas.fresh().formulas.values()
    texts = [text for sheet in sheets for text in sheet.values()]
    assert len(texts) > 1000
    assert [text for text in texts if trust.unsure(text)] == []


def test_where_gnumeric_and_calc_agree_the_engine_gives_what_gnumeric_does(by_engine, by_gnumeric):
    wrong = [
        (text, ours, theirs)
        for (name, text), ours, theirs in zip(FORMULAS, by_engine, by_gnumeric)
        if name in ALIKE and not _alike(ours, theirs)
    ]
    assert not wrong


def test_each_answer_is_that_of_gnumeric_or_calc(by_engine, by_gnumeric, libreoffice, tmp_path):  # noqa: F811
    out = tmp_path / "out.xlsx"
    data = _book(tmp_path / "in.xlsx").read_bytes()
    out.write_bytes(libreoffice.converted(data, "in.xlsx", "xlsx"))
    by_calc = _saved(out)
    wrong = [
        (text, ours, one, other)
        for (_, text), ours, one, other in zip(FORMULAS, by_engine, by_gnumeric, by_calc)
        if not trust.unsure(text) and not _alike(ours, one) and not _alike(ours, other)
    ]
    assert not wrong
