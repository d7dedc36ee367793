"""``spargesheet example``: a small workbook to copy formulas from."""

from __future__ import annotations

from pathlib import Path

from workbook_template.cli import hosts


def add(subparsers) -> None:
    """Add the subcommand."""
    command = subparsers.add_parser(
        "example",
        help="write a small workbook to copy formulas from",
        description=(
            "Write a one-sheet workbook to copy formulas from into your own: each answer has its"
            " formula beside it as text. Names: dose, batches, titration, purchasing, runnings,"
            " calcium; without one they are explained."
        ),
    )
    command.add_argument("name", nargs="?", metavar="NAME", help="which example")
    command.add_argument(
        "book", nargs="?", metavar="BOOK", type=Path, help="the file to write, .xlsx or .ods"
    )
    command.add_argument(
        "--force", action="store_true", help="write over a file that is there already"
    )
    hosts.add_office(command)
    command.set_defaults(run=run)


def run(options) -> int:
    """Write the example, or list them."""
    from workbook_template.cli.writing import book_written, refuse_book, say
    from workbook_template.template import examples
    from workbook_template.template.build import BuildError
    from workbook_template.user_errors import BookError, CommandError

    if options.name is None:
        for name in examples.NAMES:
            print(f"{name:12}{examples.title(name)}")
        return 0
    if options.name not in examples.NAMES:
        raise CommandError(f"{options.name!r} is no example; there are {', '.join(examples.NAMES)}")
    if options.book is None:
        raise CommandError(f"name the file too: spargesheet example {options.name} book.xlsx")
    told = say(options)
    try:
        refuse_book(options.book, options.force)
        book_written(
            options.book, options.office, lambda path: examples.build(options.name, path), told
        )
    except (BookError, BuildError) as error:
        raise CommandError(str(error)) from None
    told(f"wrote {options.book}")
    return 0
