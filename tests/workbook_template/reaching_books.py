"""Books that reach for an address when a program opens them, in every way that the formats have."""

from __future__ import annotations

import zipfile
from pathlib import Path

import xlsxwriter

from tests.workbook_template.travelling import DOSE

_PNG = (
    b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01\x08\x02\0\0\0\x90wS\xde\0\0\0\x0cIDATx\x9cc"
    b"\xf8\xcf\xc0\0\0\x03\x01\x01\0\xc9\xfe\x92\xef\0\0\0\0IEND\xaeB`\x82"
)
_REL = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"


def xlsx(path: Path, address: str) -> Path:
    """A linked picture, a linked OLE object, WEBSERVICE, another workbook, a web query; and a
    hyperlink, which stays.
    """
    picture = path.with_suffix(".png")
    picture.write_bytes(_PNG)
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("Plan")
        sheet.write_row(0, 0, [100.0, 7.5, 5.5, 300.0, "lactic", 88.0])
        sheet.write_formula("G1", DOSE.format(1))
        sheet.write_formula("A3", f'=_xlfn.WEBSERVICE("{address}/webservice")')
        sheet.write_formula("A4", "=[1]Sheet1!A1*2", None, 84.0)
        sheet.write_url("A5", f"{address}/hyperlink")
        sheet.insert_image("A7", picture)
    picture.unlink()
    with zipfile.ZipFile(path) as file:
        parts = {name: file.read(name) for name in file.namelist()}
    parts["xl/drawings/drawing1.xml"] = parts["xl/drawings/drawing1.xml"].replace(
        b"r:embed=", b"r:link="
    )
    parts["xl/drawings/_rels/drawing1.xml.rels"] = _relations(
        ("rId1", "image", f"{address}/picture.png")
    )
    del parts["xl/media/image1.png"]
    parts["xl/externalLinks/externalLink1.xml"] = (
        "<externalLink"
        ' xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><externalBook'
        f' xmlns:r="{_REL}" r:id="rId1"><sheetNames><sheetName'
        ' val="Sheet1"/></sheetNames><sheetDataSet><sheetData sheetId="0"><row r="1"><cell'
        ' r="A1"><v>42</v></cell></row></sheetData></sheetDataSet></externalBook></externalLink>'
    ).encode()
    parts["xl/externalLinks/_rels/externalLink1.xml.rels"] = _relations(
        ("rId1", "externalLinkPath", f"{address}/other.xlsx")
    )
    parts["xl/connections.xml"] = (
        "<connections"
        ' xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><connection id="1"'
        ' name="query" type="4" refreshedVersion="6" background="1" refreshOnLoad="1"><webPr'
        ' sourceData="1" parsePre="1" consecutive="1"'
        f' url="{address}/query.html"/></connection></connections>'
    ).encode()
    parts["xl/queryTables/queryTable1.xml"] = (
        b'<queryTable xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
        b' name="query" refreshOnLoad="1" connectionId="1"/>'
    )
    parts["xl/worksheets/_rels/sheet1.xml.rels"] = parts[
        "xl/worksheets/_rels/sheet1.xml.rels"
    ].replace(
        b"</Relationships>",
        f'<Relationship Id="rId90" Type="{_REL}/queryTable"'
        ' Target="../queryTables/queryTable1.xml"/></Relationships>'.encode(),
    )
    parts["xl/_rels/workbook.xml.rels"] = parts["xl/_rels/workbook.xml.rels"].replace(
        b"</Relationships>",
        f'<Relationship Id="rId90" Type="{_REL}/externalLink"'
        ' Target="externalLinks/externalLink1.xml"/><Relationship Id="rId91"'
        f' Type="{_REL}/connections" Target="connections.xml"/></Relationships>'.encode(),
    )
    parts["xl/workbook.xml"] = parts["xl/workbook.xml"].replace(
        b"</sheets>",
        f'</sheets><externalReferences><externalReference xmlns:r="{_REL}"'
        ' r:id="rId90"/></externalReferences>'.encode(),
    )
    main = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    parts["[Content_Types].xml"] = parts["[Content_Types].xml"].replace(
        b"</Types>",
        "".join(
            f'<Override PartName="/xl/{part}.xml" ContentType="{main}.{kind}+xml"/>'
            for part, kind in (
                ("externalLinks/externalLink1", "externalLink"),
                ("connections", "connections"),
                ("queryTables/queryTable1", "queryTable"),
            )
        ).encode()
        + b"</Types>",
    )
    return _packed(path, parts)


def _relations(*rows: tuple[str, str, str]) -> bytes:
    return (
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        + "".join(
            f'<Relationship Id="{identity}" Type="{_REL}/{kind}" Target="{target}"'
            ' TargetMode="External"/>'
            for identity, kind, target in rows
        )
        + "</Relationships>"
    ).encode()


