"""Mutated packages: one sentence or a readable answer, whatever stands in the file; the input is
never touched.

The engine runs in its own process and has its own tests; here its answers are made up, so that a
case costs milliseconds. Together with the fuzzing of formula text these are 10,000 cases.
"""

import io
import random
import re
import zipfile
from xml.sax.saxutils import escape

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.workbook_template.test_share import copy_of, with_forms
from tests.workbook_template.travelling import parts, plan, rewritten
from workbook_template.travel import check, recalc, share
from workbook_template.travel.fresh_values import Fresh, _job, fresh_values
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import ErrorCode, StoredBook
from workbook_template.travel.recording import Numbering
from workbook_template.travel.restore import restored
from workbook_template.user_errors import BookError

ANSWERS = [1.5, "Check ph: text", True, ErrorCode("#N/A"), "", "=1+1", "\x00\ud800", -1e300]
PIECES = [
    b"<",
    b">",
    b"/>",
    b"</c>",
    b"<c>",
    b'<c r="A1"/>',
    b'<row r="1">',
    b"<f>",
    b'<f t="shared" si="0"/>',
    b"<f/>",
    b'<f t="array" ref="A1:B9">1</f>',
    b"<v>",
    b"</v>",
    b"<is><t>x</t></is>",
    b"<![CDATA[",
    b"]]>",
    b"&amp;",
    b"&x;",
    b"\0",
    b"\xff",
    b'"',
    b"<!-- <c> -->",
    b"<?x?>",
    b"<!DOCTYPE x>",
    b"<sheetData/>",
    b"<x:c/>",
    b"</sheetData>",
]
WORDS = [
    b"",
    b"A1",
    b"XFD1048576",
    b"A1:B3",
    b"XFE1",
    b"s",
    b"e",
    b"b",
    b"d",
    b"inlineStr",
    b"array",
    b"shared",
    b"dataTable",
    b"0",
    b"-1",
    b"1",
    b"99999999999999999999",
    b"1E400",
    b"nan",
    b"rId1",
    b"rId99",
    b"../..",
    b"/xl/workbook.xml",
    b"SUM(",
    b"External",
    b"ACID_DOSE(A1)",
    b"[1]!ACID_DOSE(A1)",
    b"[1]S!A1",
    b"First_dose",
    b"Plan",
    b"#REF!",
    b"_x0000_",
    b"true",
    b"formula",
    b"input",
    b"note",
    b"&#xD800;",
    b"\xf0\x9f\x8d\xba",
]
ATTRIBUTE = re.compile(rb'([\w:]+)="([^"]*)"')
LEAF = re.compile(rb"<([\w:]+)[^<>]*/>|<([\w:]+)[^<>]*>[^<]*</[\w:]+>")
TEXT = re.compile(rb">([^<]+)<")


class Originals(list):
    """Packages, with a short name for hypothesis to print."""

    def __repr__(self):
        return "originals"


@pytest.fixture(scope="module")
def originals(tmp_path_factory):
    """An ordinary book with every stored form, and the shared copy of it."""
    path = with_forms(tmp_path_factory.mktemp("fuzz"))
    return Originals([parts(path), parts(copy_of(path).data)])


def made_up(book, calls=None, heard=None, before=None, numbering=None, **_):
    """Answers without the engine; the job for it is made all the same."""
    calls = calls or share.Calls(book)
    job = _job(book, calls, before or {}, numbering or Numbering(calls))
    places = [
        (sheet["name"], formula["row"], formula["column"])
        for sheet in job["sheets"]
        for formula in sheet["formulas"]
    ]
    return Fresh({place: ANSWERS[number % len(ANSWERS)] for number, place in enumerate(places)})


