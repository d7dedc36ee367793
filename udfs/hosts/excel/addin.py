"""The add-in file: xlwings' own custom add-in, with this project's name, settings and functions."""

from __future__ import annotations

import io
import re
import shutil
import sys
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stdout, suppress
from pathlib import Path
from typing import Any, NamedTuple
from xml.etree import ElementTree

from chemcore import __version__
from udfs import call
from udfs.hosts import HostError
from udfs.hosts.excel.session import asking, startup_folder

PROJECT = "spargesheet"
FILE = f"{PROJECT}.xlam"
MODULE = "udfs.hosts.excel.functions"

#: The sheet and the VBA module of xlwings' add-in.
_SHEET, _CODE = "_myaddin.conf", "xlwings"

#: What changes in xlwings' VBA: its name for the settings sheet, and that only the add-in's own sheet counts. As it
#: comes, a sheet of that name in whatever workbook is in front could name another program to run instead of Python.
_EDITS = (
    ('PROJECT_NAME As String = "myaddin"', f'PROJECT_NAME As String = "{PROJECT}"'),
    ("SheetExists(ActiveWorkbook, PROJECT_NAME", "SheetExists(ThisWorkbook, PROJECT_NAME"),
    ("GetConfigFromSheet(ActiveWorkbook).Exists", "GetConfigFromSheet(ThisWorkbook).Exists"),
    ("GetConfigFromSheet(ActiveWorkbook).Item", "GetConfigFromSheet(ThisWorkbook).Item"),
)

#: The formula that shows whether the add-in answers, as Excel takes it and as :func:`udfs.call` does.
TRIAL_FORMULA, TRIAL = '=ACID_DENSITY("phosphoric",85)', ("ACID_DENSITY", "phosphoric", 85.0)

#: The code page in which xlwings' bridge reads paths.
ANSI = "mbcs"


class Made(NamedTuple):
    """What an add-in file says of itself."""

    version: str
    xlwings: str
    python: str

    def __str__(self) -> str:
        return f"spargesheet {self.version}, xlwings {self.xlwings}, Python {self.python}"


def current() -> Made:
    """What an add-in made now would say; refuses where xlwings' bridge to Excel is not where it will look."""
    import xlwings

    python = Path(sys.executable)
    bridges = [f"xlwings{bits}-{xlwings.__version__}.dll" for bits in (64, 32)]
    if not any((folder / name).is_file() for folder in python.parents[:2] for name in bridges):
        raise HostError(
            f"{bridges[0]} is not beside Python in {python.parent}: install spargesheet into a virtual "
            "environment (`python -m venv`), where xlwings puts it"
        )
    return Made(__version__, xlwings.__version__, plain(python))


def plain(path: Path) -> str:
    """A path as xlwings' bridge can read it: Windows' short form where it has letters of another code page."""
    for spelled in (str, _short):
        with suppress(UnicodeEncodeError):
            text = spelled(path)
            text.encode(ANSI)
            return text
    raise HostError(
        f"Excel cannot reach {path}, which has letters that Windows here has no short form for: install "
        "spargesheet in a folder with plain letters"
    )


def _short(path: Path) -> str:
    import win32api

    return win32api.GetShortPathName(str(path))


def settings(made: Made) -> dict[str, str]:
    """The rows of the settings sheet. Every name that the functions' way to Python reads has a row, also where empty:
    xlwings looks for a missing one in files beside the workbook that is in front.
    """
    package = plain(Path(__file__).parents[3])
    if ";" in package:
        raise HostError(
            f"The folder {package} has a semicolon in its name, at which Excel splits it: rename it"
        )
    return {
        "INTERPRETER_WIN": made.python,
        "PYTHONPATH": package,
        "UDF MODULES": MODULE,
        "ADD_WORKBOOK_TO_PYTHONPATH": "false",
        **dict.fromkeys(
            (
                "CONDA ENV",
                "CONDA PATH",
                "LICENSE_KEY",
                "ONEDRIVE_CONSUMER_WIN",
                "ONEDRIVE_COMMERCIAL_WIN",
                "SHAREPOINT_WIN",
            ),
            "",
        ),
        "MADE BY": str(made),
    }


