"""Readings: what is read on the day and later, typed once, a row a batch; the runnings in rows of
their own.
"""

from __future__ import annotations

from xlsxwriter.utility import xl_col_to_name, xl_rowcol_to_cell

from workbook_template.template import scenario
from workbook_template.template.book import Book, Sheet
from workbook_template.template.formula import (
    Formula,
    all_of,
    any_of,
    call,
    first,
    is_number,
    joined,
    name,
    ref,
    shown,
    when,
    xl,
)
from workbook_template.template.layout import filled, row_of, rows_of
from workbook_template.template.sizes import Sizes
from workbook_template.template.table import Input, Row, Shown, Table, Working

NAME = "Readings"
HEAD = 4
#: Portions of acid that a batch has room for.
PORTIONS = 4
#: Readings of the runnings that a batch has room for.
RUNNINGS = 16
#: Rows of the runnings for each batch of the plan: not every batch has all of its own.
RUN_ROWS = 8
#: Where the runnings begin, beside the readings of the batches.
_RUN_LEFT = 2 + 2 * PORTIONS + 14 + 1
MISSING = "a portion is missing"
_PH, _AMOUNT = (1, 11, "A pH reading"), (0, 1e6, "An amount of acid")
_VOLUME, _PLATO = (0, 1e7, "A volume"), (0, 40, "A gravity in °P")
#: Specific gravities of worts and last runnings: no gravity of a kettle in °P.
_SPECIFIC = (0.98, 1.2)
_GRAVITIES = ("last_plato", "kettle_plato", "wanted_plato")


def given(portion: int) -> str:
    """The key of what was given in a portion."""
    return f"given_{portion}"


def read(portion: int) -> str:
    """The key of the pH read after it."""
    return f"ph_{portion}"


def _ph(key: str, title: str) -> Input:
    return Input(key, title, width=7, number="ph", name=key, limits=_PH)


def _volume(key: str, title: str) -> Input:
    return Input(key, title, width=8, number="volume", name=key, limits=_VOLUME)


def _plato(key: str, title: str) -> Input:
    return Input(key, title, width=7.5, number="share", name=key, limits=_PLATO)


def _amount(key: str, title: str) -> Input:
    return Input(key, title, width=7.5, number="limit", name=key, limits=_AMOUNT)


def _portions(portion: int) -> list[Input]:
    which = ("First", "Second", "Third", "Fourth")[portion - 1]
    return [
        _amount(given(portion), f"{which} portion, mL (g)"),
        _ph(read(portion), "pH after it"),
    ]


def _any_portion(c: Row) -> Formula:
    return filled(*(c[given(portion)] for portion in range(1, PORTIONS + 1)))


def _given_in_all(c: Row) -> Formula:
    """The sum of the portions; words where one is left out before another."""
    cells = [c[given(portion)] for portion in range(1, PORTIONS + 1)]
    gaps = [
        all_of(before == "", after != "") for before, after in zip(cells, cells[1:], strict=False)
    ]
    return when(_any_portion(c), first((any_of(*gaps), MISSING), xl.SUM(*cells)))


def _mixed(c: Row) -> Formula:
    """The pH after the last portion, read when it was mixed in; empty where it was not read."""
    last = [
        (c[given(portion)] != "", first((c[read(portion)] == "", ""), c[read(portion)]))
        for portion in range(PORTIONS, 0, -1)
    ]
    return first(*last, "")


def _last_run(c: Row) -> Formula:
    """The number of the last row of the runnings that has a pH of the batch; 0 where there is none.

    Of a search that passes over errors, as LOOKUP(2, 1/...) is one, the embedded engine makes
    something else.
    """
    mine = (name("Run_batch") == c.batch) * (name("Run_ph") != "")
    found = xl.SUMPRODUCT(xl.LARGE(mine * name("Run_number"), 1))
    return xl.IF(c.batch == "", 0, found)


def _last_running(c: Row) -> Formula:
    """The pH of the last running: as typed, or else the last that was read of the batch's
    runnings.
    """
    return first(
        (c.last_ph != "", c.last_ph),
        (c.last_run == 0, ""),
        xl.INDEX(name("Run_ph"), c.last_run),
    )


