"""Traces of the sender: none is left in a copy unless the command says so."""

import io
import struct
import zlib

import openpyxl
import pytest

from tests.workbook_template import whole_package
from tests.workbook_template.test_share import PNG
from tests.workbook_template.travel_fixtures import quick_engine  # noqa: F401
from tests.workbook_template.travelling import parts, plan, rewritten
from workbook_template.cli.office import converted
from workbook_template.travel import pictures
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.share import shared

pytestmark = pytest.mark.usefixtures("quick_engine")
MAIN = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
SHEET = "xl/worksheets/sheet1.xml"


def relation(kind, target, number, mode="", base=OFFICE):
    return (
        f'<Relationship Id="rId{number}" Type="{base}/{kind}" Target="{target}" {mode}/>'
    ).encode()


def chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


NOTED_PNG = PNG[:33] + chunk(b"tEXt", b"Author\0TRACE01") + chunk(b"eXIf", b"TRACE02") + PNG[33:]

#: Parts put in: name, relationship kind, whose relationship, bytes.
WORKBOOK_PARTS = [
    ("customXml/item1.xml", "customXml", b"<x>TRACE03</x>"),
    (
        "xl/connections.xml",
        "connections",
        f'<connections {MAIN}><connection id="1" name="TRACE04" sourceFile="TRACE05" type="1" '
        'refreshedVersion="5" description="TRACE06" odcFile="TRACE07"><dbPr '
        'connection="Provider=X;Password=TRACE08" command="TRACE09"/></connection>'
        "</connections>".encode(),
    ),
    ("xl/revisions/userNames.xml", "usernames", b"<users>TRACE10</users>"),
    ("xl/revisions/revisionHeaders.xml", "revisionHeaders", b"<headers>TRACE11</headers>"),
    ("xl/model/item.data", "powerPivotData", "TRACE12".encode("utf-16-le")),
    ("xl/unheard/of.xml", "unheardOf", b"<x>TRACE13</x>"),
    (
        "xl/persons/person.xml",
        "person",
        b'<personList xmlns="http://schemas.microsoft.com/office/spreadsheetml/2018/'
        b'threadedcomments"><person displayName="TRACE14" id="{00000000-0000-0000-0000-000000000001}"'
        b' userId="TRACE15" providerId="TRACE16"/></personList>',
    ),
    (
        "xl/pivotCache/pivotCacheDefinition1.xml",
        "pivotCacheDefinition",
        f'<pivotCacheDefinition {MAIN} refreshedBy="TRACE17"/>'.encode(),
    ),
]


def traced(path):
    """A book with a marker in each place where programs leave names, folders and secrets."""

    def extra(book, sheet):
        sheet.write_comment("A1", "A remark", {"author": "TRACE18"})
        sheet.insert_image("N20", "dot.png", {"image_data": io.BytesIO(NOTED_PNG)})
        sheet.set_header("&L&Z&F &&Z kept")
        sheet.write_url("L1", "external:C:\\TRACE19\\water.pdf")
        sheet.write_url("L2", "https://example.org/report")
        book.set_custom_property("MSIP_Label", "TRACE20")
        book.set_properties(
            {
                "author": "TRACE21",
                "company": "TRACE22",
                "manager": "TRACE23",
                "keywords": "TRACE24",
                "comments": "TRACE25",
                "category": "TRACE26",
                "title": "A plan",
            }
        )

    plan(path, 2, extra)
    content = {
        "xl/_rels/workbook.xml.rels": lambda data: data.replace(
            b"</Relationships>",
            b"".join(
                relation(kind, "/" + name, 900 + number)
                for number, (name, kind, _) in enumerate(WORKBOOK_PARTS)
            )
            + b"</Relationships>",
        ),
        "_rels/.rels": lambda data: data.replace(
            b"</Relationships>",
            relation("metadata/thumbnail", "docProps/thumbnail.jpeg", 901)
            + relation("metadata/classificationlabels", "docMetadata/LabelInfo.xml", 902)
            + b"</Relationships>",
        ),
        "docProps/thumbnail.jpeg": b"\xff\xd8TRACE27",
        "docMetadata/LabelInfo.xml": b"<labels>TRACE28</labels>",
        "[Content_Types].xml": lambda data: data.replace(
            b"<Override",
            b'<Default Extension="data" ContentType="application/octet-stream"/><Override',
            1,
        ),
        "xl/workbook.xml": lambda data: data.replace(
            b"<bookViews>",
            b'<xr:revisionPtr xmlns:xr="http://schemas.microsoft.com/office/spreadsheetml/2014/'
            b'revision" documentId="TRACE29"/><bookViews>',
        ).replace(
            b"</workbook>",
            b'<customWorkbookViews><customWorkbookView name="TRACE30"/></customWorkbookViews>'
            b'<webPublishObjects><webPublishObject destinationFile="TRACE31"/></webPublishObjects>'
            b"</workbook>",
        ),
    }
    content |= {name: data for name, _, data in WORKBOOK_PARTS}
    return rewritten(path, content)


