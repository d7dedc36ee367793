"""``spargesheet functions``: what the formulas are called and what they answer."""

from __future__ import annotations


def add(subparsers) -> None:
    """Add the subcommand."""
    command = subparsers.add_parser(
        "functions",
        help="list the functions, or explain one",
        description=(
            "List the functions by category, or explain one: its arguments, units, ranges and"
            " sources."
        ),
    )
    command.add_argument(
        "name", nargs="?", metavar="FUNCTION", help="a function to explain, e.g. ACID_DOSE"
    )
    command.set_defaults(run=run)


def run(options) -> int:
    """Print the list or the explanation."""
    from udfs.function_list import explanation, listing
    from workbook_template.user_errors import CommandError

    if options.name is None:
        print(listing())
        return 0
    try:
        print(explanation(options.name))
    except KeyError:
        raise CommandError(
            f"{options.name} is not a function; `spargesheet functions` lists them"
        ) from None
    return 0
