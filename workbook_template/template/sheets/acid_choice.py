"""Acid choice: every acid on the shelf for one batch, side by side, and the two charts."""

from __future__ import annotations

from workbook_template.template import scenario
from workbook_template.template.book import WARN, Book
from workbook_template.template.charts import DASHED, LIMIT, OFF, SOLID, marks, scatter, series
from workbook_template.template.formula import ref
from workbook_template.template.layout import (
    SHELF_ROWS,
    cautions_of,
    cost_of,
    liquid_strength,
    looked_up,
    unknown_acid,
)
from workbook_template.template.sheets import curves

NAME = "Acid choice"
HEAD = 9
FIRST, LAST = HEAD + 1, HEAD + SHELF_ROWS
CHARTS = LAST + 4
#: Row of the dose of the batch in the workings, its target below: the point in the chart.
POINT = HEAD + 7


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [22, 13, 10, 11, 11, 10, 16, 10, 12, 11, 44, 46])
    sheet.text(0, 0, "Acid choice", "title")
    sheet.across(
        1,
        0,
        11,
        "Choose a batch of the plan. Each acid on the shelf is worked out for its water, volume and target pH. The "
        "cautions are those of the batch's own acid: read the safety data sheet of another before you change to it.",
        "lead",
    )
    sheet.text(3, 0, "Batch", "label")
    sheet.raw.merge_range(3, 1, 3, 2, scenario.BATCHES[0].name, book.style("input", "plain"))
    sheet.choice((3, 1), (3, 1), "=Plan_batch", "Batch")
    chosen = "Choice_row>0"
    facts = [
        (
            "Water",
            f'=IF({chosen},{looked_up("Water_name", "Choice_water")},"choose a batch that has a water and an acid")',
            "plain",
        ),
        ("Liquor, L at 20 °C", f'=IF({chosen},Choice_litres,"")', "litres"),
        ("Target pH", f'=IF({chosen},{looked_up("Plan_target", "Choice_row")},"")', "ph"),
    ]
    for offset, (label, formula, number) in enumerate(facts):
        sheet.text(4 + offset, 0, label, "label")
        sheet.raw.merge_range(4 + offset, 1, 4 + offset, 2, "", book.style("result", number))
        sheet.formula(4 + offset, 1, formula, "result", number)
    _workings(sheet)
    sheet.raw.merge_range(3, 4, 6, 11, "", book.style("caution"))
    sheet.formula(
        3,
        4,
        f"=IF(Choice_row>0,{cautions_of('Choice_acid', 'Choice_strength')},Any_cautions)",
        "caution",
    )
    for row in range(3, 7):
        sheet.raw.set_row(row, 19)
    _table(sheet)
    _charts(book, sheet)
    sheet.finish(area=(0, 0, CHARTS + 23, 11), freeze=(HEAD + 1, 1), tall=1)


def _workings(sheet) -> None:
    """Where the chosen batch stands on the other sheets; names for the formulas of this sheet and of Curves."""
    rows = [
        (
            "Choice_row",
            "Row of the plan",
            "=IFERROR(IF(INDEX(Plan_complete,MATCH(B4,Plan_batch,0))=1,MATCH(B4,Plan_batch,0),0),0)",
        ),
        ("Choice_water", "Water no.", "=IF(Choice_row>0,INDEX(Plan_water_row,Choice_row),0)"),
        ("Choice_litres", "Liquor, L", '=IF(Choice_row>0,INDEX(Plan_cold,Choice_row),"")'),
        (
            "Choice_acid",
            "Acid",
            '=IF(Choice_row>0,INDEX(Shelf_acid,INDEX(Plan_shelf_row,Choice_row)),"")',
        ),
        (
            "Choice_strength",
            "Strength",
            '=IF(Choice_row>0,INDEX(Shelf_strength,INDEX(Plan_shelf_row,Choice_row)),"")',
        ),
        (
            "Choice_measure",
            "Measured in",
            '=IF(Choice_row>0,INDEX(Shelf_measure,INDEX(Plan_shelf_row,Choice_row)),"")',
        ),
        (
            "Choice_dose",
            "Dose, for the chart",
            f"=IF(Choice_row>0,INDEX(Plan_amount,Choice_row),{OFF})",
        ),
        (
            "Choice_target",
            "Target, for the chart",
            f"=IF(Choice_row>0,INDEX(Plan_target,Choice_row),{OFF})",
        ),
    ]
    sheet.text(HEAD - 1, 13, "Workings", "section")
    sheet.raw.set_column(13, 17, 16, sheet.book.style("text"), {"level": 1})
    sheet.workings(HEAD + 1, 13, rows)


