"""On which native functions the embedded engine is relied on, and on which it must first agree with
the stored value.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

from workbook_template.travel.calls import catalogue_name
from workbook_template.travel.expressions import Call, Piece, Unreadable, parsed, solid
from workbook_template.travel.several import ASKED, EACH, meets_row, spread

#: Functions on which the engine is relied on: over arguments of every kind (negative, zero, blank,
#: text, at the bounds) its answer is that of LibreOffice or Gnumeric, see the test of the relied
#: functions. MOD, RANK, CONCATENATE of a long number, a look-up of a blank and a search for the
#: nearest (LOOKUP, MATCH without 0) are none of them.
#: Where a book holds no value to compare with, a formula is evaluated only if it has no other
#: native function; where what it reads has changed, one with another function keeps its stored
#: value.
KNOWN = frozenset(
    """ABS ACOS ADDRESS AND ASIN ATAN AVERAGE AVERAGEIF AVERAGEIFS CHAR CHOOSE COLUMN COLUMNS COS
    COUNT COUNTA COUNTBLANK COUNTIF COUNTIFS DATE DAY EDATE EOMONTH EXACT EXP FALSE FIND FIXED
    IF IFERROR IFNA IFS INDEX INT INTERCEPT ISBLANK ISERR ISERROR ISNA ISNUMBER ISTEXT LARGE
    LEFT LEN LN LOG LOG10 LOWER MATCH MAX MEDIAN MID MIN MONTH N NA NOT OR PI POWER
    PRODUCT RIGHT ROUND ROUNDDOWN ROUNDUP ROW ROWS SEARCH SIGN SIN SLOPE SMALL SQRT STDEV
    SUBSTITUTE SUM SUMIF SUMIFS SUMPRODUCT SUMSQ SWITCH T TAN TRANSPOSE TRIM TRUE TRUNC UPPER
    VAR YEAR""".split()
)
#: Their answer depends on the clock or on chance, so the stored one says nothing.
CLOCK = frozenset("NOW RAND RANDARRAY RANDBETWEEN TODAY".split())
#: Their answer depends on what only the spreadsheet program has: its screen, its settings, the
#: outside.
HOST = frozenset(
    """
    AGGREGATE CALL CELL CUBEKPIMEMBER CUBEMEMBER CUBEMEMBERPROPERTY CUBERANKEDMEMBER CUBESET
    CUBESETCOUNT CUBEVALUE DDE EVALUATE FORMULATEXT GETPIVOTDATA IMAGE INDIRECT INFO ISFORMULA
    PHONETIC REGISTER.ID RTD SHEET SHEETS STOCKHISTORY WEBSERVICE
""".split()
)
#: Functions whose result may depend on cells that their text does not name.
FAR = frozenset(("INDIRECT", "OFFSET"))
#: What stands around a formula of ours that is no array formula, on its way to the engine.
_FIRST = "INDEX(", ",1,1)"
#: Numbers and rows, not the digits of LOG10 or ATAN2.
_DIGITS = re.compile(r"\d+(?![\w.]*\s*\()")
_NAMES = re.compile(r"([^\W\d][\w.]*)'?\s*\(")
#: Texts, and the names of sheets in quotes: ``'Now (2)'!A1`` calls nothing.
_QUOTED = re.compile(r"""(?:"[^"]*")|'(?:[^']|'')*'(?=!)""")
_OWN_PLACE = re.compile(r"\b(?:ROW|COLUMN)\s*\(\s*\)", re.IGNORECASE)
_TEXT = re.compile(r"\bTEXT\s*\(", re.IGNORECASE)
_MATCH = re.compile(r"\bMATCH\s*\(", re.IGNORECASE)
#: Functions that give the cells of a reference as they are.
_CELLS = frozenset(("CHOOSE", "IF", "IFERROR", "INDEX", "INDIRECT", "OFFSET", "TRANSPOSE"))
_SUMPRODUCT = re.compile(r"\bSUMPRODUCT\s*\(", re.IGNORECASE)
#: The formats of TEXT that every program reads alike.
_PLAIN_FORMAT = re.compile(r'"(?:0|0\.0+)%?"\s*\)', re.IGNORECASE)


@lru_cache(maxsize=50_000)
def functions(text: str) -> frozenset[str]:
    """Native functions of a formula, in capitals and without Excel's marks; those named in a text
    or in the name of a sheet do not count.
    """
    found = set()
    for name in _NAMES.findall(_QUOTED.sub('""', text)):
        if catalogue_name(name) is None and name.upper() not in (ASKED, EACH):
            name = name.upper().removeprefix("_XLFN.").removeprefix("_XLWS.")
            found.add(name)
    return frozenset(found)


