"""Sparge day: the work sheet of one batch: plan, steps, readings, a table for the tank without a
computer, sign-off.
"""

from __future__ import annotations

from xlsxwriter.utility import xl_range_abs, xl_rowcol_to_cell

from workbook_template.template import scenario
from workbook_template.template.book import GREEN, WARN, Book, Sheet
from workbook_template.template.charts import OFF, marks, scatter, series
from workbook_template.template.form import Answer, Form, Typed
from workbook_template.template.formula import (
    Formula,
    all_of,
    any_of,
    call,
    first,
    in_brackets,
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
    cautions_in,
    dose_end,
    liquid_strength,
    looked_up,
    row_of,
    water_ions,
)
from workbook_template.template.sheets import readings
from workbook_template.template.sheets.readings import PORTIONS
from workbook_template.template.table import Row, Shown, Table, Working

NAME = "Sparge day"
#: pH between a reading and what was expected of it, from which on something is wrong: a choice of
#: this workbook, four times the usual error of a reading.
FAR = 0.2
#: pH by which a later reading has to be above that right after mixing to speak of gas: the error of
#: either, twice.
CLIMB = 0.1
#: mL or g of acid that is nothing more to give.
LITTLE = 0.05
#: Amounts of acid as they are measured out: whole mL or g, with one decimal below 10.
AMOUNT = "limit"
LAST = 5
CHART = 7
WORKINGS = 16
CURVE_POINTS = 21
#: Rows of the table for the tank, in steps of 0.1 pH, and how far it begins above the expected
#: reading.
PAPER_ROWS, PAPER_ABOVE = 14, 0.4
#: What has been given in all when the second portion is in, as parts of what the plan expects.
SECOND = (0.9, 1.0, 1.1)

_ROW = name("Day_row")
_HAS = _ROW > 0


def _of_batch(answer) -> Formula:
    """What is worked out for a batch that has a dose."""
    return when(_HAS, answer)


def _of_plan(column: str) -> Formula:
    return _of_batch(looked_up(f"Plan_{column}", _ROW))


def _of_shelf(column: str) -> Formula:
    return _of_batch(looked_up(f"Shelf_{column}", name("Day_shelf")))


def _of_water(column: str) -> Formula:
    return _of_batch(looked_up(f"Water_{column}", name("Day_water")))


def reading(key: str) -> Formula:
    """A reading of the batch of the day, empty where there is none."""
    cell = looked_up(f"Read_{key}", name("Day_read"))
    return when(name("Day_read") > 0, first((cell == "", ""), cell))


def _ions() -> Formula:
    return water_ions(name("Day_water"))


def _liquor() -> tuple[Formula, ...]:
    return name("Day_litres"), name("Day_acid"), name("Day_liquid")


def _ph_after(amount: Formula, lost: Formula) -> Formula:
    """The pH that an amount of acid gives, with this share of the gas lost."""
    ml = amount * name("Day_ml_each")
    water = name("Day_alkalinity"), name("Day_ph")
    return call("PH_AFTER_ACID", *water, ml, *_liquor(), _ions(), name("Day_temp"), lost)


def _top_up(ph: Formula, amount: Formula) -> Formula:
    """What is still to give, in mL, when this pH is read after this amount."""
    ml = amount * name("Day_ml_each")
    before, target = name("Day_ph"), name("Day_target")
    return call(
        "ACID_TOP_UP",
        before,
        ph,
        target,
        ml,
        *_liquor(),
        _ions(),
        name("Day_temp"),
        name("CO2_lost"),
    )


def _end(called: str) -> Formula:
    """An end of the interval of the dose, in mL."""
    water = name("Day_alkalinity"), name("Day_ph"), name("Day_target")
    lost = name("Day_lost_from"), name("Day_lost_to")
    return _of_batch(dose_end(called, (*water, *_liquor()), _ions(), name("Day_temp"), lost))


