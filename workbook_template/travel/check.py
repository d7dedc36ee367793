"""What is wrong, stale or unsafe in a workbook, cell by cell."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, field
from typing import Any

from chemcore import __version__
from workbook_template.travel import (
    brought_back,
    ledger,
    native_functions,
    privacy,
    seal,
    template_formulas,
)
from workbook_template.travel.edits import Edits
from workbook_template.travel.fresh_values import Calls, Fresh, fresh_values, same
from workbook_template.travel.native_functions import (
    HOST_DEPENDENT,
    REACHING,
    may_call,
    native_calls,
)
from workbook_template.travel.ooxml.addresses import address, shown
from workbook_template.travel.ooxml.elements import elements
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import ErrorCode, StoredBook, StoredSheet
from workbook_template.travel.ooxml.tokens import corners, is_external, moved, sheet_of, tokens
from workbook_template.travel.restore import opened, thaw, typed, typed_over
from workbook_template.travel.share import unfrozen

#: Hosts agree to 1e-9; a stored value that differs by more is another value.
TOLERANCE = 1e-9
_HOST_CALLS = frozenset(f"{name}(" for name in HOST_DEPENDENT)
_TOTALS = {"SUM", "SUBTOTAL", "AVERAGE", "SUMPRODUCT"}


@dataclass(frozen=True)
class Finding:
    """One thing that somebody should look at: kind, where, and a sentence."""

    kind: str
    where: str
    text: str


@dataclass
class Report:
    """The findings, how many catalogue formulas were recomputed, and what was and was not looked
    at, in sentences.
    """

    findings: list[Finding] = field(default_factory=list)
    formulas: int = 0
    looked_at: list[str] = field(default_factory=list)
    not_looked_at: list[str] = field(default_factory=list)

    def add(self, kind: str, where: str, text: str) -> None:
        """One more finding."""
        self.findings.append(Finding(kind, where, text))


def checked(package: Package, heard=None) -> Report:
    """Recompute every catalogue formula of a book and look for what cannot be trusted.

    A shared copy is checked with its frozen formulas put back (in memory; the file is not changed).
    """
    report = Report()
    book = StoredBook(package)
    if not _masks(report, book):
        return report
    carried = ledger.find(book)
    if carried:
        book, carried = opened(package)
        for where, was, now in typed_over(book, carried):
            report.add(
                "typed over",
                where,
                f"held {said(was)} when it was shared, from a formula, and holds {said(now)}",
            )
        for where, was, now in typed(book, carried.of("input")):
            report.add(
                "changed input", where, f"was {said(was)} when it was shared and is {said(now)} now"
            )
        book = _thawed(report, package, book, carried)
    calls = Calls(book)
    fresh = fresh_values(book, calls, heard, status=carried.status if carried else "")
    version = template_formulas.version_of(book) or (carried.version if carried else None)
    ours = {
        (sheet.name, *place)
        for sheet in book.sheets
        for place, formula in sheet.cells.formulas.items()
        if calls.ours(sheet, formula)
    }
    report.formulas = len(ours)
    _values(report, book, calls, fresh, ours, version)
    runs = _runs(book, ours)
    _typed_over(report, book, runs)
    _totals(report, book, fresh, ours, runs)
    for sentence in unfrozen(book, calls):
        report.add("cannot be frozen", book.package.title, sentence)
    _template(report, book, version)
    _functions(report, book, calls, ours)
    _unsafe(report, book)
    natives = sum(len(sheet.cells.formulas) for sheet in book.sheets) - len(ours)
    if fresh.kept:
        report.not_looked_at.append(
            f"{fresh.kept} formula{'s keep figures' if fresh.kept != 1 else ' keeps a figure'} that"
            " the engine cannot work out"
        )
    if natives:
        report.not_looked_at.append(
            f"the stored figures of {natives} formula{'s' if natives != 1 else ''} without a"
            " function of the add-in"
        )
    others = [name for name in book.sheet_names if book.find(name) is None]
    if others:
        report.not_looked_at.append(f"sheets that hold no cells ({', '.join(others)})")
    return report


def _masks(report: Report, book: StoredBook) -> bool:
    """Names like a function of the add-in; with one no figure can be recomputed, which is said."""
    found = native_functions.masks(book)
    for name in found:
        report.add(
            "redirect",
            f"the name {name}",
            "is called like a function of the add-in, so a formula that calls the function works"
            " the name out instead: delete or rename it",
        )
    if found:
        report.not_looked_at.append("everything else, until that name is gone")
    return not found


def _thawed(
    report: Report, package: Package, book: StoredBook, carried: ledger.Ledger
) -> StoredBook:
    """The shared copy with its formulas put back, and what its hidden sheet says about changes."""
    verdict = carried.verdict()
    if verdict is seal.Verdict.CHANGED:
        report.add("tampered", ledger.TITLE, f"{verdict.value}: restore will not use it")
    elif verdict is seal.Verdict.UNKNOWN:
        report.not_looked_at.append(f"whether the copy is as it was sent ({verdict.value})")
    edits = Edits(book)
    found = brought_back.guarded(book, carried, verdict, edits)
    lost = brought_back.missing(book, carried)
    edits.apply()
    for where, sentence in found.locked:
        report.add("unsafe formula", where, sentence)
    for where, sentence in found.new:
        report.add("new in the copy", where, sentence)
    for where in lost:
        report.add("typed over", where, "held a formula when it was shared and holds none now")
    book = StoredBook(package)
    again = ledger.find(book)
    assert again  # the edits left the hidden sheet as it was
    for where, sentence in thaw(book, again, verdict=verdict):
        report.add("unsafe formula", where, sentence)
    return StoredBook(package)


def _template(report: Report, book: StoredBook, version: str | None) -> None:
    """Formulas of the template's sheets that are not those of a fresh template."""
    if template_formulas.comparable(book, version):
        found = template_formulas.differences(book)
        for where, sentence in found:
            report.add("template", where, sentence)
        report.looked_at.append("every formula compared with the template of this version")
    elif version is not None and version != __version__:
        report.not_looked_at.append(
            f"formulas against the template: the book was made with version {version}, this is"
            f" {__version__}"
        )


