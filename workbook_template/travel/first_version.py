"""The entries of a workbook of version 0.1.0, which does not describe itself: where each stood, and
what it is now.

What a day sheet held of one batch goes to that batch's row of the sheet that holds readings now.
"""

from __future__ import annotations

from workbook_template.template.description import nearest
from workbook_template.travel.entries import Entries, Entry, Reader
from workbook_template.travel.ooxml.addresses import address, position, shown
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.user_errors import BookError

#: Words by which its sheets are known, and by which it shows that no row or column was put in.
_TITLES = {
    "Settings": {"A16": "Label (your own)", "A28": "Sparge liquor: highest usual target pH"},
    "Water": {"A4": "Source", "J4": "pH"},
    "Bench titration": {"A6": "Water", "A14": "Batch of the plan"},
    "Batch plan": {"B8": "Batch", "G8": "Acid"},
    "Mash": {"A6": "Batch of the plan", "A11": "Malt", "J22": "Readings of batch", "A50": "Batch"},
    "Sparge day": {"A21": " Portion 1", "A27": "Dosed by"},
    "Last runnings": {"A10": "Readings of batch", "B11": "pH, cooled"},
    "Log": {"B37": "Batch", "L37": "Final beer pH"},
}
#: Tables: sheet, first and last row, and the columns' keys from the left ("" for none).
_TABLES = {
    "Shelf": ("Settings", 17, 24, "A", "label acid strength pack price stock"),
    "Source": (
        "Water",
        5,
        10,
        "A",
        "source date calcium magnesium sodium chloride sulfate alkalinity bicarbonate ph read_at",
    ),
    "Plan": ("Batch plan", 9, 48, "A", "date batch water volume read_at target acid"),
    "Log": (
        "Log",
        38,
        97,
        "A",
        "date batch water acid litres target before dose after last kettle beer",
    ),
}
#: Single cells: the key of today for each.
_CELLS = {
    "Settings": dict(
        B5="Volume_unit",
        B6="Temperature_unit",
        B7="Tank_temp",
        B9="Default_target",
        B10="Currency",
        B11="First_portion",
        B12="Mixing_minutes",
        B28="Usual_target",
        B29="Mash_pH_low",
        B30="Mash_pH_high",
        B31="Balance_remark",
        B32="Balance_wrong",
        B33="Alkalinity_low",
        B34="Calcium_low",
        B35="Scale_remark",
        B36="Chloride_taste",
        B37="Sulfate_taste",
        B38="Lactate_taste",
        B39="Kettle_pH_low",
        B40="Kettle_pH_high",
        B41="Beer_pH_usual",
        B42="Error_alkalinity",
        B43="Error_ph",
        B44="Error_strength",
        B45="Error_volume",
    ),
    "Purchasing": dict(B3="Waste", B4="Batches_a_year"),
    "Sparge day": dict(B3="Day_batch"),
    "Last runnings": dict(B5="Runoff_preset", B6="Runoff_own_pH", B7="Runoff_own_plato"),
}
#: Readings of one batch: the cell of its name, and the key of today for each cell.
_READINGS = (
    (
        "Sparge day",
        "E18",
        dict(
            B18="before",
            B21="given_1",
            D21="ph_1",
            B22="given_2",
            D22="ph_2",
            B23="given_3",
            D23="ph_3",
            B24="given_4",
            D24="ph_4",
        ),
    ),
    (
        "Last runnings",
        "B10",
        dict(
            H9="kettle_volume",
            H10="kettle_plato",
            H11="fill_to",
            H12="wanted_plato",
            H13="evaporation",
            H14="boil",
        ),
    ),
    ("Mash", "K22", dict(K23="mash_ml", K24="mash_ph")),
)

#: All its sheets, and where it says what the plan leaves of the first acid: sheet, row, column.
SHEETS = frozenset(_TITLES) | {
    "Start",
    "Blend and salts",
    "Acid choice",
    "Liquor plan",
    "Purchasing",
    "Curves",
    "Reference",
}
LEFT = ("Settings", 17, 10)


def is_first(book: StoredBook) -> bool:
    """Whether a book has the sheets of that version."""
    return all(book.find(name) for name in _TITLES)


def entries(package: Package) -> Entries:
    """All that was typed into a book of version 0.1.0; BookError where its cells are not where that
    version put them.
    """
    reader = Reader(package)
    for sheet, titles in _TITLES.items():
        found = reader.book.find(sheet)
        for cell, words in titles.items():
            if found is None or found.value(*position(cell, sheet)) != words:
                raise BookError(
                    f"{package.title} is not as version 0.1.0 wrote it:"
                    f" {shown(sheet, *position(cell, sheet))} does not say {words.strip()!r}. Were"
                    " rows or columns put in? Take them out, or copy the yellow cells by hand"
                )
    for table, (sheet, first, last, left, keys) in _TABLES.items():
        _rows(reader, table, sheet, range(first, last + 1), left, keys.split())
    for sheet, cells in _CELLS.items():
        for cell, key in cells.items():
            reader.entries.put_cell(key, _cell(reader, sheet, cell))
    _gas(reader)
    _readings(reader)
    _mash(reader)
    _by_words(reader)
    reader.leftovers()
    return reader.entries


