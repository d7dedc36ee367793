"""A workbook: its sheets, names, tables and shared texts."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import cached_property
from typing import Any

from workbook_template.travel import bounds
from workbook_template.travel.ooxml.addresses import block
from workbook_template.travel.ooxml.cell_records import Cell, Spent
from workbook_template.travel.ooxml.elements import Element, elements, unescaped
from workbook_template.travel.ooxml.package import Package, relations_of, resolve
from workbook_template.travel.ooxml.stored_cells import Cells
from workbook_template.travel.ooxml.texts import shared_texts
from workbook_template.user_errors import BookError

#: Days from which dates are counted, and the first after the 29 February 1900 that programs count
#: though it never was.
_DAY_0, _DAY_0_OF_1904 = date(1899, 12, 30).toordinal(), date(1904, 1, 1).toordinal()
_MARCH_1900 = date(1900, 3, 1).toordinal()
#: Error codes that a cell of type ``e`` may hold.
CODES = (
    "#NULL!",
    "#DIV/0!",
    "#VALUE!",
    "#REF!",
    "#NAME?",
    "#NUM!",
    "#N/A",
    "#GETTING_DATA",
    "#SPILL!",
    "#CALC!",
)


#: Rows that do not show: hidden, of no height, hidden by default, or behind a filter.
_HIDING = re.compile(
    rb"<(?:\w+:)?(?:row\s[^>]*?(?:hidden=[\"'](?:1|true)|ht=[\"']0[\"'.])"
    rb"|sheetFormatPr\s[^>]*?zeroHeight=[\"'](?:1|true)|filterColumn\b)"
)


class ErrorCode(str):
    """An error value of a cell, told apart from a text that looks like one."""

    __slots__ = ()


@dataclass(frozen=True)
class Name:
    """A defined name: text of its formula, sheet where it is local to one."""

    name: str
    text: str
    sheet: str | None
    hidden: bool


@dataclass(frozen=True)
class StoredTable:
    """A table: place, header and totals rows, columns in order."""

    name: str
    sheet: str
    area: tuple[int, int, int, int]
    header: int
    totals: int
    columns: tuple[str, ...]
    part: str


@dataclass
class StoredSheet:
    """A worksheet: name, part and whether it shows."""

    name: str
    part: str
    visible: bool
    book: StoredBook

    @cached_property
    def cells(self) -> Cells:
        """Its cells, read when first asked for."""
        return Cells(self.book.package[self.part], self.part, self.book.spent)

    @cached_property
    def hides_rows(self) -> bool:
        """Whether rows are hidden or filtered, or may be (a height of 0, a filter)."""
        return bool(_HIDING.search(self.book.package[self.part]))

    def value(self, row: int, column: int) -> Any:
        """Stored value of a cell: float, bool, text, an :class:`ErrorCode`, or None."""
        cell = self.cells.cells.get((row, column))
        return self.book.stored(cell) if cell else None


class StoredBook:
    """What the workbook part says, over a package."""

    def __init__(self, package: Package):
        self.package = package
        types = package["[Content_Types].xml"]
        self.part = self._workbook_part()
        if self.part.endswith(".bin"):
            raise BookError(f"{package.title} is an .xlsb workbook: save it as .xlsx first")
        if b"_xmlsignatures/" in types or any(
            name.startswith("_xmlsignatures/") for name in package.names()
        ):
            raise BookError(
                f"{package.title} is digitally signed, and any change breaks the signature: remove"
                " it first"
            )
        if b"purl.oclc.org/ooxml" in package[self.part]:
            raise BookError(
                f"{package.title} is a Strict Open XML workbook: save it as an ordinary .xlsx first"
            )
        self.elements = elements(package[self.part], self.part)
        if not any(element.name == "workbook" for element in self.elements):
            raise BookError(f"{package.title} is not a workbook (its main part holds no workbook)")
        self.relations = self.relations_of(self.part)
        self.spent = Spent()
        self.sheets: list[StoredSheet] = []
        self.sheet_names: list[str] = []
        for element in self.elements:
            if element.name == "sheet" and element.path[-1:] == ("sheets",):
                self._add_sheet(element)
        if not self.sheets:
            raise BookError(f"{package.title} has no worksheet")

    @classmethod
    def of(cls, data: bytes, title: str) -> StoredBook:
        """The book in the bytes of a file."""
        return cls(Package(data, title))

    def _workbook_part(self) -> str:
        for element in self.relations_of(""):
            if element.attributes.get("Type", "").endswith("/officeDocument"):
                return resolve("", "/" + element.attributes.get("Target", "").lstrip("/"))
        raise BookError(f"{self.package.title} is not a workbook (it names no main part)")

    def relations_of(self, part: str) -> list[Element]:
        """Relationship elements of a part; none where it has no relationships."""
        name = relations_of(part)
        if name not in self.package:
            return []
        return [
            element
            for element in elements(self.package[name], name)
            if element.name == "Relationship"
        ]

    def related(self, part: str, kind: str) -> list[str]:
        """Parts of a kind (last word of the relationship's type) that a part points to."""
        return [
            resolve(part, element.attributes.get("Target", ""))
            for element in self.relations_of(part)
            if element.attributes.get("Type", "").endswith("/" + kind)
            and element.attributes.get("TargetMode") != "External"
        ]

    def _add_sheet(self, element: Element) -> None:
        attributes = element.attributes
        name, identity = attributes.get("name", ""), attributes.get("r:id")
        if len(self.sheet_names) >= bounds.SHEETS:
            raise BookError(
                f"{self.package.title} has more than {bounds.SHEETS} sheets, the most that is read"
            )
        if not name or name.lower() in map(str.lower, self.sheet_names):
            raise BookError(f"{self.package.title} is damaged: two sheets are called {name!r:.40}")
        self.sheet_names.append(name)
        for relation in self.relations:
            if relation.attributes.get("Id") == identity:
                if relation.attributes.get("Type", "").endswith("/worksheet"):
                    part = resolve(self.part, relation.attributes.get("Target", ""))
                    self.sheets.append(
                        StoredSheet(
                            name, part, attributes.get("state", "visible") == "visible", self
                        )
                    )
                return
        raise BookError(f"{self.package.title} is damaged: the sheet {name!r:.40} has no part")

    def find(self, name: str | None) -> StoredSheet | None:
        """The worksheet of a name, in any case; None where there is none."""
        return self._by_name.get(name.lower()) if name is not None else None

    def sheet(self, name: str) -> StoredSheet:
        """The worksheet of a name, in any case; BookError where there is none."""
        found = self.find(name)
        if found is None:
            raise BookError(f"{self.package.title} has no sheet {name!r:.40}")
        return found

    @cached_property
    def _by_name(self) -> dict[str, StoredSheet]:
        return {sheet.name.lower(): sheet for sheet in self.sheets}

    @cached_property
    def names(self) -> list[Name]:
        """Defined names; LibreOffice's odd entries for add-in functions are left out."""
        found = []
        for element in self.elements:
            if element.name != "definedName" or element.attributes.get("function") in ("1", "true"):
                continue
            if len(element.text) > bounds.FORMULA_CHARACTERS:
                raise BookError(
                    f"{self.part}: the name {element.attributes.get('name', '')!r:.40} is longer"
                    f" than {bounds.FORMULA_CHARACTERS} characters, the most that a spreadsheet"
                    " takes"
                )
            index = element.attributes.get("localSheetId", "")
            local = int(index) if index.isdecimal() and len(index) < 6 else None
            sheet = (
                self.sheet_names[local]
                if local is not None and local < len(self.sheet_names)
                else None
            )
            found.append(
                Name(
                    element.attributes.get("name", ""),
                    element.text.strip().removeprefix("="),
                    sheet,
                    element.attributes.get("hidden") in ("1", "true"),
                )
            )
        return found

    @cached_property
    def tables(self) -> list[StoredTable]:
        """The tables of all sheets."""
        found = []
        for sheet in self.sheets:
            for part in self.related(sheet.part, "table"):
                found.append(self._table(sheet, part))
        return found

    def _table(self, sheet: StoredSheet, part: str) -> StoredTable:
        pieces = elements(self.package[part], part)
        top = next((element for element in pieces if element.path == ()), None)
        if top is None or top.name != "table":
            raise BookError(f"{part} is damaged: it holds no table")
        columns = tuple(
            unescaped(element.attributes.get("name", ""))
            for element in pieces
            if element.name == "tableColumn" and element.path == ("table", "tableColumns")
        )
        counts = (
            top.attributes.get("headerRowCount", "1"),
            top.attributes.get("totalsRowCount", "0"),
        )
        header, totals = (int(count) if count in ("0", "1") else 1 for count in counts)
        return StoredTable(
            top.attributes.get("displayName") or top.attributes.get("name", ""),
            sheet.name,
            block(top.attributes.get("ref", ""), part),
            header,
            totals,
            columns,
            part,
        )

    @cached_property
    def texts(self) -> list[str]:
        """The shared texts."""
        parts = self.related(self.part, "sharedStrings")
        if not parts or parts[0] not in self.package:
            return []
        return shared_texts(self.package[parts[0]], parts[0])

    def stored(self, cell: Cell) -> Any:
        """Value that a cell holds in the file."""
        text, kind = cell.text, cell.kind
        if kind == "n" and text:
            try:
                number = float(text)
            except ValueError:
                number = math.nan
            if math.isfinite(number):
                return number
        if text is None:
            return "" if cell.formula and kind == "str" else None
        if kind == "s":
            index = int(text) if text.strip().isdecimal() and len(text) < 12 else len(self.texts)
            if index >= len(self.texts):
                raise BookError(
                    f"{self.package.title} is damaged: a cell asks for the shared text"
                    f" {text!r:.20}, which is not there"
                )
            return self.texts[index]
        if kind in ("str", "inlineStr"):
            return unescaped(text)
        if kind == "b":
            return text.strip() in ("1", "true")
        if kind == "e":
            return ErrorCode(text.strip() if text.strip() in CODES else "#VALUE!")
        if not text.strip() and cell.formula:  # as some writers store an empty text
            return ""
        if not text.strip():
            return text or None
        try:
            number = self._serial(text.strip()) if kind == "d" else float(text)
        except ValueError:
            number = math.nan
        if not math.isfinite(number):
            raise BookError(f"{self.package.title} is damaged: a number cell holds {text!r:.30}")
        return number

    def _serial(self, text: str) -> float:
        """The number of a day and time that a cell holds as ISO 8601 has them."""
        if ":" in text and "T" not in text and "-" not in text:
            moment = datetime.combine(date.min, time.fromisoformat(text.removesuffix("Z")))
            days = 0
        else:
            moment = datetime.fromisoformat(text.removesuffix("Z")).replace(tzinfo=None)
            days = moment.toordinal()
            if self.settings.get("date1904") in ("1", "true"):
                days -= _DAY_0_OF_1904
            else:
                days -= _DAY_0 + (days < _MARCH_1900)
        seconds = moment - datetime.combine(moment.date(), time.min)
        return days + seconds / timedelta(days=1)

    @cached_property
    def settings(self) -> dict[str, str]:
        """Attributes of the calculation settings and of the workbook (``date1904``)."""
        found: dict[str, str] = {}
        for element in self.elements:
            if element.name in ("calcPr", "workbookPr"):
                found |= element.attributes
        return found
