"""Mash: the batch chosen, its grist and liquor, the pH as predicted, the acid, and what the meter
says.
"""

from __future__ import annotations

from workbook_template.template.book import Book, Sheet
from workbook_template.template.form import Answer, Form
from workbook_template.template.formula import (
    Formula,
    all_of,
    call,
    first,
    is_number,
    joined,
    name,
    number_or,
    shown,
    when,
    xl,
)
from workbook_template.template.layout import looked_up, row_of, water_ions
from workbook_template.template.table import Row, Shown, Table, Working

NAME = "Mash"
#: Rows of a grist that are shown; the remark says where there are more.
GRIST_ROWS = 14
HEAD = 10
LABEL, FIGURE, NOTE = 7, 8, 9
WORKINGS = 11
SEE = "see remark"
PREDICTED = "of a cooled sample"

CHOSEN, GOOD = name("Mash_row") > 0, name("Mash_problem") == ""
SOUR = name("Mash_shelf_row") > 0
IS_READ = is_number(name("Mash_read"))


def _of_mash(column: str, otherwise: str | int = "") -> Formula:
    """A column of the sheet Mash plan, in the row of the batch."""
    return xl.IF(CHOSEN, looked_up(f"Mashes_{column}", name("Mash_row")), otherwise)


def _typed(column: str) -> Formula:
    """What is typed there; an empty cell stays empty."""
    cell = looked_up(f"Mashes_{column}", name("Mash_row"))
    return when(CHOSEN, when(cell != "", cell))


def _was_read(column: str) -> Formula:
    """What the sheet Readings has of this batch; an empty cell stays empty."""
    cell = looked_up(f"Read_{column}", name("Mash_read_row"))
    return when(name("Mash_read_row") > 0, when(cell != "", cell))


def _mash() -> tuple[Formula, ...]:
    """The mash as the functions take it."""
    return (
        xl.INDEX(name("Mashes_malt"), name("Mash_row"), 0),
        name("Mash_litres"),
        name("Mash_alkalinity"),
        water_ions(name("Mash_water_row")),
    )


def _with(amount: str, called: str) -> Formula:
    """A function of the mash with so many mL of its acid."""
    error = () if called == "MASH_PH" else (_of_mash("ph_error"), _of_mash("buffering_error"))
    acid = name(amount), name("Mash_acid_name"), name("Mash_liquid")
    return when(
        all_of(GOOD, CHOSEN),
        xl.IF(SOUR, call(called, *_mash(), *acid, *error), name(_PLAIN[called])),
    )


#: The mash without acid, by the function that says it.
_PLAIN = {"MASH_PH": "Mash_plain", "MASH_PH_LOWEST": "Mash_low", "MASH_PH_HIGHEST": "Mash_high"}


def _more() -> Formula:
    """mL that the mash still takes, from the pH read and the malts' buffering."""
    aim = name("Mash_aim") - (name("Mash_read") - name("Mash_then"))
    asked = all_of(GOOD, SOUR, IS_READ, is_number(name("Mash_then")))
    needed = call("MASH_ACID_DOSE", *_mash(), aim, name("Mash_acid_name"), name("Mash_liquid"))
    return when(asked, xl.IF(name("Mash_read") <= name("Mash_aim"), 0, needed))


def _of_reading(answer: Formula) -> Formula:
    known = all_of(CHOSEN, GOOD, IS_READ, is_number(name("Mash_then")))
    return when(known, answer)


