"""Everything that was typed into a workbook of this or an earlier version, into a fresh workbook of
this version.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from udfs import call
from udfs.hosts.calc.scratch import scratch
from workbook_template.template import description
from workbook_template.template.book import Book
from workbook_template.template.build import build, drafted
from workbook_template.template.sheets import log, readings
from workbook_template.template.sizes import Sizes, Starting
from workbook_template.template.table import Input, Table, Worked
from workbook_template.travel import first_version
from workbook_template.travel.described import sizes_of, tables_of
from workbook_template.travel.entries import Entries, Entry, described
from workbook_template.travel.ooxml.addresses import shown
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.travel.recalc import refreshed
from workbook_template.user_errors import BookError

#: What a season begins anew with when only the log goes along.
OF_THE_SEASON = ("Plan", "Mashes", "Grist", "Read", "Run")
#: What the rows of a table are called, by its name.
WORDS = {
    "Shelf": "acids on the shelf",
    "Source": "waters",
    "Plan": "batches of the plan",
    "Mashes": "mashes",
    "Grist": "malts in grists",
    "Malt": "malts in the table of malts",
    "Log": "rows of the log",
    "Read": "batches with readings",
    "Run": "readings of runnings",
}
#: The size that decides how many rows a table has; the batches decide all others.
_SIZE_OF = {"Shelf": "acids", "Source": "waters"}
_NOT_LOOKED_AT = (
    "formats, comments, pictures and charts of your own, and words typed over those of the sheets"
)


@dataclass
class Carried:
    """What was taken, and what was not: sentences with the cell before each."""

    taken: list[str] = field(default_factory=list)
    left: list[tuple[str, str]] = field(default_factory=list)
    notes: list[tuple[str, str]] = field(default_factory=list)
    not_looked_at: str = _NOT_LOOKED_AT
    sizes: Sizes = field(default_factory=Sizes)


def carry(
    package: Package,
    new: Path,
    *,
    log_only: bool = False,
    asked: dict[str, int] | None = None,
    progress=lambda text: None,
) -> Carried:
    """Write a workbook of this version with the entries of another.

    Parameters
    ----------
    package
        The other workbook; it is not changed.
    new
        Where to write, an .xlsx.
    log_only
        Leave the plan with its mashes and grists out; what rows of the log took from the plan is
        written into them, and the stock begins with what the plan left.
    asked
        Rows for batches, waters and acids, where they are said.
    progress
        Hears what is being done.

    Raises
    ------
    BookError
        Where the book cannot be read, or does not fit.
    """
    with scratch() as folder:
        draft = folder / "draft.xlsx"
        layout = _layout()
        old, sizes = _read(package, layout)
        result = Carried()
        if log_only:
            _begin_anew(package, old, result)
        sizes, layout = _fitting(old, sizes, asked or {}, layout, draft)
        result.sizes = sizes
        if warning := sizes.warning():
            result.notes.append((f"{sizes.batches} batches", warning))
        given = _placed(old, layout, result)
        errors = build(
            new,
            progress,
            sizes=sizes,
            example=False,
            starting=Starting(paper=old.paper),
            given=given,
        )
    _require(new, given)
    result.left = list(dict.fromkeys(result.left + old.left))
    result.notes += old.notes
    result.notes += [
        (
            shown(sheet, row + 1, column + 1),
            "shows an error in the new workbook: look at its inputs",
        )
        for sheet, row, column in errors
    ]
    return result


@lru_cache(maxsize=1)
def _layout() -> Book:
    """Where everything stands in a workbook of the usual size."""
    with scratch() as folder:
        return drafted(folder / "layout.xlsx", example=False)


def _read(package: Package, layout: Book) -> tuple[Entries, Sizes | None]:
    """The entries of a book of whatever version, and the sizes that it says it has."""
    book = StoredBook(package)
    if book.find(description.NAME) is None and first_version.is_first(book):
        found, sizes = first_version.entries(package), None
        own = [sheet.name for sheet in book.sheets if sheet.name not in first_version.SHEETS]
    else:
        inputs = {(table.name, column.key) for _, table in layout.tables for column in table.inputs}
        constants = {
            (table.name, key)
            for _, table in layout.tables
            for key, column in table.columns.items()
            if not isinstance(column, (Input, Worked))
        }
        found, sizes = described(package, inputs, constants), sizes_of(book)
        ours = {sheet.get_name() for sheet in layout.workbook.worksheets()}
        own = [sheet.name for sheet in book.sheets if sheet.name not in ours]
    found.left += [(name, "is a sheet of your own: copy it by hand") for name in own]
    return found, sizes


# a season that begins anew


def _begin_anew(package: Package, old: Entries, result: Carried) -> None:
    """Take the plan out; write what others took from it where they took it."""
    plan = old.tables.get("Plan", {})
    by_batch = {
        str(row["batch"].value).casefold(): row for row in reversed(plan.values()) if "batch" in row
    }
    for row in old.tables.get("Log", {}).values():
        batch = row.get("batch")
        source = by_batch.get(str(batch.value).casefold()) if batch else None
        if source:
            _from_plan(old, row, source)
        if batch:
            _from_readings(old, row, str(batch.value).casefold())
    logged = {
        str(row["batch"].value).casefold()
        for row in old.tables.get("Log", {}).values()
        if "batch" in row
    }
    for row in old.tables.get("Read", {}).values():
        if "batch" in row and str(row["batch"].value).casefold() not in logged:
            words = f"no row of the log has the readings of {row['batch'].value}: they stay behind"
            result.notes.append((row["batch"].where, words))
    _stock(package, old)
    for name in OF_THE_SEASON:
        rows = old.tables.pop(name, {})
        if rows:
            result.notes.append((WORDS[name], f"{len(rows)} left out, as --log-only asks"))


def _from_plan(old: Entries, row: dict[str, Entry], source: dict[str, Entry]) -> None:
    """Write into a row of the log what it took from its batch's row of the plan."""
    for key in ("date", "water", "acid", "target"):
        if key not in row and key in source:
            row[key] = source[key]
    if "target" not in row and "Default_target" in old.cells:
        row["target"] = old.cells["Default_target"]
    if "litres" in row or "volume" not in source:
        return
    volume, read_at = source["volume"], source.get("read_at")
    unit = old.cells["Volume_unit"].value if "Volume_unit" in old.cells else "hL"
    hot = read_at.value if read_at else None
    fahrenheit = "Temperature_unit" in old.cells and old.cells["Temperature_unit"].value == "°F"
    if isinstance(hot, float) and fahrenheit:
        hot = (hot - 32) / 1.8
    litres = call("COLD_LITRES", call("LITRES", volume.value, unit), 20.0 if hot is None else hot)
    each = call("LITRES", 1, unit)
    if isinstance(litres, float) and isinstance(each, float):
        row["litres"] = Entry(float(f"{litres / each:.12g}"), volume.where)
    else:
        old.left.append((volume.where, "gives no volume for the log: type it there"))


