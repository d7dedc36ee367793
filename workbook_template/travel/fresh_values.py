"""Fresh values of a workbook's formulas, from the embedded engine in a bounded child process."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from workbook_template.travel import bounds, formulas
from workbook_template.travel.engine_process import EngineProcess
from workbook_template.travel.ooxml.addresses import shown
from workbook_template.travel.ooxml.cell_records import StoredFormula
from workbook_template.travel.ooxml.spelling import Speller
from workbook_template.travel.ooxml.stored_book import ErrorCode, StoredBook, StoredSheet
from workbook_template.travel.ooxml.tokens import tokens
from workbook_template.travel.recording import Numbering
from workbook_template.user_errors import BookError

#: The tag of a formula, or something in a text that looks like one.
_MAY_BE_FORMULA = re.compile(rb"<(?:[^\s:<>]+:)?f[\s/>]")
#: Cells named in one sentence.
LISTED = 12


class Calls:
    """Which formulas of a book call the catalogue, by themselves or through a defined name."""

    def __init__(self, book: StoredBook):
        self.book = book
        self.speller = Speller(book)

    @cached_property
    def names(self) -> set:
        """Defined names whose formula calls the catalogue, directly or through another name."""
        found: set = set()
        for _ in range(bounds.NAME_DEPTH):
            before = len(found)
            for name in self.book.names:
                if name not in found and (
                    formulas.calls(name.text) or self._uses(name.text, name.sheet or "", found)
                ):
                    found.add(name)
            if len(found) == before:
                break
        return found

    def _uses(self, text: str, sheet: str, names: set) -> bool:
        return bool(names) and any(
            self.speller.find(sheet, token) in names
            for token in tokens(text)
            if token.kind in ("name", "call")
        )

    def ours(self, sheet: StoredSheet, formula: StoredFormula) -> bool:
        """Whether a cell's formula needs the catalogue."""
        return self.needs(sheet, formula.text)

    def needs(self, sheet: StoredSheet, text: str) -> bool:
        """Whether a formula on a sheet needs the catalogue."""
        return bool(formulas.calls(text)) or self._uses(text, sheet.name, self.names)


@dataclass
class Fresh:
    """Fresh values by (sheet, row, column), and the formulas without one: (sheet, row, column,
    reason).
    """

    values: dict[tuple[str, int, int], Any]
    failed: list[tuple[str, int, int, str]] = field(default_factory=list)
    kept: int = 0
    #: Native formulas that keep a stored figure which may be out of date, with the reason.
    stale: list[tuple[str, int, int, str]] = field(default_factory=list)
    #: Last row and column that each dynamic array formula fills now.
    grown: dict[tuple[str, int, int], tuple[int, int]] = field(default_factory=dict)
    #: Arguments and answer of each numbered call that was made, where they are to be recorded.
    asked: dict[int, tuple[list, Any]] = field(default_factory=dict)

    def require_all(self, doing: str) -> None:
        """Refuse where a cell that belongs to the catalogue's formulas has no fresh value."""
        if self.failed:
            raise BookError(
                f"{doing} needs a fresh value of every formula that calls, feeds or reads a"
                f" function of the add-in, and there is none for {listed(self.failed)}"
            )

    def warning(self) -> str | None:
        """What a user must be told of figures that may be out of date, or None."""
        if not self.stale:
            return None
        one = len(self.stale) == 1
        return (
            f"{listed(self.stale)}"
            f" {'keeps its stored figure' if one else 'keep their stored figures'}, which may be"
            " out of date: let the spreadsheet program recalculate the workbook"
        )


def listed(failed: list[tuple[str, int, int, str]]) -> str:
    """The cells with their reasons, the first dozen."""
    parts = [
        f"{shown(sheet, row, column)} ({reason})" for sheet, row, column, reason in failed[:LISTED]
    ]
    more = f" and {len(failed) - LISTED} more" if len(failed) > LISTED else ""
    return "; ".join(parts) + more


