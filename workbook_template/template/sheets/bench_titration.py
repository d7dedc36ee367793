"""Bench titration: the curve, the alkalinity with its error, and the tank's dose by the curve and
by the model.
"""

from __future__ import annotations

from chemcore.odd_reading import FEWEST
from chemcore.tables import constant
from workbook_template.template import scenario
from workbook_template.template.book import GREEN, Book, Sheet
from workbook_template.template.charts import DASHED, OCHRE, OFF, marks, scatter, series
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
    part,
    shown,
    when,
    xl,
)
from workbook_template.template.layout import (
    dose_end,
    first_problem,
    looked_up,
    row_of,
    shelf_row,
    water_row,
)
from workbook_template.template.table import Fact, Input, Row, Shown, Table, Working

NAME = "Bench titration"
ROWS = 24
#: Columns: the labels of the answers, the last of the page, the first of the workings.
LABEL, NOTE, WORKINGS = 6, 10, 12
#: How far from twice or half the report's alkalinity a measured one still asks about sample and
#: titrant first, as a factor: a choice of this workbook.
ABOUT = 1.15
_DEMO = scenario.TITRATION
#: Strong acids that titrants are made of (Standard Methods 2320 B takes either).
STRONG = ("hydrochloric", "sulfuric")

SET_UP = Form(
    row=5,
    lines=[
        Typed("Water", name="Bench_water", example=_DEMO.water, choice="=Water_name", what="Water"),
        Typed("Sample, mL", name="Bench_sample", example=_DEMO.sample_ml, number="share"),
        Typed("Strong acid as titrant, eq/L", name="Bench_normality", example=_DEMO.normality),
        Typed(
            "    which is",
            STRONG[0],
            name="Bench_strong",
            choice=STRONG,
            what="Strong acid",
        ),
        Typed(
            "or the tank's acid, diluted: its label",
            name="Bench_titrant",
            choice="=Shelf_label",
            what="Acid",
        ),
        Typed("    mL of it", name="Bench_titrant_ml", number="share"),
        Typed("    made up with water to, mL", name="Bench_titrant_total", number="share"),
        Typed(
            "Meter reads in the buffer of pH 7",
            name="Bench_buffer_7",
            number="ph",
            limits=(5, 9, "A pH in the buffer of pH 7"),
        ),
        Typed(
            f"    in that of pH {constant('buffer_4'):g} (empty: unchecked)",
            name="Bench_buffer_4",
            number="ph",
            limits=(2.5, 6, "A pH in the buffer of pH 4"),
        ),
        Typed(
            "Method",
            "Gran",
            name="Bench_method",
            choice=["Gran", "inflection", "end point"],
            what="Method",
        ),
    ],
)
TANK = Form(
    row=SET_UP.last + 2,
    lines=[
        Typed(
            "Batch of the plan",
            name="Bench_batch",
            example=_DEMO.batch,
            choice="=Plan_batch",
            what="Batch",
        ),
        Typed("Target pH (empty: the batch's)", name="Bench_own_target", number="ph"),
        Typed(
            '="Liquor, "&Volume_unit&" at 20 °C (empty: the batch\'s)"',
            name="Bench_own_volume",
            number="volume",
        ),
        Typed(
            "Acid (empty: the batch's)", name="Bench_own_acid", choice="=Shelf_label", what="Acid"
        ),
        Answer(
            "Titrant used, eq/L",
            first(
                (
                    all_of(name("Bench_titrant_row") > 0, name("Bench_normality") != ""),
                    (
                        "Check titrant: both are filled in, a strong acid and the tank's acid;"
                        " clear the one that was not used"
                    ),
                ),
                (
                    name("Bench_titrant_row") > 0,
                    call(
                        "DILUTE_NORMALITY",
                        looked_up("Shelf_acid", "Bench_titrant_row"),
                        looked_up("Shelf_strength", "Bench_titrant_row"),
                        name("Bench_titrant_ml"),
                        name("Bench_titrant_total"),
                    ),
                ),
                name("Bench_normality"),
            ),
            name="Bench_used",
            number="density",
            look=("result",),
        ),
    ],
)
#: The titration as its functions take it.
CURVE = tuple(map(name, ("Bench_ml", "Bench_phs_used", "Bench_sample", "Bench_used")))
#: Enough readings were looked through for an odd one, which gave a sentence and no number: they do
#: not fit one another.
_MISFIT = all_of(xl.ISTEXT(name("Bench_odd")), xl.COUNT(name("Bench_phs_used")) >= FEWEST)
_CHECKED = any_of(name("Bench_buffer_7") != "", name("Bench_buffer_4") != "")