def _from_readings(old: Entries, row: dict[str, Entry], batch: str) -> None:
    """Write into a row of the log what it took from its batch's row of the readings."""

    def of_batch(table: str) -> list[dict[str, Entry]]:
        rows = old.tables.get(table, {})
        mine = (rows[number] for number in sorted(rows))
        return [r for r in mine if "batch" in r and str(r["batch"].value).casefold() == batch]

    read = next(iter(of_batch("Read")), None)
    if read is None:
        return
    portions = range(1, readings.PORTIONS + 1)
    given = [read.get(readings.given(portion)) for portion in portions]
    doses = [dose for dose in given if dose is not None]
    found: dict[str, Entry | None] = {
        to: read[key] for to, key in log.FROM_READINGS.items() if key in read
    }
    if doses and all(given[: len(doses)]) and all(isinstance(d.value, float) for d in doses):
        found["dose"] = Entry(math.fsum(dose.value for dose in doses), doses[-1].where)
        found["after"] = read.get(readings.read(len(doses)))
    elif doses:
        words = "a portion before it is empty or one is not a number: the log gets no dose"
        old.left.append((doses[-1].where, words))
    runs = (run["ph"] for run in reversed(of_batch("Run")) if "ph" in run)
    found["last"] = read.get("last_ph") or next(runs, None)
    for key, entry in found.items():
        if entry and isinstance(entry.value, float):
            row.setdefault(key, entry)
        elif entry:
            old.left.append((entry.where, f"{entry.value} is not a number"))


def _stock(package: Package, old: Entries) -> None:
    """The new season's stock is what the old plan left; where that is not known, none."""
    try:
        copy = Package(package.data, package.title)
        refreshed(copy)
        book = StoredBook(copy)
        place = first_version.LEFT if book.find(description.NAME) is None else None
        if place is None:
            left = tables_of(book)["Shelf"]["left"]
            place = (left.sheet, left.first, left.column)
        sheet, first, column = place
        shelf = book.sheet(sheet)
    except (BookError, KeyError):
        shelf = None
    for number, row in old.tables.get("Shelf", {}).items():
        if "stock" not in row:
            continue
        opening = row.pop("stock")
        closing = shelf.value(first + number, column) if shelf else None
        if isinstance(closing, float) and closing >= 0:
            row["stock"] = Entry(float(f"{closing:.6g}"), opening.where)
            old.notes.append(
                (opening.where, f"stock {opening.value:g}, of which the plan leaves {closing:.6g}")
            )
        else:
            why = "the plan needs more than there is" if isinstance(closing, float) else "not known"
            old.left.append(
                (
                    opening.where,
                    (
                        f"stock {opening.value!r}: what the plan leaves of it is no stock to begin"
                        f" with, {why}; count what stands on the shelf and type it"
                    ),
                )
            )


