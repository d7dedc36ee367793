"""A formula of the catalogue as one that any program works out: frozen answers, each with a check
of what was asked.

``IF(ready,ACID_DOSE(A1,B1),"")`` becomes ``IF(ready,IF(IFERROR(AND(<A1 and B1 are as they
were>),FALSE),236.99,"changed: ask the sender"),"")``. Where other functions stand around a call,
the check stands around them, because ``ISNUMBER``, ``IFERROR``, ``&`` or ``>`` would make something
else of the words: ``IF(ISNUMBER(F(A1)),F(A1),0)`` would give 0. Only functions of Excel 2007 are
used.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from udfs import ERRORS
from workbook_template.travel import bounds
from workbook_template.travel.expressions import (
    Call,
    Node,
    Piece,
    calls_in,
    parsed,
    pieces_in,
    single,
    solid,
    written,
)
from workbook_template.travel.ooxml.tokens import tokens

#: What stands in place of a figure that the copy cannot know.
CHANGED = "changed: ask the sender"
#: How far a number may be off, relative to itself, and still count as the same: hosts agree to
#: this.
TOLERANCE = 1e-9
#: Most characters of a text in a formula, and arguments that AND takes of them.
LITERAL = 255
TOGETHER = 200
#: Cells of a line of an area that are compared one by one.
LINE = 20
#: Functions that may leave an argument alone.
_LAZY = {"CHOOSE", "IFS", "SWITCH", "AND", "OR", "IFNA", "IFERROR", "IF"}
#: Functions that bring names of their own, which mean nothing outside of them.
_BINDING = {"LET", "LAMBDA", "MAP", "REDUCE", "SCAN", "BYROW", "BYCOL", "MAKEARRAY"}
_NEVER = "FALSE"


class Unfit(Exception):
    """Why a formula can only become its value."""


def frozen(text: str, first: int, asked: dict[int, tuple[list, Any]], spell) -> str:
    """The frozen formula.

    Parameters
    ----------
    text
        The formula, without names that call the catalogue.
    first
        Number of its first call.
    asked
        Arguments and answer of each call that was made.
    spell
        Gives a piece of the formula with its names and tables spelled out.

    Raises
    ------
    Unfit
        Where such a formula cannot say what the call was asked, or would be too long.
    """
    nodes = parsed(text)
    calls = list(calls_in(nodes))
    return fitting(
        frozen_nodes(nodes, calls, [asked.get(first + n) for n in range(len(calls))], spell)
    )


def fitting(found: str) -> str:
    """The frozen formula, where a cell can hold it."""
    if len(found) > bounds.FORMULA_CHARACTERS:
        raise Unfit(f"its checks would be longer than {bounds.FORMULA_CHARACTERS} characters")
    return found


def frozen_nodes(
    nodes: list[Node],
    calls: list[Call],
    records: Sequence[tuple[Sequence[Any], Any] | None],
    spell,
) -> str:
    """The frozen formula of nodes whose calls were asked and answered as the records say, or not
    made.
    """
    return _Freezer(calls, records, spell).frozen(nodes, frozenset(), True)


class _Freezer:
    """Freezes one formula; calls that read the same are one call."""

    def __init__(self, calls: list[Call], records: Sequence, spell):
        self.spell = spell
        self.records: dict[str, tuple[Sequence, Any]] = {}
        for one, record in zip(calls, records):
            if record is not None:
                self.records.setdefault(written([one]), record)

    def frozen(self, nodes: list[Node], known: frozenset, reached: bool) -> str:
        """A place whose value is the cell's own, or that of a branch of an IF at such a place."""
        items = solid(nodes)
        if not any(calls_in(items)):
            return written(nodes)
        only = items[0] if len(items) == 1 else None
        if isinstance(only, Call) and only.head == "(" and len(only.arguments) == 1:
            return f"({self.frozen(only.arguments[0], known, reached)})"
        if isinstance(only, Call) and only.native == "IF" and 2 <= len(only.arguments) <= 3:
            checks = self.checks(only.arguments[0], known, reached)
            inside = known.union(checks)
            branches = [self.frozen(branch, inside, False) for branch in only.arguments[1:]]
            whole = f"{only.head}{','.join([self.plain(only.arguments[0]), *branches])}{only.tail}"
            return _guarded(checks, whole)
        return _guarded(self.checks(items, known, reached), self.plain(items))

    def checks(self, nodes: list[Node], known: frozenset, reached: bool) -> list[str]:
        """Conditions under which the calls among nodes answer as they did; ``_NEVER`` where one was
        not made.
        """
        found = list(dict.fromkeys(c for c in self.conditions(nodes) if c not in known))
        if _NEVER in found:
            made = [written([one]) in self.records for one in calls_in(nodes)]
            if any(made) or reached:
                raise Unfit("a call in it was not made, and another function decides whether it is")
        return found

    def conditions(self, nodes: list[Node]) -> list[str]:
        """As :meth:`checks`, with all that is known already."""
        found: list[str] = []
        for node in nodes:
            if isinstance(node, Piece):
                continue
            if node.native in _BINDING:
                raise Unfit(f"it uses {node.native}")
            if node.ours:
                found += self.asked_as_before(node)
            elif node.native == "IF" and len(node.arguments) > 1:
                found += self.conditions(node.arguments[0])
                found += self.either(self.plain(node.arguments[0]), node.arguments[1:])
            elif node.native == "IFERROR" and len(node.arguments) == 2:
                found += self.conditions(node.arguments[0])
                first = f"ISERROR({self.plain(node.arguments[0])})"
                found += self.either(first, node.arguments[1:])
            else:
                inner = [self.conditions(argument) for argument in node.arguments]
                if node.native in _LAZY and any(_NEVER in one for one in inner):
                    raise Unfit(f"{node.native} decides whether a call in it is made")
                found += [condition for one in inner for condition in one]
        return found

    def either(self, choice: str, branches: list[list[Node]]) -> list[str]:
        """The conditions of the branch that is taken."""
        found = [self.conditions(branch) for branch in branches]
        if not any(found):
            return []
        pieces = [_together(one) if one else "TRUE" for one in found]
        return [f"IF({','.join([choice, *pieces, 'TRUE'][:3])})"]

    def asked_as_before(self, one: Call) -> list[str]:
        """Conditions under which a call's arguments are what they were."""
        record = self.records.get(written([one]))
        if one.ours == "ADDIN_STATUS" and record:
            return []
        found = [
            c
            for argument in one.arguments
            if not single(argument)
            for c in self.conditions(argument)
        ]
        if record is None:
            return [*found, _NEVER]
        for nodes, value in zip(one.arguments, record[0]):
            if (token := single(nodes)) and not isinstance(value, (list, tuple)):
                if token.kind not in ("number", "text"):
                    found += _same_cell(token.text, value)
            elif not _is_call_of_ours(nodes) and not _is_constant(nodes):
                found += self.matches(nodes, value)
        return found

    def plain(self, nodes: list[Node]) -> str:
        """The nodes with the answers of their calls in place; a call that was not made is never
        looked at.
        """

        def answer(one: Call) -> str:
            record = self.records.get(written([one]))
            return "NA()" if record is None else literal(record[1])

        return written(nodes, answer)

    def matches(self, nodes: list[Node], value: Any) -> list[str]:
        """Conditions under which an argument has the value that it had."""
        text = self.plain(nodes).strip()
        items = solid(nodes)
        if len(items) > 1:
            text = f"({text})"
        if isinstance(value, (list, tuple)):
            if len(value) == 1 and len(value[0]) == 1:
                return _same_cell(text, value[0][0])
            if _unbounded(self.spell(text)):
                raise Unfit("it reads whole columns or rows")
            return self.line(items, value) or _same_range(text, value)
        return _same_cell(text, value)

    def line(self, items: list[Node], rows: Sequence) -> list[str]:
        """``INDEX(area,row,0)`` cell by cell, for Gnumeric, which knows no line of an area by 0;
        else nothing.
        """
        one = items[0]
        if len(items) > 1 or isinstance(one, Piece) or one.native != "INDEX":
            return []
        area, *which = [self.plain(argument).strip() for argument in one.arguments]
        reference = [*tokens(self.spell(area))]
        cells = [cell for row in rows for cell in row]
        if len(reference) != 1 or reference[0].kind != "reference" or len(which) != 2:
            return []
        if which[1] == "0" and len(rows) == 1 and len(cells) <= LINE:
            found = [f"COLUMNS({area})={len(cells)}"]
            places = [f"INDEX({area},{which[0]},{n})" for n in range(1, len(cells) + 1)]
        elif which[0] == "0" and len(rows) == len(cells) <= LINE:
            found = [f"ROWS({area})={len(cells)}"]
            places = [f"INDEX({area},{n},{which[1]})" for n in range(1, len(cells) + 1)]
        else:
            return []
        for place, cell in zip(places, cells):
            found += _same_cell(place, cell)
        return found


