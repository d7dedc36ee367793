"""``spargesheet status``: how the formulas stand in each spreadsheet program."""

from __future__ import annotations

from workbook_template.cli import hosts


def add(subparsers) -> None:
    """Add the subcommand."""
    command = subparsers.add_parser(
        "status",
        help="say what is installed and whether a formula answers",
        description="Say for each spreadsheet program what is installed, of which version, with which Python, and whether "
        "a trial formula answers.",
    )
    hosts.add_office(command)
    command.set_defaults(run=run)


def run(options) -> int:
    """Print one line a host."""
    from udfs import call

    print(call("ADDIN_STATUS"))
    for host in hosts.HOSTS:
        print(hosts.manager(host).status_line(**hosts.options_for(host, options)))
    return 0
