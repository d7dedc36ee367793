"""A short text on how Excel and its add-in stand, to attach to a question: no names, no paths,
nothing of the user's.
"""

from __future__ import annotations

import platform
import re
import struct
import time
from collections.abc import Iterator
from importlib import metadata
from typing import Any

from chemcore import __version__
from udfs.hosts import HostError
from udfs.hosts.excel import addin, session

#: From the beginning of a path on: a drive, a share, a folder of another system.
_PATH = re.compile(r"(?:[A-Za-z]:[\\/]|\\\\|(?<!\S)['\"]?/\w).*", re.DOTALL)


def text() -> str:
    """The report, one fact a line."""
    return "".join(f"{line}\n" for line in _lines())


def without_paths(words: str) -> str:
    """A sentence up to where a path begins, on one line: paths hold names of people and of their
    folders.
    """
    return _PATH.sub("(a path, left out)", " ".join(words.split()))


def _lines() -> Iterator[str]:
    yield f"spargesheet {__version__}"
    yield (
        f"Python {platform.python_version()}, {8 * struct.calcsize('P')} bits, {platform.machine()}"
    )
    yield f"System {platform.system()} {platform.release()} {platform.version()}"
    for package in ("xlwings", "pywin32"):
        yield f"{package} {_version(package)}"
    try:
        session.require_windows()
        addin.current()
        yield "this Python can be the add-in's: yes"
    except HostError as error:
        yield f"this Python can be the add-in's: no. {without_paths(str(error))}"
    if not session.on_windows():
        return
    try:
        with session.hidden_excel() as app:
            yield from _of_excel(app)
    except HostError as error:
        yield f"Excel: {without_paths(str(error))}"


def _version(package: str) -> str:
    try:
        return metadata.version(package)
    except metadata.PackageNotFoundError:
        return "is not installed"


def _of_excel(app: Any) -> Iterator[str]:
    with session.asking("say its version"):
        # of a 32-bit Excel on 64-bit Windows the system says 32 bits
        yield f"Excel {app.Version}, build {app.Build}; {app.OperatingSystem}"
    yield f"trust access to the VBA project object model: {'yes' if session.trusts(app) else 'no'}"
    startup = session.startup_folder(app)
    usual = startup == session.startup_folder()
    yield f"start-up folder: {'the usual one' if usual else 'another than the usual one'}"
    target = startup / addin.FILE
    if not target.is_file():
        yield "add-in: not installed"
        return
    made = addin.made_by(target)
    if made is None:
        yield "add-in: a file of its name that is not ours"
        return
    yield f"add-in: made by spargesheet {made.version}, xlwings {made.xlwings}"
    began = time.perf_counter()
    try:
        yield f"its Python is this one: {'yes' if made == addin.current() else 'no'}"
        with session.asking("open the add-in"):
            app.Workbooks.Open(str(target), 0, True)  # read-only
        answer = f"{addin.try_formula(app):g}"
    except HostError as error:
        answer = f"no answer. {without_paths(str(error))}"
    yield f"trial formula: {answer} after {time.perf_counter() - began:.1f} s"
