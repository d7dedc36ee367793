"""Parts that must not travel in a copy, taken out with all that points to them."""

from __future__ import annotations

import re
from urllib.parse import unquote

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
from workbook_template.travel.part_types import CLEANED, DROPPED, KEPT, NAMESPACES, REFUSED
from workbook_template.user_errors import BookError

_SHEET_DATA = re.compile(rb"<((?:[\w.-]+:)?)sheetData\s*>(.*)</\1sheetData\s*>", re.DOTALL)
#: Elements that go with the relationship that they name; those of the first kind lose only the
#: attribute.
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


def read(book: StoredBook, part: str) -> list[Element]:
    """Elements of a part; a sheet's cells are passed over."""
    data = book.package[part]
    found = _SHEET_DATA.search(data)
    if found:
        start, stop = found.span(2)
        data = data[:start] + b" " * (stop - start) + data[stop:]
    return elements(data, part)


def remove_parts(book: StoredBook, keep_people: bool = False) -> list[str]:
    """Take out each part of a kind that is not known to be harmless, and what points to it; what
    was taken out.
    """
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


def _pointed_to(book: StoredBook, names: dict[str, str]) -> set[str]:
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


def _unlink(book: StoredBook, part: str, lost: set[str]) -> None:
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
                f"{part} needs a part that must not travel ({element.name}): delete it from the"
                " book"
            )
    book.package[part] = spliced(data, outermost(cuts))


def _whole(found: list[Element], element: Element, going: set[int]) -> Element:
    """What must go with an element: its list where it is the last, its alternatives, or the anchor
    of an ink.
    """
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


def remove_linked_objects(book: StoredBook) -> bool:
    """Take out the objects that are linked through a link to another file; whether there were
    any.
    """
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