def _of_batch(own: str, column: str, typed: Formula | None = None) -> Formula:
    """What is typed here, or else what the plan has for the batch."""
    return first(
        (name(own) != "", name(own) if typed is None else typed),
        (name("Bench_plan_row") > 0, looked_up(f"Plan_{column}", "Bench_plan_row")),
        "",
    )


def _planned_day() -> Formula:
    """The day that the plan has for the batch; empty, where the newest report holds."""
    day = looked_up("Plan_date", "Bench_plan_row")
    return when(name("Bench_plan_row") > 0, when(day != "", day))


def _read(c: Row, answer: Formula) -> Formula:
    """An answer in a row that has both readings."""
    return when(xl.COUNT(c.ml, c.ph_used) == 2, answer)


def _corrected(c: Row) -> Formula:
    """The pH that a reading stands for, by the meter's readings in the buffers where they were
    taken.
    """
    buffers = name("Bench_buffer_7"), name("Bench_buffer_4")
    return first(
        (c.ph == "", ""),
        (xl.NOT(_CHECKED), c.ph),
        call("CORRECTED_PH", c.ph, *buffers),
    )


READINGS = Table(
    "Bench",
    head=TANK.last + 3,
    rows=ROWS,
    workings=WORKINGS,
    columns=[
        Fact("number", "Reading no.", list(range(1, ROWS + 1)), look=("label",)),
        Input("ml", "Titrant added in all, mL", number="density", name="ml"),
        Input("ph", "pH", number="ph", name="phs"),
        Shown(
            "gran",
            "Gran function, µmol",
            lambda c: number_or(c.gran_said, ""),
            number="share",
            look=("result",),
        ),
        Shown(
            "line",
            "Gran line, µmol",
            lambda c: when(is_number(c.line_said), xl.MAX(0, c.line_said)),
            number="share",
            look=("result",),
        ),
        Working(
            "chart_ml",
            "mL",
            lambda c: first((is_number(c.gran), c.ml), 0),
            width=18,
            number="density",
        ),
        Working(
            "chart_gran",
            "Gran function",
            lambda c: number_or(c.gran, OFF),
            width=18,
            number="share",
        ),
        Working(
            "gran_said",
            "Gran function, or why not",
            lambda c: _read(c, call("GRAN_VALUE", c.ml, c.ph_used, name("Bench_sample"))),
            width=18,
            number="share",
        ),
        Working(
            "line_said",
            "Gran line, or why not",
            lambda c: _read(c, call("GRAN_LINE", *CURVE, c.ml)),
            width=18,
            number="share",
        ),
        Working(
            "ph_used", "pH, meter corrected", _corrected, width=18, number="ph", name="phs_used"
        ),
    ],
)
HEAD, FIRST, LAST = READINGS.head, READINGS.first, READINGS.last


#: Both ends of the Gran line in the chart.
ENDS = Table(
    "Bench_end",
    head=HEAD,
    rows=2,
    left=READINGS.end + 1,
    columns=[
        Shown(
            "ml",
            "mL",
            lambda c: number_or((name("Bench_end_ml"), xl.MAX(name("Bench_ml")))[c.number - 1], 0),
            number="density",
            look=("cell",),
        ),
        Shown(
            "line", "Gran line", lambda c: number_or(c.said, OFF), number="share", look=("cell",)
        ),
        Shown(
            "said",
            "Gran line, or why not",
            lambda c: call("GRAN_LINE", *CURVE, c.ml),
            number="share",
            look=("cell",),
        ),
    ],
)


def _of_water(column: str) -> Formula:
    return looked_up(f"Water_{column}", "Bench_water_row")


READY = all_of(name("Bench_water_row") > 0, name("Bench_shelf_row") > 0)
_CHOOSE = "choose water and acid"
_CLOSED = part(0)


def _tank() -> tuple[Formula, ...]:
    return (
        name("Bench_target"),
        name("Bench_litres"),
        looked_up("Shelf_acid", "Bench_shelf_row"),
        looked_up("Shelf_strength", "Bench_shelf_row"),
    )


def _ions() -> Formula:
    return xl.INDEX(name("Water_ions"), name("Bench_water_row"), 0)


