"""``spargesheet share``: a copy for people who have no add-in."""

from __future__ import annotations

from pathlib import Path


def add(subparsers) -> None:
    """Add the subcommand."""
    command = subparsers.add_parser(
        "share",
        help="make a copy that shows its numbers without the add-in",
        description=(
            "Make a copy in which every call of the add-in is its freshly computed answer. The"
            " answer shows while what the call was asked is unchanged, else the words 'changed: ask"
            " the sender'; all other formulas stay live. The formulas travel in a hidden sheet, and"
            " `spargesheet restore` puts them back."
        ),
    )
    command.add_argument(
        "book", metavar="BOOK", help="workbook, .xlsx or .xlsm; .ods through LibreOffice"
    )
    command.add_argument(
        "out", nargs="?", metavar="OUT", help="the copy, .xlsx or .ods; left out: BOOK-shared"
    )
    command.add_argument(
        "--pdf", action="store_true", help="a PDF of the copy beside it, drawn by LibreOffice"
    )
    command.add_argument("--force", action="store_true", help="replace OUT where it exists")
    command.add_argument(
        "--without-formulas",
        action="store_true",
        help="leave the formulas out; the copy cannot be restored",
    )
    command.add_argument(
        "--keep-metadata",
        action="store_true",
        help="leave author, last editor, company, folder and printer settings in",
    )
    command.add_argument(
        "--keep-links", action="store_true", help="leave links to other workbooks in"
    )
    command.set_defaults(run=run)


def run(options) -> int:
    """Write the copy and say what was done."""
    from workbook_template.cli import through_office
    from workbook_template.cli.commands._books import output
    from workbook_template.cli.progress import progress
    from workbook_template.travel.share import default_name, shared
    from workbook_template.user_errors import BookError, CommandError

    source = Path(options.book)
    try:
        kind = ".ods" if source.suffix.lower() == ".ods" else ".xlsx"
        out = output(source, options.out, default_name(source, kind), options.force)
        pdf = (
            output(source, str(out.with_suffix(".pdf")), out, options.force, (".pdf",))
            if options.pdf
            else None
        )
        copy = shared(
            through_office.read(source),
            options.keep_metadata,
            options.keep_links,
            not options.without_formulas,
            heard=progress(),
        )
        through_office.write(out, copy.data)
        if pdf:
            through_office.write(pdf, copy.data)
    except BookError as error:
        raise CommandError(str(error)) from None
    for remark in copy.remarks:
        print(f"Note: {remark}.")
    print(
        f"{out}: {copy.frozen} formulas of the add-in are frozen now"
        + (f"; {pdf} drawn from it" if pdf else "")
    )
    return 0
