"""Fresh cached values in a workbook's own file."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from workbook_template.errors import BookError
from workbook_template.travel import atomic
from workbook_template.travel.native_functions import require_own_names
from workbook_template.travel.ooxml.book import Book
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.share import Edits, refresh
from workbook_template.travel.values import Calls, fresh_values


@dataclass
class Recalculated:
    """How many cells got another value, and how many formulas beyond the engine kept theirs."""

    changed: int
    kept: int


def recalculate(path: Path, heard=None) -> Recalculated:
    """Refresh the cached values in place; where nothing differs the file is not written.

    The old file survives any failure, and every part but the sheets with other values stays byte for byte.
    """
    path = Path(path)
    atomic.refuse_open(path)
    try:
        before = os.stat(path)
    except OSError as error:
        raise BookError(f"{path} cannot be read: {error.strerror or error}") from None
    package = Package.read(path)
    changed, kept = refreshed(package, heard)
    if changed:
        atomic.write(path, package.tobytes(), unchanged=before)
    return Recalculated(changed, kept)


def refreshed(package: Package, heard=None) -> tuple[int, int]:
    """Fresh values in a package; how many changed, and how many formulas kept theirs."""
    book = Book(package)
    require_own_names(book)
    calls = Calls(book)
    fresh = fresh_values(book, calls, heard)
    fresh.require_all("a recalculation")
    edits = Edits(book)
    changed = refresh(book, fresh.values, fresh.grown, edits)
    edits.apply()
    return changed, fresh.kept
