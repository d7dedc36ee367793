"""Which functions of the spreadsheet program a formula from outside may call, and what else may
stand in it.
"""

from __future__ import annotations

import re

from workbook_template.travel import bounds, formulas
from workbook_template.travel.calls import catalogue_name, our_name
from workbook_template.travel.ooxml.spelling import Speller
from workbook_template.travel.ooxml.stored_book import CODES, StoredBook
from workbook_template.travel.ooxml.tokens import Token, is_external, tokens
from workbook_template.user_errors import BookError

#: Work on the values they are given and on nothing else: no other cell by a text, no file, no
#: network, no program.
HARMLESS = frozenset(
    """
    ABS ACOS AND ASIN ATAN ATAN2 AVERAGE AVERAGEA AVERAGEIF AVERAGEIFS CEILING CHAR CHOOSE CODE
    COLUMN COLUMNS CONCAT CONCATENATE COS COUNT COUNTA COUNTBLANK COUNTIF COUNTIFS DATE DATEVALUE
    DAY DAYS DEGREES EDATE EOMONTH ERROR.TYPE EVEN EXACT EXP FALSE FIND FIXED FLOOR FREQUENCY
    HLOOKUP HOUR IF IFERROR IFNA IFS INDEX INT ISBLANK ISERR ISERROR ISEVEN ISLOGICAL ISNA ISNONTEXT
    ISNUMBER ISODD ISTEXT LARGE LEFT LEN LINEST LN LOG LOG10 LOOKUP LOWER MATCH MAX MAXA MAXIFS
    MEDIAN MID MIN MINA MINIFS MINUTE MOD MONTH MROUND N NA NETWORKDAYS NOT NOW ODD OR PI POWER
    PRODUCT PROPER QUOTIENT RADIANS RANK REPLACE REPT RIGHT ROUND ROUNDDOWN ROUNDUP ROW ROWS SEARCH
    SECOND SIGN SIN SLOPE INTERCEPT SMALL SQRT STDEV STDEVP SUBSTITUTE SUBTOTAL SUM SUMIF SUMIFS
    SUMPRODUCT SUMSQ SWITCH T TAN TEXT TEXTJOIN TIME TIMEVALUE TODAY TRANSPOSE TRIM TRUE TRUNC TYPE
    UPPER VALUE VAR VARP VLOOKUP WEEKDAY WEEKNUM WORKDAY XLOOKUP XMATCH XOR YEAR SINGLE ANCHORARRAY
""".split()
)
#: Fetch from elsewhere, start something, or read a place that only a text names.
REACHING = frozenset(
    """
    WEBSERVICE FILTERXML ENCODEURL RTD CALL REGISTER REGISTER.ID EXEC DDE IMAGE HYPERLINK INDIRECT
    SQL.REQUEST STOCKHISTORY CUBEMEMBER CUBEVALUE CUBESET CUBESETCOUNT CUBERANKEDMEMBER
    CUBEKPIMEMBER CUBEMEMBERPROPERTY GETPIVOTDATA PY EVALUATE INITIATE REQUEST POKE EXECUTE
    TERMINATE FOPEN FWRITE FWRITELN RUN GET.WORKSPACE TRANSLATE DETECTLANGUAGE
""".split()
)
#: Answer otherwise in another spreadsheet program, on another computer or in another file.
HOST_DEPENDENT = frozenset(("CELL", "INFO", "SHEET", "SHEETS", "FORMULATEXT"))

_OPERATORS = frozenset("+-*/^&=<>%(),;:{}@$ \t\r\n")
_QUOTED = re.compile(r"""("[^"]*(?:""[^"]*)*"?|'[^']*(?:''[^']*)*')""")
_SPELLING = re.compile(r"\s+|_xlfn\.|_xlws\.|com\.microsoft\.", re.IGNORECASE)
#: A number, as no part of a reference or name.
_NUMBER = re.compile(r"(?<![\w$.\\\[])(?:\d+\.?\d*|\.\d+)(?:E[+-]?\d+)?(?![\w.$(\[])")
#: The length of a text that stands there: LibreOffice writes ``LEN("lactic")`` where a rule had 6.
_LENGTH_OF = re.compile(r"\bLEN\($")
_MARKS = ("_XLFN.", "_XLWS.")


def native_name(called: str) -> str:
    """A stored function's name as it is typed: ``_xlfn.CONCAT`` is CONCAT, Calc's
    ``COM.MICROSOFT.CONCAT`` too.
    """
    name = called.upper()
    for mark in (*_MARKS, "COM.MICROSOFT."):
        name = name.removeprefix(mark)
    return name