def _in_unit(ml: str) -> Formula:
    """mL of a working as the acid is measured; what the working says where it has no figure."""
    return _of_batch(first((is_number(name(ml)), name(ml) / name("Day_ml_each")), name(ml)))


def measured(amount: Formula) -> Formula:
    """An amount of acid in words, as exact as it can be measured out."""
    return xl.FIXED(amount, xl.IF(amount < 9.95, 1, 0), True)


BATCH = Form(
    row=2,
    span=2,
    lines=[
        Typed(
            "Batch",
            name="Day_batch",
            example=scenario.BATCHES[0].name,
            choice="=Plan_batch",
        ),
    ],
)


def _as_read() -> Formula:
    """The tank as its gauge and thermometer show it."""
    volume, at = name("Day_volume"), name("Day_read_at")
    digits = first((volume >= 99.95, 0), (volume >= 9.995, 1), 2)
    heat = first(
        (at == "", " cold"), joined(" at ", xl.FIXED(at, 0, True), " ", name("Temperature_unit"))
    )
    return _of_batch(joined(xl.FIXED(volume, digits, True), " ", name("Volume_unit"), heat))


PLAN = Form(
    row=3,
    span=2,
    lines=[
        Answer(
            "Water",
            first((_HAS, looked_up("Water_name", name("Day_water"))), "choose a batch with a dose"),
            look=("result", "text"),
        ),
        Answer("Acid", _of_shelf("label"), look=("result", "text")),
        Answer("Fill the tank to", _as_read(), name="Day_tank", look=("result", "right")),
        Answer("Liquor, L at 20 °C", name("Day_litres"), number="litres"),
        Answer("pH before any acid", name("Day_ph"), number="ph"),
        Answer("Target pH, cooled sample", name("Day_target"), number="ph"),
        Answer('="Planned dose, "&Day_unit', name("Day_dose"), number=AMOUNT),
        Answer(
            '="Least, "&Day_unit&" (95 % interval)"',
            _in_unit("Day_least_ml"),
            name="Day_least",
            number=AMOUNT,
        ),
        Answer('="Most, "&Day_unit', _in_unit("Day_most_ml"), name="Day_most", number=AMOUNT),
        Answer(
            '="First portion, "&Day_unit',
            _of_batch(name("Day_dose") * name("First_portion")),
            name="Day_first",
            number=AMOUNT,
        ),
        Answer(
            "    pH right after it is mixed in",
            _of_batch(_ph_after(name("Day_first"), name("Day_lost_from"))),
            name="Day_expected",
            number="ph",
        ),
        Answer(
            "    may climb to, as gas leaves",
            _of_batch(_ph_after(name("Day_first"), name("Day_lost_to"))),
            name="Day_climb",
            number="ph",
        ),
        Answer(
            "Whole dose: may climb to",
            _of_batch(_ph_after(name("Day_dose"), name("Day_lost_to"))),
            name="Day_whole_climb",
            number="ph",
        ),
    ],
)
DAY = Form(
    row=3,
    label=WORKINGS,
    figure=WORKINGS + 1,
    look="text",
    lines=[
        Answer(label, formula, name=named, look=("cell",))
        for named, label, formula in (
            (
                "Day_plan",
                "Row of the plan",
                first((name("Day_batch") == "", 0), row_of(name("Day_batch"), "Plan_batch")),
            ),
            (
                "Day_row",
                "    with a dose",
                first(
                    (name("Day_plan") == 0, 0),
                    (looked_up("Plan_complete", name("Day_plan")) == 1, name("Day_plan")),
                    0,
                ),
            ),
            (
                "Day_read",
                "Row of the readings",
                first((name("Day_batch") == "", 0), row_of(name("Day_batch"), "Read_batch")),
            ),
            ("Day_water", "Water no.", first((_HAS, looked_up("Plan_water_row", _ROW)), 0)),
            ("Day_shelf", "Shelf no.", first((_HAS, looked_up("Plan_shelf_row", _ROW)), 0)),
            ("Day_volume", "Volume as typed", _of_plan("volume")),
            (
                "Day_read_at",
                "    read at",
                _of_batch(
                    first(
                        (looked_up("Plan_read_at", _ROW) == "", ""),
                        looked_up("Plan_read_at", _ROW),
                    )
                ),
            ),
            ("Day_litres", "Liquor, L", _of_plan("cold")),
            ("Day_acid", "Acid", _of_shelf("acid")),
            ("Day_strength", "Strength", _of_shelf("strength")),
            (
                "Day_unit",
                "Measured in",
                first((_HAS, looked_up("Shelf_measure", name("Day_shelf"))), "mL"),
            ),
            ("Day_dose", "Planned amount", _of_plan("amount")),
            (
                "Day_liquid",
                "Strength for mL",
                _of_batch(liquid_strength(name("Day_unit"), name("Day_strength"))),
            ),
            (
                "Day_ml_each",
                "mL at that for each mL or g",
                _of_batch(looked_up("Plan_volume_ml", _ROW) / name("Day_dose")),
            ),
            ("Day_target", "Target", _of_plan("target")),
            ("Day_alkalinity", "Alkalinity", _of_water("alkalinity")),
            ("Day_temp", "Reading's temperature", _of_water("temp_C")),
            ("Day_before", "pH before, as read", reading("before")),
            (
                "Day_ph",
                "pH before",
                _of_batch(
                    first(
                        (name("Day_before") == "", looked_up("Water_pH", name("Day_water"))),
                        name("Day_before"),
                    )
                ),
            ),
            ("Day_given", "Given in all", reading("given")),
            ("Day_mixed", "pH after the last portion", reading("mixed")),
            ("Day_later", "pH later", reading("later_ph")),
            ("Day_lost_from", "Gas lost: least", name("CO2_lost_from")),
            ("Day_lost_to", "    most", name("CO2_lost_to")),
            (
                "Day_cautions",
                "Cautions",
                _of_batch(call("ACID_CAUTIONS", name("Day_acid"), name("Day_strength"))),
            ),
            ("Day_least_ml", "Least dose, mL", _end("ACID_DOSE_LOW")),
            ("Day_most_ml", "Most, mL", _end("ACID_DOSE_HIGH")),
            (
                "Day_later_to",
                "pH that the gas explains at most",
                when(
                    all_of(_HAS, is_number(name("Day_given"))),
                    _ph_after(name("Day_given"), name("Day_lost_to")),
                ),
            ),
            (
                "Day_gone",
                "Share lost between the readings",
                when(
                    all_of(
                        _HAS,
                        xl.COUNT(name("Day_given"), name("Day_mixed"), name("Day_later")) == 3,
                    ),
                    call(
                        "CO2_LOST_FROM_TWO_READINGS",
                        name("Day_ph"),
                        name("Day_mixed"),
                        name("Day_later"),
                        name("Day_given") * name("Day_ml_each"),
                        *_liquor(),
                        _ions(),
                        name("Day_temp"),
                    ),
                ),
            ),
        )
    ],
)
CAUTIONS = PLAN.last + 3


