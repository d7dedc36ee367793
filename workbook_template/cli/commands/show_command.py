"""``spargesheet show``: print the plan of a workbook as a table, from the figures stored in it."""

from __future__ import annotations

import shutil
import sys
import textwrap
from pathlib import Path
from typing import Any

#: Columns printed: key of the batch plan, title, decimals (or nothing for a text).
COLUMNS = (
    ("batch", "batch", None),
    ("litres", "L", 0),
    ("water", "water", None),
    ("target_used", "pH", 2),
    ("acid", "acid", None),
    ("ml", "mL", 1),
    ("low", "from", 1),
    ("high", "to", 1),
    ("grams", "g", 1),
    ("alkalinity_left", "alk left", 0),
    ("calcium", "Ca", 0),
    ("calcium_limit", "Ca limit", 0),
    ("cost", "cost", 2),
)
UNITS = (
    "L at 20 °C; alkalinity mg/L as CaCO3; calcium and its limit in the hot tank (octacalcium"
    " phosphate) mg/L; pH of a cooled sample"
)


def add(subparsers) -> None:
    """Add the subcommand."""
    command = subparsers.add_parser(
        "show",
        help="print the plan of a workbook as a table",
        description=(
            "Print the batch plan of a workbook as a table, from the figures stored in the file."
        ),
    )
    command.add_argument(
        "book", metavar="BOOK.xlsx", type=Path, help="a workbook that `spargesheet new` wrote"
    )
    command.set_defaults(run=run)


def run(options) -> int:
    """Print the table, the remarks, the total and the cautions."""
    from chemcore.safety import cautions

    rows, total = _read(options.book)
    width = shutil.get_terminal_size((120, 40)).columns
    print(_table(rows))
    print(f"\n{total}\n{textwrap.fill(UNITS, width)}\n\nRemarks")
    for row in rows:
        print(
            textwrap.fill(
                ". ".join(str(row[key]) for key in ("state", "remark") if row[key]),
                width,
                initial_indent=f"  {row['batch']}: ",
                subsequent_indent="    ",
            )
        )
    print()
    print(textwrap.fill(" ".join(cautions()), width))
    return 0


def _read(path: Path) -> tuple[list[dict[str, Any]], str]:
    """Rows in use of the plan, by key, and the total as a line."""
    import zipfile

    from openpyxl import load_workbook
    from openpyxl.utils.exceptions import InvalidFileException

    from workbook_template.template import description
    from workbook_template.user_errors import CommandError

    if not path.is_file():
        raise CommandError(f"{path} is not there; `spargesheet new {path.name}` makes one")
    try:
        book, figures = load_workbook(path), load_workbook(path, data_only=True)
    except (InvalidFileException, zipfile.BadZipFile, KeyError, ValueError, OSError):
        raise CommandError(f"{path} is not an .xlsx workbook that can be read") from None
    try:
        plan = description.of_openpyxl(book).get("Plan", {})
    except description.DescriptionError as fault:
        raise CommandError(f"{path} {fault}") from None
    needed = ("used", "state", "remark", *(key for key, *_ in COLUMNS))
    if any(key not in plan or plan[key].sheet not in figures.sheetnames for key in needed):
        raise CommandError(f"{path} {description.WITHOUT}")
    rows = []
    for offset in range(plan["used"].last - plan["used"].first + 1):
        values = {
            key: figures[plan[key].sheet].cell(plan[key].first + offset, plan[key].column).value
            for key in needed
        }
        if values["used"] == 1:
            rows.append(values)
    if not rows:
        raise CommandError(
            f"{path}: the plan has no batch with figures stored in the file; fill in a row and save"
            " it in your spreadsheet program"
        )
    currency, cost = (_named(figures, name) for name in ("Currency", "Plan_cost_total"))
    cost = f"{cost:,.2f}" if isinstance(cost, (int, float)) else cost
    return rows, f"{len(rows)} batches; acid, {currency}: {cost}"


def _named(figures, name: str) -> Any:
    """The figure of a named cell, or a question mark."""
    if name not in figures.defined_names:
        return "?"
    ((sheet, cell),) = figures.defined_names[name].destinations
    return figures[sheet][cell.replace("$", "")].value if sheet in figures.sheetnames else "?"


def _table(rows: list[dict[str, Any]]) -> str:
    """The table at the terminal's width, as wide as its figures need at least; as wide as it gets
    where it is piped.
    """
    from rich import box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    def cell(value: Any, decimals: int | None) -> str:
        if isinstance(value, (int, float)) and decimals is not None:
            return f"{value:,.{0 if decimals == 1 and value >= 99.95 else decimals}f}"
        return "" if value is None else str(value)

    lines = [[cell(row[key], decimals) for key, _, decimals in COLUMNS] for row in rows]
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1))
    least = 0
    for at, (_, title, decimals) in enumerate(COLUMNS):
        figures = max(len(title), *(len(line[at]) for line in lines))
        width = figures if decimals is not None else min(figures, 10)
        least += width + 2
        table.add_column(
            title,
            justify="left" if decimals is None else "right",
            min_width=width,
            no_wrap=decimals is not None,
            overflow="fold",
        )
    for line in lines:
        table.add_row(*map(Text, line))
    console = Console(highlight=False, color_system=None, force_terminal=False)
    console.width = max(least, shutil.get_terminal_size().columns if sys.stdout.isatty() else 300)
    with console.capture() as written:
        console.print(table)
    return "\n".join(line.rstrip() for line in written.get().strip("\n").splitlines())
