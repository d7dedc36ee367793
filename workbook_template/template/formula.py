"""The words in which the workbook's formulas are written; brackets, quotation marks and Excel's
bounds are kept here.

A :class:`Formula` is an expression without its ``=``. Operators of Python make longer ones: ``+ - *
/``, ``&`` (joins texts, as in a cell) and the comparisons. A plain ``str`` is always words, never a
formula; a number is a number.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import lru_cache

from udfs import CATALOGUE

#: What Excel takes: characters of a text within a formula, of a formula, and functions within
#: functions (64).
LONGEST_TEXT, LONGEST_FORMULA, DEEPEST = 255, 8_192, 60

#: Functions of later Excels, which LibreOffice 7.4 does not know; a file would have to spell them
#: with a prefix.
_LATER = re.compile(
    r"\b(ANCHORARRAY|BYCOL|BYROW|CHOOSECOLS|CHOOSEROWS|DROP|EXPAND|FILTER|HSTACK|LAMBDA|LET"
    r"|MAKEARRAY|MAP|RANDARRAY"
    r"|REDUCE|SCAN|SEQUENCE|SINGLE|SORT|SORTBY|SWITCH|TAKE|TEXTSPLIT|TOCOL|TOROW|UNIQUE"
    r"|VSTACK|WRAPCOLS|WRAPROWS"
    r"|XLOOKUP|XMATCH|_xlfn\.[A-Za-z.]+)\("
)

_TEXT = re.compile(r'"((?:[^"]|"")*)"')
_QUOTED = re.compile(r"""("(?:[^"]|"")*"|'(?:[^']|'')*')""")

_COMPARED, _JOINED, _SUM, _PRODUCT, _SIGN, _ATOM = range(6)


class FormulaError(ValueError):
    """A formula that Excel would refuse, or would read as something else."""


class Formula:
    """An expression of a cell; ``level`` is how tightly its outermost operator binds."""

    # ``==`` writes a comparison, so that a formula has no hash and is no key of a dictionary
    __slots__ = ("level", "written")

    def __init__(self, written: str, level: int = _ATOM):
        self.written = written
        self.level = level

    def __str__(self) -> str:
        return self.written

    def __repr__(self) -> str:
        return f"Formula({self.written!r})"

    def __bool__(self) -> bool:
        raise TypeError("a formula is neither true nor false here: use first, when or all_of")

    def __eq__(self, other):
        return _binary(self, "=", other, _COMPARED)

    def __ne__(self, other):
        return _binary(self, "<>", other, _COMPARED)

    def __lt__(self, other: Part) -> Formula:
        return _binary(self, "<", other, _COMPARED)

    def __le__(self, other: Part) -> Formula:
        return _binary(self, "<=", other, _COMPARED)

    def __gt__(self, other: Part) -> Formula:
        return _binary(self, ">", other, _COMPARED)

    def __ge__(self, other: Part) -> Formula:
        return _binary(self, ">=", other, _COMPARED)

    def __and__(self, other: Part) -> Formula:
        return _binary(self, "&", other, _JOINED)

    def __rand__(self, other: Part) -> Formula:
        return _binary(other, "&", self, _JOINED)

    def __add__(self, other: Part) -> Formula:
        return _binary(self, "+", other, _SUM)

    def __radd__(self, other: Part) -> Formula:
        return _binary(other, "+", self, _SUM)

    def __sub__(self, other: Part) -> Formula:
        return _binary(self, "-", other, _SUM)

    def __rsub__(self, other: Part) -> Formula:
        return _binary(other, "-", self, _SUM)

    def __mul__(self, other: Part) -> Formula:
        return _binary(self, "*", other, _PRODUCT)

    def __rmul__(self, other: Part) -> Formula:
        return _binary(other, "*", self, _PRODUCT)

    def __truediv__(self, other: Part) -> Formula:
        return _binary(self, "/", other, _PRODUCT)

    def __rtruediv__(self, other: Part) -> Formula:
        return _binary(other, "/", self, _PRODUCT)

    def __neg__(self) -> Formula:
        return Formula("-" + _within(self, _SIGN), _SIGN)


