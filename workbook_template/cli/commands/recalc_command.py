"""``spargesheet recalc``: fresh values in a workbook's own file."""

from __future__ import annotations

from pathlib import Path


def add(subparsers) -> None:
    """Add the subcommand."""
    command = subparsers.add_parser(
        "recalc",
        help="refresh the stored values of a workbook in place",
        description=(
            "Recompute a workbook without a spreadsheet program and store the fresh values, in"
            " place and whole or not at all; formulas, charts and everything else stay byte for"
            " byte."
        ),
    )
    command.add_argument("book", metavar="BOOK", help="workbook, .xlsx or .xlsm")
    command.set_defaults(run=run)


def run(options) -> int:
    """Refresh and say how much changed."""
    from workbook_template.cli.progress import progress
    from workbook_template.travel.recalc import recalculate
    from workbook_template.user_errors import BookError, CommandError

    path = Path(options.book)
    try:
        if path.suffix.lower() == ".ods":
            raise BookError(
                "recalc works on .xlsx files; LibreOffice recalculates an .ods itself"
                " (Ctrl+Shift+F9)"
            )
        result = recalculate(path, progress())
    except BookError as error:
        raise CommandError(str(error)) from None
    if result.kept:
        print(
            f"Note: {result.kept} formula{'s' if result.kept != 1 else ''} beyond the embedded"
            f" engine keep{'s' if result.kept == 1 else ''} the stored value."
        )
    if result.warning:
        print(f"Note: {result.warning}")
    print(f"{path}: {result.changed or 'no'} value{'s' if result.changed != 1 else ''} changed")
    return 0
