"""Formulas and names of a workbook against those that a fresh template of the same version
writes.
"""

from __future__ import annotations

import re
import tempfile
from functools import cache
from pathlib import Path
from typing import NamedTuple

from chemcore import __version__
from workbook_template.template.build import drafted
from workbook_template.template.packaged import TEMPLATE
from workbook_template.template.sizes import Sizes
from workbook_template.travel.described import sizes_of
from workbook_template.travel.native_functions import normal
from workbook_template.travel.ooxml.addresses import shown
from workbook_template.travel.ooxml.elements import elements
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import Name, StoredBook

#: Property of the file in which the template says which version made it.
PROPERTY = "spargesheet"


class FreshTemplate(NamedTuple):
    """A fresh template: formulas by sheet (in small letters) and cell, and its names (by their
    letters in capitals).
    """

    formulas: dict[str, dict[tuple[int, int], str]]
    names: dict[str, Name]


@cache
def fresh(sizes: Sizes | None = None) -> FreshTemplate:
    """A template of these sizes."""
    if sizes in (None, Sizes()):
        package = Package.read(TEMPLATE)
    else:
        with tempfile.TemporaryDirectory() as scratch:
            path = Path(scratch) / "template.xlsx"
            drafted(path, sizes=sizes, example=False)
            package = Package.read(path)
    book = StoredBook(package)
    return FreshTemplate(
        {
            sheet.name.lower(): {
                place: formula.text for place, formula in sheet.cells.formulas.items()
            }
            for sheet in book.sheets
        },
        {name.name.upper(): name for name in book.names if _means_cells(name)},
    )


def _means_cells(name: Name) -> bool:
    """Whether formulas may use a name: those of print areas and the like are everybody's own."""
    return name.sheet is None and not name.name.lower().startswith("_xlnm.")


def version_of(book: StoredBook) -> str | None:
    """Version that the file says it was made with; None where it says nothing."""
    for part in book.related("", "custom-properties"):
        for element in elements(book.package[part], part) if part in book.package else []:
            if element.name == "property" and element.attributes.get("name") == PROPERTY:
                inner = book.package[part][element.inner : element.close]
                return re.sub(rb"<[^>]*>", b"", inner).decode("utf-8", "replace").strip()
    return None


def comparable(book: StoredBook, version: str | None) -> bool:
    """Whether the book comes from this version's template.

    It says so, or it has every sheet of the template and says nothing (some programs drop what it
    says).
    """
    sheets = {sheet.name.lower() for sheet in book.sheets}
    if version is not None:
        return version == __version__ and bool(sheets & set(fresh().formulas))
    return sheets >= set(fresh().formulas)


def differences(book: StoredBook) -> list[tuple[str, str]]:
    """Cells of the template's sheets whose formula is another, is new or is gone, and names of it
    that stand for something else, each with a sentence.
    """
    template, names = fresh(sizes_of(book))
    found = _other_names(book, names)
    for sheet in book.sheets:
        written = template.get(sheet.name.lower())
        if written is None:
            continue
        now = {place: formula.text for place, formula in sheet.cells.formulas.items()}
        for place in sorted(written.keys() | now.keys()):
            was, is_now = written.get(place, ""), now.get(place, "")
            if was == is_now or (was and is_now and normal(was) == normal(is_now)):
                continue
            if not was:
                text = f"has a formula that the template does not have there: ={is_now[:200]}"
            elif not is_now:
                if place in sheet.cells.filled:
                    continue
                text = f"has no formula, where the template has ={was[:200]}"
            else:
                text = f"has the formula ={is_now[:200]}, where the template has ={was[:200]}"
            found.append((shown(sheet.name, *place), text))
    missing = [name for name in template if book.find(name) is None]
    if missing:
        found.append((book.package.title, f"has no sheet {', '.join(missing)}"))
    return found


def _other_names(book: StoredBook, template: dict[str, Name]) -> list[tuple[str, str]]:
    """Names of the template that stand for something else, are gone, or are hidden by a sheet's
    own: formulas that use one read other cells, though their text is the template's.
    """
    found, left = [], dict(template)
    for name in book.names:
        was = template.get(name.name.upper())
        if was is None:
            continue
        text = f"stands for ={name.text[:200]}, where the template has ={was.text[:200]}"
        if name.sheet is not None:
            found.append((f"the name {name.name}", f"{text} (on the sheet {name.sheet})"))
            continue
        left.pop(name.name.upper(), None)
        if normal(name.text) != normal(was.text):
            found.append((f"the name {name.name}", text))
    gone = "is no name of the book, where the template has ="
    return found + [(f"the name {name.name}", gone + name.text) for name in left.values()]
