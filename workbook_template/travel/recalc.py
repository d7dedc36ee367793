"""Fresh cached values in a workbook's own file."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from workbook_template.engine_number import mark
from workbook_template.travel import atomic
from workbook_template.travel.edits import Edits, refresh
from workbook_template.travel.fresh_values import Calls, Fresh, fresh_values
from workbook_template.travel.native_functions import require_own_names
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.travel.uncollected import uncollected
from workbook_template.user_errors import BookError


@dataclass
class Recalculated:
    """How many cells got another value, how many formulas kept theirs, and what to say of those out
    of date.
    """

    changed: int
    kept: int
    warning: str | None = None


def recalculate(path: Path, heard=None) -> Recalculated:
    """Refresh the cached values in place; where nothing differs the file is not written.

    The old file survives any failure, and every part but the sheets with other values, and the
    workbook part where it names an older calculation engine than a current Excel's, stays byte for
    byte.
    """
    path = Path(path)
    atomic.refuse_open(path)
    try:
        before = os.stat(path)
    except OSError as error:
        raise BookError(f"{path} cannot be read: {error.strerror or error}") from None
    package = Package.read(path)
    changed, fresh = refreshed(package, heard)
    if package.edited:
        atomic.write(path, package.tobytes(), unchanged=before)
    return Recalculated(changed, fresh.kept, fresh.warning())


@uncollected
def refreshed(package: Package, heard=None, before: dict | None = None) -> tuple[int, Fresh]:
    """Fresh values in a package; how many changed, and the evaluation.

    ``before`` is what cells held when the stored values were worked out, as for
    :func:`workbook_template.travel.fresh_values.fresh_values`.
    """
    book = StoredBook(package)
    require_own_names(book)
    calls = Calls(book)
    fresh = fresh_values(book, calls, heard, before=before)
    fresh.require_all("a recalculation")
    edits = Edits(book)
    changed = refresh(book, fresh.values, fresh.grown, edits)
    edits.apply()
    if not fresh.kept:  # where one was, Excel is left to work the book out
        mark(package, book.part)
    return changed, fresh
