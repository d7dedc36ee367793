"""What a copy for others must not carry: names of people, folders, printers, macros, links, demands to recalculate."""

from __future__ import annotations

import re

from workbook_template.errors import BookError
from workbook_template.travel import formulas
from workbook_template.travel.calls import catalogue_name
from workbook_template.travel.ooxml.addresses import shown
from workbook_template.travel.ooxml.book import Book
from workbook_template.travel.ooxml.elements import elements, spliced, without_attributes
from workbook_template.travel.ooxml.parts import WORKBOOK_TYPE, remove_part, set_type

_PERSONAL = {"creator", "lastModifiedBy", "Manager", "Company", "HyperlinkBase"}
#: A series that reads another workbook; ``[0]`` is the workbook itself, and a pivot chart names its source elsewhere.
_CHART_LINK = re.compile(rb"<(?:\w+:)?f>[^<]*\[(?!0\])[^\]<]*\][^<]*!")


def remove_people(book: Book) -> None:
    """Empty author, last editor, manager and company; take out the folder and whoever reserved the file."""
    package = book.package
    for part in [*book.related("", "core-properties"), *book.related("", "extended-properties")]:
        if part in package:
            cuts = [
                (element.inner, element.close, b"")
                for element in elements(package[part], part)
                if element.name in _PERSONAL
            ]
            package[part] = spliced(package[part], cuts)
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


def remove_printers(book: Book, cut) -> None:
    """Take out the parts with printer settings; ``cut(sheet, start, end, new)`` edits the sheet that names one."""
    for sheet in book.sheets:
        identities: list[str] = []
        for part in book.related(sheet.part, "printerSettings"):
            identities += remove_part(book.package, part, sheet.part)
        for element in sheet.cells.others:
            if element.name == "pageSetup" and element.attributes.get("r:id") in identities:
                tag = book.package[sheet.part][element.start : element.inner]
                cut(
                    sheet,
                    element.start,
                    element.inner,
                    re.sub(rb"\s[\w.]+:id\s*=\s*(?:\"[^\"]*\"|'[^']*')", b"", tag),
                )


def remove_macros(book: Book) -> bool:
    """Take out the macros; whether there were any."""
    parts = book.related(book.part, "vbaProject")
    for part in parts:
        remove_part(book.package, part, book.part)
    if parts:
        set_type(book.package, book.part, WORKBOOK_TYPE)
    return bool(parts)


def macro_sheets(book: Book) -> bool:
    """Whether the book has macro sheets of the old kind, which run without a macro part."""
    return any(
        element.attributes.get("Type", "").endswith(("/xlMacrosheet", "/xlIntlMacrosheet"))
        for element in book.relations
    )


def remove_calculation_state(book: Book) -> None:
    """No full calculation when the copy opens, and no order of calculation that names frozen cells."""
    for part in book.related(book.part, "calcChain"):
        remove_part(book.package, part, book.part)
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


def remove_function_names(book: Book) -> None:
    """Take out the names that LibreOffice writes for add-in functions; Excel would see macro functions in them."""
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


def linked(book: Book) -> list[str]:
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


def remove_links(book: Book) -> None:
    """Take out the links to other workbooks; a BookError where something still reads them."""
    users = linked(book)
    if users:
        raise BookError(
            "the book reads other workbooks, so whoever gets the copy would be asked about links: "
            f"{', '.join(users[:12])}{' ...' if len(users) > 12 else ''}; paste these as values, or keep the "
            "links with --keep-links"
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