# The portions of the day, and what each reading says.


def _up_to(c: Row, key: str) -> Formula:
    """The cells of a column from the first portion to this one."""
    column = c.table.at[key]
    top = xl_rowcol_to_cell(c.table.first, column, row_abs=True)
    return ref(f"{top}:{xl_rowcol_to_cell(c.row, column)}")


def _in_all(c: Row) -> Formula:
    given = _up_to(c, "given")
    return when(
        all_of(_HAS, c.given != ""),
        first((xl.COUNT(given) == c.number, xl.SUM(given)), readings.MISSING),
    )


def _still(c: Row) -> Formula:
    """What is still to give, in the unit of the acid."""
    return when(
        all_of(is_number(c.in_all), c.read != ""),
        first(
            (
                is_number(c.more),
                first(
                    (c.more / name("Day_ml_each") < LITTLE, "no more acid"),
                    c.more / name("Day_ml_each"),
                ),
            ),
            (all_of(is_number(c.read), c.read <= name("Day_target")), "no more acid"),
            c.more,
        ),
    )


def _portion_remark(c: Row) -> Formula:
    """What the reading after one portion says, in words."""
    apart = xl.ROUND(c.read - c.expected, 2)
    far = xl.ABS(apart) > FAR
    still = xl.N(c.still)
    in_all = c.in_all + still
    unit = name("Day_unit")
    wrong = when(
        far,
        joined(
            "the reading is ",
            xl.FIXED(xl.ABS(apart), 2),
            xl.IF(apart > 0, " above", " below"),
            " the expected pH: stop and ask. ",
        ),
    )
    too_much = joined(
        "given and still to give make ",
        measured(in_all),
        " ",
        unit,
        ", more than the water should take ",
        in_brackets("up to ", measured(name("Day_most"))),
        ": check meter, volume and label before giving it.",
    )
    goes_on = joined(
        "as expected within ", FAR, " pH; ", measured(still), " ", unit, " remain, in portions."
    )
    said = first(
        (in_all > name("Day_most"), too_much),
        (far, ""),
        (is_number(c.still), goes_on),
        joined(c.still, "."),
    )
    return when(
        all_of(xl.COUNT(c.in_all, c.read, c.expected) == 3, is_number(name("Day_most"))),
        joined(f"Portion {c.number}: ", wrong, said),
    )