def _functions(report: Report, book: StoredBook, calls: Calls, ours: set) -> None:
    """Functions that fetch from elsewhere, wherever they stand; host-dependent ones that feed our
    figures.
    """
    for sheet in book.sheets:
        for place, formula in sheet.cells.formulas.items():
            if "|" not in formula.text and not may_call(formula.text, REACHING):
                continue
            found = sorted(set(native_calls(formula.text)) & REACHING)
            if found or "|" in "".join(t.core for t in tokens(formula.text) if t.kind == "other"):
                report.add(
                    "unsafe formula",
                    shown(sheet.name, *place),
                    f"uses {', '.join(found) or 'a link to another program'}, which fetches from"
                    " elsewhere, starts something or reads a place that only a text names",
                )
    rules = [(f"the name {name.name}", name.text) for name in book.names]
    rules += [
        (f"a rule on {sheet.name}", element.text)
        for sheet in book.sheets
        for element in sheet.cells.others
    ]
    for where, text in rules:
        found = sorted(set(native_calls(text)) & REACHING)
        if found:
            report.add("unsafe formula", where, f"uses {', '.join(found)}")
    texts = [f.text for sheet in book.sheets for f in sheet.cells.formulas.values()]
    if not any(
        may_call("".join(text.split()), _HOST_CALLS)
        for text in [*texts, *(text for _, text in rules)]
    ):
        return
    for place in sorted(_feeding(book, calls, ours)):
        text = calls.speller.spelled(book.sheet(place[0]).cells.formulas[place[1:]].text, *place)
        found = sorted(set(native_calls(text)) & HOST_DEPENDENT)
        if found:
            report.add(
                "host-dependent",
                shown(*place),
                f"uses {', '.join(found)}, which answers otherwise in another program or on another"
                " computer, and figures of the add-in read it",
            )


def _feeding(book: StoredBook, calls: Calls, ours: set) -> set:
    """Cells with formulas that figures of the add-in read, through any number of cells; the figures
    too.
    """
    found, todo, seen = set(ours), list(ours), set()
    left_over: dict[str, dict[int, list[int]]] = {}
    for sheet in book.sheets:
        columns = left_over[sheet.name] = {}
        for row, column in sorted(sheet.cells.formulas):
            columns.setdefault(column, []).append(row)
    while todo:
        name, row, column = todo.pop()
        text = book.sheet(name).cells.formulas[row, column].text
        for token in tokens(calls.speller.spelled(text, name, row, column)):
            if token.kind != "reference" or is_external(token.prefix):
                continue
            target = book.find(sheet_of(token.prefix) if token.prefix else name)
            area = corners(token.core)
            if target is None or (target.name, area) in seen:
                continue
            seen.add((target.name, area))
            top, left, bottom, right = area
            for at, rows in left_over[target.name].items():
                if left <= at <= right:
                    first, last = bisect_left(rows, top), bisect_right(rows, bottom)
                    new = {(target.name, r, at) for r in rows[first:last]} - found
                    del rows[first:last]
                    found |= new
                    todo += new
    return found


