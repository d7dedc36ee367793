"""Log: one row a batch as it came out; what the water really had, the bias of the plan, and final
beer pH.
"""

from __future__ import annotations

from xlsxwriter.utility import xl_rowcol_to_cell

from workbook_template.template import scenario
from workbook_template.template.book import GREEN, WARN, Book, Sheet
from workbook_template.template.charts import DASHED, OFF, marks, scatter, series
from workbook_template.template.form import Answer, Form, Typed
from workbook_template.template.formula import (
    Formula,
    all_of,
    any_of,
    call,
    first,
    is_number,
    joined,
    name,
    number_or,
    ref,
    shown,
    when,
    xl,
)
from workbook_template.template.layout import (
    NO_ACID,
    NO_WATER,
    dose_end,
    filled,
    liquid_strength,
    looked_up,
    row_of,
    shelf_row,
    water_ions,
    water_row,
)
from workbook_template.template.sizes import Sizes
from workbook_template.template.table import Input, Row, Shown, Table, Working

NAME = "Log"
ROWS = Sizes().log
HEAD = 10
#: Fewest batches from which a line is more than chance.
ENOUGH = 8
#: How many times beyond the interval a dose is more likely a slip of the pen than the water: a
#: choice of this workbook.
SLIP = 1.4
_AMOUNT, _PH = (0, 1e7, "A volume or dose"), (1, 11, "A pH reading")
#: What a row takes from the sheet Readings where its cell is empty, by the name of that sheet's
#: column.
FROM_READINGS = {
    "before": "before",
    "dose": "given",
    "after": "mixed",
    "later": "later_ph",
    "last": "last",
    "kettle": "kettle_ph",
    "beer": "beer_ph",
}
#: What a row takes from the batch plan where its cell is empty, by the name of the plan's column.
FROM_PLAN = {"water": "water_name", "acid": "acid", "litres": "cold", "target": "target"}


# What several columns of a row are made of. From the plan or typed: ``c.water_used`` and its like.


def _ready(c: Row) -> Formula:
    return all_of(c.used == 1, c.water_row > 0, c.shelf_row > 0)


def _both(c: Row) -> Formula:
    """A dose between two readings."""
    return all_of(_ready(c), xl.COUNT(c.before_used, c.after_used, c.dose_used, c.litres_used) == 4)


def _picked(key: str):
    """A column's figure in the rows that the summary counts: of its acid and of the newest report
    of its water.
    """
    return lambda c: when(
        all_of(_both(c), c.water_row == WATER_ROW, c.acid_used == ACID),
        c.dose_used * c.each if key == "dose_used" else c[key],
    )


def _day(c: Row) -> Formula:
    """The day of a row: what is typed, or else that of the plan."""
    return first((c.date != "", c.date), (c.plan_row > 0, looked_up("Plan_date", c.plan_row)), "")


def _acid(c: Row) -> Formula:
    return looked_up("Shelf_acid", c.shelf_row)


def _alkalinity(c: Row) -> Formula:
    """What the plan of that day reckoned with: as stored with the row, or else the report of the
    row's day.
    """
    return c.report_used


def _last(c: Row) -> tuple[Formula, Formula, Formula]:
    """The last arguments of the functions of a dose."""
    ions = water_ions(c.water_row)
    return ions, looked_up("Water_temp_C", c.water_row), name("CO2_lost")


def _liquor(c: Row) -> tuple[Formula, ...]:
    return c.litres_used, _acid(c), c.liquid, *_last(c)


def _interval(called: str):
    """An end of the doses that fit the reading, in mL or g, whatever gas the tank loses within its
    range.
    """
    return lambda c: when(
        _both(c),
        dose_end(
            called,
            (_alkalinity(c), c.before_used, c.after_used, c.litres_used, _acid(c), c.liquid),
            *_last(c)[:2],
        )
        / c.each,
    )


def _can_plan(c: Row) -> Formula:
    return all_of(_ready(c), xl.COUNT(c.before_used, c.target_used, c.litres_used) == 3)