def fresh_values(
    book: StoredBook,
    calls: Calls | None = None,
    heard: Callable[[int, int], None] | None = None,
    seconds: float = bounds.EVALUATION_SECONDS,
    size: int = bounds.EVALUATION_BYTES,
    before: dict[tuple[str, int, int], Any] | None = None,
    numbering: Numbering | None = None,
    status: str = "",
    meanwhile: Callable[[], None] | None = None,
) -> Fresh:
    """Evaluate all formulas of a book.

    Parameters
    ----------
    book
        The workbook; not changed.
    calls
        Which formulas need the catalogue, where the caller knows already.
    heard
        Is told how many calls of the catalogue are done, of about how many.
    seconds, size
        Limits of the child process; without a limit of memory on Windows.
    before
        What cells held when the stored values were worked out, where that is something else than
        they hold now: inputs that were written since, and formulas put in place of values. None is
        an empty cell.
    numbering
        Where it is given, what each call was asked and answered is recorded by its numbers.
    status
        What ADDIN_STATUS answers, where that is not this installation.
    meanwhile
        Work of the caller that needs no fresh value: done while the child is at its own.
    """
    calls = calls or Calls(book)
    record = numbering is not None
    numbering = numbering or Numbering(calls)
    maybe = any(_MAY_BE_FORMULA.search(book.package[sheet.part]) for sheet in book.sheets)
    if not maybe and not any(sheet.cells.formulas for sheet in book.sheets):
        return Fresh({})
    with EngineProcess(book.package.title, seconds, size) as engine:
        job = _job(book, calls, before or {}, numbering)
        if not any(sheet["formulas"] for sheet in job["sheets"]):
            return Fresh({})
        engine.ask(job | {"calls": numbering.calls, "status": status, "record": record})
        if meanwhile:
            meanwhile()
        answer = engine.answer(heard)
    names = [sheet["name"] for sheet in job["sheets"]]
    return Fresh(
        {
            (names[number], row, column): _value(value)
            for number, row, column, value in answer["values"]
        },
        [(names[number], row, column, reason) for number, row, column, reason in answer["failed"]],
        answer["kept"],
        [(names[number], row, column, reason) for number, row, column, reason in answer["stale"]],
        {
            (names[number], row, column): (last, right)
            for number, row, column, last, right in answer["grown"]
        },
        {number: (given, answered) for number, given, answered in answer["asked"]},
    )


def same(stored: Any, fresh: Any, tolerance: float = 1e-11) -> bool:
    """Whether a stored value is the fresh one, numbers within a relative tolerance; None stands for
    an empty cell.

    An empty text shows as an empty cell does; some writers store it so.
    """
    if stored is None and isinstance(fresh, str) and not fresh:
        return True
    if (
        isinstance(stored, bool)
        or isinstance(fresh, bool)
        or not isinstance(stored, float)
        or not isinstance(fresh, float)
    ):
        return type(stored) is type(fresh) and stored == fresh
    return math.isclose(stored, fresh, rel_tol=tolerance, abs_tol=1e-300)