def _table(sheet) -> None:
    sheet.headers(
        HEAD,
        0,
        [
            "Acid on the shelf",
            "Acid",
            "Strength, mass %",
            "Dose, mL",
            "Dose, g",
            '="Cost, "&Currency',
            "Anion",
            "Anion added, mg/L",
            "Alkalinity left, mg/L as CaCO3",
            "Calcium drops promptly above pH",
            "Calcium in the hot tank",
            "Taste",
        ],
        height=58,
    )
    water = (
        f"{looked_up('Water_alkalinity', 'Choice_water')},{looked_up('Water_pH', 'Choice_water')}"
    )
    ions, temp = "INDEX(Water_ions,Choice_water,0)", looked_up("Water_temp_C", "Choice_water")
    target = looked_up("Plan_target", "Choice_row")
    calcium = looked_up("Water_calcium", "Choice_water")
    sheet.text(HEAD, 16, "Safe pH, hydroxyapatite", "header")
    sheet.text(HEAD, 17, "Safe pH, octacalcium phosphate or brushite", "header")
    for offset in range(SHELF_ROWS):
        row, at, number = FIRST + offset, FIRST + offset + 1, offset + 1
        present = (
            f'AND(Choice_row>0,INDEX(Shelf_label,{number})<>"",INDEX(Shelf_acid,{number})<>"")'
        )
        measure = f"INDEX(Shelf_measure,{number})"
        liquid = liquid_strength(measure, f"C{at}")
        to_target = f"{water},{target},Choice_litres,B{at}"
        ml = f"ACID_DOSE({to_target},{liquid},{ions},{temp},CO2_lost)"
        safe = {
            solid: f'CALCIUM_SAFE_PH({water},{calcium},Choice_litres,B{at},C{at},"{solid}",{temp},Tank_temp_C,{ions})'
            for solid in ("hydroxyapatite", "octacalcium phosphate", "brushite")
        }
        prompt = f"MIN({safe['octacalcium phosphate']},{safe['brushite']})"

        def when(formula: str, present=present) -> str:
            return f'=IF({present},{formula},"")'

        def figure(formula: str, when=when) -> str:
            return when(f'IF(ISNUMBER({formula}),{formula},"see Settings")')

        known = "INDEX(Water_ions_given,Choice_water)=5"
        cells = [
            (when(f"INDEX(Shelf_label,{number})"), "plain"),
            (when(f"INDEX(Shelf_acid,{number})"), "plain"),
            (when(f"INDEX(Shelf_strength,{number})"), "share"),
            (when(f'IF({measure}="g","weigh it",IF(ISNUMBER({ml}),{ml},"see Settings"))'), "ml"),
            (figure(f"ACID_DOSE_MASS({to_target},C{at},{ions},{temp},CO2_lost)"), "ml"),
            (
                figure(cost_of(ref(f'IF({measure}="g",E{at},D{at})'), ref(str(number)))),
                "money",
            ),
            (when(f"INDEX(Name_of_anion,MATCH(B{at},Name_of_acid,0))"), "plain"),
            (figure(f"ACID_ANION_MASS(E{at},Choice_litres,B{at},C{at})"), "mg"),
            (
                figure(
                    f"ALKALINITY_AFTER_ACID({water},{ml},Choice_litres,B{at},{liquid},{ions},{temp},CO2_lost)"
                ),
                "mg",
            ),
            (
                when(
                    f'IF({unknown_acid(f"B{at}")},"see Settings",IF({known},IF(B{at}="phosphoric",'
                    f'IF(ISNUMBER(R{at}),ROUNDDOWN(R{at},2),"see Settings"),"no limit"),"?"))'
                ),
                "ph",
            ),
            (
                when(
                    f'IF({unknown_acid(f"B{at}")},"see Settings",IF(B{at}<>"phosphoric","no calcium phosphate: the acid brings none",'
                    f'IF(NOT({known}),"ions not given on the sheet Water",'
                    f'IF(ISTEXT(Q{at}),Q{at},IF(COUNT(Q{at}:R{at})<2,"not known: see Start, and the plan",'
                    f'IF({target}<=Q{at},"stays dissolved: below every limit",IF({target}<=R{at},'
                    f'"may drop slowly: above hydroxyapatite only","expect it to drop")))))))'
                ),
                "plain",
            ),
            (when(f"INDEX(Taste_of_acid,MATCH(B{at},Name_of_acid,0))"), "plain"),
        ]
        for column, (formula, form) in enumerate(cells):
            sheet.formula(
                row,
                column,
                formula,
                *(("remark",) if column in (0, 1, 6, 10, 11) else ("result", "right", form)),
            )
        for column, answer in ((16, safe["hydroxyapatite"]), (17, prompt)):
            sheet.formula(
                row,
                column,
                when(f'IF({known},IF(B{at}="phosphoric",{answer},""),"")'),
                "cell",
                "ph",
            )
        sheet.raw.set_row(row, 28)


