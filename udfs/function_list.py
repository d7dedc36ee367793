"""The functions in words, for the terminal and the README; ``python -m udfs.function_list
README.md`` renews its table.
"""

from __future__ import annotations

import sys
import textwrap
from pathlib import Path

from udfs import CATALOGUE
from udfs.arguments import Quantity
from udfs.catalogue import Function

BEGIN, END = "<!-- functions: begin, made by `make readme` -->", "<!-- functions: end -->"


#: Categories in the order in which a brewer meets them; a new one stands at the end until it has
#: its place here.
ORDER = (
    "Dosing",
    "Calcium",
    "Acids",
    "Water report",
    "Volumes",
    "Titration",
    "Blend and salts",
    "Mash",
    "Last runnings",
    "Kettle",
    "Past batches",
    "Purchasing",
    "About",
)


def by_category() -> dict[str, list[Function]]:
    """The catalogue's functions by category, in :data:`ORDER`."""
    groups: dict[str, list[Function]] = {}
    for entry in CATALOGUE.values():
        groups.setdefault(entry.category, []).append(entry)
    return dict(sorted(groups.items(), key=lambda group: (*ORDER, group[0]).index(group[0])))


def markdown() -> str:
    """The function table of the README."""
    lines = []
    for category, entries in by_category().items():
        lines += [f"**{category}**", "", "| formula | answer | unit |", "|---|---|---|"]
        lines += [
            f"| `{entry.signature}` | {entry.summary} | {entry.unit or 'text'} |"
            for entry in entries
        ]
        lines.append("")
    return "\n".join(lines).rstrip()


def listing() -> str:
    """Names and summaries by category, for the terminal."""
    lines = []
    for category, entries in by_category().items():
        lines.append(category)
        for entry in entries:
            lines.append(
                textwrap.fill(
                    entry.summary,
                    110,
                    initial_indent=f"  {entry.name:<28}",
                    subsequent_indent=" " * 30,
                )
            )
    return "\n".join(lines)


def explanation(name: str) -> str:
    """All that the catalogue knows of one function; KeyError where there is none."""
    entry = CATALOGUE[name.strip().upper()]
    lines = [entry.signature, "", *textwrap.wrap(entry.description, 110)]
    if entry.notes:
        lines += ["", *textwrap.wrap(entry.notes, 110)]
    lines.append("")
    for argument in entry.arguments:
        text = argument.help
        if isinstance(argument.kind, Quantity):
            text += f"; {argument.kind.range_text()}"
        lines += textwrap.wrap(
            text, 110, initial_indent=f"  {argument.name:<18}", subsequent_indent=" " * 20
        )
    lines += ["", *textwrap.wrap(f"Source: {entry.source}", 110)]
    return "\n".join(lines)


def renewed(readme: str) -> str:
    """The README's text with its function table as the catalogue has it now."""
    before, rest = readme.split(BEGIN)
    after = rest.split(END)[1]
    return f"{before}{BEGIN}\n{markdown()}\n{END}{after}"


if __name__ == "__main__":
    path = Path(sys.argv[1])
    path.write_text(renewed(path.read_text(encoding="utf-8")), encoding="utf-8")
