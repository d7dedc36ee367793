"""A workbook in the embedded engine: the one place where it is filled, where our functions are
registered and read.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import formualizer

from udfs.hosts import engine
from workbook_template.travel.expressions import of_texts
from workbook_template.travel.ooxml.addresses import address, block
from workbook_template.travel.recording import Recorder

#: The sheet that every workbook of the engine begins with.
_FIRST = "Sheet1"
#: Columns between the array formulas of a scratch sheet, and columns of one.
_APART, _COLUMNS = 64, 16_000
#: Values that are handed to the engine at once: with more its time grows by more than their number.
_AT_ONCE = 500


class EngineBook:
    """One workbook in the engine, with the sheets of a job."""

    def __init__(self, job: dict, heard: Callable[[str], None] | None = None):
        config = engine.one_thread()
        config.date_system = "1904" if job["date1904"] else "1900"
        self.book = formualizer.Workbook(config=formualizer.WorkbookConfig(eval_config=config))
        self.book.set_temporal_egress("serial")
        self.book.set_changelog_enabled(False)
        engine.register(self.book, heard)
        #: What the numbered calls of the catalogue were asked and answered.
        self.recorder = Recorder(job["calls"], job["status"], heard)
        self.recorder.register(self.book)
        #: Formulas that the engine does not take, with the reason.
        self.refused: dict[tuple[str, int, int], str] = {}
        self._formulas: list[tuple[str, int, int, str]] = []
        #: The engine compares names of sheets without regard to case and has one from the
        #: beginning.
        self._names = {
            sheet["name"]: _FIRST if sheet["name"].lower() == _FIRST.lower() else sheet["name"]
            for sheet in job["sheets"]
        }
        self._has_first = _FIRST in self._names.values()
        self._order = list(self._names)
        for name in self._names.values():
            if name != _FIRST:
                self.book.add_sheet(name)
        self._taken = {name.lower() for name in self._names}
        self._scratch: list[str] = []
        self._shadows: dict[int, str] = {}
        self._next = 0

    def fill(self, sheets: list[list[list]]) -> None:
        """Values of each sheet in runs, as [column, first row, values].

        A gap would count as a cell that holds something, and be in the way of what an array formula
        fills; hence runs, and not a block for a sheet.
        """
        for name, runs in zip(self._order, sheets):
            for column, first, values in runs:
                for at in range(0, len(values), _AT_ONCE):
                    some = [[self.entered(value)] for value in values[at : at + _AT_ONCE]]
                    self.book.set_values_batch(self._names[name], first + at, column, some)

    def set(self, name: str, row: int, column: int, text: str) -> None:
        """A formula, as its text without ``=``."""
        place = name, row, column
        if not self._has_first and _FIRST.lower() in text.lower():
            self._refuse(place, "it reads a sheet that the book does not have")
            return
        self._formulas.append((*place, text))
        try:
            self.book.set_formula(
                self._names.get(name, name), row, column, "=" + engine.apart(of_texts(text))
            )
        except (
            Exception
        ) as error:  # one that reads its own cell, and whatever else the engine will not take
            circle = "#CIRC!" in str(error)
            self._refuse(
                place,
                "it is part of a circular reference"
                if circle
                else "the embedded engine cannot read the formula",
            )

    def _refuse(self, place: tuple[str, int, int], reason: str) -> None:
        """An error in place of a formula, so that what reads it is found."""
        self.refused[place] = reason
        name, row, column = place
        self.book.set_value(
            self._names.get(name, name), row, column, {"type": "Error", "kind": "Name"}
        )

    def shadow(self, number: int) -> str:
        """An empty sheet that stands for one of the job's: formulas at their own places, none of
        which reads another.
        """
        if number not in self._shadows:
            self._shadows[number] = self._sheet(f"shadow {number}")
        return self._shadows[number]

    def scratch(self, row: int, area: list[int], text: str) -> tuple[str, int, int]:
        """Put an array formula where nothing is in its way; where that is."""
        width = area[3] - area[1] + 1
        step = max(_APART, 2 * width)
        if not self._scratch or self._next + step > _COLUMNS:
            self._scratch.append(self._sheet(f"scratch {len(self._scratch)}"))
            self._next = 0
        place = self._scratch[-1], row, self._next + 1
        self._next += step
        self.set(*place, text)
        return place

    def _sheet(self, wanted: str) -> str:
        name = wanted
        while name.lower() in self._taken:
            name += "~"
        self._taken.add(name.lower())
        self.book.add_sheet(name)
        return name

    def evaluate(self) -> None:
        """Evaluate; where a bracket that is no table reference fails the whole book, without the
        formulas that have one.
        """
        try:
            self.book.evaluate_all()
        except formualizer.ExcelEvaluationError:
            for name, row, column, text in self._formulas:
                if "[" in text:
                    self._refuse((name, row, column), "the embedded engine cannot read the formula")
            self.book.evaluate_all()

    def entered(self, value):
        """A value of the job as the engine takes it."""
        if isinstance(value, dict):
            return {"type": "Error", "kind": engine.error_kind(value["error"])}
        return value

    def kind(self, name: str, row: int, column: int) -> str | None:
        """The engine's name of the error that a cell gives, or None; ``Nothing`` where the engine
        gives nothing.
        """
        value = self.book.get_value(self._names.get(name, name), row, column)
        if value is None:
            return "Nothing"
        return value.get("kind") if isinstance(value, dict) else None

    def get(self, name: str, row: int, column: int):
        """A cell as the answer has it; None where the engine gives nothing, which is never a
        zero.
        """
        return self._left(self.book.get_value(self._names.get(name, name), row, column))

    def grid(self, name: str, row: int, column: int) -> list[list]:
        """All cells of an array formula's answer."""
        bottom, right = self.extent(name, row, column) or (row, column)
        return [
            [self.get(name, down, across) for across in range(column, right + 1)]
            for down in range(row, bottom + 1)
        ]

    def extent(self, name: str, row: int, column: int) -> tuple[int, int] | None:
        """Last row and column of the cells that a formula fills, None where it fills its own
        only.
        """
        sheet = self._names.get(name, name).replace("'", "''")
        place = f"'{sheet}'!{address(row, column)}"
        spill = self.book.inspect_cell(place, include_values=False).cell.spill
        if spill is None or not spill.extent:
            return None
        last = block(spill.extent.rpartition("!")[2])[2:]
        return None if last == (row, column) else last

    def _left(self, value):
        if isinstance(value, dict):
            return {"error": engine.error_code(value.get("kind", ""))}
        if isinstance(value, list):
            return self._left(value[0][0] if isinstance(value[0], list) else value[0])
        if value is None or isinstance(value, (bool, str)):
            return value
        return float(value) if math.isfinite(value) else {"error": "#NUM!"}
