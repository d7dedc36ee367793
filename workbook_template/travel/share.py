"""The copy of a workbook for people who have no add-in: the catalogue's cells as values, all else as it is."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

from chemcore import __version__
from workbook_template.errors import BookError
from workbook_template.travel import bounds, formulas, ledger, privacy
from workbook_template.travel.ledger import Entry, Ledger
from workbook_template.travel.native_functions import require_own_names
from workbook_template.travel.ooxml.addresses import address
from workbook_template.travel.ooxml.book import Book, Sheet
from workbook_template.travel.ooxml.edit import Note, SheetEdit
from workbook_template.travel.ooxml.elements import elements, spliced, tag_name
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.parts import RELATIONS, WORKSHEET_TYPE, add_part
from workbook_template.travel.values import Calls, fresh_values, same


@dataclass
class Shared:
    """A shared copy: the bytes of the file, how many cells were frozen, and what the sender should know."""

    data: bytes
    frozen: int
    remarks: list[str] = field(default_factory=list)


class Edits:
    """The edits of all sheets of a book, made when first needed."""

    def __init__(self, book: Book):
        self.book = book
        self._edits: dict[str, SheetEdit] = {}

    def of(self, sheet: Sheet) -> SheetEdit:
        """The edit of a sheet."""
        if sheet.part not in self._edits:
            self._edits[sheet.part] = SheetEdit(sheet)
        return self._edits[sheet.part]

    def apply(self) -> None:
        """Write the edited sheets into the package."""
        for part, edit in self._edits.items():
            self.book.package[part] = edit.tobytes()


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
    book = Book(package)
    if ledger.find(book):
        raise BookError(
            f"{package.title} is a shared copy already; restore it first, or send it as it is"
        )
    if privacy.macro_sheets(book):
        raise BookError(
            f"{package.title} has macro sheets of the old kind, which would run for whoever gets it: delete "
            "them"
        )
    require_own_names(book)
    calls = Calls(book)
    fresh = fresh_values(book, calls, heard)
    fresh.require_all("a shared copy")
    remarks = unfrozen(book, calls)
    edits = Edits(book)
    entries = _freeze(book, calls, fresh, edits)
    _plain_rules(book, edits)
    privacy.remove_function_names(book)
    if privacy.remove_macros(book):
        remarks.append("the macros are left out; restore does not bring them back")
    if not keep_links:
        privacy.remove_links(book)
    if not keep_metadata:
        privacy.remove_people(book)
        privacy.remove_printers(
            book, lambda sheet, start, end, new: edits.of(sheet).replace(start, end, new)
        )
    privacy.remove_calculation_state(book)
    made = (now or datetime.now()).astimezone().strftime("%Y-%m-%d %H:%M %z")
    note = _note(
        book,
        edits,
        f"Values of {made}, made from {package.title} with spargesheet {__version__}; formulas of "
        "the add-in are frozen in this copy.",
    )
    edits.apply()
    if keep_formulas:
        frozen = {(entry.sheet, entry.row, entry.column) for entry in entries}
        remembered = ledger.inputs(book, calls.speller, frozen)
        if len(remembered) >= bounds.REMEMBERED_INPUTS:
            remarks.append(
                f"the copy remembers its first {bounds.REMEMBERED_INPUTS} inputs; changes of others will not be "
                "listed"
            )
        _add_ledger(
            book,
            Ledger(
                __version__,
                made,
                package.title,
                (note, *entries, *remembered, *ledger.natives(book, frozen)),
            ),
        )
    return Shared(package.tobytes(), len(entries), remarks)


def _freeze(book: Book, calls: Calls, fresh, edits: Edits) -> list[Entry]:
    """Values in place of the catalogue's formulas, and fresh values in the other formulas' cells."""
    entries = []
    values = dict(fresh.values)
    for sheet in book.sheets:
        for (row, column), formula in sheet.cells.formulas.items():
            if not calls.ours(sheet, formula):
                continue
            value = values.pop((sheet.name, row, column))
            fresh.grown.pop((sheet.name, row, column), None)
            edits.of(sheet).freeze(row, column, value)
            area = ""
            if formula.area:
                top, left, bottom, right = formula.area
                area = f"{address(top, left)}:{address(bottom, right)}"
            entries.append(
                Entry(
                    "formula",
                    sheet.name,
                    row,
                    column,
                    formulas.plain(formula.text),
                    value,
                    area,
                    formula.dynamic,
                )
            )
    refresh(book, values, fresh.grown, edits)
    return entries


def refresh(book: Book, values: dict, grown: dict, edits: Edits) -> int:
    """Write fresh values where they differ from the stored ones; how many did.

    A dynamic array formula (in ``grown``) that fills other cells than before gets its new area; cells that it no longer
    fills become empty.
    """
    changed = 0
    for (name, row, column), value in values.items():
        sheet = book.sheet(name)
        formula = sheet.cells.formulas.get((row, column))
        last = grown.get((name, row, column))
        if last and last != formula.area[2:]:
            area = f"{address(row, column)}:{address(*last)}"
            edits.of(sheet).put_formula(row, column, formula.text, value, area, dynamic=True)
        elif same(sheet.value(row, column), value):
            continue
        elif value is None:
            edits.of(sheet).erase(row, column)
        else:
            edits.of(sheet).refresh(row, column, value)
        changed += 1
    return changed


def unfrozen(book: Book, calls: Calls) -> list[str]:
    """Where the catalogue is called by what cannot hold a value instead: names, validations, conditional formats."""
    found = [
        f"the name {name.name} calls a function of the add-in; cells that use it are frozen, the name itself is not"
        for name in book.names
        if name in calls.names
    ]
    for sheet in book.sheets:
        for element in sheet.cells.others:
            if formulas.calls(element.text):
                kind = "conditional format" if "cfRule" in element.path else "data validation"
                found.append(
                    f"a {kind} on {sheet.name} calls a function of the add-in; it has no effect without it"
                )
    for table in book.tables:
        for element in elements(book.package[table.part], table.part):
            if element.name == "calculatedColumnFormula" and formulas.calls(element.text):
                found.append(
                    f"a column of the table {table.name} calls a function of the add-in; rows that are added to "
                    "the copy will show #NAME?"
                )
    return found


def _plain_rules(book: Book, edits: Edits) -> None:
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


def _note(book: Book, edits: Edits, text: str) -> Entry:
    """The line below the first sheet that shows: small, grey, in italics; no style of the book is touched."""
    sheet = next((sheet for sheet in book.sheets if sheet.visible), book.sheets[0])
    row = sheet.cells.extent[0] + 2
    if row > bounds.ROWS:
        raise BookError(
            f"{sheet.name} is filled to its last row, so there is no room for the line that says what the copy "
            "is"
        )
    edit = edits.of(sheet)
    edit.freeze(row, 1, Note(text))
    for element in sheet.cells.others:
        if element.name == "dimension":
            column = max(sheet.cells.extent[1], 1)
            tag = tag_name(edit.data, element.start).decode()
            edit.replace(
                element.start, element.end, f'<{tag} ref="A1:{address(row, column)}"/>'.encode()
            )
    return Entry("note", sheet.name, row, 1, value=text)


def _add_ledger(book: Book, content: Ledger) -> None:
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
    identity = add_part(
        package, part, ledger.sheet_part(content), WORKSHEET_TYPE, book.part, "worksheet"
    )
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
