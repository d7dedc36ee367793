"""Temporary folders that are gone after the command; those of a run that was killed go with the
next.
"""

from __future__ import annotations

import contextlib
import os
import secrets
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

try:
    import fcntl

    def _lock(handle: int) -> None:
        """Take the lock of an open file for as long as it is open; OSError where another process
        has it.
        """
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
except ImportError:  # Windows
    import msvcrt

    fcntl = None  # type: ignore[assignment]

    def _lock(handle: int) -> None:
        """Take the lock of an open file for as long as it is open; OSError where another process
        has it.
        """
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]


PREFIX = "spargesheet-"
#: Ending of the file beside a folder that is locked as long as a process uses the folder. It is
#: there before the folder and goes after it, so a folder that is left always has one.
LOCK = ".lock"
_live: list[Path] = []


def live() -> list[Path]:
    """The folders that this process has now."""
    return list(_live)


@contextmanager
def scratch() -> Iterator[Path]:
    """A new empty folder of this user's, away afterwards; OSError where none can be made."""
    clear()
    folder = Path(tempfile.gettempdir()).resolve() / f"{PREFIX}{secrets.token_hex(8)}"
    held = None
    _live.append(folder)
    try:
        held = _held(_lock_of(folder))
        folder.mkdir(0o700)
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)
        if held is not None:
            os.close(held)
        if not folder.exists():
            with contextlib.suppress(OSError):
                os.unlink(_lock_of(folder))
        _live.remove(folder)


def clear() -> None:
    """Delete the folders of runs that were killed: those whose lock no process holds."""
    for file in Path(tempfile.gettempdir()).resolve().glob(f"{PREFIX}*{LOCK}"):
        with contextlib.suppress(OSError):  # in use, or another user's
            held = os.open(file, os.O_RDWR | getattr(os, "O_NOFOLLOW", 0))
            try:
                _lock(held)
                if not hasattr(os, "getuid") or os.fstat(held).st_uid == os.getuid():
                    shutil.rmtree(file.with_suffix(""), ignore_errors=True)
                if fcntl:
                    os.unlink(file)
            finally:
                os.close(held)
            if not fcntl:  # an open file cannot be deleted there
                os.unlink(file)


def _lock_of(folder: Path) -> Path:
    return folder.with_name(folder.name + LOCK)


def _held(file: Path) -> int:
    """The descriptor of a new file that is locked; another run may take it for left in the moment
    before the lock.
    """
    while True:
        held = os.open(file, os.O_RDWR | os.O_CREAT, 0o600)
        try:
            _lock(held)
            if os.path.samestat(os.fstat(held), os.stat(file)):
                return held
        except OSError:
            pass
        os.close(held)