def mutated(data: bytes, chance: random.Random) -> bytes:
    """One change: an attribute, a text, an element dropped, doubled or moved, or a piece put
    anywhere.
    """
    kind = chance.randrange(5)
    pattern = (ATTRIBUTE, ATTRIBUTE, TEXT, LEAF, None)[kind]
    found = list(pattern.finditer(data)) if pattern else []
    if not found:
        at = chance.randrange(len(data) + 1)
        return data[:at] + chance.choice(PIECES) + data[at + chance.randrange(8) :]
    match = chance.choice(found)
    start, end = match.span()
    if kind == 0:
        new = match[1] + b'="' + chance.choice(WORDS) + b'"'
    elif kind == 1:
        new = (
            chance.choice((b"r", b"t", b"si", b"ref", b"cm", b"name", b"Id", b"Target"))
            + b'="'
            + match[2]
            + b'"'
        )
    elif kind == 2:
        new = b">" + chance.choice(WORDS) + b"<"
    else:
        new = match[0] * chance.choice((0, 2))
        if not new:
            other = chance.choice(found).start()
            data = data[:other] + match[0] + data[other:]
            start, end = (
                (start, end) if other >= end else (start + len(match[0]), end + len(match[0]))
            )
    return data[:start] + new + data[end:]


def zipped(content: dict) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as file:
        for name, data in content.items():
            file.writestr(name, data)
    return out.getvalue()


def attempt(command: int, data: bytes) -> None:
    """A command refuses with one sentence or gives a file that reads again."""
    try:
        answer = COMMANDS[command](Package(data))
    except BookError as error:
        assert str(error) and "\n" not in str(error)
        return
    for sheet in StoredBook(Package(answer)).sheets:
        assert sheet.cells.sheet_data is not None or command == 0


def recalculated(package: Package) -> bytes:
    recalc.refreshed(package)
    return package.tobytes()


def looked_at(package: Package) -> bytes:
    check.checked(package)
    return package.data


COMMANDS = (
    looked_at,
    lambda package: share.shared(package, keep_links=True).data,
    lambda package: restored(package).data,
    recalculated,
)


@pytest.fixture
def without_engine(monkeypatch):
    for module in (check, recalc, share):
        monkeypatch.setattr(module, "fresh_values", made_up)


LIMITS = settings(
    max_examples=2_500,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


@LIMITS
@given(st.integers(0, 2**32))
def test_mutated_parts(originals, without_engine, seed):
    chance = random.Random(seed)
    content = dict(chance.choice(originals))
    for _ in range(chance.randint(1, 4)):
        name = chance.choice(sorted(content))
        if chance.random() < 0.03:
            del content[name]
        else:
            content[name] = mutated(content[name], chance)
    attempt(chance.randrange(4), zipped(content))


@LIMITS
@given(st.integers(0, 2**32))
def test_mutated_bytes_of_the_file(originals, without_engine, seed):
    chance = random.Random(seed)
    data = bytearray(zipped(chance.choice(originals)))
    for _ in range(chance.randint(1, 4)):
        data[chance.randrange(len(data))] = chance.randrange(256)
    attempt(chance.randrange(4), bytes(data[: chance.randint(len(data) // 2, 2 * len(data))]))


FORMULA_PIECES = [
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
    "&lt;",
    "0",
    "%",
    "Plan!B2",
    "^",
    "OFFSET(",
    "INDIRECT(",
    "IF(",
    "LET(x,",
]


@pytest.mark.parametrize("seed", range(3, 6))
def test_nonsense_in_the_real_engine_spoils_only_itself(tmp_path, seed):
    """200 formulas of random pieces beside a good one, which is evaluated all the same."""
    chance = random.Random(seed)
    rows = "".join(
        f'<row r="{row}"><c r="M{row}"><f>'
        + escape("".join(chance.choice(FORMULA_PIECES) for _ in range(chance.randint(1, 8))))
        + "</f><v>1</v></c></row>"
        for row in range(20, 220)
    )
    path = rewritten(
        plan(tmp_path / "plan.xlsx", 1, settled=False),
        {
            "xl/worksheets/sheet1.xml": lambda data: data.replace(
                b"</sheetData>", rows.encode() + b"</sheetData>"
            )
        },
    )
    fresh = fresh_values(StoredBook(Package.read(path)))
    assert (
        fresh.values["Plan", 1, 7] > 0 and fresh.values["Plan", 2, 7] == fresh.values["Plan", 1, 7]
    )