def said(value: Any) -> str:
    """A value as a finding shows it."""
    if value in (None, ""):
        return "nothing"
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, float):
        return f"{value:.10g}"
    return str(value) if isinstance(value, ErrorCode) else f'"{value:.120}"'


def _values(
    report: Report, book: StoredBook, calls: Calls, fresh: Fresh, ours: set, version: str | None
) -> None:
    """Stored values against fresh ones, sentences, blank inputs, formulas that cannot be
    evaluated.
    """
    for name, row, column, reason in fresh.failed:
        report.add("not evaluated", shown(name, row, column), reason)
    for name, row, column, reason in fresh.stale:
        report.add(
            "not evaluated",
            shown(name, row, column),
            f"its stored figure may be out of date: {reason}; let the spreadsheet program"
            " recalculate it",
        )
    other = (
        ""
        if version in (None, __version__)
        else f"; the book was made with version {version}, this is {__version__}"
    )
    blanks: list[tuple[list[str], list[str]]] = []
    for place in sorted(ours):
        if place not in fresh.values:
            continue
        name, row, column = place
        sheet, value = book.sheet(name), fresh.values[place]
        stored = sheet.value(row, column)
        if (
            isinstance(value, str)
            and value.startswith("Check ")
            and not isinstance(value, ErrorCode)
        ):
            report.add("input", shown(*place), value)
        elif not same(stored, value, TOLERANCE):
            report.add(
                "stale",
                shown(*place),
                f"holds {said(stored)}, a fresh evaluation gives {said(value)}{other}",
            )
        elif value == "" and (blank := _blank_inputs(book, calls, sheet, row, column)):
            same_blanks = next((group for group in blanks if set(group[1]) & set(blank)), None)
            if same_blanks is None:
                blanks.append(([shown(*place)], blank))
            else:
                same_blanks[0].append(shown(*place))
                same_blanks[1].extend(cell for cell in blank if cell not in same_blanks[1])
    for cells, blank in blanks:
        verb = "is" if len(blank) == 1 else "are"
        also = (
            f" (so do {len(cells) - 1} more:"
            f" {', '.join(cells[1:7])}{' ...' if len(cells) > 7 else ''})"
            if len(cells) > 1
            else ""
        )
        report.add(
            "blank input",
            cells[0],
            f"gives nothing{also} while {', '.join(blank[:6])} {verb} empty and its other inputs"
            " are not",
        )


def _blank_inputs(
    book: StoredBook, calls: Calls, sheet: StoredSheet, row: int, column: int
) -> list[str]:
    """Single inputs of the same row that a formula reads and that are empty, where others of them
    are not.

    A cell with a formula is no input, and a text may be a label.
    """
    text = calls.speller.spelled(sheet.cells.formulas[row, column].text, sheet.name, row, column)
    blank, filled = [], 0
    for token in tokens(text):
        if (
            token.kind != "reference"
            or ":" in token.core
            or "$" in token.core
            or is_external(token.prefix)
        ):
            continue
        target = book.find(sheet_of(token.prefix)) if token.prefix else sheet
        place = corners(token.core)[:2]
        if target is None or place[0] != row or place in target.cells.formulas:
            continue
        value = target.value(*place)
        if value in (None, ""):
            blank.append(shown(target.name, *place))
        elif not isinstance(value, str):
            filled += 1
    return list(dict.fromkeys(blank)) if filled else []


def _runs(book: StoredBook, ours: set) -> dict[tuple[str, int], list[tuple[int, str]]]:
    """Catalogue formulas by sheet and column: rows in order, with the formula as it would read in
    the first row.
    """
    found: dict[tuple[str, int], list[tuple[int, str]]] = {}
    for name, row, column in sorted(ours):
        text = book.sheet(name).cells.formulas[row, column].text
        found.setdefault((name, column), []).append((row, moved(text, 1 - row, 0).upper()))
    return found


