"""A formula with the book's names and table references spelled out as addresses, for a reader that
knows neither.
"""

from __future__ import annotations

import re

from workbook_template.travel import bounds
from workbook_template.travel.ooxml.addresses import address, quoted
from workbook_template.travel.ooxml.stored_book import Name, StoredBook, StoredTable
from workbook_template.travel.ooxml.tokens import Token, moved, sheet_of, tokens
from workbook_template.user_errors import BookError

_PART = re.compile(r"\[((?:[^\[\]']|'.)*)\]")


class Speller:
    """Spells out the formulas of one book."""

    def __init__(self, book: StoredBook):
        self.names: dict[tuple[str | None, str], Name] = {}
        for name in book.names:
            self.names[name.sheet.lower() if name.sheet else None, name.name.upper()] = name
        self.tables: dict[str, StoredTable] = {table.name.upper(): table for table in book.tables}

    def find(self, sheet: str, token: Token) -> Name | None:
        """The defined name that a piece of a formula on ``sheet`` means; the sheet's own before the
        book's, but for ``[0]!name``, which is the book's.
        """
        if token.kind not in ("name", "call"):
            return None
        if token.prefix and token.prefix.strip("'") == "[0]":
            return self.names.get((None, token.core.upper()))
        local = (sheet_of(token.prefix) or sheet).lower()
        return self.names.get((local, token.core.upper())) or self.names.get(
            (None, token.core.upper())
        )

    def spelled(self, formula: str, sheet: str, row: int, column: int, depth: int = 0) -> str:
        """The formula of the cell at (row, column) of ``sheet`` without names and table
        references.
        """
        if not self.names and not self.tables:
            return formula
        pieces = []
        for token in tokens(formula):
            if (
                token.kind == "name"
                and token.core.upper() in self.tables
                and not self.find(sheet, token)
            ):
                pieces.append(self._area(token.core, "", row) or token.text)
            elif token.kind == "table":
                pieces.append(self._table(token.text, sheet, row, column) or token.text)
            elif token.kind == "name" and (name := self.find(sheet, token)):
                pieces.append(self._named(name, sheet, row, column, depth))
            else:
                pieces.append(token.text)
        text = "".join(pieces)
        if len(text) > 2 * bounds.FORMULA_CHARACTERS:
            raise BookError(
                f"{quoted(sheet)}!{address(row, column)}: with its names spelled out the formula is"
                f" longer than {2 * bounds.FORMULA_CHARACTERS} characters, the most that is"
                " evaluated"
            )
        return text

    def _named(self, name: Name, sheet: str, row: int, column: int, depth: int) -> str:
        if depth >= bounds.NAME_DEPTH:
            raise BookError(
                f"the name {name.name!r:.40} leads through more than {bounds.NAME_DEPTH} other"
                " names, or in a circle"
            )
        inner = self.spelled(
            moved(name.text, row - 1, column - 1), name.sheet or sheet, row, column, depth + 1
        )
        pieces = list(tokens(inner))
        return inner if len(pieces) == 1 else f"({inner})"

    def _table(self, text: str, sheet: str, row: int, column: int) -> str | None:
        head, _, rest = text.partition("[")
        if not head:
            inside = [
                table
                for table in self.tables.values()
                if table.sheet == sheet
                and table.area[0] <= row <= table.area[2]
                and table.area[1] <= column <= table.area[3]
            ]
            head = inside[0].name if inside else ""
        return self._area(head, rest[:-1], row)

    def _area(self, head: str, inside: str, row: int) -> str | None:
        """Addresses of ``Table[inside]`` as seen from a row; None where it cannot be told."""
        table = self.tables.get(head.upper())
        if table is None:
            return None
        top, left, bottom, right = table.area
        if inside.startswith("@"):
            inside = (
                f"[#This Row],{inside[1:]}"
                if inside[1:].startswith("[")
                else f"[#This Row],[{inside[1:]}]"
            )
        parts = _PART.findall(inside) if inside.startswith("[") else [inside] if inside else []
        if inside.startswith("[") and _PART.sub("", inside).strip(",: "):
            return None
        items = frozenset(part.lower() for part in parts if part.startswith("#"))
        columns = [re.sub(r"'(.)", r"\1", part) for part in parts if not part.startswith("#")]
        data = (top + table.header, bottom - table.totals)
        rows = {
            frozenset(): data,
            frozenset(("#data",)): data,
            frozenset(("#all",)): (top, bottom),
            frozenset(("#headers",)): (top, data[0] - 1),
            frozenset(("#totals",)): (data[1] + 1, bottom),
            frozenset(("#headers", "#data")): (top, data[1]),
            frozenset(("#data", "#totals")): (data[0], bottom),
            frozenset(("#this row",)): (row, row) if data[0] <= row <= data[1] else None,
        }.get(items)
        if rows is None:
            return None
        names = [name.lower() for name in table.columns]
        try:
            found = [names.index(column.lower()) + left for column in columns]
        except ValueError:
            return None
        first, last = (min(found), max(found)) if found else (left, right)
        if rows[0] > rows[1] or len(found) > 2 or (len(found) == 2 and "]:[" not in inside):
            return None
        area = (
            address(rows[0], first)
            if (rows[0], first) == (rows[1], last)
            else f"{address(rows[0], first)}:{address(rows[1], last)}"
        )
        return f"{quoted(table.sheet)}!{area}"