STEPS = Form(
    row=5,
    label=WORKINGS,
    figure=WORKINGS + 1,
    look="text",
    lines=[
        Answer(label, formula, name=f"Mash_{ending}", look=("cell",))
        for ending, label, formula in (
            ("row", "Row of the mash plan", row_of("Mash_batch", "Mashes_batch")),
            ("plan_row", "Row of the plan", row_of("Mash_batch", "Plan_batch")),
            (
                "problem",
                "What is missing",
                first(
                    (name("Mash_batch") == "", "Choose a batch on the sheet Sparge day."),
                    (
                        name("Mash_row") == 0,
                        (
                            "This batch has no row on the sheet Mash plan: give its mash liquor"
                            " there, and its malts on the sheet Grists."
                        ),
                    ),
                    _of_mash("problem"),
                ),
            ),
            ("water_row", "Water no.", _of_mash("water_row", 0)),
            ("shelf_row", "Shelf no.", _of_mash("shelf_row", 0)),
            ("shelf_label", "Acid on the shelf", _typed("acid")),
            ("litres", "Liquor, L", _of_mash("litres")),
            ("alkalinity", "Alkalinity", _of_mash("alkalinity")),
            ("kg", "Grist, kg", _of_mash("kg")),
            ("malts", "Malts", _of_mash("malts", 0)),
            ("plain", "pH without acid", _of_mash("pH")),
            ("low", "    from", _of_mash("low")),
            ("high", "    to", _of_mash("high")),
            ("aim", "Target pH", _of_mash("aim")),
            ("acid_name", "Acid", _of_mash("acid_name")),
            ("unit", "Measured in", first((SOUR, _of_mash("unit")), "mL")),
            ("liquid", "Strength for mL", _of_mash("liquid")),
            ("each", "mL at that for each mL or g", _of_mash("each")),
            ("ml", "mL at that", _of_mash("ml")),
            ("amount", "mL, or g of powder", _of_mash("amount")),
            ("money", "Cost", _of_mash("money")),
            ("after", "pH with the acid", _with("Mash_ml", "MASH_PH")),
            ("mixed", "pH right after mixing, gas kept", _of_mash("mixed")),
            ("after_low", "    from", _with("Mash_ml", "MASH_PH_LOWEST")),
            ("after_high", "    to", _with("Mash_ml", "MASH_PH_HIGHEST")),
            (
                "anion",
                "Anion, mg/L",
                when(
                    all_of(GOOD, SOUR),
                    call(
                        "ACID_ANION",
                        name("Mash_ml"),
                        name("Mash_litres"),
                        name("Mash_acid_name"),
                        name("Mash_liquid"),
                    ),
                ),
            ),
            (
                "residual",
                "Residual alkalinity",
                when(
                    all_of(GOOD, CHOSEN),
                    call(
                        "RESIDUAL_ALKALINITY",
                        name("Mash_alkalinity"),
                        looked_up("Water_calcium", "Mash_water_row"),
                        xl.INDEX(name("Water_ions"), name("Mash_water_row"), 2),
                    ),
                ),
            ),
            (
                "acid_malt",
                "Acidulated malt, kg",
                when(
                    all_of(GOOD, CHOSEN),
                    xl.IF(
                        name("Mash_plain") <= name("Mash_aim"),
                        0,
                        call(
                            "ACID_MALT_MASS",
                            *_mash(),
                            name("Mash_aim"),
                            name("Acid_malt_lactic"),
                        ),
                    ),
                ),
            ),
            ("read_row", "Row of the readings", row_of("Mash_batch", "Read_batch")),
            (
                "given",
                "Given before the reading",
                first((_was_read("mash_ml") == "", 0), _was_read("mash_ml")),
            ),
            ("read", "pH read", _was_read("mash_ph")),
            (
                "given_ml",
                "Given, mL at that",
                when(
                    all_of(GOOD, SOUR),
                    xl.IF(
                        is_number(name("Mash_given")),
                        name("Mash_given") * name("Mash_each"),
                        name("Mash_given"),
                    ),
                ),
            ),
            ("then", "pH predicted then", _with("Mash_given_ml", "MASH_PH")),
            ("then_low", "    from", _with("Mash_given_ml", "MASH_PH_LOWEST")),
            ("then_high", "    to", _with("Mash_given_ml", "MASH_PH_HIGHEST")),
            ("more_ml", "Needed in all by the reading, mL at that", _more()),
        )
    ],
)


def _figure(ending: str) -> Formula:
    """A working as the reader sees it."""
    return when(CHOSEN, xl.IF(GOOD, number_or(name(f"Mash_{ending}"), SEE), SEE))


def _of_sour(answer: Formula) -> Formula:
    """What is said of the acid; nothing where the mash has none."""
    return when(all_of(CHOSEN, name("Mash_shelf_label") != ""), answer)


def _interval(ending: str) -> Formula:
    """From where to where a reading may lie, rounded outwards."""
    low, high = name(f"Mash_{ending}low"), name(f"Mash_{ending}high")
    ends = shown(xl.ROUNDDOWN(low, 1), 1), " to ", shown(xl.ROUNDUP(high, 1), 1)
    return when(xl.COUNT(low, high) == 2, joined(*ends))


def _missed() -> Formula:
    """The reading against the prediction, no closer than the prediction is shown."""
    off = name("Mash_read") - name("Mash_then")
    side = first((off > 0, " above"), " below")
    return _of_reading(first((xl.ABS(off) < 0.05, "as predicted"), shown(xl.ABS(off), 1) & side))


def _still() -> Formula:
    needed, given = name("Mash_more_ml"), name("Mash_given")
    return _of_reading(
        first(
            (name("Mash_read") <= name("Mash_aim"), "no more"),
            (xl.NOT(SOUR), "no acid"),
            (
                xl.COUNT(needed, given, name("Mash_each")) == 3,
                xl.MAX(0, needed / name("Mash_each") - given),
            ),
            (xl.ISTEXT(needed), needed),
            SEE,
        )
    )


