"""Batch plan: one row a batch; dose, what is left of the alkalinity, whether calcium stays, cost, and a remark."""

from __future__ import annotations

from xlsxwriter.utility import xl_col_to_name

from udfs.solids import NO_LIMIT
from workbook_template.template import scenario
from workbook_template.template.book import Book
from workbook_template.template.layout import (
    BATCH_ROWS,
    SILENT,
    celsius,
    filled,
    liquid_strength,
    looked_up,
    shelf_row,
    unknown_acid,
)

NAME = "Batch plan"
TOTALS = 4
HEAD = 7
FIRST, LAST = HEAD + 1, HEAD + BATCH_ROWS

#: What the user reads, by key: title and column width. A title that begins with ``=`` is a formula.
SHOWN = {
    "date": ("Date", 11),
    "batch": ("Batch", 17),
    "water": ("Water", 18),
    "volume": ('="Volume, "&Volume_unit', 9),
    "read_at": ('="Volume read at, "&Temperature_unit&" (empty: cold)"', 11),
    "target": ("Target pH", 8),
    "acid": ("Acid", 20),
    "litres": ("Liquor, L at 20 °C", 9),
    "ml": ("Dose, mL", 9),
    "grams": ("Dose, g", 9),
    "alkalinity_left": ("Alkalinity left, mg/L as CaCO3", 10),
    "anion": ("Anion added, mg/L", 9),
    "calcium": ("Calcium, mg/L", 9),
    "calcium_limit": ("Calcium limit in the hot tank, mg/L", 10),
    "safe_ph": ("Calcium drops promptly above pH", 10),
    "cost": ('="Cost, "&Currency', 9),
    "remark": ("Remark", 66),
}
#: The steps in between, to the right of the table.
WORKINGS = {
    "used": "Row in use",
    "water_row": "Water no.",
    "shelf_row": "Shelf no.",
    "acid_name": "Acid",
    "strength": "Strength, %",
    "measure": "Measured in",
    "alk": "Alkalinity",
    "ph": "Water's pH",
    "temp": "pH read at, °C",
    "target_used": "Target",
    "cold": "Liquor, L",
    "mass": "Dose, g",
    "liquid": "Strength for mL (powder: as 50 % solution)",
    "volume_ml": "mL at that",
    "amount": "mL, or g of powder",
    "left": "Alkalinity left",
    "added": "Anion",
    "hot_ph": "pH when hot",
    "ca": "Calcium",
    "slow_ph": "Safe pH, hydroxyapatite",
    "prompt_ph": "Safe pH, octacalcium phosphate or brushite",
    "limit": "Calcium limit",
    "money": "Cost",
    "complete": "Complete",
    "dated": "Dated",
    "problem": "What is missing",
    "bad_row": "Row",
}
INPUTS = 7
GAP = len(SHOWN)
_KEYS = [*SHOWN, None, *WORKINGS]
COLUMN = {key: index for index, key in enumerate(_KEYS) if key}
LETTER = {key: xl_col_to_name(index) for key, index in COLUMN.items()}
_NUMBERS = {
    "litres": "litres",
    "ml": "ml",
    "grams": "ml",
    "alkalinity_left": "mg",
    "anion": "mg",
    "calcium": "mg",
    "calcium_limit": "limit",
    "safe_ph": "ph",
    "cost": "money",
    "remark": "plain",
}
PROMPT = "octacalcium phosphate"
ABOVE = "is above the"
#: Points of every row: a remark of three lines of small type, since no program makes a row higher when a formula's answer gets longer.
REMARK_HEIGHT = 37


