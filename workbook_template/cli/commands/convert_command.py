"""``spargesheet convert``: a workbook between Excel and Calc."""

from __future__ import annotations

import os
from pathlib import Path

from workbook_template.cli import hosts


def add(subparsers) -> None:
    """Add the subcommand."""
    command = subparsers.add_parser(
        "convert",
        help="turn an Excel workbook into one for Calc, or back",
        description=(
            "Turn an .xlsx workbook into an .ods whose formulas are live in Calc, or an .ods or"
            " .xlsx that Calc saved into an .xlsx with the functions' plain names. LibreOffice does"
            " the conversion."
        ),
    )
    command.add_argument("source", type=Path, metavar="IN", help="a workbook, .xlsx or .ods")
    command.add_argument("target", type=Path, metavar="OUT", help="the new workbook, .ods or .xlsx")
    command.add_argument("--force", action="store_true", help="replace OUT where it exists")
    hosts.add_office(command)
    command.set_defaults(run=run)


def run(options) -> int:
    """Convert one workbook."""
    from workbook_template.cli.calc_edition import to_ods, to_xlsx
    from workbook_template.user_errors import BookError, CommandError

    source, target = options.source, options.target
    kinds = source.suffix.lower(), target.suffix.lower()
    if kinds not in ((".xlsx", ".ods"), (".ods", ".xlsx"), (".xlsx", ".xlsx")):
        raise CommandError(
            "convert turns .xlsx into .ods, and .ods or an .xlsx that Calc saved into .xlsx"
        )
    if not os.path.isfile(source):
        raise CommandError(f"there is no file {source}")
    if os.path.exists(target) and os.path.samefile(source, target):
        raise CommandError(f"{target} is the input itself; name another file")
    if os.path.exists(target) and not options.force:
        raise CommandError(f"{target} exists; name another file, or add --force to replace it")
    try:
        made = (to_ods if kinds[1] == ".ods" else to_xlsx)(source, target, options.office)
    except BookError as error:
        raise CommandError(str(error)) from None
    if made.unlinked:
        print(
            f"Note: {made.unlinked} link{'s' if made.unlinked != 1 else ''} to pictures, data or"
            " macros elsewhere lead nowhere now; nothing was fetched."
        )
    print(f"{target}: {made.calls} calls of the functions")
    return 0