SET_UP = Form(
    row=5,
    span=2,
    lines=[
        Answer(
            "Batch",
            first((name("Day_batch") == "", ""), name("Day_batch")),
            name="Mash_batch",
            look=("result",),
        ),
        Answer(
            "Water",
            when(name("Mash_water_row") > 0, looked_up("Water_name", "Mash_water_row")),
            look=("result",),
        ),
        Answer('="Grist, "&Mass_unit', _figure("kg"), number="share"),
    ],
)
PREDICTION = Form(
    row=5,
    label=LABEL,
    figure=FIGURE,
    note=NOTE,
    lines=[
        Answer("Mash liquor, L at 20 °C", _figure("litres"), number="litres"),
        Answer(
            "Liquor to grist, L/kg",
            when(all_of(CHOSEN, GOOD), name("Mash_litres") / name("Mash_kg")),
            number="share",
        ),
        Answer(
            "Residual alkalinity of the liquor",
            _figure("residual"),
            number="mg",
            note="mg/L as CaCO3; raises mash pH",
        ),
        Answer("pH without acid, predicted", _figure("plain"), number="rough_ph", note=PREDICTED),
        Answer("    a reading is expected at", _interval("")),
    ],
)
ACID = Form(
    row=PREDICTION.last + 3,
    label=LABEL,
    figure=FIGURE,
    note=NOTE,
    lines=[
        Answer("Target pH", when(CHOSEN, name("Mash_aim")), number="ph"),
        Answer("Acid", name("Mash_shelf_label")),
        Answer(
            '="Acid for the target, "&Mash_unit',
            _of_sour(_figure("amount")),
            name="Mash_dose",
            number="ml",
        ),
        Answer(
            '="First portion, "&Mash_unit',
            _of_sour(
                xl.IF(
                    xl.COUNT(name("Mash_dose"), name("First_portion")) == 2,
                    name("Mash_dose") * name("First_portion"),
                    SEE,
                )
            ),
            number="ml",
            note="share as on the sheet Settings",
        ),
        Answer(
            "pH right after mixing, all of the acid given",
            _of_sour(_figure("mixed")),
            number="ph",
            note="while the gas of the liquor is still in the mash",
        ),
        Answer(
            "    can climb to pH, predicted",
            _of_sour(_figure("after")),
            number="ph",
            note="as the gas leaves: read again before more acid",
        ),
        Answer("    a reading is expected at", _of_sour(_interval("after_"))),
        Answer(
            "Anion brought, mg/L of the mash liquor",
            _of_sour(_figure("anion")),
            number="mg",
        ),
        Answer('="Cost, "&Currency', _of_sour(_figure("money")), number="money"),
        Answer(
            '="or acidulated malt, "&Mass_unit',
            when(
                CHOSEN,
                xl.IF(
                    is_number(name("Mash_acid_malt")), name("Mash_acid_malt") / name("Mass_kg"), SEE
                ),
            ),
            number="share",
            note="in place of the acid, on top of the grist",
        ),
    ],
)
READING = Form(
    row=ACID.last + 3,
    label=LABEL,
    figure=FIGURE,
    note=NOTE,
    lines=[
        Answer(
            '="Acid given before the reading, "&Mash_unit',
            when(IS_READ, name("Mash_given")),
            number="ml",
            note="from the sheet Readings; empty there: none",
        ),
        Answer(
            "pH read, cooled sample", name("Mash_read"), number="ph", note="from the sheet Readings"
        ),
        Answer("pH predicted for that", _of_reading(name("Mash_then")), number="rough_ph"),
        Answer("    a reading is expected at", _of_reading(_interval("then_"))),
        Answer("pH read against the prediction", _missed(), name="Mash_missed"),
        Answer(
            '="Still to give by the reading, "&Mash_unit',
            _still(),
            name="Mash_more",
            number="ml",
            note="from the pH read and the malts' buffering",
        ),
    ],
)


def _of_malt(column: str):
    return lambda c: when(c.place > 0, looked_up(f"Grist_{column}", c.place))


def _shown_malt(column: str):
    """A figure of a malt, or where to look."""

    def formula(c: Row) -> Formula:
        cell = looked_up(f"Grist_{column}", c.place)
        return when(c.place > 0, number_or(cell, SEE))

    return formula