def ods(path: Path, address: str) -> Path:
    """Linked pictures, a linked range, sheet and object, DDE, a macro at opening, another book; and
    a hyperlink.
    """
    names = {
        "office": "office",
        "table": "table",
        "text": "text",
        "draw": "drawing",
        "script": "script",
        "style": "style",
    }
    spaces = " ".join(
        f'xmlns:{short}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
        for short, name in names.items()
    )
    spaces += (
        ' xmlns:xlink="http://www.w3.org/1999/xlink"'
        ' xmlns:of="urn:oasis:names:tc:opendocument:xmlns:of:1.2"'
        ' xmlns:svg="urn:oasis:names:tc:opendocument:xmlns:svg-compatible:1.0"'
        ' xmlns:ooo="http://openoffice.org/2004/office"'
        ' xmlns:dom="http://www.w3.org/2001/xml-events"'
    )
    link = 'xlink:type="simple" xlink:show="embed" xlink:actuate="onLoad"'
    size = 'svg:x="1cm" svg:y="1cm" svg:width="2cm" svg:height="2cm"'
    content = f"""<?xml version="1.0" encoding="UTF-8"?>
<office:document-content {spaces} office:version="1.3">
<office:scripts><office:event-listeners><script:event-listener script:language="ooo:script"
 script:event-name="dom:load" xlink:href="vnd.sun.star.script:Standard.M.Main?language=Basic&amp;location=document"
 xlink:type="simple"/></office:event-listeners></office:scripts>
<office:body><office:spreadsheet>
<table:table table:name="Plan"><table:shapes>
<draw:frame {size}><draw:image {link} xlink:href="{address}/picture.png"/></draw:frame>
<draw:frame {size}><draw:object {link} xlink:href="{address}/object.ods"/></draw:frame>
</table:shapes>
<table:table-row><table:table-cell office:value-type="float" office:value="5"><text:p>5</text:p></table:table-cell>
<table:table-cell office:value-type="float" office:value="7" table:number-columns-spanned="1"><table:cell-range-source
 table:name="A1" {link} xlink:href="{address}/range.ods" table:filter-name="calc8" table:last-column-spanned="1"
 table:last-row-spanned="1" table:refresh-delay="PT1S"/><text:p>7</text:p></table:table-cell>
<table:table-cell table:formula="of:=COM.MICROSOFT.WEBSERVICE(&quot;{address}/webservice&quot;)" office:value-type="float"
 office:value="8"><text:p>8</text:p></table:table-cell>
<table:table-cell table:formula="of:=DDE(&quot;soffice&quot;;&quot;{address}/dde.ods&quot;;&quot;A1&quot;)"
 office:value-type="float" office:value="9"><text:p>9</text:p></table:table-cell>
<table:table-cell table:formula="of:=['{address}/book.ods'#$Sheet1.A1]" office:value-type="float"
 office:value="10"><text:p>10</text:p></table:table-cell>
<table:table-cell office:value-type="string"><text:p><text:a xlink:href="{address}/hyperlink">link</text:a></text:p>
</table:table-cell></table:table-row></table:table>
<table:table table:name="Linked"><table:table-source xlink:type="simple" xlink:href="{address}/sheet.ods"
 table:table-name="Sheet1" table:filter-name="calc8" table:refresh-delay="PT1S"/><table:table-row>
<table:table-cell office:value-type="float" office:value="11"><text:p>11</text:p></table:table-cell>
</table:table-row></table:table>
<table:dde-links><table:dde-link><office:dde-source office:dde-application="soffice" office:dde-topic="{address}/dde.ods"
 office:dde-item="A1" office:automatic-update="true"/><table:table><table:table-row><table:table-cell
 office:value-type="float" office:value="9"/></table:table-row></table:table></table:dde-link></table:dde-links>
</office:spreadsheet></office:body></office:document-content>"""
    styles = f"""<?xml version="1.0" encoding="UTF-8"?>
<office:document-styles {spaces} office:version="1.3"><office:styles>
<draw:fill-image draw:name="fill" {link} xlink:href="{address}/fill.png"/></office:styles>
<office:automatic-styles><style:page-layout style:name="p"><style:page-layout-properties>
<style:background-image {link} xlink:href="{address}/background.png"/></style:page-layout-properties>
</style:page-layout></office:automatic-styles>
<office:master-styles><style:master-page style:name="Default" style:page-layout-name="p"/></office:master-styles>
</office:document-styles>"""
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    manifest = f"""<?xml version="1.0" encoding="UTF-8"?>
<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0" manifest:version="1.3">
<manifest:file-entry manifest:full-path="/" manifest:version="1.3" manifest:media-type="{kind}"/>
<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/>
<manifest:file-entry manifest:full-path="styles.xml" manifest:media-type="text/xml"/>
</manifest:manifest>"""
    parts = {
        "mimetype": kind.encode(),
        "content.xml": content.encode(),
        "styles.xml": styles.encode(),
        "META-INF/manifest.xml": manifest.encode(),
    }
    return _packed(path, parts)


def _packed(path: Path, parts: dict[str, bytes]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        for name, data in parts.items():
            file.writestr(name, data)
    return path
