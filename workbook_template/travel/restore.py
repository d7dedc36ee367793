"""The live workbook back from a shared copy alone, with what was typed into the copy."""

from __future__ import annotations

from dataclasses import dataclass, field

from workbook_template.travel import brought_back, ledger, seal, template_formulas
from workbook_template.travel.edits import Edits
from workbook_template.travel.formulas import calls, links
from workbook_template.travel.fresh_values import Calls, same
from workbook_template.travel.guards import lifted
from workbook_template.travel.ledger import Ledger, LedgerEntry
from workbook_template.travel.native_functions import AllowList, require_own_names
from workbook_template.travel.ooxml.elements import elements, spliced
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.parts import remove_part
from workbook_template.travel.ooxml.stored_book import StoredBook, StoredSheet
from workbook_template.travel.part_removal import remove_parts
from workbook_template.travel.privacy import (
    remove_calculation_order,
    remove_calculation_state,
    remove_macros,
)
from workbook_template.travel.recalc import refreshed
from workbook_template.user_errors import BookError

#: Numbers that another program saved may differ in their last digits.
TOLERANCE = 1e-9


@dataclass
class Restored:
    """The live workbook, and what differs from the copy as it was sent.

    ``inputs``, ``answers`` and ``overwritten`` are (cell, value then, value now); ``locked`` (taken
    out), ``new`` (came with the copy and stays), ``template`` (differs from a fresh template) and
    ``refused`` (of the copy, not taken into the sender's book) are (where, sentence). ``compared``
    says whether there was a template to compare with.
    """

    data: bytes
    formulas: int
    inputs: list[tuple[str, object, object]] = field(default_factory=list)
    answers: list[tuple[str, object, object]] = field(default_factory=list)
    overwritten: list[tuple[str, object, object]] = field(default_factory=list)
    warning: str | None = None
    locked: list[tuple[str, str]] = field(default_factory=list)
    new: list[tuple[str, str]] = field(default_factory=list)
    template: list[tuple[str, str]] = field(default_factory=list)
    refused: list[tuple[str, str]] = field(default_factory=list)
    compared: bool = False
    verdict: seal.Verdict = seal.Verdict.UNKNOWN


def carried_by(book: StoredBook) -> Ledger:
    """The ledger of a shared copy; BookError where the book has none."""
    carried = ledger.find(book)
    if carried is None:
        raise BookError(
            f"{book.package.title} carries no frozen formulas: it is no shared copy, or its sheet "
            f"{ledger.TITLE!r} was deleted"
        )
    return carried


def opened(package: Package) -> tuple[StoredBook, Ledger]:
    """A shared copy and its ledger, with the guards taken off its native formulas (in memory; the
    file stays).
    """
    book = StoredBook(package)
    carried = carried_by(book)
    edits = Edits(book)
    lifted(book, edits, {(one.sheet, one.row, one.column) for one in carried.of("formula")})
    edits.apply()
    book = StoredBook(package)
    return book, carried_by(book)


def restored(package: Package, heard=None) -> Restored:
    """Put the frozen formulas back and evaluate them with the inputs as they are now.

    A formula of the hidden sheet or of the copy that holds more than functions of the add-in,
    references, constants, operators and harmless functions is left as its value and listed.
    BookError where the hidden sheet was changed.

    Parameters
    ----------
    package
        A shared copy; its file is not changed.
    heard
        Is told of the evaluation's progress.
    """
    book, carried = opened(package)
    require_own_names(book)
    verdict = carried.verdict()
    if verdict is seal.Verdict.CHANGED:
        raise BookError(
            f"the hidden sheet of {package.title} was changed on the way, so nothing is put back"
            " from it: restore the inputs into your own workbook with --into BOOK"
        )
    result = Restored(
        b"",
        0,
        inputs=typed(book, carried.of("input")),
        overwritten=typed_over(book, carried),
        verdict=verdict,
    )
    lost = brought_back.missing(book, carried)
    check = AllowList(book)
    edits = Edits(book)
    found = brought_back.guarded(book, carried, verdict, edits)
    edits.apply()
    result.new = found.new + [(where, "held a formula and holds none now") for where in lost]
    result.new += [(package.title, sentence) for sentence in _without_strange_parts(package)]
    book = StoredBook(package)
    carried = carried_by(book)
    shown_there = {
        (entry.sheet, entry.row, entry.column): value_of(book, entry)
        for entry in carried.of("formula")
    }
    result.locked = found.locked + thaw(book, carried, check, verdict)
    result.formulas = len(carried.of("formula")) - len(result.locked) + len(found.locked)
    _, fresh = refreshed(package, heard, before=shown_there)
    result.warning = fresh.warning()
    if not fresh.kept:
        remove_calculation_state(StoredBook(package))
    result.data = package.tobytes()
    after = StoredBook(package)
    kept = {where for where, _ in result.locked}
    asked = [one for one in carried.of("formula") if "ADDIN_STATUS" not in calls(one.text)]
    result.answers = [change for change in differing(after, asked) if change[0] not in kept]
    result.compared = template_formulas.comparable(after, template_formulas.version_of(after))
    if result.compared:
        result.template = template_formulas.differences(after)
    return result


