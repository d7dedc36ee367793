"""Names of the add-in's functions inside .xlsx files: Excel's plain ones, and those by which Calc
stores them.

Only the text of formulas changes; every other byte of every part stays.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from xml.sax.saxutils import escape, unescape

from udfs.hosts.calc.extension import SERVICE
from workbook_template.travel.calls import may_call, our_name
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.tokens import tokens

#: Elements that hold formulas: cells, conditional formats, validations, table columns, names; x14
#: ones have a prefix.
_FORMULA = re.compile(
    rb"(<((?:\w+:)?(?:f|formula|formula1|formula2|calculatedColumnFormula|definedName))"
    rb"(?:\s[^>]*)?>)([^<]+)(</\2>)"
)
#: What LibreOffice may write among the names for each function that it does not know from Excel.
_STRAY_NAME = re.compile(
    rb'<definedName\s[^>]*name="'
    + re.escape(SERVICE).encode()
    + rb"\.[^>]*(?:/>|>[^<]*</definedName>)",
    re.IGNORECASE,
)
_EMPTY_NAMES = re.compile(rb"<definedNames>\s*</definedNames>|<definedNames\s*/>")
_ENTITIES = {"&quot;": '"', "&apos;": "'"}


def rename(source: Path | str, target: Path | str, naming: Callable[[str], str]) -> int:
    """Copy an .xlsx file with other names of the functions; how many calls there are.

    Parameters
    ----------
    source, target
        Files.
    naming
        As in :func:`rename_in`.
    """
    package = Package.read(Path(source))
    count = rename_in(package, naming)
    Path(target).write_bytes(package.tobytes())
    return count


def rename_in(package: Package, naming: Callable[[str], str]) -> int:
    """Give the functions of a book other names, in memory; how many calls there are.

    Parameters
    ----------
    package
        Parts of an .xlsx file.
    naming
        Name to write for a catalogue name: :func:`plain` or
        :func:`udfs.hosts.calc.extension.stored_name`.
    """
    count = 0

    def renamed(match: re.Match) -> bytes:
        nonlocal count
        before = unescape(match[3].decode(), _ENTITIES)
        after, calls = renamed_formula(before, naming)
        count += calls
        return match[0] if after == before else match[1] + escape(after).encode() + match[4]

    for part in package.names():
        if part.startswith(("xl/worksheets/", "xl/tables/")) or part == "xl/workbook.xml":
            old = data = package[part]
            if b"definedName" in data:
                data = _EMPTY_NAMES.sub(b"", _STRAY_NAME.sub(b"", data))
            data = _FORMULA.sub(renamed, data)
            if data != old:
                package[part] = data
    return count


def renamed_formula(formula: str, naming: Callable[[str], str]) -> tuple[str, int]:
    """A formula with other names of the functions, and how many calls it has.

    A name may stand in any case, behind Calc's service, or behind an add-in's file or mark as Excel
    stores it.
    """
    if not may_call(formula):
        return formula, 0
    pieces, count = [], 0
    for token in tokens(formula):
        name = our_name(token)
        count += name is not None
        pieces.append(naming(name) if name else token.text)
    return "".join(pieces), count


def plain(name: str) -> str:
    """The name as it is typed."""
    return name