#: What may stand where a formula is expected: a text is words, a number a number.
Part = Formula | str | int | float


def part(value: Part) -> Formula:
    """A formula as it is; words as a quoted text; a number as a number."""
    if isinstance(value, Formula):
        return value
    if isinstance(value, str):
        return text(value)
    if isinstance(value, bool):
        return Formula("TRUE" if value else "FALSE")
    if isinstance(value, (int, float)):
        if value != value or value in (float("inf"), float("-inf")):
            raise FormulaError(f"{value} is no number that a cell can hold")
        return Formula(repr(value), _ATOM if value >= 0 else _SIGN)
    raise TypeError(f"{value!r} is no formula, text or number")


@lru_cache(maxsize=10_000)
def text(words: str) -> Formula:
    """Words as a text of a formula; longer ones than Excel takes are joined from pieces."""
    pieces, rest = [], words
    while len(rest) > LONGEST_TEXT:
        pieces.append(rest[:LONGEST_TEXT])
        rest = rest[LONGEST_TEXT:]
    pieces.append(rest)
    quoted = ['"' + piece.replace('"', '""') + '"' for piece in pieces]
    return Formula("&".join(quoted), _ATOM if len(quoted) == 1 else _JOINED)


def _within(value: Part, level: int) -> str:
    """A part as an operand: in brackets where it binds less tightly than ``level``."""
    value = part(value)
    return value.written if value.level >= level else f"({value.written})"


def _binary(left: Part, sign: str, right: Part, level: int) -> Formula:
    after = level if sign in "&+*" else level + 1  # a-(b-c) needs its brackets, a+(b+c) does not
    return Formula(_within(left, level) + sign + _within(right, after), level)


@lru_cache(maxsize=10_000)
def name(defined: str) -> Formula:
    """A defined name."""
    if not re.fullmatch(r"[A-Za-z_][A-Za-z0-9_]*", defined):
        raise FormulaError(f"{defined!r} is no defined name")
    return Formula(defined)


def ref(address: str) -> Formula:
    """A cell or range, as ``$A$1:B2`` or with its sheet."""
    return Formula(address)


def _function(called: str, given: Iterable[Part]) -> Formula:
    return Formula(f"{called}({','.join([part(value).written for value in given])})")


class _Native:
    """The spreadsheet's own functions as attributes: ``xl.ROUND(x, 2)``."""

    def __getattr__(self, called: str) -> Callable[..., Formula]:
        if not re.fullmatch(r"[A-Z][A-Z0-9]*", called):
            raise AttributeError(called)
        if called in CATALOGUE:
            raise FormulaError(f"{called} is a function of the catalogue: use call")

        def native(*given: Part) -> Formula:
            return _function(called, given)

        setattr(self, called, native)  # the next time it is simply there
        return native


xl = _Native()


def call(called: str, *given: Part) -> Formula:
    """A function of the catalogue, its arguments in order.

    Raises
    ------
    FormulaError
        Where the catalogue has no such function, or it takes fewer or more arguments.
    """
    if called not in CATALOGUE:
        raise FormulaError(f"the catalogue has no function {called}")
    least, most = CATALOGUE[called].required, len(CATALOGUE[called].arguments)
    if not least <= len(given) <= most:
        raise FormulaError(f"{called} takes {least} to {most} arguments, not {len(given)}")
    return _function(called, given)


def first(*cases: tuple[Part, Part] | Part) -> Formula:
    """The answer of the first condition that holds: pairs of condition and answer, then what holds
    otherwise.
    """
    *given, otherwise = cases
    pairs = [pair for pair in given if isinstance(pair, tuple)]
    if isinstance(otherwise, tuple) or len(pairs) < len(given):
        raise TypeError("first takes pairs of condition and answer, then the answer otherwise")
    answer = part(otherwise)
    for condition, then in reversed(pairs):
        answer = xl.IF(condition, then, answer)
    return answer


