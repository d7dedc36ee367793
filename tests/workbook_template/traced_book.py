"""A book with a marker in each place where programs leave names, folders and secrets."""

from __future__ import annotations

import base64
import io
import struct
import zlib
from pathlib import Path

from tests.workbook_template.hand_parts import (
    MAIN,
    MICROSOFT,
    SHEET,
    WORKBOOK,
    HandMade,
    form_control,
    pivot,
    threaded_comment,
    with_controls,
)
from tests.workbook_template.test_share import PNG
from tests.workbook_template.travelling import plan

#: Marker by the place where it stands.
MARKERS: dict[str, str] = {}


def mark(place: str) -> str:
    """The marker of a place, the same each time."""
    return MARKERS.setdefault(place, f"TRACE{len(MARKERS) + 1:02}")


def forms(marker: str) -> set[bytes]:
    """How a marker may stand in a file: in UTF-8 and UTF-16, and as base64 of either wherever it
    begins.
    """
    found = {marker.encode(), marker.encode("utf-16-le"), marker.encode("utf-16-be")}
    for plain in list(found):
        for offset in range(3):
            coded = base64.b64encode(b"\0" * offset + plain)
            # The first and last characters also code what stands beside the marker.
            core = coded[-(-offset * 8 // 6) : (offset + len(plain)) * 8 // 6]
            found |= {core, core.decode().encode("utf-16-le")}
    return found


def chunk(kind: bytes, data: bytes) -> bytes:
    """A chunk of a PNG."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def segment(marker: int, data: bytes) -> bytes:
    """A segment of a JPEG."""
    return struct.pack(">BBH", 0xFF, marker, len(data) + 2) + data


def exif(maker: str, area: str) -> bytes:
    """Exif 2.3: the camera's maker, and an IFD of GPS with a latitude and the name of the area."""
    maker_at = 8 + 2 + 2 * 12 + 4
    gps_at = maker_at + len(maker) + 1
    area_at = gps_at + 2 + 2 * 12 + 4
    area_data = b"ASCII\0\0\0" + area.encode()
    first = struct.pack("<H", 2)
    first += struct.pack("<HHII", 0x010F, 2, len(maker) + 1, maker_at)
    first += struct.pack("<HHII", 0x8825, 4, 1, gps_at) + struct.pack("<I", 0)
    gps = struct.pack("<H", 2)
    gps += struct.pack("<HHII", 0x0002, 5, 3, area_at + len(area_data))
    gps += struct.pack("<HHII", 0x001C, 7, len(area_data), area_at) + struct.pack("<I", 0)
    latitude = struct.pack("<6I", 48, 1, 8, 1, 15, 1)
    tiff = b"II*\0" + struct.pack("<I", 8) + first + maker.encode() + b"\0" + gps + area_data
    return b"Exif\0\0" + tiff + latitude


#: A whole picture of 8 by 8 grey points (ITU-T T.81): one code in each table, one block of zeros.
_JFIF = b"\xff\xd8" + segment(0xE0, b"JFIF\0\1\1\0\0\1\0\1\0\0")
_IMAGE = (
    segment(0xDB, b"\0" + b"\1" * 64)
    + segment(0xC0, b"\x08\0\x08\0\x08\1\1\x11\0")
    + segment(0xC4, b"\x00" + b"\1" + b"\0" * 15 + b"\0")
    + segment(0xC4, b"\x10" + b"\1" + b"\0" * 15 + b"\0")
    + segment(0xDA, b"\1\1\0\0\x3f\0")
    + b"\x3f\xff\xd9"
)
JPEG = _JFIF + _IMAGE


def photograph() -> bytes:
    """The picture as a camera and an editor leave it."""
    return (
        _JFIF
        + segment(0xE1, exif(mark("camera in EXIF"), mark("place in EXIF")))
        + segment(0xE1, f"http://ns.adobe.com/xap/1.0/\0{mark('XMP of a JPEG')}".encode())
        + segment(0xED, f"Photoshop 3.0\0{mark('IPTC of a JPEG')}".encode())
        + segment(0xFE, mark("comment of a JPEG").encode())
        + _IMAGE
        + mark("after the end of a JPEG").encode()
    )


def noted_png() -> bytes:
    """A picture with notes."""
    return (
        PNG[:33]
        + chunk(b"tEXt", b"Author\0" + mark("text in a PNG").encode())
        + chunk(b"eXIf", mark("EXIF of a PNG").encode())
        + PNG[33:]
        + mark("after the end of a PNG").encode()
    )


def _written(book, sheet) -> None:
    """What XlsxWriter can write."""
    person = mark("person of a threaded comment")
    sheet.write_comment(
        "A1", f"[Threaded comment]\n\n@{person} is this right?", {"author": "tc={2}"}
    )
    author = mark("author of a comment")
    sheet.write_comment("A2", f"{author}:\nA remark", {"author": author})
    folder = mark("folder of a picture")
    sheet.insert_image(
        "N20",
        "dot.png",
        {"image_data": io.BytesIO(noted_png()), "description": rf"C:\{folder}\dot.png"},
    )
    sheet.insert_image("N25", "photo.jpg", {"image_data": io.BytesIO(photograph())})
    sheet.insert_button("N30", {"macro": mark("macro of a button"), "caption": "Go"})
    sheet.set_header("&L&Z&F &&Z kept")
    sheet.write_url("L1", rf"external:C:\{mark('folder of a link')}\water.pdf", string="Water")
    sheet.write_url("L2", "https://example.org/report", tip=rf"\\{mark('server in a tip')}\d\r.htm")
    user, word = mark("user in a link"), mark("password in a link")
    sheet.write_url("L3", f"HTTPS://{user}:x@{word}@example.org/a", string="a")
    sheet.write_url("L4", f"mailto:{mark('mail address')}@example.org", string="Mail")
    sheet.write_url("L5", f"https://example.org/b?token={mark('key in a link')}", string="b")
    sheet.write("L6", rf"\\server\{mark('folder in a cell')}\x")
    sheet.write("L7", f"Server=x;Password={mark('password in a cell')}")
    sheet.add_table("U1:V3", {"columns": [{"header": "x"}, {"header": "y"}]})
    chart = book.add_chart({"type": "bar"})
    chart.add_series({"values": "=Plan!$A$1:$A$2"})
    book.add_chartsheet("Chart").set_chart(chart)
    book.set_custom_property("MSIP_Label", mark("custom property"))
    places = {
        **{"author": "author of the book", "company": "company", "manager": "manager"},
        **{"keywords": "keywords", "comments": "description", "category": "category"},
        **{"status": "status", "hyperlink_base": "base of links"},
    }
    book.set_properties({key: mark(place) for key, place in places.items()} | {"title": "A plan"})


def _workbook_parts(made: HandMade) -> None:
    mashup = base64.b64encode(f"..{mark('Power Query')}".encode()).decode()
    item = f'<?xml version="1.0" encoding="utf-16"?><DataMashup>{mashup}</DataMashup>'
    made.add(WORKBOOK, "customXml", "customXml/item1.xml", item.encode("utf-16"))
    made.add(
        "customXml/item1.xml",
        "customXmlProps",
        "customXml/itemProps1.xml",
        f"<x>{mark('properties of custom XML')}</x>",
    )
    made.add(
        WORKBOOK,
        "connections",
        "xl/connections.xml",
        f'<connections {MAIN}><connection id="1" name="{mark("name of a connection")}" type="1"'
        f' sourceFile="{mark("file of a connection")}" refreshedVersion="5"'
        f' description="{mark("description of a connection")}" odcFile="{mark("ODC file")}"><dbPr'
        f' connection="Provider=X;Password={mark("password of a connection")}"'
        f' command="{mark("query of a connection")}"/></connection><connection id="2" name="web"'
        f' type="4" refreshedVersion="5"><webPr url="http://{mark("web query")}/"'
        f' post="{mark("post of a web query")}"/></connection><connection id="3" name="text"'
        ' type="6" refreshedVersion="5"><textPr'
        f' sourceFile="{mark("text import")}"/></connection></connections>',
    )
    made.add(
        SHEET,
        "queryTable",
        "xl/queryTables/queryTable1.xml",
        f'<queryTable {MAIN} name="{mark("name of a query table")}" connectionId="1"/>',
    )
    made.add(WORKBOOK, "usernames", "xl/revisions/userNames.xml", f"<x>{mark('users')}</x>")
    headers = "xl/revisions/revisionHeaders.xml"
    made.add(WORKBOOK, "revisionHeaders", headers, f"<x>{mark('heads of changes')}</x>")
    made.add(headers, "revisionLog", "xl/revisions/log1.xml", f"<x>{mark('old values')}</x>")
    made.add(WORKBOOK, "unheardOf", "xl/unheard/of.xml", f"<x>{mark('a kind unheard of')}</x>")
    made.add(
        WORKBOOK,
        "volatileDependencies",
        "xl/volatileDependencies.xml",
        f"<volTypes>{mark('server of live data')}</volTypes>",
    )
    macros = mark("macros").encode("utf-16-le")
    made.add(
        WORKBOOK, "vbaProject", "xl/vbaProject.bin", macros, base=f"{MICROSOFT}/2006/relationships"
    )
    made.add(
        "xl/vbaProject.bin",
        "vbaProjectSignature",
        "xl/vbaProjectSignature.bin",
        mark("signature of macros"),
        base=f"{MICROSOFT}/2006/relationships",
    )
    schema = rf'<MapInfo {MAIN}><Schema SchemaRef="C:\{mark("XML map")}"/></MapInfo>'
    made.add(WORKBOOK, "xmlMaps", "xl/xmlMaps.xml", schema)
    made.add(SHEET, "tableSingleCells", "xl/tables/single1.xml", f"<x>{mark('bound cell')}</x>")
    table = "xl/tables/table1.xml"
    made.change(
        table,
        '<tableColumn id="1" name="x"/>',
        '<tableColumn id="1" uniqueName="x" name="x"><xmlColumnPr mapId="1" '
        f'xpath="/{mark("path of a bound column")}" xmlDataType="string"/></tableColumn>',
    )
    made.change(table, "<table ", '<table tableType="xml" ')
    made.add("", "metadata/thumbnail", "docProps/thumbnail.jpeg", mark("thumbnail"))
    made.add(
        "",
        "classificationlabels",
        "docMetadata/LabelInfo.xml",
        f"<x>{mark('sensitivity label')}</x>",
    )
    made.parts["xl/orphan.xml"] = f"<x>{mark('a part that nothing uses')}</x>".encode()


def _workbook_elements(made: HandMade) -> None:
    made.before(
        WORKBOOK,
        "workbookPr",
        f'<fileSharing userName="{mark("who reserved the book")}"/>',
    )
    ac = f"{MICROSOFT}/spreadsheetml/2010/11/ac"
    made.before(
        WORKBOOK,
        "bookViews",
        "<mc:AlternateContent"
        ' xmlns:mc="http://schemas.openxmlformats.org/markup-compatibility/2006">'
        rf'<mc:Choice Requires="x15"><x15ac:absPath xmlns:x15ac="{ac}"'
        rf' url="C:\{mark("folder of the book")}\"/>'
        "</mc:Choice></mc:AlternateContent><xr:revisionPtr"
        f' xmlns:xr="{MICROSOFT}/spreadsheetml/2014/revision" '
        f'documentId="{mark("document id")}"/>',
    )
    made.before(
        WORKBOOK,
        "/calcPr",
        f'<customWorkbookViews><customWorkbookView name="{mark("view of a person")}"'
        ' guid="{00000000-0000-0000-0000-000000000009}" windowWidth="1" windowHeight="1"'
        ' activeSheetId="1"/></customWorkbookViews>',
    )
    made.change(
        WORKBOOK,
        "</workbook>",
        '<webPublishObjects count="1"><webPublishObject id="1" divId="x" '
        f'destinationFile="{mark("published file")}"/></webPublishObjects></workbook>',
    )
    made.change(
        "docProps/app.xml",
        "</Properties>",
        f"<Template>{mark('document template')}</Template><HLinks>{mark('list of links')}</HLinks></Properties>",
    )
    made.change(
        "docProps/app.xml", "<Properties", f"<!-- {mark('remark in the XML')} --><Properties"
    )
    others = ("contributor", "publisher", "source", "rights", "creatorOfTheCopy")
    made.change(
        "docProps/core.xml",
        "</cp:coreProperties>",
        "".join(f"<dc:{name}>{mark(f'property {name}')}</dc:{name}>" for name in others)
        + "</cp:coreProperties>",
    )
    styles = "xl/styles.xml"
    folder = f'<?xml-stylesheet href="file:///C:/{mark("instruction in the XML")}/a.xsl"?>'
    made.change(styles, "<styleSheet", f"{folder}<styleSheet")
    made.change(
        styles,
        "</styleSheet>",
        '<extLst><ext uri="x"><x xmlns="urn:x"><![CDATA[<!-- stays -->]]></x></ext></extLst>'
        f"<!-- {mark('remark beside what is quoted')} --></styleSheet>",
    )


def _sheet_parts(made: HandMade) -> None:
    threaded_comment(
        made,
        mark("person of a threaded comment"),
        f"S::{mark('account of a person')}@example.org",
        mark("provider of an account"),
    )
    pivot(
        made,
        mark("who refreshed a pivot table"),
        rf"file:///C:\{mark('source of a pivot table')}\b.xlsx",
    )
    listed = form_control(made, mark("macro of a control"))
    active = made.add(SHEET, "control", "xl/activeX/activeX1.xml", f"<x>{mark('ActiveX')}</x>")
    made.add(
        "xl/activeX/activeX1.xml",
        "activeXControlBinary",
        "xl/activeX/activeX1.bin",
        mark("state of an ActiveX control").encode("utf-16-le"),
        base=f"{MICROSOFT}/2006/relationships",
    )
    name = mark("name of an ActiveX control")
    with_controls(made, listed, f'<control shapeId="1901" r:id="{active}" name="{name}"/>')
    ole = made.add(SHEET, "oleObject", "xl/embeddings/oleObject1.bin", mark("OLE object"))
    word = made.add(SHEET, "package", "xl/embeddings/report.docx", mark("embedded document"))
    made.before(
        SHEET,
        "/legacyDrawing",
        f'<oleObjects><oleObject progId="Package" shapeId="1902" r:id="{ole}"/>'
        f'<oleObject progId="Word.Document.12" shapeId="1903" r:id="{word}"/></oleObjects>',
    )
    printer = made.add(
        SHEET, "printerSettings", "xl/printerSettings/p1.bin", mark("printer").encode("utf-16-le")
    )
    made.before(SHEET, "headerFooter", f'<pageSetup orientation="portrait" r:id="{printer}"/>')
    custom = made.add(
        SHEET, "customProperty", "xl/customProperty1.bin", mark("property of a sheet")
    )
    made.before(
        SHEET,
        "drawing",
        f'<customProperties><customPr name="{mark("name of a property")}"'
        f' r:id="{custom}"/></customProperties>',
    )
    chartsheet = "xl/chartsheets/sheet1.xml"
    printer = made.add(
        chartsheet,
        "printerSettings",
        "xl/printerSettings/p2.bin",
        mark("printer of a chart sheet").encode("utf-16-le"),
    )
    made.before(chartsheet, "drawing", f'<pageSetup orientation="landscape" r:id="{printer}"/>')
    chart = "xl/charts/chart1.xml"
    pasted = made.add(
        chart, "package", "xl/embeddings/pasted.xlsx", mark("workbook behind a chart")
    )
    made.change(chart, "</c:chartSpace>", f'<c:externalData r:id="{pasted}"/></c:chartSpace>')
    drawing = "xl/drawings/drawing1.xml"
    where = rf"file:///C:\{mark('linked picture')}\p.png"
    made.change(
        drawing,
        ' r:embed="',
        f' r:link="{made.point(drawing, "image", where, "External")}" r:embed="',
    )
    shapes = next(name for name in made.parts if name.endswith(".vml"))
    made.change(
        shapes,
        "</xml>",
        '<v:shape id="_x0000_s1901" type="#_x0000_t75"'
        ' style="position:absolute;width:9pt;height:9pt">'
        rf'<v:imagedata o:title="C:\{mark("title in VML")}\a"'
        rf' o:href="file:///{mark("link in VML")}"/><br>'
        "</v:shape></xml>",
    )


def _sheet_elements(made: HandMade) -> None:
    made.change(
        SHEET,
        "</sheetData>",
        '</sheetData><protectedRanges><protectedRange name="Range" sqref="A1"'
        f' securityDescriptor="O:WDG:WDD:(A;;CC;;;{mark("who may edit a range")})"/></protectedRanges><scenarios><scenario'
        f' name="Dry" count="1" user="{mark("user of a scenario")}" comment="Created by'
        f' {mark("comment of a scenario")}"><inputCells r="A1" val="1"/></scenario></scenarios>',
    )
    made.before(
        SHEET,
        "tableParts",
        '<webPublishItems count="1"><webPublishItem id="1" divId="x" sourceType="sheet" '
        f'destinationFile="{mark("published sheet")}"/></webPublishItems>',
    )


def traced(path: Path) -> Path:
    """Write the book; :data:`MARKERS` then holds every marker in it."""
    plan(path, 2, _written)
    made = HandMade(path)
    made.change(
        WORKBOOK, "<workbook ", f'<workbook xmlns:x15="{MICROSOFT}/spreadsheetml/2010/11/main" '
    )
    _workbook_parts(made)
    _workbook_elements(made)
    _sheet_parts(made)
    _sheet_elements(made)
    return made.written()
