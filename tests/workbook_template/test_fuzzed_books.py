"""Mutated packages: one sentence or a readable answer, whatever stands in the file; the input is never touched.

The engine runs in its own process and has its own tests; here its answers are made up, so that a case costs
milliseconds. Together with the fuzzing of formula text these are 10,000 cases.
"""

import io
import zipfile

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.workbook_template.test_share import copy_of, with_forms
from tests.workbook_template.travelling import parts
from workbook_template import check, recalc, share
from workbook_template.errors import BookError
from workbook_template.ooxml.book import Book, ErrorCode
from workbook_template.ooxml.package import Package
from workbook_template.restore import restored
from workbook_template.values import Fresh, _job

ANSWERS = [1.5, "Check ph: text", True, ErrorCode("#N/A"), "", "=1+1", "\x00\ud800", -1e300]
PIECES = [b"<", b">", b"/>", b"</c>", b"<c>", b'<c r="A1"/>', b'<row r="1">', b"<f>", b'<f t="shared" si="0"/>', b"<f/>",
          b'<f t="array" ref="A1:B9">1</f>', b"<v>", b"</v>", b"<is><t>x</t></is>", b"<![CDATA[", b"]]>", b"&amp;", b"&x;", b"\0",
          b"\xff", b'"', b"'", b"<!-- <c> -->", b"<?x?>", b"<!DOCTYPE x>", b' r="XFD1048576"', b' t="s"', b' t="e"', b' si="9"',
          b"<sheetData/>", b"<mergeCell/>", b"ACID_DOSE(", b"[1]!", b"1E400", b"-1", b"9999999999", b"rId1", b"../", b"/xl/",
          b"state", b"name", b"Target", b" cm=\"1\"", b"x:", b"<x:c/>", b"</sheetData>", b"<definedName name=\"A\">A</definedName>"]


@pytest.fixture(scope="module")
def originals(tmp_path_factory):
    """An ordinary book with every stored form, and the shared copy of it."""
    path = with_forms(tmp_path_factory.mktemp("fuzz"))
    return [parts(path), parts(copy_of(path).data)]


def made_up(book, calls=None, heard=None):
    """Answers without the engine; the job for it is made all the same."""
    job, linked = _job(book, calls or share.Calls(book))
    places = [(sheet["name"], formula["row"], formula["column"]) for sheet in job["sheets"] for formula in sheet["formulas"]]
    return Fresh({place: ANSWERS[number % len(ANSWERS)] for number, place in enumerate(places)}, linked)


@st.composite
def mutations(draw):
    """A few edits of parts: (part by number, offset by share, what is cut, what is put there)."""
    return draw(st.lists(st.tuples(st.integers(0, 40), st.floats(0, 1), st.integers(0, 40), st.sampled_from(PIECES) | st.just(b"")
                                   | st.binary(max_size=4)), min_size=1, max_size=4))


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
    for sheet in Book(Package(answer)).sheets:
        for place in sheet.cells.cells:
            sheet.value(*place)


def recalculated(package: Package) -> bytes:
    recalc.refreshed(package)
    return package.tobytes()


def looked_at(package: Package) -> bytes:
    check.checked(package)
    return package.data


COMMANDS = (looked_at, lambda package: share.shared(package, keep_links=True).data, lambda package: restored(package).data,
            recalculated)


@pytest.fixture
def without_engine(monkeypatch):
    for module in (check, recalc, share):
        monkeypatch.setattr(module, "fresh_values", made_up)


LIMITS = settings(max_examples=2_500, deadline=None,
                  suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])


@LIMITS
@given(st.integers(0, 1), st.integers(0, 3), mutations(), st.integers(0, 60))
def test_mutated_parts(originals, without_engine, which, command, edits, dropped):
    content = dict(originals[which])
    for number, share_of, cut, new in edits:
        name = sorted(content)[number % len(content)]
        at = int(share_of * len(content[name]))
        content[name] = content[name][:at] + new + content[name][at + cut:]
    if dropped < len(content) // 2:
        del content[sorted(content)[dropped]]
    attempt(command, zipped(content))


@LIMITS
@given(st.integers(0, 1), st.integers(0, 3),
       st.lists(st.tuples(st.floats(0, 1), st.binary(min_size=1, max_size=3)), min_size=1, max_size=4), st.floats(0.5, 1))
def test_mutated_bytes_of_the_file(originals, without_engine, which, command, edits, kept):
    data = bytearray(zipped(originals[which]))
    for share_of, new in edits:
        at = int(share_of * len(data))
        data[at:at + len(new)] = new
    attempt(command, bytes(data[:int(kept * len(data))] if kept < 0.9 else data))
