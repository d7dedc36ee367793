"""``spargesheet install``: the formulas into a spreadsheet program."""

from __future__ import annotations

from workbook_template.cli import hosts


def add(subparsers) -> None:
    """Add the subcommand."""
    command = subparsers.add_parser(
        "install",
        help="put the formulas into Calc or Excel",
        description=(
            "Put the formulas into LibreOffice Calc or Excel. Do it again after an upgrade. For"
            " Excel: close it first, and tick 'Trust access to the VBA project object model' (File"
            " > Options > Trust Center > Trust Center Settings > Macro Settings) for the time of"
            " the installation; Python from python.org (64-bit), in a virtual environment; Excel"
            " from Microsoft 365 or a setup program, not from the Microsoft Store."
        ),
    )
    hosts.add_arguments(command)
    command.set_defaults(run=run)


def run(options) -> int:
    """Install into one host."""
    from udfs.hosts import HostError
    from workbook_template.user_errors import CommandError

    try:
        hosts.manager(options.host).install(**hosts.options_for(options.host, options))
    except HostError as error:
        raise CommandError(str(error)) from None
    return 0
