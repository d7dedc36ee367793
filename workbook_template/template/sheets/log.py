"""Log: one row a batch as it came out; what the water really had, the bias of the plan, and final beer pH."""

from __future__ import annotations

from xlsxwriter.utility import xl_col_to_name

from workbook_template.template import scenario
from workbook_template.template.book import GREEN, WARN, Book
from workbook_template.template.charts import DASHED, OFF, marks, scatter, series
from workbook_template.template.layout import looked_up, shelf_row

NAME = "Log"
ROWS = 60
HEAD = 36
FIRST, LAST = HEAD + 1, HEAD + ROWS
#: Fewest batches from which a line is more than chance.
ENOUGH = 8

INPUTS = {
    "date": ("Date", 11, "date"),
    "batch": ("Batch", 14, "plain"),
    "water": ("Water", 16, "plain"),
    "acid": ("Acid", 19, "plain"),
    "litres": ('="Liquor, "&Volume_unit&" at 20 °C"', 9, "volume"),
    "target": ("Target pH", 8, "ph"),
    "before": ("pH before", 8, "ph"),
    "dose": ("Dose given, mL (powder: g)", 9, "ml"),
    "after": ("pH after", 8, "ph"),
    "last": ("Last runnings pH", 9, "ph"),
    "kettle": ("Kettle pH", 8, "ph"),
    "beer": ("Final beer pH", 8, "ph"),
}
_AMOUNT, _PH = (0, 1e7, "A volume or dose"), (1, 11, "A pH reading")
#: Least and most of the numbers that are typed, and what they are.
LIMITS = {
    "litres": _AMOUNT,
    "dose": _AMOUNT,
    **{key: _PH for key in ("target", "before", "after", "last", "kettle", "beer")},
}
RESULTS = {
    "planned": ("Planned dose, mL (powder: g)", 9, "ml"),
    "expected": ("pH expected of that dose", 9, "ph"),
    "implied": ("Alkalinity implied, mg/L as CaCO3", 10, "mg"),
    "report": ("Alkalinity of the report, mg/L as CaCO3", 10, "mg"),
    "drift": ("Drift, %", 8, "share"),
    "remark": ("Remark", 70, "plain"),
}
#: What a row takes from the batch plan where its cell is empty, by the name of the plan's column.
FROM_PLAN = {"water": "water_name", "acid": "acid", "litres": "cold", "target": "target"}
WORKINGS = {
    "used": "In use",
    "plan_row": "Row of the plan",
    "water_used": "Water used",
    "acid_used": "Acid used",
    "litres_used": "Liquor used, L",
    "target_used": "Target used",
    "water_row": "Water no.",
    "shelf_row": "Shelf no.",
    "each": "mL each",
    "liquid": "Strength for mL",
    "miss": "Read less expected",
    "least": "Dose for that reading: from",
    "most": "to (95 % interval)",
    "sel_before": "pH before",
    "sel_after": "pH after",
    "sel_dose": "Dose, mL",
    "sel_litres": "Litres",
    "x": "Sparge pH",
    "y": "Beer pH",
    "drawn": "Chart: drawn",
    "chart_date": "Chart: date",
    "chart_implied": "Chart: implied",
    "chart_report": "Chart: report",
    "chart_x": "Chart: sparge pH",
    "chart_y": "Chart: beer pH",
}
_KEYS = [*INPUTS, *RESULTS, None, *WORKINGS]
COLUMN = {key: index for index, key in enumerate(_KEYS) if key}
LETTER = {key: xl_col_to_name(index) for key, index in COLUMN.items()}
#: The first row that the chart of the water draws. Rows without a figure are drawn on top of it: a point far below the others
#: would stretch the axis, which is to begin near the figures.
FIRST_DRAWN = f"${LETTER['drawn']}${HEAD - 1}"
SHOWN_LAST = len(INPUTS) + len(RESULTS) - 1


