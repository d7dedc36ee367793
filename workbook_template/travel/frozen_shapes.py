"""Frozen formulas of the many formulas of a long sheet that are copies of each other.

Such formulas differ in their references, and their frozen forms in these and in the figures that
their calls were asked and answered. The first of each kind is frozen with marks in the place of
both, and the others are that one with their own put in.
"""

from __future__ import annotations

import re
from typing import Any

from workbook_template.travel.expressions import (
    Call,
    Node,
    Unreadable,
    calls_in,
    parsed,
    pieces_in,
)
from workbook_template.travel.frozen import (
    Slot,
    Unfit,
    fitting,
    frozen,
    frozen_nodes,
    literal,
    pieces_of,
)
from workbook_template.travel.ooxml.tokens import Token, shape

#: Marks of a reference, of the end of a condition and of an answer: a sign, a number and an end.
_SIGNS, _END = ("\1", "\2", "\3"), "\4"
_REFERENCE, _CONDITION, _ANSWER = range(3)
_MARK = re.compile(f"([{''.join(_SIGNS)}])([0-9]+){_END}")
#: Kinds of formulas that are kept.
_KINDS = 2_000
#: Whether a shape's formulas can be made from marks, with their calls.
_Shape = tuple[list[Node], list[Call]]
#: Pieces of text, and between them which of the references (0), conditions (1), answers (2).
_Model = tuple[list[str], list[tuple[int, int]]]


class FrozenShapes:
    """Freezes the formulas of one book."""

    def __init__(self) -> None:
        self._shapes: dict[tuple, _Shape | None] = {}
        self._models: dict[tuple, _Model | None] = {}

    def frozen(self, text: str, first: int, asked: dict[int, tuple[list, Any]], spell) -> str:
        """As :func:`workbook_template.travel.frozen.frozen`."""
        known = shape(text)
        if known is None:
            return frozen(text, first, asked, spell)
        key, references = known
        alike = (key, *map(references.index, references))
        if alike not in self._shapes:
            if len(self._shapes) >= _KINDS:
                self._shapes.clear()
            self._shapes[alike] = _marked(text, references)
        marked = self._shapes[alike]
        if marked is None:
            return frozen(text, first, asked, spell)
        nodes, calls = marked
        try:
            found = _Values([asked.get(first + n) for n in range(len(calls))])
        except (Unfit, _Block):
            return frozen(text, first, asked, spell)
        kind = (alike, found.kind)
        if kind not in self._models:
            if len(self._models) >= _KINDS:
                self._models.clear()
            self._models[kind] = _model(nodes, calls, found)
        model = self._models[kind]
        if model is None:
            return frozen(text, first, asked, spell)
        (begin, *pieces), places = model
        given = references, found.ends, found.answers
        out = [begin]
        for (which, at), piece in zip(places, pieces):
            out += (given[which][at], piece)
        return fitting("".join(out))


class _Block(Exception):
    """A call was asked for a row or a block of cells."""


class _Values:
    """What calls were asked and answered, as the texts that take the place of marks.

    ``kind`` is the same where the marks are.
    """

    def __init__(self, records: list[tuple[list, Any] | None]):
        self.ends: list[str] = []
        self.answers: list[str] = []
        self.pieces: list[tuple[tuple[str, str], ...]] = []
        kind: list = []
        conditions: dict[tuple[str, str], int] = {}
        answers: dict[str, int] = {}
        for record in records:
            if record is None:
                kind.append(None)
                continue
            asked = []
            for value in record[0]:
                if isinstance(value, (list, tuple)):
                    raise _Block
                what, pieces = pieces_of(value)
                end = pieces[-1][1]
                at = conditions.setdefault((what, end), len(self.ends))
                if at == len(self.ends):
                    self.ends.append(end)
                    self.pieces.append(pieces)
                asked.append((what, at))
            answer = literal(record[1])
            at = answers.setdefault(answer, len(self.answers))
            if at == len(self.answers):
                self.answers.append(answer)
            kind.append((*asked, at))
        self.kind = tuple(kind)

    def marked(self) -> list[tuple[list[Slot], Slot] | None]:
        """The records with marks."""
        return [
            record
            and ([self._cell(at) for _, at in record[:-1]], Slot((), _mark(_ANSWER, record[-1])))
            for record in self.kind
        ]

    def _cell(self, at: int) -> Slot:
        *others, (before, _) = self.pieces[at]
        return Slot((*others, (before, _mark(_CONDITION, at))))


def _mark(which: int, at: int) -> str:
    return f"{_SIGNS[which]}{at}{_END}"


def _marked(text: str, references: list[str]) -> _Shape | None:
    """The formula with marks for its references; None where it is more than these, calls and
    constants.
    """
    if any(sign in text for sign in (*_SIGNS, _END)):
        return None
    try:
        nodes = parsed(text)
    except Unreadable:
        return None
    pieces = list(pieces_in(nodes))
    if any(
        one.token.kind in ("name", "table") and one.text.upper() not in ("TRUE", "FALSE")
        for one in pieces
    ):
        return None
    plain = [one for one in pieces if one.token.kind == "reference" and one.token.prefix is None]
    if [one.text for one in plain] != references:
        return None
    for one in plain:
        mark = _mark(_REFERENCE, references.index(one.text))
        one.token = Token("reference", mark, None, mark)
    return nodes, list(calls_in(nodes))


def _model(nodes: list[Node], calls: list[Call], values: _Values) -> _Model | None:
    """The frozen form with marks; None where there is none."""
    try:
        found = frozen_nodes(nodes, calls, values.marked(), lambda piece: piece)
    except Unfit:
        return None
    split = _MARK.split(found)
    places = [(_SIGNS.index(sign), int(at)) for sign, at in zip(split[1::3], split[2::3])]
    return split[::3], places
