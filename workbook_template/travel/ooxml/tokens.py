"""The pieces of a formula's text: texts, references, calls, names and table references.

One pass without backtracking over the text, so that the time is in proportion to the length
whatever stands in it. The formulas of a long sheet are mostly copies of a few, which differ in
their references: those of one shape are taken apart once, see :func:`shape`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

from workbook_template.travel import bounds
from workbook_template.travel.ooxml.addresses import column_letters, column_number

_QUOTED = r"'[^']*(?:''[^']*)*'"
_PREFIX = rf"(?:(?P<prefix>{_QUOTED}|(?:\[[^\[\]]*\])?(?:[\w.]+(?::[\w.]+)?)?)!)?"
_CELL = r"\$?[A-Za-z]{1,3}\$?[0-9]{1,7}"
_TOKEN = re.compile(
    rf"""
    (?P<text>"[^"]*(?:""[^"]*)*"?)
  | {_PREFIX}(?:
        (?P<reference>(?:{_CELL}(?::{_CELL})?|\$?[A-Za-z]{{1,3}}:\$?[A-Za-z]{{1,3}}
                        |\$?[0-9]{{1,7}}:\$?[0-9]{{1,7}})
                      (?![\w.(\[!]|\s*\())
      | (?P<call>[^\W\d][\w.]*|'[^\W\d][\w.]*')(?=\s*\()
      | (?P<name>[^\W\d][\w.\\?]*|\\[\w.\\?]*)
    )
  | (?P<number>[0-9]+\.?[0-9]*(?:[eE][+-]?[0-9]+)?|\.[0-9]+(?:[eE][+-]?[0-9]+)?)
  | (?P<stray>{_QUOTED}|'[^']*(?:''[^']*)*|\#[\w/?!]+)
  | (?P<bracket>\[)
  | (?P<other>.)
""",
    re.VERBOSE | re.DOTALL,
)
_ENDS = re.compile(r"(\$?)([A-Za-z]*)(\$?)([0-9]*)")
_CORNERS = re.compile(r"\$?([A-Za-z]+)\$?([0-9]+)(?::\$?([A-Za-z]+)\$?([0-9]+))?")
#: A reference to cells that lie on a sheet for sure, where any other of the kind could stand
#: without a change of what is around it: no part of a name, a number, another file's or table's
#: name or of a function's.
_SURE = r"\$?[A-Za-z]{1,2}\$?[1-9][0-9]{0,5}"
_COPIED = re.compile(rf"(?<![\w.$'!\[\\?:])({_SURE}(?::{_SURE})?)(?![\w.(\[!:?\\]|\s*\()")
#: Shapes that are kept, and characters of a formula whose shape is.
_SHAPES, _SHAPED = 2_000, 1_000
#: Stands for a reference in a shape.
MARK = "\0"


class Token(NamedTuple):
    """One piece: kind (text, reference, call, name, table, number, other), whole text, its prefix
    (before ``!``), core.
    """

    kind: str
    text: str
    prefix: str | None
    core: str


@lru_cache(maxsize=256)
def shape(formula: str) -> tuple[str, list[str]] | None:
    """The formula with marks in place of its plain references, and the references; None for one
    that is long or odd.

    Formulas of one shape are made of the same pieces but for these references.
    """
    if len(formula) > _SHAPED or "#" in formula or MARK in formula:
        return None
    parts = _COPIED.split(formula)
    return MARK.join(parts[::2]), parts[1::2]


def tokens(formula: str) -> tuple[Token, ...]:
    """The pieces of a formula without its ``=``; joined they are the formula again."""
    return _of_shape(formula) if len(formula) <= _SHAPED else tuple(_scanned(formula))


@lru_cache(maxsize=256)
def _of_shape(formula: str) -> tuple[Token, ...]:
    """The pieces, from those of another formula of the same shape where there was one."""
    known = shape(formula)
    if known is None:
        return tuple(_scanned(formula))
    key, references = known
    model = _models.get(key)
    if model is None:
        found = tuple(_scanned(formula))
        if len(_models) >= _SHAPES:
            _models.clear()
        _models[key] = _model(found, references)
        return found
    pieces, places = model
    if len(places) != len(
        references
    ):  # a text or a quoted name has something like a reference in it
        return tuple(_scanned(formula))
    copied = list(pieces)
    for at, reference in zip(places, references):
        copied[at] = Token("reference", reference, None, reference)
    return tuple(copied)


#: Pieces of a formula of each shape, and which of them are its plain references.
_models: dict[str, tuple[tuple[Token, ...], list[int]]] = {}


def _model(found: tuple[Token, ...], references: list[str]) -> tuple[tuple[Token, ...], list[int]]:
    """What other formulas of the shape are made from."""
    places = [at for at, one in enumerate(found) if one.kind == "reference" and one.prefix is None]
    if [found[at].text for at in places] == references:
        return found, places
    plain = set(references)
    places = [at for at in places if found[at].text in plain]
    return found, places if [found[at].text for at in places] == references else []


def _scanned(formula: str) -> Iterator[Token]:
    """The pieces, one after the other."""
    at = 0
    while at < len(formula):
        match = _TOKEN.match(formula, at)
        assert match and match.lastgroup  # the last alternative takes anything
        kind = match.lastgroup
        stop = match.end()
        prefix = match["prefix"]
        if kind == "bracket" or (kind == "name" and formula[stop : stop + 1] == "["):
            stop = _bracket_end(formula, match.start("bracket") if kind == "bracket" else stop)
            kind = "table"
        core = match[match.lastgroup] if kind != "table" else formula[at:stop]
        if kind == "reference" and not _on_a_sheet(core):  # A0, XYZ1: a name, or nothing
            kind = "other" if ":" in core or "$" in core else "name"
        yield Token("other" if kind == "stray" else kind, formula[at:stop], prefix, core)
        at = stop


def _ends(corner: str) -> tuple[str, ...]:
    """``$`` and letters, ``$`` and digits of one corner of a reference."""
    match = _ENDS.fullmatch(corner)
    assert match  # what is no corner is no reference
    return match.groups()


@lru_cache(maxsize=50_000)
def _on_a_sheet(core: str) -> bool:
    """Whether all corners of what is written like a reference lie on a sheet."""
    for text in core.split(":"):
        _, letters, _, digits = _ends(text)
        if letters and column_number(letters.upper()) > bounds.COLUMNS:
            return False
        if digits and not 1 <= int(digits) <= bounds.ROWS:
            return False
    return True


def _bracket_end(formula: str, at: int) -> int:
    """Offset after the bracket that closes the one at ``at``; ``'`` escapes the next character."""
    depth = 0
    while at < len(formula):
        letter = formula[at]
        if letter == "'":
            at += 1
        elif letter == "[":
            depth += 1
        elif letter == "]":
            depth -= 1
            if depth == 0:
                return at + 1
        at += 1
    return len(formula)


def sheet_of(prefix: str | None) -> str | None:
    """Sheet that a prefix names, unquoted; None without one.

    ``[0]`` is the workbook itself: Excel writes ``[0]!Name`` for a name of its own.
    """
    if not prefix:
        return None
    name = prefix[1:-1].replace("''", "'") if prefix.startswith("'") else prefix
    return name.removeprefix("[0]") or None


def is_external(prefix: str | None) -> bool:
    """Whether a prefix leads into another workbook."""
    return prefix is not None and "[" in prefix.removeprefix("'").removeprefix("[0]")


def corners(core: str) -> tuple[int, int, int, int]:
    """First row and column, last row and column of a reference; whole columns and rows to the
    sheet's edge.
    """
    plain = _CORNERS.fullmatch(core)
    if plain:
        letters, digits, last_letters, last_digits = plain.groups()
        row, column = int(digits), column_number(letters.upper())
        if last_letters is None:
            return row, column, row, column
        end_row, end_column = int(last_digits), column_number(last_letters.upper())
        if row <= end_row and column <= end_column:
            return row, column, end_row, end_column
    first, _, last = core.partition(":")
    rows, columns = [], []
    for text in (first, last or first):
        _, letters, _, digits = _ends(text)
        rows += [int(digits)] if digits else []
        columns += [column_number(letters.upper())] if letters else []
    rows, columns = rows or [1, bounds.ROWS], columns or [1, bounds.COLUMNS]
    return min(rows), min(columns), max(rows), max(columns)


def moved(formula: str, rows: int, columns: int) -> str:
    """The formula as it reads when its cell is copied so many rows down and columns right."""
    if not rows and not columns:
        return formula
    return "".join(
        (
            token.text[: len(token.text) - len(token.core)]
            + ":".join(_moved_end(end, rows, columns) for end in token.core.split(":"))
            if token.kind == "reference"
            else token.text
        )
        for token in tokens(formula)
    )


def _moved_end(text: str, rows: int, columns: int) -> str:
    """One corner moved; it wraps round at the sheet's edge, as in a name."""
    fixed_column, letters, fixed_row, digits = _ends(text)
    if not letters and fixed_column and digits:  # $1 of a row reference
        fixed_row = fixed_column
        fixed_column = ""
    if letters and not fixed_column:
        letters = column_letters(
            (column_number(letters.upper()) - 1 + columns) % bounds.COLUMNS + 1
        )
    if digits and not fixed_row:
        digits = str((int(digits) - 1 + rows) % bounds.ROWS + 1)
    return f"{fixed_column}{letters}{fixed_row}{digits}"
