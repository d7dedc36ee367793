"""The evaluation of a workbook: which formulas the embedded engine knows, their fresh values, and
what is left.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator
from functools import cached_property

from workbook_template.travel import trust
from workbook_template.travel.dependencies import Area, AreaSet, CellSet, Place, Readers, areas
from workbook_template.travel.engine_book import EngineBook
from workbook_template.travel.ooxml.addresses import address, quoted, shown
from workbook_template.travel.ooxml.tokens import tokens

#: Errors of the engine that mean "this cannot be computed here", not an answer.
UNABLE = {
    "Error": "the embedded engine cannot read the formula",
    "NImpl": "the embedded engine does not know a function in it",
    "Name": "it uses a name or function that the embedded engine does not know",
    "Circ": "it is part of, or waits for, a circular reference",
    "Spill": "its answer does not fit the cells below or beside it",
    "Nothing": "the embedded engine gives no answer",
}
#: Errors that are an answer as a rule, yet also what the engine gives where it lacks a feature.
DOUBTFUL = ("Na", "Value", "Ref")
#: How far the engine's answer may be off a stored figure and still show that it knows the formula:
#: stored figures have 12 to 17 digits, of which a difference of two like figures leaves few.
EVIDENCE = 1e-6
#: Evaluations of one book, at most, until array formulas and formulas without an answer come to
#: rest.
ROUNDS = 30


class Evaluation:
    """The formulas of one book: which the engine knows, their fresh values, and what rests on those
    that it does not.

    A native formula whose answer differs from its stored value although all that it reads is as
    stored is one that the engine does not know. It keeps its stored value, which stands in the
    evaluation as a constant; where it reads something that changed it is stale, and whatever reads
    a stale cell has no fresh value either.
    """

    def __init__(self, job: dict, say: Callable[[dict], None] = lambda message: None):
        self.job = job
        self.names = [sheet["name"] for sheet in job["sheets"]]
        self.settled = job["settled"]
        self.formulas: dict[Place, dict] = {}
        for number, sheet in enumerate(job["sheets"]):
            for formula in sheet["formulas"]:
                self.formulas[number, formula["row"], formula["column"]] = formula
        self.before = {tuple(entry[:3]): entry[3] for entry in job["before"]}
        #: Formulas that keep their stored value, and those of ours that have none, with the reason.
        self.kept: dict[Place, str] = {}
        self.failed: dict[Place, str] = {}
        #: Formulas whose answer was compared with the stored value.
        self.asked: set[Place] = set()
        #: What native formulas give from the stored values that they read.
        self.first: dict[Place, object] = {}
        self.count = progress(job["ours"], say)
        #: The evaluated book, where its array formulas stand and what they give.
        self.book: EngineBook
        self.array_places: dict[Place, tuple[str, int, int]] = {}
        self.grids: dict[Place, list[list]] = {}

    def answer(self) -> dict:
        """Fresh values of all formulas that have one; the others with the reason."""
        self.judge()
        for _ in range(ROUNDS):
            self.evaluate()
            if not self.faults():
                break
        else:
            raise ValueError("too many of its formulas wait for others that it cannot evaluate")
        return self.result()

    # which formulas the engine knows

    def judge(self) -> None:
        """Keep what the engine cannot know, and what it is found not to know."""
        ask, natives = [], []
        for place, formula in self.formulas.items():
            reason = formula["kept"] or trust.beyond(
                formula["text"], bool(formula["area"]), self.job["hidden"]
            )
            if not reason and not formula["ours"] and self.settled:
                if not trust.CLOCK.isdisjoint(trust.functions(formula["text"])):
                    reason = "it follows the clock or chance"
                reason = reason or trust.unsure(formula["text"])
            if reason:
                self.drop(place, reason)
            elif formula["ours"] or not self.settled:
                if not trust.known(formula["text"]):
                    ask.append(place)
            else:
                natives.append(place)
        self.ask(ask + self.unlike(natives))

    def drop(self, place: Place, reason: str) -> None:
        """No fresh value for a formula."""
        (self.failed if self.formulas[place]["ours"] else self.kept)[place] = reason

    def unlike(self, places: list[Place]) -> list[Place]:
        """Those of some native formulas that may differ from their stored values, all evaluated at
        once.
        """
        if not places:
            return []
        plain = {place for place in places if not self.formulas[place]["area"]}
        book = EngineBook(self.job)
        book.fill(self.as_stored(places, plain))
        for place in plain:
            book.set(self.names[place[0]], *place[1:], self.formulas[place]["text"])
        book.evaluate()
        for place in plain:
            self.first[place] = book.get(self.names[place[0]], *place[1:])
        return [
            place
            for place in places
            if place not in plain
            or book.refused.get((self.names[place[0]], *place[1:]))
            or (not shows(self.stored(place), self.first[place]) and not self.blind(place))
            or book.extent(self.names[place[0]], *place[1:])
        ]

    def blind(self, place: Place) -> bool:
        """Whether a formula's stored value says nothing, and it has only functions that are relied
        on without one.

        That is where it reads an error stored for a formula of ours, as a program without the
        add-in leaves it, and holds the figure from before.
        """
        return (
            isinstance(self.first[place], dict)
            and trust.known(self.formulas[place]["text"])
            and any(map(self.lost.meets, self.reads(place) or ()))
        )

    @cached_property
    def lost(self) -> CellSet:
        """Cells of ours that are stored as errors."""
        found = CellSet()
        for place, formula in self.formulas.items():
            if formula["ours"] and isinstance(self.stored(place), dict):
                found.add(place)
        return found

    def ask(self, places: list[Place]) -> None:
        """Evaluate formulas with all that they read as stored; drop those that do not give their
        stored value.

        Each is put on a sheet of its own kind, at its own place, so that none reads another's
        answer.
        """
        places = [place for place in places if place not in self.asked]
        self.asked.update(places)
        if not places:
            return
        book = EngineBook(self.job)
        book.fill(self.as_stored(places, set()))
        at = {}
        for place in places:
            formula = self.formulas[place]
            text = prefixed(formula["text"], self.names[place[0]])
            if formula["area"]:
                at[place] = book.scratch(place[1], formula["area"], text)
            else:
                at[place] = book.shadow(place[0]), *place[1:]
                book.set(*at[place], text)
        book.evaluate()
        for place in places:
            if not self.as_before(book, place, at[place]):
                self.drop(
                    place,
                    book.refused.get(at[place])
                    or UNABLE.get(book.kind(*at[place]) or "")
                    or (
                        "the embedded engine does not give its stored value from the stored values"
                        " that it reads"
                        if self.settled
                        else (
                            "it has no stored value that shows whether the embedded engine knows it"
                        )
                    ),
                )

    def as_before(self, book: EngineBook, place: Place, at: tuple[str, int, int]) -> bool:
        """Whether a formula that was evaluated at ``at`` gives its stored value."""
        formula = self.formulas[place]
        if at in book.refused:
            return False
        if not formula["area"]:
            value = self.first[place] = book.get(*at)
            return not book.extent(*at) and self.is_evidence(self.stored(place), value)
        grid = shaped(formula, book.grid(*at))
        stored = self.job["sheets"][place[0]]["areas"]
        return all(
            self.is_evidence(stored.get(f"{row},{column}"), value)
            for row, column, value in cells_of(place, grid)
        )

    def is_evidence(self, stored, value) -> bool:
        """Whether a stored value agrees; a zero or nothing says little in a book that may never
        have been evaluated.
        """
        return shows(stored, value) and (self.settled or stored not in (None, "", 0.0))

    def stored(self, place: Place):
        """Value of a formula's cell as stored."""
        return self.before.get(place, self.formulas[place]["stored"])

    def as_stored(self, readers: list[Place], without: set[Place]) -> list[list[list]]:
        """What some formulas read as it was when the book's figures were stored, in runs for each
        sheet; the cells in ``without`` are empty.
        """
        read = self.read_by(readers)
        found = []
        for number, sheet in enumerate(self.job["sheets"]):
            cells: dict[tuple[int, int], object] = {}
            for column, first, values in sheet["values"]:
                last = first + len(values) - 1
                for top, bottom in (
                    read.within(number, column, first, last) if read else ((first, last),)
                ):
                    places = ((row, column) for row in range(top, bottom + 1))
                    cells.update(zip(places, values[top - first : bottom - first + 1]))
            for cell, value in sheet["areas"].items():
                row, column = map(int, cell.split(","))
                cells[row, column] = value
            for formula in sheet["formulas"]:
                cells[formula["row"], formula["column"]] = formula["stored"]
            cells |= {
                place[1:]: value for place, value in self.before.items() if place[0] == number
            }
            for place in without:
                if place[0] == number:
                    cells.pop(place[1:], None)
            found.append(runs(cells))
        return found

    def read_by(self, readers: list[Place]) -> AreaSet | None:
        """The cells that some formulas read; None where the text of one does not say which."""
        found: set[Area] = set()
        for place in readers:
            read = self.reads(place)
            if read is None:
                return None
            found.update(read)
        return AreaSet(found)

    # the evaluation proper

    def evaluate(self) -> None:
        """Evaluate the book with its inputs as they are now, until the answers of its array
        formulas stay the same.

        Array formulas stand on sheets of their own, where no neighbour can be in their way and
        where they do not fill more than their area; their cells in the book hold the answers of the
        round before.
        """
        arrays = [
            place
            for place, formula in self.formulas.items()
            if formula["area"] and place not in self.kept and place not in self.failed
        ]
        found: dict[Place, list[list]] | None = None
        for _ in range(ROUNDS):
            book, at = self.build(arrays, found)
            book.evaluate()
            grids = {place: shaped(self.formulas[place], book.grid(*at[place])) for place in arrays}
            self.book, self.array_places, self.grids = book, at, grids
            if not arrays or grids == found:
                return
            found = grids
        for place in arrays:
            self.drop(place, "its answer does not come to rest")
        self.evaluate()

    def build(self, arrays: list[Place], found: dict | None) -> tuple[EngineBook, dict]:
        """The engine's book with everything in it, and where each array formula stands."""
        book = EngineBook(self.job, self.count)
        constants = []
        for number, sheet in enumerate(self.job["sheets"]):
            cells: dict[tuple[int, int], object] = {}
            for formula in sheet["formulas"]:
                place = number, formula["row"], formula["column"]
                if place in self.kept or place in self.failed:
                    cells[place[1:]] = formula["stored"]
                    for row, column in area_cells(formula):
                        value = sheet["areas"].get(f"{row},{column}")
                        if (row, column) != place[1:]:
                            cells[row, column] = value
            constants.append(cells)
        for place, grid in found.items() if found else ():
            constants[place[0]] |= {
                (row, column): value for row, column, value in cells_of(place, grid)
            }
        book.fill(
            [sheet["values"] + runs(cells) for sheet, cells in zip(self.job["sheets"], constants)]
        )
        at = {}
        for place, formula in self.formulas.items():
            if place in self.kept or place in self.failed:
                continue
            name = self.names[place[0]]
            if not formula["area"]:
                book.set(name, *place[1:], formula["text"])
                continue
            at[place] = book.scratch(place[1], formula["area"], prefixed(formula["text"], name))
            if found is None:
                down, across = at[place][1] - place[1], at[place][2] - place[2]
                for row, column in area_cells(formula):
                    there = address(row + down, column + across)
                    book.set(name, row, column, f"'{at[place][0]}'!{there}")
        return book, at

    def faults(self) -> bool:
        """Drop formulas that came out as what is no answer; whether there are any more of them."""
        faulty, ask = {}, []
        for place, formula in self.formulas.items():
            if place in self.kept or place in self.failed:
                continue
            at = self.array_places.get(place, (self.names[place[0]], *place[1:]))
            kind = self.book.kind(*at)
            reason = self.book.refused.get(at) or UNABLE.get(kind or "")
            if not reason and not formula["area"] and self.book.extent(*at):
                reason = (
                    "it meets a whole range where one cell is meant, which the embedded engine does"
                    " not do"
                )
            if not reason and formula["dynamic"] and self.blocked(place):
                reason = UNABLE["Spill"]
            if reason:
                faulty[place] = reason
            elif (
                kind in DOUBTFUL
                and self.settled
                and place not in self.asked
                and self.stored(place) is not None
                and not isinstance(self.stored(place), dict)
            ):
                ask.append(place)
        first = self.first_of(faulty)
        for place in first:
            self.drop(place, faulty[place])
        before = len(self.kept) + len(self.failed)
        if not first:
            self.ask(ask)
        return bool(first) or len(self.kept) + len(self.failed) > before

    def first_of(self, faulty: dict[Place, str]) -> list[Place]:
        """Those that read no other faulty formula; all where they wait for each other in a
        circle.
        """
        if len(faulty) < 2:
            return list(faulty)
        cells = CellSet()
        for place in faulty:
            for cell in [place[1:], *area_cells(self.formulas[place])]:
                cells.add((place[0], *cell))
        first = [
            place
            for place in faulty
            if not any(
                cells.meets(area)
                for area in self.reads(place) or ()
                if area != (*place, *place[1:])
            )
        ]
        return first or list(faulty)

    def blocked(self, place: Place) -> bool:
        """Whether the answer of a dynamic array formula meets a cell that holds something else."""
        own = set(area_cells(self.formulas[place]))
        return any(
            (row, column) not in own and (place[0], row, column) in self.occupied
            for row, column, _ in cells_of(place, self.grids[place])
        )

    @cached_property
    def occupied(self) -> set[Place]:
        """Cells that hold a value or a formula."""
        return set(self.formulas) | {
            (number, row, column)
            for number, sheet in enumerate(self.job["sheets"])
            for row, column, _ in sheet_values(sheet)
        }

    # what changed, and what rests on what is not known

    def reads(self, place: Place) -> list | None:
        """Areas that a formula reads; None where its text does not say."""
        formula = self.formulas[place]
        if formula["reach"]:  # a what-if table works its sheet out again for each of its cells
            return None
        return areas(formula["text"], place[0], self.numbers)

    @cached_property
    def numbers(self) -> dict[str, int]:
        """Numbers of the sheets by name."""
        return {name.lower(): number for number, name in enumerate(self.names)}

    def result(self) -> dict:
        """The answer to the parent."""
        values, grown, changed = [], [], CellSet()
        for place, value in self.before.items():
            if place not in self.formulas and not agrees(value, self.inputs.get(place)):
                changed.add(place)
        for place, formula in self.formulas.items():
            if place in self.kept or place in self.failed:
                continue
            if not formula["area"]:
                value = self.book.get(self.names[place[0]], *place[1:])
                values.append([place, place, value])
            else:
                stored = self.job["sheets"][place[0]]["areas"]
                grid = self.grids[place]
                filled = {(row, column): value for row, column, value in cells_of(place, grid)}
                if formula["dynamic"]:
                    grown.append([*place, place[1] + len(grid) - 1, place[2] + len(grid[0]) - 1])
                    for cell in area_cells(formula):
                        filled.setdefault(cell, None)
                for (row, column), value in filled.items():
                    was = stored.get(f"{row},{column}")
                    if not agrees(was, value):
                        changed.add((place[0], row, column))
                    elif self.settled and not formula["ours"] and was is not None:
                        value = was
                    values.append([place, (place[0], row, column), value])
        fresh = {}
        for owner, cell, value in values:
            formula = self.formulas[owner]
            if not formula["area"]:
                if self.settled and not formula["ours"] and agrees(self.first.get(cell), value):
                    value = self.stored(cell)  # nothing that it reads changed
                if not agrees(self.stored(cell), value):
                    changed.add(cell)
            fresh[cell] = owner, value
        stale = self.stale(changed)
        return {
            "values": [
                [*cell, value]
                for cell, (owner, value) in fresh.items()
                if owner not in stale and owner not in self.failed
            ],
            "grown": [entry for entry in grown if tuple(entry[:3]) not in stale],
            "failed": [[*place, reason] for place, reason in self.failed.items()],
            "stale": [[*place, reason] for place, reason in stale.items()],
            "kept": len(self.kept) + sum(place not in self.kept for place in stale),
            "asked": self.book.recorder.said() if self.job["record"] else [],
        }

    @cached_property
    def inputs(self) -> dict[Place, object]:
        """Cells without a formula."""
        return {
            (number, row, column): value
            for number, sheet in enumerate(self.job["sheets"])
            for row, column, value in sheet_values(sheet)
        }

    def stale(self, changed: CellSet) -> dict[Place, str]:
        """Native formulas without a fresh value whose stored one may be out of date; ours of that
        kind become failed.
        """
        found: dict[Place, str] = {}
        waiting: list[Place] = list(self.failed)
        for place, reason in self.kept.items():
            read = self.reads(place)
            if (
                not self.settled
                or self.stored(place) is None
                or (changed.places if read is None else any(map(changed.meets, read)))
                or (trust.known(self.formulas[place]["text"]) and place in self.asked)
            ):
                found[place] = reason
                waiting.append(place)
        if not waiting:
            return found
        readers = Readers({place: self.reads(place) for place in self.formulas})
        seen = set(waiting)
        while waiting:
            place = waiting.pop()
            formula = self.formulas[place]
            cells = {place[1:], *area_cells(formula)}
            if place in self.grids:
                cells |= {(row, column) for row, column, _ in cells_of(place, self.grids[place])}
            for cell in cells:
                for reader in readers.of((place[0], *cell)):
                    if reader in seen:
                        continue
                    seen.add(reader)
                    waiting.append(reader)
                    reason = (
                        f"it waits for {shown(self.names[place[0]], *place[1:])}, which has no"
                        " fresh value"
                    )
                    if self.formulas[reader]["ours"]:
                        self.failed.setdefault(reader, reason)
                    else:
                        found[reader] = self.kept.get(reader, reason)
        return found