def _can_expect(c: Row) -> Formula:
    return all_of(_ready(c), xl.COUNT(c.before_used, c.dose_used, c.litres_used) == 3)


def _taken(key: str, column: str):
    """What is typed, or else what the plan has for this batch."""

    def formula(c: Row) -> Formula:
        typed = call("LITRES", c.litres, name("Volume_unit")) if key == "litres" else c[key]
        return first(
            (c[key] != "", typed), (c.plan_row > 0, looked_up(f"Plan_{column}", c.plan_row)), ""
        )

    return formula


def _of_readings(key: str):
    """What is typed, or else what the sheet Readings has for this batch."""

    def formula(c: Row) -> Formula:
        cell = looked_up(f"Read_{FROM_READINGS[key]}", c.read_row)
        return first(
            (c[key] != "", c[key]), (c.read_row > 0, first((is_number(cell), cell), "")), ""
        )

    return formula


def _taken_over(c: Row) -> Formula:
    """What the row has from the sheet Readings, in words."""
    words = [
        when(
            all_of(c[key] == "", c[f"{key}_used"] != ""),
            joined(f"{title} ", c[f"{key}_used"], "; "),
        )
        for key, title in (
            ("before", "pH before"),
            ("dose", "dose"),
            ("after", "pH after"),
            ("later", "later"),
            ("last", "last running"),
            ("kettle", "kettle"),
            ("beer", "beer"),
        )
    ]
    return when(c.read_row > 0, joined(*words))


def _gas_gone(end: str, *errors: str):
    """The share of the gas lost by the later reading, or an end of its interval; nothing in a row
    without one.

    By the alkalinity titrated that day; without a titration by two readings, right after mixing and
    later. The reading right after mixing tells only what has left by then, which is not what the
    tank loses.
    """

    def formula(c: Row) -> Formula:
        given = c.dose_used * c.each, c.litres_used
        ions, temp, _ = _last(c)
        of = [name(f"Error_{error}") for error in errors]
        acid = _acid(c), c.liquid
        one = c.titrated, c.before_used, given[0], c.later_used, given[1], *acid
        alkalinity = [name("Error_alkalinity")] if errors else []
        two = c.before_used, c.after_used, c.later_used, *given, *acid
        return when(
            all_of(_both(c), is_number(c.later_used)),
            first(
                (
                    c.titrated != "",
                    call(f"CO2_LOST_FROM_READING{end}", *one, *alkalinity, *of, ions, temp),
                ),
                call(f"CO2_LOST_FROM_TWO_READINGS{end}", *two, *of, ions, temp),
            ),
        )

    return formula


def _slip(c: Row) -> Formula:
    """Asked first of a dose far outside: it is more often a slip of the pen than the water."""
    dose, unit = c.dose_used, looked_up("Shelf_measure", c.shelf_row)
    return joined(
        "Check the entry first: ",
        xl.FIXED(dose, 0, True),
        " ",
        unit,
        " where ",
        xl.FIXED(c.least, 0, True),
        " to ",
        xl.FIXED(c.most, 0, True),
        " fit these readings. Are dose, unit, liquor and both pH as they were? If so, titrate the"
        " water.",
    )


def _remark(c: Row) -> Formula:
    off = xl.FIXED(xl.ABS(c.miss), 2)
    return first(
        (c.used == 0, ""),
        (c.water_row == 0, NO_WATER),
        (c.shelf_row == 0, NO_ACID),
        (c.planned == "see remark", c.dose_planned),
        (c.implied == "see remark", c.alkalinity_implied),
        (
            _both(c),
            first(
                (xl.COUNT(c.least, c.most, c.miss) < 3, ""),
                (any_of(c.dose_used > SLIP * c.most, c.dose_used * SLIP < c.least), _slip(c)),
                (
                    c.dose_used > c.most,
                    joined(
                        "Water stronger than planned: pH came out ",
                        off,
                        " high; titrate before the next batch.",
                    ),
                ),
                (
                    c.dose_used < c.least,
                    joined(
                        "Water weaker than planned: pH came out ",
                        off,
                        " low; titrate before the next batch.",
                    ),
                ),
                "",
            ),
        ),
        "Readings missing: no alkalinity from this row.",
    )


