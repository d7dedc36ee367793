"""Which formulas call the catalogue, in whatever form a program stored them, and what the engine is to read instead."""

from __future__ import annotations

import re
from functools import cache, lru_cache

from udfs import CATALOGUE
from workbook_template.travel.ooxml.tokens import Token, tokens

#: How Excel marks a function that it did not know when the file was saved.
_MARKS = ("_XLFN.", "_XLL.", "_XLUDF.", "_XLDUDF_")
_FOREIGN = re.compile("|".join(map(re.escape, _MARKS[1:])), re.IGNORECASE)


@cache
def _bare() -> dict[str, str]:
    """Catalogue names by their letters without underscores, as LibreOffice stores them behind a service's name."""
    return {name.replace("_", ""): name for name in CATALOGUE}


@cache
def _hint() -> re.Pattern:
    """Finds formulas that may call the catalogue; :func:`catalogue_name` then decides."""
    names = sorted(set(CATALOGUE) | set(_bare()), key=len, reverse=True)
    return re.compile(rf"(?:{'|'.join(map(re.escape, names))})'?\s*\(", re.IGNORECASE)


def catalogue_name(called: str) -> str | None:
    """The catalogue's function that a stored name means, or None.

    Excel stores ``ACID_DOSE``, ``[1]!ACID_DOSE`` or ``'...\\x.xlam'!ACID_DOSE`` (the prefix is cut off before), with
    ``_xll.``, ``_xludf.``, ``_xldudf_`` or ``_xlfn.`` where the add-in was absent; LibreOffice the name of the service and
    of the function, with or without its underscores, ``ORG.EXAMPLE.ACIDDOSE``; either may be in lower case.
    """
    name = called.strip("'").upper()
    for mark in _MARKS:
        name = name.removeprefix(mark)
    if name in CATALOGUE:
        return name
    _, dot, last = name.rpartition(".")
    return _bare().get(last.replace("_", "")) if dot else None


def our_name(token: Token) -> str | None:
    """The catalogue's function that a piece of a formula calls, or None."""
    return catalogue_name(token.core) if token.kind == "call" else None


@lru_cache(maxsize=50_000)
def _read(formula: str) -> tuple[tuple[str, ...], str, str]:
    """Catalogue functions that a formula calls, its :func:`plain` text and its :func:`bare` text."""
    if not _hint().search(formula):
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
    """The formula with the way to an add-in's file taken off its calls; LibreOffice's service names stay.

    A copy must not name a folder, nor keep a link to an add-in alive.
    """
    return _read(formula)[1]


def bare(formula: str) -> str:
    """The formula with the catalogue's own names, for the engine."""
    return _read(formula)[2]


def links(formula: str) -> bool:
    """Whether a formula reads another workbook (a call of the catalogue through an add-in's file does not count)."""
    if "[" not in formula and "!" not in formula:
        return False
    return any(
        token.prefix and "[" in token.prefix and not our_name(token) for token in tokens(formula)
    )
