"""``spargesheet new``: write the workbook."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

from workbook_template.cli import hosts


def add(subparsers) -> None:
    """Add the subcommand."""
    command = subparsers.add_parser(
        "new",
        help="write the batch-plan workbook",
        description="Write the batch-plan workbook with its invented example, all figures worked out: an .xlsx for Excel and for "
        "viewers, or an .ods whose formulas are live in LibreOffice Calc (which then makes it).",
    )
    command.add_argument("book", metavar="BOOK", type=Path, help="the file to write, .xlsx or .ods")
    command.add_argument(
        "--force", action="store_true", help="write over a file that is there already"
    )
    hosts.add_office(command)
    command.set_defaults(run=run)


def run(options) -> int:
    """Write the workbook beside its place first, so that a failure leaves what was there."""
    from udfs.hosts import HostError
    from workbook_template.errors import CommandError

    path: Path = options.book
    if path.suffix.lower() not in (".xlsx", ".ods"):
        raise CommandError(
            f"{path.name}: the workbook's name must end in .xlsx, or in .ods for LibreOffice Calc"
        )
    if path.exists() and not options.force:
        raise CommandError(f"{path} is there already; add --force to write over it")
    if not path.parent.is_dir():
        raise CommandError(f"{path.parent} is not a folder; make it first")
    try:
        with tempfile.TemporaryDirectory(prefix=f".{path.stem}-", dir=path.parent) as folder:
            draft = Path(folder) / path.name
            _write(draft, options.office)
            os.replace(draft, path)
    except HostError as error:
        raise CommandError(str(error)) from None
    except OSError as error:
        raise CommandError(f"{path} cannot be written: {error.strerror or error}") from None
    print(f"wrote {path}", file=sys.stderr)
    return 0


def _write(draft: Path, office: str | None) -> None:
    from workbook_template.template.build import build

    if draft.suffix.lower() == ".xlsx":
        build(draft, _progress)
        return
    from workbook_template.cli.calc_edition import to_ods

    book = draft.with_suffix(".xlsx")
    build(book, _progress)
    _progress("having LibreOffice Calc make its edition")
    to_ods(book, draft, office)
    book.unlink()


def _progress(text: str) -> None:
    print(f"{text} ...", file=sys.stderr, flush=True)
