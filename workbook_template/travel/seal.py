"""The seal of a shared copy: a keyed digest by which its sender sees whether the hidden sheet was
changed.

HMAC-SHA256 (RFC 2104, FIPS 198-1) under a random key of 32 bytes that never leaves the sender's
machine. Whoever gets a copy can read all of it, and cannot make a changed one that carries a right
seal.
"""

from __future__ import annotations

import contextlib
import hashlib
import hmac
import json
import os
import secrets
import tempfile
from enum import Enum
from pathlib import Path

import platformdirs

from workbook_template.user_errors import BookError

_BYTES = 32


class Verdict(Enum):
    """What the seal says about a copy's hidden sheet; the value is the sentence for it."""

    UNCHANGED = "its hidden sheet is unchanged since it was shared"
    CHANGED = "its hidden sheet was changed since it was shared"
    UNKNOWN = "cannot tell whether its hidden sheet was changed: it was not sealed on this machine"


def folder() -> Path:
    """Where the key is kept: the user's data folder."""
    return platformdirs.user_data_path("spargesheet", appauthor=False)


def key() -> bytes | None:
    """This machine's key; None where there is none.

    BookError where the file is there and holds no key, or cannot be read.
    """
    path = folder() / "seal.key"
    try:
        return _read(path)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise _unusable(path, error) from None


def made_key() -> bytes:
    """This machine's key, a new one where there is none; BookError as :func:`key`, and where none
    can be made.
    """
    path = folder() / "seal.key"
    try:
        if not path.exists():
            _make(path)
        return _read(path)
    except OSError as error:
        raise _unusable(path, error) from None


def _unusable(path: Path, error: OSError) -> BookError:
    return BookError(
        f"the key of shared copies, {path}, cannot be read or made: {error.strerror or error}"
    )


def _read(path: Path) -> bytes:
    found = path.read_bytes()
    if len(found) != _BYTES:
        raise BookError(
            f"the key of shared copies, {path}, is damaged (it has {len(found)} bytes and a key"
            f" {_BYTES}): delete it; copies shared before then count as not sealed on this machine"
        )
    return found


def _make(path: Path) -> None:
    """A new key, whole or not at all; one that another run made meanwhile stays."""
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    handle, temporary = tempfile.mkstemp(prefix=".seal.", dir=path.parent)  # made with rights 0600
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(secrets.token_bytes(_BYTES))
            file.flush()
            os.fsync(file.fileno())
        try:
            with contextlib.suppress(FileExistsError):
                os.link(temporary, path)
        except OSError:  # a file system without hard links
            if not path.exists():
                os.replace(temporary, path)
    finally:
        with contextlib.suppress(OSError):
            os.unlink(temporary)


def digest(secret: bytes, content) -> str:
    """The seal of some content (lists, texts, numbers): 16 hexadecimal digits that mark the key,
    and 64 of the digest.

    The mark tells a copy that another machine sealed from one that was changed.
    """
    text = json.dumps(content, ensure_ascii=True, separators=(",", ":"))
    return _mark(secret) + hmac.new(secret, text.encode("ascii"), hashlib.sha256).hexdigest()


def _mark(secret: bytes) -> str:
    return hmac.new(secret, b"mark of the key", hashlib.sha256).hexdigest()[:16]


def verdict(sealed: str | None, content) -> Verdict:
    """What a seal says about content read back."""
    secret = key()
    if secret is None or not sealed:
        return Verdict.UNKNOWN
    if hmac.compare_digest(digest(secret, content), sealed):
        return Verdict.UNCHANGED
    return Verdict.CHANGED if sealed.startswith(_mark(secret)) else Verdict.UNKNOWN
