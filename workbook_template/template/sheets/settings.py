"""Settings: units, the hot tank, the acids on the shelf, and limits with their common-practice presets."""

from __future__ import annotations

from chemcore.acids import acid_names
from chemcore.tables import constant
from chemcore.units import unit_names
from workbook_template.template import scenario
from workbook_template.template.book import Book
from workbook_template.template.layout import SHELF_ROWS, celsius, unknown_acid

NAME = "Settings"
SHELF_HEAD = 15
SHELF_FIRST, SHELF_LAST = SHELF_HEAD + 1, SHELF_HEAD + SHELF_ROWS
LIMITS_HEAD = SHELF_LAST + 3
LIMITS_LAST = LIMITS_HEAD + 19

#: Last-runnings limits: label, highest pH, lowest gravity in °P. Common practice, no source.
RUNOFF_PRESETS = (
    ("pH 6.0 or 2 °P: the older limits", 6.0, 2.0),
    ("pH 5.7 or 2.5 °P: the compromise", 5.7, 2.5),
    ("pH 5.5 or 3 °P: the newer limits", 5.5, 3.0),
    ("own figures", None, None),
)


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [46, 16, 12, 14, 14, 14, 12, 13, 14, 14, 52])
    sheet.text(0, 0, "Settings", "title")
    sheet.across(
        1,
        0,
        10,
        "Fill in the yellow cells. Everything else is worked out and locked against slips (no password).",
        "lead",
    )
    _units(sheet)
    _shelf(sheet)
    _limits(sheet)
    sheet.finish(area=(0, 0, LIMITS_LAST, 10), freeze=(2, 0), tall=1)


def _units(sheet) -> None:
    sheet.across(3, 0, 10, "Units and the tank", "section")
    rows = [
        (
            "Volumes are typed in",
            "Volume_unit",
            "hL",
            "plain",
            "On every sheet; acid is in mL, its packs in L. US bbl is the beer barrel of 31 US gallons; imp bbl the brewery barrel of "
            "36 imperial gallons.",
        ),
        (
            "Temperatures are typed in",
            "Temperature_unit",
            "°C",
            "plain",
            "°C or °F, on every sheet.",
        ),
        (
            '="Hot tank temperature, "&Temperature_unit',
            "Tank_temp",
            77,
            "share",
            "What decides whether calcium stays dissolved: its solids are less soluble when hot.",
        ),
        (
            "Carbon dioxide that escapes, 0 to 1",
            "CO2_lost",
            0,
            "plain",
            "0: a covered tank dosed shortly before use. Up to 1: open, recirculated for long. It raises the dose.",
        ),
        (
            "Target pH where a batch gives none",
            "Default_target",
            5.7,
            "ph",
            "Sparge liquor is taken to pH 5.7 to 5.8 or lower (common practice, no source). Read on a cooled sample.",
        ),
        ("Currency", "Currency", "EUR", "plain", "Only a label."),
        (
            "First portion, share of the dose",
            "First_portion",
            0.6,
            "plain",
            "Given first on the day; the reading after it decides the rest.",
        ),
        (
            "Mixing time, minutes",
            "Mixing_minutes",
            10,
            "count",
            "After each portion; as long as your own tank takes.",
        ),
    ]
    for offset, (label, name, value, number, note) in enumerate(rows):
        row = 4 + offset
        sheet.label(row, 0, label)
        sheet.input(row, 1, value, number)
        sheet.name_range(name, (row, 1))
        sheet.text(row, 2, f" {note}")
    sheet.choice((4, 1), (4, 1), list(unit_names()), "Unit of volume")
    sheet.choice((5, 1), (5, 1), ["°C", "°F"], "Unit of temperature")
    sheet.limits((6, 1), (6, 1), 0, 212, "The tank's temperature")
    sheet.limits((7, 1), (7, 1), 0, 1, "Share of carbon dioxide")
    sheet.limits((8, 1), (8, 1), 4, 8, "A target pH")
    sheet.limits((10, 1), (10, 1), 0.1, 1, "The first portion")
    sheet.text(12, 0, "Hot tank temperature in °C", "label")
    sheet.formula(12, 1, f"={celsius('Tank_temp')}", "result", "share")
    sheet.name_range("Tank_temp_C", (12, 1))


