"""``spargesheet open``: a workbook in its spreadsheet program with its formulas live."""

from __future__ import annotations

from pathlib import Path

from workbook_template.cli import hosts


def add(subparsers) -> None:
    """Add the subcommand."""
    command = subparsers.add_parser(
        "open",
        help="open a workbook in LibreOffice or Excel with live formulas",
        description=(
            "Open an .ods workbook in LibreOffice, free of the Python environment that this"
            " terminal may have active (with which LibreOffice ends at once); or another one in"
            " Excel on Windows with the add-in loaded. Where Excel is open already, the book is"
            " recalculated once, so that formulas written on another machine find the add-in here,"
            " and what still shows #NAME? is counted."
        ),
    )
    command.add_argument(
        "workbook", type=Path, metavar="WORKBOOK", help="e.g. plan.xlsx or plan.ods"
    )
    hosts.add_office(command)
    command.set_defaults(run=run)


def run(options) -> int:
    """Open it."""
    from udfs.hosts import HostError
    from workbook_template.user_errors import CommandError

    try:
        if options.workbook.suffix.lower() in (".ods", ".ots", ".fods"):
            from udfs.hosts.calc import calc_opening as calc

            calc.open_book(options.workbook, options.office)
        else:
            from udfs.hosts.excel import excel_opening as excel

            excel.open_book(options.workbook)
    except HostError as error:
        raise CommandError(str(error)) from None
    return 0
