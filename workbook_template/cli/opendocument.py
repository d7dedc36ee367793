"""An .ods file as it is read here: its parts within the bounds of every book, and no more cells
than those.
"""

from __future__ import annotations

from workbook_template.travel import bounds
from workbook_template.travel.ooxml.elements import parse, parser
from workbook_template.travel.ooxml.package import Package
from workbook_template.user_errors import BookError

_TABLE = "urn:oasis:names:tc:opendocument:xmlns:table:1.0 "
_OFFICE = "urn:oasis:names:tc:opendocument:xmlns:office:1.0 "
#: What makes a cell one that holds something (OpenDocument 1.3 part 3, table:table-cell).
_HOLDS = (f"{_OFFICE}value-type", f"{_TABLE}formula")


class OpenDocument(Package):
    """The parts of an .ods file (OpenDocument 1.3 part 2: a zip package with ``content.xml``)."""

    KIND, NEEDED = ".ods spreadsheet", "content.xml"

    def __init__(self, data: bytes, title: str = "the file"):
        super().__init__(data, title)
        manifest = "META-INF/manifest.xml"
        if manifest in self and b"encryption-data" in self[manifest]:
            raise BookError(
                f"{title} is protected by a password: open it, take the password off and save it"
                " again"
            )
        _count(self["content.xml"], title)


def _count(content: bytes, title: str) -> None:
    """Refuse more cells than a book may have; a few bytes can ask for all of a sheet's by repeating
    one.
    """
    made = parser(f"{title}, content.xml")
    cells = rows = depth = sheets = 0
    row = 1

    def start(name, attributes):
        nonlocal cells, rows, depth, sheets, row
        depth += 1
        if depth > bounds.DEPTH:
            raise BookError(f"{title} is nested over {bounds.DEPTH} elements deep; it is not read")
        if name == f"{_TABLE}table":
            sheets += 1
        elif name == f"{_TABLE}table-row":
            row = _number(attributes, f"{_TABLE}number-rows-repeated", title)
        elif name == f"{_TABLE}table-cell" and any(key in attributes for key in _HOLDS):
            cells += row * _number(attributes, f"{_TABLE}number-columns-repeated", title)
        else:
            return
        if cells > bounds.CELLS:
            raise BookError(f"{title} has more than {bounds.CELLS:,} cells, the most that are read")
        if sheets > bounds.SHEETS:
            raise BookError(
                f"{title} has more than {bounds.SHEETS:,} sheets, the most that are read"
            )

    def end(name):
        nonlocal depth
        depth -= 1

    made.StartElementHandler, made.EndElementHandler = start, end
    parse(made, content, f"{title}, content.xml")


def _number(attributes: dict[str, str], name: str, title: str) -> int:
    text = attributes.get(name, "1")
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise BookError(f"{title} is damaged: it repeats a cell {text!r:.40} times")
    return max(1, int(text))
