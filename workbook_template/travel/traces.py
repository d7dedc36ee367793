"""Traces of people, folders and secrets inside the parts of a copy that stay."""

from __future__ import annotations

import re
from urllib.parse import unquote
from xml.sax.saxutils import escape

from workbook_template.travel import formulas, pictures
from workbook_template.travel.ooxml.addresses import shown
from workbook_template.travel.ooxml.elements import (
    Element,
    elements,
    spliced,
    with_attribute,
    without_attributes,
)
from workbook_template.travel.ooxml.package import relations_of, resolve
from workbook_template.travel.ooxml.parts import TYPES
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.travel.part_removal import outermost, read

_HEADER = re.compile("(odd|even|first)(Header|Footer)")
_WEB = ("http://", "https://", "ftp://", "#")
_USER = re.compile(r"^(https?://|ftp://)[^/?#]*@", re.IGNORECASE)
#: A folder as Windows, a server or a link writes it.
_FOLDER = re.compile(r"(?<![A-Za-z])[A-Za-z]:\\|\\\\[^\\\s]+\\|file:/", re.IGNORECASE)
#: A user's name and password in an address, or a password in a connection string or a link.
_SECRET = re.compile(
    r"://[^/@\s]*:[^/@\s]*@"
    r"|\b(?:password|passwd|pwd|access_token|token|api_?key|secret|sig)\s*=[^=]",
    re.IGNORECASE,
)
#: Remarks and instructions to programs in XML, in which a folder or a name may stand; what is
#: quoted stays.
_XML_REMARK = re.compile(
    rb"(?P<quoted><!\[CDATA\[.*?\]\]>)|<!--.*?-->|<\?(?!xml[\s?]).*?\?>", re.DOTALL
)
_LISTED = 20
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


def clean_parts(book: StoredBook, keep_people: bool) -> list[str]:
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
            if not keep_people and (new := _without_remarks(data)) != data:
                package[part] = new
            cuts, words = _cuts(book, part, keep_people, people)
            said += words
            if cuts:
                package[part] = spliced(package[part], outermost(cuts))
    return list(dict.fromkeys(said))


def _without_remarks(data: bytes) -> bytes:
    if b"<!--" not in data and data.rfind(b"<?") <= 3:  # beyond the mark of UTF-8
        return data
    return _XML_REMARK.sub(lambda found: found["quoted"] or b"", data)


def _images(book: StoredBook) -> set[str]:
    """Parts that are pictures, by the relationships that lead to them or the folder that they stand
    in.
    """
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


def _people(book: StoredBook) -> list[str]:
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
    """VML is not always well-formed, so it is cleaned as text: macros, places, and folders in
    pictures' titles.
    """
    data = _VML_MACRO.sub(b"", data)
    if keep_people:
        return data
    data = _without_remarks(data)
    data = _VML_PLACE.sub(lambda m: m[0] if m[1][1:2] == b"#" else b"", data)
    return _VML_TITLE.sub(_shorter_title, data)


def _shorter_title(found: re.Match) -> bytes:
    text = found[2].decode("utf-8", "replace")
    base = _base(text[1:-1])
    return found[0] if base == text[1:-1] else found[1] + f"{text[0]}{base}{text[0]}".encode()


def _base(text: str) -> str:
    """The text with a folder in it shortened to what comes last."""
    return re.split(r"[/\\]", text)[-1] if _FOLDER.search(text) else text


def _cuts(
    book: StoredBook, part: str, keep_people: bool, people: list[str]
) -> tuple[list, list[str]]:
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


def _clean_targets(book: StoredBook, rels: str) -> list[str]:
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


def clean_properties(book: StoredBook) -> list[str]:
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


def shown_folders(book: StoredBook) -> list[str]:
    """Cells and names that show a folder or a password, which is content and stays; by where they
    are.
    """
    found = []
    for sheet in book.sheets:
        for place, cell in sheet.cells.cells.items():
            formula = cell.formula
            if formula is None and cell.kind in ("n", "b", "e"):
                continue
            value = book.stored(cell)
            alive = formula.text if formula and not formulas.calls(formula.text) else ""
            texts = [text for text in (alive, value) if isinstance(text, str) and text]
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
