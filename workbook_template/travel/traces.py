"""Traces of people, folders and secrets inside the parts of a copy, and parts that must not travel at all."""

from __future__ import annotations

import re
from urllib.parse import unquote
from xml.sax.saxutils import escape

from workbook_template.errors import BookError
from workbook_template.travel import formulas, pictures
from workbook_template.travel.ooxml.addresses import shown
from workbook_template.travel.ooxml.book import Book
from workbook_template.travel.ooxml.elements import (
    Element,
    elements,
    spliced,
    with_attribute,
    without_attributes,
)
from workbook_template.travel.ooxml.package import relations_of, resolve
from workbook_template.travel.ooxml.parts import TYPES
from workbook_template.travel.part_types import DROPPED, KEPT, NAMESPACES

_SHEET_DATA = re.compile(rb"<((?:[\w.-]+:)?)sheetData\s*>(.*)</\1sheetData\s*>", re.DOTALL)
_HEADER = re.compile("(odd|even|first)(Header|Footer)")
_USER = re.compile(r"^(https?://|ftp://)[^/@]*@")
#: A folder as Windows, a server or a link writes it.
_FOLDER = re.compile(r"(?<![A-Za-z])[A-Za-z]:\\|\\\\[^\\\s]+\\|file:/", re.IGNORECASE)
_LISTED = 20
#: Elements that go with the relationship that they name; those of the first kind lose only the attribute.
_LOSE_ATTRIBUTE = {"pageSetup", "blip", "imagedata", "worksheetSource", "rangeSet", "dataRef"}
_GO_WHOLE = {"oleObject", "control", "customPr", "hyperlink", "hlinkClick", "hlinkHover"}
_CONTAINERS = {"oleObjects", "controls", "customProperties"}
#: Elements taken out wherever they stand, and attributes taken out by element.
_GONE = {
    "revisionPtr",
    "webPublishing",
    "webPublishObjects",
    "webPublishItems",
    "customWorkbookViews",
    "customSheetViews",
    "dataModel",
}
_BARE = {
    "pivotCacheDefinition": ("refreshedBy",),
    "scenario": ("user",),
    "protectedRange": ("securityDescriptor",),
    "fileSharing": ("userName",),
}
_CONNECTION = {
    "connection": ("odcFile", "sourceFile", "description", "singleSignOnId"),
    "dbPr": ("serverCommand",),
    "webPr": ("url", "post", "editPage"),
}


def read(book: Book, part: str) -> list[Element]:
    """Elements of a part; a sheet's cells are passed over."""
    data = book.package[part]
    found = _SHEET_DATA.search(data)
    if found:
        start, stop = found.span(2)
        data = data[:start] + b" " * (stop - start) + data[stop:]
    return elements(data, part)


def remove_parts(book: Book, keep_people: bool = False) -> list[str]:
    """Take out each part of a kind that is not known to be harmless, and what points to it; what was taken out."""
    package = book.package
    said: list[str] = []
    names = {name.lower(): name for name in package.names()}
    reached, waiting = {TYPES, relations_of("")}, [""]
    while waiting:
        source = waiting.pop()
        rels = names.get(relations_of(source).lower())
        if rels is None:
            continue
        reached.add(rels)
        lost, cuts = set(), []
        for relation in elements(package[rels], rels):
            if relation.name != "Relationship":
                continue
            kind = relation.attributes.get("Type", "")
            word = kind.rpartition("/")[2]
            outside = relation.attributes.get("TargetMode") == "External"
            target = resolve(source, relation.attributes.get("Target", ""))
            part = names.get(target.lower()) or names.get(unquote(target).lower())
            known = word in KEPT and kind.startswith(NAMESPACES)
            if word == "printerSettings":
                known = keep_people
            elif outside and word == "image":
                known = False
                said.append("a linked picture is left out")
            elif (
                outside and word == "externalLinkPath" and not source.startswith("xl/externalLinks")
            ):
                known = False
                said.append("the path of a pivot table's source is left out")
            elif not known:
                said.append(
                    f"{DROPPED.get(word, 'a part of an unknown kind')} is left out: {target}"
                )
            if known and (outside or part or target in ("", source)):
                if not outside and part and part not in reached:
                    reached.add(part)
                    waiting.append(part)
                continue
            lost.add(relation.attributes.get("Id", ""))
            cuts.append((relation.start, relation.end, b""))
        if cuts:
            package[rels] = spliced(package[rels], cuts)
            if source:
                _unlink(book, source, lost)
    for name in package.names():
        if name not in reached:
            package.remove(name)
    present = {name.lower() for name in package.names()}
    gone = [
        (element.start, element.end, b"")
        for element in elements(package[TYPES], TYPES)
        if element.name == "Override"
        and element.attributes.get("PartName", "").lstrip("/").lower() not in present
    ]
    package[TYPES] = spliced(package[TYPES], gone)
    return list(dict.fromkeys(said))


