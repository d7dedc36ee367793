"""Workbooks between Excel and Calc: .xlsx with the functions' plain names, .ods with formulas that
are live in Calc.

Calc knows the functions in files only by its own long names, so these are put in before it loads an
.xlsx file and taken out after it saved one. The conversion itself is the real Calc's, which gets
what nothing is fetched for.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from udfs.hosts import HostError
from udfs.hosts.calc.extension import stored_name
from udfs.hosts.calc.office import with_extension
from udfs.hosts.calc.scratch import scratch
from workbook_template.cli import through_office as files
from workbook_template.cli.offline import offline
from workbook_template.cli.opendocument import OpenDocument
from workbook_template.engine_number import mark_unless_asked
from workbook_template.travel import atomic, bounds
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.travel.stored_names import plain, rename_in
from workbook_template.user_errors import BookError

#: The vertical alignment that LibreOffice gives the default cell style of an .xlsx. The styles of
#: conditional formats inherit it, so a coloured cell would lose its own; without one a cell is
#: aligned at the bottom all the same (OpenDocument 1.3 part 3, style:vertical-align).
_DEFAULT_ALIGNMENT = re.compile(
    rb'(<style:style style:name="Default" style:family="table-cell"[^>]*>'
    rb'<style:table-cell-properties[^>]*?) style:vertical-align="bottom"'
)


@dataclass
class Edition:
    """What a conversion did: calls of the functions in it, and addresses that were taken out."""

    calls: int
    unlinked: int


def to_ods(xlsx: Path | str, ods: Path | str, office: str | None = None) -> Edition:
    """Write the Calc edition of an .xlsx workbook, recalculated by Calc; BookError where that
    cannot be.

    Parameters
    ----------
    xlsx, ods
        Files.
    office
        Where LibreOffice is, if not in a usual place.
    """
    ods = Path(ods)
    atomic.refuse_open(ods)
    package = _read(Path(xlsx))
    unlinked = offline(package)
    calls = rename_in(package, stored_name)
    names = [sheet.name for sheet in StoredBook(package).sheets]
    data = _through_calc(package.tobytes(), ".xlsx", ".ods", office, package.title, names)
    made = OpenDocument(data, package.title)
    made["styles.xml"] = _DEFAULT_ALIGNMENT.sub(rb"\1", made["styles.xml"])
    atomic.write(ods, made.tobytes())
    return Edition(calls, unlinked)


def to_xlsx(source: Path | str, xlsx: Path | str, office: str | None = None) -> Edition:
    """Write an .xlsx workbook with the plain names from an .ods or .xlsx that Calc saved; BookError
    where that cannot be.

    An .xlsx keeps all but the names; its values stay as they were saved.
    """
    xlsx = Path(xlsx)
    atomic.refuse_open(xlsx)
    found, unlinked = _read(Path(source)), 0
    if isinstance(found, OpenDocument):
        unlinked = offline(found)
        data = _through_calc(found.tobytes(), ".ods", ".xlsx", office, found.title)
        found = Package(data, found.title)
    calls = rename_in(found, plain)
    mark_unless_asked(found, StoredBook(found).part)  # LibreOffice names no calculation engine
    atomic.write(xlsx, found.tobytes())
    return Edition(calls, unlinked)


def _read(path: Path) -> Package:
    """The parts of a file, within every bound of a book."""
    found = files.document(path)
    if not isinstance(found, OpenDocument):
        for sheet in StoredBook(found).sheets:
            sheet.cells  # noqa: B018  (reading them counts them)
    return found


def _through_calc(
    data: bytes,
    suffix: str,
    kind: str,
    office: str | None,
    title: str,
    names: Sequence[str] = (),
) -> bytes:
    """What the real Calc makes of a file, recalculated with the extension, its sheets called by
    these names.
    """
    try:
        with scratch() as folder:
            source, target = folder / f"in{suffix}", folder / f"out{kind}"
            source.write_bytes(data)
            with with_extension(office, seconds=bounds.OFFICE_SECONDS) as calc:
                calc.ask("open", str(source), True)  # with its frozen panes
                calc.ask("name_sheets", list(names))
                calc.ask("recalculate")
                calc.ask("save", str(target))
            return target.read_bytes()
    except HostError as error:
        raise BookError(f"{title} does not become {kind}: {error}") from None
    except OSError as error:
        raise BookError(
            f"{title} does not become {kind}: no room for temporary files"
            f" ({error.strerror or error})"
        ) from None
