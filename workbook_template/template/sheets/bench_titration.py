"""Bench titration: the curve, the alkalinity with its error, and the tank's dose by the curve and by the model."""

from __future__ import annotations

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
    shown,
    when,
    xl,
)
from workbook_template.template.layout import looked_up, row_of, shelf_row, water_row
from workbook_template.template.table import Input, Row, Shown, Table, Working

NAME = "Bench titration"
ROWS = 24
#: Columns: the labels of the answers, the last of the page, the first of the workings.
LABEL, NOTE, WORKINGS = 5, 9, 11
_DEMO = scenario.TITRATION

SET_UP = Form(
    row=5,
    lines=[
        Typed("Water", name="Bench_water", example=_DEMO.water, choice="=Water_name", what="Water"),
        Typed("Sample, mL", name="Bench_sample", example=_DEMO.sample_ml, number="share"),
        Typed(
            "Hydrochloric acid as titrant, eq/L", name="Bench_normality", example=_DEMO.normality
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
CURVE = tuple(map(name, ("Bench_ml", "Bench_phs", "Bench_sample", "Bench_used")))


def _of_batch(own: str, column: str, typed: Formula | None = None) -> Formula:
    """What is typed here, or else what the plan has for the batch."""
    return first(
        (name(own) != "", name(own) if typed is None else typed),
        (name("Bench_plan_row") > 0, looked_up(f"Plan_{column}", "Bench_plan_row")),
        "",
    )


def _read(c: Row, answer: Formula) -> Formula:
    """An answer in a row that has both readings."""
    return when(xl.COUNT(c.ml, c.ph) == 2, answer)


READINGS = Table(
    "Bench",
    head=TANK.last + 3,
    rows=ROWS,
    workings=WORKINGS,
    columns=[
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
            lambda c: _read(c, call("GRAN_VALUE", c.ml, c.ph, name("Bench_sample"))),
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


STEPS = Form(
    row=SET_UP.row,
    label=WORKINGS,
    figure=WORKINGS + 1,
    look="text",
    lines=[
        Answer(label, formula, name=f"Bench_{ending}", look=("cell",))
        for ending, label, formula in (
            ("water_row", "Water no.", water_row(name("Bench_water"))),
            (
                "plan_row",
                "Row of the plan",
                first((name("Bench_batch") == "", 0), row_of(name("Bench_batch"), "Plan_batch")),
            ),
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
            ("end_ml", "End point, mL", call("END_POINT_ML", *CURVE)),
            ("error", "Standard error, mg/L", call("TITRATION_ERROR", *CURVE)),
            ("half", "Half width of 95 %, mg/L", call("TITRATION_HALF_WIDTH", *CURVE)),
        )
    ],
)
READY = all_of(name("Bench_water_row") > 0, name("Bench_shelf_row") > 0)
_CHOOSE = "choose water and acid"


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
        "hydrochloric",
    )


def _curve_dose(called: str, *more: Formula) -> Formula:
    return call(called, *CURVE, *_tank(), _titrant(), *more)


def _model_dose(called: str, alkalinity: Formula, *errors: Formula) -> Formula:
    liquor = alkalinity, _of_water("pH")
    rest = _ions(), _of_water("temp_C"), name("CO2_lost")
    return call(called, *liquor, *_tank(), *errors, *rest)


def _by_report(called: str) -> Formula:
    errors = ("Error_alkalinity", "Error_ph", "Error_strength", "Error_volume")
    return _model_dose(called, _of_water("alkalinity"), *map(name, errors))


def _around(sign: int) -> Formula:
    half = name("Bench_half")
    return when(is_number(half), name("Bench_measured") + sign * half)


_INTERVAL = "from and to: 95 % interval"
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
            note="from and to: 95 % interval of Gran's line",
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
            "Alkalinity of the report, mg/L as CaCO3",
            first((name("Bench_water_row") > 0, _of_water("alkalinity")), "choose a water"),
            name="Bench_reported",
            number="share",
            note="sheet Water",
        ),
        Answer(
            "Dose by the measured curve, mL",
            first((READY, _curve_dose("TITRATION_DOSE", _ions())), _CHOOSE),
            name="Bench_curve_dose",
            number="ml",
            note=_INTERVAL,
        ),
        Answer(
            "Dose by report and model, mL",
            first((READY, _model_dose("ACID_DOSE", _of_water("alkalinity"))), _CHOOSE),
            name="Bench_model_dose",
            number="ml",
            note=_INTERVAL,
        ),
        Answer(
            "Dose by model with the measured alkalinity, mL",
            when(
                all_of(READY, is_number(name("Bench_measured"))),
                _model_dose("ACID_DOSE", name("Bench_measured")),
            ),
            number="ml",
        ),
    ],
)
#: From and to of the answers that have an interval: by the name of the answer.
INTERVALS = {
    "Bench_measured": (_around(-1), _around(1)),
    "Bench_curve_dose": tuple(
        when(READY, _curve_dose(f"TITRATION_DOSE_{end}")) for end in ("LOW", "HIGH")
    ),
    "Bench_model_dose": tuple(
        when(READY, _by_report(f"ACID_DOSE_{end}")) for end in ("LOW", "HIGH")
    ),
}
REMARK = ANSWERS.last + 3


def _remark() -> Formula:
    """Whether the curve and the report agree within their errors, and what to do."""
    measured, reported = name("Bench_measured"), name("Bench_reported")
    curve, model = name("Bench_curve_dose"), name("Bench_model_dose")
    curve_low, curve_high, model_low, model_high = (
        name(f"Bench_{dose}_dose_{end}") for dose in ("curve", "model") for end in ("low", "high")
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
        (xl.ISTEXT(measured), measured),
        (xl.ISTEXT(curve), curve),
        (xl.ISTEXT(model), model),
        (
            xl.COUNT(curve_low, curve_high, model_low, model_high) < 4,
            joined("The doses have no interval: ", curve_low),
        ),
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
            " Dose by the curve: it is this water, today. Give the first portion, mix, read, then the rest.",
            when(
                more != 0,
                joined(
                    " Type ",
                    mg,
                    " mg/L into the sheet Water, so that the plan doses by it too; the sheet Log says "
                    "whether later batches bear it out.",
                ),
            ),
        ),
    )


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [36, 14, 14, 14, 3, 46, 13, 13, 13, 37])
    sheet.text(0, 0, "Bench titration", "title")
    sheet.across(
        1,
        0,
        NOTE,
        "Titrate a sample of the source water, read the pH after each addition, go down past pH 3 in small steps. The "
        "curve measures what a report only says.",
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
    sheet.text(STEPS.row - 1, WORKINGS, "Workings", "section")
    STEPS.write(sheet)
    sheet.text(HEAD - 1, WORKINGS, "Workings: the chart", "section")
    ENDS.write(sheet, height=32, described=False)
    style = sheet.book.style("text")
    sheet.raw.set_column(ENDS.left, ENDS.page_end, 18, style, {"level": 1})


def _answers(sheet: Sheet) -> None:
    sheet.across(ANSWERS.row - 2, LABEL, NOTE, "What it says", "section")
    sheet.headers(ANSWERS.row - 1, LABEL, ["", "Figure", "from", "to", ""], height=16)
    ANSWERS.write(sheet)
    for row, line in enumerate(ANSWERS.lines, ANSWERS.row):
        for column, end, formula in zip(
            (ANSWERS.figure + 1, ANSWERS.figure + 2),
            ("low", "high"),
            INTERVALS.get(line.name, ()),
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
