"""``spargesheet new``: write the workbook."""

from __future__ import annotations

import sys
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
    """Write the workbook, whole or not at all."""
    from udfs.hosts.calc.scratch import scratch
    from workbook_template.errors import BookError, CommandError
    from workbook_template.travel import atomic

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
        atomic.refuse_open(path)
        with scratch() as folder:
            book = folder / "plan.xlsx"
            _write(book, path, options.office)
    except BookError as error:
        raise CommandError(str(error)) from None
    except OSError as error:
        raise CommandError(
            f"{path} cannot be written: no room for temporary files ({error.strerror or error})"
        ) from None
    print(f"wrote {path}", file=sys.stderr)
    return 0


def _write(book: Path, path: Path, office: str | None) -> None:
    from xlsxwriter.exceptions import FileCreateError

    from workbook_template.template.build import build
    from workbook_template.travel import atomic

    try:
        build(book, _progress)
    except FileCreateError as error:  # what XlsxWriter makes of an OSError
        raise OSError(str(error)) from None
    if path.suffix.lower() == ".xlsx":
        atomic.write(path, book.read_bytes())
        return
    from workbook_template.cli.calc_edition import to_ods

    _progress("having LibreOffice Calc make its edition")
    to_ods(book, path, office)


def _progress(text: str) -> None:
    print(f"{text} ...", file=sys.stderr, flush=True)
