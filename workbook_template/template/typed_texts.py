"""Empty results of formulas as Excel writes them: texts.

XlsxWriter leaves the type out where a formula's stored value is an empty text, so that the cell reads as a number
without a value (ECMA-376 Part 1, 18.18.11: ``str`` is the type of a formula's text).
"""

from __future__ import annotations

import re
import zipfile
from pathlib import Path

_EMPTY = re.compile(rb"(<c\s(?:(?!t=)[^>])*)(><f[^>]*>[^<]*</f><v></v></c>)")


def type_empty_texts(path: Path | str) -> None:
    """Type the empty results in a file that XlsxWriter wrote; all else stays."""
    with zipfile.ZipFile(path) as file:
        parts = [(info, file.read(info)) for info in file.infolist()]
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        for info, data in parts:
            if info.filename.startswith("xl/worksheets/"):
                data = _EMPTY.sub(rb'\1 t="str"\2', data)
            file.writestr(info, data)
