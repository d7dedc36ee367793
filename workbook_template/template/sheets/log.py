"""Log: one row a batch as it came out; what the water really had, the bias of the plan, and final beer pH."""

from __future__ import annotations

from xlsxwriter.utility import xl_rowcol_to_cell

from workbook_template.template import scenario
from workbook_template.template.book import GREEN, WARN, Book, Sheet
from workbook_template.template.charts import DASHED, OFF, marks, scatter, series
from workbook_template.template.formula import (
    Formula,
    all_of,
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
    filled,
    liquid_strength,
    looked_up,
    row_of,
    shelf_row,
)
from workbook_template.template.table import Input, Row, Shown, Table, Working

NAME = "Log"
ROWS = 60
HEAD = 36
#: Fewest batches from which a line is more than chance.
ENOUGH = 8
_AMOUNT, _PH = (0, 1e7, "A volume or dose"), (1, 11, "A pH reading")
#: What a row takes from the batch plan where its cell is empty, by the name of the plan's column.
FROM_PLAN = {"water": "water_name", "acid": "acid", "litres": "cold", "target": "target"}


# What several columns of a row are made of. From the plan or typed: ``c.water_used`` and its like.


def _ready(c: Row) -> Formula:
    return all_of(c.used == 1, c.water_row > 0, c.shelf_row > 0)


def _both(c: Row) -> Formula:
    """A dose between two readings."""
    return all_of(_ready(c), xl.COUNT(c.before, c.after, c.dose, c.litres_used) == 4)


def _picked(key: str):
    """A column's figure in the rows that the summary above the table counts."""
    return lambda c: when(
        all_of(_both(c), c.water_used == WATER, c.acid_used == ACID),
        c.dose * c.each if key == "dose" else c[key],
    )


def _acid(c: Row) -> Formula:
    return looked_up("Shelf_acid", c.shelf_row)


def _alkalinity(c: Row) -> Formula:
    return looked_up("Water_alkalinity", c.water_row)


def _last(c: Row) -> tuple[Formula, ...]:
    """The last arguments of the functions of a dose."""
    ions = xl.INDEX(name("Water_ions"), c.water_row, 0)
    return ions, looked_up("Water_temp_C", c.water_row), name("CO2_lost")


def _liquor(c: Row) -> tuple[Formula, ...]:
    return c.litres_used, _acid(c), c.liquid, *_last(c)


def _interval(called: str):
    """An end of the doses that fit the reading, in mL or g."""
    return lambda c: when(
        _both(c),
        call(
            called,
            _alkalinity(c),
            c.before,
            c.after,
            c.litres_used,
            _acid(c),
            c.liquid,
            *(name(f"Error_{of}") for of in ("alkalinity", "ph", "strength", "volume")),
            *_last(c),
        )
        / c.each,
    )


def _can_plan(c: Row) -> Formula:
    return all_of(_ready(c), xl.COUNT(c.before, c.target_used, c.litres_used) == 3)


def _can_expect(c: Row) -> Formula:
    return all_of(_ready(c), xl.COUNT(c.before, c.dose, c.litres_used) == 3)


def _taken(key: str, column: str):
    """What is typed, or else what the plan has for this batch."""

    def formula(c: Row) -> Formula:
        typed = call("LITRES", c.litres, name("Volume_unit")) if key == "litres" else c[key]
        return first(
            (c[key] != "", typed), (c.plan_row > 0, looked_up(f"Plan_{column}", c.plan_row)), ""
        )

    return formula


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
                (
                    c.dose > c.most,
                    joined(
                        "Water stronger than planned: pH came out ",
                        off,
                        " high; titrate before the next batch.",
                    ),
                ),
                (
                    c.dose < c.least,
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
        (c.drawn == 1, c[key]), (FIRST_DRAWN > 0, xl.INDEX(LOG.all(key), FIRST_DRAWN)), OFF
    )