def _specific(figure: Formula) -> Formula:
    """Whether a gravity may be a specific one: °P are typed to one decimal."""
    low, high = _SPECIFIC
    fine = xl.ABS(figure - xl.ROUND(figure, 1)) > 1e-6
    return all_of(is_number(figure), xl.N(figure) >= low, xl.N(figure) < high, fine)


def _question(address: Formula, figure: Formula, plato: Formula) -> Formula:
    return joined(
        "Gravity ",
        address,
        ": ",
        shown(figure, 3),
        " °P; is it a specific gravity? That is ",
        xl.IFERROR(shown(plato, 1), "?"),
        " °P.",
    )


def _first_specific(c: Row, otherwise: Formula | str, answer) -> Formula:
    """The answer for the first gravity of a row that may be a specific one."""
    cases = [(xl.IFERROR(_specific(c[key]), False), answer(key)) for key in _GRAVITIES]
    return first(*cases, otherwise)


def _remark(c: Row) -> Formula:
    portions = range(1, PORTIONS + 1)
    unread = [all_of(c[read(portion)] != "", c[given(portion)] == "") for portion in portions]
    return first(
        (
            c.batch == "",
            when(
                filled(*c.cells_between("before", "beer_ph")), "Choose the batch of these readings."
            ),
        ),
        (
            rows_of(c.batch, "Read_batch") > 1,
            "This batch stands twice: only its first row is read. Put its readings into one row.",
        ),
        (
            row_of(c.batch, "Plan_batch") == 0,
            "No batch of the plan has this name: is it spelt as there?",
        ),
        (c.given_all == MISSING, "A portion is missing: type it, or move the later ones up."),
        (any_of(*unread), "A pH is read after a portion that is not typed."),
        (
            all_of(c.later_ph != "", c.mixed_ph == ""),
            "The later pH has no reading right after mixing to be held against.",
        ),
        (
            c.specific != "",
            _question(
                _first_specific(c, "", c.address),
                c.specific,
                c.as_plato,
            ),
        ),
        "",
    )


def _nth(c: Row) -> Formula:
    """How many readings of the batch of the day stand from the top to this row: its last step up is
    the row itself.
    """
    above = ref(xl_rowcol_to_cell(c.row - 1, c.table.at["nth"]))
    mine = all_of(name("Day_batch") != "", c.batch == name("Day_batch"))
    return xl.N(above) + xl.IF(mine, 1, 0)


READ = Table(
    "Read",
    head=HEAD,
    rows=Sizes().batches,
    workings=_RUN_LEFT + 8,
    columns=[
        Input("batch", "Batch", width=15, name="batch", choice="=Plan_batch"),
        _ph("before", "pH before any acid"),
        *(column for portion in range(1, PORTIONS + 1) for column in _portions(portion)),
        _ph("later_ph", "Later pH, no more acid given"),
        _amount("mash_ml", "Acid in the mash, mL (g)"),
        _ph("mash_ph", "Mash pH"),
        _ph("last_ph", "Last running pH"),
        _plato("last_plato", "    its gravity, °P"),
        _ph("kettle_ph", "Kettle pH"),
        _volume("kettle_volume", '="Kettle, "&Volume_unit&" at 20 °C"'),
        _plato("kettle_plato", "    its gravity, °P"),
        _volume("fill_to", '="Fill to, "&Volume_unit&" at 20 °C"'),
        _plato("wanted_plato", "Gravity wanted, °P"),
        _volume("evaporation", '="Boiled off in an hour, "&Volume_unit'),
        Input(
            "boil",
            "Boil planned, min",
            width=8,
            number="count",
            name="boil",
            limits=(0, 600, "The boil in minutes"),
        ),
        _ph("beer_ph", "Beer pH"),
        Shown("remark", "Remark", _remark, width=44, look=("remark", "small")),
        Working("given_all", "Given in all", _given_in_all, name="given"),
        Working("last_run", "Last running: row", _last_run),
        Working("last_used", "Last running: pH", _last_running, name="last"),
        Working("mixed_ph", "pH after the last portion", _mixed, name="mixed"),
        Working(
            "specific",
            "A specific gravity?",
            lambda c: _first_specific(c, "", lambda key: c[key]),
        ),
        Working(
            "as_plato",
            "    in °P",
            lambda c: when(c.specific != "", call("PLATO", c.specific)),
        ),
    ],
)