def _titrant() -> Formula:
    return first(
        (name("Bench_titrant_row") > 0, looked_up("Shelf_acid", "Bench_titrant_row")),
        (name("Bench_strong") == "", STRONG[0]),
        name("Bench_strong"),
    )


def _curve_dose(called: str, *more: Formula | float) -> Formula:
    return call(called, *CURVE, *_tank(), _titrant(), *more)


def _curve_end(end: str) -> Formula:
    """An end of the dose by the curve, by the errors of the settings and the titrant's usual
    one.
    """
    errors = (name(f"Error_{of}") for of in ("ph", "strength", "volume"))
    return when(
        READY, _curve_dose(f"TITRATION_DOSE_{end}", constant("error_titrant"), *errors, _ions())
    )


def _model_dose(alkalinity: Formula, lost: Formula | float) -> Formula:
    liquor = alkalinity, _of_water("pH")
    return call("ACID_DOSE", *liquor, *_tank(), _ions(), _of_water("temp_C"), lost)


def _model_end(end: str, lost: tuple[Formula, Formula] | None = None) -> Formula:
    """An end of the dose by report and model; over the range of gas that the tank loses, or that
    given.
    """
    liquor = _of_water("alkalinity"), _of_water("pH"), *_tank()
    return when(READY, dose_end(f"ACID_DOSE_{end}", liquor, _ions(), _of_water("temp_C"), lost))


def _for_gas(lost: str) -> Formula:
    """What the tank takes more than a closed one, by the model: a sample that is stirred gently
    keeps its gas.
    """
    dose = _model_dose(number_or(name("Bench_measured"), name("Bench_reported")), name(lost))
    return when(READY, dose)


def _reading(lost: Formula | float) -> Formula:
    """What the tank reads with the dose by the curve, once this share of the gas has left; or why
    there is none.
    """
    dose, measured = name("Bench_curve_dose"), name("Bench_measured")
    _, *tank = _tank()
    liquor = measured, _of_water("pH"), dose, *tank, _ions(), _of_water("temp_C"), lost
    return first(*first_problem(measured, dose), call("PH_AFTER_ACID", *liquor))


def _with_gas(dose: str, gas: str) -> Formula:
    """A dose by the curve, with what the tank takes more for the gas that it loses; else the
    sentence of why not.
    """
    open_tank, closed = name(f"Bench_{gas}_ml"), name("Bench_closed_ml")
    return first(
        (xl.ISTEXT(name(dose)), name(dose)),
        (xl.ISTEXT(closed), closed),
        (xl.ISTEXT(open_tank), open_tank),
        name(dose) + open_tank - closed,
    )


STEPS = Form(
    row=SET_UP.row,
    label=ENDS.page_end + 2,
    figure=ENDS.page_end + 3,
    look="text",
    lines=[
        Answer(label, formula, name=f"Bench_{ending}", look=("cell",))
        for ending, label, formula in (
            (
                "plan_row",
                "Row of the plan",
                first((name("Bench_batch") == "", 0), row_of(name("Bench_batch"), "Plan_batch")),
            ),
            ("day", "Day of the batch", _planned_day()),
            ("water_row", "Water no.", water_row(name("Bench_water"), name("Bench_day"))),
            ("target", "Target pH", _of_batch("Bench_own_target", "target")),
            (
                "litres",
                "Liquor, L",
                _of_batch(
                    "Bench_own_volume",
                    "cold",
                    call("LITRES", name("Bench_own_volume"), name("Volume_unit")),
                ),
            ),
            ("acid", "Acid", _of_batch("Bench_own_acid", "acid")),
            ("shelf_row", "Shelf no.", shelf_row(name("Bench_acid"))),
            ("titrant_row", "Titrant's shelf no.", shelf_row(name("Bench_titrant"))),
            (
                "slope",
                "Slope of the electrode, %",
                when(
                    _CHECKED,
                    call("ELECTRODE_SLOPE", name("Bench_buffer_7"), name("Bench_buffer_4")),
                ),
            ),
            ("odd", "Odd reading, no.", call("TITRATION_ODD_READING", *CURVE, _titrant())),
            ("odd_by", "    off by, pH", call("TITRATION_ODD_BY", *CURVE, _titrant())),
            ("end_ml", "End point, mL", call("END_POINT_ML", *CURVE)),
            ("error", "Standard error, mg/L", call("TITRATION_ERROR", *CURVE)),
            ("half", "Half width of 95 %, mg/L", call("TITRATION_HALF_WIDTH", *CURVE)),
            (
                "closed_ml",
                "By model, closed tank, mL",
                when(
                    READY,
                    _model_dose(number_or(name("Bench_measured"), name("Bench_reported")), 0),
                ),
            ),
            ("lost_ml", "    gas lost as reckoned", _for_gas("CO2_lost")),
            ("least_lost_ml", "    least gas lost", _for_gas("CO2_lost_from")),
            ("most_lost_ml", "    most gas lost", _for_gas("CO2_lost_to")),
            (
                "sample_dose",
                "By curve, closed tank, mL",
                when(READY, _curve_dose("TITRATION_DOSE", _ions())),
            ),
            ("sample_low", "    from", _curve_end("LOW")),
            ("sample_high", "    to (95 % interval)", _curve_end("HIGH")),
            ("report_low", "By report, closed tank: from", _model_end("LOW", (_CLOSED, _CLOSED))),
            ("report_high", "    to (95 % interval)", _model_end("HIGH", (_CLOSED, _CLOSED))),
        )
    ],
)


