"""Writing a file whole or not at all."""

from __future__ import annotations

import contextlib
import glob
import os
import tempfile
import time
from pathlib import Path

from workbook_template.errors import BookError


def write(path: Path, data: bytes, unchanged: os.stat_result | None = None) -> None:
    """Put ``data`` into a file: temporary file beside it, fsync, rename; the old file survives any failure.

    Parameters
    ----------
    path
        The file; a link is followed.
    data
        All of it.
    unchanged
        What ``os.stat`` said when the old file was read: where it is another file by now, nothing is written.
    """
    path = Path(os.path.realpath(path))
    refuse_open(path)
    if path.exists() and not (os.access(path, os.W_OK) and path.stat().st_mode & 0o222):
        raise BookError(f"{path.name} is read-only; nothing was changed")
    temporary = None
    _clear_leftovers(path)
    try:
        handle, temporary = tempfile.mkstemp(
            prefix=f".{path.name}.", suffix=".part", dir=path.parent
        )
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, _mode(path))
        if unchanged is not None and _identity(os.stat(path)) != _identity(unchanged):
            raise BookError(
                f"{path.name} was saved by another program meanwhile; nothing was changed, run it again"
            )
        os.replace(temporary, path)
        temporary = None
        _sync_folder(path.parent)
    except OSError as error:
        raise BookError(
            f"{path.name} cannot be written ({error.strerror or error}); nothing was changed"
        ) from None
    finally:
        if temporary:
            with contextlib.suppress(OSError):
                os.unlink(temporary)


def refuse_open(path: Path) -> None:
    """Refuse a file that a spreadsheet program has open: saving there would undo what is written here, or fail."""
    for lock in (f".~lock.{path.name}#", f"~${path.name}"):
        if (path.parent / lock).exists():
            raise BookError(
                f"{path.name} is open in a spreadsheet program (there is a {lock} beside it): close it there, "
                f"or delete {lock} if no program has it open"
            )


def _clear_leftovers(path: Path) -> None:
    """Delete temporary files of this file that a killed run left an hour ago or earlier."""
    for left in path.parent.glob(f".{glob.escape(path.name)}.*.part"):
        with contextlib.suppress(OSError):
            if time.time() - left.stat().st_mtime > 3600:
                left.unlink()


def _identity(status: os.stat_result) -> tuple:
    return status.st_ino, status.st_size, status.st_mtime_ns


def _mode(path: Path) -> int:
    """Access rights of the old file; of any new file where there is none."""
    try:
        return path.stat().st_mode & 0o7777
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask


def _sync_folder(folder: Path) -> None:
    """Make the rename itself last, where the system can."""
    if hasattr(os, "O_DIRECTORY"):
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