# the new book


def _fitting(
    old: Entries, sizes: Sizes | None, asked: dict[str, int], layout: Book, draft: Path
) -> tuple[Sizes, Book]:
    """Sizes that hold all rows, at least those asked for or those that the old book had; and the
    layout with them.
    """
    usual = sizes or Sizes()
    wanted = {
        name: asked.get(name, getattr(usual, name)) for name in ("batches", "waters", "acids")
    }
    try:
        while True:
            sizes = Sizes(**wanted)
            if sizes != layout.sizes:
                layout = drafted(draft, sizes=sizes, example=False)
            short = {
                table.name: (len(old.tables[table.name]), table.last - table.head)
                for _, table in layout.tables
                if len(old.tables.get(table.name, ())) > table.last - table.head
            }
            if not short:
                return sizes, layout
            for table, (needed, rows) in short.items():
                size = _SIZE_OF.get(table, "batches")
                if size in asked:
                    raise BookError(
                        f"the book has {needed} {WORDS.get(table, f'rows of {table}')}, and with"
                        f" --{size} {asked[size]} there is room for {rows}: give more"
                    )
                wanted[size] = max(
                    wanted[size] + 1, math.ceil(getattr(sizes, size) * needed / rows)
                )
    except ValueError as error:
        raise BookError(str(error)) from None


def _placed(old: Entries, layout: Book, result: Carried) -> dict[tuple[str, int, int], Any]:
    """The cell of the new book for each entry; what has none is named."""
    given: dict[tuple[str, int, int], Any] = {}
    tables = {table.name: (where, table) for where, table in layout.tables}
    for name, (where, table) in tables.items():
        if name in old.tables:  # what a new book begins with gives way
            given.update(
                {
                    (where, row, table.at[column.key]): None
                    for column in table.inputs
                    for row in range(table.first, table.last + 1)
                }
            )
    for name, rows in old.tables.items():
        if name not in tables:
            for row in rows.values():
                result.left += [(e.where, _placeless(e)) for e in row.values()]
            continue
        where, table = tables[name]
        room = table.last - table.head
        numbers = (
            {number: number for number in rows}
            if max(rows, default=0) < room
            else {number: place for place, number in enumerate(sorted(rows))}
        )
        count = sum(_row(given, where, table, numbers[n], rows[n], old, result) for n in rows)
        if count:
            result.taken.append(f"{count} {WORDS.get(name, f'rows of {name}')}")
    cells, count = description.cells_of(layout), 0
    given.update({cells[key]: None for key in sorted(old.empty & cells.keys())})
    for key, entry in old.cells.items():
        if key in cells:
            given[cells[key]] = entry.value
            count += 1
        else:
            result.left.append((entry.where, _placeless(entry)))
    if count:
        result.taken.insert(0, f"{count} settings and single cells")
    return given


def _row(given, where: str, table: Table, number: int, row, old: Entries, result: Carried) -> bool:
    """Place one row; whether anything of it has a place."""
    found = False
    for key, entry in row.items():
        column = table.columns.get(key)
        if not isinstance(column, Input):
            result.left.append((entry.where, _placeless(entry)))
            continue
        value = entry.value
        if column.number == "date" and isinstance(value, float):
            value += old.shift
        given[where, table.first + number, table.at[key]] = value
        found = True
    return found


def _placeless(entry: Entry) -> str:
    return f"holds {entry.value!r:.60}, which has no place"


def _require(path: Path, given: dict[tuple[str, int, int], Any]) -> None:
    """Refuse a book in which an entry does not stand where it was put."""
    book = StoredBook(Package.read(path))
    for (sheet, row, column), value in given.items():
        found = book.find(sheet)
        stored = found and found.value(row + 1, column + 1)
        same = (
            stored == value
            or (value is None and stored == "")
            or (
                isinstance(value, float)
                and isinstance(stored, float)
                and math.isclose(stored, value, rel_tol=1e-14)
            )
        )
        if not same:
            raise BookError(
                f"{shown(sheet, row + 1, column + 1)} would hold {stored!r:.60} instead of"
                f" {value!r:.60}: nothing was written; please report this"
            )
