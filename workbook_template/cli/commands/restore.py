"""``spargesheet restore``: the live workbook back from a shared copy."""

from __future__ import annotations

from pathlib import Path


def add(subparsers) -> None:
    """Add the subcommand."""
    command = subparsers.add_parser(
        "restore",
        help="make a shared copy live again",
        description="Put the formulas of a shared copy back, keep what was typed into it, and list what that changes.",
    )
    command.add_argument(
        "copy",
        metavar="COPY",
        help="a copy that `spargesheet share` made, however it was edited since",
    )
    command.add_argument(
        "out", nargs="?", metavar="OUT", help="the live workbook; left out: COPY-restored.xlsx"
    )
    command.add_argument("--force", action="store_true", help="replace OUT where it exists")
    command.set_defaults(run=run)


def run(options) -> int:
    """Write the live workbook and list the differences."""
    from workbook_template.cli import office
    from workbook_template.cli.commands._books import output, progress
    from workbook_template.errors import BookError, CommandError
    from workbook_template.travel.check import said
    from workbook_template.travel.restore import restored

    source = Path(options.copy)
    try:
        kind = ".ods" if source.suffix.lower() == ".ods" else ".xlsx"
        out = output(
            source, options.out, source.with_name(f"{source.stem}-restored{kind}"), options.force
        )
        result = restored(office.read(source), progress())
        office.write(out, result.data)
    except BookError as error:
        raise CommandError(str(error)) from None
    for title, rows in (
        ("Inputs that changed in the copy", result.inputs),
        ("Values typed over a formula (the formula is back)", result.overwritten),
        ("Answers that changed", result.answers),
    ):
        if rows:
            print(f"{title}:")
            for where, was, now in rows:
                print(f"  {where}: {said(was)} -> {said(now)}")
    if result.warning:
        print(f"Note: {result.warning}")
    print(f"{out}: {result.formulas} formulas of the add-in are live again")
    return 0