def _cell(reader: Reader, sheet: str, cell: str) -> Entry | None:
    return reader.entry(sheet, *position(cell, sheet))


def _rows(
    reader: Reader, table: str, sheet: str, rows: range, left: str, keys: list[str], start: int = 0
) -> None:
    column = position(f"{left}1", sheet)[1]
    for number, row in enumerate(rows, start):
        for offset, key in enumerate(keys):
            reader.entries.put(table, number, key, reader.entry(sheet, row, column + offset))


def _gas(reader: Reader) -> None:
    """One share of carbon dioxide lost was typed; now it is a least and a largest of one's own."""
    entry = _cell(reader, "Settings", "B8")
    if entry is not None:
        cells = reader.entries.cells
        cells["Own_lost_from"] = cells["Own_lost_to"] = cells["Reckoned_lost"] = entry
        cells["Tank_kept"] = Entry("own figures", entry.where)


def _readings(reader: Reader) -> None:
    """The readings of one batch that each day sheet had room for, a row a batch."""
    numbers: dict[str, int] = {}
    for sheet, cell, keys in _READINGS:
        batch = _cell(reader, sheet, cell)
        cells = ((key, _cell(reader, sheet, at)) for at, key in keys.items())
        typed = {key: entry for key, entry in cells if entry is not None}
        if not typed:
            continue
        name = str(batch.value).casefold() if batch else f"? {sheet}"
        number = numbers.setdefault(name, len(numbers))
        reader.entries.put("Read", number, "batch", batch)
        for key, entry in typed.items():
            reader.entries.put("Read", number, key, entry)
    batch = _cell(reader, "Last runnings", "B10")
    for number, row in enumerate(range(12, 28)):
        run = [reader.entry("Last runnings", row, column) for column in (1, 2, 3)]
        if any(run):
            for key, value in zip(("batch", "volume", "ph", "plato"), (batch, *run)):
                reader.entries.put("Run", number, key, value)


def _mash(reader: Reader) -> None:
    """The one mash that there was room for goes to its batch, and the mash acid of each row of the
    plan to that row's.
    """
    plan = reader.entries.tables.get("Plan", {})
    numbers: dict[str, int] = {}

    def number(batch: Entry | None) -> int:
        return numbers.setdefault(str(batch and batch.value).casefold(), len(numbers))

    batch = _cell(reader, "Mash", "B6")
    cells = dict(B7="water", B8="liquor", B9="read_at", K12="target", K13="acid")
    reader.entries.put_cell("Acid_malt_lactic", _cell(reader, "Mash", "K19"))
    typed = {key: _cell(reader, "Mash", cell) for cell, key in cells.items()}
    if any(typed.values()):
        at = number(batch)
        for key, entry in {"batch": batch, **typed}.items():
            reader.entries.put("Mashes", at, key, entry)
    for row in range(12, 22):
        keys = ("malt", "own_ph", "own_buffering", "weight")
        malt = [reader.entry("Mash", row, column) for column in (1, 2, 3, 4)]
        if any(malt):
            for key, entry in zip(("batch", *keys), (batch, *malt)):
                reader.entries.put("Grist", row - 12, key, entry)
    for left, columns in (("A", ["malt", "ph", "buffering", "source"]), ("K", ["note"])):
        _rows(reader, "Malt", "Mash", range(33, 47), left, columns)
    for offset, row in enumerate(range(51, 91)):
        acid, amount = reader.entry("Mash", row, 2), reader.entry("Mash", row, 4)
        if acid is None and amount is None:
            continue
        name = plan.get(offset, {}).get("batch")
        at = number(name) if name else len(numbers) + 1000 + offset
        for key, entry in (("batch", name), ("acid", acid), ("ml", amount)):
            reader.entries.put("Mashes", at, key, entry)


def _by_words(reader: Reader) -> None:
    """Single cells that stand as they did: each by the name or the words that it has today too."""
    book, words = reader.book, {}
    names = {name.text.replace("$", ""): name.name for name in book.names if name.sheet is None}
    unlocked = reader.not_seen()
    for sheet in book.sheets:
        typed = {(row, column) for where, row, column in unlocked if where == sheet.name}
        for (row, column), cell in sheet.cells.cells.items():
            value = f"={cell.formula.text}" if cell.formula else sheet.value(row, column)
            label = isinstance(value, str) and (not cell.formula or value.startswith('="'))
            if label and (row, column) not in typed:
                words[sheet.name, row, column] = value
    count: dict[str, int] = {}
    for where, row, column in unlocked:
        key = names.get(f"'{where}'!{address(row, column)}")
        if key is None:
            key = f"{where}: {nearest(words, where, row, column, 1)}"
            count[key] = count.get(key, 0) + 1
            key = key if count[key] == 1 else f"{key} ({count[key]})"
        entry = reader.entry(where, row, column)
        if entry is not None:
            reader.entries.cells[key] = entry