def _drawn(key: str):
    """A figure of the chart; rows without one are drawn on top of the first that has it."""
    return lambda c: first(
        (c.drawn == 1, c[key]), (FIRST_DRAWN > 0, xl.INDEX(c.table.all(key), FIRST_DRAWN)), OFF
    )


def _of_beer(key: str):
    return lambda c: when(xl.COUNT(c.after_used, c.beer_used) == 2, c[f"{key}_used"])


LOG = Table(
    "Log",
    head=HEAD,
    rows=ROWS,
    columns=[
        Input("date", "Date", width=11, number="date"),
        Input("batch", "Batch", width=14, name="batch"),
        Input("water", "Water", width=16, choice="=Water_name"),
        Input("acid", "Acid", width=19, choice="=Shelf_label"),
        Input(
            "litres",
            '="Liquor, "&Volume_unit&" at 20 °C"',
            width=9,
            number="volume",
            limits=_AMOUNT,
        ),
        Input("target", "Target pH", width=8, number="ph", limits=_PH),
        Input("before", "pH before", width=8, number="ph", limits=_PH, name="before"),
        Input("dose", "Dose given, mL (powder: g)", width=9, number="ml", limits=_AMOUNT),
        Input("after", "pH after", width=8, number="ph", limits=_PH, name="after"),
        Input("last", "Last runnings pH", width=9, number="ph", limits=_PH, name="last"),
        Input("kettle", "Kettle pH", width=8, number="ph", limits=_PH, name="kettle"),
        Input("beer", "Final beer pH", width=8, number="ph", limits=_PH, name="beer"),
        Input("later", "pH later, no more acid", width=8, number="ph", limits=_PH),
        Input(
            "dose_then",
            "Dose planned that day, mL (g)",
            width=9,
            number="ml",
            limits=_AMOUNT,
        ),
        Input(
            "alkalinity_then",
            "Alkalinity of the report then, mg/L as CaCO3",
            width=11,
            number="mg",
            limits=(0, 5000, "An alkalinity"),
        ),
        Input(
            "titrated",
            "Alkalinity titrated that day, mg/L as CaCO3",
            width=11,
            number="mg",
            limits=(0, 5000, "An alkalinity"),
        ),
        Shown(
            "taken",
            "From the sheet Readings",
            _taken_over,
            width=24,
            look=("remark", "small"),
        ),
        Shown(
            "planned",
            "Planned dose, mL (powder: g)",
            lambda c: first(
                (c.dose_then != "", c.dose_then),
                (_can_plan(c), number_or(c.dose_planned / c.each, "see remark")),
                "",
            ),
            width=9,
            number="ml",
        ),
        Shown(
            "expected",
            "pH expected of that dose",
            lambda c: when(_can_expect(c), number_or(c.ph_expected, "see remark")),
            width=9,
            number="ph",
        ),
        Shown(
            "implied",
            "Alkalinity implied, mg/L as CaCO3",
            lambda c: when(_both(c), number_or(c.alkalinity_implied, "see remark")),
            width=10,
            number="mg",
        ),
        Shown(
            "report",
            "Alkalinity of the report, mg/L as CaCO3",
            lambda c: when(_ready(c), c.report_used),
            width=10,
            number="mg",
        ),
        Shown(
            "drift",
            "Drift, %",
            lambda c: when(
                all_of(is_number(c.implied), is_number(c.report)), 100 * (c.implied / c.report - 1)
            ),
            width=8,
            number="share",
        ),
        Shown("remark", "Remark", _remark, width=70, look=("remark",)),
        Working("used", "In use", lambda c: xl.IF(filled(*c.cells_between("batch", "beer")), 1, 0)),
        Working(
            "plan_row",
            "Row of the plan",
            lambda c: first((c.batch == "", 0), row_of(c.batch, "Plan_batch")),
        ),
        Working(
            "read_row",
            "Row of the readings",
            lambda c: first((c.batch == "", 0), row_of(c.batch, "Read_batch")),
        ),
        *(Working(f"{key}_used", f"Used: {key}", _of_readings(key)) for key in FROM_READINGS),
        Working("water_used", "Water used", _taken("water", "water_name")),
        Working("acid_used", "Acid used", _taken("acid", "acid")),
        Working("litres_used", "Liquor used, L", _taken("litres", "cold")),
        Working("target_used", "Target used", _taken("target", "target")),
        Working(
            "water_row",
            "Water no.",
            lambda c: xl.IF(c.used == 1, water_row(c.water_used, _day(c)), 0),
        ),
        Working("shelf_row", "Shelf no.", lambda c: xl.IF(c.used == 1, shelf_row(c.acid_used), 0)),
        Working(
            "report_used",
            "Alkalinity of the report",
            lambda c: when(
                _ready(c),
                first(
                    (c.alkalinity_then != "", c.alkalinity_then),
                    looked_up("Water_alkalinity", c.water_row),
                ),
            ),
        ),
        Working(
            "each",
            "mL each",
            lambda c: when(
                _ready(c),
                first(
                    (
                        looked_up("Shelf_measure", c.shelf_row) == "g",
                        looked_up("Shelf_strength", c.shelf_row)
                        / 50
                        / call("ACID_DENSITY", _acid(c), 50),
                    ),
                    1,
                ),
            ),
        ),
        Working(
            "liquid",
            "Strength for mL",
            lambda c: when(
                _ready(c),
                liquid_strength(
                    looked_up("Shelf_measure", c.shelf_row),
                    looked_up("Shelf_strength", c.shelf_row),
                ),
            ),
        ),
        Working(
            "miss",
            "Read less expected",
            lambda c: when(
                all_of(is_number(c.expected), is_number(c.after_used)), c.after_used - c.expected
            ),
        ),
        Working("least", "Dose for that reading: from", _interval("ACID_DOSE_LOW")),
        Working("most", "to (95 % interval)", _interval("ACID_DOSE_HIGH")),
        Working("sel_before", "pH before", _picked("before_used")),
        Working("sel_after", "pH after", _picked("after_used")),
        Working("sel_dose", "Dose, mL", _picked("dose_used")),
        Working("sel_litres", "Litres", _picked("litres_used")),
        Working(
            "sel_miss",
            "Read less expected, of these",
            lambda c: when(all_of(is_number(c.sel_dose), is_number(c.miss)), c.miss),
        ),
        Working("gone", "Gas lost", _gas_gone("")),
        Working("gone_low", "    from", _gas_gone("_LOW", "ph", "strength", "volume")),
        Working(
            "gone_high",
            "    to (95 % interval)",
            _gas_gone("_HIGH", "ph", "strength", "volume"),
        ),
        Working("x", "Sparge pH", _of_beer("after")),
        Working("y", "Beer pH", _of_beer("beer")),
        Working(
            "drawn",
            "Chart: drawn",
            lambda c: xl.IF(xl.COUNT(c.date, c.implied, c.report) == 3, 1, 0),
        ),
        Working("chart_date", "Chart: date", _drawn("date")),
        Working("chart_implied", "Chart: implied", _drawn("implied")),
        Working("chart_report", "Chart: report", _drawn("report")),
        Working("chart_x", "Chart: sparge pH", lambda c: number_or(c.x, 0)),
        Working("chart_y", "Chart: beer pH", lambda c: number_or(c.y, OFF)),
        Working(
            "dose_planned",
            "Planned dose, mL",
            lambda c: when(
                _can_plan(c),
                call("ACID_DOSE", _alkalinity(c), c.before_used, c.target_used, *_liquor(c)),
            ),
        ),
        Working(
            "ph_expected",
            "pH expected",
            lambda c: when(
                _can_expect(c),
                call(
                    "PH_AFTER_ACID",
                    _alkalinity(c),
                    c.before_used,
                    c.dose_used * c.each,
                    *_liquor(c),
                ),
            ),
        ),
        Working(
            "alkalinity_implied",
            "Alkalinity implied",
            lambda c: when(
                _both(c),
                call(
                    "ALKALINITY_FROM_DOSE",
                    c.before_used,
                    c.after_used,
                    c.dose_used * c.each,
                    *_liquor(c),
                ),
            ),
        ),
    ],
)
FIRST, LAST, COLUMN = LOG.first, LOG.last, LOG.at
#: What a line of readings may fill, and the bounds of its numbers, by key.
INPUTS = {column.key: column for column in LOG.inputs}
LIMITS = {column.key: column.limits for column in LOG.inputs if column.limits}
#: The first row that the chart of the water draws. Rows without a figure are drawn on top of it: a
#: point far below the others would stretch the axis, which is to begin near the figures.
FIRST_DRAWN = name("Log_first_drawn")
#: The water and the acid that the summary above the table is of.
WATER, ACID = name("Log_water"), name("Log_acid")
#: The number of the newest report of that water.
WATER_ROW = name("Log_water_row")