def leaks(copy):
    said = "\n".join(copy.remarks)
    found = []
    for name, data in parts(copy.data).items():
        for number in range(1, 32):
            marker = f"TRACE{number:02}"
            forms = marker.encode(), marker.encode("utf-16-le")
            if any(form in data for form in forms) and marker not in said:
                found.append((marker, name))
    return found


def test_no_trace_is_left_that_is_not_listed(tmp_path):
    path = traced(tmp_path / "traced.xlsx")
    before = parts(path)
    everything = b"".join(before.values())
    for number in range(1, 32):
        marker = f"TRACE{number:02}"
        assert marker.encode() in everything or marker.encode("utf-16-le") in everything
    copy = shared(Package.read(path))
    assert leaks(copy) == []
    after = parts(copy.data)
    assert whole_package.faults(after) == []
    assert b"water.pdf" in after["xl/worksheets/_rels/sheet1.xml.rels"]
    assert b"https://example.org/report" in after["xl/worksheets/_rels/sheet1.xml.rels"]
    assert b"&amp;&amp;Z kept" in after[SHEET] and b"A plan" in after["docProps/core.xml"]
    assert after["xl/media/image1.png"] == PNG


def test_secrets_do_not_travel_even_where_people_may(tmp_path):
    path = traced(tmp_path / "traced.xlsx")
    kept = b"".join(parts(shared(Package.read(path), keep_metadata=True).data).values())
    assert b"TRACE08" not in kept and b"TRACE13" not in kept
    assert b"TRACE18" in kept and b"TRACE21" in kept


def test_a_clean_copy_loads(tmp_path):
    path = plan(
        tmp_path / "plan.xlsx",
        2,
        lambda book, sheet: sheet.write_comment("A1", "x", {"author": "A"}),
    )
    copy = shared(Package.read(path))
    assert whole_package.faults(parts(copy.data)) == []
    assert openpyxl.load_workbook(io.BytesIO(copy.data))["Plan"]["A1"].comment.author == "author"


def test_a_photograph_keeps_its_image_and_loses_its_notes():
    head = b"\xff\xd8\xff\xe0\x00\x10JFIF\0\1\1\0\0\1\0\1\0\0"
    exif = b"\xff\xe1\x00\x0dExif\0\0TRACE" + b"\xff\xfe\x00\x07TRACE"
    image = b"\xff\xda\x00\x02\x12\xff\x00\x34\xff\xd0\x56\xff\xd9"
    assert pictures.plain(head + exif + image + b"TRACE") == head + image


def test_a_picture_that_is_not_known_is_not_called_clean():
    assert pictures.plain(b"GIF89a") is None
    assert pictures.plain(NOTED_PNG[:-6]) is None


@pytest.mark.office
def test_libreoffice_opens_the_clean_copy(tmp_path):
    copy = shared(Package.read(traced(tmp_path / "traced.xlsx")))
    opened = converted(copy.data, "copy.xlsx", "xlsx")
    sheet = openpyxl.load_workbook(io.BytesIO(opened), data_only=True)["Plan"]
    written = openpyxl.load_workbook(io.BytesIO(copy.data), data_only=True)["Plan"]
    assert sheet["G1"].value == pytest.approx(written["G1"].value, rel=1e-12)
