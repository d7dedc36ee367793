"""Mash plan: one row a batch: its mash liquor, target and acid, the pH as predicted, and the
dose.
"""

from __future__ import annotations

from chemcore.acids import find_acid
from workbook_template.template import scenario
from workbook_template.template.book import Book, Sheet
from workbook_template.template.formula import (
    Formula,
    all_of,
    any_of,
    call,
    count_where,
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
    SILENT,
    celsius,
    cost_of,
    filled,
    first_problem,
    in_use,
    liquid_strength,
    looked_up,
    row_of,
    rows_of,
    shelf_row,
    water_ions,
    water_row,
)
from workbook_template.template.sheets import grists
from workbook_template.template.sheets.purchasing import unpriced
from workbook_template.template.sizes import Sizes
from workbook_template.template.table import Input, Row, Shown, Table, Working

NAME = "Mash plan"
TOTALS = 3
HEAD = 6
REMARK_HEIGHT = 25
WARNING = "#F6D5CF"


def _this(c: Row) -> Formula:
    return ref(str(c.number))


def _malts(c: Row, *also: Formula | int) -> Formula:
    """How many rows of the grists are of this mash."""
    return in_use(c, xl.COUNTIFS(name("Grist_mash"), _this(c), *also))


def _of_grist(column: str):
    """The sum of a column of the grists over the rows of this mash, where every one of them has its
    figures.
    """
    return lambda c: when(
        all_of(
            c.used == 1, c.rows > 0, c.rows == c.counted, name("Grist_stray") == grists.NO_STRAY
        ),
        xl.SUMIFS(name(f"Grist_{column}"), name("Grist_mash"), _this(c)),
    )


def _whole(c: Row) -> Formula:
    """Whether every row of the grist has its figures, and there is something in it."""
    return all_of(c.used == 1, c.rows > 0, c.rows == c.counted, xl.N(c.equivalents) > 0)


def _ready(c: Row) -> Formula:
    return all_of(c.used == 1, c.missing == "")


def _sour(c: Row) -> Formula:
    return all_of(c.shelf_row > 0, is_number(c.plain))


def _mash(c: Row) -> tuple[Formula, ...]:
    """The mash as the functions take it: its grist is one malt that stands for all of them."""
    ions = water_ions(c.water_row)
    return ref(f"{c.kg}:{c.malt_buffering}"), c.litres, c.alk, ions


def _errors(c: Row) -> tuple[Formula, Formula]:
    """Errors of the malts' pH and buffering, weighed as they count in the mash: all off to one side
    is the worst.
    """
    return c.ph_error, c.buffering_error


def _plain(called: str):
    """The end of the interval of the mash without acid."""

    def formula(c: Row) -> Formula:
        return when(is_number(c.plain), call(called, *_mash(c), 0, "lactic", 80, *_errors(c)))

    return formula


#: An acid whose anion buffers nothing: it shows how much of a liquor's alkalinity is bicarbonate at
#: a pH.
_BARE = "hydrochloric", find_acid("hydrochloric").default_strength


def _alone(c: Row) -> tuple[Formula | float | str, ...]:
    """The mash liquor without malt, taken to the mash's pH in a closed vessel."""
    temp = looked_up("Water_temp_C", c.water_row)
    return c.alk, c.water_ph, c.after, c.litres, *_BARE, water_ions(c.water_row), temp, 0


def _bicarbonate(c: Row) -> Formula:
    """Alkalinity of the liquor that is bicarbonate still at the mash's pH, and counts only once its
    gas has left.
    """
    alk, ph, _, *tank = _alone(c)
    dosed = call("ALKALINITY_AFTER_ACID", alk, ph, c.to_after, *tank)
    return when(
        is_number(c.after),
        xl.IF(is_number(c.to_after), dosed, first((c.to_after == "", 0), c.to_after)),
    )


def _mixed(c: Row) -> Formula:
    """The mash's pH before the gas of its liquor has left: bicarbonate that is left has taken
    nothing from the malt.
    """
    malt, litres, alk, ions = _mash(c)
    known = all_of(is_number(c.after), is_number(c.bicarbonate))
    kept = call("MASH_PH", malt, litres, alk - c.bicarbonate, ions, c.ml, c.acid_name, c.liquid)
    return when(known, kept)


