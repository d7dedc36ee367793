"""The copy of a workbook for people who have no add-in: the catalogue's calls frozen, all else as
it is.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

from chemcore import __version__
from workbook_template.travel import band, bounds, formulas, ledger, privacy, traces
from workbook_template.travel.edits import Edits, refresh
from workbook_template.travel.expressions import Unreadable
from workbook_template.travel.fresh_values import Calls, Fresh, fresh_values
from workbook_template.travel.frozen import Unfit
from workbook_template.travel.frozen_shapes import FrozenShapes
from workbook_template.travel.guards import guards, with_guard
from workbook_template.travel.ledger import Ledger, LedgerEntry
from workbook_template.travel.native_functions import require_own_names
from workbook_template.travel.ooxml.addresses import address, shown
from workbook_template.travel.ooxml.cell_records import StoredFormula
from workbook_template.travel.ooxml.edit import Note
from workbook_template.travel.ooxml.elements import elements, spliced, tag_name
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.parts import RELATIONS, WORKSHEET_TYPE, add_part
from workbook_template.travel.ooxml.stored_book import StoredBook, StoredSheet
from workbook_template.travel.recording import Numbering
from workbook_template.travel.uncollected import uncollected
from workbook_template.user_errors import BookError


@dataclass
class Shared:
    """A shared copy: the bytes of the file, how many cells were frozen, and what the sender should
    know.
    """

    data: bytes
    frozen: int
    remarks: list[str] = field(default_factory=list)


@uncollected
def shared(
    package: Package,
    keep_metadata: bool = False,
    keep_links: bool = False,
    keep_formulas: bool = True,
    now: datetime | None = None,
    heard=None,
) -> Shared:
    """Make the copy.

    Parameters
    ----------
    package
        The workbook; its file is not changed.
    keep_metadata
        Leave author, last editor, folder and printer settings in.
    keep_links
        Leave links to other workbooks in; the linked cells keep their stored values.
    keep_formulas
        Let the frozen formulas travel in a hidden sheet, for ``restore``.
    now
        When the copy is made; left out: now.
    heard
        Is told of the evaluation's progress.
    """
    book = StoredBook(package)
    if ledger.find(book):
        raise BookError(
            f"{package.title} is a shared copy already; restore it first, or send it as it is"
        )
    if privacy.macro_sheets(book):
        raise BookError(
            f"{package.title} has macro sheets of the old kind, which would run for whoever gets"
            " it: delete them"
        )
    require_own_names(book)
    made = (now or datetime.now()).astimezone()
    calls = Calls(book)
    numbering = Numbering(calls)
    status = ledger.status(f"{made:%Y-%m-%d}")
    told = _Told(book, calls, keep_formulas)
    fresh = fresh_values(
        book, calls, heard, numbering=numbering, status=status, meanwhile=told.find
    )
    fresh.require_all("a shared copy")
    remarks = unfrozen(book, calls)
    if warning := fresh.warning():
        remarks.append(warning)
    edits = Edits(book)
    read, elsewhere = told.guards
    entries, fixed = _freeze(book, calls, fresh, numbering, edits, read)
    native = {place: texts for place, texts in read.items() if place not in told.ours}
    elsewhere = elsewhere + _guard(book, fresh, edits, native)
    remarks += [
        f"{entry.shown} holds its value alone and stays as it is whatever is changed in the copy:"
        f" {why}"
        for entry, why in fixed
    ]
    remarks += [
        f"{shown(*place)} may not show that a figure it rests on was changed in the copy"
        for place in elsewhere
    ]
    _plain_rules(book, edits)
    notes = _notes(
        book,
        told.places,
        edits,
        lambda *cells: band.text(made, package.title, keep_formulas, *cells),
        [(entry.sheet, entry.row, entry.column) for entry, _ in fixed],
        elsewhere,
    )
    edits.apply()
    remarks += privacy.clean(book, keep_metadata, keep_links, bool(fresh.stale)) + told.folders
    if keep_formulas:
        remembered = told.inputs
        if len(remembered) >= bounds.REMEMBERED_INPUTS:
            remarks.append(
                f"the copy remembers its first {bounds.REMEMBERED_INPUTS} inputs; changes of others"
                " will not be listed"
            )
        when = made.strftime("%Y-%m-%d %H:%M %z")
        own = ledger.natives(book, told.ours)
        content = Ledger(__version__, when, package.title, (*remembered, *notes, *entries, *own))
        _add_ledger(book, ledger.sheet_part(content, told.input_rows))
    return Shared(package.tobytes(), len(entries), remarks)


class _Told:
    """What the book itself tells a copy, whatever its formulas come to."""

    def __init__(self, book: StoredBook, calls: Calls, keep_formulas: bool):
        self._book, self._calls, self._keep = book, calls, keep_formulas

    def find(self) -> None:
        """Find all of it now."""
        _ = self.guards, self.places, self.input_rows, self.folders

    @cached_property
    def ours(self) -> set[tuple[str, int, int]]:
        """Cells whose formula calls the catalogue."""
        return {
            (sheet.name, *place)
            for sheet in self._book.sheets
            for place, formula in sheet.cells.formulas.items()
            if self._calls.ours(sheet, formula)
        }

    @cached_property
    def guards(self) -> tuple[dict[tuple[str, int, int], list[str]], list]:
        """What each formula reads of frozen cells, and cells that read one cannot tell what."""
        return guards(self._book, self._calls.speller, self.ours)

    @cached_property
    def places(self) -> dict[str, tuple[int, int]]:
        """Where on each sheet the line of the copy stands."""
        return band.places(self._book, self._calls.speller)

    @cached_property
    def inputs(self) -> list[LedgerEntry]:
        """The inputs that a copy with its formulas remembers."""
        return ledger.inputs(self._book, self._calls.speller, self.ours) if self._keep else []

    @cached_property
    def input_rows(self) -> list[str]:
        """Their rows in the hidden sheet, which they begin."""
        return ledger.entry_rows(self.inputs)

    @cached_property
    def folders(self) -> list[str]:
        """Cells and names that show a folder or a password."""
        return traces.shown_folders(self._book)


def _freeze(
    book: StoredBook, calls: Calls, fresh, numbering: Numbering, edits: Edits, read: dict
) -> tuple[list[LedgerEntry], list[tuple[LedgerEntry, str]]]:
    """Frozen formulas in place of the catalogue's.

    Gives the entries of the ledger, and those cells that could only become a value, with the
    reason.
    """
    entries, fixed = [], []
    shapes = FrozenShapes()
    for sheet in book.sheets:
        for (row, column), formula in sheet.cells.formulas.items():
            if not calls.ours(sheet, formula):
                continue
            value = fresh.values.pop((sheet.name, row, column))
            last = fresh.grown.pop((sheet.name, row, column), None)
            area, now = _area(formula), _area(formula, last)
            text = formulas.plain(formula.text)
            entry = LedgerEntry(
                "formula", sheet.name, row, column, text, value, area, formula.dynamic
            )
            entries.append(entry)
            try:
                text = _frozen(shapes, calls, fresh, numbering, sheet, row, column)
                text = with_guard(text, read.get((sheet.name, row, column), []))
                if len(text) > bounds.FORMULA_CHARACTERS:
                    raise Unfit(
                        f"its checks are longer than {bounds.FORMULA_CHARACTERS} characters"
                    )
                edits.of(sheet).put_formula(row, column, text, value, now)
            except (Unfit, Unreadable) as reason:
                edits.of(sheet).freeze(row, column, value)
                fixed.append((entry, str(reason) or "it cannot be read"))
    return entries, fixed


def _guard(book: StoredBook, fresh, edits: Edits, read: dict) -> list[tuple[str, int, int]]:
    """Guards around the native formulas, and fresh values in their cells; the cells that can have
    none.
    """
    without = []
    for (name, row, column), texts in read.items():
        sheet, formula = book.sheet(name), book.sheet(name).cells.formulas[row, column]
        text = with_guard(formula.text, texts)
        if len(text) > bounds.FORMULA_CHARACTERS:
            without.append((name, row, column))
        elif text != formula.text:
            value = fresh.values.pop((name, row, column), None)
            value = sheet.value(row, column) if value is None else value
            last = fresh.grown.pop((name, row, column), None)
            area = _area(formula, last)
            edits.of(sheet).put_formula(
                row, column, text, "" if value is None else value, area, formula.dynamic
            )
    refresh(book, fresh.values, fresh.grown, edits)
    return without


def _area(formula: StoredFormula, last: tuple[int, int] | None = None) -> str:
    """The cells that an array formula fills, to ``last`` where it is known better; nothing for
    another formula.
    """
    if not formula.area:
        return ""
    top, left, bottom, right = formula.area
    return f"{address(top, left)}:{address(*(last or (bottom, right)))}"


def _frozen(
    shapes: FrozenShapes,
    calls: Calls,
    fresh: Fresh,
    numbering: Numbering,
    sheet: StoredSheet,
    row: int,
    column: int,
) -> str:
    """The frozen formula of a cell; Unfit where there is none."""
    if (sheet.name, row, column) not in numbering.cells:
        raise Unfit("it cannot be read")
    text, first = numbering.cells[sheet.name, row, column]
    return shapes.frozen(
        text,
        first,
        fresh.asked,
        lambda piece: calls.speller.spelled(piece, sheet.name, row, column),
    )


def unfrozen(book: StoredBook, calls: Calls) -> list[str]:
    """Where the catalogue is called by what cannot hold a value instead: names, validations,
    conditional formats.
    """
    found = [
        f"the name {name.name} calls a function of the add-in; cells that use it are frozen, the"
        " name itself is not"
        for name in book.names
        if name in calls.names
    ]
    for sheet in book.sheets:
        for element in sheet.cells.others:
            if formulas.calls(element.text):
                kind = "conditional format" if "cfRule" in element.path else "data validation"
                found.append(
                    f"a {kind} on {sheet.name} calls a function of the add-in; it has no effect"
                    " without it"
                )
    for table in book.tables:
        for element in elements(book.package[table.part], table.part):
            if element.name == "calculatedColumnFormula" and formulas.calls(element.text):
                found.append(
                    f"a column of the table {table.name} calls a function of the add-in; rows that"
                    " are added to the copy will show #NAME?"
                )
    return found


def _plain_rules(book: StoredBook, edits: Edits) -> None:
    """Calls outside cells without the way to the add-in's file, so that nothing asks for it."""
    for sheet in book.sheets:
        for element in sheet.cells.others:
            if formulas.plain(element.text) != element.text:
                edits.of(sheet).replace(
                    element.inner, element.close, escape(formulas.plain(element.text)).encode()
                )
    parts = [book.part, *(table.part for table in book.tables)]
    for part in parts:
        data = book.package[part]
        cuts = [
            (element.inner, element.close, escape(formulas.plain(element.text)).encode())
            for element in elements(data, part)
            if element.name in ("definedName", "calculatedColumnFormula", "totalsRowFormula")
            and formulas.plain(element.text) != element.text
        ]
        book.package[part] = spliced(data, cuts)