def native_calls(text: str) -> list[str]:
    """Functions outside the catalogue that a formula calls, as typed."""
    return [
        native_name(token.core)
        for token in tokens(text)
        if token.kind == "call" and not our_name(token)
    ]


def normal(text: str) -> str:
    """A formula for comparison: programs differ in spaces, letter case, marks, quotes, ``TRUE`` for
    ``TRUE()`` and in how they write a number, of which they keep 15 digits (``32.0`` is 32,
    ``1.0E-7`` is 0.0000001), also the length of a text that stands there.
    """
    pieces = _QUOTED.split(formulas.bare(text.strip().removeprefix("=")))
    for at in range(1, len(pieces) - 1):
        asked = _LENGTH_OF.search(pieces[at - 1])
        if asked and pieces[at].startswith('"') and pieces[at + 1].startswith(")"):
            pieces[at - 1] = pieces[at - 1][: asked.start()]
            pieces[at + 1] = _length(pieces[at]) + pieces[at + 1][1:]
            pieces[at] = ""
    for at, piece in enumerate(pieces):
        if piece.startswith("'"):
            pieces[at] = piece[1:-1].upper()
        elif not piece.startswith('"'):
            pieces[at] = _NUMBER.sub(_plain_number, _SPELLING.sub("", piece).upper())
    return "".join(pieces).replace("TRUE()", "TRUE").replace("FALSE()", "FALSE")


def _length(quoted: str) -> str:
    """The length of a text; Excel counts a character beyond the basic plane of Unicode as two."""
    return str(len(quoted[1:-1].replace('""', '"').encode("utf-16-le")) // 2)


def _plain_number(found: re.Match) -> str:
    return f"{float(found[0]):.15g}"


def may_call(text: str, functions: frozenset[str]) -> bool:
    """Whether a formula may call one of some functions: quick, and never wrong where it says no."""
    upper = text.upper()
    return any(name in upper for name in functions)


class AllowList:
    """Says of formulas of one book what in them is not on the list."""

    def __init__(self, book: StoredBook, speller: Speller | None = None):
        self.speller = speller or Speller(book)
        self.sheets = {name.lower() for name in book.sheet_names}

    def faults(self, text: str, sheet: str, depth: int = 0) -> list[str]:
        """What a formula on ``sheet`` holds beside functions of the add-in, references, constants,
        operators, harmless functions, and names that lead to such; in words, empty where there is
        nothing.
        """
        found: dict[str, None] = {}
        for token in tokens(text):
            for fault in self._fault(token, sheet, depth):
                found[fault] = None
        return list(found)

    def _fault(self, token: Token, sheet: str, depth: int) -> list[str]:
        name = self.speller.find(sheet, token)
        if token.kind == "call":
            if name is not None:
                return [f"it calls the name {name.name:.60}"]
            if our_name(token):
                return []
            if is_external(token.prefix) or token.prefix:
                return [f"it calls {token.text[:60]} of another file"]
            called = native_name(token.core)
            return [] if called in HARMLESS else [f"it calls {called[:60]}"]
        if is_external(token.prefix):
            return ["it reads another workbook"]
        if token.kind == "name":
            return self._name_fault(token, name, depth)
        if token.kind == "table":
            head = token.core.partition("[")[0].upper()
            return [] if not head or head in self.speller.tables else ["it reads another workbook"]
        if token.kind == "other":
            known = token.core in _OPERATORS or token.core in CODES or token.core == "#"
            return [] if known else [f"it holds {token.core[:20]}"]
        return []

    def _name_fault(self, token: Token, name, depth: int) -> list[str]:
        if name is None:
            if token.core.upper() in ("TRUE", "FALSE") or token.core.upper() in self.speller.tables:
                return []
            return [f"it uses {token.core[:60]}, which is no name of the book"]
        if depth >= bounds.NAME_DEPTH:
            return [f"the name {name.name:.60} leads through too many others"]
        return [
            f"through the name {name.name:.60} {fault}"
            for fault in self.faults(name.text, name.sheet or "", depth + 1)
        ]


def masks(book: StoredBook) -> list[str]:
    """Defined names that stand in the way of a catalogue function: a call would run them in its
    place.

    The empty entries that LibreOffice writes for functions of an add-in are none.
    """
    return [
        element.attributes.get("name", "")
        for element in book.elements
        if element.name == "definedName"
        and catalogue_name(element.attributes.get("name", ""))
        and element.text.strip() not in ("", *CODES)
    ]


def require_own_names(book: StoredBook) -> None:
    """Refuse a book in which a defined name stands in the way of a catalogue function."""
    found = masks(book)
    if found:
        raise BookError(
            f"{book.package.title} has the name {found[0]:.60}, which is called like a function of"
            " the add-in, and a formula that calls the function would work the name out instead:"
            " delete or rename it"
        )
