"""Hostile and damaged files: one clear sentence each, within bounds, and the input stays as it
is.
"""

import hashlib
import io
import struct
import zipfile

import pytest

from tests.workbook_template.travelling import parts, plan, rewritten
from workbook_template.travel import bounds, check, fresh_values
from workbook_template.travel.ooxml.package import Package, resolve
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.travel.recalc import recalculate
from workbook_template.travel.restore import restored
from workbook_template.travel.share import shared
from workbook_template.user_errors import BookError

SHEET = "xl/worksheets/sheet1.xml"


@pytest.fixture(scope="module")
def original(tmp_path_factory):
    return plan(tmp_path_factory.mktemp("hostile") / "book.xlsx", 2, settled=False).read_bytes()


@pytest.fixture
def book(original, tmp_path):
    path = tmp_path / "book.xlsx"
    path.write_bytes(original)
    return path


def refused(path, words):
    """Every command refuses the file with a sentence that holds ``words``; the file stays as it is.

    Restore may say first that it is no shared copy.
    """
    before = hashlib.sha256(path.read_bytes()).digest()
    commands = (
        lambda: check.checked(Package.read(path)),
        lambda: shared(Package.read(path)),
        lambda: restored(Package.read(path)),
        lambda: recalculate(path),
    )
    for work in commands:
        with pytest.raises(BookError) as told:
            work()
        sentence = str(told.value)
        assert words in sentence or (
            work is commands[2] and "carries no frozen formulas" in sentence
        )
        assert "\n" not in sentence and "Traceback" not in sentence and len(sentence) < 900
    assert hashlib.sha256(path.read_bytes()).digest() == before


def cell(formula, place="A9", row=9, extra=""):
    """A change that adds one row with one formula cell."""
    new = f'<row r="{row}"><c r="{place}"><f{extra}>{formula}</f></c></row></sheetData>'.encode()
    return {SHEET: lambda data: data.replace(b"</sheetData>", new)}


@pytest.mark.parametrize(
    "data, words",
    [
        (b"", "not a whole .xlsx"),
        (b"alkalinity;120\n", "not a whole .xlsx"),
        (b"PK\x03\x04", "not a whole .xlsx"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "password"),
    ],
)
def test_other_files(tmp_path, data, words):
    path = tmp_path / "x.xlsx"
    path.write_bytes(data)
    refused(path, words)


def test_truncated_anywhere(book, original):
    for length in range(0, len(original), 97):
        book.write_bytes(original[:length])
        with pytest.raises(BookError):
            StoredBook(Package.read(book))


def test_missing_file(tmp_path):
    with pytest.raises(BookError, match="does not exist"):
        Package.read(tmp_path / "none.xlsx")


def test_zip_bomb_by_ratio(book):
    refused(
        rewritten(
            book,
            {
                SHEET: lambda data: data.replace(
                    b"</sheetData>", b" " * 60_000_000 + b"</sheetData>"
                )
            },
        ),
        "zip bomb",
    )


def test_zip_bomb_by_declared_size(book, original):
    """A part that declares four gigabytes is refused before anything is unpacked."""
    data = bytearray(original)
    at = data.index(b"PK\x01\x02")
    data[at + 24 : at + 28] = struct.pack("<I", 0xFFFFFFF0)
    book.write_bytes(data)
    refused(book, "unpacks to 4")


def test_zip_bomb_by_parts(book):
    refused(
        rewritten(book, {f"xl/media/{number}.png": b"x" for number in range(bounds.PARTS)}),
        "parts; at most",
    )


def test_part_that_lies_about_its_size(book, original):
    data = bytearray(original)
    at = data.index(b"PK\x01\x02")
    data[at + 24 : at + 28] = struct.pack("<I", 10)
    book.write_bytes(data)
    refused(book, "cannot be unpacked")


@pytest.mark.parametrize(
    "doctype",
    [
        b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>',
        b'<!DOCTYPE x SYSTEM "file:///etc/hostname">',
        b'<!DOCTYPE x [<!ENTITY % p SYSTEM "http://127.0.0.1/x"> %p;]>',
    ],
)
@pytest.mark.parametrize(
    "part", [SHEET, "xl/workbook.xml", "[Content_Types].xml", "xl/sharedStrings.xml"]
)
def test_entities_are_refused(book, doctype, part):
    path = rewritten(book, {part: lambda data: data.replace(b"?>", b"?>" + doctype, 1)})
    with pytest.raises(BookError, match="DOCTYPE"):
        shared(Package.read(path))


