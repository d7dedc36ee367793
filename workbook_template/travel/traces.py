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
from workbook_template.travel.part_types import CLEANED, DROPPED, KEPT, NAMESPACES, REFUSED

_SHEET_DATA = re.compile(rb"<((?:[\w.-]+:)?)sheetData\s*>(.*)</\1sheetData\s*>", re.DOTALL)
_HEADER = re.compile("(odd|even|first)(Header|Footer)")
_WEB = ("http://", "https://", "ftp://", "#")
_USER = re.compile(r"^(https?://|ftp://)[^/@?#]*@", re.IGNORECASE)
#: A folder as Windows, a server or a link writes it.
_FOLDER = re.compile(r"(?<![A-Za-z])[A-Za-z]:\\|\\\\[^\\\s]+\\|file:/", re.IGNORECASE)
#: A user's name and password in an address, or a password in a connection string or a link.
_SECRET = re.compile(
    r"://[^/@\s]*:[^/@\s]*@|\b(?:password|passwd|pwd|access_token|token|api_?key|secret|sig)\s*=[^=]",
    re.IGNORECASE,
)
_XML_REMARK = re.compile(rb"<!--.*?-->", re.DOTALL)
_LISTED = 20
#: Elements that go with the relationship that they name; those of the first kind lose only the attribute.
_LOSE_ATTRIBUTE = {"pageSetup", "blip", "imagedata", "worksheetSource", "rangeSet", "dataRef"}
_GO_WHOLE = {
    "oleObject",
    "control",
    "customPr",
    "hyperlink",
    "hlinkClick",
    "hlinkHover",
    "externalData",
    "contentPart",
    "audioFile",
    "videoFile",
    "quickTimeFile",
    "wavAudioFile",
}
#: Kinds of relationship that may lead out of the file.
_OUTSIDE = {
    *("hyperlink", "externalLinkPath", "xlPathMissing"),
    *("xlStartup", "xlAlternateStartup", "xlLibrary"),
}
#: Lists that may not be empty: the last entry takes its list along.
_CONTAINERS = {"oleObjects", "controls", "customProperties", "hyperlinks"}
#: Elements taken out wherever they stand, and attributes taken out by element.
_GONE = {
    "revisionPtr",
    "webPublishing",
    "webPublishObjects",
    "webPublishItems",
    "customWorkbookViews",
    "customSheetViews",
    "securityDescriptor",
    "mentions",
    "HLinks",
}
_BARE = {
    "pivotCacheDefinition": ("refreshedBy",),
    "scenario": ("user", "comment"),
    "protectedRange": ("securityDescriptor",),
    "fileSharing": ("userName",),
}
_CONNECTION = {
    "connection": (
        *("odcFile", "sourceFile", "description", "singleSignOnId"),
        *("refreshOnLoad", "interval", "background", "saveData"),
    ),
    "dbPr": ("serverCommand",),
    "webPr": ("url", "post", "editPage"),
}
_CONNECTION_GONE = ("parameters", "extLst", "textPr", "olapPr", "tables")
#: Attributes that say what a picture is, in which programs write the file that it came from.
_DESCRIBING = ("descr", "title", "alt", "name", "tooltip", "display")
_VML = b"urn:schemas-microsoft-com:vml"
_VML_MACRO = re.compile(rb"<x:FmlaMacro\b[^>]*>.*?</x:FmlaMacro\s*>", re.DOTALL)
_VML_PLACE = re.compile(rb"\s(?:o:href|src|href)\s*=\s*(\"[^\"]*\"|'[^']*')")
_VML_TITLE = re.compile(rb"(\s(?:o:title|alt|title)\s*=\s*)(\"[^\"]*\"|'[^']*')")


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
    pointed = _pointed_to(book, names)
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
            known = (word in KEPT or word in CLEANED) and kind.startswith(NAMESPACES)
            if word in REFUSED:
                raise BookError(f"{package.title} has {REFUSED[word]}")
            if word == "printerSettings":
                known = keep_people
            elif outside and word == "image":
                known = False
                said.append("a linked picture is left out")
            elif outside and known and word not in _OUTSIDE:
                known = False
                said.append(f"a part that is fetched from elsewhere ({word}) is left out")
            elif (
                outside
                and word == "externalLinkPath"
                and not source.lower().startswith("xl/externallinks")
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
    strays = 0
    for name in package.names():
        if name not in reached:
            strays += name not in pointed and not name.endswith(("/", ".rels"))
            package.remove(name)
    if strays:
        said.append(
            f"{strays} part{'s' if strays > 1 else ''} that nothing in the book uses "
            f"{'are' if strays > 1 else 'is'} left out"
        )
    present = {name.lower() for name in package.names()}
    gone = [
        (element.start, element.end, b"")
        for element in elements(package[TYPES], TYPES)
        if element.name == "Override"
        and element.attributes.get("PartName", "").lstrip("/").lower() not in present
    ]
    package[TYPES] = spliced(package[TYPES], gone)
    return list(dict.fromkeys(said))


def _pointed_to(book: Book, names: dict[str, str]) -> set[str]:
    """Every part that a chain of relationships leads to, whatever its kind."""
    found, waiting = {TYPES}, [""]
    while waiting:
        source = waiting.pop()
        rels = names.get(relations_of(source).lower())
        for relation in elements(book.package[rels], rels) if rels else ():
            target = resolve(source, relation.attributes.get("Target", "")).lower()
            part = names.get(target) or names.get(unquote(target))
            if relation.attributes.get("TargetMode") != "External" and part and part not in found:
                found.add(part)
                waiting.append(part)
    return found


def _unlink(book: Book, part: str, lost: set[str]) -> None:
    """Take out what names a relationship that is gone."""
    data, cuts = book.package[part], []
    if part.lower().endswith(".vml"):
        words = "|".join(re.escape(identity) for identity in lost if identity)
        pattern = rf"\s(?:o:relid|r:id|r:pict|r:href)\s*=\s*(?:\"(?:{words})\"|'(?:{words})')"
        if words:
            book.package[part] = re.sub(pattern.encode(), b"", data)
        return
    found = read(book, part)
    hits = {}
    for element in found:
        hit = [
            key for key, value in element.attributes.items() if key[:2] == "r:" and value in lost
        ]
        if hit:
            hits[element.start] = element, hit
    for element, hit in hits.values():
        if element.name in _LOSE_ATTRIBUTE:
            tag = data[element.start : element.inner]
            for key in hit:
                word = key.removeprefix("r:").encode()
                tag = re.sub(rb"\s[\w.-]+:" + word + rb"\s*=\s*(?:\"[^\"]*\"|'[^']*')", b"", tag)
            if element.name in (
                "worksheetSource",
                "rangeSet",
            ):  # no sheet of the same name may stand in for it
                tag = with_attribute(without_attributes(tag, "name"), "sheet", "not in this copy")
            cuts.append((element.start, element.inner, tag))
        elif element.name in _GO_WHOLE:
            whole = _whole(found, element, set(hits))
            cuts.append((whole.start, whole.end, b""))
        elif not any(
            outer.name in _GO_WHOLE and outer.start < element.start < outer.end
            for outer, _ in hits.values()
        ):
            raise BookError(
                f"{part} needs a part that must not travel ({element.name}): delete it from the book"
            )
    book.package[part] = spliced(data, outermost(cuts))


def _whole(found: list[Element], element: Element, going: set[int]) -> Element:
    """What must go with an element: its list where it is the last, its alternatives, or the anchor of an ink."""
    around = [outer for outer in found if outer.start < element.start < outer.end]
    around.sort(key=lambda outer: outer.start, reverse=True)
    inside = None
    for outer in around:
        if element.name == "contentPart" and outer.name.endswith("Anchor"):
            return outer
        if outer.name == "AlternateContent":
            inside = inside or outer
        if outer.name in _CONTAINERS:
            others = [
                one
                for one in found
                if one.name == element.name and outer.start < one.start < outer.end
            ]
            return outer if all(one.start in going for one in others) else inside or element
    return element


def remove_linked_objects(book: Book) -> bool:
    """Take out the objects that are linked through a link to another file; whether there were any."""
    some = False
    for sheet in book.sheets:
        if b"oleObject" not in book.package[sheet.part]:
            continue
        found = read(book, sheet.part)
        linked = [e for e in found if e.name == "oleObject" and e.attributes.get("link")]
        going = {element.start for element in linked}
        wholes = [_whole(found, element, going) for element in linked]
        cuts = outermost([(whole.start, whole.end, b"") for whole in wholes])
        if cuts:
            book.package[sheet.part] = spliced(book.package[sheet.part], cuts)
            some = True
    return some


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
    people = [] if keep_people else _people(book)
    images = _images(book)
    for part in package.names():
        data, kind = package[part], part.lower().rpartition(".")[2]
        if kind == "rels":
            said += _clean_targets(book, part)
        elif part in images:
            made = data if keep_people else pictures.plain(data)
            if made is None:
                said.append(
                    f"{part} is a picture of a kind that is not cleaned; look at it yourself"
                )
            elif made != data:
                package[part] = made
        elif kind == "vml" or _VML in data[:500]:
            new = _clean_vml(data, keep_people)
            if new != data:
                package[part] = new
        elif part != TYPES and (kind == "xml" or data[:5].lstrip(b"\xef\xbb\xbf \r\n")[:1] == b"<"):
            if b"<" not in data[:200]:
                continue
            if not keep_people and b"<!--" in data and b"<![CDATA[" not in data:
                package[part] = _XML_REMARK.sub(b"", data)
            cuts, words = _cuts(book, part, keep_people, people)
            said += words
            if cuts:
                package[part] = spliced(package[part], outermost(cuts))
    return list(dict.fromkeys(said))


def _images(book: Book) -> set[str]:
    """Parts that are pictures, by the relationships that lead to them or the folder that they stand in."""
    package = book.package
    names = {name.lower(): name for name in package.names()}
    found = {name for name in package.names() if "/media/" in name.lower()}
    for source in package.names():
        if package.spelled(relations_of(source)) in package:
            for relation in book.relations_of(source):
                kind = relation.attributes.get("Type", "").rpartition("/")[2]
                if kind in ("image", "hdphoto") and relation.attributes.get("TargetMode") is None:
                    target = resolve(source, relation.attributes.get("Target", "")).lower()
                    found.add(names.get(target) or names.get(unquote(target), ""))
    return found - {""}


def _people(book: Book) -> list[str]:
    """Names of the persons of threaded comments, the longest first."""
    found = set()
    for part in book.related(book.part, "person"):
        if part in book.package:
            found |= {
                element.attributes.get("displayName", "")
                for element in elements(book.package[part], part)
                if element.name == "person"
            }
    return sorted(found - {""}, key=len, reverse=True)


def _clean_vml(data: bytes, keep_people: bool) -> bytes:
    """VML is not always well-formed, so it is cleaned as text: macros, places, and folders in pictures' titles."""
    data = _VML_MACRO.sub(b"", data)
    if keep_people:
        return data
    data = _XML_REMARK.sub(b"", data)
    data = _VML_PLACE.sub(lambda m: m[0] if m[1][1:2] == b"#" else b"", data)
    return _VML_TITLE.sub(_shorter_title, data)


def _shorter_title(found: re.Match) -> bytes:
    text = found[2].decode("utf-8", "replace")
    base = _base(text[1:-1])
    return found[0] if base == text[1:-1] else found[1] + f"{text[0]}{base}{text[0]}".encode()


def _base(text: str) -> str:
    """The text with a folder in it shortened to what comes last."""
    return re.split(r"[/\\]", text)[-1] if _FOLDER.search(text) else text


def _cuts(book: Book, part: str, keep_people: bool, people: list[str]) -> tuple[list, list[str]]:
    data, found, cuts, said = book.package[part], read(book, part), [], []
    authors = [] if keep_people else [e.text for e in found if e.name == "author" and e.text]
    top = next((element.name for element in found if not element.path), "")
    for element in found:
        name, tag = element.name, data[element.start : element.inner]
        if element.attributes.get("macro"):
            cuts.append((element.start, element.inner, with_attribute(tag, "macro", "")))
            continue
        if top == "connections":
            cuts += _connection_cuts(element, tag)
        elif name == "xmlColumnPr":
            cuts.append((element.start, element.end, b""))
        elif name == "table" and element.attributes.get("tableType") == "xml":
            new = without_attributes(tag, "tableType", "connectionId")
            cuts.append((element.start, element.inner, new))
        elif name == "queryTable" and not element.path:
            said.append(
                f"a query table keeps its name: {element.attributes.get('name', '')} ({part})"
            )
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
        elif name in ("t", "text") and top in ("comments", "ThreadedComments"):
            text = _unnamed(element.text, authors, people)
            if text != element.text:
                cuts.append((element.inner, element.close, escape(text).encode()))
        elif _HEADER.fullmatch(name) and "&Z" in element.text.upper():
            text = re.sub(r"&&|&[Zz]", lambda m: "&&" if m[0] == "&&" else "", element.text)
            cuts.append((element.inner, element.close, escape(text).encode()))
        elif name in ("hyperlink", "hlinkClick", "hlinkHover", "cNvPr", "docPr"):
            new = tag
            for key in _DESCRIBING:
                value = element.attributes.get(key, "")
                if _base(value) != value:
                    new = with_attribute(new, key, _base(value))
            if new != tag:
                cuts.append((element.start, element.inner, new))
    if top == "connections":
        said.append("connections to data are left empty, without servers and passwords")
    if top == "pivotCacheRecords":
        said.append(
            "a pivot table carries the rows that it was made from, also those deleted since"
        )
    return cuts, said


def _unnamed(text: str, authors: list[str], people: list[str]) -> str:
    """A comment's text without the author before it and the people mentioned in it."""
    for author in authors:
        if text.strip() == author or text.lstrip().startswith(author + ":"):
            text = text.replace(author, "author", 1)
    for person in people:
        text = text.replace("@" + person, "@author")
    return text


def _connection_cuts(element: Element, tag: bytes) -> list:
    """A connection to data without where it leads and what it asks."""
    name = element.name
    if "connection" in element.path and name in _CONNECTION_GONE:
        return [(element.start, element.end, b"")]
    new = without_attributes(tag, *_CONNECTION.get(name, ()))
    if name == "connection":
        new = with_attribute(new, "name", f"connection {element.attributes.get('id', '')}")
    if name == "dbPr":
        new = with_attribute(without_attributes(new, "command"), "connection", "")
    return [] if new == tag else [(element.start, element.inner, new)]


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
        new, what = target, ""
        if not target.lower().startswith(_WEB):
            new = re.split(r"[/\\]|%5[Cc]|%2[Ff]", target)[-1] or "file"
            what = "a link keeps only its target's name, not the folder"
        elif _USER.search(target):
            new = _USER.sub(r"\1", target)
            what = "a link is left without the user and password in it"
        if _SECRET.search(new):
            said.append(f"a link holds what looks like a password or key, which stays: {new:.200}")
        if new != target:
            said.append(f"{what}: {new}")
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
    """Cells and names that show a folder or a password, which is content and stays; by where they are."""
    found = []
    for sheet in book.sheets:
        for place in sheet.cells.cells:
            formula = sheet.cells.formulas.get(place)
            value = sheet.value(*place)
            alive = formula and not formulas.calls(formula.text)
            texts = [formula.text if alive else "", value if isinstance(value, str) else ""]
            for what, pattern in (("what looks like a password", _SECRET), ("a folder", _FOLDER)):
                seen = next((text for text in texts if pattern.search(text)), None)
                if seen is not None:
                    where = shown(sheet.name, *place)
                    found.append(f"{where} shows {what}, which stays: {seen:.200}")
                    break
    found += [
        f"the name {name.name} holds a folder, which stays"
        for name in book.names
        if _FOLDER.search(name.text)
    ]
    if len(found) > _LISTED:
        found = [*found[:_LISTED], f"{len(found) - _LISTED} more cells or names hold a folder"]
    return found
