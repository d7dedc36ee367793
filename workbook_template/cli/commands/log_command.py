"""``spargesheet log add``: meter readings into a copy of a workbook."""

from __future__ import annotations

import sys
from pathlib import Path

from workbook_template.cli import hosts


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
        usage="spargesheet log add [-h] BOOK --csv FILE [OUT] [--force] [--office PATH] [--quiet]",
        help="add meter readings from a CSV file",
        description=(
            "Append the readings of a CSV file to the log of a copy of a workbook and refresh its"
            " values; all else stays byte for byte (of an .ods, what LibreOffice makes of it)."
            " Columns that the log does not know are named and left out. Lines that cannot be used"
            " are listed with the reason (exit code 1), the others are written."
        ),
    )
    command.add_argument(
        "book",
        metavar="BOOK",
        help="workbook, .xlsx or .xlsm, or .ods through LibreOffice; it is not changed",
    )
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
    hosts.add_office(command)
    command.set_defaults(run=run)


def run(options) -> int:
    """Write the copy, list what was refused and say what was added."""
    from workbook_template.cli.commands._books import output
    from workbook_template.cli.progress import progress
    from workbook_template.travel import atomic
    from workbook_template.travel.log_readings import add as add_readings
    from workbook_template.travel.ooxml.package import Package
    from workbook_template.user_errors import BookError, CommandError

    source, file = Path(options.book), Path(options.csv[0])
    outs = options.csv[1:] + ([options.out] if options.out else [])
    kind = source.suffix.lower()
    try:
        if kind not in (".xlsx", ".xlsm", ".ods"):
            raise BookError(
                f"log add works on .xlsx, .xlsm and .ods files, and {source.name} is none of them"
            )
        if len(outs) > 1:
            raise BookError(f"one OUT is written, and {len(outs)} are named: {', '.join(outs)}")
        out = output(
            source,
            outs[0] if outs else None,
            source.with_name(f"{source.stem}-logged{kind}"),
            options.force,
            (kind,),
        )
        if kind == ".ods":
            added = _through_calc(source, file, out, options)
        else:
            added = add_readings(Package.read(source), file, progress())
            if added.data:
                atomic.write(out, added.data)
    except BookError as error:
        raise CommandError(str(error)) from None
    if added.ignored:
        print(
            f"{file.name}: column{'s' if len(added.ignored) != 1 else ''} that the log does not"
            " know, not taken: " + ", ".join(added.ignored),
            file=sys.stderr,
        )
    for line, reason in added.refused:
        print(f"{file.name}, line {line}: {reason}", file=sys.stderr)
    if added.data:
        print(
            f"{out}: {len(added.rows)} row{'s' if len(added.rows) != 1 else ''} added to the log,"
            f" volume in {added.unit}"
            + (f"; {len(added.refused)} refused" if added.refused else "")
        )
        if added.warning:
            print(f"Note: {added.warning}")
    else:
        print("No line can be used; nothing was written.", file=sys.stderr)
    return 1 if added.refused else 0


def _through_calc(source: Path, file: Path, out: Path, options):
    """The same for an .ods, which Calc turns into an .xlsx and back, its formulas live."""
    from udfs.hosts.calc.scratch import scratch
    from workbook_template.cli.calc_edition import to_ods, to_xlsx
    from workbook_template.cli.progress import progress
    from workbook_template.travel.log_readings import add as add_readings
    from workbook_template.travel.log_readings import read
    from workbook_template.travel.ooxml.package import Package

    read(file)  # what is wrong with it is said before LibreOffice is started
    with scratch() as folder:
        book = folder / "book.xlsx"
        to_xlsx(source, book, options.office)
        added = add_readings(Package(book.read_bytes(), source.name), file, progress())
        if added.data:
            book.write_bytes(added.data)
            to_ods(book, out, options.office)
    return added