def write(book: Book) -> None:
    """Write the sheet."""
    table = LOG.sized(book.sizes.log)
    sheet = book.sheet(NAME, table.widths)
    sheet.text(0, 0, "Log", "title")
    sheet.across(
        1,
        0,
        table.page_end - 1,
        "One row a batch, as it came out. Water, acid, liquor and target may stay empty for a batch"
        " of the plan, and what stands on the sheet Readings need not be typed here. To keep what"
        " was planned on the day, copy the line above the titles and paste it as values into the"
        " first free row.",
        "lead",
    )
    _summary(sheet, table)
    _today(sheet, table)
    sheet.across(HEAD - 1, table.gap + 1, table.end, "Workings: one step a column", "section")
    table.write(sheet, scenario.LOG, height=70)
    table.ends(sheet, "batches")
    for words in ("Water ", "Check the entry"):
        table.coloured(sheet, "remark", "begins with", words, "#FBE8C4")
    _beer(sheet, table)
    _charts(book, sheet, table)
    end = table.last + 3 + CHART_ROWS
    sheet.finish(
        area=(0, 0, end, table.page_end), repeat=HEAD, freeze=(HEAD + 1, 2), tall=book.sizes.pages
    )


def _learnt() -> Formula:
    """What the summary says of the water's drift, in words."""
    batches, learnt = name("Log_batches"), name("Log_learnt")
    scatter_of, report = name("Log_scatter"), name("Log_report")
    more = xl.ROUND(learnt, 0) - xl.ROUND(report, 0)
    against = first(
        (more == 0, "the same as"),
        joined(shown(xl.ABS(more), 0), xl.IF(more > 0, " more", " less"), " than"),
    )
    said = joined(batches, " batches gave ", shown(learnt, 0), " mg/L, ", against, " the report")
    return first(
        (batches == 0, "No batch of this acid yet by the newest report of this water."),
        (xl.ISTEXT(learnt), learnt),
        (xl.ISTEXT(scatter_of), "Too few batches for a scatter."),
        (
            xl.ABS(learnt - report) > 2 * scatter_of,
            joined(
                "The water is not what the report says: ",
                said,
                ", beyond their scatter. Type ",
                shown(learnt, 0),
                " mg/L into the sheet Water, or have a new report made. One titration alone may"
                " still agree with the report within its errors; this many batches tell more.",
            ),
        ),
        joined("The report still fits the doses given: ", said, ", within the scatter."),
    )


