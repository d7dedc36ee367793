"""Grists: the malts of every batch, one row a malt, and what each brings into the mash."""

from __future__ import annotations

from xlsxwriter.utility import xl_rowcol_to_cell

from chemcore.tables import constant
from workbook_template.template import scenario
from workbook_template.template.book import Book
from workbook_template.template.form import Answer, Form, Typed
from workbook_template.template.formula import (
    Formula,
    all_of,
    any_of,
    first,
    is_number,
    joined,
    name,
    number_or,
    ref,
    when,
    xl,
)
from workbook_template.template.layout import filled, in_use, looked_up, row_of
from workbook_template.template.sheets.malts import BUFFERING_LIMITS, PH_LIMITS
from workbook_template.template.sizes import KG_PER_LB, Sizes
from workbook_template.template.table import Input, Row, Shown, Table, Working

NAME = "Grists"
HEAD = 6
#: The most of one malt, in kg: the bound of the functions of the mash.
MOST = 1e6
#: Error of a malt's pH that is typical of its kind only.
TYPICAL_ERROR = constant("mash_malt_ph_error")
TYPED, UNIT, EACH = "Malt_weighed_in", "Mass_unit", "Mass_kg"


def _unit() -> Formula:
    """The unit of weight: what is typed, or that which goes with the unit of volume."""
    volume = name("Volume_unit")
    return first(
        (name(TYPED) != "", name(TYPED)),
        (any_of(xl.LEFT(volume, 2) == "US", xl.LEFT(volume, 3) == "imp"), "lb"),
        "kg",
    )


def _loose() -> Formula:
    """What is said of the rows that belong to no mash."""
    loose, row = xl.SUM(name("Grist_loose")), xl.MATCH(1, name("Grist_loose"), 0) + HEAD + 1
    return first(
        (loose == 0, "none"),
        joined(loose, ": see the remark of row ", row),
    )


SET_UP = Form(
    row=2,
    note=3,
    lines=[
        Typed(
            "Malt is weighed in (empty: as below)",
            name=TYPED,
            choice=("kg", "lb"),
            what="Unit of weight",
            note="lb with volumes in US or imperial units, otherwise kg",
        ),
        Answer("Unit of weight", _unit(), name=UNIT, look=("result",)),
        Answer("Rows that no mash counts", _loose(), look=("result",)),
    ],
)
#: Beside the workings: kilograms in a unit of weight, and the first row that no batch can be
#: charged with. What stands for no such row. A word, as LibreOffice keeps no empty result in an
#: .ods: it works it out again on loading, and where another formula asks for it in the midst of
#: that, it is 0.
NO_STRAY = "none"
STEPS = Form(
    row=HEAD - 4,
    label=10,
    figure=11,
    look="text",
    lines=[
        Answer(
            "kg in a unit",
            first((name(UNIT) == "lb", KG_PER_LB), (name(UNIT) == "kg", 1), "no unit"),
            name=EACH,
            look=("cell",),
        ),
        Answer(
            "Row of no batch",
            first(
                (
                    xl.SUM(name("Grist_astray")) > 0,
                    looked_up("Grist_said", xl.MATCH(1, name("Grist_astray"), 0)),
                ),
                NO_STRAY,
            ),
            name="Grist_stray",
            look=("cell",),
        ),
    ],
)


def _fact(own: str, column: str):
    """A figure of a malt: the measured one, or that of the sheet Malts."""
    return lambda c: in_use(
        c,
        first(
            (c[own] != "", c[own]), (c.malt_row > 0, looked_up(f"Malt_{column}", c.malt_row)), ""
        ),
    )


def _error(c: Row, column: str) -> Formula:
    """An error that the sheet Malts has for this malt; nothing where none is given there."""
    cell = looked_up(f"Malt_{column}_error", c.malt_row)
    return when(c.malt_row > 0, first((is_number(cell), cell), ""))