def sheet_values(sheet: dict) -> Iterator[tuple[int, int, object]]:
    """Row, column and value of a sheet's cells without a formula."""
    for column, first, values in sheet["values"]:
        for row, value in enumerate(values, first):
            yield row, column, value


def runs(cells: dict[tuple[int, int], object]) -> list[list]:
    """Cells with a value, in runs of those below each other: [column, first row, values]."""
    found: list[list] = []
    for column, row in sorted((column, row) for row, column in cells):
        value = cells[row, column]
        if value is None:
            continue
        if found and found[-1][0] == column and found[-1][1] + len(found[-1][2]) == row:
            found[-1][2].append(value)
        else:
            found.append([column, row, [value]])
    return found


def agrees(stored, value, tolerance: float = 1e-9) -> bool:
    """Whether a value is the stored one, numbers within a relative tolerance, as programs differ in
    the last digits.
    """
    if stored is None:
        return value is None or value == ""
    if isinstance(stored, bool) or isinstance(value, bool):
        return stored is value
    if isinstance(stored, (int, float)) and isinstance(value, (int, float)):
        return math.isclose(stored, value, rel_tol=tolerance, abs_tol=1e-12)
    return type(stored) is type(value) and stored == value


def shows(stored, value) -> bool:
    """Whether a stored value is what the engine gives, as far as programs keep it.

    Calc has no type for TRUE and FALSE: where ``IF`` or a text stands around them it stores 1 and
    0.
    """
    if isinstance(value, bool) and isinstance(stored, (int, float)):
        return stored == value
    return agrees(trimmed(stored), trimmed(value), EVIDENCE)