def _without_strange_parts(package: Package) -> list[str]:
    """Take out macros and parts that share lets no copy have, so that they came since; what went.

    That is what runs, fetches from elsewhere, or is of a kind that nobody knows.
    """
    book = StoredBook(package)
    said = ["macros are left out"] if remove_macros(book) else []
    return said + remove_parts(book, keep_people=True)


def typed_over(book: StoredBook, carried: Ledger) -> list[tuple[str, object, object]]:
    """Frozen cells that hold something else than a formula and not the value that they held."""
    return typed(book, carried.of("formula"))


def typed(book: StoredBook, entries: list[LedgerEntry]) -> list[tuple[str, object, object]]:
    """Cells of the ledger that hold no formula and not what they held when the copy was made.

    An input that is a formula now counts as changed; a frozen cell with a formula is not typed
    over.
    """
    return differing(
        book,
        [
            entry
            for entry in entries
            if entry.kind == "input"
            or (entry.row, entry.column) not in book.sheet(entry.sheet).cells.formulas
        ],
    )


def differing(book: StoredBook, entries: list[LedgerEntry]) -> list[tuple[str, object, object]]:
    """Cells of the ledger whose value differs; an empty text is an empty cell."""
    found = [(entry.shown, entry.value, value_of(book, entry)) for entry in entries]
    return [(where, was, now) for where, was, now in found if not alike(was, now)]


def alike(was, now) -> bool:
    """Whether two values of a cell are the same after any program saved them."""
    if isinstance(was, float) and isinstance(now, float) and abs(was - now) <= ledger.TINY:
        return True
    return same(was, now, TOLERANCE) or (was in (None, "") and now in (None, ""))


def value_of(book: StoredBook, entry: LedgerEntry):
    """What a cell of the ledger holds now."""
    return book.sheet(entry.sheet).value(entry.row, entry.column)


def thaw(
    book: StoredBook,
    carried: Ledger,
    check: AllowList | None = None,
    verdict: seal.Verdict | None = None,
) -> list[tuple[str, str]]:
    """Formulas instead of their values; the lines that tell of the copy and the hidden sheet taken
    out.

    Parameters
    ----------
    book, carried
        A shared copy and its ledger.
    check
        Judges the formulas; left out: with the names of ``book``.
    verdict
        What the seal says; left out, it is asked. Formulas under a right seal are the sender's own.

    Returns
    -------
    list
        Cells whose formula is not put back, with the reason.
    """
    edits = Edits(book)
    check = check or AllowList(book)
    own = (verdict or carried.verdict()) is seal.Verdict.UNCHANGED
    dynamic = bool(book.related(book.part, "sheetMetadata"))
    calls = Calls(book)
    locked = []
    for entry in carried.of("formula"):
        sheet = book.sheet(entry.sheet)
        value = (
            "" if entry.value is None else entry.value
        )  # some programs save an empty text as an empty cell
        faults = [] if own else check.faults(entry.text, entry.sheet)
        if links(entry.text):
            faults.append("it reads another workbook")
        elif not calls.needs(sheet, entry.text):
            faults.append("it calls no function of the add-in, so share did not put it there")
        if faults:
            locked.append((entry.shown, f"={entry.text[:200]}: {'; '.join(faults)}"))
            now = value_of(book, entry)
            edits.of(sheet).freeze(entry.row, entry.column, "" if now is None else now)
            continue
        edits.of(sheet).put_formula(
            entry.row, entry.column, entry.text, value, entry.area, entry.dynamic and dynamic
        )
    for entry in carried.of("note"):
        if value_of(book, entry) == entry.value:
            edits.of(book.sheet(entry.sheet)).erase(entry.row, entry.column)
    edits.apply()
    assert carried.sheet  # it was read from there
    _remove_sheet(book, carried.sheet)
    remove_calculation_order(
        book
    )  # whether the copy still asks to be worked out says how far to trust it
    return locked


def _remove_sheet(book: StoredBook, sheet: StoredSheet) -> None:
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
