"""``spargesheet new``: write the workbook."""

from __future__ import annotations

import argparse
from pathlib import Path

from workbook_template.cli import hosts


def add(subparsers) -> None:
    """Add the subcommand."""
    command = subparsers.add_parser(
        "new",
        help="write the batch-plan workbook",
        description=(
            "Write the batch-plan workbook with its invented example, or empty, all figures worked"
            " out: an .xlsx for Excel and for viewers, or an .ods whose formulas are live in"
            " LibreOffice Calc (which then makes it)."
        ),
    )
    command.add_argument("book", metavar="BOOK", type=Path, help="the file to write, .xlsx or .ods")
    command.add_argument("--empty", action="store_true", help="leave the invented example out")
    add_sizes(command)
    command.add_argument(
        "--units",
        default="metric",
        metavar="us|metric|imperial",
        help=(
            "what volumes and temperatures are typed in: US bbl and °F, hL and °C (usual), imp bbl"
            " and °C; changed in Settings at any time"
        ),
    )
    command.add_argument(
        "--currency", default="EUR", metavar="LABEL", help="e.g. USD; only a label"
    )
    command.add_argument(
        "--paper",
        default="a4",
        metavar="letter|a4",
        help="what the pages are printed on (usual: a4)",
    )
    command.add_argument(
        "--force", action="store_true", help="write over a file that is there already"
    )
    hosts.add_office(command)
    command.set_defaults(run=run)


def add_sizes(command) -> None:
    """The options that say how many rows the tables get."""
    for name, usual in (("batches", 40), ("waters", 6), ("acids", 8)):
        command.add_argument(
            f"--{name}", type=rows, metavar="N", help=f"rows for {name} (usual: {usual})"
        )


def rows(text: str) -> int:
    """A number of rows from the command line."""
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number of rows, such as 120")
    return int(text)


def run(options) -> int:
    """Write the workbook, whole or not at all."""
    from workbook_template.cli.writing import book_written, refuse_book, say
    from workbook_template.template.packaged import copied
    from workbook_template.template.sizes import Sizes, Starting
    from workbook_template.user_errors import BookError, CommandError

    path: Path = options.book
    try:
        asked = {name: getattr(options, name) for name in ("batches", "waters", "acids")}
        sizes = Sizes(**{name: rows for name, rows in asked.items() if rows is not None})
        starting = Starting(options.units.lower(), options.currency, options.paper.lower())
        refuse_book(path, options.force)
        told = say(options)
        if warning := sizes.warning():
            told(f"note: {warning}")

        def make(book: Path) -> None:
            if not copied(book, sizes, starting, not options.empty):
                _build(book, told, sizes, starting, not options.empty)

        book_written(path, options.office, make, told)
    except (BookError, ValueError) as error:
        raise CommandError(str(error)) from None
    told(f"wrote {path}")
    return 0


def _build(book: Path, told, sizes, starting, example: bool) -> None:
    from workbook_template.template.build import BuildError, build
    from workbook_template.user_errors import BookError

    try:
        build(
            book, lambda text: told(f"{text} ..."), sizes=sizes, example=example, starting=starting
        )
    except BuildError as error:
        raise BookError(str(error)) from None