def write(book: Book) -> None:
    """Write the sheet."""
    widths = [spec[1] for spec in (*INPUTS.values(), *RESULTS.values())]
    sheet = book.sheet(NAME, widths + [3] + [11] * len(WORKINGS))
    sheet.text(0, 0, "Log", "title")
    sheet.across(
        1,
        0,
        SHOWN_LAST,
        "One row a batch, as it came out. The dose and the two readings tell what alkalinity the water really "
        "had. Water, acid, liquor and target may stay empty for a batch that is on the plan. A dose outside "
        "the 95 % interval for its reading gets a remark.",
        "lead",
    )
    _summary(sheet)
    sheet.headers(HEAD, 0, [spec[0] for spec in (*INPUTS.values(), *RESULTS.values())], height=58)
    sheet.across(
        HEAD - 1,
        SHOWN_LAST + 2,
        SHOWN_LAST + 1 + len(WORKINGS),
        "Workings: one step a column",
        "section",
    )
    sheet.headers(HEAD, SHOWN_LAST + 2, list(WORKINGS.values()), height=58)
    for offset in range(ROWS):
        _row(sheet, FIRST + offset, scenario.LOG[offset] if offset < len(scenario.LOG) else None)
    for key, limits in LIMITS.items():
        sheet.limits((FIRST, COLUMN[key]), (LAST, COLUMN[key]), *limits)
    sheet.choice((FIRST, COLUMN["water"]), (LAST, COLUMN["water"]), "=Water_name", "Water")
    sheet.choice((FIRST, COLUMN["acid"]), (LAST, COLUMN["acid"]), "=Shelf_label", "Acid")
    for key in ("batch", "before", "after", "last", "kettle", "beer"):
        sheet.name_range(f"Log_{key}", (FIRST, COLUMN[key]), (LAST, COLUMN[key]))
    sheet.raw.conditional_format(
        FIRST,
        COLUMN["remark"],
        LAST,
        COLUMN["remark"],
        {
            "type": "text",
            "criteria": "begins with",
            "value": "Water ",
            "format": book.workbook.add_format({"bg_color": "#FBE8C4"}),
        },
    )
    for column in range(SHOWN_LAST + 2, SHOWN_LAST + 2 + len(WORKINGS)):
        sheet.raw.set_column(column, column, 11, book.style("text"), {"level": 1})
    _charts(book, sheet)
    sheet.finish(area=(0, 0, LAST, SHOWN_LAST), repeat=HEAD, freeze=(HEAD + 1, 2))


def _cells(key: str) -> str:
    return f"${LETTER[key]}${FIRST + 1}:${LETTER[key]}${LAST + 1}"


def _summary(sheet) -> None:
    sheet.across(3, 0, 6, "What the water really had", "section")
    sheet.text(4, 0, "Water", "label")
    sheet.input(4, 3, scenario.LOG[0].water)
    sheet.choice((4, 3), (4, 3), "=Water_name", "Water")
    sheet.text(5, 0, "Acid", "label")
    sheet.input(5, 3, scenario.LOG[0].acid)
    sheet.choice((5, 3), (5, 3), "=Shelf_label", "Acid")
    chosen, shelf = "IFERROR(MATCH($D$5,Water_name,0),0)", shelf_row("$D$6")
    selected = ",".join(
        _cells(key) for key in ("sel_before", "sel_after", "sel_dose", "sel_litres")
    )
    past = (
        f"{selected},{looked_up('Shelf_acid', shelf)},{looked_up('Shelf_strength', shelf)},INDEX(Water_ions,{chosen},0),"
        f"{looked_up('Water_temp_C', chosen)},CO2_lost"
    )
    count = f"COUNT({_cells('sel_dose')})"
    rows = [
        ("Batches of this water and acid", f"={count}", "count"),
        (
            "Alkalinity learnt, mg/L as CaCO3 (median)",
            f'=IF({count}=0,"no batch yet",EFFECTIVE_ALKALINITY({past}))',
            "mg",
        ),
        (
            "    scatter from batch to batch, mg/L",
            f'=IF({count}<3,"3 batches needed",EFFECTIVE_ALKALINITY_SPREAD({past}))',
            "share",
        ),
        (
            "Alkalinity of the report, mg/L as CaCO3",
            f'=IF({chosen}>0,{looked_up("Water_alkalinity", chosen)},"")',
            "mg",
        ),
        (
            "Drift of the water against the report, %",
            '=IF(COUNT(D8,D10)=2,100*(D8/D10-1),"")',
            "share",
        ),
        (
            "Bias of the plan: pH read minus expected",
            f'=IF(COUNT({_cells("miss")})=0,"no batch yet",AVERAGE({_cells("miss")}))',
            "ph",
        ),
    ]
    for offset, (label, formula, number) in enumerate(rows):
        sheet.text(6 + offset, 0, label, "label")
        sheet.formula(6 + offset, 3, formula, "result", "right", number)
    more = "(ROUND(D8,0)-ROUND(D10,0))"
    said = (
        f'D7&" batches gave "&FIXED(D8,0,TRUE)&" mg/L, "&IF({more}=0,"the same as",FIXED(ABS{more},0,TRUE)&IF({more}>0," more"," less")'
        '&" than")&" the report"'
    )
    sheet.raw.merge_range(12, 0, 13, 6, "", sheet.book.style("remark"))
    sheet.formula(
        12,
        0,
        (
            f'=IF(ISTEXT(D8),D8,IF(ISTEXT(D9),"Too few batches for a scatter.",IF(ABS(D8-D10)>2*D9,"The water is not what the report says: "&'
            f'{said}&", beyond their scatter. Type "&FIXED(D8,0,TRUE)&" mg/L into the sheet Water, or have a new report made. One titration '
            'alone may still agree with the report within its errors; this many batches tell more.",'
            f'"The report still fits the doses given: "&{said}&", within the scatter.")))'
        ),
        "remark",
    )
    for row in (12, 13):
        sheet.raw.set_row(row, 24)
    _beer(sheet)


