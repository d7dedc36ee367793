"""What each call of the catalogue was asked and answered while a book was evaluated.

Every call gets a number of its own on its way to the engine: ``ACID_DOSE(A1,B1)`` goes there as
``SPARGESHEET.ASKED(17,A1,B1)`` (as one of ``EACH`` where it gives several answers), and call 17 is
known to be one of ``ACID_DOSE``. So no reference has to be traced to learn what a call read; it
holds for ``INDEX``, names and ranges alike.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from udfs import call
from workbook_template.travel import bounds
from workbook_template.travel.expressions import Unreadable, calls_in, parsed, solid, written
from workbook_template.travel.ooxml.tokens import MARK, moved, shape, tokens
from workbook_template.travel.several import ASKED, EACH, gives_several

#: Stands for a call's number in the numbered formula of a shape, and shapes that are kept.
_NUMBER, _SHAPES = "\1", 2_000
#: Most arguments of a call that reach the catalogue, which says itself what is too many.
ARGUMENTS = 60


class Numbering:
    """Numbers for the calls of a book.

    ``calls`` has for each number the function and the positions of its arguments that are left
    empty (the engine hands in 0 for them); ``cells`` has for each cell its formula with the names
    that call the catalogue written out, and the number of its first call.
    """

    def __init__(self, found):
        self.found = found
        self.calls: list[tuple[str, list[int]]] = []
        self.cells: dict[tuple[str, int, int], tuple[str, int]] = {}
        #: Of formulas of one shape: the numbered formula with marks for references and numbers, and
        #: its calls.
        self._shapes: dict[str, tuple[list[str], list[tuple[str, list[int]]]]] = {}

    def text(self, sheet: str, row: int, column: int, formula: str) -> str | None:
        """The formula of a cell with its calls numbered; None where it cannot be read."""
        known = shape(formula) if not self.found.names and _NUMBER not in formula else None
        key = None
        if known is not None:  # by sheet, whose names may be its own, and by what is an area
            areas = "".join("ac"[":" in reference] for reference in known[1])
            key = f"{known[0]}{_NUMBER}{sheet}{_NUMBER}{areas}"
        if known is None or key not in self._shapes:
            return self._numbered_text(sheet, row, column, formula, key)
        (first, *rest), calls = self._shapes[key]
        pieces = [first]
        for reference, piece in zip(known[1], rest):
            pieces += (reference, piece)
        self.cells[sheet, row, column] = formula, len(self.calls)
        first, *rest = "".join(pieces).split(_NUMBER)
        pieces = [first]
        for number, piece in enumerate(rest, len(self.calls)):
            pieces += (str(number), piece)
        self.calls += calls
        return "".join(pieces)

    def _numbered_text(
        self, sheet: str, row: int, column: int, formula: str, key: str | None
    ) -> str | None:
        """As :meth:`text`, for the first formula of the shape ``key``."""
        try:
            text = self._spelled(formula, sheet, row, column, 0)
            nodes = parsed(text)
        except Unreadable:
            return None
        before = len(self.calls)
        self.cells[sheet, row, column] = text, before
        for one in calls_in(nodes):
            one.number = len(self.calls)
            empty = [n for n, argument in enumerate(one.arguments) if not solid(argument)]
            self.calls.append((one.ours or "", empty if len(one.arguments) > 1 else []))
            one.several = gives_several(
                one, lambda piece: self.found.speller.spelled(piece, sheet, row, column)
            )
        if key is not None:
            marked = shape(written(nodes, self._unnumbered))
            if marked is not None and marked[0].count(MARK) == key.count(MARK):
                if len(self._shapes) >= _SHAPES:
                    self._shapes.clear()
                self._shapes[key] = marked[0].split(MARK), self.calls[before:]
        return written(nodes, self._numbered)

    def _unnumbered(self, one) -> str:
        number, one.number = one.number, _NUMBER
        try:
            return self._numbered(one, self._unnumbered)
        finally:
            one.number = number

    def _numbered(self, one, instead=None) -> str:
        name = EACH if one.several else ASKED
        if len(one.arguments) == 1 and not solid(one.arguments[0]):
            return f"{name}({one.number})"
        inner = ",".join(written(argument, instead or self._numbered) for argument in one.arguments)
        return f"{name}({one.number},{inner})"

    def _spelled(self, text: str, sheet: str, row: int, column: int, depth: int) -> str:
        """The formula with what stands behind the names that call the catalogue, and no others."""
        if not self.found.names:
            return text
        if depth > bounds.NAME_DEPTH:
            raise Unreadable(text)
        pieces = []
        for token in tokens(text):
            name = self.found.speller.find(sheet, token) if token.kind == "name" else None
            if name is not None and name in self.found.names:
                inner = moved(name.text, row - 1, column - 1)
                inner = self._spelled(inner, name.sheet or sheet, row, column, depth + 1)
                pieces.append(f"({inner})")
            else:
                pieces.append(token.text)
        return "".join(pieces)


class Recorder:
    """Answers the numbered calls in the engine and keeps what each was asked and answered.

    Parameters
    ----------
    calls
        As :attr:`Numbering.calls`.
    status
        What ADDIN_STATUS answers in place of this installation's facts, or nothing.
    heard
        Is told the name of each function that is called.
    """

    def __init__(self, calls: list, status: str = "", heard: Callable[[str], None] | None = None):
        from udfs.hosts import engine

        self.engine = engine
        self.calls, self.status, self.heard = calls, status, heard
        self.answers: dict[int, tuple[tuple, Any]] = {}
        #: Calls that were made more than once, with other arguments each time.
        self.varied: set[int] = set()

    def register(self, book: Any) -> None:
        """Make the numbered calls known to a formualizer workbook."""
        for name in (ASKED, EACH):
            book.register_function(name, self.answer, min_args=1, max_args=ARGUMENTS)

    def answer(self, number: float, *arguments: Any) -> Any:
        """Answer one call."""
        name, empty = self.calls[int(number)]
        if self.heard:
            self.heard(name)
        given = [self.engine.from_engine(value) for value in arguments]
        for position in empty:
            given[position] = None
        answered = self.status if self.status and name == "ADDIN_STATUS" else call(name, *given)
        before = self.answers.setdefault(int(number), (tuple(given), answered))
        if before[0] != tuple(given):
            self.varied.add(int(number))
        return self.engine.to_engine(answered)

    def said(self) -> list:
        """The records for the parent: number, arguments, answer; calls that varied are left out."""
        return [
            [number, list(given), answered]
            for number, (given, answered) in self.answers.items()
            if number not in self.varied
        ]