def _of_acid(column: str):
    return lambda c: when(c.shelf_row > 0, looked_up(f"Shelf_{column}", c.shelf_row))


def _missing(c: Row) -> Formula:
    """The first thing that keeps a mash from its prediction, in words."""
    bad = looked_up("Grist_said", xl.MATCH(_this(c), name("Grist_bad_mash"), 0))
    return in_use(
        c,
        first(
            (c.batch == "", "Choose the batch."),
            (c.same > 1, "This batch has two rows here: clear one of them."),
            (c.namesakes > 1, "Two batches of the plan have this name: give each its own."),
            (c.water_row == 0, NO_WATER),
            *first_problem(c.litres),
            (
                looked_up("Water_ions_given", c.water_row) != 5,
                "Give the five ions of this water on the sheet Water.",
            ),
            (name("Grist_stray") != grists.NO_STRAY, name("Grist_stray")),
            (c.rows == 0, "Give the grist of this batch on the sheet Grists."),
            (c.rows != c.counted, bad),
            (xl.N(c.equivalents) == 0, "There is no malt in the grist: give the weights."),
            "",
        ),
    )


def _problem(c: Row) -> Formula:
    """The first thing that keeps a row from its figures."""
    without_dose = all_of(c.shelf_row > 0, xl.NOT(is_number(c.amount)))
    return in_use(
        c,
        first(
            (c.missing != "", c.missing),
            *first_problem(c.plain, c.low, c.high),
            (xl.COUNT(c.plain, c.low, c.high) < 3, SILENT),
            (all_of(c.acid != "", c.shelf_row == 0), NO_ACID),
            *first_problem(c.aim),
            (all_of(without_dose, c.amount != ""), c.amount),
            (without_dose, SILENT),
            "",
        ),
    )


def _remark(c: Row) -> Formula:
    enough = c.plain <= c.aim
    interval = joined(
        " Target ", shown(c.aim, 2), " is the middle of the mash pH on the sheet Settings."
    )
    return in_use(
        c,
        first(
            (c.problem != "", c.problem),
            joined(
                first(
                    (enough, "At its target or below without any acid."),
                    (c.acid == "", "Above its target: choose an acid, or take acidulated malt."),
                    "Give the first portion, read a cooled sample, then what is still to give.",
                ),
                when(c.target == "", interval),
                when(
                    c.plan_row == 0,
                    " No batch of the plan has this name: its acid has no date to buy it for.",
                ),
                when(
                    all_of(c.shelf_row > 0, xl.NOT(is_number(c.money))),
                    joined(" No cost: ", xl.IFERROR(c.money & "", SILENT)),
                ),
            ),
        ),
    )


def _figure(key: str):
    return lambda c: in_use(c, number_or(c[key], "see remark"))


def _of_sour(key: str):
    """A figure of the acid; empty where the mash has none."""
    return lambda c: in_use(c, when(c.acid != "", number_or(c[key], "see remark")))