def _around(sign: int) -> Formula:
    half = name("Bench_half")
    return when(is_number(half), name("Bench_measured") + sign * half)


_INTERVAL = joined(
    "from and to: 95 %, and ",
    xl.ROUND(100 * name("CO2_lost_from"), 0),
    " to ",
    xl.ROUND(100 * name("CO2_lost_to"), 0),
    " % of the gas lost",
)
ANSWERS = Form(
    row=SET_UP.row + 1,
    label=LABEL,
    figure=LABEL + 1,
    note=NOTE,
    lines=[
        Answer(
            "Alkalinity measured, mg/L as CaCO3",
            call("TITRATION_ALKALINITY", *CURVE, name("Bench_method")),
            name="Bench_measured",
            number="share",
            note="95 % of Gran's line; not sample, titrant, lost gas",
        ),
        Answer(
            "    its standard error, mg/L",
            number_or(name("Bench_error"), ""),
            number="share",
            note="scatter of the readings about the line",
        ),
        Answer(
            "    end point pH 4.5, for comparison",
            call("TITRATION_ALKALINITY", *CURVE, "end point"),
            number="share",
            note="Standard Methods 2320 B",
        ),
        Answer(
            "    reading that does not fit the others",
            first(
                (_MISFIT, "see the note"),
                (xl.ISTEXT(name("Bench_odd")), "not looked for"),
                (name("Bench_odd") == 0, "none"),
                joined("no. ", name("Bench_odd")),
            ),
            name="Bench_odd_said",
            note=first(
                (xl.ISTEXT(name("Bench_odd")), name("Bench_odd")),
                (name("Bench_odd") == 0, "each against the curve of the others"),
                joined(shown(name("Bench_odd_by"), 2), " pH off the curve of the others"),
            ),
        ),
        Answer(
            "    slope of the electrode, %",
            first(
                (name("Bench_slope") == "", "not checked"), number_or(name("Bench_slope"), "bad")
            ),
            number="share",
            note=first(
                (name("Bench_slope") == "", "type what the meter reads in two buffers"),
                (xl.ISTEXT(name("Bench_slope")), name("Bench_slope")),
                "every reading is corrected for it",
            ),
        ),
        Answer(
            "Alkalinity of the report, mg/L as CaCO3",
            first((name("Bench_water_row") > 0, _of_water("alkalinity")), "choose a water"),
            name="Bench_reported",
            number="share",
            note="sheet Water",
        ),
        Answer(
            "Dose by the measured curve, mL",
            first((READY, _with_gas("Bench_sample_dose", "lost")), _CHOOSE),
            name="Bench_curve_dose",
            number="ml",
            note=_INTERVAL,
        ),
        Answer(
            "Dose by report and model, mL",
            first((READY, _model_dose(_of_water("alkalinity"), name("CO2_lost"))), _CHOOSE),
            name="Bench_model_dose",
            number="ml",
            note=_INTERVAL,
        ),
        Answer(
            "Dose by model with the measured alkalinity, mL",
            when(
                all_of(READY, is_number(name("Bench_measured"))),
                name("Bench_lost_ml"),
            ),
            number="ml",
        ),
        Answer(
            "pH right after mixing, dosed by the curve",
            first((READY, _reading(0)), _CHOOSE),
            name="Bench_mixed_pH",
            number="ph",
            note="by the model with the measured alkalinity",
        ),
        Answer(
            "    can climb to pH",
            first((READY, _reading(name("CO2_lost_to"))), _CHOOSE),
            name="Bench_open_pH",
            number="ph",
            note="as gas leaves: read again before more acid",
        ),
    ],
)
#: From and to of the answers that have an interval: by the name of the answer.
INTERVALS = {
    "Bench_measured": (_around(-1), _around(1)),
    "Bench_curve_dose": (
        when(READY, _with_gas("Bench_sample_low", "least_lost")),
        when(READY, _with_gas("Bench_sample_high", "most_lost")),
    ),
    "Bench_model_dose": (_model_end("LOW"), _model_end("HIGH")),
}
REMARK = ANSWERS.last + 3