def build(app: Any, folder: Path, made: Made) -> Path:
    """Make the add-in in ``folder`` with an Excel that :func:`udfs.hosts.excel.session.require_trust` has passed."""
    import pywintypes
    import xlwings

    path = folder / FILE
    shutil.copyfile(Path(xlwings.__file__).with_name("quickstart_addin.xlam"), path)
    with asking("open xlwings' add-in"):
        book = app.Workbooks.Open(str(path))
    try:
        with asking("name the add-in"):
            book.VBProject.Name = PROJECT
            _edit_code(book.VBProject.VBComponents(_CODE).CodeModule)
        with asking("write the add-in's settings"):
            _write_settings(book.Worksheets(_SHEET), settings(made))
        with (
            asking("import the functions"),
            _temporary_files_in(folder),
            redirect_stdout(io.StringIO()),
        ):
            from xlwings.udfs import import_udfs

            import_udfs(MODULE, book)
        with asking("save the add-in"):
            book.Save()
        try_formula(app)
    finally:
        with suppress(pywintypes.com_error):
            book.Close(False)
    return path


def _edit_code(code: Any) -> None:
    lines = code.Lines(1, code.CountOfLines).split("\r\n")
    for old, new in _EDITS:
        found = [number for number, line in enumerate(lines, 1) if old in line]
        if len(found) != 1:
            raise HostError(
                f"This xlwings has another add-in than spargesheet {__version__} knows ({old!r} is not in "
                "it once): run `python -m pip install --upgrade spargesheet`"
            )
        code.ReplaceLine(found[0], lines[found[0] - 1].replace(old, new))


def _write_settings(sheet: Any, values: dict[str, str]) -> None:
    sheet.Name = f"{PROJECT}.conf"
    rows: dict[str, int] = {}
    while name := sheet.Cells(len(rows) + 1, 1).Value:
        rows[str(name).upper()] = len(rows) + 1
    for name, value in values.items():
        row = rows.setdefault(name, len(rows) + 1)
        sheet.Cells(row, 1).Value = name
        sheet.Cells(
            row, 2
        ).NumberFormat = (
            "@"  # text, so that Excel does not make "false" a value of the user's language
        )
        sheet.Cells(row, 2).Value = value


@contextmanager
def _temporary_files_in(folder: Path) -> Iterator[None]:
    """xlwings hands Excel the functions in a temporary file, whose path must be plain and which it may leave behind."""
    before, tempfile.tempdir = tempfile.tempdir, plain(folder)
    try:
        yield
    finally:
        tempfile.tempdir = before


def try_formula(app: Any) -> float:
    """The answer of a formula in a cell of the active workbook; raises where it is not the one of :func:`udfs.call`."""
    with asking("work out a formula"):
        cell = app.ActiveWorkbook.Worksheets(1).Cells(1, 1)
        cell.Formula = TRIAL_FORMULA
        shown, text = cell.Value, cell.Text
        cell.ClearContents()
    right = call(*TRIAL)
    if isinstance(shown, float) and abs(shown - right) <= 1e-9 * right:
        return shown
    if isinstance(shown, str):
        text = shown
    raise HostError(
        f"The trial formula {TRIAL_FORMULA} gives {' '.join(text.split())[:200]} in Excel instead of "
        f"{right:g}"
    )


def made_by(path: Path) -> Made | None:
    """What an add-in file says of itself, or None where it is not one of ours."""
    try:
        with zipfile.ZipFile(path) as parts:
            texts = ElementTree.fromstring(parts.read("xl/sharedStrings.xml")).itertext()
    except (zipfile.BadZipFile, KeyError, ElementTree.ParseError):
        return None
    for text in texts:
        if match := re.fullmatch(r"spargesheet (\S+), xlwings (\S+), Python (.+)", text):
            return Made(*match.groups())
    return None


def difference() -> str:
    """What to say of an installed add-in that another version made, or nothing."""
    path = startup_folder() / FILE
    made = made_by(path) if path.is_file() else None
    if made is None or made.version == __version__:
        return ""
    return (
        f"version {made.version} made the add-in: close Excel and run `spargesheet install excel`"
    )
