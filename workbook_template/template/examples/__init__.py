"""Small books of one sheet, to copy formulas from into a workbook of one's own."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

from workbook_template.template.book import Book
from workbook_template.template.build import BuildError, evaluated, said
from workbook_template.template.sizes import Starting

#: By the name that is typed; each is a module with ``TITLE`` and ``write(book)``.
NAMES = ("dose", "batches", "titration", "purchasing", "runnings", "calcium")


def title(name: str) -> str:
    """What an example shows."""
    return import_module(f"{__name__}.{name}_example").TITLE


def build(name: str, path: Path | str, starting: Starting | None = None) -> None:
    """Write one example to ``path`` with all values cached; BuildError where a formula comes out as
    an error.
    """
    book = Book(path, starting=starting)
    import_module(f"{__name__}.{name}_example").write(book)
    values, errors = evaluated(book)
    if errors:
        raise BuildError(f"formulas come out as errors: {', '.join(map(said, errors))}")
    book.close(values)
