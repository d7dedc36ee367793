"""What a copy for others must not carry: names of people, folders, printers, macros, links, demands
to recalculate.
"""

from __future__ import annotations

import re

from workbook_template.travel import formulas, part_removal, traces
from workbook_template.travel.calls import catalogue_name
from workbook_template.travel.ooxml.addresses import shown
from workbook_template.travel.ooxml.elements import (
    elements,
    spliced,
    tag_name,
    with_attribute,
    without_attributes,
)
from workbook_template.travel.ooxml.package import resolve
from workbook_template.travel.ooxml.parts import WORKBOOK_TYPE, remove_part, set_type
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.user_errors import BookError

#: Document properties that stay: what the document is called, when it was made and by which
#: program, and its outline; people and places, and what document systems file it by, are others.
_IMPERSONAL = frozenset(
    """created modified lastPrinted revision version title subject language
    Application AppVersion DocSecurity ScaleCrop LinksUpToDate SharedDoc HyperlinksChanged
    TotalTime Pages Words Characters HeadingPairs TitlesOfParts vector variant lpstr
    i4""".split()
)
#: A series that reads another workbook; ``[0]`` is the workbook itself, and a pivot chart names its
#: source elsewhere.
_CHART_LINK = re.compile(rb"<(?:\w+:)?f>[^<]*\[(?!0\])[^\]<]*\][^<]*!")


def remove_people(book: StoredBook) -> None:
    """Empty author, last editor, manager and company; take out the folder and whoever reserved the
    file.
    """
    package = book.package
    for part in [*book.related("", "core-properties"), *book.related("", "extended-properties")]:
        if part in package:
            cuts = [
                (element.inner, element.close, b"")
                for element in elements(package[part], part)
                if element.path and element.name not in _IMPERSONAL
            ]
            package[part] = spliced(package[part], part_removal.outermost(cuts))
    data = package[book.part]
    found = elements(data, book.part)
    cuts = []
    for element in found:
        if (
            element.name == "AlternateContent"
            and element.path == ("workbook",)
            and b"absPath" in data[element.start : element.end]
        ):
            cuts.append((element.start, element.end, b""))
        elif element.name == "absPath" and "AlternateContent" not in element.path:
            cuts.append((element.start, element.end, b""))
        elif element.name == "fileSharing":
            cuts.append(
                (
                    element.start,
                    element.inner,
                    without_attributes(data[element.start : element.inner], "userName"),
                )
            )
    package[book.part] = spliced(data, cuts)


def clean(
    book: StoredBook, keep_metadata: bool, keep_links: bool, recalculate: bool = False
) -> list[str]:
    """Take out of a copy what must not travel, after the sheets' edits are applied; remarks on what
    went or stays.

    ``keep_metadata`` leaves people, folders of the book and headers; macros, connections' secrets
    and parts of unknown kinds never travel. ``recalculate`` lets the program that opens the copy
    work it out, which holds no function of ours. A BookError where something that must go is still
    needed.
    """
    said = []
    remove_function_names(book)
    if remove_macros(book):
        said.append("the macros are left out; restore does not bring them back")
    if not keep_links:
        remove_links(book)
        if part_removal.remove_linked_objects(book):
            said.append("objects that are linked to other files are left out")
    remove_calculation_state(book)
    if recalculate:
        ask_for_calculation(book)
    if not keep_metadata:
        remove_people(book)
        said += traces.clean_properties(book)
    said += part_removal.remove_parts(book, keep_metadata)
    return said + traces.clean_parts(book, keep_metadata)


def remove_macros(book: StoredBook) -> bool:
    """Take out the macros; whether there were any."""
    parts = book.related(book.part, "vbaProject")
    for part in parts:
        for relation in book.relations_of(part):  # its signatures
            signature = resolve(part, relation.attributes.get("Target", ""))
            if signature in book.package:
                remove_part(book.package, signature, part)
        remove_part(book.package, part, book.part)
    if parts:
        set_type(book.package, book.part, WORKBOOK_TYPE)
    return bool(parts)


