"""Writing a new workbook to where the user wants it, .xlsx or .ods, whole or not at all."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from workbook_template.user_errors import BookError

_Made = TypeVar("_Made")


def say(options) -> Callable[[str], None]:
    """What tells the user on standard error what is being done; nothing with --quiet."""

    def told(text: str) -> None:
        if not getattr(options, "quiet", False):
            print(text, file=sys.stderr, flush=True)

    return told


def refuse_book(path: Path, force: bool) -> None:
    """Refuse a file that cannot be the new workbook: BookError with what would be right."""
    from workbook_template.travel import atomic

    if path.suffix.lower() not in (".xlsx", ".ods"):
        raise BookError(
            f"{path.name}: the workbook's name must end in .xlsx, or in .ods for LibreOffice Calc"
        )
    if path.exists() and not force:
        raise BookError(f"{path} is there already; add --force to write over it")
    if not path.parent.is_dir():
        raise BookError(f"{path.parent} is not a folder; make it first")
    atomic.refuse_open(path)


def book_written(
    path: Path,
    office: str | None,
    make: Callable[[Path], _Made],
    told: Callable[[str], None],
) -> _Made:
    """Have a workbook made in a scratch folder and put it, or its Calc edition, to ``path``; what
    ``make`` returned.

    ``make`` writes an .xlsx to the path that it gets.
    """
    from udfs.hosts.calc.scratch import scratch
    from workbook_template.travel import atomic

    try:
        with scratch() as folder:
            book = folder / "plan.xlsx"
            made = make(book)
            if path.suffix.lower() == ".xlsx":
                atomic.write(path, book.read_bytes())
            else:
                from workbook_template.cli.calc_edition import to_ods

                told("having LibreOffice Calc make its edition ...")
                to_ods(book, path, office)
    except OSError as error:
        raise BookError(
            f"{path} cannot be written: no room for temporary files ({error.strerror or error})"
        ) from None
    return made
