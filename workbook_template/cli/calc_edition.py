"""Workbooks between Excel and Calc: .xlsx with the functions' plain names, .ods with formulas that are live in Calc.

Calc knows the functions in files only by its own long names, so these are put in before it loads an .xlsx file and taken
out after it saved one. The conversion itself is the real Calc's.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from udfs.hosts.calc.extension import stored_name
from udfs.hosts.calc.office import with_extension
from workbook_template.engine_number import mark_file
from workbook_template.travel.stored_names import plain, rename


def to_ods(xlsx: Path | str, ods: Path | str, office: str | None = None) -> int:
    """Write the Calc edition of an .xlsx workbook, recalculated by Calc; how many calls of the functions it has.

    Parameters
    ----------
    xlsx, ods
        Files.
    office
        Where LibreOffice is, if not in a usual place.
    """
    with tempfile.TemporaryDirectory(prefix="spargesheet-") as folder:
        named, saved = Path(folder) / "named.xlsx", Path(folder) / "saved.ods"
        calls = rename(xlsx, named, stored_name)
        _through_calc(named, saved, office)
        shutil.move(saved, ods)
    return calls


def to_xlsx(source: Path | str, xlsx: Path | str, office: str | None = None) -> int:
    """Write an .xlsx workbook with the plain names from an .ods or .xlsx that Calc saved; how many calls it has.

    An .xlsx keeps all but the names; its values stay as they were saved.
    """
    with tempfile.TemporaryDirectory(prefix="spargesheet-") as folder:
        saved, named = Path(folder) / "saved.xlsx", Path(folder) / "named.xlsx"
        if Path(source).suffix.lower() == ".ods":
            copy = Path(folder) / "copy.ods"  # the file itself may be open, and so locked
            shutil.copyfile(source, copy)
            _through_calc(copy, saved, office)
        else:
            shutil.copyfile(source, saved)
        calls = rename(saved, named, plain)
        mark_file(named)  # LibreOffice names no calculation engine
        shutil.move(named, xlsx)
    return calls


def _through_calc(source: Path, target: Path, office: str | None) -> None:
    with with_extension(office) as calc:
        calc.ask("open", str(source.resolve()))
        calc.ask("recalculate")
        calc.ask("save", str(target.resolve()))
