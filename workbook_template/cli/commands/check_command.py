"""``spargesheet check``: what is wrong, stale or unsafe in a workbook."""

from __future__ import annotations

import json
from pathlib import Path


def add(subparsers) -> None:
    """Add the subcommand."""
    command = subparsers.add_parser(
        "check",
        help="recompute a workbook and list what cannot be trusted",
        description=(
            "Recompute every formula of the add-in and list, cell by cell, what differs from the"
            " stored value, inputs that are missing or text, values typed over formulas, totals"
            " that leave a row out, macros, links and settings that redirect the add-in. Exit code"
            " 0: clean, 1: findings, 2: unreadable."
        ),
    )
    command.add_argument(
        "book",
        metavar="BOOK",
        help="workbook or shared copy, .xlsx or .xlsm; .ods through LibreOffice",
    )
    command.add_argument("--json", action="store_true", help="findings as JSON, for scripts")
    command.set_defaults(run=run)


def run(options) -> int:
    """Print the findings."""
    from workbook_template.cli import through_office
    from workbook_template.cli.progress import progress
    from workbook_template.travel import ods
    from workbook_template.travel.check import checked
    from workbook_template.user_errors import BookError, CommandError

    try:
        path = Path(options.book)
        scripts = ods.scripts(path) if path.suffix.lower() in (".ods", ".ots", ".fods") else []
        report = checked(through_office.read(path), progress())
        for where, sentence in scripts:
            report.add("macros", where, sentence)
    except BookError as error:
        if options.json:
            print(json.dumps({"book": options.book, "error": str(error)}))
            return 2
        raise CommandError(str(error)) from None
    if options.json:
        print(
            json.dumps(
                {
                    "book": options.book,
                    "formulas": report.formulas,
                    "findings": [vars(finding) for finding in report.findings],
                    "looked_at": report.looked_at,
                    "not_looked_at": report.not_looked_at,
                },
                ensure_ascii=False,
                indent=1,
            )
        )
    else:
        for finding in report.findings:
            print(f"{finding.where}: {finding.kind}: {finding.text}")
        print(
            f"{report.formulas} formulas of the add-in recomputed, "
            f"{len(report.findings) or 'no'} finding{'s' if len(report.findings) != 1 else ''}"
            + "".join(f"; {sentence}" for sentence in report.looked_at)
            + (f". Not checked: {'; '.join(report.not_looked_at)}" if report.not_looked_at else "")
        )
    return 1 if report.findings else 0