def literal(value: Any) -> str:
    """An answer of the catalogue as a formula has it; a row or block as an array constant."""
    if isinstance(value, Slot):
        return value.answer
    if isinstance(value, (list, tuple)):
        return "{" + ";".join(",".join(_constant(cell) for cell in row) for row in value) + "}"
    if isinstance(value, str) and value not in ERRORS and len(value) > LITERAL:
        parts = [value[at : at + LITERAL] for at in range(0, len(value), LITERAL)]
        return f"({'&'.join(map(_quoted, parts))})"
    text = _constant(value)
    return f"({text})" if text.startswith("-") else text


def _constant(value: Any) -> str:
    """A single value as it may stand in an array constant."""
    if value is None:
        return '""'
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, str):
        if value in ERRORS:
            return value
        if len(value) > LITERAL:
            raise Unfit(f"a text in it is longer than {LITERAL} characters")
        return _quoted(value)
    return _number(value)


def _quoted(text: str) -> str:
    if any(letter < " " for letter in text):
        raise Unfit("a text in it has control characters")
    doubled = text.replace('"', '""')
    return f'"{doubled}"'


def _number(value: Any) -> str:
    if not isinstance(value, (int, float)) or not math.isfinite(value):
        raise Unfit("a value in it is none that a cell can hold")
    if value == int(value) and abs(value) < 1e15:
        return str(int(value))
    return repr(float(value)).upper()