STEPS = Table(
    "Step",
    head=CAUTIONS + 3,
    rows=PORTIONS,
    workings=WORKINGS + 6,
    columns=[
        Shown("step", "Step", lambda c: joined("Portion ", c.number), look=("result",)),
        Shown(
            "given",
            '="Given in this step, "&Day_unit',
            lambda c: reading(readings.given(c.number)),
            number=AMOUNT,
        ),
        Shown("in_all", '="Given in all, "&Day_unit', _in_all, number=AMOUNT),
        Shown("read", "pH read, cooled", lambda c: reading(readings.read(c.number)), number="ph"),
        Shown(
            "expected",
            "pH expected",
            lambda c: when(is_number(c.in_all), number_or(c.expected_said, "see remark")),
            number="ph",
        ),
        Shown("still", '="Still to give, "&Day_unit', _still, number=AMOUNT),
        Working(
            "expected_said",
            "pH expected",
            lambda c: when(is_number(c.in_all), _ph_after(c.in_all, name("CO2_lost"))),
        ),
        Working(
            "more",
            "Still to give, mL",
            lambda c: when(all_of(is_number(c.in_all), c.read != ""), _top_up(c.read, c.in_all)),
        ),
        Working(
            "drawn_given",
            "Chart: given in all",
            lambda c: xl.IF(xl.COUNT(c.in_all, c.read) == 2, c.in_all, 0),
        ),
        Working(
            "drawn_read",
            "Chart: pH read",
            lambda c: xl.IF(xl.COUNT(c.in_all, c.read) == 2, c.read, OFF),
        ),
        Working("says", "Remark", _portion_remark),
    ],
)
LATER = STEPS.last + 1
REMARK = LATER + 1

# The table for the tank: what is still to give, for every reading in steps of 0.1 pH.


def _paper_ph(c: Row) -> Formula:
    """Readings in steps of 0.1 pH, from above the expected one to just below the target."""
    ph = xl.ROUND(name("Day_expected") + (PAPER_ABOVE + 0.1) - 0.1 * c.number, 1)
    known = all_of(_HAS, is_number(name("Day_expected")))
    return when(known, first((ph > name("Day_target") - 0.15, ph), ""))


