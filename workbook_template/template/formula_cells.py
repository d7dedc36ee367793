"""The formulas of a workbook are put into the file after XlsxWriter wrote it, each where its number
stood.

XlsxWriter looks through the text of every formula thirty times for functions that older programs do
not know, which takes longer than all else that it does; ``formula.py`` lets no such function
through, so each cell is given a number instead.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Sequence
from io import BytesIO
from pathlib import Path
from typing import BinaryIO
from xml.sax.saxutils import escape

from workbook_template.engine_number import current

_CELL = re.compile(rb"(<c [^>]*)><f>_xlfn\.(\d+)</f>(<v>[^<]*</v>)</c>")


def stand_in(number: int) -> str:
    """What is written into a cell in place of the formula with this number.

    With the prefix of later functions, which XlsxWriter takes for a sign that its user has seen to
    them.
    """
    return f"=_xlfn.{number}"


def write_with(file: Path | str | BinaryIO, made: BytesIO, formulas: Sequence[str]) -> None:
    """Write the file that XlsxWriter made, with the formulas themselves and the number of a current
    engine.

    An empty text as a formula's value gets the type of a text: XlsxWriter leaves it out, so that
    the cell reads as a number without a value (ECMA-376 Part 1, 18.18.11: ``str`` is the type of a
    formula's text).
    """
    written = [escape(text.removeprefix("=")).encode() for text in formulas]

    def cell(match: re.Match[bytes]) -> bytes:
        start, number, value = match.groups()
        if value == b"<v></v>" and b" t=" not in start:
            start += b' t="str"'
        return b"%b><f>%b</f>%b</c>" % (start, written[int(number)], value)

    with (
        zipfile.ZipFile(made) as old,
        zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for info in old.infolist():
            data = old.read(info)
            if info.filename.startswith("xl/worksheets/"):
                data = _CELL.sub(cell, data)
            elif info.filename == "xl/workbook.xml":
                data = current(data)
            new.writestr(info, data)