def _gas() -> Formula:
    """What the log has learnt of the gas that the tank loses, in words."""
    share = [shown(100 * name(f"Log_gas{end}"), 0) for end in ("", "_from", "_to")]
    return first(
        (
            xl.COUNT(name("Log_gas"), name("Log_gas_from"), name("Log_gas_to")) < 3,
            (
                "Gas: one reading cannot tell an alkalinity that is not the report's from gas that"
                " has left. Two can, right after mixing and later with no more acid given, and"
                " better with an alkalinity titrated that day. The share that your tank loses then"
                " stands here."
            ),
        ),
        joined(
            "Gas: your tank lost about ",
            share[0],
            " % of what could leave, ",
            share[1],
            " to ",
            share[2],
            " % within the errors of ",
            name("Log_gas_batches"),
            xl.IF(name("Log_gas_batches") == 1, " batch", " batches"),
            ". On the sheet Settings choose own figures for how the tank is kept, and type ",
            shown(name("Log_gas_from"), 2),
            " and ",
            shown(name("Log_gas_to"), 2),
            ".",
        ),
    )


def _summary(sheet: Sheet, table: Table) -> None:
    """Above the table: the water and the acid that are chosen, and the tank."""
    water, shelf = WATER_ROW, shelf_row(ACID)
    past = (
        *(table.all(key) for key in ("sel_before", "sel_after", "sel_dose", "sel_litres")),
        looked_up("Shelf_acid", shelf),
        liquid_strength(looked_up("Shelf_measure", shelf), looked_up("Shelf_strength", shelf)),
        water_ions(water),
        looked_up("Water_temp_C", water),
        name("CO2_lost"),
    )
    count, misses, gone = name("Log_batches"), table.all("sel_miss"), table.all("gone")
    learnt, report = name("Log_learnt"), name("Log_report")
    no_gas = name("Log_gas_batches") == 0
    sheet.across(2, 0, 3, "What the water really had", "section")
    sheet.across(2, 4, 10, "Drift, bias and gas", "section")
    Form(
        row=3,
        figure=3,
        lines=[
            Typed("Water", name="Log_water", example=scenario.LOG[0].water, choice="=Water_name"),
            Typed("Acid", name="Log_acid", example=scenario.LOG[0].acid, choice="=Shelf_label"),
            Answer(
                "Batches of this acid and report",
                xl.COUNT(table.all("sel_dose")),
                name="Log_batches",
                number="count",
            ),
            Answer(
                "Alkalinity learnt, mg/L as CaCO3 (median)",
                first((count == 0, "no batch yet"), call("EFFECTIVE_ALKALINITY", *past)),
                name="Log_learnt",
                number="mg",
            ),
            Answer(
                "    scatter from batch to batch, mg/L",
                first((count < 3, "3 needed"), call("EFFECTIVE_ALKALINITY_SPREAD", *past)),
                name="Log_scatter",
                number="share",
            ),
        ],
    ).write(sheet)
    Form(
        row=3,
        label=4,
        figure=9,
        span=2,
        lines=[
            Answer(
                "Alkalinity of today's report, mg/L as CaCO3",
                when(water > 0, looked_up("Water_alkalinity", water)),
                name="Log_report",
                number="mg",
            ),
            Answer(
                "Drift of the water against it, %",
                when(xl.COUNT(learnt, report) == 2, 100 * (learnt / report - 1)),
                name="Log_drift",
                number="share",
            ),
            Answer(
                "Bias of the plan: pH read minus expected",
                first((xl.COUNT(misses) == 0, "no batch yet"), xl.AVERAGE(misses)),
                name="Log_bias",
                number="ph",
            ),
            Answer(
                "Share of the gas lost (median)",
                first((no_gas, "not known"), xl.MEDIAN(gone)),
                name="Log_gas",
                number="ph",
            ),
            Answer(
                "    batches read twice",
                xl.COUNT(gone),
                name="Log_gas_batches",
                number="count",
            ),
        ],
    ).write(sheet)
    top = table.gap + 2
    for row, (label, end, column, most) in enumerate(
        (
            ("Gas lost: least of all", "from", "gone_low", xl.MIN),
            ("    most of all", "to", "gone_high", xl.MAX),
        ),
        3,
    ):
        cells = table.all(column)
        sheet.text(row, top, label)
        sheet.formula(row, top + 1, first((xl.COUNT(cells) == 0, ""), most(cells)), "cell")
        sheet.name_range(f"Log_gas_{end}", (row, top + 1))
    sheet.text(5, top, "Newest report: water no.")
    sheet.formula(5, top + 1, water_row(WATER), "cell")
    sheet.name_range("Log_water_row", (5, top + 1))
    left, right = table.at["beer"], table.at["remark"] - 1
    for row, formula, named in ((3, _learnt(), "Log_says"), (6, _gas(), "Log_gas_says")):
        sheet.raw.merge_range(
            row, left, row + 2 - row // 6, right, "", sheet.book.style("remark", "small")
        )
        sheet.formula(row, left, formula, "remark", "small")
        sheet.name_range(named, (row, left))
    for row in range(3, 8):
        sheet.raw.set_row(row, 18)


