"""The zip package: parts by name, within bounds; written again with only the changed parts
changed.
"""

from __future__ import annotations

import io
import os
import re
import zipfile
import zlib
from pathlib import Path

from workbook_template.travel import bounds
from workbook_template.user_errors import BookError

_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"


class Package:
    """The parts of a workbook file. ``package[name]`` reads, assignment and ``remove`` change; the
    file stays as it is.

    Nothing is ever unpacked to disk, so a part's name cannot write outside; names that try are
    refused all the same.
    """

    #: What the file is called in a refusal, and a part that each has.
    KIND, NEEDED = ".xlsx workbook", "[Content_Types].xml"

    def __init__(self, data: bytes, title: str = "the file"):
        self.title = title
        self.data = data
        self._changes: dict[str, bytes | None] = {}
        self._unpacked = 0
        if data.startswith(_OLE):
            raise BookError(
                f"{title} is protected by a password or is an old .xls: open it, take the password"
                " off and save it as .xlsx"
            )
        try:
            self._zip = zipfile.ZipFile(io.BytesIO(data))
            infos = self._zip.infolist()
        except Exception:  # zipfile raises many kinds on damaged input
            raise BookError(
                f"{title} is not a whole {self.KIND} (not a zip package, or cut short)"
            ) from None
        if len(infos) > bounds.PARTS:
            raise BookError(f"{title} has {len(infos)} parts; at most {bounds.PARTS} are read")
        self._infos: dict[str, zipfile.ZipInfo] = {}
        #: Names as the file spells them; ECMA-376 part 2 compares part names without regard to
        #: case.
        self._spelled: dict[str, str] = {}
        for info in infos:
            self._admit(info)
            self._infos[info.filename] = info
        total = sum(info.file_size for info in infos)
        if total > bounds.TOTAL_BYTES:
            raise BookError(
                f"{title} unpacks to {total // 1_000_000} MB; at most"
                f" {bounds.TOTAL_BYTES // 1_000_000} MB are read"
            )
        if self.NEEDED not in self:
            raise BookError(f"{title} is a zip file but not a workbook ({self.NEEDED} is missing)")

    @classmethod
    def read(cls, path: Path) -> Package:
        """The package in a file; BookError with one sentence where there is none."""
        try:
            with open(path, "rb") as file:
                size = os.fstat(file.fileno()).st_size
                data = file.read(min(size, bounds.FILE_BYTES) + 1)
        except FileNotFoundError:
            raise BookError(f"{path} does not exist") from None
        except OSError as error:
            raise BookError(f"{path} cannot be read: {error.strerror or error}") from None
        if len(data) > bounds.FILE_BYTES:
            raise BookError(
                f"{path.name} is larger than {bounds.FILE_BYTES // 1_000_000} MB, the most that is"
                " read"
            )
        return cls(data, path.name)

    def _admit(self, info: zipfile.ZipInfo) -> None:
        name = info.filename
        if name.startswith("/") or "\\" in name or ":" in name or ".." in name.split("/"):
            raise BookError(
                f"{self.title} has a part whose name leads outside the package ({name!r:.80})"
            )
        if name.lower() in self._spelled:
            raise BookError(f"{self.title} has the part {name!r:.80} twice")
        self._spelled[name.lower()] = name
        if info.flag_bits & 1:
            raise BookError(
                f"{self.title} has encrypted parts: take the password off and save it again"
            )
        if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise BookError(f"{self.title} packs {name!r:.80} in a way that workbooks do not use")

    def spelled(self, name: str) -> str:
        """A part's name as the file spells it; the name itself where there is no such part."""
        return self._spelled.get(name.lower(), name)

    def __contains__(self, name: str) -> bool:
        name = self.spelled(name)
        if name in self._changes:
            return self._changes[name] is not None
        return name in self._infos

    def names(self) -> list[str]:
        """Names of the parts, in the order of the file; new ones last."""
        kept = [name for name in self._infos if self._changes.get(name, b"") is not None]
        return kept + [
            name
            for name, data in self._changes.items()
            if data is not None and name not in self._infos
        ]

    def __getitem__(self, name: str) -> bytes:
        name = self.spelled(name)
        if name in self._changes:
            data = self._changes[name]
        elif name in self._infos:
            data = self._unpack(self._infos[name])
        else:
            data = None
        if data is None:
            raise BookError(f"{self.title} is damaged: its part {name!r:.80} is missing")
        return data

    def __setitem__(self, name: str, data: bytes) -> None:
        self._spelled.setdefault(name.lower(), name)
        self._changes[self.spelled(name)] = data

    @property
    def edited(self) -> bool:
        """Whether a part was assigned or left out."""
        return bool(self._changes)

    def remove(self, name: str) -> None:
        """Leave a part out."""
        self._changes[self.spelled(name)] = None

    def _unpack(self, info: zipfile.ZipInfo) -> bytes:
        try:
            with self._zip.open(info) as part:
                data = part.read(bounds.PART_BYTES + 1)
        except (
            zipfile.BadZipFile,
            zlib.error,
            EOFError,
            OSError,
            ValueError,
            NotImplementedError,
            RuntimeError,
        ):
            raise BookError(
                f"{self.title} is damaged: its part {info.filename!r:.80} cannot be unpacked"
            ) from None
        self._unpacked += len(data)
        if len(data) > bounds.PART_BYTES or self._unpacked > 4 * bounds.TOTAL_BYTES:
            raise BookError(
                f"{self.title} unpacks to more than {bounds.PART_BYTES // 1_000_000} MB in one"
                " part, the most that is read"
            )
        if len(data) > bounds.RATIO_BYTES and len(data) > bounds.RATIO * max(info.compress_size, 1):
            raise BookError(
                f"{self.title} unpacks to over {bounds.RATIO} times its size, as zip bombs do; it"
                " is not read"
            )
        return data

    def tobytes(self) -> bytes:
        """The whole file again: unchanged parts byte for byte and with their times, in the same
        order.
        """
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as file:
            for name in self.names():
                old = self._infos.get(name)
                info = zipfile.ZipInfo(name, old.date_time if old else (1980, 1, 1, 0, 0, 0))
                info.compress_type = old.compress_type if old else zipfile.ZIP_DEFLATED
                info.external_attr = old.external_attr if old else 0o600 << 16
                file.writestr(info, b"" if name.endswith("/") else self[name])
        return out.getvalue()


def resolve(part: str, target: str) -> str:
    """Name of the part that a relationship of ``part`` points to.

    ECMA-376 part 2: a target is relative to the part's folder, or to the root where it begins with
    a slash.
    """
    path = target if target.startswith("/") else f"{part.rpartition('/')[0]}/{target}"
    names: list[str] = []
    for name in re.split(r"/+", path.split("#")[0]):
        if name == ".." and names:
            names.pop()
        elif name not in ("", ".", ".."):
            names.append(name)
    return "/".join(names)


def relations_of(part: str) -> str:
    """Name of the part that holds the relationships of ``part`` (of the package itself for "")."""
    folder, _, name = part.rpartition("/")
    return f"{folder}/_rels/{name}.rels".lstrip("/")