def _paper(key: str, title: str, amount: Formula, expected: str) -> list:
    """A column of the table for the tank, and its working."""

    def cell(c: Row) -> Formula:
        still, off = c[f"{key}_ml"] / name("Day_ml_each"), xl.ABS(c.ph - name(expected))
        far = xl.ROUND(off, 2) > FAR
        return when(
            c.ph != "",
            first(
                (c.ph <= name("Day_target"), first((far, "no more *"), "no more")),
                (xl.ISTEXT(c[f"{key}_ml"]), "stop *"),
                (
                    any_of(still + amount > xl.N(name("Day_most")), far),
                    joined(measured(still), " *"),
                ),
                still,
            ),
        )

    return [
        Shown(key, title, cell, number=AMOUNT),
        Working(
            f"{key}_ml",
            "mL",
            lambda c: when(
                is_number(c.ph),
                first((c.ph > name("Day_target"), _top_up(c.ph, amount)), ""),
            ),
        ),
    ]


PAPER_TITLE = REMARK + 2
PAPER = Table(
    "Paper",
    head=PAPER_TITLE + 1,
    rows=PAPER_ROWS,
    workings=WORKINGS + 6,
    columns=[
        Shown(
            "ph",
            "pH read, cooled sample",
            _paper_ph,
            number="rough_ph",
            look=("result", "centre"),
        ),
        *_paper(
            "one",
            '="After the first portion of "&TEXT(Day_first,IF(Day_first<9.95,"0.0","0"))&"'
            ' "&Day_unit',
            name("Day_first"),
            "Day_expected",
        ),
        Shown(
            "next",
            '="Second portion: "&FIXED(100*First_portion,0)&" % of that"',
            lambda c: when(is_number(c.one), c.one * name("First_portion")),
            number=AMOUNT,
        ),
        *(
            column
            for place in range(1, len(SECOND) + 1)
            for column in _paper(
                f"two_{place}",
                f'="Given in all "&TEXT(Day_second_{place},IF(Day_second_{place}<9.95,"0.0","0"))&"'
                ' "&Day_unit',
                name(f"Day_second_{place}"),
                f"Day_second_ph_{place}",
            )
        ),
    ],
)
_SECOND_ALL = name("Day_dose") * (
    name("First_portion") + (1 - name("First_portion")) * name("First_portion")
)
SECONDS = Form(
    row=DAY.last + 1,
    label=WORKINGS,
    figure=WORKINGS + 1,
    look="text",
    lines=[
        line
        for place, part in enumerate(SECOND, 1)
        for line in (
            Answer(
                "Given in all after the second portion",
                _of_batch(_SECOND_ALL * part),
                name=f"Day_second_{place}",
                look=("cell",),
            ),
            Answer(
                "    pH expected of it",
                _of_batch(_ph_after(name(f"Day_second_{place}"), name("Day_lost_from"))),
                name=f"Day_second_ph_{place}",
                look=("cell",),
            ),
        )
    ],
)
SIGN_OFF = PAPER.last + 3

CURVE = Table(
    "Curve",
    head=3,
    rows=CURVE_POINTS,
    left=WORKINGS + 3,
    columns=[
        Shown(
            "amount",
            '="Acid in all, "&Day_unit',
            lambda c: _of_batch(name("Day_dose") * 1.2 * (c.number - 1) / (CURVE_POINTS - 1)),
            number="ml",
            look=("cell",),
        ),
        Shown(
            "ph",
            "pH",
            lambda c: _of_batch(_ph_after(c.amount, name("CO2_lost"))),
            number="ph",
            look=("cell",),
        ),
    ],
)


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [30, 15, 14, 14, 15, 17, 3])
    sheet.text(0, 0, "Sparge day: work sheet", "title")
    BATCH.write(sheet)
    PLAN.write(sheet)
    _workings(sheet)
    _how_to(sheet)
    sheet.across(CAUTIONS - 1, 0, LAST, "Cautions: read before the can is opened", "section")
    cautions = first((_HAS, cautions_in(name("Day_cautions"))), name("Any_cautions"))
    sheet.across(CAUTIONS, 0, LAST, cautions, "caution", height=88, formula=True)
    _readings(sheet)
    _for_the_tank(sheet)
    _sign_off(sheet)
    _chart(book, sheet)
    sheet.finish(landscape=False, area=(0, 0, SIGN_OFF + 3, LAST), tall=1)


