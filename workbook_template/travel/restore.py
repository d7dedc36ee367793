"""The live workbook back from a shared copy, with what was typed into the copy."""

from __future__ import annotations

from dataclasses import dataclass, field

from workbook_template.errors import BookError
from workbook_template.travel import ledger
from workbook_template.travel.edits import Edits
from workbook_template.travel.formulas import calls, links
from workbook_template.travel.guards import lifted
from workbook_template.travel.ledger import Entry, Ledger
from workbook_template.travel.ooxml.book import Book, Sheet
from workbook_template.travel.ooxml.elements import elements, spliced
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.parts import remove_part
from workbook_template.travel.privacy import remove_calculation_state
from workbook_template.travel.recalc import refreshed
from workbook_template.travel.values import Calls, same

#: Numbers that another program saved may differ in their last digits.
TOLERANCE = 1e-9


@dataclass
class Restored:
    """The live workbook, and what differs from the copy as it was sent: cell, value then, value now."""

    data: bytes
    formulas: int
    inputs: list[tuple[str, object, object]] = field(default_factory=list)
    answers: list[tuple[str, object, object]] = field(default_factory=list)
    overwritten: list[tuple[str, object, object]] = field(default_factory=list)
    warning: str | None = None


def restored(package: Package, heard=None) -> Restored:
    """Put the frozen formulas back and evaluate them with the inputs as they are now.

    Parameters
    ----------
    package
        A shared copy; its file is not changed.
    heard
        Is told of the evaluation's progress.
    """
    book = Book(package)
    carried = ledger.find(book)
    if carried is None:
        raise BookError(
            f"{package.title} carries no frozen formulas: it is no shared copy, or its sheet "
            f"{ledger.TITLE!r} was deleted"
        )
    result = Restored(
        b"",
        len(carried.of("formula")),
        inputs=typed(book, carried.of("input")),
        overwritten=typed_over(book, carried),
    )
    shown_there = {
        (entry.sheet, entry.row, entry.column): value_of(book, entry)
        for entry in carried.of("formula")
    }
    thaw(book, carried)
    _, fresh = refreshed(package, heard, before=shown_there)
    result.warning = fresh.warning()
    result.data = package.tobytes()
    after = Book(package)
    result.answers = typed(
        after, [one for one in carried.of("formula") if "ADDIN_STATUS" not in calls(one.text)]
    )
    return result


def typed_over(book: Book, carried: Ledger) -> list[tuple[str, object, object]]:
    """Frozen cells that hold something else than a formula and not the value that they held."""
    return typed(
        book,
        [
            entry
            for entry in carried.of("formula")
            if (entry.row, entry.column) not in book.sheet(entry.sheet).cells.formulas
        ],
    )


def typed(book: Book, entries: list[Entry]) -> list[tuple[str, object, object]]:
    """Cells of the ledger that do not hold what they held when the copy was made; an empty text is an empty cell."""
    found = [(entry.shown, entry.value, value_of(book, entry)) for entry in entries]
    return [
        (where, was, now)
        for where, was, now in found
        if not same(was, now, TOLERANCE) and (was not in (None, "") or now not in (None, ""))
    ]


def value_of(book: Book, entry: Entry):
    """What a cell of the ledger holds now."""
    return book.sheet(entry.sheet).value(entry.row, entry.column)


def thaw(book: Book, carried: Ledger) -> None:
    """Formulas instead of their values; the line and the hidden sheet taken out."""
    edits = Edits(book)
    dynamic = bool(book.related(book.part, "sheetMetadata"))
    calls = Calls(book)
    for entry in carried.of("formula"):
        sheet = book.sheet(entry.sheet)
        if links(entry.text) or not calls.needs(sheet, entry.text):
            raise BookError(
                f"{entry.shown}: the hidden sheet of {book.package.title} holds a formula that share did not "
                "put there; it was changed on the way"
            )
        value = (
            "" if entry.value is None else entry.value
        )  # some programs save an empty text as an empty cell
        edits.of(sheet).put_formula(
            entry.row, entry.column, entry.text, value, entry.area, entry.dynamic and dynamic
        )
    for entry in carried.of("note"):
        if value_of(book, entry) == entry.value:
            edits.of(book.sheet(entry.sheet)).erase(entry.row, entry.column)
    lifted(book, edits, {(one.sheet, one.row, one.column) for one in carried.entries})
    edits.apply()
    _remove_sheet(book, carried.sheet)
    remove_calculation_state(book)


def _remove_sheet(book: Book, sheet: Sheet) -> None:
    """Take a sheet out of the book."""
    package = book.package
    identities = remove_part(package, sheet.part, book.part)
    data = package[book.part]
    cuts = [
        (element.start, element.end, b"")
        for element in elements(data, book.part)
        if element.name == "sheet" and element.attributes.get("r:id") in identities
    ]
    package[book.part] = spliced(data, cuts)