def _ph_off(c: Row) -> Formula:
    """What the malt's pH may be off by, weighed as in the mash: the meter's error for a lot that
    was measured itself.
    """
    titrated = _error(c, "pH")
    error = first(
        (is_number(c.own_ph), 2 * name("Error_ph")), (titrated != "", titrated), TYPICAL_ERROR
    )
    return when(c.whole == 1, c.equivalents * error)


def _buffering_off(c: Row) -> Formula:
    """What its buffering may be off by, weighed likewise; nothing where that is not known."""
    titrated = _error(c, "buffering")
    return when(
        all_of(c.whole == 1, c.own_buffering == "", titrated != ""), c.equivalents * titrated
    )


def _outside(figure: Formula, low: float, high: float) -> Formula:
    return any_of(xl.NOT(is_number(figure)), figure < low, figure > high)


def _problem(c: Row) -> Formula:
    """The first thing that keeps a row from being counted, in words."""
    (lowest, highest, _), (least, most, _) = PH_LIMITS, BUFFERING_LIMITS
    return in_use(
        c,
        first(
            (c.batch == "", "Choose the batch."),
            (
                c.mash == 0,
                (
                    "This batch has no row of its own on the sheet Mash plan: give it one, with its"
                    " liquor."
                ),
            ),
            (
                any_of(c.ph == "", c.buffer == ""),
                "Choose a malt of the sheet Malts, or type its own pH and buffering.",
            ),
            (
                _outside(c.ph, lowest, highest),
                f"Its pH in demineralised water is a number from {lowest:g} to {highest:g}.",
            ),
            (
                _outside(c.buffer, least, most),
                f"Its buffering is a number from {least:g} to {most:g} mEq/(kg·pH).",
            ),
            (xl.NOT(is_number(name(EACH))), "Choose kg or lb at the top of this sheet."),
            (c.weight == "", "Give its weight."),
            (_outside(c.weight, 0, MOST), f"Its weight is a number from 0 to {MOST:,.0f}."),
            "",
        ),
    )


def _remark(c: Row) -> Formula:
    own = xl.COUNT(c.own_ph, c.own_buffering)
    return in_use(
        c,
        first(
            (c.problem != "", c.problem),
            (own == 2, "measured figures"),
            (own == 1, "one measured figure"),
            "typical figures",
        ),
    )


def _share(c: Row) -> Formula:
    whole = looked_up("Mashes_kg", c.mash)
    return when(c.whole == 1, first((is_number(whole), when(whole > 0, 100 * c.kg / whole)), ""))


def _so_far(c: Row) -> Formula:
    """How many rows of the mash that the sheet Mash shows stand so far, this one included."""
    above = ref(xl_rowcol_to_cell(c.row - 1, c.table.at["so_far"]))
    return xl.N(above) + xl.IF(all_of(c.mash > 0, c.mash == name("Mash_row")), 1, 0)


