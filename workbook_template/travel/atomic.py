"""Writing a file whole or not at all."""

from __future__ import annotations

import contextlib
import glob
import os
import secrets
import time
from pathlib import Path

from workbook_template.user_errors import BookError

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]


def write(path: Path, data: bytes, unchanged: os.stat_result | None = None) -> None:
    """Put ``data`` into a file: temporary file beside it, fsync, rename; the old file survives any
    failure.

    Parameters
    ----------
    path
        The file; a link is followed.
    data
        All of it.
    unchanged
        What ``os.stat`` said when the old file was read: where it is another file by now, nothing
        is written.
    """
    path = Path(os.path.realpath(path))
    refuse_open(path)
    if path.exists() and not (os.access(path, os.W_OK) and path.stat().st_mode & 0o222):
        raise BookError(f"{path.name} is read-only; nothing was changed")
    clear(path)
    temporary, handle = path.parent / f".{path.name}.{secrets.token_hex(8)}.part", None
    try:
        handle = _made(temporary)
        rest = memoryview(data)
        while rest:
            rest = rest[os.write(handle, rest) :]
        os.fsync(handle)
        os.chmod(temporary, _mode(path))
        if unchanged is not None and _identity(os.stat(path)) != _identity(unchanged):
            raise BookError(
                f"{path.name} was saved by another program meanwhile; nothing was changed, run it"
                " again"
            )
        if fcntl is None:  # an open file cannot be renamed there
            os.close(handle)
            handle = None
        os.replace(temporary, path)
        _sync_folder(path.parent)
    except OSError as error:
        raise BookError(
            f"{path.name} cannot be written ({error.strerror or error}); nothing was changed"
        ) from None
    finally:
        if handle is not None:
            os.close(handle)
        with contextlib.suppress(OSError):
            os.unlink(temporary)


def _made(temporary: Path) -> int:
    """Open a new file, locked as long as it is open, by which another run knows that it is no
    leftover.
    """
    while True:
        handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o600)
        if fcntl is None:
            return handle
        with contextlib.suppress(OSError):  # a file system without locks
            fcntl.flock(handle, fcntl.LOCK_EX)
        try:
            if os.path.samestat(os.fstat(handle), os.stat(temporary)):
                return handle
        except FileNotFoundError:  # taken for a leftover in the moment before the lock
            pass
        os.close(handle)


def refuse_open(path: Path) -> None:
    """Refuse a file that a spreadsheet program has open: saving there would undo what is written
    here, or fail.
    """
    for lock in (f".~lock.{path.name}#", f"~${path.name}"):
        if (path.parent / lock).exists():
            raise BookError(
                f"{path.name} is open in a spreadsheet program (there is a {lock} beside it): close"
                f" it there, or delete {lock} if no program has it open"
            )


def clear(path: Path) -> None:
    """Delete temporary files of this file that a killed run left: those that no process holds."""
    for left in path.parent.glob(f".{glob.escape(path.name)}.*.part"):
        with contextlib.suppress(OSError):
            if fcntl is None:
                if time.time() - left.stat().st_mtime > 3600:
                    left.unlink()
                continue
            handle = os.open(left, os.O_WRONLY)
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                left.unlink()
            finally:
                os.close(handle)


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