def trimmed(value):
    """A text without the white space at its ends, which LibreOffice drops from the value that it
    stores.
    """
    return value.strip() if isinstance(value, str) else value


def area_cells(formula: dict) -> list[tuple[int, int]]:
    """Cells that an array formula or a what-if table fills in the file."""
    area = formula["area"] or formula["reach"]
    if not area:
        return []
    top, left, bottom, right = area
    return [(row, column) for row in range(top, bottom + 1) for column in range(left, right + 1)]


def shaped(formula: dict, grid: list[list]) -> list[list]:
    """An array formula's answer as its area shows it: cut off, a single row or column repeated,
    else filled with #N/A.
    """
    if formula["dynamic"]:
        return grid
    top, left, bottom, right = formula["area"]
    rows, columns = len(grid), len(grid[0])

    def cell(down: int, across: int):
        down, across = (0 if rows == 1 else down), (0 if columns == 1 else across)
        return grid[down][across] if down < rows and across < columns else {"error": "#N/A"}

    return [
        [cell(down, across) for across in range(right - left + 1)]
        for down in range(bottom - top + 1)
    ]


def cells_of(place: Place, grid: list[list]):
    """Row, column and value of each cell of an answer that begins at a place."""
    for down, line in enumerate(grid):
        for across, value in enumerate(line):
            yield place[1] + down, place[2] + across, value


def prefixed(text: str, sheet: str) -> str:
    """A formula that reads the same cells from any sheet."""
    name = quoted(sheet)
    return "".join(
        f"{name}!{token.text}" if token.kind == "reference" and not token.prefix else token.text
        for token in tokens(text)
    )


def progress(total: int, say: Callable[[dict], None]) -> Callable[[str], None]:
    """A function for each call of the catalogue: tells the parent how far it is, twice a second."""
    done, said = 0, time.monotonic()

    def count(_name):
        nonlocal done, said
        done += 1
        if done % 50 == 0 and time.monotonic() - said > 0.5:
            said = time.monotonic()
            say({"done": min(done, total), "of": total})

    return count