def _shelf(sheet) -> None:
    sheet.across(SHELF_HEAD - 1, 0, 10, "Acids on the shelf", "section")
    sheet.headers(
        SHELF_HEAD,
        0,
        [
            "Label (your own)",
            "Acid",
            "Strength, mass %",
            "Pack, L\n(powder: kg)",
            '="Price of a pack, "&Currency',
            "In stock, L\n(powder: kg)",
            "Density,\nkg/L",
            "Measured in",
            "Needed, sparge and mash, L (kg)",
            "Left after the plan, L (kg)",
            "Remark",
        ],
    )
    for offset in range(SHELF_ROWS):
        row = SHELF_FIRST + offset
        acid = scenario.ACIDS[offset] if offset < len(scenario.ACIDS) else (None,) * 6
        for column, (value, number) in enumerate(
            zip(acid, ("plain", "plain", "share", "share", "money", "share"))
        ):
            sheet.input(row, column, value, number)
        at = row + 1
        density = f"ACID_DENSITY(B{at},C{at})"
        sheet.formula(
            row,
            6,
            f'=IF(COUNTA(A{at}:C{at})=0,"",IF(ISNUMBER({density}),{density},IF(H{at}="g","powder","see remark")))',
            "result",
            "right",
            "density",
        )
        sheet.formula(
            row,
            7,
            f'=IF(COUNTA(A{at}:C{at})=0,"",IF(ISNUMBER(SEARCH("powder",{density})),"g",'
            f'IF(ISNUMBER({density}),"mL","see remark")))',
            "result",
            "centre",
        )
        short = (
            f"COUNTIFS(Plan_acid,A{at})+COUNTIFS(Mash_plan_acid,A{at})<>SUMIFS(Plan_complete,Plan_acid,A{at})"
            f"+SUMIFS(Mash_plan_complete,Mash_plan_acid,A{at})"
        )
        needed = (
            f"SUMIFS(Plan_amount,Plan_acid,A{at})+SUMIFS(Mash_plan_amount,Mash_plan_acid,A{at})"
        )
        sheet.formula(
            row,
            8,
            f'=IF(A{at}="","",IF({short},"see remark",({needed})/1000))',
            "result",
            "density",
        )
        sheet.formula(
            row,
            9,
            f'=IF(OR(A{at}="",F{at}=""),"",IF(ISNUMBER(I{at}),F{at}-I{at},"see remark"))',
            "result",
            "density",
        )
        sheet.formula(
            row,
            10,
            f'=IF(COUNTA(A{at}:F{at})=0,"",IF(A{at}="","Give this acid a label.",IF(COUNTIF(Shelf_label,A{at})>1,'
            f'"This label stands twice: give each acid its own.",IF(H{at}="see remark",{density},'
            f'IF({unknown_acid(f"B{at}")},"Choose the acid from the list.",IF({short},'
            f'"A batch with this acid has no dose yet: see the remarks on the plan and the mash.",IF(F{at}="","No stock given.",'
            f'IF(J{at}<0,"Order more: the plan needs "&FIXED(-J{at},2,TRUE)&" more than there is.","Enough for the plan."))))))))',
            "remark",
        )
    first, last = SHELF_FIRST, SHELF_LAST
    sheet.choice((first, 1), (last, 1), list(acid_names()), "Acid")
    sheet.limits((first, 3), (last, 5), 0, 1e6, "A pack, price or stock")
    for name, column in (
        ("label", 0),
        ("acid", 1),
        ("strength", 2),
        ("pack", 3),
        ("price", 4),
        ("stock", 5),
        ("measure", 7),
    ):
        sheet.name_range(f"Shelf_{name}", (first, column), (last, column))