def _notes(
    book: StoredBook,
    places: dict[str, tuple[int, int]],
    edits: Edits,
    words: Callable[[list[str], list[str]], str],
    fixed: list[tuple[str, int, int]],
    unwatched: list[tuple[str, int, int]],
) -> list[LedgerEntry]:
    """The line on the first screen of each sheet, and a flag at the end of each row with a figure
    that the copy cannot watch; no style of the book is touched.
    """
    entries = []
    for name, place in places.items():
        sheet = book.sheet(name)
        here = [[cell[1:] for cell in cells if cell[0] == name] for cells in (fixed, unwatched)]
        notes = {place: words(*([address(*cell) for cell in cells] for cells in here))}
        for cells, flag in zip(here, (band.FIXED, band.UNWATCHED)):
            for row in sorted({row for row, _ in cells}):
                column = sheet.cells.extent[1] + 1
                while (row, column) in notes or (row, column) in sheet.cells.cells:
                    column += 1
                notes[row, column] = flag
        edit = edits.of(sheet)
        for (row, column), text in notes.items():
            edit.freeze(row, column, Note(text))
            entries.append(LedgerEntry("note", name, row, column, value=text))
        _stretch(sheet, edit, *(max(ends) for ends in zip(*notes)))
    return entries


def _stretch(sheet: StoredSheet, edit, row: int, column: int) -> None:
    """The sheet's own word of how far it reaches, with one more cell."""
    for element in sheet.cells.others:
        if element.name == "dimension":
            last, right = sheet.cells.extent
            tag = tag_name(edit.data, element.start).decode()
            reach = address(max(last, row), max(right, column))
            edit.replace(element.start, element.end, f'<{tag} ref="A1:{reach}"/>'.encode())


