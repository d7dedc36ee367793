"""Bench titration: the curve, the alkalinity with its error, and the tank's dose by the curve and by the model."""

from __future__ import annotations

from workbook_template.template import scenario
from workbook_template.template.book import GREEN, Book
from workbook_template.template.charts import DASHED, OCHRE, OFF, marks, scatter, series
from workbook_template.template.layout import looked_up, shelf_row

NAME = "Bench titration"
TANK = 13
USED = 17
HEAD = 20
ROWS = 24
FIRST, LAST = HEAD + 1, HEAD + ROWS


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [36, 14, 14, 14, 3, 46, 13, 13, 13, 37])
    sheet.text(0, 0, "Bench titration", "title")
    sheet.across(
        1,
        0,
        9,
        "Titrate a sample of the source water, read the pH after each addition, go down past pH 3 in small steps. The "
        "curve measures what a report only says.",
        "lead",
    )
    sheet.cautions(2, 9)
    _set_up(sheet)
    _readings(sheet)
    _gran_line(sheet)
    _results(sheet)
    rows = (FIRST, LAST)
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
    series(
        chart, "pH", NAME, rows, 0, 1, **{**marks(GREEN), "line": {"color": GREEN, "width": 1.5}}
    )
    series(chart, "Gran function of each reading", NAME, rows, 11, 12, y2_axis=True, **marks(OCHRE))
    series(
        chart,
        "Gran line: meets zero at the end point",
        NAME,
        (FIRST, FIRST + 1),
        13,
        14,
        y2_axis=True,
        line=DASHED,
    )
    sheet.raw.insert_chart(HEAD, 5, chart, {"x_scale": 1.78, "y_scale": 1.7, "object_position": 2})
    sheet.finish(area=(0, 0, LAST, 9), tall=1)


def _set_up(sheet) -> None:
    demo = scenario.TITRATION
    sheet.across(4, 0, 3, "The titration", "section")
    rows = [
        ("Water", "Bench_water", demo.water, "plain"),
        ("Sample, mL", "Bench_sample", demo.sample_ml, "share"),
        ("Hydrochloric acid as titrant, eq/L", "Bench_normality", demo.normality, "plain"),
        ("or the tank's acid, diluted: its label", "Bench_titrant", None, "plain"),
        ("    mL of it", "Bench_titrant_ml", None, "share"),
        ("    made up with water to, mL", "Bench_titrant_total", None, "share"),
        ("Method", "Bench_method", "Gran", "plain"),
    ]
    for offset, (label, name, value, number) in enumerate(rows):
        sheet.text(5 + offset, 0, label, "label")
        sheet.input(5 + offset, 1, value if value == "Gran" else sheet.book.shown(value), number)
        sheet.name_range(name, (5 + offset, 1))
    sheet.choice((5, 1), (5, 1), "=Water_name", "Water")
    sheet.choice((8, 1), (8, 1), "=Shelf_label", "Acid")
    sheet.choice((11, 1), (11, 1), ["Gran", "inflection", "end point"], "Method")
    sheet.across(12, 0, 3, "The tank", "section")
    sheet.raw.set_row(12, 18)
    rows = [
        ("Batch of the plan", demo.batch, "plain"),
        ("Target pH (empty: the batch's)", None, "ph"),
        ('="Liquor, "&Volume_unit&" at 20 °C (empty: the batch\'s)"', None, "volume"),
        ("Acid (empty: the batch's)", None, "plain"),
    ]
    for row, (label, value, number) in enumerate(rows, TANK):
        sheet.label(row, 0, label)
        sheet.input(row, 1, sheet.book.shown(value), number)
    sheet.choice((TANK, 1), (TANK, 1), "=Plan_batch", "Batch")
    sheet.choice((TANK + 3, 1), (TANK + 3, 1), "=Shelf_label", "Acid")
    sheet.text(USED, 0, "Titrant used, eq/L", "label")
    own = (
        f"DILUTE_NORMALITY({looked_up('Shelf_acid', 'Bench_titrant_row')},{looked_up('Shelf_strength', 'Bench_titrant_row')},"
        "Bench_titrant_ml,Bench_titrant_total)"
    )
    sheet.formula(USED, 1, f"=IF(Bench_titrant_row>0,{own},Bench_normality)", "result", "density")
    sheet.name_range("Bench_used", (USED, 1))

    def of_batch(row: int, typed: str, name: str) -> str:
        return (
            f'=IF(B{row + 1}<>"",{typed},IF(Bench_plan_row>0,INDEX(Plan_{name},Bench_plan_row),""))'
        )

    sheet.workings(
        5,
        11,
        [
            ("Bench_water_row", "Water no.", "=IFERROR(MATCH(Bench_water,Water_name,0),0)"),
            (
                "Bench_plan_row",
                "Row of the plan",
                f'=IF(B{TANK + 1}="",0,IFERROR(MATCH(B{TANK + 1},Plan_batch,0),0))',
            ),
            ("Bench_target", "Target pH", of_batch(TANK + 1, f"B{TANK + 2}", "target")),
            (
                "Bench_litres",
                "Liquor, L",
                of_batch(TANK + 2, f"LITRES(B{TANK + 3},Volume_unit)", "cold"),
            ),
            ("Bench_acid", "Acid", of_batch(TANK + 3, f"B{TANK + 4}", "acid")),
            ("Bench_shelf_row", "Shelf no.", f"={shelf_row('Bench_acid')}"),
            ("Bench_titrant_row", "Titrant's shelf no.", f"={shelf_row('Bench_titrant')}"),
        ],
    )
    sheet.text(4, 11, "Workings", "section")
    sheet.raw.set_column(11, 12, 18, sheet.book.style("text"), {"level": 1})