def _of_beer(key: str):
    return lambda c: when(xl.COUNT(c.after, c.beer) == 2, c[key])


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
        Shown(
            "planned",
            "Planned dose, mL (powder: g)",
            lambda c: when(_can_plan(c), number_or(c.dose_planned / c.each, "see remark")),
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
            lambda c: when(_ready(c), _alkalinity(c)),
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
        Working("water_used", "Water used", _taken("water", "water_name")),
        Working("acid_used", "Acid used", _taken("acid", "acid")),
        Working("litres_used", "Liquor used, L", _taken("litres", "cold")),
        Working("target_used", "Target used", _taken("target", "target")),
        Working(
            "water_row",
            "Water no.",
            lambda c: xl.IF(c.used == 1, row_of(c.water_used, "Water_name"), 0),
        ),
        Working("shelf_row", "Shelf no.", lambda c: xl.IF(c.used == 1, shelf_row(c.acid_used), 0)),
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
            lambda c: when(all_of(is_number(c.expected), is_number(c.after)), c.after - c.expected),
        ),
        Working("least", "Dose for that reading: from", _interval("ACID_DOSE_LOW")),
        Working("most", "to (95 % interval)", _interval("ACID_DOSE_HIGH")),
        Working("sel_before", "pH before", _picked("before")),
        Working("sel_after", "pH after", _picked("after")),
        Working("sel_dose", "Dose, mL", _picked("dose")),
        Working("sel_litres", "Litres", _picked("litres_used")),
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
                call("ACID_DOSE", _alkalinity(c), c.before, c.target_used, *_liquor(c)),
            ),
        ),
        Working(
            "ph_expected",
            "pH expected",
            lambda c: when(
                _can_expect(c),
                call("PH_AFTER_ACID", _alkalinity(c), c.before, c.dose * c.each, *_liquor(c)),
            ),
        ),
        Working(
            "alkalinity_implied",
            "Alkalinity implied",
            lambda c: when(
                _both(c),
                call("ALKALINITY_FROM_DOSE", c.before, c.after, c.dose * c.each, *_liquor(c)),
            ),
        ),
    ],
)
FIRST, LAST, COLUMN = LOG.first, LOG.last, LOG.at
#: What a line of readings may fill, and the bounds of its numbers, by key.
INPUTS = {column.key: column for column in LOG.inputs}
LIMITS = {column.key: column.limits for column in LOG.inputs if column.limits}
#: The first row that the chart of the water draws. Rows without a figure are drawn on top of it: a point far below the others
#: would stretch the axis, which is to begin near the figures.
FIRST_DRAWN = ref(xl_rowcol_to_cell(HEAD - 2, COLUMN["drawn"], True, True))
#: The water and the acid that the summary above the table is of.
WATER, ACID = ref("$D$5"), ref("$D$6")


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, LOG.widths)
    sheet.text(0, 0, "Log", "title")
    sheet.across(
        1,
        0,
        LOG.page_end,
        "One row a batch, as it came out. The dose and the two readings tell what alkalinity the water really "
        "had. Water, acid, liquor and target may stay empty for a batch that is on the plan. A dose outside "
        "the 95 % interval for its reading gets a remark.",
        "lead",
    )
    _summary(sheet)
    _beer(sheet)
    sheet.across(HEAD - 1, LOG.gap + 1, LOG.end, "Workings: one step a column", "section")
    LOG.write(sheet, scenario.LOG, height=58)
    LOG.coloured(sheet, "remark", "begins with", "Water ", "#FBE8C4")
    _charts(book, sheet)
    sheet.finish(area=(0, 0, LAST, LOG.page_end), repeat=HEAD, freeze=(HEAD + 1, 2))


def _learnt() -> Formula:
    """What the summary says of the water's drift, in words."""
    batches, learnt, scatter_of, report = ref("D7"), ref("D8"), ref("D9"), ref("D10")
    more = xl.ROUND(learnt, 0) - xl.ROUND(report, 0)
    against = first(
        (more == 0, "the same as"),
        joined(shown(xl.ABS(more), 0), xl.IF(more > 0, " more", " less"), " than"),
    )
    said = joined(batches, " batches gave ", shown(learnt, 0), " mg/L, ", against, " the report")
    return first(
        (xl.ISTEXT(learnt), learnt),
        (xl.ISTEXT(scatter_of), "Too few batches for a scatter."),
        (
            xl.ABS(learnt - report) > 2 * scatter_of,
            joined(
                "The water is not what the report says: ",
                said,
                ", beyond their scatter. Type ",
                shown(learnt, 0),
                " mg/L into the sheet Water, or have a new report made. One titration alone may still "
                "agree with the report within its errors; this many batches tell more.",
            ),
        ),
        joined("The report still fits the doses given: ", said, ", within the scatter."),
    )


def _summary(sheet: Sheet) -> None:
    sheet.across(3, 0, 6, "What the water really had", "section")
    sheet.text(4, 0, "Water", "label")
    sheet.input(4, 3, sheet.book.shown(scenario.LOG[0].water))
    sheet.choice((4, 3), (4, 3), "=Water_name", "Water")
    sheet.text(5, 0, "Acid", "label")
    sheet.input(5, 3, sheet.book.shown(scenario.LOG[0].acid))
    sheet.choice((5, 3), (5, 3), "=Shelf_label", "Acid")
    water, shelf = row_of(WATER, "Water_name"), shelf_row(ACID)
    past = (
        *(LOG.all(key) for key in ("sel_before", "sel_after", "sel_dose", "sel_litres")),
        looked_up("Shelf_acid", shelf),
        looked_up("Shelf_strength", shelf),
        xl.INDEX(name("Water_ions"), water, 0),
        looked_up("Water_temp_C", water),
        name("CO2_lost"),
    )
    count, misses = xl.COUNT(LOG.all("sel_dose")), LOG.all("miss")
    learnt, report = ref("D8"), ref("D10")
    rows = [
        ("Batches of this water and acid", count, "count"),
        (
            "Alkalinity learnt, mg/L as CaCO3 (median)",
            first((count == 0, "no batch yet"), call("EFFECTIVE_ALKALINITY", *past)),
            "mg",
        ),
        (
            "    scatter from batch to batch, mg/L",
            first((count < 3, "3 batches needed"), call("EFFECTIVE_ALKALINITY_SPREAD", *past)),
            "share",
        ),
        (
            "Alkalinity of the report, mg/L as CaCO3",
            when(water > 0, looked_up("Water_alkalinity", water)),
            "mg",
        ),
        (
            "Drift of the water against the report, %",
            when(xl.COUNT(learnt, report) == 2, 100 * (learnt / report - 1)),
            "share",
        ),
        (
            "Bias of the plan: pH read minus expected",
            first((xl.COUNT(misses) == 0, "no batch yet"), xl.AVERAGE(misses)),
            "ph",
        ),
    ]
    for offset, (label, formula, number) in enumerate(rows):
        sheet.text(6 + offset, 0, label, "label")
        sheet.formula(6 + offset, 3, formula, "result", "right", number)
    sheet.raw.merge_range(12, 0, 13, 6, "", sheet.book.style("remark"))
    sheet.formula(12, 0, _learnt(), "remark")
    for row in (12, 13):
        sheet.raw.set_row(row, 24)