def _limits(sheet) -> None:
    sheet.across(LIMITS_HEAD - 1, 0, 10, "Limits", "section")
    sheet.headers(LIMITS_HEAD, 0, ["What", "Limit"], height=20)
    sheet.across(LIMITS_HEAD, 2, 10, "Preset and where it is from", "header")
    practice = "common practice, no source"
    rows = [
        (
            "Sparge liquor: highest usual target pH",
            "Usual_target",
            5.8,
            "ph",
            f"5.7 to 5.8 or lower ({practice}).",
        ),
        ("Mash pH: lowest usual", "Mash_pH_low", 5.2, "ph", f"5.2 to 5.3 ({practice})."),
        ("    highest usual", "Mash_pH_high", 5.3, "ph", ""),
        (
            "Ion balance: remark beyond, %",
            "Balance_remark",
            5,
            "share",
            "Standard Methods 1030 E: within 5 % for most waters.",
        ),
        ("Ion balance: not usable beyond, %", "Balance_wrong", 10, "share", f"10 % ({practice})."),
        (
            "Alkalinity left: remark below, mg/L as CaCO3",
            "Alkalinity_low",
            12,
            "mg",
            "Below this a small overdose drops the pH far; a choice of this workbook.",
        ),
        (
            "Calcium for the mash: remark below, mg/L",
            "Calcium_low",
            50,
            "mg",
            f"50 mg/L or more ({practice}).",
        ),
        (
            "Scale in the hot tank: remark above, mg/L as CaCO3",
            "Scale_remark",
            50,
            "mg",
            "A choice of this workbook: 50 mg/L leave 50 g in each m³ heated.",
        ),
        (
            "Taste: chloride from, mg/L",
            "Chloride_taste",
            250,
            "mg",
            "Tasted in drinking water from 200 to 300, by its cation (World Health Organization guidelines, from memory).",
        ),
        (
            "    sulfate from, mg/L",
            "Sulfate_taste",
            250,
            "mg",
            "Tasted in drinking water from 250 to 1000, by its cation (World Health Organization guidelines, from memory).",
        ),
        (
            "    lactate from, mg/L",
            "Lactate_taste",
            400,
            "mg",
            "Lactic acid is tasted in beer from about 400 (from memory).",
        ),
        (
            "Kettle pH: lowest usual",
            "Kettle_pH_low",
            5.2,
            "ph",
            f"Full kettle, before the boil: 5.2 to 5.4 ({practice}).",
        ),
        ("    highest usual", "Kettle_pH_high", 5.4, "ph", ""),
        (
            "Final beer pH: usual",
            "Beer_pH_usual",
            4.2,
            "ph",
            f"About 4.2; about 4.4 where the sparge was left untreated ({practice}).",
        ),
        *(
            (
                f"Standard error of {label}",
                f"Error_{name}",
                constant(f"error_{name}"),
                "plain",
                f"For the intervals of doses ({practice}); your own where you know it.",
            )
            for label, name in (
                ("an alkalinity, mg/L", "alkalinity"),
                ("a pH reading", "ph"),
                ("a strength, mass %", "strength"),
                ("a tank volume, %", "volume"),
            )
        ),
    ]
    for row, (label, name, value, number, note) in enumerate(rows, LIMITS_HEAD + 1):
        sheet.text(row, 0, label, "label")
        sheet.input(row, 1, value, number)
        sheet.name_range(name, (row, 1))
        sheet.text(row, 2, f" {note}")
    row = LIMITS_LAST
    sheet.text(row, 0, "Cold litres in a litre read on the hot tank", "label")
    sheet.formula(row, 1, "=COLD_LITRES(1,Tank_temp_C)", "result", "density")
    sheet.text(row, 2, f" L at {constant('report_temperature'):g} °C; hot water fills more volume.")
