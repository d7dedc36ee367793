"""Set-up of the Excel add-in: install it, take it away, say how it stands."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from udfs import CATALOGUE
from udfs.hosts import HostError
from udfs.hosts.excel import addin, session

_AGAIN = "close Excel and run `spargesheet install excel`"


def install(report: Callable[[str], None] = print) -> None:
    """Make the add-in and put it where Excel loads it at every start, in place of an older one.

    The new file is made and tried out in a folder of its own and moved into place in one step at
    the end: where anything fails, what was there before is still there, and a
    :class:`udfs.hosts.HostError` says what to do.
    """
    session.require_windows()
    session.require_closed()
    made = addin.current()
    with session.hidden_excel() as app:
        session.require_trust(app)
        startup = session.startup_folder(app)
        target = startup / addin.FILE
        try:
            startup.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryDirectory(
                prefix="spargesheet-", dir=startup.parent, ignore_cleanup_errors=True
            ) as folder:
                os.replace(addin.build(app, Path(folder), made), target)
        except OSError as error:
            raise _locked(error, target) from None
    report(f"Installed {target}: {len(CATALOGUE)} functions; {made}")
    report(
        "Start Excel and type =ACID_DOSE( in any workbook; the fx button beside the formula bar"
        " lists them under spargesheet"
    )
    report(
        "You can untick 'Trust access to the VBA project object model' now"
        f" ({session.TRUST_PLACE}): only an installation needs it"
    )


def remove(report: Callable[[str], None] = print) -> None:
    """Take the add-in away; formulas in workbooks stay and show their last values until the next
    recalculation.
    """
    session.require_windows()
    session.require_closed()
    target = _installed()
    try:
        target.unlink()
    except FileNotFoundError:
        report("The Excel add-in is not installed")
        return
    except OSError as error:
        raise _locked(error, target) from None
    report(f"Removed {target}")


def status_line() -> str:
    """One line: whether the add-in is installed, by which versions, and whether a trial formula
    answers.
    """
    try:
        session.require_windows()
    except HostError as error:
        return f"Excel: not here. {error}"
    try:
        with session.hidden_excel() as app:
            return _status(session.startup_folder(app) / addin.FILE, app)
    except HostError as error:
        return f"Excel: {error}"


def _status(target: Path, app: Any) -> str:
    if not target.is_file():
        return "Excel: add-in not installed; `spargesheet install excel` installs it"
    made = addin.made_by(target)
    if made is None:
        return f"Excel: {target} is not readable as our add-in; {_AGAIN}"
    line = f"Excel: {target}, made by {made}"
    try:
        now = addin.current()
        if made != now:
            return f"{line}; here is {now}: {_AGAIN}"
        with session.asking("open the add-in"):
            app.Workbooks.Open(str(target), 0, True)  # read-only
        return f"{line}; trial formula answers {addin.try_formula(app):g}"
    except HostError as error:
        return f"{line}; no answer: {error}"


def _installed() -> Path:
    """Where the add-in's file is; in the usual folder where there is no Excel any more to ask."""
    try:
        with session.hidden_excel() as app:
            return session.startup_folder(app) / addin.FILE
    except HostError:
        return session.startup_folder() / addin.FILE


def _locked(error: OSError, target: Path) -> HostError:
    """A file that cannot be written, as a sentence."""
    if isinstance(error, PermissionError):
        return HostError(
            f"{target} is in use or write-protected: close Excel (also a hidden EXCEL.EXE in the"
            " Task Manager) and run this again"
        )
    return HostError(
        f"{target} cannot be written ({error.strerror or error}): free the disk or the folder and"
        " run this again"
    )
