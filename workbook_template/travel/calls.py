"""Calls of the catalogue in the text of formulas: the one place that tells them from other
functions.

A name may be stored in several forms. Excel stores ``ACID_DOSE``, or with the way to an add-in's
file before it (``[1]!ACID_DOSE``, ``'...\\x.xlam'!ACID_DOSE``), with one of its marks where the
add-in was absent (``_xll.``, ``_xludf.``, ``_xldudf_``, ``_xlfn.``); LibreOffice stores the name of
our service and of the function, with or without the function's underscores. Any of them may be in
any case and in apostrophes. A function of another service or add-in (``OTHER.LITRES``) is not ours,
whatever its last word.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache

from udfs import CATALOGUE
from udfs.hosts.calc.extension import SERVICE
from workbook_template.travel.ooxml.tokens import Token

#: How Excel marks a function that it did not know when the file was saved.
MARKS = ("_XLFN.", "_XLL.", "_XLUDF.", "_XLDUDF_")
_SERVICE = SERVICE.upper() + "."
#: Names before a bracket; tokens decide whether they are calls.
_NAMES = re.compile(r"([^\W\d][\w.]*)'?\s*\(")


@cache
def without_underscores() -> dict[str, str]:
    """Catalogue names by their letters, as LibreOffice may store them behind the service's name."""
    return {name.replace("_", ""): name for name in CATALOGUE}


@lru_cache(maxsize=10_000)
def catalogue_name(called: str) -> str | None:
    """The catalogue's function that a stored name (without what stands before ``!``) means, or
    None.
    """
    name = called.strip("'").upper()
    before = None
    while name != before:
        before = name
        for mark in MARKS:
            name = name.removeprefix(mark)
    if name in CATALOGUE:
        return name
    if name.startswith(_SERVICE):
        return without_underscores().get(name.removeprefix(_SERVICE).replace("_", ""))
    return None


def our_name(token: Token) -> str | None:
    """The catalogue's function that a piece of a formula calls, or None."""
    return catalogue_name(token.core) if token.kind == "call" else None


def may_call(formula: str) -> bool:
    """Whether a formula may call the catalogue: false is certain, and quick to tell."""
    return any(catalogue_name(name) for name in _NAMES.findall(formula))