GRIST = Table(
    "Shown_grist",
    head=HEAD,
    rows=GRIST_ROWS,
    workings=WORKINGS + 3,
    columns=[
        Shown(
            "malt",
            "Malt",
            lambda c: when(
                c.place > 0,
                when(looked_up("Grist_malt", c.place) != "", looked_up("Grist_malt", c.place)),
            ),
            look=("remark",),
        ),
        Shown(
            "weight",
            '="Weight, "&Mass_unit',
            lambda c: when(c.place > 0, number_or(looked_up("Grist_weight", c.place), SEE)),
            number="share",
        ),
        Shown(
            "share",
            "Share, %",
            lambda c: when(
                all_of(c.place > 0, GOOD),
                100 * looked_up("Grist_kg", c.place) / name("Mash_kg"),
            ),
            number="share",
        ),
        Shown("ph", "pH used", _shown_malt("pH"), number="ph"),
        Shown("buffering", "Buffering, mEq/(kg·pH)", _shown_malt("buffering"), number="share"),
        Shown("remark", "Figures", _of_malt("remark"), look=("remark", "small")),
        Working(
            "place",
            "Row of the grists",
            lambda c: xl.IFERROR(xl.MATCH(c.number, name("Grist_so_far"), 0), 0),
        ),
    ],
)
REMARK = GRIST.last + 2


def _remark() -> Formula:
    """What to do, how sure it is, and what the reading says of it."""
    plain, aim, read = name("Mash_plain"), name("Mash_aim"), name("Mash_read")
    after = name("Mash_after")
    off = xl.MAX(name("Mash_after_high") - after, after - name("Mash_after_low"))
    within = all_of(read >= name("Mash_then_low"), read <= name("Mash_then_high"))
    do = first(
        (plain <= aim, "The mash is predicted at its target or below without any acid. "),
        (xl.NOT(SOUR), "Choose an acid on the sheet Mash plan, or take the acidulated malt. "),
        "Give the first portion, mix, read a cooled sample, then what is still to give. ",
    )
    sure = joined(
        "The prediction is good to about ",
        shown(xl.ROUNDUP(off, 1), 1),
        " pH on either side: the meter decides. ",
    )
    said = when(
        all_of(IS_READ, is_number(name("Mash_then"))),
        first(
            (within, "The reading lies within what was predicted. "),
            "The reading is outside what was predicted: check volumes, the malts' figures and the"
            " meter before more acid goes in. ",
        ),
    )
    cost = when(
        all_of(SOUR, xl.ISTEXT(name("Mash_money"))), joined("No cost: ", name("Mash_money"), " ")
    )
    dated = when(
        name("Mash_plan_row") == 0,
        "No batch of the plan has this name: its acid has no date to buy it for. ",
    )
    more = when(
        name("Mash_malts") > GRIST_ROWS,
        joined(name("Mash_malts") - GRIST_ROWS, " more malts stand on the sheet Grists. "),
    )
    return joined(
        first((xl.NOT(GOOD), name("Mash_problem")), joined(do, sure, said, cost, dated)),
        more,
    )


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [27, 11, 9, 9, 14, 22, 2, 42, 22, 46, 3, 30, 16, 3, 16])
    sheet.text(0, 0, "Mash", "title")
    sheet.across(
        1,
        0,
        NOTE,
        "The mash of the batch chosen on the sheet Sparge day, from the sheets Mash plan, Grists"
        " and Readings. The pH is a prediction, which is why an interval stands beside it; give"
        " part of the acid, read a cooled sample, then the rest.",
        "lead",
    )
    sheet.cautions(2, NOTE)
    for row, words in (
        (4, "What it says"),
        (ACID.row - 1, "Acid for the mash"),
        (READING.row - 1, "On the day"),
    ):
        sheet.across(row, LABEL, NOTE, words, "section")
    sheet.across(4, 0, GRIST.page_end, "The mash", "section")
    for form in (SET_UP, PREDICTION, ACID, READING, STEPS):
        form.write(sheet)
    sheet.across(4, WORKINGS, WORKINGS + 1, "Workings", "section")
    sheet.raw.set_column(WORKINGS, WORKINGS + 1, 22, book.style("text"), {"level": 1})
    GRIST.write(sheet, height=32)
    _remark_cell(sheet)
    sheet.finish(area=(0, 0, max(READING.last, REMARK + 5), NOTE), tall=1)


def _remark_cell(sheet: Sheet) -> None:
    sheet.across(REMARK, 0, GRIST.page_end, "Remark", "section")
    sheet.raw.merge_range(REMARK + 1, 0, REMARK + 5, GRIST.page_end, "", sheet.book.style("remark"))
    sheet.formula(REMARK + 1, 0, _remark(), "remark")
    sheet.name_range("Mash_remark", (REMARK + 1, 0))
