"""On which native functions the embedded engine is relied on, and on which it must first agree with the stored value."""

from __future__ import annotations

import re
from functools import lru_cache

from workbook_template.travel.calls import catalogue_name
from workbook_template.travel.recording import ASKED

#: Functions with one meaning in every spreadsheet program, on which the engine was found to agree with LibreOffice.
#: Where a book holds no value to compare with, a formula is evaluated only if it has no other native function.
KNOWN = frozenset(
    """ABS ACOS ADDRESS AND ASIN ATAN AVERAGE AVERAGEIF AVERAGEIFS CHAR CHOOSE COLUMN COLUMNS CONCATENATE COS COUNT
    COUNTA COUNTBLANK COUNTIF COUNTIFS DATE DAY EDATE EOMONTH EXACT EXP FALSE FIND FIXED HLOOKUP IF IFERROR IFNA INDEX
    INT INTERCEPT ISBLANK ISERR ISERROR ISNA ISNUMBER ISTEXT LARGE LEFT LEN LN LOG LOG10 LOOKUP LOWER MATCH MAX MEDIAN
    MID MIN MOD MONTH N NA NOT OR PI POWER PRODUCT RANK RIGHT ROUND ROUNDDOWN ROUNDUP ROW ROWS SEARCH SIGN SIN SLOPE
    SMALL SQRT STDEV SUBSTITUTE SUM SUMIF SUMIFS SUMPRODUCT T TAN TRANSPOSE TRIM TRUE TRUNC UPPER VAR VLOOKUP YEAR
    IFS SWITCH XLOOKUP SUMSQ""".split()
)
#: Their answer depends on the clock or on chance, so the stored one says nothing.
CLOCK = frozenset("NOW RAND RANDARRAY RANDBETWEEN TODAY".split())
#: Their answer depends on what only the spreadsheet program has: its screen, its settings, the outside.
HOST = frozenset(
    """AGGREGATE CALL CELL CUBEKPIMEMBER CUBEMEMBER CUBEMEMBERPROPERTY CUBERANKEDMEMBER CUBESET CUBESETCOUNT CUBEVALUE
    DDE EVALUATE FORMULATEXT GETPIVOTDATA IMAGE INDIRECT INFO ISFORMULA PHONETIC REGISTER.ID RTD SHEET SHEETS STOCKHISTORY
    WEBSERVICE""".split()
)
#: Functions whose result may depend on cells that their text does not name.
FAR = frozenset(("INDIRECT", "OFFSET"))
_NAMES = re.compile(r"([^\W\d][\w.]*)'?\s*\(")
_STRING = re.compile(r'"[^"]*"')
_OWN_PLACE = re.compile(r"\b(?:ROW|COLUMN)\s*\(\s*\)", re.IGNORECASE)
_TEXT = re.compile(r"\bTEXT\s*\(", re.IGNORECASE)
#: The formats of TEXT that every program reads alike.
_PLAIN_FORMAT = re.compile(r'"(?:0|0\.0+)%?"\s*\)', re.IGNORECASE)


@lru_cache(maxsize=50_000)
def functions(text: str) -> frozenset[str]:
    """Native functions of a formula, in capitals and without Excel's marks; those named in a text do not count."""
    found = set()
    for name in _NAMES.findall(_STRING.sub('""', text)):
        if catalogue_name(name) is None and name.upper() != ASKED:
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
    return None


def known(text: str) -> bool:
    """Whether a formula has only functions on which the engine is relied on without a value to compare with."""
    names = functions(text)
    return names <= KNOWN | CLOCK | {"TEXT"}
