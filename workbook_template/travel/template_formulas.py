"""Formulas of a workbook against those that a fresh template of the same version writes."""

from __future__ import annotations

import re
import tempfile
from functools import cache
from pathlib import Path

from chemcore import __version__
from workbook_template.template.build import drafted
from workbook_template.template.packaged import TEMPLATE
from workbook_template.template.sizes import Sizes
from workbook_template.travel.described import sizes_of
from workbook_template.travel.native_functions import normal
from workbook_template.travel.ooxml.addresses import shown
from workbook_template.travel.ooxml.elements import elements
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import StoredBook

#: Property of the file in which the template says which version made it.
PROPERTY = "spargesheet"


@cache
def fresh(sizes: Sizes | None = None) -> dict[str, dict[tuple[int, int], str]]:
    """The formulas of a template of these sizes by sheet (in small letters) and cell."""
    if sizes in (None, Sizes()):
        package = Package.read(TEMPLATE)
    else:
        with tempfile.TemporaryDirectory() as scratch:
            path = Path(scratch) / "template.xlsx"
            drafted(path, sizes=sizes, example=False)
            package = Package.read(path)
    return {
        sheet.name.lower(): {place: formula.text for place, formula in sheet.cells.formulas.items()}
        for sheet in StoredBook(package).sheets
    }


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
        return version == __version__ and bool(sheets & set(fresh()))
    return sheets >= set(fresh())


def differences(book: StoredBook) -> list[tuple[str, str]]:
    """Cells of the template's sheets whose formula is another, is new or is gone, each with a
    sentence.
    """
    found, template = [], fresh(sizes_of(book))
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
