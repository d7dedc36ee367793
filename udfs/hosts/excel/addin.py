"""The add-in file: xlwings' own custom add-in, with this project's name, settings and functions."""

from __future__ import annotations

import io
import ntpath
import platform
import re
import shutil
import sys
import tempfile
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stdout, suppress
from pathlib import Path
from typing import Any, NamedTuple
from xml.etree import ElementTree

from chemcore import __version__
from udfs import CATALOGUE, call
from udfs.hosts import HostError
from udfs.hosts.excel import vba
from udfs.hosts.excel.session import asking, startup_folder
from udfs.hosts.excel.vba import PROJECT

FILE = f"{PROJECT}.xlam"
MODULE = "udfs.hosts.excel.functions"

#: The sheet and the VBA module of xlwings' add-in, and the module into which it writes the
#: functions.
_SHEET, _CODE, _FUNCTIONS = "_myaddin.conf", "xlwings", "xlwings_udfs"

#: The formula that shows whether the add-in answers, as Excel takes it and as :func:`udfs.call`
#: does.
TRIAL_FORMULA, TRIAL = '=ACID_DENSITY("phosphoric",85)', ("ACID_DENSITY", "phosphoric", 85.0)

#: What to do about the bridge's words for a Python that does not answer.
_HINTS = {
    "Could not activate": (
        "Excel from the Microsoft Store cannot reach Python (File, Account, About Excel names the "
        "edition): install Excel from Microsoft 365 or its setup program"
    ),
    "Could not create Python process": (
        "Something keeps Excel from starting Python, such as Microsoft Defender's rule 'Block all"
        " Office applications from creating child processes': ask whoever administers this machine"
    ),
    "Python process exited": (
        'Run `python -c "import udfs.hosts.excel.functions, xlwings.com_server"` with this '
        "Python, which shows what fails"
    ),
}

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
    """What an add-in made now would say; refuses where Excel could not reach this Python through
    xlwings' bridge.
    """
    import xlwings

    python = Path(sys.executable)
    if "windowsapps" in f"{sys.base_prefix} {python}".lower():
        raise HostError(
            "This Python is from the Microsoft Store, whose files under AppData Excel does not see:"
            " install Python from python.org, make the virtual environment with it, and run this"
            " again"
        )
    if platform.machine().upper() == "ARM64":
        raise HostError(
            "This Python is for ARM, for which xlwings has no bridge to Excel: install the 64-bit"
            " (x64) Python from python.org, make the virtual environment with it, and run this"
            " again"
        )
    bridges = [f"xlwings{bits}-{xlwings.__version__}.dll" for bits in (64, 32)]
    if not any((folder / name).is_file() for folder in python.parents[:2] for name in bridges):
        raise HostError(
            f"{bridges[0]} is not beside Python in {python.parent}: install spargesheet into a"
            " virtual environment (`python -m venv`), where xlwings puts it"
        )
    return Made(__version__, xlwings.__version__, plain(python))


def plain(path: Path) -> str:
    """A path as xlwings' bridge can read it: Windows' short form where it has letters of another
    code page.
    """
    for spelled in (str, _short):
        with suppress(UnicodeEncodeError):
            text = spelled(path)
            text.encode(ANSI)
            return text
    raise HostError(
        f"Excel cannot reach {path}, which has letters that Windows here has no short form for:"
        " install spargesheet in a folder with plain letters"
    )


def _require_unchanged(path: str) -> None:
    """Refuse a path in which a step on the way to Python would read something else than a path.

    The add-in's VBA and xlwings put variables of the system in place of their names, the bridge
    does so with ``$(...)``; and a backslash at the end would hide the quotation mark behind it.
    """
    if "$(" in path or path.endswith("\\") or ntpath.expandvars(path) != path:
        raise HostError(
            f"Excel would not find {path}: its name reads as a variable ($NAME, %NAME%, $$, %%,"
            " $(...)) or it is a whole drive; install spargesheet in a folder with another name"
        )