GRIST = Table(
    "Grist",
    head=HEAD,
    rows=Sizes().grist,
    columns=[
        Input("batch", "Batch", width=32, name="batch", choice="=Plan_batch"),
        Input("malt", "Malt", width=26, name="malt", choice="=Malt_name", free=True),
        Input(
            "weight",
            f'="Weight, "&{UNIT}',
            width=10,
            number="share",
            name="weight",
            limits=(0, MOST, "A weight"),
        ),
        Input(
            "own_ph",
            "Own pH, if measured",
            width=11,
            number="ph",
            name="own_pH",
            limits=PH_LIMITS,
        ),
        Input(
            "own_buffering",
            "Own buffering, mEq/(kg·pH)",
            width=14,
            number="share",
            name="own_buffering",
            limits=BUFFERING_LIMITS,
        ),
        Shown(
            "ph_used", "pH used", lambda c: in_use(c, number_or(c.ph, "see remark")), number="ph"
        ),
        Shown(
            "buffering_used",
            "Buffering, mEq/(kg·pH)",
            lambda c: in_use(c, number_or(c.buffer, "see remark")),
            number="share",
        ),
        Shown("share", "Share of the grist, %", _share, number="share"),
        Shown("remark", "Remark", _remark, name="remark", look=("remark",)),
        Working(
            "used",
            "Row in use",
            lambda c: xl.IF(filled(*c.cells_between("batch", "own_buffering")), 1, 0),
        ),
        Working(
            "mash",
            "Mash no.",
            lambda c: xl.IF(all_of(c.used == 1, c.batch != ""), row_of(c.batch, "Mashes_batch"), 0),
            name="mash",
        ),
        Working(
            "malt_row", "Malt no.", lambda c: xl.IF(c.used == 1, row_of(c.malt, "Malt_name"), 0)
        ),
        Working("ph", "pH", _fact("own_ph", "pH"), name="pH"),
        Working("buffer", "Buffering", _fact("own_buffering", "buffering"), name="buffering"),
        Working("problem", "What is missing", _problem, name="problem"),
        Working(
            "said",
            "With its place",
            lambda c: when(c.problem != "", joined("Grists, row ", xl.ROW(), ": ", c.problem)),
            name="said",
        ),
        Working(
            "whole",
            "Counted",
            lambda c: xl.IF(all_of(c.used == 1, c.problem == ""), 1, 0),
            name="whole",
        ),
        Working("kg", "kg", lambda c: when(c.whole == 1, c.weight * name(EACH)), name="kg"),
        Working(
            "equivalents",
            "kg x buffering",
            lambda c: when(c.whole == 1, c.kg * c.buffer),
            name="equivalents",
        ),
        Working(
            "base",
            "kg x buffering x pH",
            lambda c: when(c.whole == 1, c.equivalents * c.ph),
            name="base",
        ),
        Working(
            "ph_off",
            "kg x buffering x error of pH",
            _ph_off,
            name="ph_off",
        ),
        Working(
            "buffering_off",
            "kg x error of buffering, %",
            _buffering_off,
            name="buffering_off",
        ),
        Working(
            "buffering_known",
            "Error of buffering known",
            lambda c: xl.IF(is_number(c.buffering_off), 1, 0),
            name="buffering_known",
        ),
        Working(
            "bad_mash",
            "Mash that it keeps",
            lambda c: xl.IF(all_of(c.used == 1, c.problem != ""), c.mash, 0),
            name="bad_mash",
        ),
        Working(
            "loose",
            "Of no mash",
            lambda c: xl.IF(all_of(c.used == 1, c.mash == 0), 1, 0),
            name="loose",
        ),
        Working(
            "astray",
            "Of no batch",
            lambda c: xl.IF(all_of(c.loose == 1, row_of(c.batch, "Plan_batch") == 0), 1, 0),
            name="astray",
        ),
        Working("so_far", "Rows of the mash shown", _so_far, name="so_far"),
    ],
)


def write(book: Book) -> None:
    """Write the sheet."""
    grist = GRIST.sized(book.sizes.grist)
    sheet = book.sheet(NAME, [*(column.width or 12 for column in grist.page[:-1]), 62, 3])
    sheet.text(0, 0, "Grists", "title")
    sheet.across(
        1,
        0,
        grist.page_end,
        "One row a malt, as many rows a batch as it has malts, in any order. Liquor, target and"
        " acid of each mash stand on the sheet Mash plan. A malt that was measured takes its own"
        " figures; otherwise those of the sheet Malts are used.",
        "lead",
        height=28,
    )
    SET_UP.write(sheet)
    STEPS.write(sheet)
    sheet.across(HEAD - 1, grist.gap + 1, grist.end, "Workings", "section")
    rows = [
        (mash.batch, malt.malt, malt.kg, malt.ph, malt.buffering)
        for mash in scenario.MASHES
        for malt in mash.grist
    ]
    grist.write(sheet, rows)
    grist.ends(sheet, "batches")
    for words in ("Choose", "This batch", "Its ", "Give"):
        grist.coloured(sheet, "remark", "begins with", words, "#F6D5CF")
    sheet.finish(area=(0, 0, grist.last, grist.page_end), repeat=HEAD, freeze=(grist.first, 2))
