"""Small books of one sheet, to copy formulas from into a workbook of one's own."""

from __future__ import annotations

import tempfile
from importlib import import_module
from pathlib import Path

from workbook_template.template.book import Book
from workbook_template.template.build import BuildError, evaluated, said
from workbook_template.template.sizes import Starting

#: By the name that is typed; each is a module with ``TITLE`` and ``write(book)``.
NAMES = ("dose", "batches", "titration", "purchasing", "runnings", "calcium")


def title(name: str) -> str:
    """What an example shows."""
    return import_module(f"{__name__}.{name}").TITLE


def build(name: str, path: Path | str, starting: Starting | None = None) -> None:
    """Write one example to ``path`` with all values cached; BuildError where a formula comes out as an error."""
    write = import_module(f"{__name__}.{name}").write

    def drafted(to, values=None) -> Book:
        book = Book(to, values, starting=starting)
        write(book)
        book.close()
        return book

    with tempfile.TemporaryDirectory() as scratch:
        draft = Path(scratch) / "draft.xlsx"
        values, errors = evaluated(draft, drafted(draft).formulas)
    if errors:
        raise BuildError(f"formulas come out as errors: {', '.join(map(said, errors))}")
    drafted(path, values)
