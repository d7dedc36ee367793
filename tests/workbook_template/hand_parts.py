"""Parts put into a workbook by hand, with their relationship and content type, as other programs
write them.
"""

from __future__ import annotations

import re
import zipfile
from pathlib import Path
from xml.sax.saxutils import quoteattr

from tests.workbook_template.travelling import parts
from workbook_template.travel.ooxml.package import relations_of

MAIN = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
R = f'xmlns:r="{OFFICE}"'
MICROSOFT = "http://schemas.microsoft.com/office"
WORKBOOK, SHEET = "xl/workbook.xml", "xl/worksheets/sheet1.xml"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006/relationships"


class HandMade:
    """The parts of a workbook file, to be added to."""

    def __init__(self, path: Path):
        self.path = path
        self.parts = parts(path)
        self._ids = 900

    def add(self, source, kind, name, data, content_type="application/xml", base=OFFICE) -> str:
        """A part that ``source`` points to; the id of the relationship."""
        self.parts[name] = data if isinstance(data, bytes) else data.encode()
        self.change(
            "[Content_Types].xml",
            "</Types>",
            f'<Override PartName="/{name}" ContentType="{content_type}"/></Types>',
        )
        return self.point(source, kind, "/" + name, base=base)

    def point(self, source, kind, target, mode="", base=OFFICE) -> str:
        """A relationship alone, with ``mode`` "External" for one that leads out."""
        self._ids += 1
        rels = relations_of(source)
        empty = f'<Relationships xmlns="{_PACKAGE}"></Relationships>'.encode()
        self.parts.setdefault(rels, empty)
        mode = f' TargetMode="{mode}"' if mode else ""
        tag = (
            f'<Relationship Id="rId{self._ids}" Type="{base}/{kind}"'
            f" Target={quoteattr(target)}{mode}/></Relationships>"
        )
        self.change(rels, "</Relationships>", tag)
        return f"rId{self._ids}"

    def change(self, part, old, new) -> None:
        """Another text for the first place where a text stands, which must be there."""
        old, new = (text if isinstance(text, bytes) else text.encode() for text in (old, new))
        assert old in self.parts[part], f"{part} has no {old!r}"
        self.parts[part] = self.parts[part].replace(old, new, 1)

    def before(self, part, element, new) -> None:
        """A text before the first tag of an element, or after the last where the name begins with a
        slash.
        """
        name = element.lstrip("/")
        pattern = rf"<{name}[\s>/]" if name == element else rf"</{name}>|<{name}\s[^>]*/>"
        found = re.search(pattern.encode(), self.parts[part])
        assert found, f"{part} has no {element}"
        at = found.start() if name == element else found.end()
        data = self.parts[part]
        self.parts[part] = data[:at] + new.encode() + data[at:]

    def written(self) -> Path:
        """The file with the parts as they are now."""
        with zipfile.ZipFile(self.path, "w", zipfile.ZIP_DEFLATED) as file:
            for name, data in self.parts.items():
                file.writestr(name, data)
        return self.path


def pivot(made: HandMade, by: str = "An Author", source: str = "") -> None:
    """A pivot table of the litres by the acid, in R1:S3 of the first sheet; ``source``: in another
    workbook.
    """
    types = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    cache = "xl/pivotCache/pivotCacheDefinition1.xml"
    identity = made.add(
        WORKBOOK, "pivotCacheDefinition", cache, b"", f"{types}.pivotCacheDefinition+xml"
    )
    records = made.add(
        cache,
        "pivotCacheRecords",
        "xl/pivotCache/pivotCacheRecords1.xml",
        f'<pivotCacheRecords {MAIN} count="1"><r><n v="301"/><x v="0"/></r></pivotCacheRecords>',
        f"{types}.pivotCacheRecords+xml",
    )
    outside = made.point(cache, "externalLinkPath", source, "External") if source else ""
    outside = f' r:id="{outside}"' if outside else ""
    made.parts[cache] = (
        f'<pivotCacheDefinition {MAIN} {R} r:id="{records}" refreshedBy="{by}"'
        ' refreshedDate="45000" createdVersion="6" refreshedVersion="6" minRefreshableVersion="3"'
        ' recordCount="1"><cacheSource type="worksheet"><worksheetSource ref="D1:E2"'
        f' sheet="Plan"{outside}/></cacheSource><cacheFields count="2"><cacheField name="litres"'
        ' numFmtId="0"><sharedItems containsSemiMixedTypes="0" containsString="0"'
        ' containsNumber="1" containsInteger="1" minValue="301"'
        ' maxValue="301"/></cacheField><cacheField name="acid" numFmtId="0"><sharedItems'
        ' count="1"><s'
        ' v="lactic"/></sharedItems></cacheField></cacheFields></pivotCacheDefinition>'
    ).encode()
    table = "xl/pivotTables/pivotTable1.xml"
    made.add(
        SHEET,
        "pivotTable",
        table,
        f'<pivotTableDefinition {MAIN} name="Litres" cacheId="1" dataCaption="Values"'
        ' updatedVersion="6" minRefreshableVersion="3" createdVersion="6"><location ref="R1:S3"'
        ' firstHeaderRow="1" firstDataRow="1" firstDataCol="1"/><pivotFields count="2"><pivotField'
        ' dataField="1" showAll="0"/><pivotField axis="axisRow" showAll="0"><items count="2"><item'
        ' x="0"/><item t="default"/></items></pivotField></pivotFields><rowFields count="1"><field'
        ' x="1"/></rowFields><rowItems count="2"><i><x/></i><i'
        ' t="grand"><x/></i></rowItems><colItems count="1"><i/></colItems><dataFields'
        ' count="1"><dataField name="Sum of litres" fld="0" baseField="0"'
        ' baseItem="0"/></dataFields></pivotTableDefinition>',
        f"{types}.pivotTable+xml",
    )
    made.point(table, "pivotCacheDefinition", "/" + cache)
    made.before(
        WORKBOOK,
        "/calcPr",
        f'<pivotCaches><pivotCache cacheId="1" r:id="{identity}"/></pivotCaches>',
    )


