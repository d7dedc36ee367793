"""A shared copy back into the sender's own workbook: inputs from the copy, formulas from the
workbook only.
"""

from __future__ import annotations

from workbook_template.travel import ledger
from workbook_template.travel.edits import Edits
from workbook_template.travel.fresh_values import Calls
from workbook_template.travel.ledger import Ledger
from workbook_template.travel.native_functions import normal, require_own_names
from workbook_template.travel.ooxml.addresses import shown
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import ErrorCode, StoredBook, StoredSheet
from workbook_template.travel.recalc import refreshed
from workbook_template.travel.restore import Restored, alike, differing, opened, typed
from workbook_template.travel.rules import rules
from workbook_template.user_errors import BookError


def merged(copy: Package, package: Package, heard=None) -> Restored:
    """The sender's workbook with the inputs that were changed in the copy.

    An input is taken where it is a constant in the workbook and in the copy, the copy changed it
    against what it was sent with, and the workbook did not change it since; all else that differs
    is listed and not taken.

    Parameters
    ----------
    copy
        The shared copy; not changed.
    package
        The workbook that it was made from; its file is not changed.
    heard
        Is told of the evaluation's progress.
    """
    back, carried = opened(copy)
    book = StoredBook(package)
    if ledger.find(book):
        raise BookError(f"{package.title} is a shared copy itself; --into takes your own workbook")
    require_own_names(book)
    calls = Calls(book)
    ours = {
        (sheet.name, *place)
        for sheet in book.sheets
        for place, formula in sheet.cells.formulas.items()
        if calls.ours(sheet, formula)
    }
    _require_same_places(carried, ours, package.title, copy.title)
    ours = {(name.lower(), row, column) for name, row, column in ours}
    result = Restored(b"", len(ours), verdict=carried.verdict())
    result.overwritten = typed(back, carried.of("formula"))
    edits = Edits(book)
    held: dict[tuple[str, int, int], object] = {}
    seen = _inputs(back, book, carried, edits, result, held)
    edits.apply()
    _rest(back, book, carried, seen, result)
    _, fresh = refreshed(package, heard, before=held)
    result.warning = fresh.warning()
    result.data = package.tobytes()
    after = StoredBook(package)
    result.answers = differing(
        after,
        [
            entry
            for entry in carried.of("formula")
            if (entry.sheet.lower(), entry.row, entry.column) in ours
        ],
    )
    return result


def _require_same_places(carried: Ledger, ours: set, title: str, copy: str) -> None:
    """Refuse where the workbook's formulas of the add-in stand elsewhere than those of the copy."""
    shown_as = {(name.lower(), *place): shown(name, *place) for name, *place in ours}
    frozen = {
        (entry.sheet.lower(), entry.row, entry.column): entry.shown
        for entry in carried.of("formula")
    }
    odd = sorted(shown_as.keys() ^ frozen.keys())
    if odd:
        cells = ", ".join((shown_as | frozen)[place] for place in odd[:6])
        raise BookError(
            f"the formulas of the add-in do not stand in the same cells of {title} and of {copy}"
            f" ({cells}{' ...' if len(odd) > 6 else ''}): rows were moved, or it is another"
            " workbook; an input could land in the wrong cell, so nothing is taken"
        )


