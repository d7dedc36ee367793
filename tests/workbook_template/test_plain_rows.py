"""A sheet read with the expression for plain rows, against the same sheet read by expat alone."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.foreign.corpus_books import write
from workbook_template.template.build import TEMPLATE
from workbook_template.travel import bounds
from workbook_template.travel.ooxml.cell_records import Spent
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.plain_rows import PlainRows
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.travel.ooxml.stored_cells import Cells
from workbook_template.user_errors import BookError

HEAD = (
    b'<?xml version="1.0"?>\n<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml'
    b'/2006/main" xmlns:x14ac="http://schemas.microsoft.com/office/spreadsheetml/2009/9/ac">'
    b'<dimension ref="A1:C9"/>'
)
FOOT = (
    b'<dataValidations count="1"><dataValidation type="list" sqref="A1"><formula1>B1:B9</formula1>'
    b'</dataValidation></dataValidations><pageSetup orientation="landscape"/></worksheet>'
)
#: What may stand in a cell, between its tags; plain things and others.
CONTENTS = [
    b"",
    b"<v>1</v>",
    b"<v>7.5</v>",
    b"<v/>",
    b"<v></v>",
    b"<f>A1*2</f><v>15</v>",
    b"<f>IF(A1&gt;2,&quot;a &amp;lt; b&quot;,&apos;x&apos;!A1)</f><v>a &amp;lt; b</v>",
    b"<f>A1>2</f><v>1</v>",
    b"<f/><v>2</v>",
    b'<f t="shared" ref="A1:A9" si="0">A1+1</f><v>3</v>',
    b'<f t="shared" si="0"/><v>4</v>',
    b'<f t="array" ref="A1:B2">C1:D2</f><v>1</v>',
    b'<f t="dataTable" ref="B2:C3" dt2D="1" r1="A1" r2="A2"/><v>3</v>',
    b'<f ca="1" ca="1">A1</f>',
    b"<f ca='1'>A1</f><v>2</v>",
    b"<fx>A1</fx>",
    b"<is><t>text</t></is>",
    b'<is><t xml:space="preserve"> caf\xc3\xa9 </t></is>',
    b"<is><r><t>rich</t></r><r><t>er</t></r></is>",
    b"<is><t>a</t><rPh><t>b</t></rPh></is>",
    b"<v>\xef\xbf\xbf</v>",
    b"<v>\xff</v>",
    b"<v>a\r\nb</v>",
    b"<v>a\tb\nc</v>",
    b"<v>&#65;&#x42;</v>",
    b"<v>&unknown;</v>",
    b"<v>]]></v>",
    b"<v><![CDATA[7]]></v>",
    b"<v>1</v><v>2</v>",
    b"<v>1</v><f>A1</f>",
    b"<f>A1</f><f>A2</f>",
    b"<v>1</v><extLst/>",
    b" <v>1</v> ",
    b"<!-- <c> --><v>1</v>",
    b"<c r='A1'/>",
]
TAGS = [
    b"",
    b"",
    b"",
    b' s="3"',
    b' t="s"',
    b' s="1" t="str"',
    b" t='b'",
    b' t="inlineStr"',
    b' t="e" cm="1"',
    b' t = "n" ',
    b' t="s" t="n"',
    b' r="A1"',
    b' x14ac:y="1"',
    b' unbound:y="1"',
    b' t="&#115;"',
    b' t="a>b"',
    b's="1"',
    b' s="1"x="2"',
    b" s=1",
]
ROW_TAGS = [b"", b"", b' spans="1:3"', b' ht="12.5" x14ac:dyDescent="0.2"', b' r="1"', b" y:z='1'"]


def read(data, plain):
    """All that is read of a sheet, or the sentence that refuses it."""
    spent = Spent()
    try:
        cells = Cells(data, "sheet1.xml", spent, plain)
    except BookError as error:
        return str(error)
    return (*vars(cells).items(),), spent.state()


def same_both_ways(data):
    assert read(data, True) == read(data, False)


@st.composite
def sheets(draw):
    pieces = [HEAD, draw(st.sampled_from([b"<sheetData>", b"<sheetData>", b"<sheetData >"]))]
    row = 0
    for _ in range(draw(st.integers(0, 4))):
        row += draw(st.sampled_from([1, 1, 1, 2, 0]))
        pieces.append(b'<row r="%d"%s>' % (row, draw(st.sampled_from(ROW_TAGS))))
        for column in draw(st.sampled_from([b"", b"A", b"AB", b"ABC", b"BA", b"AA"])):
            there = row if draw(st.integers(0, 30)) else row + 1
            tag, content = draw(st.sampled_from(TAGS)), draw(st.sampled_from(CONTENTS))
            head = b'<c r="%c%d"' % (column, there) + tag
            pieces.append(head + (b"/>" if not content else b">" + content + b"</c>"))
        pieces.append(b"</row>" + draw(st.sampled_from([b"", b"", b"", b"\n", b'<row r="9"/>'])))
    pieces += [b"</sheetData>", FOOT]
    data = b"".join(pieces)
    if draw(st.integers(0, 9)) == 0:
        at = draw(st.integers(0, len(data)))
        data = data[:at] + data[at + draw(st.integers(0, 9)) :]
    return data


@settings(max_examples=1500)
@given(sheets())
def test_a_sheet_of_any_spelling_is_read_as_by_expat_alone(data):
    same_both_ways(data)


@pytest.mark.parametrize("content", CONTENTS)
@pytest.mark.parametrize("tag", dict.fromkeys(TAGS))
def test_each_spelling_of_a_cell_is_read_as_by_expat_alone(content, tag):
    cells = b'<c r="A1"' + tag + b">" + content + b'</c><c r="B1"><v>5</v></c>'
    rows = b'<row r="1">' + cells + b'</row><row r="2"><c r="A2"><v>6</v></c></row>'
    same_both_ways(HEAD + b"<sheetData>" + rows + b"</sheetData>" + FOOT)


def test_books_of_many_programs_are_read_as_by_expat_alone(tmp_path):
    write(tmp_path)
    paths = [TEMPLATE, *sorted(tmp_path.glob("*.xls[xm]"))]
    assert len(paths) > 10
    for path in paths:
        package = Package.read(path)
        for sheet in StoredBook(package).sheets:
            same_both_ways(package[sheet.part])


def test_mutated_sheets_are_read_as_by_expat_alone():
    package = Package.read(TEMPLATE)
    parts = [package[sheet.part] for sheet in StoredBook(package).sheets]
    dice = random.Random(11)
    for _ in range(300):
        data = dice.choice([part for part in parts if len(part) < 40_000])
        at = dice.randrange(len(data))
        cut = data[at : at + dice.randrange(1, 12)] if dice.random() < 0.5 else b""
        to = dice.randrange(len(data))
        same_both_ways(data[:to] + cut + data[to + dice.randrange(0, 3) :])


def test_limits_hold_in_plain_rows(monkeypatch):
    monkeypatch.setattr(bounds, "CELLS", 6)
    rows = b"".join(b'<row r="%d"><c r="A%d"><v>1</v></c></row>' % (n, n) for n in range(1, 5))
    data = HEAD + b"<sheetData>" + rows + b"</sheetData></worksheet>"
    same_both_ways(data)
    assert "more than 6 cells" in read(data, True)


def test_the_template_is_plain_throughout(monkeypatch):
    """What the expression is for: it would be of no use if it stopped at the first row."""
    taken, plain = [], PlainRows.read

    def counted(rows, at):
        taken.append((rows.data, plain(rows, at)))
        return taken[-1][1]

    monkeypatch.setattr(PlainRows, "read", counted)
    package = Package.read(TEMPLATE)
    for sheet in StoredBook(package).sheets:
        assert sheet.cells.cells
    assert all(data[at:].startswith(b"</sheetData>") for data, at in taken) and len(taken) > 10


@pytest.mark.parametrize(
    "rows",
    [
        b'<row r="1"><c r="A2"><v>1</v></c></row>',
        b'<row r="1"><c r="B1"><v>1</v></c><c r="A1"><v>1</v></c></row>',
        b'<row r="1"><c r="A1"><v>1</v></c><c r="A1"><v>1</v></c></row>',
        b'<row r="1"><c r="ZZZ1"><v>1</v></c></row>',
        b'<row r="1"><c r="XFE1"/></row>',
        b'<row r="2"/><row r="2"/>',
        b'<row r="2"/><row r="1"/>',
        b'<row r="1048577"><c r="A1048577"/></row>',
        b'<row r="1"><c r="A1"/><row r="2"/></row>',
        b'<c r="A1"/>',
        b'<row r="1"><c r="A1"><v>1</v></c>',
        b'<row r="1"/></row>',
    ],
)
def test_what_is_out_of_place_is_refused_as_by_expat_alone(rows):
    data = HEAD + b'<sheetData><row r="1"/></sheetData>' + FOOT
    assert not isinstance(read(data, True), str)
    broken = HEAD + b"<sheetData>" + rows + b"</sheetData>" + FOOT
    same_both_ways(broken)
