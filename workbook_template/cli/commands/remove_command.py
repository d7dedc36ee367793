"""``spargesheet remove``: the formulas out of a spreadsheet program."""

from __future__ import annotations

from workbook_template.cli import hosts


def add(subparsers) -> None:
    """Add the subcommand."""
    command = subparsers.add_parser(
        "remove",
        help="take the formulas out of Calc or Excel",
        description=(
            "Take the formulas out of LibreOffice Calc or Excel. Workbooks stay as they are."
        ),
    )
    hosts.add_arguments(command)
    command.set_defaults(run=run)


def run(options) -> int:
    """Remove from one host."""
    from udfs.hosts import HostError
    from workbook_template.user_errors import CommandError

    try:
        hosts.manager(options.host).remove(**hosts.options_for(options.host, options))
    except HostError as error:
        raise CommandError(str(error)) from None
    return 0
