"""``spargesheet new``: write the workbook."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path


def add(subparsers) -> None:
    """Add the subcommand."""
    command = subparsers.add_parser(
        "new", help="write the batch-plan workbook",
        description="Write the batch-plan workbook with its invented example, all figures worked out.")
    command.add_argument("book", metavar="BOOK.xlsx", type=Path, help="the file to write")
    command.add_argument("--force", action="store_true", help="write over a file that is there already")
    command.set_defaults(run=run)


def run(options) -> int:
    """Write the workbook beside its place first, so that a failure leaves what was there."""
    from workbook_template.build import build
    from workbook_template.errors import CommandError

    path: Path = options.book
    if path.suffix.lower() != ".xlsx":
        raise CommandError(f"{path.name}: the workbook's name must end in .xlsx")
    if path.exists() and not options.force:
        raise CommandError(f"{path} is there already; add --force to write over it")
    if not path.parent.is_dir():
        raise CommandError(f"{path.parent} is not a folder; make it first")
    try:
        handle, draft = tempfile.mkstemp(prefix=f".{path.stem}-", suffix=".xlsx", dir=path.parent)
        os.close(handle)
        try:
            build(draft, _progress)
            Path(draft).chmod(0o666 & ~_umask())
            os.replace(draft, path)
        finally:
            Path(draft).unlink(missing_ok=True)
    except OSError as error:
        raise CommandError(f"{path} cannot be written: {error.strerror or error}") from None
    print(f"wrote {path}", file=sys.stderr)
    return 0


def _progress(text: str) -> None:
    print(f"{text} ...", file=sys.stderr, flush=True)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