def threaded_comment(made: HandMade, person: str, account: str, provider: str = "AD") -> None:
    """A threaded comment on A1, which has a comment already, that mentions the person who wrote
    it.
    """
    base = f"{MICROSOFT}/2017/10/relationships"
    space = f'xmlns="{MICROSOFT}/spreadsheetml/2018/threadedcomments"'
    identity = "{00000000-0000-0000-0000-000000000001}"
    made.add(
        WORKBOOK,
        "person",
        "xl/persons/person.xml",
        f'<personList {space}><person displayName="{person}" id="{identity}" userId="{account}" '
        f'providerId="{provider}"/></personList>',
        "application/vnd.ms-excel.person+xml",
        base,
    )
    made.add(
        SHEET,
        "threadedComment",
        "xl/threadedComments/threadedComment1.xml",
        f'<ThreadedComments {space}><threadedComment ref="A1" dT="2026-01-12T08:00:00.00"'
        f' personId="{identity}" id="{{00000000-0000-0000-0000-000000000002}}"><text>@{person} is'
        f' this right?</text><mentions><mention mentionpersonId="{identity}"'
        ' mentionId="{00000000-0000-0000-0000-000000000003}" startIndex="0"'
        f' length="{len(person) + 1}"/></mentions></threadedComment></ThreadedComments>',
        "application/vnd.ms-excel.threadedcomments+xml",
        base,
    )


def form_control(made: HandMade, macro: str = "") -> str:
    """The element of a drop-down list on the sheet, whose VML shape is ``_x0000_s1900``."""
    identity = made.add(
        SHEET,
        "ctrlProp",
        "xl/ctrlProps/ctrlProp1.xml",
        f'<formControlPr xmlns="{MICROSOFT}/spreadsheetml/2009/9/main" objectType="Drop"'
        ' dropStyle="combo" dx="16" fmlaLink="$P$1" fmlaRange="$E$1:$E$2" val="0"/>',
        "application/vnd.ms-excel.controlproperties+xml",
    )
    shapes = next(name for name in made.parts if name.endswith(".vml"))
    made.change(
        shapes,
        "</xml>",
        '<v:shape id="_x0000_s1900" type="#_x0000_t201"'
        ' style="position:absolute;width:80pt;height:15pt"><x:ClientData'
        ' ObjectType="Drop"><x:Anchor>15, 0, 2, 0, 16, 0, 3,'
        " 0</x:Anchor></x:ClientData></v:shape></xml>",
    )
    macro = f' macro="[0]!{macro}"' if macro else ""
    return (
        f'<control shapeId="1900" r:id="{identity}" name="List"><controlPr defaultSize="0"'
        f' autoFill="0"{macro}>'
        "<anchor><from><xdr:col>15</xdr:col><xdr:colOff>0</xdr:colOff><xdr:row>2</xdr:row><xdr:rowOff>0"
        "</xdr:rowOff></from><to><xdr:col>16</xdr:col><xdr:colOff>0</xdr:colOff><xdr:row>3</xdr:row>"
        "<xdr:rowOff>0</xdr:rowOff></to></anchor></controlPr></control>"
    )


def with_controls(made: HandMade, *controls: str) -> None:
    """A sheet's list of controls, as Excel writes it: within alternatives."""
    mc = 'xmlns:mc="http://schemas.openxmlformats.org/markup-compatibility/2006"'
    xdr = 'xmlns:xdr="http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing"'
    x14 = f'xmlns:x14="{MICROSOFT}/spreadsheetml/2009/9/main"'
    one = '<mc:AlternateContent><mc:Choice Requires="x14">{}</mc:Choice></mc:AlternateContent>'
    made.before(
        SHEET,
        "/legacyDrawing",
        f'<mc:AlternateContent {mc} {xdr} {x14}><mc:Choice Requires="x14"><controls>'
        + "".join(map(one.format, controls))
        + "</controls></mc:Choice></mc:AlternateContent>",
    )