MASHES = Table(
    "Mashes",
    head=HEAD,
    rows=Sizes().batches,
    columns=[
        Input("batch", "Batch", width=18, name="batch", choice="=Plan_batch"),
        Input("water", "Water (empty: the batch's)", width=18, name="water", choice="=Water_name"),
        Input(
            "liquor",
            '="Mash liquor, "&Volume_unit',
            width=9,
            number="share",
            name="liquor",
            limits=(0, 1e7, "A volume"),
        ),
        Input(
            "read_at",
            '="read at, "&Temperature_unit&" (empty: cold)"',
            width=10,
            number="share",
            name="read_at",
        ),
        Input(
            "target",
            "Target pH (empty: settings)",
            width=10,
            number="ph",
            name="target",
            limits=(4, 7, "A mash pH"),
        ),
        Input("acid", "Acid (empty: none)", width=20, name="acid", choice="=Shelf_label"),
        Shown(
            "grist",
            '="Grist, "&Mass_unit',
            lambda c: in_use(c, first((c.missing != "", "see remark"), c.kg / name("Mass_kg"))),
            width=9,
            number="mg",
        ),
        Shown(
            "ratio",
            "Liquor to grist, L/kg",
            lambda c: in_use(c, first((c.missing != "", "see remark"), c.litres / c.kg)),
            width=9,
            number="share",
        ),
        Shown("ph", "pH without acid", _figure("plain"), width=9, number="rough_ph"),
        Shown(
            "from_ph",
            "from",
            lambda c: in_use(c, first((is_number(c.low), xl.ROUNDDOWN(c.low, 1)), "see remark")),
            width=7,
            number="rough_ph",
        ),
        Shown(
            "to_ph",
            "to",
            lambda c: in_use(c, first((is_number(c.high), xl.ROUNDUP(c.high, 1)), "see remark")),
            width=7,
            number="rough_ph",
        ),
        Shown("dose", "Acid for the target", _of_sour("amount"), width=10, number="ml"),
        Shown(
            "unit",
            "mL or g",
            lambda c: in_use(c, when(c.acid != "", c.measure)),
            width=6,
            look=("result", "centre"),
        ),
        Shown("mixed", "pH right after mixing", _of_sour("mixed_ph"), width=9, number="ph"),
        Shown("climbs", "can climb to pH", _of_sour("after"), width=9, number="ph"),
        Shown("cost", '="Cost, "&Currency', _of_sour("money"), width=9, number="money"),
        Shown("remark", "Remark", _remark, width=70, look=("remark", "small")),
        Working(
            "used",
            "Row in use",
            lambda c: xl.IF(filled(*c.cells_between("batch", "acid")), 1, 0),
            name="used",
        ),
        Working(
            "same",
            "Rows of this batch",
            lambda c: xl.IF(c.batch == "", 0, rows_of(c.batch, "Mashes_batch")),
        ),
        Working(
            "namesakes",
            "Batches of this name",
            lambda c: xl.IF(c.batch == "", 0, rows_of(c.batch, "Plan_batch")),
        ),
        Working(
            "plan_row",
            "Row of the plan",
            lambda c: xl.IF(c.batch == "", 0, row_of(c.batch, "Plan_batch")),
            name="plan_row",
        ),
        Working(
            "water_row",
            "Water no.",
            lambda c: xl.IF(
                c.water == "",
                xl.IF(c.plan_row > 0, looked_up("Plan_water_row", c.plan_row), 0),
                water_row(c.water, c.date),
            ),
            name="water_row",
        ),
        Working(
            "shelf_row",
            "Shelf no.",
            lambda c: xl.IF(c.acid == "", 0, shelf_row(c.acid)),
            name="shelf_row",
        ),
        Working(
            "date",
            "Date",
            lambda c: when(
                c.plan_row > 0,
                when(
                    is_number(looked_up("Plan_date", c.plan_row)),
                    looked_up("Plan_date", c.plan_row),
                ),
            ),
            name="date",
        ),
        Working(
            "placed",
            "Batch of the plan",
            lambda c: xl.IF(c.plan_row > 0, 1 / c.same, 0),
            name="placed",
        ),
        Working("dated", "Dated", lambda c: xl.IF(is_number(c.date), 1, 0), name="dated"),
        Working(
            "rows",
            "Malts",
            _malts,
            name="malts",
        ),
        Working("counted", "Malts with their figures", lambda c: _malts(c, name("Grist_whole"), 1)),
        Working(
            "ph_off",
            "kg x buffering x error of pH",
            lambda c: first(
                (is_number(name("Error_ph")), _of_grist("ph_off")(c)),
                "Check malt_ph_error: type the standard error of a pH reading on the sheet"
                " Settings",
            ),
        ),
        Working(
            "ph_error",
            "Error of the malts' pH",
            lambda c: when(
                _whole(c), first((is_number(c.ph_off), c.ph_off / c.equivalents), c.ph_off)
            ),
            name="ph_error",
        ),
        Working(
            "buffering_error",
            "Error of their buffering, % (empty: typical)",
            lambda c: when(
                all_of(_whole(c), _malts(c, name("Grist_buffering_known"), 1) == c.rows),
                xl.SUMIFS(name("Grist_buffering_off"), name("Grist_mash"), _this(c))
                / c.equivalents,
            ),
            name="buffering_error",
        ),
        Working("equivalents", "kg x buffering", _of_grist("equivalents")),
        Working("base", "kg x buffering x pH", _of_grist("base")),
        Working("kg", "Grist, kg", _of_grist("kg"), name="kg"),
        Working("malt_ph", "Its pH", lambda c: when(_whole(c), c.base / c.equivalents)),
        Working("malt_buffering", "Its buffering", lambda c: when(_whole(c), c.equivalents / c.kg)),
        Working(
            "litres",
            "Liquor, L",
            lambda c: in_use(
                c,
                call(
                    "COLD_LITRES",
                    call("LITRES", c.liquor, name("Volume_unit")),
                    first((c.read_at == "", 20), celsius(c.read_at)),
                ),
            ),
            name="litres",
        ),
        Working("missing", "What is missing of the mash", _missing, name="missing"),
        Working(
            "alk",
            "Alkalinity",
            lambda c: when(_ready(c), looked_up("Water_alkalinity", c.water_row)),
            name="alkalinity",
        ),
        Working(
            "water_ph",
            "pH of the liquor",
            lambda c: when(_ready(c), looked_up("Water_pH", c.water_row)),
        ),
        Working(
            "plain",
            "pH without acid",
            lambda c: when(_ready(c), call("MASH_PH", *_mash(c))),
            name="pH",
        ),
        Working("low", "from", _plain("MASH_PH_LOWEST"), name="low"),
        Working("high", "to", _plain("MASH_PH_HIGHEST"), name="high"),
        Working(
            "aim",
            "Target",
            lambda c: in_use(
                c,
                first(
                    (
                        c.target != "",
                        first((is_number(c.target), c.target), "Type the target pH as a number."),
                    ),
                    (
                        xl.COUNT(name("Mash_pH_low"), name("Mash_pH_high")) == 2,
                        (name("Mash_pH_low") + name("Mash_pH_high")) / 2,
                    ),
                    "Give the usual mash pH on the sheet Settings, or a target here.",
                ),
            ),
            name="aim",
        ),
        Working("acid_name", "Acid", _of_acid("acid"), name="acid_name"),
        Working("strength", "Strength, %", _of_acid("strength")),
        Working("measure", "Measured in", _of_acid("measure"), name="unit"),
        Working(
            "liquid",
            "Strength for mL",
            lambda c: when(c.shelf_row > 0, liquid_strength(c.measure, c.strength)),
            name="liquid",
        ),
        Working(
            "each",
            "mL at that for each mL or g",
            lambda c: when(
                c.shelf_row > 0,
                xl.IF(c.measure == "g", c.strength / 50 / call("ACID_DENSITY", c.acid_name, 50), 1),
            ),
            name="each",
        ),
        Working(
            "ml",
            "mL at that",
            lambda c: when(
                all_of(_sour(c), is_number(c.aim)),
                xl.IF(
                    c.plain <= c.aim,
                    0,
                    call("MASH_ACID_DOSE", *_mash(c), c.aim, c.acid_name, c.liquid),
                ),
            ),
            name="ml",
        ),
        Working(
            "amount",
            "mL, or g of powder",
            lambda c: when(
                _sour(c),
                xl.IF(
                    xl.COUNT(c.ml, c.each) == 2, c.ml / c.each, xl.IF(is_number(c.ml), c.each, c.ml)
                ),
            ),
            name="amount",
        ),
        Working(
            "after",
            "pH with the acid, gas gone",
            lambda c: when(
                is_number(c.ml), call("MASH_PH", *_mash(c), c.ml, c.acid_name, c.liquid)
            ),
            name="after",
        ),
        Working(
            "to_after",
            "Hydrochloric acid that takes the liquor alone there, mL",
            lambda c: when(
                all_of(is_number(c.after), c.water_ph > c.after), call("ACID_DOSE", *_alone(c))
            ),
        ),
        Working("bicarbonate", "Alkalinity that is bicarbonate there, gas kept", _bicarbonate),
        Working(
            "mixed_ph",
            "pH right after mixing, gas kept",
            _mixed,
            name="mixed",
        ),
        Working(
            "money",
            "Cost",
            lambda c: when(is_number(c.amount), cost_of(c.amount, c.shelf_row)),
            name="money",
        ),
        Working("problem", "What is missing", _problem, name="problem"),
        Working(
            "complete",
            "Complete",
            lambda c: xl.IF(all_of(c.acid != "", c.problem == "", is_number(c.amount)), 1, 0),
            name="complete",
        ),
        Working(
            "in_both",
            "Sparge with the same acid",
            lambda c: xl.IF(
                all_of(c.acid != "", c.plan_row > 0),
                xl.IF(xl.INDEX(name("Plan_acid"), xl.MAX(1, c.plan_row)) == c.acid, 1, 0),
                0,
            ),
            name="in_both",
        ),
        Working(
            "astray",
            "With an acid that is none",
            lambda c: xl.IF(all_of(c.used == 1, c.acid != "", c.shelf_row == 0), 1, 0),
            name="astray",
        ),
        Working("bad_row", "Row", lambda c: first((c.problem == "", ""), xl.ROW()), name="bad_row"),
        Working(
            "unpriced",
            "Row without a cost",
            lambda c: first((any_of(c.acid == "", is_number(c.money)), ""), xl.ROW()),
            name="unpriced",
        ),
    ],
)


