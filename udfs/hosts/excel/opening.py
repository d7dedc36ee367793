"""A workbook opened in Excel with its formulas live."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

from udfs import CATALOGUE
from udfs.hosts import HostError
from udfs.hosts.excel import session
from udfs.hosts.excel.addin import FILE

#: Excel's constants: cells with formulas, those that show an error, and the error #NAME?.
_FORMULAS, _ERRORS, _NAME_ERROR = -4123, 16, -2146826259


def open_book(path: Path, report: Callable[[str], None] = print) -> None:
    """Open a workbook in Excel, recalculate all of it once, and leave Excel to the user.

    The recalculation lets formulas that were written without the add-in find it. A formula that does not find it so
    is typed in again; what then still shows ``#NAME?`` is counted and said.
    """
    session.require_windows()
    import pywintypes

    if not path.is_file():
        raise HostError(f"There is no file {path}")
    app = session.running()
    mine = app is None
    if mine:
        app = session.start()
    try:
        _load_addin(app)
        with session.asking(f"open {path.name}"):
            book = app.Workbooks.Open(
                str(path.resolve()), 0
            )  # 0: leaves links to other workbooks alone
            app.CalculateFullRebuild()
            left = _typed_again(book)
            app.DisplayAlerts = app.Visible = app.UserControl = True
    except HostError:
        if mine:
            with suppress(pywintypes.com_error):
                app.Quit()
        raise
    report(f"Opened {path.name} and recalculated it")
    if left:
        report(
            f"{left} formulas still show #NAME?: run `spargesheet status`, and see #NAME? in the README"
        )


def _load_addin(app: Any) -> None:
    """An Excel that a program starts does not load the add-ins of its start-up folder, so open ours."""
    import pywintypes

    with suppress(pywintypes.com_error):
        app.Workbooks(FILE)
        return
    addin = session.startup_folder(app) / FILE
    if not addin.is_file():
        raise HostError("The Excel add-in is not installed: run `spargesheet install excel` first")
    with session.asking("load the add-in"):
        app.Workbooks.Open(str(addin))


def _typed_again(book: Any) -> int:
    """Type the formulas of ours that show #NAME? again; how many still show it."""
    import pywintypes

    left = 0
    for cell in _nameless(book):
        with suppress(pywintypes.com_error):  # a protected sheet
            if cell.HasArray:
                cell.CurrentArray.FormulaArray = cell.FormulaArray
            elif hasattr(cell, "Formula2"):  # keeps Excel 365 from adding an @
                cell.Formula2 = cell.Formula2
            else:
                cell.Formula = cell.Formula
        left += cell.Value == _NAME_ERROR
    return left


def _nameless(book: Any) -> Iterator[Any]:
    import pywintypes

    for sheet in book.Worksheets:
        try:
            cells = sheet.UsedRange.SpecialCells(_FORMULAS, _ERRORS)
        except pywintypes.com_error:  # no such cell
            continue
        for cell in cells:
            if cell.Value == _NAME_ERROR and any(
                f"{name}(" in cell.Formula.upper() for name in CATALOGUE
            ):
                yield cell
