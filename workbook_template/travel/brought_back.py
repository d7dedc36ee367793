"""What a copy that comes back may bring along: its formulas against those it was sent with, and a
lock on the rest.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from xml.sax.saxutils import escape

from workbook_template.travel import ledger, privacy, seal
from workbook_template.travel.ledger import Ledger
from workbook_template.travel.native_functions import AllowList
from workbook_template.travel.ooxml.addresses import position, shown
from workbook_template.travel.ooxml.elements import elements, spliced, with_attribute
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.travel.rules import rules

#: What stands for a formula outside the cells that is taken out: it does nothing, or shows an
#: error.
_INERT = {
    "definedName": "#REF!",
    "calculatedColumnFormula": "NA()",
    "totalsRowFormula": "NA()",
    "formula1": "TRUE",
    "formula2": "TRUE",
}


@dataclass
class Found:
    """Where something new or forbidden stands, with a sentence each: ``new`` stays, ``locked`` was
    taken out.
    """

    new: list[tuple[str, str]] = field(default_factory=list)
    locked: list[tuple[str, str]] = field(default_factory=list)


def guarded(book: StoredBook, carried: Ledger, verdict: seal.Verdict, edits) -> Found:
    """List the formulas that the copy was not sent with, and lock those that hold what is not on
    the list.

    A formula of the sender's own (the copy was sent with it, and the seal is right) stays, whatever
    it holds. A locked formula of a cell becomes its value; one of a name, rule or table becomes one
    that does nothing.
    """
    found, check = Found(), AllowList(book)
    known = ledger.known(carried)
    frozen = {(entry.sheet.lower(), entry.row, entry.column) for entry in carried.of("formula")}
    own = {carried.sheet.name} if carried.sheet else set()
    outside: dict[str, list] = {}
    told = bool(known)
    for made, name, row, column in ledger.marks(book):
        if name in own or (name.lower(), row, column) in frozen:
            continue
        is_known = (name.lower(), made) in known
        if is_known and verdict is seal.Verdict.UNCHANGED:
            continue
        if not row:
            outside.setdefault(name, []).append((made, is_known))
            continue
        sheet = book.sheet(name)
        formula = sheet.cells.formulas[row, column]
        where, text = shown(name, row, column), f"={formula.text[:200]}"
        faults = check.faults(formula.text, name)
        if faults:
            edits.of(sheet).freeze(row, column, _kept(sheet.value(row, column)))
            found.locked.append((where, f"{text}: {'; '.join(faults)}"))
        elif told and not is_known:
            found.new.append((where, text))
    _outside(book, check, outside, own, edits, found, told)
    found.new += _rules_gone(book, known)
    _elsewhere(book, carried, found)
    return found


def _rules_gone(book: StoredBook, known: set) -> list[tuple[str, str]]:
    """Sheets that lack some of the rules that the copy was sent with; the marks do not say what
    these asked.
    """
    found = []
    for sheet in book.sheets:
        there = {ledger.mark(ledger.RULE, rule.key) for rule in rules(sheet)}
        sent = {made for name, made in known if name == sheet.name.lower()}
        gone = sum(made.startswith(ledger.RULE) for made in sent - there)
        if gone:
            found.append(
                (
                    sheet.name,
                    (
                        f"{gone} of the data validations and conditional formats that it was sent"
                        " with are changed or gone"
                    ),
                )
            )
    return found


def _kept(value):
    return "" if value is None else value


def _outside(
    book: StoredBook, check: AllowList, outside: dict, own: set, edits, found: Found, told
) -> None:
    """Names, rules and tables that hold a mark in ``outside``."""
    wanted = {
        (sheet.lower(), made): known for sheet, marks in outside.items() for made, known in marks
    }

    def judged(where: str, text: str, sheet: str, made: str) -> bool:
        if (sheet.lower(), made) not in wanted:
            return False
        faults = check.faults(text, sheet)
        if faults:
            found.locked.append((where, f"={text[:200]}: {'; '.join(faults)}"))
        elif told and not wanted[sheet.lower(), made]:
            found.new.append((where, f"={text[:200]}"))
        return bool(faults)

    first = book.sheets[0].name
    locked_names = {
        (name.name, name.sheet)
        for name in book.names
        if judged(
            f"the name {name.name}",
            name.text,
            name.sheet or first,
            ledger.mark(f":{name.name}", name.text),
        )
    }
    for sheet in book.sheets:
        for rule in rules(sheet) if sheet.name not in own else ():
            made = (sheet.name.lower(), ledger.mark(ledger.RULE, rule.key))
            if made not in wanted:
                continue
            safe = True
            for element in rule.formulas:
                if faults := check.faults(element.text, sheet.name):
                    safe = False
                    found.locked.append((rule.where, f"={element.text[:200]}: {'; '.join(faults)}"))
                    inert = _INERT.get(element.name, "FALSE").encode()
                    edits.of(sheet).replace(element.inner, element.close, inert)
            for element in rule.scale:
                text = element.attributes.get("val", "")
                if faults := check.faults(text, sheet.name):
                    safe = False
                    found.locked.append((rule.where, f"={text[:200]}: {'; '.join(faults)}"))
                    tag = book.package[sheet.part][element.start : element.inner]
                    inert = with_attribute(tag, "val", "0")
                    edits.of(sheet).replace(element.start, element.inner, inert)
            if safe and told and not wanted[made]:
                found.new.append((rule.where, rule.said[:200]))
    for table in book.tables:
        _lock(
            book,
            table.part,
            lambda element, table=table: (
                element.name in ledger.TABLE_FORMULAS
                and judged(
                    f"a column of the table {table.name}",
                    element.text,
                    table.sheet,
                    ledger.mark("~", element.text),
                )
            ),
        )

    def is_locked(element) -> bool:
        if element.name != "definedName":
            return False
        index = element.attributes.get("localSheetId", "")
        sheet = (
            book.sheet_names[int(index)]
            if index.isdecimal() and int(index) < len(book.sheet_names)
            else None
        )
        return (element.attributes.get("name", ""), sheet) in locked_names

    _lock(book, book.part, is_locked)


def _lock(book: StoredBook, part: str, wanted) -> None:
    data = book.package[part]
    cuts = [
        (element.inner, element.close, escape(_INERT[element.name]).encode())
        for element in elements(data, part)
        if wanted(element)
    ]
    if cuts:
        book.package[part] = spliced(data, cuts)


def _elsewhere(book: StoredBook, carried: Ledger, found: Found) -> None:
    """Sheets that the copy was not sent with, and what reaches out of the book; they stay."""
    title = book.package.title
    sent = {entry.sheet.lower() for entry in carried.entries}
    for sheet in book.sheets:
        if sheet is not carried.sheet and sheet.name.lower() not in sent and sheet.cells.formulas:
            found.new.append((sheet.name, "a sheet with formulas that the copy was not sent with"))
    for kind, text in (
        ("vbaProject", "has macros"),
        ("connections", "has data connections"),
        ("externalLink", "has a link to another workbook"),
    ):
        if book.related(book.part, kind):
            found.new.append((title, text))
    if privacy.macro_sheets(book):
        found.new.append((title, "has macro sheets of the old kind"))
    for element in book.elements:
        if element.name == "definedName" and element.attributes.get("function") in ("1", "true"):
            if element.text.strip():
                name = element.attributes.get("name", "")
                found.new.append((f"the name {name:.60}", "is a macro function"))


def missing(book: StoredBook, carried: Ledger) -> list[str]:
    """Cells that held a formula of the copy's own when it was sent and hold none now."""
    found = []
    for entry in carried.of("native"):
        sheet = book.sheet(entry.sheet)
        for made in entry.text.split("|"):
            place = made.partition(" ")[0]
            if place[:1] in (":", "~", ledger.RULE) or not place:
                continue
            if position(place, entry.sheet) not in sheet.cells.formulas:
                found.append(shown(sheet.name, *position(place)))
    return found