def _job(
    book: StoredBook, calls: Calls, before: dict[tuple[str, int, int], Any], numbering: Numbering
) -> dict:
    """What the child needs: values and formulas of each sheet, names and tables spelled out.

    A formula that reads another workbook keeps the value that was stored when the link was last
    read; a what-if table keeps its values.
    """
    sheets, ours_total, budget = [], 0, _Budget(book.package.title)
    settled = (
        book.settings.get("fullCalcOnLoad") not in ("1", "true")
        and book.settings.get("calcMode", "auto") != "manual"
    )
    natives = figures = False
    for sheet in book.sheets:
        found: list[dict] = []
        reached: set = set()
        for (row, column), formula in sheet.cells.formulas.items():
            ours = calls.ours(sheet, formula)
            ours_total += ours
            kept = None
            if formula.kind == "dataTable":
                kept = "it is a what-if table, which only the spreadsheet program works out"
                top, left, bottom, right = formula.reach or (row, column, row, column)
                reached |= {(r, c) for r in range(top, bottom + 1) for c in range(left, right + 1)}
            elif formulas.links(formula.text):
                kept = "it reads another workbook"
            elif not formula.text:
                kept = "its formula is empty"
            stored = sheet.value(row, column)
            if stored is None:
                settled = False
            if not ours:  # some writers store nothing but empty texts
                natives, figures = True, figures or stored not in (None, "")
            budget.spend(stored)
            text = (
                formula.text
                if kept
                else _engine_text(calls.speller, sheet, row, column, formula, ours, numbering)
            )
            budget.spend(text)
            found.append(
                {
                    "row": row,
                    "column": column,
                    "text": text,
                    "ours": ours,
                    "area": formula.area,
                    "reach": formula.reach,
                    "dynamic": formula.dynamic,
                    "stored": _plain(stored),
                    "kept": kept,
                }
            )
        values, areas = _values(book, sheet, reached, budget)
        sheets.append({"name": sheet.name, "values": values, "areas": areas, "formulas": found})
    numbers = {sheet["name"]: number for number, sheet in enumerate(sheets)}
    return {
        "sheets": sheets,
        "before": [
            [numbers[name], row, column, _plain(value)]
            for (name, row, column), value in before.items()
        ],
        "settled": settled and (figures or not natives),
        "hidden": any(sheet.hides_rows for sheet in book.sheets),
        "ours": ours_total,
        "date1904": book.settings.get("date1904") in ("1", "true"),
    }


def _values(
    book: StoredBook, sheet: StoredSheet, reached: set[tuple[int, int]], budget: _Budget
) -> tuple[list, dict[str, Any]]:
    """Cells without a formula of their own.

    Runs of cells below each other as [column, first row, values], and by "row,column" the cells
    that an array formula or a what-if table fills.
    """
    runs: list[list] = []
    last: dict[int, list] = {}
    areas: dict[str, Any] = {}
    filled, stored = sheet.cells.filled, book.stored
    for (row, column), cell in sheet.cells.cells.items():
        owned = (row, column) in filled
        if cell.formula is not None and not owned:
            continue
        value = stored(cell)
        if value is None:
            continue
        if isinstance(value, str):
            budget.spend(value)
            value = _plain(value)
        if owned or (row, column) in reached:
            areas[f"{row},{column}"] = value
            continue
        run = last.get(column)
        if run is None or run[1] + len(run[2]) != row:
            run = last[column] = [column, row, []]
            runs.append(run)
        run[2].append(value)
    return runs, areas


class _Budget:
    """Characters that the values and formulas of a book have together, counted with every
    repeat.
    """

    def __init__(self, title: str):
        self.title, self.left = title, bounds.VALUE_CHARACTERS

    def spend(self, value: Any) -> None:
        """Refuse the book where a text is one too many."""
        if isinstance(value, str):
            self.left -= len(value)
            if self.left < 0:
                raise BookError(
                    f"{self.title} has more than {bounds.VALUE_CHARACTERS // 1_000_000} million"
                    " characters in its cells, the most that is evaluated"
                )


def _engine_text(
    speller: Speller,
    sheet: StoredSheet,
    row: int,
    column: int,
    formula: StoredFormula,
    ours: bool,
    numbering: Numbering,
) -> str:
    """A formula as the engine takes it: calls numbered, names and tables spelled out.

    A formula that cannot be read goes there with the catalogue's names plain.

    A formula of ours that is not an array formula shows the first of its answers, as spreadsheet
    programs do.
    """
    numbered = numbering.text(sheet.name, row, column, formula.text) if ours else None
    text = speller.spelled(numbered or formula.text, sheet.name, row, column)
    if ours:
        if numbered is None:
            text = formulas.bare(text)
        if formula.area is None and (":" in text or "{" in text):
            text = f"INDEX({text},1,1)"
    return text


def _plain(value: Any) -> Any:
    """A stored value for the job."""
    return {"error": str(value)} if isinstance(value, ErrorCode) else value


def _value(value: Any) -> Any:
    """A value of the answer; a child that was taken over cannot hand in more than a cell can
    hold.
    """
    if isinstance(value, dict):
        return ErrorCode(value["error"])
    return value[: bounds.CELL_CHARACTERS] if isinstance(value, str) else value
