"""Which formulas call the catalogue, in whatever form a program stored them, and what the engine is
to read instead.
"""

from __future__ import annotations

import re
from functools import lru_cache

from workbook_template.travel.calls import MARKS, may_call, our_name
from workbook_template.travel.ooxml.tokens import is_external, shape, tokens

#: Marks that are taken off a call; ``_xlfn.`` stays with the name that Excel gave it.
_FOREIGN = re.compile("|".join(map(re.escape, MARKS[1:])), re.IGNORECASE)


@lru_cache(maxsize=50_000)
def _read(formula: str) -> tuple[tuple[str, ...], str, str]:
    """Catalogue functions that a formula calls, its :func:`plain` text and its :func:`bare`
    text.
    """
    known = shape(formula)
    if known is not None and known[0] in _unchanged:
        return _unchanged[known[0]], formula, formula
    found = _read_in_full(formula)
    if known is not None and found[1:] == (formula, formula):
        if len(_unchanged) >= _SHAPES:
            _unchanged.clear()
        _unchanged[known[0]] = found[0]
    return found


#: Catalogue functions that formulas of a shape call, where such formulas are their own plain and
#: bare text.
_unchanged: dict[str, tuple[str, ...]] = {}
_SHAPES = 2_000


def _read_in_full(formula: str) -> tuple[tuple[str, ...], str, str]:
    if not may_call(formula):
        return (), formula, formula
    names, plainly, barely = [], [], []
    for token in tokens(formula):
        name = our_name(token)
        if name:
            names.append(name)
        plainly.append(_FOREIGN.sub("", token.core.strip("'")) if name else token.text)
        barely.append(name or token.text)
    return tuple(names), "".join(plainly), "".join(barely)


def calls(formula: str) -> list[str]:
    """Catalogue functions that a formula calls, in order."""
    return list(_read(formula)[0])


def plain(formula: str) -> str:
    """The formula with the way to an add-in's file taken off its calls; LibreOffice's service names
    stay.

    A copy must not name a folder, nor keep a link to an add-in alive.
    """
    return _read(formula)[1]


def bare(formula: str) -> str:
    """The formula with the catalogue's own names, for the engine."""
    return _read(formula)[2]


def links(formula: str) -> bool:
    """Whether a formula reads another workbook (a call of the catalogue through an add-in's file
    does not count).
    """
    if "[" not in formula and "!" not in formula:
        return False
    return any(is_external(token.prefix) and not our_name(token) for token in tokens(formula))
