"""Sparge day: the work sheet of one batch: plan, first portion, readings, further dose, cautions, sign-off."""

from __future__ import annotations

from workbook_template.template import scenario
from workbook_template.template.book import GREEN, WARN, Book
from workbook_template.template.charts import OFF, marks, scatter, series
from workbook_template.template.layout import cautions_of, liquid_strength, looked_up

NAME = "Sparge day"
STEPS = 4
BEFORE = 17
STEP_HEAD = 19
STEP_FIRST, STEP_LAST = STEP_HEAD + 1, STEP_HEAD + STEPS
REMARK = STEP_LAST + 1
#: pH between a reading and what was expected of it, from which on something is wrong: a choice of this workbook, four times the usual error
#: of a reading.
FAR = 0.2
#: Amounts of acid as they are measured out: whole mL or g, with one decimal below 10.
AMOUNT = "limit"
CURVE_POINTS = 21
CURVE_FIRST = 4
#: Where the batch of the readings is typed, and the readings.
_OF = f"E{BEFORE + 1}"
_TYPED = f"B{BEFORE + 1},B{STEP_FIRST + 1}:B{STEP_LAST + 1},D{STEP_FIRST + 1}:D{STEP_LAST + 1}"


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [30, 15, 14, 14, 15, 17])
    sheet.text(0, 0, "Sparge day: work sheet", "title")
    sheet.text(2, 0, "Batch", "label")
    sheet.raw.merge_range(2, 1, 2, 2, scenario.BATCHES[0].name, book.style("input", "plain"))
    sheet.choice((2, 1), (2, 1), "=Plan_batch", "Batch")
    sheet.name_range("Day_batch", (2, 1))
    _workings(sheet)
    _plan(sheet)
    sheet.across(13, 0, 5, "Cautions: read before the can is opened", "section")
    row = 14
    sheet.across(
        row,
        0,
        5,
        f"=IF(Day_row>0,{cautions_of('Day_acid', 'Day_strength')},Any_cautions)",
        "caution",
        height=88,
        formula=True,
    )
    _steps(sheet)
    _sign_off(sheet)
    chart = scatter(
        book,
        "The planned curve and the readings",
        f"='{NAME}'!$H$4",
        "pH, cooled sample",
        x_axis={"min": 0},
        y_axis={"min": 4, "max": 9, "num_format": "0.0"},
    )
    series(
        chart,
        "planned",
        NAME,
        (CURVE_FIRST, CURVE_FIRST + CURVE_POINTS - 1),
        7,
        8,
        line={"color": GREEN, "width": 2.25},
    )
    series(chart, "read", NAME, (STEP_FIRST, STEP_LAST), 11, 12, **marks(WARN))
    sheet.raw.insert_chart(
        STEP_LAST + 7, 0, chart, {"x_scale": 1.52, "y_scale": 1.1, "object_position": 2}
    )
    sheet.finish(landscape=False, area=(0, 0, STEP_LAST + 24, 5), tall=1)


