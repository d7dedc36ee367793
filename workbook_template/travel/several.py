"""Functions of single values that a formula hands several: the embedded engine takes the first of
them, where the programs take each, or the one of the formula's row.
"""

from __future__ import annotations

from collections.abc import Callable

from udfs import CATALOGUE
from udfs.arguments import Quantity, Word
from workbook_template.travel.expressions import Call, Node, Piece, Unreadable, parsed

#: What the engine knows the numbered calls of the catalogue by: those that give one answer, and
#: those that give several.
ASKED, EACH = "SPARGESHEET.ASKED", "SPARGESHEET.EACH"
#: Functions that make one answer of any number of cells; those that the engine works out for each
#: of several cells; and those that take several cells as some of their arguments.
_WHOLE = frozenset(
    """AND AVERAGE COLUMNS COUNT COUNTA COUNTBLANK INTERCEPT MAX MEDIAN MIN OR PRODUCT ROWS SLOPE
    STDEV SUM SUMPRODUCT SUMSQ VAR""".split()
)
_EACH = frozenset(("IF", "IFERROR"))
_WHOLE_AT = {
    **dict.fromkeys(("COUNTIF", "INDEX", "LARGE", "SMALL", "TRANSPOSE"), (0,)),
    **dict.fromkeys(("AVERAGEIF", "SUMIF"), (0, 2)),
    "COUNTIFS": range(0, 254, 2),
    **dict.fromkeys(("AVERAGEIFS", "SUMIFS"), (0, *range(1, 254, 2))),
    "CHOOSE": range(1, 255),
    "MATCH": (1,),
}


#: Functions that work out an argument of theirs as an array also in a formula that is none.
_FORCING = {
    "INDEX": (0,),
    **dict.fromkeys(("INTERCEPT", "SLOPE", "SUMPRODUCT", "TRANSPOSE"), range(255)),
}
_OPERATORS = frozenset("+-*/^&=<>%")


def spread(nodes: list[Node], spell: Callable[[str], str] | None = None) -> frozenset[str]:
    """Native functions of single values among nodes that are handed several."""
    found: set[str] = set()
    _several(nodes, found, spell)
    return frozenset(found)


def gives_several(one: Call, spell: Callable[[str], str] | None = None) -> bool:
    """Whether a call of the catalogue gives more than one answer.

    Parameters
    ----------
    one
        The call.
    spell
        Spells out a name or a table reference; left out: none of them is several cells.
    """
    return _of_ours(one, [_several(argument, set(), spell) for argument in one.arguments])


def _of_ours(one: Call, given: list[bool]) -> bool:
    entry = CATALOGUE[one.ours or ""]
    return entry.cells > 1 or any(
        many and isinstance(argument.kind, (Quantity, Word))
        for many, argument in zip(given, entry.arguments)
    )


def _several(nodes: list[Node], found: set[str], spell: Callable[[str], str] | None) -> bool:
    """Whether a piece of a formula is several cells or values; ``found`` is told of functions."""
    several = False
    for node in nodes:
        if isinstance(node, Piece):
            several |= ":" in node.text or (
                spell is not None
                and node.token.kind in ("name", "table")
                and _spelled_several(spell(node.text))
            )
            continue
        given = [_several(argument, found, spell) for argument in node.arguments]
        name = node.native.removeprefix("_XLWS.")
        if node.ours:
            several |= _of_ours(node, given)
        elif name == ASKED or name in _WHOLE:
            continue
        elif node.head == "{" or name in ("TRANSPOSE", EACH):
            several = True
        elif not name or name in _EACH:
            several |= any(given)
        elif any(many and at not in _WHOLE_AT.get(name, ()) for at, many in enumerate(given)):
            found.add(name)
            several = True
    return several


def _spelled_several(text: str) -> bool:
    try:
        return _several(parsed(text), set(), None)
    except Unreadable:
        return True


def meets_row(nodes: list[Node]) -> bool:
    """Whether a formula that is no array formula works with an area of which it means one cell.

    ``A1:A9*2`` is twice the cell of the formula's own row in all programs, and an error beside it;
    the engine works out all nine.
    """
    found: list[bool] = []
    _ranged(nodes, found)
    return bool(found)


def _ranged(nodes: list[Node], found: list[bool]) -> bool:
    """Whether a piece of a formula is an area; ``found`` is told of one that is worked with."""
    ranged = False
    for node in nodes:
        if isinstance(node, Piece):
            ranged |= node.token.kind == "reference" and ":" in node.token.core
            continue
        forced = _FORCING.get(node.native, ())
        given = [
            at not in forced and _ranged(argument, found)
            for at, argument in enumerate(node.arguments)
        ]
        if node.native == "IF" and given[0]:
            found.append(True)
        ranged |= any(given) and (node.head == "(" or node.native in ("CHOOSE", "IF"))
    if ranged and any(isinstance(node, Piece) and node.text in _OPERATORS for node in nodes):
        found.append(True)
    return ranged