def _short(path: Path) -> str:
    import win32api

    return str(win32api.GetShortPathName(str(path)))


def settings(made: Made) -> dict[str, str]:
    """The rows of the settings sheet. Every name that the functions' way to Python reads has a row,
    also where empty: xlwings looks for a missing one in files beside the workbook that is in front.
    """
    package = plain(Path(__file__).parents[3])
    if ";" in package:
        raise HostError(
            f"The folder {package} has a semicolon in its name, at which Excel splits it: rename it"
        )
    for path in (package, made.python):
        _require_unchanged(path)
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
    """Make the add-in in ``folder`` with an Excel that
    :func:`udfs.hosts.excel.session.require_trust` has passed.
    """
    import pywintypes
    import xlwings

    path = folder / FILE
    shutil.copyfile(Path(xlwings.__file__).with_name("quickstart_addin.xlam"), path)
    with asking("open xlwings' add-in"):
        book = app.Workbooks.Open(str(path))
    try:
        with asking("name the add-in"):
            book.VBProject.Name = PROJECT
            _replace(book.VBProject.VBComponents(_CODE).CodeModule, vba.edited)
        with asking("write the add-in's settings"):
            _write_settings(book.Worksheets(_SHEET), settings(made))
        with (
            asking("import the functions"),
            _temporary_files_in(folder),
            redirect_stdout(io.StringIO()),
        ):
            from xlwings.udfs import import_udfs

            import_udfs(MODULE, book)  # type: ignore[no-untyped-call]
            _add_true_errors(book.VBProject.VBComponents, folder)
        with asking("save the add-in"):
            book.Save()
        try_formula(app)
    finally:
        with suppress(pywintypes.com_error):
            book.Close(False)
    return path


def _replace(code: Any, edits: Callable[[list[str]], dict[int, str]]) -> None:
    """Change lines of a VBA module, all of them or, where an edit does not fit, none."""
    lines = code.Lines(1, code.CountOfLines).split("\r\n")
    for number, line in edits(lines).items():
        code.ReplaceLine(number, line)


def _add_true_errors(components: Any, folder: Path) -> None:
    """Let the functions hand error codes on as error values."""
    file = folder / f"{vba.ERRORS_MODULE}.bas"
    file.write_text(vba.errors_module(), encoding="ascii", newline="\r\n")
    components.Import(plain(file))
    _replace(
        components(_FUNCTIONS).CodeModule,
        lambda lines: vba.with_true_errors(lines, len(CATALOGUE)),
    )


def _write_settings(sheet: Any, values: dict[str, str]) -> None:
    sheet.Name = f"{PROJECT}.conf"
    rows: dict[str, int] = {}
    while name := sheet.Cells(len(rows) + 1, 1).Value:
        rows[str(name).upper()] = len(rows) + 1
    for name, value in values.items():
        row = rows.setdefault(name, len(rows) + 1)
        sheet.Cells(row, 1).Value = name
        sheet.Cells(
            row,
            2,
            # text, so that Excel does not make "false" a value of the user's language
        ).NumberFormat = "@"
        sheet.Cells(row, 2).Value = value


@contextmanager
def _temporary_files_in(folder: Path) -> Iterator[None]:
    """xlwings hands Excel the functions in a temporary file, whose path must be plain and which it
    may leave behind.
    """
    before, tempfile.tempdir = tempfile.tempdir, plain(folder)
    try:
        yield
    finally:
        tempfile.tempdir = before


def try_formula(app: Any) -> float:
    """The answer of a formula in a cell of the active workbook; raises where it is not the one of
    :func:`udfs.call`.
    """
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
    hint = next((f". {hint}" for words, hint in _HINTS.items() if words in text), "")
    raise HostError(
        f"The trial formula {TRIAL_FORMULA} gives {' '.join(text.split())[:300]} in Excel instead"
        f" of {right:g}{hint}"
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