def _add_ledger(book: StoredBook, sheet: bytes) -> None:
    """The hidden sheet at the end of the book."""
    package = book.package
    taken = {name.lower() for name in book.sheet_names}
    title = next(
        name
        for name in (ledger.TITLE, *(f"{ledger.TITLE} {n}" for n in range(2, bounds.SHEETS + 3)))
        if name.lower() not in taken
    )
    part = next(
        name
        for name in (f"xl/worksheets/spargesheet{n or ''}.xml" for n in range(bounds.PARTS + 1))
        if name not in package
    )
    identity = add_part(package, part, sheet, WORKSHEET_TYPE, book.part, "worksheet")
    data = package[book.part]
    found = elements(data, book.part)
    used = [
        int(element.attributes.get("sheetId", "0"))
        for element in found
        if element.name == "sheet" and element.attributes.get("sheetId", "0").isdecimal()
    ]
    sheets = next(element for element in found if element.name == "sheets")
    last = [element for element in found if element.name == "sheet"][-1]
    new = (
        f'<{tag_name(data, last.start).decode()} xmlns:r="{RELATIONS}" name={quoteattr(title)} '
        f'sheetId="{max(used, default=0) + 1}" state="hidden" r:id="{identity}"/>'
    ).encode()
    package[book.part] = spliced(data, [(sheets.close, sheets.close, new)])


def default_name(path: Path, suffix: str = ".xlsx") -> Path:
    """``plan.xlsx`` is shared as ``plan-shared.xlsx``."""
    return path.with_name(f"{path.stem}-shared{suffix}")
