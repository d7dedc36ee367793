"""Meter readings from a CSV file into the empty rows of a workbook's log."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import Any, NamedTuple

from workbook_template.template.sheets import log
from workbook_template.travel import bounds, ledger
from workbook_template.travel.described import columns_of
from workbook_template.travel.ooxml.addresses import block
from workbook_template.travel.ooxml.edit import SheetEdit, number_text
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.travel.recalc import refreshed
from workbook_template.user_errors import BookError

#: Columns of the file, and what the log calls them. ``volume`` is in the workbook's unit, as in the
#: log.
COLUMNS = {
    "date": "date",
    "batch": "batch",
    "water": "water",
    "acid": "acid",
    "volume": "litres",
    "target_ph": "target",
    "ph_before": "before",
    "dose": "dose",
    "ph_after": "after",
    "last_runnings_ph": "last",
    "kettle_ph": "kettle",
    "beer_ph": "beer",
    "later_ph": "later",
    "planned_dose": "dose_then",
    "planned_alkalinity": "alkalinity_then",
    "titrated_alkalinity": "titrated",
}
#: Columns that no row may leave empty: together they say which row of the log it is.
REQUIRED = ("date", "batch")
#: Names of the workbook whose cells are the choices of a column.
CHOICES = {"water": "Water_name", "acid": "Shelf_label"}
#: Characters of a batch's name: MATCH, which finds it on the plan, takes no more.
BATCH_CHARACTERS = 255
#: Both date systems of workbooks (days since 1900 and since 1904) hold the days from here on.
FIRST_DAY = date(1904, 1, 2)
#: No reading is of a later day; a year that is a slip of the pen, such as 9999, is refused.
LAST_DAY = date(2099, 12, 31)

_NUMBER = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?")


class Refused(NamedTuple):
    """A line of the file that is not written, and why."""

    line: int
    reason: str


class ReadingsFile(NamedTuple):
    """What a file holds: lines that can be read, the others, and columns that the log does not
    know, as they are titled.
    """

    readings: list[Reading]
    refused: list[Refused]
    ignored: list[str]


class Reading(NamedTuple):
    """A line of the file: its values by the file's columns, those left empty left out."""

    line: int
    values: dict[str, Any]


@dataclass
class Added:
    """The bytes of the copy (None where no line was good), rows of the sheet that were filled, and
    what was refused.

    ``ignored`` are the file's columns that the log does not know.
    """

    data: bytes | None
    rows: list[int]
    refused: list[Refused]
    unit: str
    warning: str | None = None
    ignored: list[str] = field(default_factory=list)


def add(package: Package, file: Path, heard=None) -> Added:
    """Put the readings of a file into a copy of a workbook, and refresh the values that depend on
    them.

    Every part but the sheets with other values stays byte for byte; of the log only the cells that
    are filled and the values of formulas change. BookError where the file or the workbook cannot be
    used at all.
    """
    readings, refused, ignored = read(file)
    book = LogBook(package)
    good = []
    for reading in readings:
        faults = book.faults(reading.values)
        if faults:
            refused.append(Refused(reading.line, "; ".join(faults)))
        else:
            book.note(reading)
            good.append(reading)
    refused.sort()
    if not good:
        return Added(None, [], refused, book.unit, ignored=ignored)
    rows = book.fill([reading.values for reading in good])
    empty = {
        (book.sheet.name, row, book.places[COLUMNS[column]].column): None
        for row, reading in zip(rows, good)
        for column in reading.values
    }
    _, fresh = refreshed(package, heard, before=empty)
    return Added(package.tobytes(), rows, refused, book.unit, fresh.warning(), ignored)


def read(file: Path) -> ReadingsFile:
    """What a file of readings holds; empty lines are passed over."""
    text = _text(file)
    delimiter = ";" if ";" in re.split(r"[\r\n]", text.lstrip(), maxsplit=1)[0] else ","
    lines = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    readings, refused, names, last = [], [], None, 0
    ignored: list[str] = []
    try:
        for row in lines:
            line, last = last + 1, lines.line_num
            cells = [cell.strip() for cell in row]
            if not any(cells):
                continue
            if names is None:
                names, ignored = _header(cells, file.name)
            elif len(cells) != len(names):
                refused.append(
                    Refused(
                        line,
                        f"it has {len(cells)} cells and the header {len(names)}"
                        + (
                            " (a decimal comma needs a file with semicolons)"
                            if delimiter == "," and len(cells) > len(names)
                            else ""
                        ),
                    )
                )
            else:
                known = {name: cell for name, cell in zip(names, cells) if name in COLUMNS}
                values, faults = _values(known, delimiter)
                if faults:
                    refused.append(Refused(line, "; ".join(faults)))
                else:
                    readings.append(Reading(line, values))
    except csv.Error as error:
        raise BookError(f"{file.name}, line {lines.line_num}: this is not CSV ({error})") from None
    if not readings and not refused:
        raise BookError(f"{file.name} holds no readings")
    return ReadingsFile(readings, refused, ignored)