def _workings(sheet: Sheet) -> None:
    """Names for the batch, and the planned curve, to the right of the page."""
    for column, width in ((WORKINGS, 32), (WORKINGS + 1, 14), (WORKINGS + 3, 12)):
        sheet.raw.set_column(column, column, width, sheet.book.style("text"), {"level": 1})
    sheet.text(2, WORKINGS, "Workings: the batch", "section")
    DAY.write(sheet)
    SECONDS.write(sheet)
    sheet.text(2, CURVE.left, "Workings: planned curve", "section")
    CURVE.write(sheet, height=15)


def _how_to(sheet: Sheet) -> None:
    """What is done at the tank, beside the plan."""
    sheet.raw.merge_range(2, 3, PLAN.last, LAST, "", sheet.book.style("remark"))
    unit = name("Day_unit")
    sheet.formula(
        2,
        3,
        joined(
            "1. Lid open: never give acid to a tank under pressure, gas comes off.",
            xl.CHAR(10),
            "2. Give the first portion",
            _of_batch(joined(", ", measured(name("Day_first")), " ", unit)),
            "; flush the port with water.",
            xl.CHAR(10),
            "3. Recirculate for ",
            name("Recirculate_minutes"),
            " minutes; then read a cooled sample with a calibrated meter and write it down.",
            xl.CHAR(10),
            "4. Find the reading in the table below: what is still to give. Give it in portions,"
            " and read after each.",
            xl.CHAR(10),
            "Never give a portion before the last one is mixed in. Stop and ask if a reading is"
            " more than ",
            FAR,
            " from the expected pH (a choice of this workbook).",
            xl.CHAR(10),
            "A reading that climbs while the pump runs is gas leaving, not acid missing: read again"
            " before more acid. Dose nearer to use, put the lid back on between portions (vented),"
            " or dose for the share that your tank loses: Settings.",
        ),
        "remark",
    )


def _readings(sheet: Sheet) -> None:
    sheet.across(
        STEPS.head - 1,
        0,
        LAST,
        "Readings: typed on the sheet Readings, or written here by hand",
        "section",
    )
    STEPS.write(sheet, height=32)
    for row in range(STEPS.first, STEPS.last + 1):
        sheet.raw.set_row(row, 18)
    sheet.raw.conditional_format(
        STEPS.first,
        STEPS.at["still"],
        STEPS.last,
        STEPS.at["still"],
        {
            "type": "formula",
            "criteria": (
                "="
                + str(
                    is_number(
                        xl.SEARCH(
                            "more than the water",
                            ref(xl_rowcol_to_cell(STEPS.first, STEPS.at["says"], col_abs=True)),
                        )
                    )
                )
            ),
            "format": _alarm(sheet),
        },
    )
    sheet.across(LATER, 0, 2, "Read again later, no more acid given", "label")
    sheet.formula(LATER, 3, name("Day_later"), "result", "right", "ph")
    sheet.formula(
        LATER,
        4,
        number_or(name("Day_later_to"), ""),
        "result",
        "right",
        "ph",
    )
    sheet.text(LATER, 5, " at most, by gas", "note")
    sheet.raw.set_row(LATER, 18)
    sheet.across(REMARK, 0, LAST, _remark(), "remark", "small", formula=True, height=82)
    for words in ("stop and ask", "before giving", "Choose a batch"):
        sheet.raw.conditional_format(
            REMARK,
            0,
            REMARK,
            LAST,
            {"type": "text", "criteria": "containing", "value": words, "format": _alarm(sheet)},
        )


