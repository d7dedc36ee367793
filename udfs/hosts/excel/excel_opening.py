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

#: The value of a cell that shows #NAME?.
_NAME_ERROR = -2146826259


def open_book(path: Path, report: Callable[[str], None] = print) -> None:
    """Open a workbook in Excel with the add-in loaded, and leave Excel to the user.

    Where no Excel is open, it is started with the workbook as from the start menu, so that it loads
    all of its start-up folder itself. In one that is open, the book is recalculated once, so that
    formulas that were written without the add-in find it; one that does not find it so is typed in
    again; what then still shows ``#NAME?`` is counted and said.
    """
    session.require_windows()
    import pywintypes

    if not path.is_file():
        raise HostError(f"There is no file {path}")
    app = session.running()
    if app is None and (session.startup_folder() / FILE).is_file():
        session.start_with(path)
        report(
            f"Started Excel with {path.name}. Where a formula shows #NAME?, run this again while"
            " Excel is open: it then recalculates the book and counts what is left"
        )
        return
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
            f"{left} formulas still show #NAME?: run `spargesheet status`, and see #NAME? in the"
            " README"
        )


def _load_addin(app: Any) -> None:
    """An Excel that a program starts does not load the add-ins of its start-up folder, so open
    ours.
    """
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
    """The cells of ours that show #NAME?, found by the values: Excel finds no kind of cells on a
    protected sheet.
    """
    for sheet in book.Worksheets:
        used = sheet.UsedRange
        values, top, left = used.Value, used.Row, used.Column
        if not isinstance(values, tuple):  # a range of one cell
            values = ((values,),)
        for row, line in enumerate(values, top):
            for column, value in enumerate(line, left):
                if value != _NAME_ERROR:
                    continue
                cell = sheet.Cells(row, column)
                if any(f"{name}(" in str(cell.Formula).upper() for name in CATALOGUE):
                    yield cell