@dataclass(frozen=True)
class Slot:
    """Stands for a value while a formula is frozen whose values are put in later."""

    #: Of a cell's value: as :func:`pieces_of` gives them.
    pieces: tuple[tuple[str, str], ...]
    #: Of an answer: what stands for it in the formula.
    answer: str = ""


def _same_cell(text: str, value: Any) -> list[str]:
    """Conditions under which one cell or expression has a value; none of them holds for an
    error.
    """
    pieces = value.pieces if isinstance(value, Slot) else pieces_of(value)[1]
    return [f"{before}{text}{after}" for before, after in pieces]


@lru_cache(maxsize=10_000, typed=True)
def pieces_of(value: Any) -> tuple[str, tuple[tuple[str, str], ...]]:
    """What stands before and after a cell in the conditions under which it has a value, and a kind.

    Values of one kind have the same pieces but for the last one's end.
    """
    if value is None or value == "":
        return "blank", (("", '&""=""'),)
    if isinstance(value, bool):
        return "truth", (("", f"={_constant(value)}"),)
    if isinstance(value, str):
        if value in ERRORS:
            return "error", (("ISERROR(", ")"),)
        exact = "EXACT(", f",{literal(value)})"
        if value[:1].isalpha() and value.upper() not in ("TRUE", "FALSE"):
            return "word", (exact,)
        return "text", (("ISTEXT(", ")"), exact)
    if value == 0:
        return "zero", (("ISNUMBER(", ")"), ("", "=0"))
    off = f"{'-' if value > 0 else '+'}{_number(abs(value))}"
    return "number", (("ISNUMBER(", ")"), ("ABS(", f"{off})<={_allowed(value)}"))


def _same_range(text: str, rows: Sequence) -> list[str]:
    """Conditions under which a range has its values: numbers between two bounds, texts and blanks
    as they are.

    ``>=`` and ``<=`` hold for a text, a blank (as ``""``) and a number in one array; a number is
    never a text's equal. A blank counts as 0 too, hence the number of numbers.
    """
    cells = [cell for row in rows for cell in row]
    if any(isinstance(cell, str) and cell in ERRORS for cell in cells):
        raise Unfit("a range that it reads holds an error")
    numbers = sum(isinstance(cell, (int, float)) and not isinstance(cell, bool) for cell in cells)
    low, high = (
        "{" + ";".join(",".join(_bound(cell, sign) for cell in row) for row in rows) + "}"
        for sign in (-1, 1)
    )
    inside = f"({text}={low})" if low == high else f"({text}>={low})*({text}<={high})"
    return [f"SUMPRODUCT(1*{inside})={len(cells)}", f"COUNT({text})={numbers}"]


def _bound(cell: Any, sign: int) -> str:
    if cell is None or isinstance(cell, (bool, str)) or cell == 0:
        return _constant(cell)
    _number(cell)
    return f"{cell + sign * TOLERANCE * abs(cell):.13G}"


def _allowed(value: float) -> str:
    """The tolerance of a number, two digits."""
    return f"{TOLERANCE * abs(value):.1E}".replace("E-0", "E-").replace("E+0", "E+")


def _guarded(checks: list[str], inside: str) -> str:
    """Something that shows only while the checks hold, else the words."""
    if _NEVER in checks:
        return f'"{CHANGED}"'
    if not checks:
        return inside
    return f'IF(IFERROR({_together(checks)},FALSE),{inside},"{CHANGED}")'


def _together(conditions: list[str]) -> str:
    if _NEVER in conditions:
        return _NEVER
    found = list(dict.fromkeys(conditions))
    while len(found) > TOGETHER:
        parts = [found[at : at + TOGETHER] for at in range(0, len(found), TOGETHER)]
        found = [f"AND({','.join(part)})" for part in parts]
    return f"AND({','.join(found)})"


def _is_call_of_ours(nodes: list[Node]) -> bool:
    """Whether an argument is a call of ours and nothing else: it is as it was where that call was
    asked as before.
    """
    items = solid(nodes)
    if len(items) != 1 or not isinstance(items[0], Call):
        return False
    one = items[0]
    if one.head == "(" and len(one.arguments) == 1:
        return _is_call_of_ours(one.arguments[0])
    return bool(one.ours)


def _is_constant(nodes: list[Node]) -> bool:
    """Whether an argument is empty, a number or a text that stands in the formula itself."""
    return all(
        isinstance(node, Piece) and (node.token.kind in ("number", "text") or node.text in "+-")
        for node in solid(nodes)
    )


def _unbounded(text: str) -> bool:
    """Whether a piece of a formula reads whole columns or rows, of which an evaluation takes only
    what is filled.
    """
    if ":" not in text:
        return False
    for node in pieces_in(parsed(text)):
        token = node.token
        if token.kind == "reference" and ":" in token.core:
            first = token.core.partition(":")[0].replace("$", "")
            if first.isalpha() or first.isdigit():
                return True
    return False