def _climbed() -> Formula:
    """What a later reading says."""
    later, mixed, gone = name("Day_later"), name("Day_mixed"), name("Day_gone")
    up = later - mixed
    share = when(
        is_number(gone), " " & in_brackets("about ", shown(100 * gone, 0), " % of what can leave")
    )
    return when(
        xl.COUNT(later, mixed) == 2,
        first(
            (
                later > name("Day_later_to") + CLIMB,
                joined(
                    "The later pH is higher than the gas of such a tank explains: look at meter and"
                    " entry, or at the share lost in Settings.",
                ),
            ),
            (
                xl.ROUND(up, 2) >= CLIMB,
                joined(
                    "The pH climbed by ",
                    xl.FIXED(up, 2),
                    " while no acid was given: gas left the tank",
                    share,
                    ". Read again before more acid.",
                ),
            ),
            (
                xl.ROUND(up, 2) <= -CLIMB,
                (
                    "The later pH is lower than that right after mixing: was the portion not mixed"
                    " in yet?"
                ),
            ),
            "The pH stayed where it was.",
        ),
    )


def _remark() -> Formula:
    """Below the readings: what each portion says, and a later reading."""
    lines = []
    for row in range(STEPS.first, STEPS.last + 1):
        says = ref(xl_rowcol_to_cell(row, STEPS.at["says"]))
        lines.append(when(says != "", joined(says, xl.CHAR(10))))
    return first(
        (name("Day_batch") == "", "Choose a batch above."),
        (_ROW == 0, "This batch has no dose yet: see its remark on the batch plan."),
        joined(*lines, _climbed()),
    )


def _alarm(sheet: Sheet):
    return sheet.book.workbook.add_format({"bg_color": "#F6D5CF"})


def _for_the_tank(sheet: Sheet) -> None:
    sheet.across(
        PAPER_TITLE,
        0,
        2,
        '="At the tank, without a computer: still to give, "&Day_unit',
        "section",
        formula=True,
    )
    sheet.across(PAPER_TITLE, 3, LAST, "After the second portion", "section")
    PAPER.write(sheet, height=44)
    note = joined(
        "For the pH before any acid and the target printed above; no extra acid for a reading that"
        " climbs. Between two columns of what was given in all take the left one, which gives less."
        " * is more than ",
        FAR,
        " pH from what was expected, or more than this water should take",
        _of_batch(" " & in_brackets(measured(name("Day_most")), " ", name("Day_unit"), " in all")),
        ": stop, check meter, volume and label, and ask. Acid into water, never water into acid.",
    )
    sheet.across(PAPER.last + 1, 0, LAST, note, "remark", "small", height=38, formula=True)


def _sign_off(sheet: Sheet) -> None:
    for offset, label in enumerate(("Dosed by", "Checked by", "Date and time", "Meter calibrated")):
        column = 0 if offset % 2 == 0 else 3
        line = SIGN_OFF + 2 * (offset // 2)
        sheet.text(line, column, label, "label")
        sheet.raw.merge_range(
            line, column + 1, line, column + 2, "", sheet.book.style("input", bottom=1)
        )
        sheet.raw.set_row(line, 20)


def _chart(book: Book, sheet: Sheet) -> None:
    title = xl_range_abs(CURVE.head, CURVE.left, CURVE.head, CURVE.left)
    chart = scatter(
        book,
        "The planned curve and the readings",
        f"='{NAME}'!{title}",
        "pH, cooled sample",
        x_axis={"min": 0},
        y_axis={"min": 4, "max": 9, "num_format": "0.0"},
    )
    series(
        chart,
        "planned",
        NAME,
        (CURVE.first, CURVE.last),
        CURVE.at["amount"],
        CURVE.at["ph"],
        line={"color": GREEN, "width": 2.25},
    )
    drawn = STEPS.at["drawn_given"], STEPS.at["drawn_read"]
    series(chart, "read", NAME, (STEPS.first, STEPS.last), *drawn, **marks(WARN))
    sheet.raw.insert_chart(
        2, CHART, chart, {"x_scale": 1.19, "y_scale": 1.25, "object_position": 2}
    )