def _workings(sheet) -> None:
    """Names for the batch, and the planned curve, to the right of the page."""
    sheet.text(2, 7, "Workings: planned curve", "section")
    sheet.formula(3, 7, '="Acid in all, "&Day_unit', "header")
    sheet.text(3, 8, "pH", "header")
    sheet.raw.set_column(7, 15, 16, sheet.book.style("text"), {"level": 1})
    names = [
        (
            "Day_row",
            "Row of the plan",
            "=IFERROR(IF(INDEX(Plan_complete,MATCH(B3,Plan_batch,0))=1,MATCH(B3,Plan_batch,0),0),0)",
        ),
        ("Day_water", "Water no.", "=IF(Day_row>0,INDEX(Plan_water_row,Day_row),0)"),
        ("Day_shelf", "Shelf no.", "=IF(Day_row>0,INDEX(Plan_shelf_row,Day_row),0)"),
        ("Day_litres", "Liquor, L", '=IF(Day_row>0,INDEX(Plan_cold,Day_row),"")'),
        ("Day_acid", "Acid", '=IF(Day_row>0,INDEX(Shelf_acid,Day_shelf),"")'),
        ("Day_strength", "Strength", '=IF(Day_row>0,INDEX(Shelf_strength,Day_shelf),"")'),
        ("Day_unit", "Measured in", '=IF(Day_row>0,INDEX(Shelf_measure,Day_shelf),"mL")'),
        ("Day_dose", "Planned amount", '=IF(Day_row>0,INDEX(Plan_amount,Day_row),"")'),
        (
            "Day_liquid",
            "Strength for mL",
            f'=IF(Day_row>0,{liquid_strength("Day_unit", "Day_strength")},"")',
        ),
        (
            "Day_ml_each",
            "mL at that for each mL or g",
            '=IF(Day_row>0,INDEX(Plan_volume_ml,Day_row)/Day_dose,"")',
        ),
        ("Day_target", "Target", '=IF(Day_row>0,INDEX(Plan_target,Day_row),"")'),
        ("Day_alkalinity", "Alkalinity", '=IF(Day_row>0,INDEX(Water_alkalinity,Day_water),"")'),
        ("Day_temp", "Reading's temperature", '=IF(Day_row>0,INDEX(Water_temp_C,Day_water),"")'),
        (
            "Day_own",
            "Readings are of this batch",
            f'=IF(COUNTA({_TYPED})=0,1,IF(AND(B3<>"",{_OF}&""=B3&""),1,0))',
        ),
        (
            "Day_ph",
            "pH before",
            f'=IF(Day_row>0,IF(OR(Day_own=0,B{BEFORE + 1}=""),INDEX(Water_pH,Day_water),B{BEFORE + 1}),"")',
        ),
    ]
    sheet.text(2, 14, "Workings: the batch", "section")
    sheet.workings(3, 14, names)
    for step in range(CURVE_POINTS):
        row, at = CURVE_FIRST + step, CURVE_FIRST + step + 1
        sheet.formula(
            row, 7, f'=IF(Day_row>0,Day_dose*1.2*{step}/{CURVE_POINTS - 1},"")', "cell", "ml"
        )
        sheet.formula(row, 8, f'=IF(Day_row>0,{_ph_after(f"H{at}")},"")', "cell", "ph")


def _ph_after(amount: str) -> str:
    return (
        f"PH_AFTER_ACID(Day_alkalinity,Day_ph,{amount}*Day_ml_each,Day_litres,Day_acid,Day_liquid,INDEX(Water_ions,Day_water,0),"
        "Day_temp,CO2_lost)"
    )


def _plan(sheet) -> None:
    low, high = (
        f"ACID_DOSE_{end}(Day_alkalinity,Day_ph,Day_target,Day_litres,Day_acid,Day_liquid,Error_alkalinity,Error_ph,Error_strength,"
        "Error_volume,INDEX(Water_ions,Day_water,0),Day_temp,CO2_lost)/Day_ml_each"
        for end in ("LOW", "HIGH")
    )
    rows = [
        (
            3,
            0,
            "Water",
            f'=IF(Day_row>0,{looked_up("Water_name", "Day_water")},"choose a batch with a dose")',
            "plain",
        ),
        (4, 0, "Acid", f'=IF(Day_row>0,{looked_up("Shelf_label", "Day_shelf")},"")', "plain"),
        (5, 0, "Liquor, L at 20 °C", "=Day_litres", "litres"),
        (6, 0, "Target pH, cooled sample", "=Day_target", "ph"),
        (7, 0, '="Planned dose, "&Day_unit', "=Day_dose", AMOUNT),
        (8, 0, '="    from, "&Day_unit&" (95 % interval)"', f'=IF(Day_row>0,{low},"")', AMOUNT),
        (9, 0, '="    to, "&Day_unit', f'=IF(Day_row>0,{high},"")', AMOUNT),
        (10, 0, '="First portion, "&Day_unit', '=IF(Day_row>0,Day_dose*First_portion,"")', AMOUNT),
        (
            11,
            0,
            "Expected pH after it",
            f'=IF(Day_row>0,{_ph_after("Day_dose*First_portion")},"")',
            "ph",
        ),
    ]
    for row, column, label, formula, number in rows:
        sheet.label(row, column, label)
        sheet.raw.merge_range(row, 1, row, 2, "", sheet.book.style("result", number))
        sheet.formula(row, 1, formula, "result", "right" if number != "plain" else "text", number)
    sheet.name_range("Day_most", (9, 1))
    sheet.raw.merge_range(3, 3, 11, 5, "", sheet.book.style("remark"))
    sheet.formula(
        3,
        3,
        (
            '="1. Give the first portion, "&FIXED(100*First_portion,0,TRUE)&" % of the plan."&CHAR(10)'
            '&"2. Mix for "&Mixing_minutes&" minutes."&CHAR(10)'
            '&"3. Read a cooled sample with a calibrated meter and write it down."&CHAR(10)'
            '&"4. Add the remainder in portions, and read after each."&CHAR(10)'
            f'&"Never give a portion before the last one is mixed in. Stop and ask if a reading is more than {FAR:g} from the expected pH '
            '(a choice of this workbook)."'
        ),
        "remark",
    )


