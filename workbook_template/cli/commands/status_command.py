"""``spargesheet status``: how the formulas stand in each spreadsheet program."""

from __future__ import annotations

from pathlib import Path

from workbook_template.cli import hosts


def add(subparsers) -> None:
    """Add the subcommand."""
    command = subparsers.add_parser(
        "status",
        help="say what is installed and whether a formula answers",
        description=(
            "Say for each spreadsheet program what is installed, of which version, with which"
            " Python, and whether a trial formula answers."
        ),
    )
    hosts.add_office(command)
    command.add_argument(
        "--report",
        type=Path,
        metavar="FILE",
        help=(
            "also write a short text about Excel and its add-in, without names and paths, to attach"
            " to a question"
        ),
    )
    command.set_defaults(run=run)


def run(options) -> int:
    """Print one line a host; write the report where one is asked for."""
    from udfs import call
    from udfs.hosts.excel import report
    from workbook_template.user_errors import CommandError

    print(call("ADDIN_STATUS"))
    for host in hosts.HOSTS:
        print(hosts.manager(host).status_line(**hosts.options_for(host, options)))
    if options.report:
        try:
            with open(options.report, "x", encoding="utf-8") as file:
                file.write(report.text())
        except FileExistsError:
            raise CommandError(f"{options.report} is there already; name another file") from None
        except OSError as error:
            raise CommandError(
                f"{options.report} cannot be written: {error.strerror or error}"
            ) from None
        print(f"wrote {options.report}")
    return 0