def _beer(sheet) -> None:
    x, y = _cells("x"), _cells("y")
    count = f"COUNT({y})"
    sheet.across(3, 8, SHOWN_LAST - 1, "Final beer pH against sparge pH", "section")
    rows = [
        ("Batches with both readings", f"={count}", "count"),
        (
            "Slope of the line, pH per pH",
            f'=IF({count}<2,"2 batches needed",IFERROR(SLOPE({y},{x}),"all at one pH"))',
            "ph",
        ),
        ("    from (95 % interval)", f'=IF({count}<3,"3 batches needed",SLOPE_LOW({x},{y}))', "ph"),
        ("    to", f'=IF({count}<3,"3 batches needed",SLOPE_HIGH({x},{y}))', "ph"),
    ]
    for offset, (label, formula, number) in enumerate(rows):
        sheet.text(4 + offset, 8, label, "label")
        sheet.raw.merge_range(
            4 + offset, 12, 4 + offset, 13, "", sheet.book.style("result", number)
        )
        sheet.formula(4 + offset, 12, formula, "result", "right", number)
    sheet.raw.merge_range(8, 8, 10, 16, "", sheet.book.style("remark"))
    sheet.formula(
        8,
        8,
        (
            f'=IF(M5<{ENOUGH},"Fewer than {ENOUGH} batches: this is no evidence yet, whatever the line looks like.",'
            'IF(COUNT(M6:M8)<3,"No line can '
            'be drawn: vary the sparge pH.",IF(AND(M7<0,M8>0),"No trend shown: a slope of zero is within the interval.",'
            'IF(M6<0,"The beer goes against the sparge pH, which is not expected: look at the readings.",'
            '"The beer follows the sparge; other things changed too, so try it on one beer before relying on it."))))'
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


def _row(sheet, row: int, logged: scenario.Logged | None) -> None:
    at = row + 1
    c = {key: f"{letter}{at}" for key, letter in LETTER.items()}
    for column, (value, spec) in enumerate(zip(logged or (None,) * len(INPUTS), INPUTS.values())):
        sheet.input(row, column, value, spec[2])
    typed = {key: c[key] for key in FROM_PLAN}
    own = {"litres": f"LITRES({typed['litres']},Volume_unit)"}
    c.update(
        {key: c[f"{key}_used"] for key in FROM_PLAN}
    )  # from here on, what is typed or else the plan's
    ready = f"AND({c['used']}=1,{c['water_row']}>0,{c['shelf_row']}>0)"
    acid, strength = (
        looked_up("Shelf_acid", c["shelf_row"]),
        looked_up("Shelf_strength", c["shelf_row"]),
    )
    alk, temp = (
        looked_up("Water_alkalinity", c["water_row"]),
        looked_up("Water_temp_C", c["water_row"]),
    )
    more = (
        f"{c['litres']},{acid},{c['liquid']},INDEX(Water_ions,{c['water_row']},0),{temp},CO2_lost"
    )
    both = f"AND({ready},COUNT({c['before']},{c['after']},{c['dose']},{c['litres']})=4)"
    picked = f"AND({both},{c['water']}=$D$5,{c['acid']}=$D$6)"

    def number_or(formula: str, condition: str) -> str:
        return f'=IF({condition},IF(ISNUMBER({formula}),{formula},"see remark"),"")'

    planned = f"ACID_DOSE({alk},{c['before']},{c['target']},{more})/{c['each']}"
    expected = f"PH_AFTER_ACID({alk},{c['before']},{c['dose']}*{c['each']},{more})"
    least, most = (
        f"ACID_DOSE_{end}({alk},{c['before']},{c['after']},{c['litres']},{acid},{c['liquid']},Error_alkalinity,Error_ph,Error_strength,"
        f"Error_volume,INDEX(Water_ions,{c['water_row']},0),{temp},CO2_lost)/{c['each']}"
        for end in ("LOW", "HIGH")
    )
    implied = f"ALKALINITY_FROM_DOSE({c['before']},{c['after']},{c['dose']}*{c['each']},{more})"
    formulas = {
        "planned": number_or(
            planned, f"AND({ready},COUNT({c['before']},{c['target']},{c['litres']})=3)"
        ),
        "expected": number_or(
            expected, f"AND({ready},COUNT({c['before']},{c['dose']},{c['litres']})=3)"
        ),
        "implied": number_or(implied, both),
        "report": f'=IF({ready},{alk},"")',
        "drift": f'=IF(AND(ISNUMBER({c["implied"]}),ISNUMBER({c["report"]})),100*({c["implied"]}/{c["report"]}-1),"")',
        "remark": (
            f'=IF({c["used"]}=0,"",IF({c["water_row"]}=0,"Choose a water that has a row on the sheet Water.",IF({c["shelf_row"]}=0,'
            f'"Choose an acid that has a label on the sheet Settings.",IF({c["planned"]}="see remark",{planned.rsplit("/", 1)[0]},'
            f'IF({c["implied"]}="see remark",{implied},IF({both},IF(COUNT({c["least"]},{c["most"]},{c["miss"]})<3,"",'
            f"IF({c['dose']}>{c['most']},"
            f'"Water stronger than planned: pH came out "&FIXED(ABS({c["miss"]}),2)&" high; titrate before the next batch.",'
            f'IF({c["dose"]}<{c["least"]},"Water weaker than planned: pH came out "&FIXED(ABS({c["miss"]}),2)&" low; titrate '
            'before the next batch.",""))),"Readings missing: no alkalinity from this row."))))))'
        ),
        "used": f"=IF(COUNTA({c['batch']}:{c['beer']})>0,1,0)",
        "plan_row": f'=IF({c["batch"]}="",0,IFERROR(MATCH({c["batch"]},Plan_batch,0),0))',
        **{
            f"{key}_used": f'=IF({typed[key]}<>"",{own.get(key, typed[key])},IF({c["plan_row"]}>0,INDEX(Plan_{name},{c["plan_row"]}),""))'
            for key, name in FROM_PLAN.items()
        },
        "water_row": f"=IF({c['used']}=1,IFERROR(MATCH({c['water']},Water_name,0),0),0)",
        "shelf_row": f"=IF({c['used']}=1,{shelf_row(c['acid'])},0)",
        "liquid": f'=IF({ready},IF({looked_up("Shelf_measure", c["shelf_row"])}="g",50,{strength}),"")',
        "each": (
            f'=IF({ready},IF({looked_up("Shelf_measure", c["shelf_row"])}="g",{strength}/50/ACID_DENSITY({acid},50),1),"")'
        ),
        "miss": f'=IF(AND(ISNUMBER({c["expected"]}),ISNUMBER({c["after"]})),{c["after"]}-{c["expected"]},"")',
        "least": f'=IF({both},{least},"")',
        "most": f'=IF({both},{most},"")',
        "sel_before": f'=IF({picked},{c["before"]},"")',
        "sel_after": f'=IF({picked},{c["after"]},"")',
        "sel_dose": f'=IF({picked},{c["dose"]}*{c["each"]},"")',
        "sel_litres": f'=IF({picked},{c["litres"]},"")',
        "x": f'=IF(COUNT({c["after"]},{c["beer"]})=2,{c["after"]},"")',
        "y": f'=IF(COUNT({c["after"]},{c["beer"]})=2,{c["beer"]},"")',
        "drawn": f"=IF(COUNT({c['date']},{c['implied']},{c['report']})=3,1,0)",
        **{
            f"chart_{key}": f"=IF({c['drawn']}=1,{c[key]},IF({FIRST_DRAWN}>0,INDEX({_cells(key)},{FIRST_DRAWN}),{OFF}))"
            for key in ("date", "implied", "report")
        },
        "chart_x": f"=IF(ISNUMBER({c['x']}),{c['x']},0)",
        "chart_y": f"=IF(ISNUMBER({c['y']}),{c['y']},{OFF})",
    }
    for key, formula in formulas.items():
        look = (
            ("remark",)
            if key == "remark"
            else ("result", "right", RESULTS[key][2])
            if key in RESULTS
            else ("cell",)
        )
        sheet.formula(row, COLUMN[key], formula, *look)


def _fitted_line(sheet) -> tuple[int, int]:
    """Both ends of the fitted line, above the workings; the rows they stand in."""
    x, y = _cells("x"), _cells("y")
    first = HEAD - 4
    sheet.text(first - 1, COLUMN["chart_x"], "Fitted line", "section")
    for row, end in ((first, "MIN"), (first + 1, "MAX")):
        at = f"{LETTER['chart_x']}{row + 1}"
        sheet.formula(row, COLUMN["chart_x"], f"={end}({x})", "cell", "ph")
        sheet.formula(
            row,
            COLUMN["chart_y"],
            f"=IF(ISNUMBER($M$6),INTERCEPT({y},{x})+$M$6*{at},{OFF})",
            "cell",
            "ph",
        )
    return first, first + 1


def _first_drawn(sheet) -> None:
    """The number of the first row that the chart of the water draws, above the workings."""
    sheet.text(HEAD - 3, COLUMN["drawn"], "First drawn", "section")
    sheet.formula(HEAD - 2, COLUMN["drawn"], f"=IFERROR(MATCH(1,{_cells('drawn')},0),0)", "cell")


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