def _odd() -> Formula:
    """The reading that does not fit the others, and what to do about it."""
    odd, by = name("Bench_odd"), name("Bench_odd_by")
    return joined(
        "Look at reading no. ",
        odd,
        " first: pH ",
        shown(looked_up("Bench_phs", odd), 2),
        " at ",
        shown(looked_up("Bench_ml", odd), 2),
        " mL lies ",
        shown(xl.ABS(by), 2),
        first((by > 0, " above"), " below"),
        " the curve through the others. Correct it, read it again or clear the row; until then type"
        " nothing into the sheet Water.",
    )


def _about(times: float) -> Formula:
    """Whether the measured alkalinity is about so many times the report's."""
    measured, reported = name("Bench_measured"), name("Bench_reported")
    return all_of(
        xl.COUNT(measured, reported) == 2,
        measured < reported * times * ABOUT,
        measured * ABOUT > reported * times,
    )


def _ask(words: str, times: float) -> Formula:
    """Asked where the measured alkalinity is about twice or half the report's, before the water is
    doubted.
    """
    sample, used = name("Bench_sample"), name("Bench_used")
    return joined(
        "The measured ",
        shown(name("Bench_measured"), 0),
        f" mg/L is about {words} the report's ",
        shown(name("Bench_reported"), 0),
        ". Ask first: was the sample ",
        sample,
        " mL, not ",
        sample * times,
        "? Was the titrant ",
        xl.ROUND(used, 4),
        " eq/L, not ",
        xl.ROUND(used / times, 4),
        "? Correct what was mistyped; if both are right, titrate once more before you type anything"
        " into the sheet Water.",
    )


def _remark() -> Formula:
    """What to look at first; then whether the curve and the report agree within their errors, and
    what to do.
    """
    measured, reported = name("Bench_measured"), name("Bench_reported")
    curve, model = name("Bench_curve_dose"), name("Bench_model_dose")
    curve_low, curve_high, model_low, model_high = ends = tuple(
        name(f"Bench_{dose}_{end}") for dose in ("sample", "report") for end in ("low", "high")
    )
    mg = shown(measured, 0)
    more = xl.ROUND(measured, 0) - xl.ROUND(reported, 0)
    said = joined(
        "measured ",
        mg,
        " mg/L, report ",
        shown(reported, 0),
        first(
            (more == 0, "."),
            joined(", ", shown(xl.ABS(more), 0), first((more > 0, " more."), " less.")),
        ),
    )
    return first(
        (xl.ISTEXT(name("Bench_used")), name("Bench_used")),
        (all_of(_CHECKED, xl.ISTEXT(name("Bench_slope"))), name("Bench_slope")),
        (all_of(is_number(name("Bench_odd")), name("Bench_odd") != 0), _odd()),
        (_MISFIT, name("Bench_odd")),
        (xl.ISTEXT(measured), measured),
        (xl.ISTEXT(curve), curve),
        (xl.ISTEXT(model), model),
        (
            xl.COUNT(*ends) < 4,
            joined("The doses have no interval: ", first(*first_problem(*ends), "")),
        ),
        (_about(2), _ask("twice", 2)),
        (_about(0.5), _ask("half", 0.5)),
        (
            any_of(curve_low > model_high, model_low > curve_high),
            joined(
                "The curve and the report disagree by more than both errors allow: ",
                said,
                " Titrate once more; if it stays, dose by the curve, type ",
                mg,
                " mg/L into the sheet Water and ask the supplier.",
            ),
        ),
        joined(
            "The curve and the report agree within their errors: ",
            said,
            " Dose by the curve: it is this water, today. Give the first portion, mix, read, then"
            " the rest.",
            when(
                more != 0,
                joined(
                    " Type ",
                    mg,
                    " mg/L into the sheet Water, so that the plan doses by it too; the sheet Log"
                    " says whether later batches bear it out.",
                ),
            ),
        ),
    )


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [36, 14, 10, 13, 12, 3, 46, 13, 13, 13, 46])
    sheet.text(0, 0, "Bench titration", "title")
    sheet.across(
        1,
        0,
        NOTE,
        "Titrate a sample of the source water, read the pH after each addition, go down past pH 3"
        " in small steps. The curve measures what a report only says.",
        "lead",
    )
    sheet.cautions(2, NOTE)
    for form, words in ((SET_UP, "The titration"), (TANK, "The tank")):
        sheet.across(form.row - 1, 0, READINGS.page_end, words, "section")
        form.write(sheet)
    sheet.raw.set_row(TANK.row - 1, 18)
    sheet.across(HEAD - 1, 0, READINGS.page_end, "Readings", "section")
    READINGS.write(sheet, _DEMO.readings, height=32)
    _workings(sheet)
    _answers(sheet)
    _chart(book, sheet)
    sheet.finish(area=(0, 0, LAST, NOTE), tall=1)