def _beer(sheet: Sheet) -> None:
    x, y = LOG.all("x"), LOG.all("y")
    count = xl.COUNT(y)
    sheet.across(3, 8, LOG.page_end - 1, "Final beer pH against sparge pH", "section")
    rows = [
        ("Batches with both readings", count, "count"),
        (
            "Slope of the line, pH per pH",
            first((count < 2, "2 batches needed"), xl.IFERROR(xl.SLOPE(y, x), "all at one pH")),
            "ph",
        ),
        (
            "    from (95 % interval)",
            first((count < 3, "3 batches needed"), call("SLOPE_LOW", x, y)),
            "ph",
        ),
        ("    to", first((count < 3, "3 batches needed"), call("SLOPE_HIGH", x, y)), "ph"),
    ]
    for offset, (label, formula, number) in enumerate(rows):
        sheet.text(4 + offset, 8, label, "label")
        sheet.raw.merge_range(
            4 + offset, 12, 4 + offset, 13, "", sheet.book.style("result", number)
        )
        sheet.formula(4 + offset, 12, formula, "result", "right", number)
    batches, slope, low, high = (ref(f"M{row}") for row in range(5, 9))
    sheet.raw.merge_range(8, 8, 10, 16, "", sheet.book.style("remark"))
    sheet.formula(
        8,
        8,
        first(
            (
                batches < ENOUGH,
                f"Fewer than {ENOUGH} batches: this is no evidence yet, whatever the line looks like.",
            ),
            (xl.COUNT(ref("M6:M8")) < 3, "No line can be drawn: vary the sparge pH."),
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
    sheet.across(
        11,
        8,
        16,
        "Final beer pH is about 4.2, about 4.4 where the sparge was left untreated (common practice, no source).",
        "wrap",
        height=15,
    )


def _fitted_line(sheet: Sheet) -> tuple[int, int]:
    """Both ends of the fitted line, above the workings; the rows they stand in."""
    x, y, slope = LOG.all("x"), LOG.all("y"), ref("$M$6")
    top = HEAD - 4
    sheet.text(top - 1, COLUMN["chart_x"], "Fitted line", "section")
    for row, end in ((top, xl.MIN(x)), (top + 1, xl.MAX(x))):
        at = ref(xl_rowcol_to_cell(row, COLUMN["chart_x"]))
        sheet.formula(row, COLUMN["chart_x"], end, "cell", "ph")
        line = first((is_number(slope), xl.INTERCEPT(y, x) + slope * at), OFF)
        sheet.formula(row, COLUMN["chart_y"], line, "cell", "ph")
    return top, top + 1


def _first_drawn(sheet: Sheet) -> None:
    """The number of the first row that the chart of the water draws, above the workings."""
    sheet.text(HEAD - 3, COLUMN["drawn"], "First drawn", "section")
    found = xl.IFERROR(xl.MATCH(1, LOG.all("drawn"), 0), 0)
    sheet.formula(HEAD - 2, COLUMN["drawn"], found, "cell")


def _charts(book: Book, sheet) -> None:
    rows = (FIRST, LAST)
    top = 15
    _first_drawn(sheet)
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
        COLUMN["chart_date"],
        COLUMN["chart_implied"],
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
    series(drift, "report", NAME, rows, COLUMN["chart_date"], COLUMN["chart_report"], **dash)
    beer = scatter(
        book,
        "Final beer pH against sparge pH",
        "Sparge pH after dosing",
        "Final beer pH",
        x_axis={"min": 5.2, "max": 6.4, "num_format": "0.0"},
        y_axis={"min": 3.9, "max": 4.7, "num_format": "0.0"},
    )
    series(beer, "batches", NAME, rows, COLUMN["chart_x"], COLUMN["chart_y"], **marks(WARN))
    series(
        beer,
        "fitted line",
        NAME,
        _fitted_line(sheet),
        COLUMN["chart_x"],
        COLUMN["chart_y"],
        line=DASHED,
    )
    sheet.raw.insert_chart(top, 0, drift, {"x_scale": 1.3, "y_scale": 1.32, "object_position": 2})
    sheet.raw.insert_chart(top, 8, beer, {"x_scale": 1.3, "y_scale": 1.3, "object_position": 2})