def _typed_over(report: Report, book: StoredBook, runs: dict) -> None:
    """Values between formulas that are copies of each other, in a column; and in a calculated
    column of a table.
    """
    seen = set()
    for (name, column), run in runs.items():
        sheet = book.sheet(name)
        for (row, text), (below, same_text) in zip(run, run[1:]):
            if text != same_text or below - row > 6:
                continue
            for between in range(row + 1, below):
                cell = sheet.cells.cells.get((between, column))
                if (
                    cell
                    and cell.formula is None
                    and cell.text
                    and (between, column) not in sheet.cells.filled
                ):
                    seen.add((name, between, column))
    for table in book.tables:
        for number, element in enumerate(
            element
            for element in elements(book.package[table.part], table.part)
            if element.name == "tableColumn"
        ):
            column = table.area[1] + number
            sheet = book.sheet(table.sheet)
            if (
                b"<calculatedColumnFormula"
                not in book.package[table.part][element.start : element.end]
            ):
                continue
            rows = [row for row, _ in runs.get((table.sheet, column), [])]
            for row in (
                range(table.area[0] + table.header, table.area[2] - table.totals + 1)
                if rows
                else []
            ):
                cell = sheet.cells.cells.get((row, column))
                if cell and cell.formula is None and cell.text:
                    seen.add((table.sheet, row, column))
    for place in sorted(seen):
        report.add(
            "typed over",
            shown(*place),
            f"holds {said(book.sheet(place[0]).value(*place[1:]))} where the cells around it have a"
            " formula",
        )


def _totals(report: Report, book: StoredBook, fresh: Fresh, ours: set, runs: dict) -> None:
    """Totals that pass over a text in a catalogue cell, or end in the middle of a column of
    catalogue formulas.
    """
    for sheet in book.sheets:
        for (row, column), formula in sheet.cells.formulas.items():
            pieces = list(tokens(formula.text))
            if (sheet.name, row, column) in ours or not any(
                piece.kind == "call" and piece.core.upper() in _TOTALS for piece in pieces
            ):
                continue
            if not isinstance(fresh.values.get((sheet.name, row, column)), float):
                continue
            for piece in pieces:
                target = book.find(sheet_of(piece.prefix) or sheet.name)
                if (
                    piece.kind == "reference"
                    and ":" in piece.core
                    and target
                    and not is_external(piece.prefix)
                ):
                    _total(
                        report,
                        shown(sheet.name, row, column),
                        target.name,
                        corners(piece.core),
                        fresh,
                        runs,
                    )


def _total(report: Report, where: str, name: str, area: tuple, fresh: Fresh, runs: dict) -> None:
    top, left, bottom, right = area
    for column in range(left, min(right, left + 50) + 1):
        run = runs.get((name, column), [])
        rows = [row for row, _ in run]
        first, last = bisect_left(rows, top), bisect_right(rows, bottom)
        texts = [
            shown(name, row, column)
            for row in rows[first:last]
            if isinstance(value := fresh.values.get((name, row, column)), str) and value
        ]
        if texts:
            report.add(
                "total",
                where,
                f"leaves out {', '.join(texts[:6])}{' ...' if len(texts) > 6 else ''}, which "
                f"{'is' if len(texts) == 1 else 'are'} no number",
            )
        if first >= last:
            continue
        skipped = []
        for step, at in ((-1, first), (1, last - 1)):
            while (
                0 <= at + step < len(run)
                and run[at + step][1] == run[at][1]
                and abs(rows[at + step] - rows[at]) == 1
            ):
                at += step
                skipped.append(rows[at])
        if skipped:
            cells = [address(row, column) for row in sorted(skipped)]
            report.add(
                "total",
                where,
                f"ends inside a column of like formulas: it skips {', '.join(cells[:6])}"
                f"{' ...' if len(cells) > 6 else ''} of {name}",
            )


def _unsafe(report: Report, book: StoredBook) -> None:
    """Macros, links and a sheet that would redirect the add-in."""
    title = book.package.title
    if any(name.lower().endswith("vbaproject.bin") for name in book.package.names()):
        report.add(
            "macros", title, "has macros, which can do anything that you can do on this computer"
        )
    if privacy.macro_sheets(book):
        report.add("macros", title, "has macro sheets of the old kind, which can run programs")
    for user in privacy.linked(book):
        report.add("external link", user, "reads another workbook")
    if book.related(book.part, "externalLink") and not privacy.linked(book):
        report.add(
            "external link",
            title,
            "has a link to another workbook or an add-in's file, which nothing but the "
            "add-in's functions uses",
        )
    if book.related(book.part, "connections"):
        report.add("external link", title, "has data connections, which fetch data from elsewhere")
    for name in book.sheet_names:
        if name.lower().endswith(".conf") and not name.startswith("_"):
            report.add(
                "redirect",
                name,
                "is a settings sheet that can make the add-in in Excel run another Python: delete "
                "it before you open the book with the add-in, unless it is yours",
            )