def _inputs(
    back: StoredBook,
    book: StoredBook,
    carried: Ledger,
    edits: Edits,
    result: Restored,
    held: dict[tuple[str, int, int], object],
) -> set:
    """Take over the inputs that only the copy changed; the cells of all remembered inputs.

    ``held`` is told what the cells held that are written over, with which the workbook's figures
    were worked out.
    """
    seen = set()
    for entry in carried.of("input"):
        place = (entry.row, entry.column)
        seen.add((entry.sheet.lower(), *place))
        theirs, mine = back.sheet(entry.sheet), book.find(entry.sheet)
        then, now = entry.value, theirs.value(*place)
        if mine is None or (alike(then, now) and place not in theirs.cells.formulas):
            continue
        here = mine.value(*place)
        if place in mine.cells.formulas or place in mine.cells.filled:
            result.refused.append(
                (entry.shown, f"is a formula in your workbook; the copy has {now!r}")
            )
        elif place in theirs.cells.formulas or place in theirs.cells.filled:
            text = theirs.cells.formulas[place].text if place in theirs.cells.formulas else ""
            result.refused.append((entry.shown, f"is a formula in the copy now: ={text[:200]}"))
        elif isinstance(now, ErrorCode):
            result.refused.append((entry.shown, f"is the error {now} in the copy"))
        elif alike(here, now):
            continue
        elif not alike(here, then):
            result.refused.append(
                (
                    entry.shown,
                    (
                        f"was {then!r} when it was shared; the copy says {now!r}, your workbook"
                        f" says {here!r} by now and keeps it"
                    ),
                )
            )
        else:
            held[(mine.name, *place)] = here
            if now in (None, ""):
                edits.of(mine).clear(*place)
            else:
                edits.of(mine).freeze(*place, now)
            result.inputs.append((entry.shown, then, now))
    return seen


def _rest(back: StoredBook, book: StoredBook, carried: Ledger, seen: set, result: Restored) -> None:
    """List what else differs: sheets, formulas, and constants that no formula reads."""
    hidden = carried.sheet.name if carried.sheet else None
    notes = {(entry.sheet.lower(), entry.row, entry.column) for entry in carried.of("note")}
    frozen = {
        (entry.sheet.lower(), entry.row, entry.column): entry for entry in carried.of("formula")
    }
    for sheet in book.sheets:
        if back.find(sheet.name) is None:
            result.refused.append((sheet.name, "is no sheet of the copy any more"))
    for sheet in back.sheets:
        mine = book.find(sheet.name)
        if mine is None:
            if sheet.name != hidden:
                result.refused.append((sheet.name, "is a sheet that your workbook does not have"))
            continue
        result.refused += _rules(sheet, mine)
        for place in sorted(sheet.cells.cells.keys() | mine.cells.cells.keys()):
            key = (sheet.name.lower(), *place)
            if key in seen or key in notes:
                continue
            theirs, ours = sheet.cells.formulas.get(place), mine.cells.formulas.get(place)
            where = shown(sheet.name, *place)
            if key in frozen:
                if ours is None or normal(frozen[key].text) != normal(ours.text):
                    result.refused.append(
                        (where, f"the copy carries the formula ={frozen[key].text[:200]}")
                    )
            elif theirs and not (ours and normal(theirs.text) == normal(ours.text)):
                result.refused.append((where, f"holds ={theirs.text[:200]} in the copy"))
            elif ours and not theirs:
                result.refused.append((where, f"holds {sheet.value(*place)!r} in the copy"))
            elif not theirs and place not in mine.cells.filled | sheet.cells.filled:
                if not alike(mine.value(*place), sheet.value(*place)):
                    result.refused.append(
                        (
                            where,
                            (
                                f"is {sheet.value(*place)!r} in the copy and {mine.value(*place)!r}"
                                " in your workbook; no formula read it when it was shared"
                            ),
                        )
                    )


def _rules(theirs: StoredSheet, mine: StoredSheet) -> list[tuple[str, str]]:
    """Data validations and conditional formats in which the copy differs from the workbook."""
    copys, own = ({rule.key: rule for rule in rules(sheet)} for sheet in (theirs, mine))
    new = [rule for key, rule in copys.items() if key not in own]
    gone = {(rule.where, key): rule for key, rule in own.items() if key not in copys}
    found = []
    for rule in new:
        was = next((one for one in gone if one[0] == rule.where), None)
        yours = f"{gone.pop(was).said[:200]} in your workbook" if was else "not in your workbook"
        found.append((rule.where, f"is {rule.said[:200]} in the copy and {yours}"))
    return found + [
        (rule.where, f"is {rule.said[:200]} in your workbook and not in the copy")
        for rule in gone.values()
    ]
