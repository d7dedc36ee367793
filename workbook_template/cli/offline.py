"""What a document would fetch or run when LibreOffice opens it, taken out of the copy that
LibreOffice gets.

The profile already keeps LibreOffice from the network (:mod:`udfs.hosts.calc.quiet_profile`); this
is the second wall, and the one that also holds for folders on other machines. A hyperlink stays: it
is followed on a click only. Another workbook on this machine stays as well: its values are stored
in the document and are not fetched anew.
"""

from __future__ import annotations

import re
from xml.sax.saxutils import unescape

from workbook_template.cli.opendocument import OpenDocument
from workbook_template.travel.ooxml.elements import elements, parse, parser, spliced, tag_end
from workbook_template.travel.ooxml.package import Package

#: In place of an address: a scheme that nothing serves.
NOWHERE = b"unavailable:"
_XLINK = "http://www.w3.org/1999/xlink href"
_SCHEME = re.compile(r"[A-Za-z][A-Za-z0-9+.\-]+:")
_LOCAL = re.compile(r"file:(?:///|/)(?![/\\])", re.IGNORECASE)
_ATTRIBUTE = rb"""\s(?:[\w.\-]+:)?%b\s*=\s*("[^"]*"|'[^']*')"""
#: Elements whose address is followed on a click only; those that name another workbook.
_CLICKED = ("a", "h")
_WORKBOOKS = ("table-source", "cell-range-source")


def offline(document: Package) -> int:
    """Take out of a document, in memory, what opening it would fetch or run; how many addresses
    that were.
    """
    return _opendocument(document) if isinstance(document, OpenDocument) else _xlsx(document)


def _xlsx(book: Package) -> int:
    """Relationships to the outside (ECMA-376 part 2, TargetMode) and addresses of queries."""
    count = 0
    for name in book.names():
        lower = name.lower()
        if lower.endswith(".rels"):
            wanted, attribute = _reaches, b"Target"
        elif re.fullmatch(r"xl/connections\d*\.xml", lower):
            wanted, attribute = lambda element: element.name == "webPr", b"url"
        else:
            continue
        data = book[name]
        cuts = [
            cut
            for element in elements(data, name)
            if wanted(element)
            for cut in _cut(data, element.start, attribute)
        ]
        count += len(cuts)
        if cuts:
            book[name] = spliced(data, cuts)
    return count


def _reaches(element) -> bool:
    if element.name != "Relationship" or element.attributes.get("TargetMode") != "External":
        return False
    kind = element.attributes.get("Type", "").rpartition("/")[2]
    target = element.attributes.get("Target", "")
    return kind != "hyperlink" and not (kind == "externalLinkPath" and _here(target))


def _opendocument(document: Package) -> int:
    """Addresses in ``xlink:href`` that lead out of the package, and the programs of DDE links."""
    count = 0
    for name in document.names():
        if not name.endswith(".xml"):
            continue
        data = document[name]
        cuts: list[tuple[int, int, bytes]] = []
        made = parser(f"{document.title}, {name}")

        def start(tag, attributes, name=name, made=made, data=data, cuts=cuts):
            local = tag.rpartition(" ")[2]
            place = made.CurrentByteIndex
            if local == "dde-source":
                cuts.extend(_cut(data, place, b"dde-application"))
            href = attributes.get(_XLINK)
            if href is None or local in _CLICKED or not _leads_out(href, name.count("/")):
                return
            if not (local in _WORKBOOKS and _here(href)):
                cuts.extend(_cut(data, place, b"href"))

        made.StartElementHandler = start
        parse(made, data, f"{document.title}, {name}")
        count += len(cuts)
        if cuts:
            document[name] = spliced(data, cuts)
    return count


def _leads_out(href: str, depth: int) -> bool:
    """Whether an address is none inside the package (OpenDocument part 2: relative), ``depth``
    folders below its root.
    """
    href = href.strip()
    if _SCHEME.match(href) or href[:1] in ("/", "\\"):
        return True
    for step in href.replace("\\", "/").split("/"):
        depth += -1 if step == ".." else step not in ("", ".")
        if depth < 0:
            return True
    return False


def _here(target: str) -> bool:
    """Whether an address is a file of this machine, and not of a share on another."""
    target = unescape(target).strip()
    if _SCHEME.match(target):
        return bool(_LOCAL.match(target)) or bool(re.match(r"[A-Za-z]:[\\/]", target))
    return not re.match(r"[\\/]{2}", target)


def _cut(data: bytes, start: int, attribute: bytes) -> list[tuple[int, int, bytes]]:
    """The change that leads an attribute of the tag at ``start`` nowhere."""
    return [
        (found.start(1) + 1, found.end(1) - 1, NOWHERE)
        for found in re.compile(_ATTRIBUTE % attribute).finditer(data, start, tag_end(data, start))
    ]
