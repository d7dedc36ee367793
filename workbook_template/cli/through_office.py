"""Files that are no .xlsx, by way of LibreOffice: .ods in and out, PDF."""

from __future__ import annotations

from pathlib import Path

from udfs.hosts import HostError
from udfs.hosts.calc import convert, office
from workbook_template.cli.offline import offline
from workbook_template.cli.opendocument import OpenDocument
from workbook_template.travel import atomic, bounds
from workbook_template.travel.ooxml.package import Package
from workbook_template.user_errors import BookError


def converted(data: bytes, name: str, kind: str) -> bytes:
    """A document as another kind (``xlsx``, ``ods``, ``pdf``), as somebody without the add-in sees
    it.
    """
    opened = _kind(name)(data, name)
    suffix = ".ods" if isinstance(opened, OpenDocument) else ".xlsx"
    try:
        programs = office.find()
    except HostError:
        raise BookError(
            f"{name} needs LibreOffice to become .{kind}, and it is not installed here"
        ) from None
    offline(opened)
    try:
        found = convert.converted(programs, opened.tobytes(), suffix, kind, bounds.OFFICE_SECONDS)
    except HostError as error:
        raise BookError(f"{name} does not become .{kind}: {error}") from None
    except OSError as error:
        raise BookError(
            f"{name} does not become .{kind}: no room for temporary files"
            f" ({error.strerror or error})"
        ) from None
    if found is None:
        raise BookError(
            f"LibreOffice cannot turn {name} into .{kind}: it is damaged, encrypted or no"
            " spreadsheet"
        )
    return found


def document(path: Path) -> Package:
    """The parts of an .xlsx or .ods file, within the bounds."""
    return _kind(path.name).read(path)


def _kind(name: str) -> type[Package]:
    return OpenDocument if name.lower().endswith(".ods") else Package


def read(path: Path) -> Package:
    """The package of an .xlsx file, or of an .ods file by way of LibreOffice."""
    found = document(path)
    if isinstance(found, OpenDocument):
        return Package(converted(found.data, path.name, "xlsx"), path.name)
    return found


def write(path: Path, data: bytes) -> None:
    """The bytes of an .xlsx file into a file, whole or not at all; by way of LibreOffice for .ods
    and .pdf.
    """
    kind = path.suffix.lower()
    atomic.refuse_open(path)
    if kind in (".ods", ".pdf"):
        data = converted(data, path.stem + ".xlsx", kind[1:])
    atomic.write(path, data)
