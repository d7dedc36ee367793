"""Temporary folders that are gone after the command; those of a run that was killed go with the next."""

from __future__ import annotations

import contextlib
import os
import secrets
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None

PREFIX = "spargesheet-"
_HELD = ".in-use"
#: Seconds after which a folder without the file that says whether it is in use counts as left behind.
_OLD = 3600
_live: list[Path] = []


def live() -> list[Path]:
    """The folders that this process has now."""
    return list(_live)


@contextmanager
def scratch() -> Iterator[Path]:
    """A new empty folder of this user's, away afterwards; OSError where none can be made."""
    clear()
    folder = Path(tempfile.gettempdir()).resolve() / f"{PREFIX}{secrets.token_hex(8)}"
    _live.append(folder)
    held = None
    try:
        folder.mkdir(0o700)
        held = _hold(folder)
        yield folder
    finally:
        if held is not None:
            os.close(held)
        shutil.rmtree(folder, ignore_errors=True)
        _live.remove(folder)


def _hold(folder: Path) -> int:
    """Mark a folder as in use as long as the descriptor is open, which the system closes with the process."""
    new = folder / f"{_HELD}-new"
    held = os.open(new, os.O_RDWR | os.O_CREAT)
    if fcntl is None:  # an open file cannot be deleted there
        os.close(held)
        os.rename(new, folder / _HELD)
        return os.open(folder / _HELD, os.O_RDWR)
    with contextlib.suppress(OSError):  # a file system without locks
        fcntl.flock(held, fcntl.LOCK_EX)
    os.rename(new, folder / _HELD)
    return held


def clear() -> None:
    """Delete the folders of runs that were killed."""
    for folder in Path(tempfile.gettempdir()).glob(f"{PREFIX}*"):
        with contextlib.suppress(OSError):
            status = folder.lstat()
            mine = not hasattr(os, "getuid") or status.st_uid == os.getuid()
            if mine and folder.is_dir() and not folder.is_symlink() and _left(folder, status):
                shutil.rmtree(folder, ignore_errors=True)


def _left(folder: Path, status: os.stat_result) -> bool:
    """Whether nobody uses a folder any more; OSError where that cannot be told."""
    try:
        held = os.open(folder / _HELD, os.O_RDWR)
    except FileNotFoundError:
        return time.time() - status.st_mtime > _OLD
    try:
        if fcntl is not None:
            fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
            return True
    finally:
        os.close(held)
    os.unlink(folder / _HELD)
    return True