@pytest.mark.parametrize(
    "name", ["../evil.xml", "/etc/evil", "xl/../../evil", "C:/evil", "xl\\evil.xml"]
)
def test_part_names_that_lead_outside(book, name):
    with zipfile.ZipFile(book, "a") as file:
        info = zipfile.ZipInfo("placeholder")
        info.filename = name
        file.writestr(info, b"x")
    refused(book, "leads outside")


def test_targets_stay_inside_the_package():
    assert resolve("xl/workbook.xml", "../../../../etc/passwd") == "etc/passwd"
    assert resolve("xl/workbook.xml", "worksheets/sheet1.xml") == SHEET
    assert resolve("xl/worksheets/sheet1.xml", "/xl/tables/table1.xml") == "xl/tables/table1.xml"


def test_same_part_twice(book):
    with zipfile.ZipFile(book, "a") as file:
        file.writestr("XL/workbook.xml", b"x")
    refused(book, "twice")


def test_elements_nested_deep(book):
    deep = b"<x>" * 100_000 + b"</x>" * 100_000
    refused(
        rewritten(
            book, {SHEET: lambda data: data.replace(b"</worksheet>", deep + b"</worksheet>")}
        ),
        "nests",
    )
    refused(
        rewritten(
            book,
            {"xl/workbook.xml": lambda data: data.replace(b"</workbook>", deep + b"</workbook>")},
        ),
        "nests",
    )


@pytest.mark.parametrize(
    "formula, words",
    [
        ("1+" * 5000 + "1", "longer than 8192 characters"),
        ("ACID_DOSE(" + "(" * 4000 + "1" + ")" * 4000 + ")", "cannot read the formula"),
        ("ACID_DOSE(A9,7,5,100,E1)", "circular"),
        ("ACID_DOSE(A10,7,5,100,E1)", "circular"),
        ("ACID_DOSE(A1:XFD1048576,7,5,100,E1)", "circular"),
        ("ACID_DOSE(MYSTERY(A1),7,5,100,E1)", "does not know"),
        ("ACID_DOSE([1]Other!A1,7,5,100,E1)", "reads another workbook"),
        ("ACID_DOSE('C:\\plans\\[Other.xlsx]S'!A1,7,5,100,E1)", "reads another workbook"),
    ],
)
def test_formulas_beyond_the_engine(book, formula, words):
    path = rewritten(book, cell(formula))
    if words == "circular":
        rewritten(path, cell("A9", "A10", 10))
    with pytest.raises(BookError, match=words) as told:
        shared(Package.read(path))
    assert "A9" in str(told.value)
    if "MYSTERY" in formula or "[1]" in formula:
        report = check.checked(Package.read(path))
        assert any(
            finding.kind == "not evaluated" and finding.where == "Plan!A9"
            for finding in report.findings
        )


def test_more_formulas_than_are_read(book, monkeypatch):
    monkeypatch.setattr(bounds, "FORMULAS", 2_000)
    rows = "".join(
        f'<row r="{row}"><c r="A{row}"><f t="shared" si="7"/></c></row>'
        for row in range(10, bounds.FORMULAS + 20)
    )
    first = (
        '<row r="9"><c r="A9"><f t="shared" si="7"'
        f' ref="A9:A{bounds.FORMULAS + 20}">B9+1</f></c></row>'
    )
    path = rewritten(
        book,
        {
            SHEET: lambda data: data.replace(
                b"</sheetData>", (first + rows + "</sheetData>").encode()
            )
        },
    )
    with pytest.raises(BookError, match="more than 2000 formulas"):
        shared(Package.read(path))


def test_more_cells_than_are_read(book, monkeypatch):
    """The limit is the book's, not the sheet's."""
    monkeypatch.setattr(bounds, "CELLS", 100)
    new = b"".join(b'<row r="%d"><c/></row>' % row for row in range(9, 60))
    refused(
        rewritten(book, {SHEET: lambda data: data.replace(b"</sheetData>", new + b"</sheetData>")}),
        "more than 100 cells and rows",
    )