def _readings(sheet) -> None:
    sheet.across(HEAD - 1, 0, 3, "Readings", "section")
    sheet.headers(
        HEAD,
        0,
        ["Titrant added in all, mL", "pH", "Gran function, µmol", "Gran line, µmol"],
        height=32,
    )
    for offset in range(ROWS):
        row, at = FIRST + offset, FIRST + offset + 1
        ml, ph = (
            scenario.TITRATION.readings[offset]
            if offset < len(scenario.TITRATION.readings)
            else (None, None)
        )
        sheet.input(row, 0, sheet.book.shown(ml), "density")
        sheet.input(row, 1, sheet.book.shown(ph), "ph")
        value = f"GRAN_VALUE(A{at},B{at},Bench_sample)"
        sheet.formula(
            row,
            2,
            f'=IF(COUNT(A{at}:B{at})=2,IF(ISNUMBER({value}),{value},""),"")',
            "result",
            "share",
        )
        sheet.formula(row, 11, f"=IF(ISNUMBER(C{at}),A{at},0)", "cell", "density")
        sheet.formula(row, 12, f"=IF(ISNUMBER(C{at}),C{at},{OFF})", "cell", "share")
        line = f"GRAN_LINE(Bench_ml,Bench_phs,Bench_sample,Bench_used,A{at})"
        sheet.formula(
            row,
            3,
            f'=IF(COUNT(A{at}:B{at})=2,IF(ISNUMBER({line}),IF({line}<0,0,{line}),""),"")',
            "result",
            "share",
        )
    sheet.name_range("Bench_ml", (FIRST, 0), (LAST, 0))
    sheet.name_range("Bench_phs", (FIRST, 1), (LAST, 1))


def _gran_line(sheet) -> None:
    """Both ends of the Gran line in the chart."""
    curve = "Bench_ml,Bench_phs,Bench_sample,Bench_used"
    sheet.text(HEAD - 1, 11, "Workings: the chart", "section")
    sheet.headers(HEAD, 11, ["mL", "Gran function", "mL", "Gran line"], height=32)
    for row, ml in ((FIRST, f"END_POINT_ML({curve})"), (FIRST + 1, "MAX(Bench_ml)")):
        at = row + 1
        sheet.formula(row, 13, f"=IF(ISNUMBER({ml}),{ml},0)", "cell", "density")
        height = f"GRAN_LINE({curve},N{at})"
        sheet.formula(row, 14, f"=IF(ISNUMBER({height}),{height},{OFF})", "cell", "share")
    sheet.raw.set_column(13, 14, 18, sheet.book.style("text"), {"level": 1})