def write(book: Book) -> None:
    """Write the sheet."""
    widths = [width for _, width in SHOWN.values()] + [3] + [11] * len(WORKINGS)
    sheet = book.sheet(NAME, widths)
    last_shown = GAP - 1
    sheet.text(0, 0, "Batch plan", "title")
    sheet.across(
        1,
        0,
        last_shown,
        "Fill in the yellow cells of a row from left to right. pH is that of a cooled sample. Give half to two "
        "thirds of the dose, mix, read the meter, then the rest.",
        "lead",
    )
    sheet.cautions(2, last_shown)
    sheet.name_range("Any_cautions", (2, 0))
    _totals(sheet)
    sheet.headers(HEAD, 0, [title for title, _ in SHOWN.values()], height=72)
    sheet.across(HEAD - 1, GAP + 1, GAP + len(WORKINGS), "Workings: one step a column", "section")
    sheet.headers(HEAD, GAP + 1, list(WORKINGS.values()), height=72)
    for offset in range(BATCH_ROWS):
        _row(
            sheet,
            FIRST + offset,
            scenario.BATCHES[offset] if offset < len(scenario.BATCHES) else None,
        )
    first, last = FIRST, LAST
    sheet.choice((first, COLUMN["water"]), (last, COLUMN["water"]), "=Water_name", "Water")
    sheet.choice((first, COLUMN["acid"]), (last, COLUMN["acid"]), "=Shelf_label", "Acid")
    sheet.limits((first, COLUMN["volume"]), (last, COLUMN["volume"]), 0, 1e7, "A volume")
    sheet.limits((first, COLUMN["target"]), (last, COLUMN["target"]), 2.5, 11, "A target pH")
    for name, key in (
        ("date", "date"),
        ("batch", "batch"),
        ("water_name", "water"),
        ("acid", "acid"),
        ("used", "used"),
        ("complete", "complete"),
        ("amount", "amount"),
        ("cold", "cold"),
        ("target", "target_used"),
        ("water_row", "water_row"),
        ("shelf_row", "shelf_row"),
        ("money", "money"),
        ("bad_row", "bad_row"),
        ("added", "added"),
        ("volume_ml", "volume_ml"),
        ("dated", "dated"),
    ):
        sheet.name_range(f"Plan_{name}", (first, COLUMN[key]), (last, COLUMN[key]))
    for words, colour in (
        ("Expect calcium", "#F6D5CF"),
        ("Calcium may drop", "#FBE8C4"),
        ("Check ", "#F6D5CF"),
        ("Choose", "#F6D5CF"),
        (SILENT[:13], "#F6D5CF"),
    ):
        sheet.raw.conditional_format(
            first,
            COLUMN["remark"],
            last,
            COLUMN["remark"],
            {
                "type": "text",
                "criteria": "begins with",
                "value": words,
                "format": book.workbook.add_format({"bg_color": colour}),
            },
        )
    sheet.raw.conditional_format(
        first,
        COLUMN["remark"],
        last,
        COLUMN["remark"],
        {
            "type": "text",
            "criteria": "containing",
            "value": ABOVE,
            "format": book.workbook.add_format({"bg_color": "#FBE8C4"}),
        },
    )
    for column in range(GAP + 1, GAP + 1 + len(WORKINGS)):
        sheet.raw.set_column(column, column, 11, book.style("text"), {"level": 1})
    sheet.finish(area=(0, 0, LAST, last_shown), repeat=HEAD, freeze=(HEAD + 1, 2))


def _totals(sheet) -> None:
    """Totals above the table, which name the first row without a figure instead of leaving it out."""
    first, last = FIRST + 1, LAST + 1

    def total(key: str) -> str:
        cells = f"{LETTER[key]}{first}:{LETTER[key]}{last}"
        return f'=IF(COUNT({cells})=SUM(Plan_used),SUM({cells}),"row "&MIN(Plan_bad_row)&": see remark")'

    for column, (label, formula, number) in {
        1: ("Batches", "=SUM(Plan_used)", "count"),
        2: ("Liquor, L at 20 °C", total("cold"), "litres"),
        6: ('="Acid, "&Currency', total("money"), "money"),
    }.items():
        if label.startswith("="):
            sheet.formula(TOTALS, column, label, "header")
        else:
            sheet.text(TOTALS, column, label, "header")
        sheet.formula(TOTALS + 1, column, formula, "result", number, "centre")
    sheet.text(TOTALS + 1, 0, "Total", "label")


def _row(sheet, row: int, batch: scenario.Batch | None) -> None:
    at = row + 1
    c = {key: f"{letter}{at}" for key, letter in LETTER.items()}
    for column, (value, number) in enumerate(
        zip(batch or (None,) * INPUTS, ("date", "plain", "plain", "share", "share", "ph", "plain"))
    ):
        sheet.input(row, column, value, number)
    formulas = _workings(c) | _shown(c)
    for key, formula in formulas.items():
        purposes = (
            ("remark", "small")
            if key == "remark"
            else ("result", "right", _NUMBERS[key])
            if key in SHOWN
            else ("cell",)
        )
        sheet.formula(row, COLUMN[key], formula, *purposes)
    sheet.raw.set_row(row, REMARK_HEIGHT)