def write(book: Book) -> None:
    """Write the sheet."""
    mashes = MASHES.sized(book.sizes.batches)
    sheet = book.sheet(NAME, mashes.widths)
    sheet.text(0, 0, "Mash plan", "title")
    sheet.across(
        1,
        0,
        mashes.page_end,
        "One row a batch that is mashed: choose the batch, give its mash liquor, target and acid;"
        " its malts stand on the sheet Grists. The pH is a prediction: give part of the acid, read"
        " a cooled sample, then the rest.",
        "lead",
    )
    sheet.cautions(2, mashes.page_end)
    _totals(sheet)
    sheet.across(HEAD - 1, mashes.gap + 1, mashes.end, "Workings: one step a column", "section")
    ends = mashes.at["kg"], mashes.at["malt_buffering"]
    sheet.name_range("Mashes_malt", (mashes.first, ends[0]), (mashes.last, ends[1]))
    mashes.write(sheet, [mash[:6] for mash in scenario.MASHES], height=46)
    mashes.ends(sheet, "batches")
    for row in range(mashes.first, mashes.last + 1):
        sheet.raw.set_row(row, REMARK_HEIGHT)
    for words in (
        "Choose",
        "Give the five",
        "Give the grist",
        "Give the usual",
        "Grists, row",
        "Check ",
        "Two batches",
        "This batch",
        SILENT[:13],
    ):
        mashes.coloured(sheet, "remark", "begins with", words, WARNING)
    mashes.coloured(sheet, "remark", "containing", "Above its target", "#FBE8C4")
    sheet.finish(
        area=(0, 0, mashes.last, mashes.page_end),
        repeat=HEAD,
        freeze=(HEAD + 1, 1),
        tall=book.sizes.pages,
    )