def _workings(sheet: Sheet) -> None:
    sheet.text(STEPS.row - 1, STEPS.label, "Workings", "section")
    STEPS.write(sheet)
    sheet.text(HEAD - 1, WORKINGS, "Workings: the chart", "section")
    ENDS.write(sheet, height=32, described=False)
    style = sheet.book.style("text")
    sheet.raw.set_column(ENDS.left, ENDS.page_end, 18, style, {"level": 1})
    sheet.raw.set_column(STEPS.label, STEPS.label, 30, style, {"level": 1})
    sheet.raw.set_column(STEPS.figure, STEPS.figure, 18, style, {"level": 1})


def _answers(sheet: Sheet) -> None:
    sheet.across(ANSWERS.row - 2, LABEL, NOTE, "What it says", "section")
    sheet.headers(ANSWERS.row - 1, LABEL, ["", "Figure", "from", "to", ""], height=16)
    ANSWERS.write(sheet)
    for row, line in enumerate(ANSWERS.lines, ANSWERS.row):
        if not isinstance(line, Answer) or line.name is None or line.name not in INTERVALS:
            continue
        for column, (end, formula) in enumerate(
            zip(("low", "high"), INTERVALS[line.name]), ANSWERS.figure + 1
        ):
            sheet.formula(row, column, formula, *line.look, line.number)
            sheet.name_range(f"{line.name}_{end}", (row, column))
    sheet.across(REMARK - 1, LABEL, NOTE, "Remark", "section")
    sheet.raw.merge_range(REMARK, LABEL, REMARK + 2, NOTE, "", sheet.book.style("remark"))
    for row in range(REMARK, REMARK + 3):
        sheet.raw.set_row(row, 18)
    sheet.formula(REMARK, LABEL, _remark(), "remark")
    sheet.name_range("Bench_remark", (REMARK, LABEL))


def _chart(book: Book, sheet: Sheet) -> None:
    chart = scatter(
        book,
        "Titration of the source water",
        "Titrant, mL",
        "pH",
        second="Gran function, µmol",
        x_axis={"min": 0},
        y_axis={"min": 2, "max": 9, "num_format": "0"},
        second_axis={"min": 0, "num_format": "0"},
    )
    rows, at = (FIRST, LAST), READINGS.at
    line = {"color": GREEN, "width": 1.5}
    series(chart, "pH", NAME, rows, at["ml"], at["ph"], **{**marks(GREEN), "line": line})
    series(
        chart,
        "Gran function of each reading",
        NAME,
        rows,
        at["chart_ml"],
        at["chart_gran"],
        y2_axis=True,
        **marks(OCHRE),
    )
    series(
        chart,
        "Gran line: meets zero at the end point",
        NAME,
        (ENDS.first, ENDS.last),
        ENDS.at["ml"],
        ENDS.at["line"],
        y2_axis=True,
        line=DASHED,
    )
    sheet.raw.insert_chart(
        HEAD, LABEL, chart, {"x_scale": 1.78, "y_scale": 1.7, "object_position": 2}
    )