def _workings(c: dict[str, str]) -> dict[str, str]:
    """The steps of one row; ``c`` has its cells by key."""
    ions = f"INDEX(Water_ions,{c['water_row']},0)"
    ready = f"AND({c['used']}=1,{c['water_row']}>0,{c['shelf_row']}>0)"
    liquor = f"{c['alk']},{c['ph']}"
    dosed = f"{liquor},{c['volume_ml']},{c['cold']},{c['acid_name']},{c['liquid']}"
    to_target = f"{liquor},{c['target_used']},{c['cold']},{c['acid_name']}"
    phosphate = f'AND({ready},{c["acid_name"]}="phosphoric",{c["ca"]}<>"")'

    def when(condition: str, formula: str) -> str:
        return f'=IF({condition},{formula},"")'

    def safe(solid: str) -> str:
        return (
            f'CALCIUM_SAFE_PH({liquor},{c["ca"]},{c["cold"]},{c["acid_name"]},{c["strength"]},"{solid}",{c["temp"]},Tank_temp_C,'
            f"{ions})"
        )

    return {
        "used": f"=IF({filled(c['batch'] + ':' + c['acid'])},1,0)",
        "water_row": f"=IF({c['used']}=1,IFERROR(MATCH({c['water']},Water_name,0),0),0)",
        "shelf_row": f"=IF({c['used']}=1,{shelf_row(c['acid'])},0)",
        "acid_name": when(ready, looked_up("Shelf_acid", c["shelf_row"])),
        "strength": when(ready, looked_up("Shelf_strength", c["shelf_row"])),
        "measure": when(ready, looked_up("Shelf_measure", c["shelf_row"])),
        "alk": when(ready, looked_up("Water_alkalinity", c["water_row"])),
        "ph": when(ready, looked_up("Water_pH", c["water_row"])),
        "temp": when(ready, looked_up("Water_temp_C", c["water_row"])),
        "target_used": when(ready, f'IF({c["target"]}="",Default_target,{c["target"]})'),
        "cold": when(
            f"{c['used']}=1",
            f'COLD_LITRES(LITRES({c["volume"]},Volume_unit),IF({c["read_at"]}="",20,{celsius(c["read_at"])}))',
        ),
        "mass": when(
            ready, f"ACID_DOSE_MASS({to_target},{c['strength']},{ions},{c['temp']},CO2_lost)"
        ),
        "liquid": when(ready, liquid_strength(c["measure"], c["strength"])),
        "volume_ml": when(
            ready, f"ACID_DOSE({to_target},{c['liquid']},{ions},{c['temp']},CO2_lost)"
        ),
        "amount": when(ready, f'IF({c["measure"]}="g",{c["mass"]},{c["volume_ml"]})'),
        "left": when(ready, f"ALKALINITY_AFTER_ACID({dosed},{ions},{c['temp']},CO2_lost)"),
        "added": when(
            ready, f"ACID_ANION({c['volume_ml']},{c['cold']},{c['acid_name']},{c['liquid']})"
        ),
        "hot_ph": when(ready, f"PH_WHEN_HOT({dosed},{ions},{c['temp']},Tank_temp_C)"),
        "ca": when(
            ready,
            f'IF(INDEX(Water_ions_given,{c["water_row"]})=5,INDEX(Water_calcium,{c["water_row"]}),"")',
        ),
        "slow_ph": when(phosphate, safe("hydroxyapatite")),
        "prompt_ph": when(phosphate, f"MIN({safe(PROMPT)},{safe('brushite')})"),
        "limit": when(
            phosphate,
            f'CALCIUM_SOLUBILITY({c["hot_ph"]},{c["added"]},"{PROMPT}",Tank_temp_C,{ions})',
        ),
        "money": when(
            ready,
            f"ACID_COST({c['amount']},{looked_up('Shelf_pack', c['shelf_row'])},"
            f"{looked_up('Shelf_price', c['shelf_row'])})",
        ),
        "complete": f"=IF(ISNUMBER({c['amount']}),1,0)",
        "dated": f"=IF(ISNUMBER({c['date']}),1,0)",
        "problem": _problem(c),
        "bad_row": f'=IF({c["problem"]}="","",ROW())',
    }


