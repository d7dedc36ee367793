"""What a command changed in a workbook file, part by part, judged without the code under test.

A part may differ only where it holds formulas, or names of people, folders or secrets.
"""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

from openpyxl.utils import coordinate_to_tuple, range_boundaries

from tests.workbook_template.travelling import parts
from tests.workbook_template.whole_package import faults

_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_DATA = re.compile(rb"<sheetData\s*/>|<sheetData[\s>].*?</sheetData>", re.DOTALL)
#: The list of parts, and what the commands write of their own.
_OWN = re.compile(r"\[Content_Types\]\.xml|.*\.rels|xl/workbook\.xml|docProps/.*")
#: What a part must hold for share to have a reason to touch it.
_TRACES = re.compile(
    rb"<(?:\w+:)?(?:author|person|mention|connection|dbPr|oleObject|control|customPr|hyperlink|externalData"
    rb"|customSheetView|webPublish|xmlColumnPr|protectedRange|scenario)\b|refreshedBy=|r:link=|macro=\"[^\"]"
    rb"|FmlaMacro|o:href|o:title|pageSetup[^>]*r:id|&amp;[Zz]|[A-Za-z]:\\|\\\\\\\\|file:/|<!--"
)


def shared_differences(old: Path, new: Path, said: str) -> list[str]:
    """What is wrong with a shared copy beside its book; ``said`` is what the command printed."""
    before, after = parts(old), parts(new)
    wrong = _broken(before, after)
    for name, data in before.items():
        if name not in after:
            told = name in said or "that nothing in the book uses" in said
            told = told or name == "xl/calcChain.xml" or ("/_rels/" in name and name not in said)
            told = told or ("vbaProject" in name and "macros are left out" in said)
            if not told and not name.endswith("/"):
                wrong.append(f"{name} is gone without a word")
        elif data != after[name] and not _OWN.fullmatch(name):
            if name.startswith("xl/worksheets/"):
                wrong += [f"{name}: {what}" for what in _sheet(data, after[name], True)]
            elif data[:4] in (b"\x89PNG", b"\xff\xd8\xff\xe0", b"\xff\xd8\xff\xe1"):
                if len(after[name]) >= len(data):
                    wrong.append(f"{name} is no smaller without its notes")
            elif not _TRACES.search(data):
                wrong.append(f"{name} differs for no reason")
    return wrong


def refreshed_differences(old: Path, new: Path) -> list[str]:
    """What is wrong with a book whose figures were refreshed, or whose formulas came back."""
    before, after = parts(old), parts(new)
    wrong = _broken(before, after)
    for name, data in before.items():
        if name not in after:
            if not re.fullmatch(r"xl/worksheets/(_rels/)?spargesheet.*|xl/calcChain\.xml", name):
                wrong.append(f"{name} is gone")
        elif data != after[name] and not re.fullmatch(
            r"\[Content_Types\]\.xml|xl/_rels/workbook\.xml\.rels|xl/workbook\.xml", name
        ):
            if not name.startswith("xl/worksheets/"):
                wrong.append(f"{name} differs")
            else:
                wrong += [f"{name}: {what}" for what in _sheet(data, after[name], False)]
    return wrong


def _broken(before: dict[str, bytes], after: dict[str, bytes]) -> list[str]:
    known = set(faults(before))
    return [fault for fault in faults(after) if fault not in known]


def _sheet(old: bytes, new: bytes, traces: bool) -> list[str]:
    """Cells without a formula, and what stands around the cells, must be as they were."""
    wrong = []
    before, after = _cells(old), _cells(new)
    wrong += [
        f"{place} was {cell} and is {after.get(place)}"
        for place, cell in before.items()
        if cell[1:] != (None, None)
        and after.get(place) != cell
        and not (place not in after and cell[2].startswith("COPY of "))  # the line of a shared copy
    ]
    head, tail = _around(old), _around(new)
    for was, now in zip(head, tail, strict=True):
        if was != now and not (traces and _TRACES.search(was)):
            wrong.append("what stands around the cells differs")
    return wrong


def _around(sheet: bytes) -> list[bytes]:
    sheet = re.sub(rb"<dimension [^>]*/>", b"", sheet)
    return [sheet[: _DATA.search(sheet).start()], sheet[_DATA.search(sheet).end() :]]


def _cells(sheet: bytes) -> dict[str, tuple]:
    """Style, type and value of the cells that no formula fills."""
    found, areas = {}, []
    for cell in ElementTree.fromstring(sheet).iter(f"{_MAIN}c"):
        formula = cell.find(f"{_MAIN}f")
        if formula is not None:
            if formula.get("ref"):
                areas.append(range_boundaries(formula.get("ref")))
            continue
        value = "".join(cell.itertext()) or None
        kind = cell.get("t", "n") if value else None
        found[cell.get("r")] = (cell.get("s"), kind, value)

    def filled(place: str) -> bool:
        row, column = coordinate_to_tuple(place)
        return any(a <= column <= c and b <= row <= d for a, b, c, d in areas)

    return {place: cell for place, cell in found.items() if not filled(place)}
