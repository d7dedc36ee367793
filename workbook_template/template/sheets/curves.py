"""Curves: the figures behind the charts, for the batch chosen on the sheet Acid choice."""

from __future__ import annotations

from udfs.solids import NO_LIMIT
from workbook_template.template.book import Book
from workbook_template.template.layout import looked_up

NAME = "Curves"
HEAD = 4
POINTS = 29
LIMIT_POINTS = 21
FIRST = HEAD + 1
DOSE_LAST = HEAD + POINTS
LIMIT_LAST = HEAD + LIMIT_POINTS
LIMIT_FROM, LIMIT_TO = 5.0, 7.0
#: Lowest pH of the dose curve.
CURVE_TO = 4.5
#: A limit beyond the model is drawn at this height.
CEILING = 4000


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [10, 14, 3, 10, 14, 14, 12, 16, 16, 12])
    sheet.text(0, 0, "Curves", "title")
    sheet.across(
        1,
        0,
        9,
        "The figures behind the charts of the sheet Acid choice. Nothing to fill in.",
        "lead",
    )
    sheet.across(HEAD - 1, 0, 1, "pH against dose", "section")
    sheet.headers(
        HEAD, 0, ["pH", '="Dose of the batch\'s acid, "&IF(Choice_measure="g","g","mL")'], height=60
    )
    sheet.across(
        HEAD - 1, 3, 9, "Calcium that stays dissolved if phosphoric acid is used", "section"
    )
    sheet.headers(
        HEAD,
        3,
        [
            "pH, cooled sample",
            "Phosphoric 85 %, mL",
            "Phosphate, mg/L as PO4",
            "pH when hot",
            "Hydroxyapatite limit, mg/L",
            "Octacalcium phosphate limit, mg/L",
            "The water's calcium, mg/L",
        ],
        height=60,
    )
    chosen = "Choice_row>0"
    water = (
        f"{looked_up('Water_alkalinity', 'Choice_water')},{looked_up('Water_pH', 'Choice_water')}"
    )
    source_ph = looked_up("Water_pH", "Choice_water")
    ions, temp = "INDEX(Water_ions,Choice_water,0)", looked_up("Water_temp_C", "Choice_water")
    for step in range(POINTS):
        row, at = FIRST + step, FIRST + step + 1
        ph = (
            f"ROUND({source_ph}-({source_ph}-{CURVE_TO})*{step}/{POINTS - 1},1)"
            if step
            else source_ph
        )
        sheet.formula(row, 0, f'=IF({chosen},MIN({source_ph},{ph}),"")', "result", "ph")
        dose = f"{water},A{at},Choice_litres,Choice_acid,Choice_strength,{ions},{temp},CO2_lost"
        sheet.formula(
            row,
            1,
            f'=IF({chosen},IF(Choice_measure="g",ACID_DOSE_MASS({dose}),ACID_DOSE({dose})),"")',
            "result",
            "ml",
        )
    for step in range(LIMIT_POINTS):
        row, at = FIRST + step, FIRST + step + 1
        span = f"(MIN({LIMIT_TO:g},{source_ph}-0.05)-{LIMIT_FROM:g})"
        sheet.formula(
            row,
            3,
            f'=IF({chosen},{LIMIT_FROM:g}+{span}*{step}/{LIMIT_POINTS - 1},"")',
            "result",
            "ph",
        )
        dosed = f'{water},E{at},Choice_litres,"phosphoric",85'
        sheet.formula(
            row,
            4,
            f'=IF({chosen},ACID_DOSE({water},D{at},Choice_litres,"phosphoric",85,{ions},{temp},CO2_lost),"")',
            "result",
            "ml",
        )
        sheet.formula(
            row,
            5,
            f'=IF({chosen},ACID_ANION(E{at},Choice_litres,"phosphoric",85),"")',
            "result",
            "mg",
        )
        sheet.formula(
            row,
            6,
            f'=IF({chosen},PH_WHEN_HOT({dosed},{ions},{temp},Tank_temp_C),"")',
            "result",
            "ph",
        )
        for column, solid in ((7, "hydroxyapatite"), (8, "octacalcium phosphate")):
            limit = f'CALCIUM_SOLUBILITY(G{at},F{at},"{solid}",Tank_temp_C,{ions})'
            sheet.formula(
                row,
                column,
                f'=IF({chosen},IF({limit}&""="{NO_LIMIT}",{CEILING},{limit}),"")',
                "result",
                "limit",
            )
        sheet.formula(
            row, 9, f'=IF({chosen},{looked_up("Water_calcium", "Choice_water")},"")', "result", "mg"
        )
    sheet.across(
        max(DOSE_LAST, LIMIT_LAST) + 2,
        0,
        9,
        f"{CEILING} mg/L stands for {CEILING} or more. Solids at the tank's temperature, pH as the hot liquor has it.",
        "text",
    )
    sheet.finish(area=(0, 0, DOSE_LAST + 2, 9), freeze=(HEAD + 1, 0), tall=1)