def when(condition: Part, answer: Part) -> Formula:
    """The answer where the condition holds, otherwise an empty text."""
    return xl.IF(condition, answer, "")


def is_number(cell: Part) -> Formula:
    """Whether a cell holds a number: no text, no error, not empty."""
    return xl.ISNUMBER(cell)


def number_or(cell: Formula, otherwise: Part) -> Formula:
    """A cell's number, or the words where it has none.

    Raises
    ------
    FormulaError
        For a call of the catalogue, which would be worked out twice: give it a cell of its own.
    """
    if calls(cell.written):
        raise FormulaError(f"{cell} would be worked out twice: give it a working of its own")
    return xl.IF(is_number(cell), cell, otherwise)


def all_of(*conditions: Part) -> Formula:
    """Whether every condition holds; all of them are worked out."""
    return xl.AND(*conditions)


def any_of(*conditions: Part) -> Formula:
    """Whether at least one condition holds."""
    return xl.OR(*conditions)


def count_where(condition: Formula) -> Formula:
    """In how many cells of a range a condition holds."""
    return xl.SUMPRODUCT(condition * 1)


def joined(*remarks: Part) -> Formula:
    """Texts one after the other."""
    whole = part(remarks[0])
    for remark in remarks[1:]:
        whole = whole & remark
    return whole


def in_brackets(*remarks: Part) -> Formula:
    """Texts one after the other, between brackets that are words of the remark."""
    return joined("(", *remarks, ")")


def shown(number: Part, decimals: int) -> Formula:
    """A number as a text with so many decimals and no separator of thousands."""
    return xl.FIXED(number, decimals, True)


def calls(written: str) -> list[str]:
    """Every call of the catalogue in a formula, with its arguments, as it is written."""
    bare = _blanked(written)
    found = []
    for match in re.finditer(r"\b([A-Z][A-Z0-9_]*)\(", bare):
        if match[1] in CATALOGUE:
            depth, end = 1, match.end()
            while depth and end < len(bare):
                depth += {"(": 1, ")": -1}.get(bare[end], 0)
                end += 1
            found.append(written[match.start() : end])
    return found


def _blanked(written: str) -> str:
    """A formula with its texts and quoted sheet names filled with ``x``, at the same places."""
    return _QUOTED.sub(lambda match: "x" * len(match[0]), written)


def cell_text(formula: Formula | str) -> str:
    """What is written into a cell: the formula behind its ``=``, after a look at Excel's bounds.

    Raises
    ------
    FormulaError
        For open brackets, a text, a formula or a nesting beyond what Excel takes, a function of
        later Excels.
    """
    written = f"={formula}" if isinstance(formula, Formula) else formula
    _look_at(written)
    return written


def _look_at(written: str) -> None:
    longest = max((len(words) for words in _TEXT.findall(written)), default=0)
    if longest > LONGEST_TEXT:
        raise FormulaError(f"a text of {longest} characters, more than {LONGEST_TEXT}: {written}")
    if len(written) > LONGEST_FORMULA:
        raise FormulaError(
            f"{len(written):,} characters, more than {LONGEST_FORMULA:,}: {written[:80]} ..."
        )
    bare = _blanked(written)
    later = _LATER.search(bare)
    if later:
        raise FormulaError(f"{later[1]} is not known to every spreadsheet program: {written}")
    depth = deepest = 0
    for sign in re.findall("[()]", bare):
        depth += 1 if sign == "(" else -1
        deepest = max(deepest, depth)
        if depth < 0:
            break
    if depth:
        raise FormulaError(f"brackets that do not match: {written}")
    if deepest > DEEPEST:
        raise FormulaError(f"{deepest} brackets within brackets, more than {DEEPEST}: {written}")