def _unlink(book: Book, part: str, lost: set[str]) -> None:
    """Take out what names a relationship that is gone."""
    found = read(book, part)
    data, cuts = book.package[part], []
    for element in found:
        hit = [
            key for key, value in element.attributes.items() if key[:2] == "r:" and value in lost
        ]
        if part.endswith(".vml") and element.attributes.get("relid") in lost:
            hit.append("relid")
        if not hit:
            continue
        if element.name in _LOSE_ATTRIBUTE:
            tag = data[element.start : element.inner]
            for key in hit:
                word = key.removeprefix("r:").encode()
                tag = re.sub(rb"\s[\w.-]+:" + word + rb"\s*=\s*(?:\"[^\"]*\"|'[^']*')", b"", tag)
            cuts.append((element.start, element.inner, tag))
            continue
        if element.name not in _GO_WHOLE:
            raise BookError(
                f"{part} needs a part that must not travel ({element.name}): delete it from the book"
            )
        whole = next(
            (
                outer
                for outer in found
                if outer.name in _CONTAINERS and outer.start < element.start < outer.end
            ),
            element,
        )
        cuts.append((whole.start, whole.end, b""))
    book.package[part] = spliced(data, outermost(cuts))


def outermost(cuts: list) -> list:
    """The edits without those inside another, and each once."""
    kept: list = []
    for cut in sorted(set(cuts), key=lambda cut: (cut[0], -cut[1])):
        if not kept or cut[0] >= kept[-1][1]:
            kept.append(cut)
    return kept


def clean_parts(book: Book, keep_people: bool) -> list[str]:
    """Empty the traces inside the parts that stay; what was changed or could not be."""
    said: list[str] = []
    package = book.package
    for part in package.names():
        if part.endswith(".rels"):
            said += _clean_targets(book, part)
        elif part.endswith((".xml", ".vml")) and part != TYPES:
            if part.endswith(".vml") or b"<" not in package[part][:200]:
                continue
            cuts = _cuts(book, part, keep_people)
            if cuts:
                package[part] = spliced(package[part], outermost(cuts))
                if b"connections" in package[part][:400]:
                    said.append("connections to data are left empty, without servers and passwords")
        elif "/media/" in part and not keep_people:
            made = pictures.plain(package[part])
            if made is None:
                said.append(
                    f"{part} is a picture of a kind that is not cleaned; look at it yourself"
                )
            elif made != package[part]:
                package[part] = made
    return list(dict.fromkeys(said))