def test_array_formula_over_a_million_rows(book):
    refused(
        rewritten(book, cell("B1:B2*2", extra=' t="array" ref="A9:A1048576"')),
        "array formulas fill more than",
    )


@pytest.mark.parametrize(
    "damage, words",
    [
        (lambda data: data.replace(b'r="A2"', b'r="A1"', 1), "out of order"),
        (lambda data: data.replace(b'<row r="2"', b'<row r="1"', 1), "not in order"),
        (lambda data: data.replace(b'r="A1"', b'r="AAAA1"', 1), "not a cell"),
        (lambda data: data.replace(b"<v>101</v>", b"<v>1o1</v>", 1), "a number cell holds"),
        (lambda data: data.replace(b"<v>101</v>", b"<v>nan</v>", 1), "a number cell holds"),
        (
            lambda data: data.replace(b'<c r="E1" t="s"><v>0<', b'<c r="E1" t="s"><v>999999<', 1),
            "shared text",
        ),
        (lambda data: data.replace(b"</worksheet>", b""), "not well-formed"),
        (lambda data: data.decode().encode("utf-16"), "not in UTF-8"),
        (lambda data: data.replace(b"<f>G1*2</f>", b'<f t="shared" si="5"/>', 1), "no first cell"),
    ],
)
def test_damaged_sheets(book, damage, words):
    refused(rewritten(book, {SHEET: damage}), words)


@pytest.mark.parametrize(
    "part",
    ["xl/workbook.xml", SHEET, "[Content_Types].xml", "_rels/.rels", "xl/_rels/workbook.xml.rels"],
)
def test_missing_parts(book, part):
    path = rewritten(book, {}, removed=(part,))
    with pytest.raises(BookError):
        shared(Package.read(path))


def test_names_in_a_circle(book):
    def named(definitions):
        tags = "".join(
            f'<definedName name="{name}">{text}</definedName>' for name, text in definitions
        )
        return {
            "xl/workbook.xml": lambda data: data.replace(
                b"<calcPr", f"<definedNames>{tags}</definedNames><calcPr".encode()
            ),
            **cell("NameA+1"),
        }

    refused(rewritten(book, named([("NameA", "NameB"), ("NameB", "NameA")])), "circle")


def test_names_that_multiply(book):
    names = [
        (f"N{chr(65 + number)}x", "+".join([f"N{chr(66 + number)}x"] * 9)) for number in range(12)
    ]
    tags = "".join(f'<definedName name="{name}">{text}</definedName>' for name, text in names)
    path = rewritten(
        book,
        {
            "xl/workbook.xml": lambda data: data.replace(
                b"<calcPr", f"<definedNames>{tags}</definedNames><calcPr".encode()
            ),
            **cell("NAx+1"),
        },
    )
    with pytest.raises(BookError, match="longer than"):
        shared(Package.read(path))


def test_an_evaluation_that_takes_too_long_ends(book):
    with pytest.raises(BookError, match="takes longer than 0.05 seconds"):
        fresh_values.fresh_values(StoredBook(Package.read(book)), seconds=0.05)


def test_an_evaluation_that_eats_memory_ends(book):
    with pytest.raises(BookError, match="cannot be evaluated: .*(60 MB|more memory)"):
        fresh_values.fresh_values(StoredBook(Package.read(book)), size=60_000_000)


@pytest.mark.parametrize("part", ["xl/workbook.bin"])
def test_binary_workbooks(book, part):
    path = rewritten(
        book,
        {
            part: b"x",
            "_rels/.rels": lambda data: data.replace(b"xl/workbook.xml", b"xl/workbook.bin"),
        },
    )
    refused(path, ".xlsb")


def test_signed_workbooks(book):
    refused(rewritten(book, {"_xmlsignatures/origin.sigs": b""}), "digitally signed")


def test_nothing_of_a_package_is_lost_when_it_is_written(original):
    assert parts(Package(original).tobytes()) == parts(original)
    with (
        zipfile.ZipFile(io.BytesIO(original)) as old,
        zipfile.ZipFile(io.BytesIO(Package(original).tobytes())) as new,
    ):
        assert [(info.filename, info.date_time) for info in old.infolist()] == [
            (info.filename, info.date_time) for info in new.infolist()
        ]
