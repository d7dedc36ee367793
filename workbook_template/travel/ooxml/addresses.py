"""Addresses of cells and areas, as a file writes them."""

from __future__ import annotations

import re
from functools import lru_cache

from workbook_template.travel import bounds
from workbook_template.user_errors import BookError

_REFERENCE = re.compile(r"([A-Z]{1,3})([1-9][0-9]{0,6})")
_BLOCK = re.compile(r"([A-Z]{1,3}[1-9][0-9]{0,6})(?::([A-Z]{1,3}[1-9][0-9]{0,6}))?")


def position(text: str, where: str = "") -> tuple[int, int]:
    """Row and column of an address such as ``B7``."""
    match = _REFERENCE.fullmatch(text)
    if not match:
        raise BookError(f"{where}: {text!r:.30} is not a cell; the file is damaged")
    letters, digits = match.groups()
    row, column = int(digits), column_number(letters)
    if row > bounds.ROWS or column > bounds.COLUMNS:
        raise BookError(f"{where}: {text!r:.30} lies outside a sheet; the file is damaged")
    return row, column


def block(text: str, where: str = "") -> tuple[int, int, int, int]:
    """First row and column, last row and column of an area such as ``B7:C9``."""
    match = _BLOCK.fullmatch(text)
    if not match:
        raise BookError(f"{where}: {text!r:.30} is not an area of cells; the file is damaged")
    first = position(match.group(1), where)
    return first + position(match.group(2) or match.group(1), where)


@lru_cache(maxsize=20_000)
def column_number(letters: str) -> int:
    """``A`` is 1."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


@lru_cache(maxsize=20_000)
def column_letters(number: int) -> str:
    """1 is ``A``."""
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def address(row: int, column: int) -> str:
    """``B7`` for row 7 and column 2."""
    return f"{column_letters(column)}{row}"


def quoted(sheet: str) -> str:
    """A sheet's name as a formula writes it."""
    return (
        sheet
        if re.fullmatch(r"[A-Za-z_][A-Za-z_]*", sheet)
        else "'" + sheet.replace("'", "''") + "'"
    )


def shown(sheet: str, row: int, column: int) -> str:
    """``Plan!B7``, as findings name a cell."""
    return f"{quoted(sheet)}!{address(row, column)}"