def _charts(book: Book, sheet) -> None:
    title = f"='{curves.NAME}'!$B${curves.HEAD + 1}"
    dose = scatter(
        book,
        "pH against dose, the batch's acid",
        title,
        "pH, cooled sample",
        legend=False,
        x_axis={"min": 0, "num_format": "#,##0"},
        y_axis={"min": 4, "max": 9, "num_format": "0.0"},
    )
    series(
        dose, "pH of the liquor", curves.NAME, (curves.FIRST, curves.DOSE_LAST), 1, 0, line=SOLID
    )
    dose.add_series(
        {
            "name": "target",
            "categories": [NAME, POINT, 14, POINT, 14],
            "values": [NAME, POINT + 1, 14, POINT + 1, 14],
            **marks(WARN),
            "data_labels": {"series_name": True, "value": False, "position": "right"},
        }
    )
    sheet.raw.insert_chart(CHARTS, 0, dose, {"x_scale": 1.17, "y_scale": 1.5, "object_position": 2})
    limit = scatter(
        book,
        "Calcium that stays dissolved in the hot tank, with phosphoric acid",
        "pH, cooled sample",
        "Calcium, mg/L",
        x_axis={"min": 5.0, "max": 7.0, "num_format": "0.0"},
        y_axis={"log_base": 10, "min": 0.1, "max": 10000, "num_format": "General"},
    )
    rows = (curves.FIRST, curves.LIMIT_LAST)
    series(
        limit, "Octacalcium phosphate: expect it to drop above", curves.NAME, rows, 3, 8, line=SOLID
    )
    series(limit, "Hydroxyapatite: may drop slowly above", curves.NAME, rows, 3, 7, line=DASHED)
    series(limit, "The water's calcium", curves.NAME, rows, 3, 9, line=LIMIT)
    sheet.raw.insert_chart(CHARTS, 6, limit, {"x_scale": 1.6, "y_scale": 1.5, "object_position": 2})
    sheet.across(CHARTS - 1, 0, 11, "Charts for this batch", "section")
