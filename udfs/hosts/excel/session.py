"""Excel as a program: whether it is there, a hidden one for set-up, and its refusals as sentences.

pywin32, which comes with xlwings on Windows, is imported where it is used, so that this module
loads everywhere.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from udfs.hosts import HostError

_NO_EXCEL = (
    "Excel does not start here: install the desktop edition of Excel for Windows (the one in the"
    " browser runs no such add-ins), open it once, and run this again"
)


def on_windows() -> bool:
    """Whether Excel can be worked from Python here."""
    return sys.platform == "win32"


def require_windows() -> None:
    """Refuse to go on where xlwings has no Excel to talk to."""
    if not on_windows():
        raise HostError(
            "The formulas run in Excel on Windows only; on this system use LibreOffice Calc "
            "(`spargesheet install calc`)"
        )
    try:
        import win32com.client  # noqa: F401
    except ImportError:
        raise HostError(
            "pywin32 is missing, which xlwings needs to talk to Excel: run `python -m pip install"
            " pywin32`"
        ) from None


@contextmanager
def asking(what: str) -> Iterator[None]:
    """Turn Excel's refusal into a sentence that names what was asked of it."""
    import pywintypes

    try:
        yield
    except pywintypes.com_error as error:
        raise HostError(f"Excel refused to {what}: {_reason(error)}") from None


def _reason(error: Exception) -> str:
    """Excel's own words for a refusal, on one line."""
    _, text, details, *_ = (*error.args, None, None, None)
    words = (details and details[2]) or text or "it gave no reason"
    return " ".join(str(words).split())


def running() -> Any:
    """The Excel that is open now, or None."""
    import pywintypes
    import win32com.client

    try:
        return win32com.client.GetActiveObject("Excel.Application")
    except pywintypes.com_error:
        return None


def require_closed() -> None:
    """Refuse to go on while Excel is open, because it holds the add-in's file."""
    if running() is not None:
        raise HostError("Excel is open: save your work, close all its windows and run this again")


def start() -> Any:
    """A new Excel, hidden, which asks no questions."""
    import pywintypes
    import win32com.client

    try:
        app = win32com.client.DispatchEx("Excel.Application")
    except pywintypes.com_error:
        raise HostError(_NO_EXCEL) from None
    app.DisplayAlerts = False
    return app


def start_with(path: Path) -> None:
    """Excel with a workbook, started as by the user."""
    try:
        os.startfile("excel.exe", arguments=f'"{path.resolve()}"')  # type: ignore[attr-defined]
    except OSError:
        raise HostError(_NO_EXCEL) from None


@contextmanager
def hidden_excel() -> Iterator[Any]:
    """A hidden Excel of our own with one empty workbook, gone at the end whatever happens.

    The empty workbook matters: Excel edits the functions of an add-in only while some workbook is
    active.
    """
    import pywintypes

    app = start()
    try:
        with asking("open an empty workbook"):
            app.Workbooks.Add()
        yield app
    finally:
        with suppress(pywintypes.com_error):
            app.Quit()


def trusts(app: Any) -> bool:
    """Whether Excel lets a program touch VBA, which holds an add-in's functions."""
    import pywintypes

    try:
        app.ActiveWorkbook.VBProject.VBComponents.Item(1)
    except pywintypes.com_error:
        return False
    return True


def require_trust(app: Any) -> None:
    """Refuse to go on where Excel lets no program touch VBA."""
    if not trusts(app):
        raise HostError(
            f"Excel lets no program add functions yet: open Excel, {TRUST_PLACE}, tick 'Trust"
            " access to the VBA project object model', press OK twice, close Excel and run this"
            " again; afterwards untick it in the same place (where the box is grey, a policy of"
            " your organisation sets it: ask its administrator)"
        )


#: Where the box is that set-up needs ticked.
TRUST_PLACE = "File > Options > Trust Center > Trust Center Settings > Macro Settings"


def startup_folder(app: Any = None) -> Path:
    """The folder whose add-ins Excel loads at every start, for this user."""
    if app is not None:
        with asking("name its start-up folder"):
            return Path(app.StartupPath)
    return Path(os.environ["APPDATA"], "Microsoft", "Excel", "XLSTART")