#: A row a reading, whatever batches they are of.
RUN = Table(
    "Run",
    head=HEAD,
    rows=RUN_ROWS * Sizes().batches,
    left=_RUN_LEFT,
    columns=[
        Input("batch", "Batch", width=15, name="batch", choice="=Plan_batch"),
        _volume("volume", '="Run off in all, "&Volume_unit'),
        _ph("ph", "pH, cooled"),
        _plato("plato", "Gravity, °P"),
        Working("nth", "Of the batch of the day: number", _nth, name="nth"),
        Working(
            "specific",
            "A specific gravity?",
            lambda c: xl.IF(xl.IFERROR(_specific(c.plato), False), 1, 0),
        ),
        Working("number", "Row", lambda c: ref(str(c.number)), name="number"),
    ],
)
FIRST, COLUMN = READ.first, READ.at


def write(book: Book) -> None:
    """Write the sheet."""
    reads, runs = READ.sized(book.sizes.batches), RUN.sized(RUN_ROWS * book.sizes.batches)
    run_widths = runs.page_widths
    page = reads.page_widths
    sheet = book.sheet(NAME, [*page, 3, *run_widths, 3])
    sheet.text(0, 0, "Readings", "title")
    sheet.across(
        1,
        0,
        reads.page_end,
        "One row a batch: every reading is typed here, once, and the sheets Sparge day, Last"
        " runnings, Mash, Liquor plan and Log show it. pH is that of a cooled sample. Leave empty"
        " what was not read.",
        "lead",
    )
    for first_key, last_key, words in (
        ("before", "later_ph", "The sparge liquor"),
        ("mash_ml", "mash_ph", "The mash"),
        ("last_ph", "last_plato", "Runnings"),
        ("kettle_ph", "boil", "The kettle, before the boil"),
        ("beer_ph", "remark", "The beer"),
    ):
        ends = reads.at[first_key], reads.at[last_key]
        sheet.across(HEAD - 1, *ends, words, "section")
    sheet.across(
        HEAD - 1,
        runs.left,
        runs.page_end,
        "The runnings: a row a reading",
        "section",
    )
    example = [
        tuple(of_batch.get(column.key) for column in reads.inputs) for of_batch in scenario.READINGS
    ]
    reads.write(sheet, example, height=72)
    reads.ends(sheet, "batches")
    batch = scenario.RUNNINGS.batch
    for row in range(reads.first, reads.last + 1):
        sheet.raw.set_row(row, 25)
    runs.write(sheet, [(batch, *line) for line in scenario.RUNNINGS.readings], height=72)
    runs.ends(sheet, "batches")
    _asked_of_runnings(sheet, runs)
    reads.coloured(sheet, "remark", "containing", " ", "#FBE8C4")
    sheet.finish(
        area=(0, 0, reads.last, runs.page_end),
        repeat=HEAD,
        freeze=(HEAD + 1, 0),
        tall=book.sizes.pages,
    )


def _asked_of_runnings(sheet: Sheet, runs: Table) -> None:
    """Above the runnings: the first gravity that may be a specific one."""
    row, column = HEAD - 2, runs.at["specific"]
    found = name("Run_asked")
    figure = xl.INDEX(runs.all("plato"), found)
    asked = xl.IFERROR(xl.MATCH(1, runs.all("specific"), 0), 0)
    sheet.formula(row - 1, column, asked, "cell")
    sheet.name_range("Run_asked", (row - 1, column))
    sheet.formula(row, column, when(found > 0, call("PLATO", figure)), "cell")
    sheet.name_range("Run_as_plato", (row, column))
    style = sheet.book.style("remark", "small")
    sheet.raw.merge_range(row, runs.left, row, runs.page_end, "", style)
    where = joined(xl_col_to_name(runs.at["plato"]), found + runs.head + 1)
    words = _question(where, figure, name("Run_as_plato"))
    sheet.formula(row, runs.left, when(found > 0, words), "remark", "small")
    sheet.name_range("Run_says", (row, runs.left))