def _today(sheet: Sheet, table: Table) -> None:
    """The batch of the day as a row of this table, to be copied and pasted as values."""
    sheet.text(HEAD - 2, 0, "The batch of the day: copy this line and paste it as values", "label")
    at, ready = table.at, name("Day_row") > 0
    each = {
        "date": (looked_up("Plan_date", name("Day_row")), "date"),
        "batch": (name("Day_batch"), "plain"),
        "water": (looked_up("Water_name", name("Day_water")), "plain"),
        "acid": (looked_up("Shelf_label", name("Day_shelf")), "plain"),
        "litres": (name("Day_litres") / call("LITRES", 1, name("Volume_unit")), "volume"),
        "target": (name("Day_target"), "ph"),
        "before": (name("Day_before"), "ph"),
        "dose": (name("Day_given"), "ml"),
        "after": (name("Day_mixed"), "ph"),
        **{key: (_of_day(FROM_READINGS[key]), "ph") for key in ("last", "kettle", "beer", "later")},
        "dose_then": (name("Day_dose"), "ml"),
        "alkalinity_then": (name("Day_alkalinity"), "mg"),
        "titrated": (
            when(
                all_of(
                    name("Bench_water_row") == name("Day_water"),
                    name("Bench_batch") == name("Day_batch"),
                    is_number(name("Bench_measured")),
                    name("Bench_odd") == 0,
                ),
                name("Bench_measured"),
            ),
            "mg",
        ),
    }
    for key, (formula, number) in each.items():
        sheet.formula(HEAD - 1, at[key], when(ready, formula), "result", number)


