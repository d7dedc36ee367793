"""``spargesheet restore``: the live workbook back from a shared copy."""

from __future__ import annotations

from pathlib import Path


def add(subparsers) -> None:
    """Add the subcommand."""
    command = subparsers.add_parser(
        "restore",
        help="make a shared copy live again",
        description=(
            "Bring home what was typed into a shared copy, and list what that changes. With the"
            " workbook that the copy was made from (--into BOOK, or found beside the copy) formulas"
            " come from that workbook only; without it the copy's own are put back, those that hold"
            " more than the add-in's and harmless functions as values."
        ),
    )
    command.add_argument(
        "copy",
        metavar="COPY",
        help="a copy that `spargesheet share` made, however it was edited since",
    )
    command.add_argument(
        "out", nargs="?", metavar="OUT", help="the live workbook; left out: COPY-restored.xlsx"
    )
    ways = command.add_mutually_exclusive_group()
    ways.add_argument(
        "--into",
        metavar="BOOK",
        help=(
            "your own workbook, from which the copy was made; left out: the one of that name beside"
            " the copy"
        ),
    )
    ways.add_argument(
        "--alone",
        action="store_true",
        help="put the copy's own formulas back, whatever lies beside it",
    )
    command.add_argument("--force", action="store_true", help="replace OUT where it exists")
    command.set_defaults(run=run)


def run(options) -> int:
    """Write the live workbook and list the differences."""
    from workbook_template.cli import through_office
    from workbook_template.cli.commands._books import output
    from workbook_template.cli.progress import progress
    from workbook_template.travel.merge import merged
    from workbook_template.travel.restore import restored
    from workbook_template.user_errors import BookError, CommandError

    source = Path(options.copy)
    try:
        copy = through_office.read(source)
        book = None if options.alone else _book(options, source, copy)
        kind = (book or source).suffix.lower()
        kind = kind if kind in (".ods", ".xlsm") and (book or kind == ".ods") else ".xlsx"
        default = source.with_name(f"{source.stem}-restored{kind}")
        kinds = (".xlsm",) if kind == ".xlsm" else (".xlsx", ".ods")
        out = output(source, options.out, default, options.force, kinds)
        if book and not options.out and out.exists() and out.samefile(book):
            raise BookError(f"{out} is your workbook itself; name OUT to write over it")
        if book:
            result = merged(copy, through_office.read(book), progress())
        else:
            result = restored(copy, progress())
        through_office.write(out, result.data)
    except BookError as error:
        raise CommandError(str(error)) from None
    if book:
        print(f"Inputs from {source}, formulas from {book} only.")
    else:
        print(
            f"Formulas from the copy itself ({source}); no workbook of yours was compared with it."
        )
    _list(result, bool(book))
    print(f"{out}: {result.formulas} formulas of the add-in are live again")
    return 0


def _book(options, source: Path, copy) -> Path | None:
    """The sender's workbook: the one named, or the one of the ledger's name beside the copy."""
    from workbook_template.travel.ooxml.stored_book import StoredBook
    from workbook_template.travel.restore import carried_by
    from workbook_template.user_errors import BookError

    if options.into:
        book = Path(options.into)
        if book.exists() and book.samefile(source):
            raise BookError(f"{book} is the copy itself; --into takes your own workbook")
        return book
    name = carried_by(StoredBook(copy)).source
    if not name or "\0" in name or name != Path(name).name or "\\" in name:
        return None
    book = source.with_name(name)
    return book if book.is_file() and not book.samefile(source) else None


def _list(result, into: bool) -> None:
    """The differences, by kind."""
    from workbook_template.travel.check import said

    print(f"The copy: {result.verdict.value}.")
    for title, changes in (
        ("Inputs that changed in the copy", result.inputs),
        ("Values typed over a formula (the formula is back)", result.overwritten),
        ("Answers that changed", result.answers),
    ):
        if changes:
            print(f"{title}:")
            for where, was, now in changes:
                print(f"  {where}: {said(was)} -> {said(now)}")
    if result.warning:
        print(f"Note: {result.warning}")
    for title, sentences in (
        ("Of the copy, NOT taken into your workbook", result.refused),
        ("Formulas that were NOT put back or were taken out; their values stand", result.locked),
        ("New or changed since the copy was sent; look at each", result.new),
        ("Differs from the template of this version; look at each", result.template),
    ):
        if sentences:
            print(f"{title}:")
            for where, sentence in sentences:
                print(f"  {where}: {sentence}")
    if not into and not result.compared:
        print("It was not compared with the template: it does not come from this version's.")