def _steps(sheet) -> None:
    sheet.across(BEFORE - 1, 0, 5, "Readings", "section")
    sheet.text(BEFORE, 0, "pH before any acid (empty: report)", "label")
    sheet.input(BEFORE, 1, None, "ph")
    sheet.limits((BEFORE, 1), (BEFORE, 1), 4, 11, "A pH reading")
    sheet.text(BEFORE, 2, " Readings of batch", "label")
    sheet.raw.merge_range(
        BEFORE, 4, BEFORE, 5, scenario.BATCHES[0].name, sheet.book.style("input", "plain")
    )
    sheet.choice((BEFORE, 4), (BEFORE, 4), "=Plan_batch", "Batch")
    sheet.headers(
        STEP_HEAD,
        0,
        [
            "Step",
            '="Given in this step, "&Day_unit',
            '="Given in all, "&Day_unit',
            "pH read, cooled",
            "pH expected",
            '="Still to give, "&Day_unit',
        ],
        height=32,
    )
    sheet.text(STEP_HEAD, 11, "Given in all", "header")
    sheet.text(STEP_HEAD, 12, "pH read", "header")
    sheet.text(STEP_HEAD, 13, "Remark", "header")
    first = STEP_FIRST + 1
    for offset in range(STEPS):
        row, at = STEP_FIRST + offset, STEP_FIRST + offset + 1
        of_batch = scenario.READINGS[0]
        given, read = of_batch.get(f"given_{offset + 1}"), of_batch.get(f"ph_{offset + 1}")
        sheet.text(row, 0, f" Portion {offset + 1}", "cell")
        sheet.input(row, 1, given, AMOUNT)
        sheet.formula(
            row,
            2,
            f'=IF(AND(Day_row>0,B{at}<>""),IF(COUNT(B{first}:B{at})={offset + 1},SUM(B{first}:B{at}),'
            f'"a portion is missing"),"")',
            "result",
            "right",
            AMOUNT,
        )
        sheet.input(row, 3, read, "ph")
        expected = _ph_after(f"C{at}")
        sheet.formula(
            row,
            4,
            f'=IF(ISNUMBER(C{at}),IF(Day_own=1,{expected},"see remark"),"")',
            "result",
            "right",
            "ph",
        )
        more = (
            f"ACID_TOP_UP(Day_ph,D{at},Day_target,C{at}*Day_ml_each,Day_litres,Day_acid,Day_liquid,INDEX(Water_ions,Day_water,0),"
            "Day_temp,CO2_lost)"
        )
        sheet.formula(
            row,
            5,
            f'=IF(AND(ISNUMBER(C{at}),D{at}<>""),IF(Day_own=0,"see remark",IF(ISNUMBER({more}),{more}/Day_ml_each,'
            f'IF(AND(ISNUMBER(D{at}),D{at}<=Day_target),"no more acid",{more}))),"")',
            "result",
            "right",
            AMOUNT,
        )
        known = f"AND(Day_own=1,COUNT(C{at}:D{at})=2)"
        sheet.formula(row, 11, f"=IF({known},C{at},0)", "cell", "ml")
        sheet.formula(row, 12, f"=IF({known},D{at},{OFF})", "cell", "ph")
        sheet.formula(row, 13, _portion_remark(at, offset + 1), "cell")
        sheet.raw.set_row(row, 20)
    sheet.raw.conditional_format(
        STEP_FIRST,
        5,
        STEP_LAST,
        5,
        {
            "type": "formula",
            "criteria": f'=ISNUMBER(SEARCH("more than the water",$N{first}))',
            "format": _alarm(sheet),
        },
    )
    _remark(sheet)
    sheet.limits((STEP_FIRST, 3), (STEP_LAST, 3), 1, 11, "A pH reading")
    sheet.limits((STEP_FIRST, 1), (STEP_LAST, 1), 0, 1e6, "An amount of acid")


