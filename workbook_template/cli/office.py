"""Files that are no .xlsx, by way of LibreOffice: .ods in and out, PDF."""

from __future__ import annotations

from pathlib import Path

from udfs.hosts import HostError
from udfs.hosts.calc import convert, office
from workbook_template.errors import BookError
from workbook_template.travel import atomic, bounds
from workbook_template.travel.ooxml.package import Package


def converted(data: bytes, name: str, kind: str) -> bytes:
    """A document as another kind (``xlsx``, ``ods``, ``pdf``), as somebody without the add-in sees it."""
    try:
        programs = office.find()
    except HostError:
        raise BookError(
            f"{name} needs LibreOffice to become .{kind}, and it is not installed here"
        ) from None
    try:
        found = convert.converted(programs, data, Path(name).suffix, kind, bounds.OFFICE_SECONDS)
    except HostError as error:
        raise BookError(f"{name} does not become .{kind}: {error}") from None
    if found is None:
        raise BookError(
            f"LibreOffice cannot turn {name} into .{kind}: it is damaged, encrypted or no spreadsheet"
        )
    return found


def read(path: Path) -> Package:
    """The package of an .xlsx file, or of an .ods file by way of LibreOffice."""
    if path.suffix.lower() != ".ods":
        return Package.read(path)
    if not path.exists():
        raise BookError(f"{path} does not exist")
    if path.stat().st_size > bounds.FILE_BYTES:
        raise BookError(
            f"{path.name} is larger than {bounds.FILE_BYTES // 1_000_000} MB, the most that is read"
        )
    return Package(converted(path.read_bytes(), path.name, "xlsx"), path.name)


def write(path: Path, data: bytes) -> None:
    """The bytes of an .xlsx file into a file, whole or not at all; by way of LibreOffice for .ods and .pdf."""
    kind = path.suffix.lower()
    if kind in (".ods", ".pdf"):
        data = converted(data, path.stem + ".xlsx", kind[1:])
    atomic.write(path, data)
