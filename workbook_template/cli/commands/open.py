"""``spargesheet open``: a workbook in Excel with its formulas live."""

from __future__ import annotations

from pathlib import Path


def add(subparsers) -> None:
    """Add the subcommand."""
    command = subparsers.add_parser(
        "open",
        help="open a workbook in Excel on Windows with live formulas",
        description="Open a workbook in Excel on Windows with the add-in loaded. Where Excel is open already, the book is "
        "recalculated once, so that formulas written on another machine find the add-in here, and what still shows #NAME? "
        "is counted.",
    )
    command.add_argument("workbook", type=Path, metavar="WORKBOOK", help="e.g. plan.xlsx")
    command.set_defaults(run=run)


def run(options) -> int:
    """Open it."""
    from udfs.hosts import HostError
    from udfs.hosts.excel.opening import open_book
    from workbook_template.errors import CommandError

    try:
        open_book(options.workbook)
    except HostError as error:
        raise CommandError(str(error)) from None
    return 0