def macro_sheets(book: StoredBook) -> bool:
    """Whether the book has macro sheets of the old kind, which run without a macro part."""
    return any(
        element.attributes.get("Type", "").endswith(("/xlMacrosheet", "/xlIntlMacrosheet"))
        for element in book.relations
    )


def remove_calculation_state(book: StoredBook) -> None:
    """No full calculation when the copy opens, and no order of calculation that names frozen
    cells.
    """
    remove_calculation_order(book)
    data = book.package[book.part]
    cuts = [
        (
            element.start,
            element.inner,
            without_attributes(
                data[element.start : element.inner], "fullCalcOnLoad", "forceFullCalc"
            ),
        )
        for element in elements(data, book.part)
        if element.name == "calcPr"
    ]
    book.package[book.part] = spliced(data, cuts)


def remove_calculation_order(book: StoredBook) -> None:
    """No order of calculation, which names cells that hold something else now."""
    for part in book.related(book.part, "calcChain"):
        remove_part(book.package, part, book.part)


def ask_for_calculation(book: StoredBook) -> None:
    """Have the spreadsheet program work out the whole book when it opens it."""
    data = book.package[book.part]
    found = elements(data, book.part)
    for element in found:
        if element.name == "calcPr":
            tag = with_attribute(data[element.start : element.inner], "fullCalcOnLoad", "1")
            book.package[book.part] = spliced(data, [(element.start, element.inner, tag)])
            return
    before = [e for e in found if e.name in ("sheets", "definedNames", "externalReferences")]
    at = max(element.end for element in before if element.path == ("workbook",))
    prefix = tag_name(data, before[0].start).decode().rpartition(":")[0]
    opened = f"<{prefix}:" if prefix else "<"
    book.package[book.part] = spliced(
        data, [(at, at, f'{opened}calcPr fullCalcOnLoad="1"/>'.encode())]
    )


def remove_function_names(book: StoredBook) -> None:
    """Take out the names that LibreOffice writes for add-in functions; Excel would see macro
    functions in them.
    """
    data = book.package[book.part]
    found = elements(data, book.part)
    names = [element for element in found if element.name == "definedName"]
    strays = [
        element
        for element in names
        if element.attributes.get("function") in ("1", "true")
        and catalogue_name(element.attributes.get("name", ""))
    ]
    if strays and len(strays) == len(names):
        strays = [element for element in found if element.name == "definedNames"]
    book.package[book.part] = spliced(
        data, [(element.start, element.end, b"") for element in strays]
    )


def linked(book: StoredBook) -> list[str]:
    """What reads other workbooks: cells, names, rules and charts, by where they are."""
    found = [
        shown(sheet.name, *place)
        for sheet in book.sheets
        for place, formula in sheet.cells.formulas.items()
        if formulas.links(formula.text)
    ]
    found += [f"the name {name.name}" for name in book.names if formulas.links(name.text)]
    found += [
        f"a rule on {sheet.name}"
        for sheet in book.sheets
        for element in sheet.cells.others
        if formulas.links(element.text)
    ]
    found += [
        part
        for part in book.package.names()
        if part.startswith("xl/charts/")
        and part.endswith(".xml")
        and b"[" in book.package[part]
        and _CHART_LINK.search(book.package[part])
    ]
    return found


def remove_links(book: StoredBook) -> None:
    """Take out the links to other workbooks; a BookError where something still reads them."""
    users = linked(book)
    if users:
        raise BookError(
            "the book reads other workbooks, so whoever gets the copy would be asked about links:"
            f" {', '.join(users[:12])}{' ...' if len(users) > 12 else ''}; paste these as values,"
            " or keep the links with --keep-links"
        )
    parts = book.related(book.part, "externalLink")
    for part in parts:
        remove_part(book.package, part, book.part)
    data = book.package[book.part]
    cuts = [
        (element.start, element.end, b"")
        for element in elements(data, book.part)
        if element.name == "externalReferences"
    ]
    book.package[book.part] = spliced(data, cuts)
