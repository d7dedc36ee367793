"""``spargesheet log add``: meter readings into a copy of a workbook."""

from __future__ import annotations

import sys
from pathlib import Path


def add(subparsers) -> None:
    """Add the subcommand."""
    group = subparsers.add_parser(
        "log",
        help="add meter readings from a CSV file to a workbook's log",
        description="What fills the log of a workbook.",
    )
    actions = group.add_subparsers(title="actions", metavar="ACTION", required=True)
    command = actions.add_parser(
        "add",
        usage="spargesheet log add [-h] BOOK --csv FILE [OUT] [--force]",
        help="add meter readings from a CSV file",
        description="Append the readings of a CSV file to the log of a copy of a workbook and refresh its values; all else "
        "stays byte for byte. Lines that cannot be used are listed with the reason (exit code 1), the others "
        "are written.",
    )
    command.add_argument("book", metavar="BOOK", help="workbook, .xlsx or .xlsm; it is not changed")
    command.add_argument("out", nargs="?", metavar="OUT", help="the copy; left out: BOOK-logged")
    # argparse before Python 3.13 does not take OUT after --csv FILE, so --csv takes it in.
    command.add_argument(
        "--csv",
        nargs="+",
        required=True,
        metavar=("FILE", "OUT"),
        help="readings with a header line, separated by commas or semicolons",
    )
    command.add_argument("--force", action="store_true", help="replace OUT where it exists")
    command.set_defaults(run=run)


def run(options) -> int:
    """Write the copy, list what was refused and say what was added."""
    from workbook_template.cli.commands._books import output, progress
    from workbook_template.errors import BookError, CommandError
    from workbook_template.travel import atomic
    from workbook_template.travel.log_readings import add as add_readings
    from workbook_template.travel.ooxml.package import Package

    source, file, *outs = (
        Path(options.book),
        Path(options.csv[0]),
        *options.csv[1:],
        *filter(None, [options.out]),
    )
    kind = source.suffix.lower()
    try:
        if kind not in (".xlsx", ".xlsm"):
            raise BookError(f"log add works on .xlsx and .xlsm files, and {source.name} is neither")
        if len(outs) > 1:
            raise BookError(f"one OUT is written, and {len(outs)} are named: {', '.join(outs)}")
        package = Package.read(source)
        out = output(
            source,
            outs[0] if outs else None,
            source.with_name(f"{source.stem}-logged{kind}"),
            options.force,
            (kind,),
        )
        added = add_readings(package, file, progress())
        if added.data:
            atomic.write(out, added.data)
    except BookError as error:
        raise CommandError(str(error)) from None
    for line, reason in added.refused:
        print(f"{file.name}, line {line}: {reason}", file=sys.stderr)
    if added.data:
        print(
            f"{out}: {len(added.rows)} row{'s' if len(added.rows) != 1 else ''} added to the log, volume in {added.unit}"
            + (f"; {len(added.refused)} refused" if added.refused else "")
        )
        if added.warning:
            print(f"Note: {added.warning}")
    else:
        print("No line can be used; nothing was written.", file=sys.stderr)
    return 1 if added.refused else 0
