"""``spargesheet carry``: the entries of a workbook into a fresh one of this version."""

from __future__ import annotations

from pathlib import Path

from workbook_template.cli import hosts
from workbook_template.cli.commands.new_command import add_sizes


def add(subparsers) -> None:
    """Add the subcommand."""
    command = subparsers.add_parser(
        "carry",
        help="take all entries of a workbook into a new one of this version, or of more rows",
        description=(
            "Write a fresh workbook of this version with the settings, acids, waters, grists, plan,"
            " log and readings of another of this or an earlier version, and list what was taken"
            " and what has no place. OLD is not changed. The same command gives a workbook more"
            " rows."
        ),
    )
    command.add_argument("old", metavar="OLD", type=Path, help="workbook, .xlsx, .xlsm or .ods")
    command.add_argument("new", metavar="NEW", type=Path, help="the file to write, .xlsx or .ods")
    command.add_argument(
        "--log-only",
        action="store_true",
        help=(
            "begin a new season: leave the plan, its mashes, grists and readings out (the log keeps"
            " what it took from them); the stock begins with what the plan left"
        ),
    )
    add_sizes(command)
    command.add_argument(
        "--force", action="store_true", help="write over a file that is there already"
    )
    hosts.add_office(command)
    command.set_defaults(run=run)


def run(options) -> int:
    """Write the new workbook and list what went and what did not."""
    from workbook_template.cli import through_office
    from workbook_template.cli.writing import book_written, refuse_book, say
    from workbook_template.travel.carry import carry
    from workbook_template.user_errors import BookError, CommandError

    old, new, told = options.old, options.new, say(options)
    names = ("batches", "waters", "acids")
    asked = {name: getattr(options, name) for name in names if getattr(options, name) is not None}
    try:
        if new.exists() and old.exists() and new.samefile(old):
            raise BookError(f"{new} is the old workbook itself; name another file")
        refuse_book(new, options.force)
        package = through_office.read(old)
        result = book_written(
            new,
            options.office,
            lambda path: carry(
                package,
                path,
                log_only=options.log_only,
                asked=asked,
                progress=lambda text: told(f"{text} ..."),
            ),
            told,
        )
    except BookError as error:
        raise CommandError(str(error)) from None
    print(f"{new}: taken from {old}: {', '.join(result.taken) or 'nothing'}")
    for title, lines in (("Note", result.notes), ("NOT taken", result.left)):
        if lines:
            print(f"{title}:")
            for where, sentence in lines:
                print(f"  {where}: {sentence}")
    print(f"Not looked at: {result.not_looked_at}.")
    return 1 if result.left else 0
