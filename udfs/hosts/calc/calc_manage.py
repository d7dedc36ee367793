"""The extension in the user's LibreOffice: put it in, take it away, say how it stands."""

from __future__ import annotations

import csv
import os
import re
from collections.abc import Callable
from pathlib import Path

from udfs import CATALOGUE, call
from udfs.hosts import HostError
from udfs.hosts.calc import office, scratch
from udfs.hosts.calc.convert import convert
from udfs.hosts.calc.extension import IDENTIFIER, stored_name

_TRIAL = ("LITRES", 1.0, "US gal")
_TRIAL_SHEET = """<?xml version="1.0" encoding="UTF-8"?>
<office:document xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"
 xmlns:of="urn:oasis:names:tc:opendocument:xmlns:of:1.2"
 office:version="1.3" office:mimetype="application/vnd.oasis.opendocument.spreadsheet">
<office:body><office:spreadsheet><table:table table:name="trial"><table:table-row>
<table:table-cell table:formula="of:={litres}({amount};&quot;{unit}&quot;)"/>
<table:table-cell table:formula="of:={status}()"/>
</table:table-row></table:table></office:spreadsheet></office:body></office:document>
"""


def install(
    report: Callable[[str], None] = print, path: str | None = None, profile: Path | None = None
) -> None:
    """Build the extension for this Python and register it, in place of an older one.

    Parameters
    ----------
    report
        Is given what was done, in lines for the user.
    path
        Where LibreOffice is, if not in a usual place.
    profile
        Folder of another LibreOffice profile than the user's own.
    """
    programs = office.find(path)
    office.register(programs, profile, _shared(profile))
    report(f"Installed: {len(CATALOGUE)} functions in the LibreOffice of {programs.folder}")
    report("Restart LibreOffice if it is open; `spargesheet status` tries a formula")


def remove(
    report: Callable[[str], None] = print, path: str | None = None, profile: Path | None = None
) -> None:
    """Take the extension away; workbooks stay as they are."""
    programs = office.find(path)
    if not _installed(programs, profile):
        report(f"The extension is not in the LibreOffice of {programs.folder}")
        return
    office.unopkg(programs, profile, "remove", *_shared_option(profile), IDENTIFIER)
    report(f"Removed from the LibreOffice of {programs.folder}; restart LibreOffice if it is open")


def status_line(path: str | None = None, profile: Path | None = None) -> str:
    """How the extension stands: version, Python, and whether a formula answers in the real Calc."""
    try:
        programs = office.find(path)
        version = _installed(programs, profile)
        if not version:
            return (
                f"Calc: LibreOffice is in {programs.folder}, the extension is not; `spargesheet"
                " install calc` puts it in"
            )
        number, status = _trial(programs, profile)
    except HostError as error:
        return f"Calc: {error}"
    if not number:
        return (
            f"Calc: extension {version} is in the LibreOffice of {programs.folder}; the trial"
            " formula was not tried: close LibreOffice and ask again"
        )
    if number != repr(call(*_TRIAL)):
        return (
            f"Calc: extension {version} is in the LibreOffice of {programs.folder}; the trial"
            f" formula says {number}"
        )
    return f"Calc: extension {version} answers a trial formula: {status}"


def _shared(profile: Path | None) -> bool:
    """Whether extensions go beside the program: for root always, since unopkg refuses otherwise."""
    return profile is not None or getattr(os, "geteuid", lambda: 1)() == 0


def _shared_option(profile: Path | None) -> list[str]:
    return ["--shared"] if _shared(profile) else []


def _installed(programs: office.Programs, profile: Path | None) -> str:
    """Version of the extension that is registered, or nothing."""
    listed = office.unopkg(programs, profile, "list", *_shared_option(profile))
    found = re.search(rf"Identifier: {re.escape(IDENTIFIER)}\s+Version: (\S+)", listed)
    return found.group(1) if found else ""


def _trial(programs: office.Programs, profile: Path | None) -> tuple[str, str]:
    """What a trial formula and ADDIN_STATUS show in Calc; two empty texts where Calc does not
    calculate now.
    """
    name, amount, unit = _TRIAL
    with scratch.scratch() as folder:
        sheet = folder / "trial.fods"
        sheet.write_text(
            _TRIAL_SHEET.format(
                litres=stored_name(name),
                amount=amount,
                unit=unit,
                status=stored_name("ADDIN_STATUS"),
            ),
            encoding="utf-8",
        )
        answer = convert(
            programs,
            sheet,
            "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false",
            folder,
            profile,
        )
        if not answer.exists():
            return "", ""
        row = next(csv.reader(answer.read_text(encoding="utf-8").splitlines()), ["", ""])
    return row[0], row[1]