def _problem(c: dict[str, str]) -> str:
    """The first thing that keeps a row from its figures, in words."""
    keys = ("cold", "mass", "amount", "left", "money", "added")
    steps = "".join(f"IF(ISTEXT({c[key]}),{c[key]}," for key in keys)
    return (
        f'=IF({c["used"]}=0,"",IF({c["water_row"]}=0,"Choose a water that has a row on the sheet Water.",'
        f'IF({c["shelf_row"]}=0,"Choose an acid that has a label on the sheet Settings.",{steps}'
        f'IF({unknown_acid(c["acid_name"])},"Choose the acid of this label from the list on the sheet Settings.",'
        f'IF(COUNT({",".join(c[key] for key in keys)})<{len(keys)},"{SILENT}",""'
        + ")"
        * (len(keys) + 5)
    )


def _shown(c: dict[str, str]) -> dict[str, str]:
    """What the user reads of one row."""
    active = f"{c['used']}=1"

    def figure(key: str) -> str:
        return f'=IF({active},IF(ISNUMBER({c[key]}),{c[key]},"see remark"),"")'

    def of_calcium(answer: str) -> str:
        return f'=IF({active},IF({c["problem"]}<>"","see remark",IF({c["ca"]}="","?",{answer})),"")'

    none = f'{c["acid_name"]}<>"phosphoric"'
    limit = of_calcium(
        f'IF(OR({none},{c["added"]}=0),"no limit",IF(ISNUMBER({c["limit"]}),{c["limit"]},'
        f'IF(IFERROR({c["limit"]}&"","")="{NO_LIMIT}","no limit","see remark")))'
    )
    safe = of_calcium(
        f'IF({none},"no limit",IF(ISNUMBER({c["prompt_ph"]}),ROUNDDOWN({c["prompt_ph"]},2),"see remark"))'
    )
    return {
        "litres": figure("cold"),
        "ml": f'=IF({active},IF({c["measure"]}="g","weigh it",IF(ISNUMBER({c["volume_ml"]}),{c["volume_ml"]},"see remark")),"")',
        "grams": figure("mass"),
        "alkalinity_left": figure("left"),
        "anion": figure("added"),
        "calcium": of_calcium(c["ca"]),
        "calcium_limit": limit,
        "safe_ph": safe,
        "cost": figure("money"),
        "remark": _remark(c),
    }


def _remark(c: dict[str, str]) -> str:
    balance = f"INDEX(Water_balance,{c['water_row']})"
    target, slow, prompt = c["target_used"], c["slow_ph"], c["prompt_ph"]
    state = (
        f'IF({c["acid_name"]}<>"phosphoric","No calcium phosphate can drop: this acid brings no phosphate.",'
        f'IF({c["ca"]}="","Give the five ions on the sheet Water to see whether calcium stays dissolved.",'
        f'IF(ISTEXT({slow}),{slow},IF(COUNT({slow},{prompt})<2,"{SILENT}",'
        f'IF({target}<={slow},"Calcium stays dissolved: below every limit.",'
        f'IF({target}<={prompt},"Calcium may drop slowly (above hydroxyapatite only), more so hot and at higher pH: dose shortly '
        f'before use.",'
        f'"Expect calcium to drop in the hot tank: take the target to pH "&FIXED(ROUNDDOWN({prompt},2),2,TRUE)&" or lower, or use an '
        f'acid without phosphate."))))))'
    )
    shown = f"FIXED({target},2,TRUE)"
    above = f'IF(ROUND({target},2)>Usual_target," Target "&{shown}&" {ABOVE} "&FIXED(Usual_target,2,TRUE)&" of Settings.","")'
    preset = f'IF({c["target"]}=""," Target "&{shown}&" is taken from Settings.","")'
    unbalanced = f'IF(ISNUMBER({balance}),IF(ABS({balance})>Balance_remark," The water report does not balance: see Water.",""),"")'
    low = f'IF({c["left"]}<Alkalinity_low," Little alkalinity is left: add the last of the acid in small steps.","")'
    return f'=IF({c["used"]}=0,"",IF({c["problem"]}<>"",{c["problem"]},{state}&{above}&{preset}&{unbalanced}&{low}))'