def _of_day(column: str) -> Formula:
    cell = looked_up(f"Read_{column}", name("Day_read"))
    return when(name("Day_read") > 0, first((is_number(cell), cell), ""))


def _beer(sheet: Sheet, table: Table) -> None:
    """Below the table, beside its chart."""
    x, y = table.all("x"), table.all("y")
    top, left = table.last + 2, table.at["target"]
    count, slope = name("Log_beer_batches"), name("Log_slope")
    low, high = name("Log_slope_low"), name("Log_slope_high")
    sheet.across(top, 0, left - 1, "What the water really had", "section")
    sheet.across(top, left, table.page_end, "Final beer pH against sparge pH", "section")
    Form(
        row=top + 1,
        label=table.at["taken"],
        figure=table.at["planned"],
        lines=[
            Answer("Batches with both", xl.COUNT(y), name="Log_beer_batches", number="count"),
            Answer(
                "Slope, pH per pH",
                first((count < 2, "2 needed"), xl.IFERROR(xl.SLOPE(y, x), "all at one pH")),
                name="Log_slope",
                number="ph",
            ),
            Answer(
                "    from (95 % interval)",
                first((count < 3, "3 needed"), call("SLOPE_LOW", x, y)),
                name="Log_slope_low",
                number="ph",
            ),
            Answer(
                "    to",
                first((count < 3, "3 needed"), call("SLOPE_HIGH", x, y)),
                name="Log_slope_high",
                number="ph",
            ),
        ],
    ).write(sheet)
    row, column = top + 6, table.at["taken"]
    sheet.raw.merge_range(row, column, row, table.at["remark"], "", sheet.book.style("remark"))
    sheet.formula(
        row,
        column,
        first(
            (
                count < ENOUGH,
                (
                    f"Fewer than {ENOUGH} batches: this is no evidence yet, whatever the line looks"
                    " like."
                ),
            ),
            (xl.COUNT(slope, low, high) < 3, "No line can be drawn: vary the sparge pH."),
            (
                all_of(low < 0, high > 0),
                "No trend shown: a slope of zero is within the interval.",
            ),
            (
                slope < 0,
                "The beer goes against the sparge pH, which is not expected: look at the readings.",
            ),
            "The beer follows the sparge; other things changed too, so try it on one beer before "
            "relying on it.",
        ),
        "remark",
    )
    sheet.name_range("Log_beer_says", (row, column))
    usual = "about 4.2, about 4.4 where the sparge was left untreated (common practice, no source)"
    sheet.text(row + 1, column, f"Final beer pH is {usual}.")


