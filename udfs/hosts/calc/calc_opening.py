"""A workbook in the user's own LibreOffice, started free of the Python environment of this
process.
"""

from __future__ import annotations

import subprocess
from pathlib import Path

from udfs.hosts import HostError
from udfs.hosts.calc import office

#: Where an active environment puts libraries of its own before those of LibreOffice.
_LIBRARIES = ("LD_LIBRARY_PATH", "LD_PRELOAD", "DYLD_LIBRARY_PATH")
#: The offices that were started and are the user's now: to wait for them is not this process's
#: business.
_LEFT: list[subprocess.Popen[bytes]] = []


def open_book(path: Path, at: str | None = None) -> None:
    """Start LibreOffice with a workbook and leave it to the user; HostError where that cannot
    be.
    """
    if not path.is_file():
        raise HostError(f"There is no file {path}")
    programs = office.find(at)
    clean = {
        name: value
        for name, value in office.environment().items()
        if name not in _LIBRARIES and not name.startswith("CONDA")
    }
    try:
        started = subprocess.Popen(
            [programs.soffice, "--calc", path.resolve()],
            env=clean,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        _LEFT.append(started)
    except OSError as error:
        raise HostError(f"{programs.soffice} does not start ({error.strerror or error})") from None