def _cuts(book: Book, part: str, keep_people: bool) -> list:
    data, found, cuts = book.package[part], read(book, part), []
    authors = [] if keep_people else [e.text for e in found if e.name == "author" and e.text]
    connections = any(e.name == "connections" and not e.path for e in found)
    for element in found:
        name, tag = element.name, data[element.start : element.inner]
        if connections:
            new = without_attributes(tag, *_CONNECTION.get(name, ()))
            if name == "connection":
                new = with_attribute(new, "name", f"connection {element.attributes.get('id', '')}")
            if name == "dbPr":
                new = with_attribute(without_attributes(new, "command"), "connection", "")
            if (
                name in ("parameters", "extLst", "textPr", "olapPr")
                and "connection" in element.path
            ):
                cuts.append((element.start, element.end, b""))
            elif new != tag:
                cuts.append((element.start, element.inner, new))
        elif keep_people:
            continue
        elif name in _GONE:
            cuts.append((element.start, element.end, b""))
        elif name in _BARE and (new := without_attributes(tag, *_BARE[name])) != tag:
            cuts.append((element.start, element.inner, new))
        elif name == "author" and not element.text.startswith("tc={"):
            cuts.append((element.inner, element.close, b"author" if element.text else b""))
        elif name == "person":
            new = with_attribute(without_attributes(tag, "userId"), "displayName", "author")
            new = with_attribute(with_attribute(new, "providerId", "None"), "userId", "")
            cuts.append((element.start, element.inner, new))
        elif name == "t" and element.text.strip().removesuffix(":") in authors:
            cuts.append((element.inner, element.close, b"author:"))
        elif name == "hyperlink" and _FOLDER.search(
            element.attributes.get("display", "") + " " + element.attributes.get("tooltip", "")
        ):
            cuts.append(
                (element.start, element.inner, without_attributes(tag, "display", "tooltip"))
            )
        elif _HEADER.fullmatch(name) and "&Z" in element.text:
            text = re.sub(r"&&|&[Zz]", lambda m: "&&" if m[0] == "&&" else "", element.text)
            cuts.append((element.inner, element.close, escape(text).encode()))
    return cuts


def _clean_targets(book: Book, rels: str) -> list[str]:
    """Folders out of hyperlinks' targets; addresses and names that stay are listed."""
    data, cuts, said = book.package[rels], [], []
    for element in elements(data, rels):
        kind = element.attributes.get("Type", "").rpartition("/")[2]
        if element.attributes.get("TargetMode") != "External" or kind != "hyperlink":
            continue
        target = element.attributes.get("Target", "")
        if target.lower().startswith("mailto:"):
            said.append(f"a link to a mail address stays: {target[7:]}")
            continue
        new = _USER.sub(r"\1", target)
        if not target.lower().startswith(("http://", "https://", "ftp://", "#")):
            new = re.split(r"[/\\]|%5[Cc]|%2[Ff]", target)[-1] or "file"
        if new != target:
            said.append(f"a link keeps only its target's name, not the folder: {new}")
            tag = with_attribute(data[element.start : element.inner], "Target", new)
            cuts.append((element.start, element.inner, tag))
    book.package[rels] = spliced(data, cuts)
    return said


def clean_properties(book: Book) -> list[str]:
    """Custom document properties but our own go; which."""
    said = []
    for part in book.related("", "custom-properties"):
        cuts = []
        if part not in book.package:
            continue
        for element in elements(book.package[part], part):
            name = element.attributes.get("name", "")
            if element.name == "property" and not name.lower().startswith("spargesheet"):
                cuts.append((element.start, element.end, b""))
                said.append(f"the document property {name} is left out")
        book.package[part] = spliced(book.package[part], cuts)
    return said


def shown_folders(book: Book) -> list[str]:
    """Cells and names that show a folder, which is content and stays; by where they are."""
    found = []
    for sheet in book.sheets:
        for place in sheet.cells.cells:
            formula = sheet.cells.formulas.get(place)
            value = sheet.value(*place)
            alive = formula and not formulas.calls(formula.text)
            texts = [formula.text if alive else "", value if isinstance(value, str) else ""]
            seen = next((text for text in texts if _FOLDER.search(text)), None)
            if seen is not None:
                found.append(
                    f"{shown(sheet.name, *place)} shows a folder, which stays: {seen:.200}"
                )
    found += [
        f"the name {name.name} holds a folder, which stays"
        for name in book.names
        if _FOLDER.search(name.text)
    ]
    if len(found) > _LISTED:
        found = [*found[:_LISTED], f"{len(found) - _LISTED} more cells or names hold a folder"]
    return found