def _text(file: Path) -> str:
    try:
        with open(file, "rb") as opened:
            data = opened.read(bounds.READINGS_BYTES + 1)
    except OSError as error:
        raise BookError(f"{file} cannot be read: {error.strerror or error}") from None
    if len(data) > bounds.READINGS_BYTES:
        raise BookError(
            f"{file.name} is larger than {bounds.READINGS_BYTES // 1_000_000} MB, the most that is"
            " read"
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BookError(f"{file.name} is not text in UTF-8: save it as CSV UTF-8") from None


def _header(cells: list[str], title: str) -> tuple[list[str], list[str]]:
    """Names of the columns, and the titles of those that the log does not know."""
    names = [cell.lower() for cell in cells]
    ignored = [cell[:40] or "one without a title" for cell in cells if cell.lower() not in COLUMNS]
    twice = sorted({name for name in names if name in COLUMNS and names.count(name) > 1})
    if twice:
        raise BookError(f"{title} has the column {twice[0]} twice")
    missing = [name for name in REQUIRED if name not in names]
    if missing:
        raise BookError(
            f"{title} has no column {' and no column '.join(missing)}; the log knows"
            f" {', '.join(COLUMNS)}"
        )
    return names, ignored


def _values(cells: dict[str, str], delimiter: str) -> tuple[dict[str, Any], list[str]]:
    """Values of a line by column, and what is wrong with it."""
    values: dict[str, Any] = {}
    faults = [f"{name} is empty" for name in REQUIRED if not cells[name]]
    for name, cell in cells.items():
        if not cell:
            continue
        try:
            values[name] = _value(name, cell, delimiter)
        except ValueError as error:
            faults.append(f"{name} is {cell[:40]!r}: {error}")
    return values, faults


def _value(name: str, cell: str, delimiter: str) -> Any:
    if name == "date":
        return _day(cell)
    if COLUMNS[name] in log.LIMITS:
        return _number(cell, delimiter, *log.LIMITS[COLUMNS[name]])
    if not cell.isprintable():
        raise ValueError("it holds a line break or another character that does not print")
    if len(cell) > BATCH_CHARACTERS:
        raise ValueError(f"it has more than {BATCH_CHARACTERS} characters")
    return cell


def _day(cell: str) -> date:
    try:
        day = (
            date.fromisoformat(cell) if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", cell) else None
        )
    except ValueError:
        day = None
    if day is None or not FIRST_DAY <= day <= LAST_DAY:
        raise ValueError(f"a date is written as 2026-02-28, from {FIRST_DAY} to {LAST_DAY}")
    return day


def _number(cell: str, delimiter: str, low: float, high: float, what: str) -> float:
    if not _NUMBER.fullmatch(cell):
        raise ValueError("this is not a number")
    if "," in cell and delimiter == ",":
        raise ValueError("a decimal comma needs a file with semicolons")
    number = float(cell.replace(",", "."))
    if not low <= number <= high:
        raise ValueError(f"{what[0].lower()}{what[1:]} is a number from {low:g} to {high:g}")
    return number


class LogBook:
    """A workbook's log: which rows are free, what stands in it, and what its choices are."""

    def __init__(self, package: Package):
        self.package = package
        self.book = book = StoredBook(package)
        if ledger.find(book):
            raise BookError(
                f"{package.title} is a shared copy, in which nothing is worked out: restore it"
                " first"
            )
        self.places = columns_of(book, "Log", frozenset((*log.INPUTS, "implied")))
        self.sheet = book.sheet(self.places["batch"].sheet)
        if self.sheet is None:
            raise BookError(f"{package.title} has no sheet {self.places['batch'].sheet!r}")
        self.epoch = (
            date(1904, 1, 1)
            if book.settings.get("date1904") in ("1", "true")
            else date(1899, 12, 30)
        )
        self.choices = {column: self._named(name) for column, name in CHOICES.items()}
        self.planned = self._named("Plan_batch")
        self.unit = next(iter(self._named("Volume_unit").values()), "the workbook's unit")
        #: Where each batch and day stands.
        self.logged = {
            self._key(
                self._cell(row, "batch"), self._day(self._cell(row, "date"))
            ): f"row {row} of the log"
            for row in self._rows()
        }

    def _rows(self) -> range:
        """Rows of the log as addresses count them."""
        return range(self.places["batch"].first, self.places["batch"].last + 1)

    def _cell(self, row: int, key: str) -> Any:
        return self.sheet.value(row, self.places[key].column)

    def _named(self, name: str) -> dict[str, Any]:
        """Values of a named area by their text, in small letters."""
        for found in self.book.names:
            sheet, mark, area = found.text.rpartition("!")
            target = self.book.find(sheet.removeprefix("'").removesuffix("'").replace("''", "'"))
            if found.name == name and found.sheet is None and mark and target:
                top, left, bottom, right = block(area.replace("$", ""), f"the name {name}")
                values = [
                    target.value(row, column)
                    for row in range(top, bottom + 1)
                    for column in range(left, right + 1)
                ]
                return {
                    _said(value).casefold(): value for value in values if value not in (None, "")
                }
        raise BookError(
            f"{self.package.title} has no cells named {name}: it takes a workbook that `spargesheet"
            " new` made"
        )

    def _day(self, stored: Any) -> date | str | None:
        """Day of a stored date; what is no date stays as it is."""
        if isinstance(stored, float) and 0 <= stored <= (date.max - self.epoch).days:
            return self.epoch + timedelta(days=int(stored))
        try:
            return date.fromisoformat(stored[:10])
        except (TypeError, ValueError):
            return stored

    @staticmethod
    def _key(batch: Any, day: Any) -> tuple:
        return _said(batch).casefold(), day

    def faults(self, values: dict[str, Any]) -> list[str]:
        """What keeps a line that could be read out of this log."""
        where = self.logged.get(self._key(values["batch"], values["date"]))
        if where:
            return [f"the batch {values['batch']} of {values['date']} stands in {where} already"]
        faults = [
            f"{column} is {values[column]!r}, which the workbook does not have; it has "
            f"{', '.join(map(_said, choices.values()))}"
            for column, choices in self.choices.items()
            if column in values and values[column].casefold() not in choices
        ]
        if values["batch"].casefold() not in self.planned:
            faults += [
                f"{column} is empty, and the batch is not on the plan"
                for column, key in COLUMNS.items()
                if key in log.FROM_PLAN and column not in values
            ]
        return faults

    def note(self, reading: Reading) -> None:
        """Remember a line, so that a second one of its batch and date is refused."""
        self.logged[self._key(reading.values["batch"], reading.values["date"])] = (
            f"line {reading.line}"
        )

    def fill(self, readings: list[dict[str, Any]]) -> list[int]:
        """Write readings into the first empty rows; the rows. A cell keeps its style, and so its
        lock and its format.
        """
        rows = [row for row in self._rows() if self._is_free(row)]
        if len(rows) < len(readings):
            raise BookError(
                f"the log of {self.package.title} has {len(rows) or 'no'} empty"
                f" row{'s' if len(rows) != 1 else ''} and {len(readings)}"
                f" {'are' if len(readings) != 1 else 'is'} needed; nothing was written"
            )
        edit = SheetEdit(self.sheet)
        known = {**self.choices, "batch": self.planned}
        for row, values in zip(rows, readings):
            for column, value in values.items():
                if column in known:  # as the workbook spells it
                    value = known[column].get(value.casefold(), value)
                elif column == "date":
                    value = (value - self.epoch).days
                edit.freeze(row, self.places[COLUMNS[column]].column, value)
        self.package[self.sheet.part] = edit.tobytes()
        return rows[: len(readings)]

    def _is_free(self, row: int) -> bool:
        """Whether the row's inputs are empty, formatted cells and its formulas are there."""
        cells = self.sheet.cells.cells
        inputs = [cells.get((row, self.places[key].column)) for key in log.INPUTS]
        result = cells.get((row, self.places["implied"].column))
        return bool(result and result.formula) and all(
            cell is not None and cell.formula is None and self.book.stored(cell) in (None, "")
            for cell in inputs
        )


def _said(value: Any) -> str:
    """A stored value as a text."""
    return number_text(value) if isinstance(value, float) else str(value or "").strip()
