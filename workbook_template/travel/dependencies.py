"""Which formulas read which cells, from the text of the formulas."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterable, Iterator

from workbook_template.travel import trust
from workbook_template.travel.expressions import Unreadable, every_call, parsed, single, solid
from workbook_template.travel.ooxml.tokens import Token, corners, sheet_of, tokens

#: A cell: number of the sheet, row, column.
Place = tuple[int, int, int]
#: An area: number of the sheet, first row and column, last row and column.
Area = tuple[int, int, int, int, int]
#: Areas of at most so many cells are noted cell by cell.
_SMALL = 64
#: Functions that take the size of their third argument from the first.
_STRETCHING = {"SUMIF", "AVERAGEIF"}


def areas(text: str, own: int, numbers: dict[str, int]) -> list[Area] | None:
    """Areas that a formula reads; None where its text does not say which.

    Parameters
    ----------
    text
        The formula with names and tables spelled out.
    own
        Number of its sheet.
    numbers
        Numbers of the sheets by name in small letters.
    """
    if reads_unnamed(text):
        return None
    found = []
    for token in tokens(text):
        if token.kind == "reference":
            name = sheet_of(token.prefix)
            number = own if name is None else numbers.get(name.lower())
            if number is not None:
                found.append((number, *corners(token.core)))
        elif token.kind in ("table", "name") and token.core.upper() not in ("TRUE", "FALSE"):
            return None
    return found


def reads_unnamed(text: str) -> bool:
    """Whether a formula, with names and tables spelled out, may read cells of which no reference in
    it says so.

    That is where a function makes the reference or stretches it, where one goes through several
    sheets, and where something stands for all cells between two or for all that a formula fills.
    """
    functions = trust.functions(text)
    if not trust.FAR.isdisjoint(functions) or (
        not _STRETCHING.isdisjoint(functions) and _stretches(text)
    ):
        return True
    return any(
        (token.kind == "other" and token.text in ("#", ":"))
        or (token.kind == "reference" and ":" in (sheet_of(token.prefix) or ""))
        for token in tokens(text)
    )


def _stretches(text: str) -> bool:
    """Whether a sum on a condition is written with an area to sum of another size than the one that
    it looks at, whose size it takes.
    """
    try:
        nodes = parsed(text)
    except Unreadable:
        return True
    for node in every_call(nodes):
        if node.native in _STRETCHING and len(node.arguments) == 3:
            looked_at, _, summed = (single(solid(argument)) for argument in node.arguments)
            if looked_at is None or summed is None or _size(looked_at) != _size(summed):
                return True
    return False


def _size(token: Token) -> tuple[int, int] | None:
    """Rows and columns of a reference; None of what is none."""
    if token.kind != "reference":
        return None
    top, left, bottom, right = corners(token.core)
    return bottom - top, right - left


class CellSet:
    """A growing set of cells that tells whether an area meets it."""

    def __init__(self, places: Iterable[Place] = ()):
        self.places: set[Place] = set()
        self._columns: dict[int, dict[int, list[int]]] = {}
        for place in places:
            self.add(place)

    def add(self, place: Place) -> None:
        """One more cell."""
        if place not in self.places:
            self.places.add(place)
            rows = self._columns.setdefault(place[0], {}).setdefault(place[2], [])
            insort(rows, place[1])

    def meets(self, area: Area) -> bool:
        """Whether a cell of the set lies in an area."""
        sheet, top, left, bottom, right = area
        columns = self._columns.get(sheet, {})
        wanted = (
            range(left, right + 1)
            if right - left < len(columns)
            else [column for column in columns if left <= column <= right]
        )
        for column in wanted:
            rows = columns.get(column)
            if rows:
                at = bisect_left(rows, top)
                if at < len(rows) and rows[at] <= bottom:
                    return True
        return False


class AreaSet:
    """Cells that lie in any of some areas."""

    #: Areas of more columns are looked at one by one.
    _WIDE = 256

    def __init__(self, areas: Iterable[Area]):
        self._wide: dict[int, list[Area]] = {}
        rows: dict[tuple[int, int], list[tuple[int, int]]] = {}
        for area in set(areas):
            sheet, top, left, bottom, right = area
            if right - left >= self._WIDE:
                self._wide.setdefault(sheet, []).append(area)
                continue
            for column in range(left, right + 1):
                rows.setdefault((sheet, column), []).append((top, bottom))
        self._merged = {key: _merged(spans) for key, spans in rows.items()}

    def within(self, sheet: int, column: int, first: int, last: int) -> list[tuple[int, int]]:
        """The rows of a column, of ``first`` to ``last``, that lie in an area, as first and last of
        each stretch.
        """
        spans = self._merged.get((sheet, column), [])
        wide = [
            (top, bottom)
            for _, top, left, bottom, right in self._wide.get(sheet, ())
            if left <= column <= right
        ]
        if wide:
            spans = _merged(spans + wide)
        found = []
        for top, bottom in spans[max(0, bisect_left(spans, (first, 0)) - 1) :]:
            if top > last:
                break
            if bottom >= first:
                found.append((max(top, first), min(bottom, last)))
        return found


def _merged(spans: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Stretches of rows in order, those that touch or overlap made one."""
    found: list[tuple[int, int]] = []
    for top, bottom in sorted(spans):
        if found and top <= found[-1][1] + 1:
            found[-1] = found[-1][0], max(found[-1][1], bottom)
        else:
            found.append((top, bottom))
    return found


class Readers:
    """Formulas by the cells that they read."""

    def __init__(self, reads: dict[Place, list[Area] | None]):
        #: Formulas whose text does not say what they read.
        self.any = [place for place, found in reads.items() if found is None]
        self._single: dict[Place, list[Place]] = {}
        self._large: list[tuple[Area, Place]] = []
        for place, found in reads.items():
            for area in found or ():
                sheet, top, left, bottom, right = area
                if (bottom - top + 1) * (right - left + 1) > _SMALL:
                    self._large.append((area, place))
                    continue
                for row in range(top, bottom + 1):
                    for column in range(left, right + 1):
                        self._single.setdefault((sheet, row, column), []).append(place)

    def of(self, place: Place) -> Iterator[Place]:
        """Formulas that read a cell."""
        yield from self._single.get(place, ())
        for (sheet, top, left, bottom, right), reader in self._large:
            if sheet == place[0] and top <= place[1] <= bottom and left <= place[2] <= right:
                yield reader
        yield from self.any