def _totals(sheet: Sheet) -> None:
    """What all mashes cost, or the first row that has no figure, and what the table leaves out."""
    acids = count_where(name("Mashes_acid") != "")
    row = joined("row ", xl.MIN(name("Mashes_unpriced")), ": see remark")
    money = name("Mashes_money")
    without = xl.ROUND(xl.SUM(name("Plan_used")) - xl.SUM(name("Mashes_placed")), 0)
    loose = xl.SUM(name("Grist_loose"))
    for column, title, formula, number in (
        (1, "Mashes", xl.SUM(name("Mashes_used")), "count"),
        (
            2,
            '="Acid, "&Currency',
            first((xl.COUNT(money) == acids, xl.SUM(money)), unpriced(), row),
            "money",
        ),
        (
            5,
            "Batches left out",
            first((without <= 0, "no batch"), joined(without, " of the plan")),
            "plain",
        ),
        (
            11,
            "Malts left out",
            first((loose == 0, "no malt"), joined(loose, " of Grists")),
            "plain",
        ),
    ):
        sheet.headers(TOTALS, column, [title], height=None)
        sheet.formula(TOTALS + 1, column, formula, "result", number, "centre")
    sheet.raw.set_row(TOTALS, 27)
    sheet.text(TOTALS + 1, 0, "Total", "label")