def beyond(text: str, array: bool, hidden: bool) -> str | None:
    """Why no evaluation outside the spreadsheet program can know a formula's answer, or None.

    Parameters
    ----------
    text
        The formula.
    array
        Whether it is an array formula.
    hidden
        Whether rows of the book are hidden or filtered, which totals may pass over.
    """
    names = functions(text)
    found = sorted(names & HOST)
    if hidden and "SUBTOTAL" in names:
        found.append("SUBTOTAL (rows of the book are hidden)")
    if "TEXT" in names and len(_TEXT.findall(text)) != len(_PLAIN_FORMAT.findall(text)):
        found.append("TEXT with a format that programs read in different ways")
    if found:
        return f"it uses {', '.join(found)}, which only a spreadsheet program can answer"
    if array and _OWN_PLACE.search(text):
        return "it is an array formula that asks for its own place"
    first = text.startswith(_FIRST[0]) and text.endswith(_FIRST[1])
    if not array and ":" in text and _meets_row(_DIGITS.sub("1", _QUOTED.sub('""', text)), first):
        return "it works with a whole range where the programs take the cell of its row"
    return None


def _arguments(text: str, function: re.Pattern[str]) -> Iterator[list[str]]:
    """The arguments of each call of a function in a text without strings."""
    for found in function.finditer(text):
        depth, pieces = 0, [""]
        for character in text[found.end() :]:
            depth += (character in "({") - (character in ")}")
            if depth < 0:
                break
            if depth == 0 and character == ",":
                pieces.append("")
            else:
                pieces[-1] += character
        yield pieces


def unsure(text: str) -> str | None:
    """Why the engine is not relied on for a formula once what it reads has changed, or None."""
    names = functions(text)
    others = names - KNOWN - CLOCK - {"TEXT"}
    plain = _QUOTED.sub('""', text)
    products = list(_arguments(plain, _SUMPRODUCT)) if "SUMPRODUCT" in names else []
    if any(len(given) > 1 for given in products):
        # of unlike sizes they are an error in Calc, not in the engine
        others |= {"SUMPRODUCT of several arrays"}
    if any(_cells_as_they_are(given[0]) for given in products):
        # the programs pass over TRUE and numbers that are texts, the engine counts them
        others |= {"SUMPRODUCT of cells as they are"}
    if "MATCH" in names and any(
        [one.strip() for one in given[2:]] not in (["0"], ["FALSE"])
        for given in _arguments(plain, _MATCH)
    ):
        # the programs pass over errors on the way (MATCH(2, 1/...)), the engine does not
        others |= {"MATCH for the nearest"}
    if ":" in plain or "{" in plain or EACH in plain:
        others |= {f"{name} over several cells" for name in _spread(_DIGITS.sub("1", plain))}
    if not others:
        return None
    return f"it uses {', '.join(sorted(others))}, on which the embedded engine is not relied on"


def _cells_as_they_are(argument: str) -> bool:
    """Whether an argument is a reference, or what leads to one, and nothing made of its cells."""
    try:
        nodes = solid(parsed(argument))
    except Unreadable:
        return True
    while len(nodes) == 1 and isinstance(nodes[0], Call) and nodes[0].head == "(":
        nodes = solid(nodes[0].arguments[0])
    only = nodes[0] if len(nodes) == 1 else None
    return isinstance(only, Piece) or (isinstance(only, Call) and only.native in _CELLS)


@lru_cache(maxsize=20_000)
def _meets_row(text: str, first: bool) -> bool:
    """Whether a formula, as :func:`_spread` takes it, works with an area of which it means one
    cell; ``first``: what takes the first of its answers may stand around it.
    """
    try:
        nodes = parsed(text)
    except Unreadable:
        return True
    if first and len(nodes) == 1 and isinstance(nodes[0], Call):
        nodes = nodes[0].arguments[0]
    return meets_row(nodes)


@lru_cache(maxsize=20_000)
def _spread(text: str) -> frozenset[str]:
    """Functions of single values that are handed several by a formula, which is without strings
    and has a 1 for each number, so that copies are one.
    """
    try:
        return spread(parsed(text))
    except Unreadable:
        return frozenset(("a formula that cannot be read",))


def known(text: str) -> bool:
    """Whether a formula has only functions on which the engine is relied on without a value to
    compare with.
    """
    return unsure(text) is None
