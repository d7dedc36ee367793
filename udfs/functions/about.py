"""Functions: what stands behind the functions."""

from __future__ import annotations

import platform
from pathlib import Path

from chemcore import __version__
from chemcore.errors import DomainError
from udfs.arguments import FunctionName, StatusPart
from udfs.catalogue import CATALOGUE, function

#: What calls the functions; each host sets it for ADDIN_STATUS.
HOST = "Python"
#: What the user must know of this installation, said at the end of ADDIN_STATUS; a host sets it
#: where there is something.
NOTE = ""


@function("About")
def function_source(name: FunctionName) -> str:
    """Equations and sources behind a function of this add-in, in one line.

    References
    ----------
    The catalogue entry of the function named.
    """
    entry = CATALOGUE.get(name.strip().upper().removesuffix("()"))
    if entry is None:
        raise DomainError(
            "name",
            f'"{name[:40]}" is not a function of this add-in; take one from the reference sheet',
        )
    return entry.source


@function("About")
def addin_status(part: StatusPart = "all") -> str:
    """Version of the add-in, the program that calls it, its Python, and the folder of the package.

    Says so, too, where the part inside the spreadsheet program and the package are of different
    versions.

    References
    ----------
    The running program.
    """
    facts = {
        "version": __version__,
        "host": HOST,
        "python": platform.python_version(),
        "folder": str(Path(__file__).resolve().parents[2]),
    }
    if part != "all":
        return facts[part]
    text = "spargesheet {version} in {host}, Python {python}, package in {folder}".format(**facts)
    return f"{text}; {NOTE}" if NOTE else text