#: Rows of a chart below the table, each as high as it is in every program.
CHART_ROWS = 21


def _fitted_line(sheet: Sheet, table: Table) -> tuple[int, int]:
    """Both ends of the fitted line, above the workings; the rows they stand in."""
    x, y, slope = table.all("x"), table.all("y"), name("Log_slope")
    top, at = HEAD - 4, table.at
    sheet.text(top - 1, at["chart_x"], "Fitted line", "section")
    for row, end in ((top, xl.MIN(x)), (top + 1, xl.MAX(x))):
        here = ref(xl_rowcol_to_cell(row, at["chart_x"]))
        sheet.formula(row, at["chart_x"], end, "cell", "ph")
        line = first((is_number(slope), xl.INTERCEPT(y, x) + slope * here), OFF)
        sheet.formula(row, at["chart_y"], line, "cell", "ph")
    return top, top + 1


def _first_drawn(sheet: Sheet, table: Table) -> None:
    """The number of the first row that the chart of the water draws, above the workings."""
    sheet.text(HEAD - 4, table.at["drawn"], "First drawn", "section")
    found = xl.IFERROR(xl.MATCH(1, table.all("drawn"), 0), 0)
    sheet.formula(HEAD - 3, table.at["drawn"], found, "cell")
    sheet.name_range("Log_first_drawn", (HEAD - 3, table.at["drawn"]))


def _charts(book: Book, sheet: Sheet, table: Table) -> None:
    rows, at = (table.first, table.last), table.at
    top = table.last + 3
    _first_drawn(sheet, table)
    drift = scatter(
        book,
        "Alkalinity that each dose implies, against the report",
        "Date",
        "Alkalinity, mg/L as CaCO3",
        x_axis={"date_axis": True, "num_format": "d mmm"},
        y_axis={"num_format": "0"},
    )
    series(
        drift,
        "implied by the dose",
        NAME,
        rows,
        at["chart_date"],
        at["chart_implied"],
        **marks(GREEN),
    )
    dash = {
        "marker": {
            "type": "long_dash",
            "size": 8,
            "fill": {"color": WARN},
            "border": {"color": WARN},
        },
        "line": {"none": True},
    }
    series(drift, "report", NAME, rows, at["chart_date"], at["chart_report"], **dash)
    beer = scatter(
        book,
        "Final beer pH against sparge pH",
        "Sparge pH after dosing",
        "Final beer pH",
        x_axis={"min": 5.2, "max": 6.4, "num_format": "0.0"},
        y_axis={"min": 3.9, "max": 4.7, "num_format": "0.0"},
    )
    series(beer, "batches", NAME, rows, at["chart_x"], at["chart_y"], **marks(WARN))
    series(
        beer,
        "fitted line",
        NAME,
        _fitted_line(sheet, table),
        at["chart_x"],
        at["chart_y"],
        line=DASHED,
    )
    for row in range(top, top + CHART_ROWS):
        sheet.raw.set_row(row, 15)
    sheet.raw.insert_chart(top, 0, drift, {"x_scale": 1.05, "y_scale": 1.1, "object_position": 2})
    sheet.raw.insert_chart(
        top, at["target"], beer, {"x_scale": 1.3, "y_scale": 1.1, "object_position": 2}
    )