def _alarm(sheet):
    return sheet.book.workbook.add_format({"bg_color": "#F6D5CF"})


def _portion_remark(at: int, number: int) -> str:
    """What the reading after one portion says, in words."""

    def amount(figure: str) -> str:
        return f"FIXED({figure},IF({figure}<9.95,1,0))"

    still, in_all, apart = f"N(F{at})", f"(C{at}+N(F{at}))", f"ROUND(D{at}-E{at},2)"
    return (
        f'=IF(AND(Day_own=1,COUNT(C{at}:E{at})=3,ISNUMBER(Day_most)),"Portion {number}: "'
        f'&IF(ABS({apart})>{FAR:g},"the reading is "&FIXED(ABS({apart}),2)&IF({apart}>0," above"," below")&" the expected pH: stop and '
        f'ask. ","")&IF({in_all}>Day_most,"given and still to give make "&{amount(in_all)}&" "&Day_unit&", more than the water should take '
        f'(up to "&{amount("Day_most")}&"): check meter, volume and label before giving it.",IF(ABS({apart})>{FAR:g},"",'
        f'IF({still}>=0.05,"as expected within {FAR:g} pH; "&{amount(still)}&" "&Day_unit&" remain, in portions.",IF(ISTEXT(F{at}),F{at},'
        '"no more acid")&"."))),"")'
    )


def _remark(sheet) -> None:
    """Below the readings: whose they are, and what each portion says."""
    portions = "&".join(
        f'IF(N{at}="","",N{at}&CHAR(10))' for at in range(STEP_FIRST + 1, STEP_LAST + 2)
    )
    sheet.across(
        REMARK,
        0,
        5,
        (
            f'=IF(Day_own=1,{portions},IF({_OF}="","Choose above which batch these readings belong to.",IF(B3="","Choose a batch above.",'
            f'"These readings belong to batch "&{_OF}&": clear them, then choose the batch of the new ones.")))'
        ),
        "remark",
        formula=True,
        height=72,
    )
    for words in ("belong to", "stop and ask", "before giving"):
        sheet.raw.conditional_format(
            REMARK,
            0,
            REMARK,
            5,
            {"type": "text", "criteria": "containing", "value": words, "format": _alarm(sheet)},
        )


def _sign_off(sheet) -> None:
    row = REMARK + 2
    for offset, label in enumerate(("Dosed by", "Checked by", "Date and time", "Meter calibrated")):
        column = 0 if offset % 2 == 0 else 3
        line = row + 2 * (offset // 2)
        sheet.text(line, column, label, "label")
        sheet.raw.merge_range(
            line, column + 1, line, column + 2, "", sheet.book.style("input", bottom=1)
        )
        sheet.raw.set_row(line, 22)