def _results(sheet) -> None:
    curve = "Bench_ml,Bench_phs,Bench_sample,Bench_used"
    acid, strength = (
        looked_up("Shelf_acid", "Bench_shelf_row"),
        looked_up("Shelf_strength", "Bench_shelf_row"),
    )
    alk, ph = (
        looked_up("Water_alkalinity", "Bench_water_row"),
        looked_up("Water_pH", "Bench_water_row"),
    )
    ions, temp = "INDEX(Water_ions,Bench_water_row,0)", looked_up("Water_temp_C", "Bench_water_row")
    errors = f"Error_alkalinity,Error_ph,Error_strength,Error_volume,{ions},{temp},CO2_lost"
    titrant = (
        f'IF(Bench_titrant_row>0,{looked_up("Shelf_acid", "Bench_titrant_row")},"hydrochloric")'
    )
    tank = f"Bench_target,Bench_litres,{acid},{strength}"
    ready = "AND(Bench_water_row>0,Bench_shelf_row>0)"
    sheet.across(4, 5, 9, "What it says", "section")
    sheet.headers(5, 5, ["", "Figure", "from", "to", ""], height=16)
    measured = f"TITRATION_ALKALINITY({curve},Bench_method)"
    half = f"TITRATION_HALF_WIDTH({curve})"
    rows = [
        (
            "Alkalinity measured, mg/L as CaCO3",
            f"={measured}",
            f'=IF(ISNUMBER({half}),G7-{half},"")',
            f'=IF(ISNUMBER({half}),G7+{half},"")',
            "from and to: 95 % interval of Gran's line",
            "share",
        ),
        (
            "    its standard error, mg/L",
            f'=IF(ISNUMBER(TITRATION_ERROR({curve})),TITRATION_ERROR({curve}),"")',
            None,
            None,
            "scatter of the readings about the line",
            "share",
        ),
        (
            "    end point pH 4.5, for comparison",
            f'=TITRATION_ALKALINITY({curve},"end point")',
            None,
            None,
            "Standard Methods 2320 B",
            "share",
        ),
        (
            "Alkalinity of the report, mg/L as CaCO3",
            f'=IF(Bench_water_row>0,{alk},"choose a water")',
            None,
            None,
            "sheet Water",
            "share",
        ),
        (
            "Dose by the measured curve, mL",
            f'=IF({ready},TITRATION_DOSE({curve},{tank},{titrant},{ions}),"choose water and acid")',
            f'=IF({ready},TITRATION_DOSE_LOW({curve},{tank},{titrant}),"")',
            f'=IF({ready},TITRATION_DOSE_HIGH({curve},{tank},{titrant}),"")',
            "from and to: 95 % interval",
            "ml",
        ),
        (
            "Dose by report and model, mL",
            f'=IF({ready},ACID_DOSE({alk},{ph},{tank},{ions},{temp},CO2_lost),"choose water and acid")',
            f'=IF({ready},ACID_DOSE_LOW({alk},{ph},{tank},{errors}),"")',
            f'=IF({ready},ACID_DOSE_HIGH({alk},{ph},{tank},{errors}),"")',
            "from and to: 95 % interval",
            "ml",
        ),
        (
            "Dose by model with the measured alkalinity, mL",
            f'=IF(AND({ready},ISNUMBER(G7)),ACID_DOSE(G7,{ph},{tank},{ions},{temp},CO2_lost),"")',
            None,
            None,
            "",
            "ml",
        ),
    ]
    for offset, (label, figure, low, high, note, number) in enumerate(rows):
        row = 6 + offset
        sheet.text(row, 5, label, "label")
        for column, formula in ((6, figure), (7, low), (8, high)):
            if formula:
                sheet.formula(row, column, formula, "result", "right", number)
        sheet.text(row, 9, f" {note}")
    sheet.across(14, 5, 9, "Remark", "section")
    measured_mg, report_mg, more = (
        "FIXED(G7,0,TRUE)",
        "FIXED(G10,0,TRUE)",
        "(ROUND(G7,0)-ROUND(G10,0))",
    )
    said = (
        f'"measured "&{measured_mg}&" mg/L, report "&{report_mg}&IF({more}=0,".",", "&FIXED(ABS{more},0,TRUE)&IF({more}>0," more."," '
        'less."))'
    )
    sheet.raw.merge_range(15, 5, 17, 9, "", sheet.book.style("remark"))
    for row in (15, 16, 17):
        sheet.raw.set_row(row, 18)
    sheet.formula(
        15,
        5,
        (
            '=IF(ISTEXT(G7),G7,IF(ISTEXT(G11),G11,IF(ISTEXT(G12),G12,IF(COUNT(H11:I12)<4,"The doses have no interval: "&H11,'
            "IF(OR(H11>I12,H12>I11),"
            f'"The curve and the report disagree by more than both errors allow: "&{said}&" Titrate once more; if it stays, dose by the curve, '
            f'type "&{measured_mg}&" mg/L into the sheet Water and ask the supplier.",'
            f'"The curve and the report agree within their errors: "&{said}&" Dose by the curve: it is this water, today. Give the first '
            f'portion, mix, read, then the rest."&IF({more}=0,""," Type "&{measured_mg}&" mg/L into the sheet Water, so that the plan doses by '
            'it too; the sheet Log says whether later batches bear it out."))))))'
        ),
        "remark",
    )
