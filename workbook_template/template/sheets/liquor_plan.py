"""Liquor plan: one page for a batch, from the source to the beer: volumes, salts, acids, pH at each step, anions, cost."""

from __future__ import annotations

from workbook_template.template.anions import (
    ANIONS,
    PRACTICE,
    TASTED,
    less_of,
    shown_anion,
    taste_name,
)
from workbook_template.template.book import BAND, GREEN, LINE, WARN, Book
from workbook_template.template.charts import OCHRE, steps
from workbook_template.template.layout import BLEND_WATERS, cautions_of, looked_up
from workbook_template.template.sheets import blend_salts

NAME = "Liquor plan"
VOLUMES = 5
SOURCES = VOLUMES + 4
SALTS = SOURCES + BLEND_WATERS + 1
SALT_ROWS = 5
ACIDS = SALTS + SALT_ROWS
CAUTIONS = ACIDS + 5
PH_HEAD = CAUTIONS + 4
STEPS = 8
PH_FIRST, PH_LAST = PH_HEAD + 1, PH_HEAD + STEPS
CHART = PH_LAST + 2
ANION_HEAD = CHART + 23
REMARK = ANION_HEAD + len(ANIONS) + 3
LAST = 6
WORKINGS = 8


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [34, 19, 19, 12, 11, 9, 42, 3, 26, 14, 12, 12, 12, 12])
    sheet.text(0, 0, "Liquor plan", "title")
    sheet.across(
        1,
        0,
        LAST,
        "The batch that is chosen on the sheet Mash, on one page to print. Only the yellow readings are filled in "
        "here.",
        "lead",
    )
    _workings(sheet)
    date = looked_up("Plan_date", "Mash_plan_row")
    for column, label, formula, number in (
        (0, "Batch", '=IF(Mash_plan_row>0,Mash_batch,"choose a batch on the sheet Mash")', "plain"),
        (3, "Date", f'=IF(Page_ready=1,IF(ISNUMBER({date}),{date},"no date"),"")', "date"),
    ):
        sheet.text(2, column, label, "label")
        sheet.raw.merge_range(2, column + 1, 2, column + 2, "", book.style("result", number))
        sheet.formula(2, column + 1, formula, "result", "text", number)
    _volumes(sheet)
    _acids(sheet)
    _steps(sheet)
    chart = steps(
        book,
        "pH from the source to the beer",
        "Step",
        "pH, cooled sample",
        y_axis={"min": 3, "max": 9, "num_format": "0"},
    )
    for name, column, look in (
        ("expected", WORKINGS + 1, {"line": {"color": GREEN, "width": 2.25}}),
        ("from", WORKINGS + 2, _dashes(OCHRE)),
        ("to", WORKINGS + 3, _dashes(OCHRE)),
        (
            "read",
            WORKINGS + 4,
            {
                "line": {"none": True},
                "marker": {
                    "type": "circle",
                    "size": 7,
                    "fill": {"color": WARN},
                    "border": {"color": WARN},
                },
            },
        ),
    ):
        chart.add_series(
            {
                "name": name,
                "categories": [NAME, PH_FIRST, WORKINGS, PH_LAST, WORKINGS],
                "values": [NAME, PH_FIRST, column, PH_LAST, column],
                **look,
            }
        )
    sheet.raw.insert_chart(CHART, 0, chart, {"x_scale": 2.2, "y_scale": 1.38, "object_position": 2})
    _anions(sheet)
    _remark(sheet)
    sheet.raw.set_column(WORKINGS, WORKINGS, 26, book.style("text"), {"level": 1})
    sheet.raw.set_column(WORKINGS + 1, WORKINGS + 5, 13, book.style("text"), {"level": 1})
    sheet.finish(landscape=False, area=(0, 0, REMARK + 2, LAST), tall=1)


def _dashes(colour: str) -> dict:
    return {
        "line": {"none": True},
        "marker": {
            "type": "long_dash",
            "size": 9,
            "fill": {"color": colour},
            "border": {"color": colour},
        },
    }


def _workings(sheet) -> None:
    """The batch's row of the plan and of the log, and its two liquors."""

    def of_batch(name: str) -> str:
        return f'=IF(Page_ready=1,INDEX(Plan_{name},Mash_plan_row),"")'

    sheet.text(2, WORKINGS, "Workings: the batch", "section")
    sheet.workings(
        3,
        WORKINGS,
        [
            (
                "Page_ready",
                "Batch has a dose",
                "=IF(Mash_plan_row>0,INDEX(Plan_complete,Mash_plan_row),0)",
            ),
            ("Page_mash", "Mash worked out", '=IF(AND(Mash_plan_row>0,Mash_problem=""),1,0)'),
            (
                "Page_log_row",
                "Row of the log",
                "=IF(Mash_plan_row>0,IFERROR(MATCH(Mash_batch,Log_batch,0),0),0)",
            ),
            (
                "Page_water",
                "Sparge: water no.",
                "=IF(Page_ready=1,INDEX(Plan_water_row,Mash_plan_row),0)",
            ),
            (
                "Page_shelf",
                "Sparge: shelf no.",
                "=IF(Page_ready=1,INDEX(Plan_shelf_row,Mash_plan_row),0)",
            ),
            ("Page_litres", "Sparge: liquor, L", of_batch("cold")),
            ("Page_amount", "Sparge: mL, or g", of_batch("amount")),
            ("Page_money", "Sparge: cost", of_batch("money")),
            ("Page_anion", "Sparge: anion, mg/L", of_batch("added")),
            (
                "Page_blend_mash",
                "Mash from the blend",
                f'=IF(Page_mash=1,IF({_name_of("Mash_water_row")}="{blend_salts.NAME}",1,0),0)',
            ),
            (
                "Page_blend_sparge",
                "Sparge from the blend",
                f'=IF(Page_ready=1,IF({_name_of("Page_water")}="{blend_salts.NAME}",1,0),0)',
            ),
            (
                "Page_blended",
                "L from the blend",
                "=IF(Page_blend_mash=1,Mash_litres,0)+IF(Page_blend_sparge=1,Page_litres,0)",
            ),
            ("Page_source", "First water of the blend", f"={_first_water()}"),
            (
                "Page_all",
                "L in all",
                '=IF(AND(Page_ready=1,Page_mash=1),Mash_litres+Page_litres,"")',
            ),
        ],
    )
    sheet.text(SALTS - 1, WORKINGS + 3, "No. of each salt used", "section")
    sheet.text(SOURCES - 1, WORKINGS + 4, "No. of each water used", "section")


def _first_water() -> str:
    steps = "".join(
        f"IF(ISNUMBER(INDEX(Mix_water_litres,{number})),{number},"
        for number in range(1, BLEND_WATERS + 1)
    )
    return steps + str(BLEND_WATERS + 1) + ")" * BLEND_WATERS


def _name_of(row: str) -> str:
    return looked_up("Water_name", row)


def _volumes(sheet) -> None:
    sheet.across(VOLUMES - 2, 0, LAST, "Liquors, salts and acids", "section")
    sheet.headers(VOLUMES - 1, 0, ["For", "Mash", "Sparge", "In all"], height=16)
    sheet.across(VOLUMES - 1, 4, LAST, "Note", "header")

    def line(
        row: int, label: str, mash: str, sparge: str, total: str | None, number: str, note: str
    ) -> None:
        sheet.label(row, 0, label)
        sheet.formula(row, 1, f'=IF(Page_mash=1,{mash},"")', "result", "right", number)
        sheet.formula(row, 2, f'=IF(Page_ready=1,{sparge},"")', "result", "right", number)
        if total:
            sheet.formula(row, 3, f"={total}", "result", "right", number)
        sheet.text(row, 4, note, "note")

    both = 'IF(AND(Page_ready=1,Page_mash=1),{},"")'
    line(
        VOLUMES,
        "Water",
        _name_of("Mash_water_row"),
        _name_of("Page_water"),
        None,
        "plain",
        "from the sheets Mash and Batch plan",
    )
    line(VOLUMES + 1, "Liquor, L at 20 °C", "Mash_litres", "Page_litres", "Page_all", "litres", "")
    cold = "/LITRES(1,Volume_unit)"
    line(
        VOLUMES + 2,
        '="Liquor, "&Volume_unit&" at 20 °C"',
        f"Mash_litres{cold}",
        f"Page_litres{cold}",
        both.format(f"Page_all{cold}"),
        "volume",
        "",
    )
    sheet.text(SOURCES - 1, 0, "Waters of the blend, L at 20 °C", "text")
    waters, column = BLEND_WATERS + 1, _letter(WORKINGS + 4)
    for offset in range(waters):
        row, number = SOURCES + offset, f"{column}{SOURCES + offset + 1}"
        before = f"{column}{SOURCES + offset}" if offset else "0"
        steps = "".join(
            f"IF(AND({before}<{water},ISNUMBER(INDEX(Mix_water_litres,{water}))),{water},"
            for water in range(1, waters + 1)
        )
        sheet.formula(row, WORKINGS + 4, f"={steps}{waters + 1}" + ")" * waters, "cell")
        used, name, litres = (
            f"{number}<={waters}",
            f"INDEX(Mix_water_name,{number})",
            f"INDEX(Mix_water_litres,{number})",
        )
        _shared(sheet, row, f'IF({used},"    "&{name},"")', used, litres, "litres")
    for offset in range(SALT_ROWS):
        row, at = SALTS + offset, SALTS + offset + 1
        number = f"{_letter(WORKINGS + 3)}{at}"
        sheet.formula(
            row, WORKINGS + 3, f"=IFERROR(MATCH({offset + 1},Mix_salt_number,0),0)", "cell"
        )
        name, grams = (f"INDEX(Mix_salt_{what},{number})" for what in ("name", "grams"))
        _shared(sheet, row, f'IF({number}>0,"    "&{name}&", g","")', f"{number}>0", grams, "ml")
    sheet.raw.conditional_format(
        SOURCES,
        1,
        SALTS + SALT_ROWS - 1,
        3,
        {
            "type": "formula",
            "criteria": f'=B{SOURCES + 1}<>""',
            "format": sheet.book.workbook.add_format(
                {"bg_color": BAND, "border": 1, "border_color": LINE}
            ),
        },
    )


def _shared(sheet, row: int, label: str, used: str, whole: str, number: str) -> None:
    """What of a water or a salt of the blend goes into either liquor, by volume."""
    any_blend = "AND(Page_blend_mash+Page_blend_sparge>0,ISNUMBER(Mix_alkalinity))"
    sheet.formula(row, 0, f'=IF({any_blend},{label},"")', "text")
    for column, part in (
        (1, "IF(Page_blend_mash=1,Mash_litres,0)"),
        (2, "IF(Page_blend_sparge=1,Page_litres,0)"),
        (3, "Page_blended"),
    ):
        sheet.formula(
            row,
            column,
            f'=IF({any_blend},IF({used},{whole}*{part}/Mix_litres,""),"")',
            "right",
            number,
        )


def _letter(column: int) -> str:
    return chr(ord("A") + column)


def _acids(sheet) -> None:
    mash, sparge = "AND(Page_mash=1,Mash_shelf_row>0)", "Page_ready=1"
    unit = str(looked_up("Shelf_measure", "Page_shelf"))
    rows = [
        ("Acid", "Mash_shelf_label", looked_up("Shelf_label", "Page_shelf"), "plain"),
        ("Dose", '{}&" "&Mash_unit', '{}&" "&' + unit, "plain"),
        ("First portion", '{}&" "&Mash_unit', '{}&" "&' + unit, "plain"),
        (
            '="Cost, "&Currency',
            *(f'IF(ISNUMBER({cost}),{cost},"see remark")' for cost in ("Mash_money", "Page_money")),
            "money",
        ),
    ]
    amounts = {
        1: ("Mash_amount", "Page_amount"),
        2: ("Mash_amount*First_portion", "Page_amount*First_portion"),
    }
    for offset, (label, in_mash, in_sparge, number) in enumerate(rows):
        row = ACIDS + offset
        sheet.label(row, 0, label)
        for column, formula, condition, which in ((1, in_mash, mash, 0), (2, in_sparge, sparge, 1)):
            if offset in amounts:
                amount = amounts[offset][which]
                formula = formula.format(f"FIXED({amount},IF({amount}<100,1,0),TRUE)")
            sheet.formula(row, column, f'=IF({condition},{formula},"")', "result", "right", number)
    costs = f"B{ACIDS + 4}:C{ACIDS + 4}"
    sheet.formula(
        ACIDS + 3,
        3,
        f"=IF(AND(Page_ready=1,Page_mash=1),IF(COUNT({costs})=IF(Mash_shelf_row>0,2,1),SUM({costs}),"
        '"see remark"),"")',
        "result",
        "right",
        "money",
    )
    sheet.name_range("Page_cost", (ACIDS + 3, 3))
    for offset, (row, acid, strength, condition) in enumerate(
        (
            (
                CAUTIONS,
                looked_up("Shelf_acid", "Page_shelf"),
                looked_up("Shelf_strength", "Page_shelf"),
                "Page_shelf>0",
            ),
            (
                CAUTIONS + 1,
                "Mash_acid_name",
                looked_up("Shelf_strength", "Mash_shelf_row"),
                "Mash_shelf_row>0",
            ),
        )
    ):
        other = '""' if offset else "Any_cautions"
        sheet.across(
            row,
            0,
            LAST,
            f"=IF({condition},{cautions_of(acid, strength)},{other})",
            "caution",
            height=72,
            formula=True,
        )


def _steps(sheet) -> None:
    sheet.across(PH_HEAD - 1, 0, LAST, "pH at each step, of a cooled sample", "section")
    sheet.headers(
        PH_HEAD,
        0,
        ["Step", "Expected", "from", "to", "Type here", "Read", "What the expected figure is"],
        height=18,
    )
    sheet.headers(
        PH_HEAD, WORKINGS, ["Step", "Expected", "from", "to", "Read", "Log, mash"], height=18
    )
    liquor = looked_up("Water_pH", "Mash_water_row")
    of_blend = "Page_blend_mash+Page_blend_sparge>0"
    sour = 'IF(Mash_shelf_row>0,"with the acid of the mash","without acid")'
    rows = [
        (
            "Source",
            f'IF({of_blend},INDEX(Mix_water_pH,Page_source),IF(Page_ready=1,{looked_up("Water_pH", "Page_water")},""))',
            None,
            "",
            f'IF({of_blend},"report of "&INDEX(Mix_water_name,Page_source),"report")',
            "ph",
        ),
        (
            "Blend",
            f'IF({of_blend},Mix_unsalted_pH,"")',
            None,
            "",
            f'IF({of_blend},"predicted: carbonate of the blend","no blend")',
            "ph",
        ),
        (
            "Mash liquor",
            f'IF(Page_mash=1,{liquor},"")',
            None,
            "",
            'IF(Page_blend_mash=1,"predicted: blend with its salts","report")',
            "ph",
        ),
        (
            "Mash",
            'IF(Page_mash=1,Mash_after,"")',
            ("Mash_after_low", "Mash_after_high", "Page_mash=1"),
            "Mash_read",
            f'"predicted, "&{sour}',
            "rough_ph",
        ),
        (
            "Sparge",
            'IF(Page_ready=1,INDEX(Plan_target,Mash_plan_row),"")',
            None,
            "after",
            '"planned: target of the dose"',
            "ph",
        ),
        ("Last runnings", "Runoff_pH", None, "last", f'"limit to stop at ({PRACTICE})"', "ph"),
        (
            "Kettle",
            "(Kettle_pH_low+Kettle_pH_high)/2",
            ("Kettle_pH_low", "Kettle_pH_high", "TRUE"),
            "kettle",
            f'"usual value ({PRACTICE})"',
            "ph",
        ),
        ("Beer", "Beer_pH_usual", None, "beer", f'"usual value ({PRACTICE})"', "ph"),
    ]
    for offset, (step, expected, ends, log, words, number) in enumerate(rows):
        row, at = PH_FIRST + offset, PH_FIRST + offset + 1
        raw = {
            key: f"{_letter(WORKINGS + column)}{at}"
            for column, key in enumerate(("step", "expected", "from", "to", "read", "log"))
        }
        sheet.text(row, WORKINGS, step, "cell")
        sheet.formula(row, WORKINGS + 1, f"={expected}", "cell")
        for column, end in enumerate(ends[:2] if ends else (), WORKINGS + 2):
            sheet.formula(row, column, f'=IF({ends[2]},{end},"")', "cell")
        logged = f"INDEX(Log_{log},Page_log_row)"
        if log == "Mash_read":
            known = '=IF(AND(Page_mash=1,ISNUMBER(Mash_read)),Mash_read,"")'
        else:
            known = f'=IF(Page_log_row>0,IF(ISNUMBER({logged}),{logged},""),"")' if log else '=""'
        sheet.formula(row, WORKINGS + 5, known, "cell")
        sheet.formula(row, WORKINGS + 4, f'=IF(E{at}<>"",E{at},{raw["log"]})', "cell")
        sheet.text(row, 0, step, "label")
        sheet.formula(
            row,
            1,
            f'=IF(ISNUMBER({raw["expected"]}),{raw["expected"]},"")',
            "result",
            "right",
            number,
        )
        for column, key in ((2, "from"), (3, "to")):
            sheet.formula(
                row, column, f'=IF(ISNUMBER({raw[key]}),{raw[key]},"")', "result", "right", number
            )
        sheet.input(row, 4, None, "ph")
        sheet.formula(row, 5, f"={raw['read']}", "result", "right", "ph")
        sheet.formula(row, 6, f"={words}", "note")
    sheet.limits((PH_FIRST, 4), (PH_LAST, 4), 1, 11, "A pH reading")


def _anions(sheet) -> None:
    sheet.across(
        ANION_HEAD - 1,
        0,
        LAST,
        "Anions of liquor and acid, without what the malt brings, mg/L",
        "section",
    )
    sheet.headers(
        ANION_HEAD,
        0,
        ["Anion", "Mash liquor", "Sparge liquor", "Both together", "Tasted from"],
        height=18,
    )
    sheet.across(ANION_HEAD, 5, LAST, "Remark", "header")
    for offset, anion in enumerate(ANIONS):
        row, at = ANION_HEAD + 1 + offset, ANION_HEAD + 2 + offset
        sheet.text(row, 0, anion, "label")
        column = {"chloride": 4, "sulfate": 5}.get(anion)
        for cell, ready, water, acid, added in (
            (1, "Page_mash=1", "Mash_water_row", "Mash_acid_name", "Mash_anion"),
            (2, "Page_ready=1", "Page_water", looked_up("Shelf_acid", "Page_shelf"), "Page_anion"),
        ):
            own = f"INDEX(Water_ions,{water},{column})" if column else "0"
            is_it = f'IFERROR(INDEX(Name_of_anion,MATCH({acid},Name_of_acid,0)),"")="{anion}"'
            known = f'IF({is_it},IF(ISNUMBER({added}),{own}+{added},"see remark"),{own})'
            sheet.formula(
                row,
                cell,
                f'=IF({ready},IF(INDEX(Water_ions_given,{water})=5,{known},"?"),"")',
                "result",
                "right",
                "mg",
            )
        sheet.formula(
            row,
            3,
            f'=IF(AND(ISNUMBER(Page_all),COUNT(B{at}:C{at})=2),(B{at}*Mash_litres+C{at}*Page_litres)/Page_all,"")',
            "result",
            "right",
            "mg",
        )
        level = taste_name(anion) if anion in TASTED else None
        if level:
            sheet.formula(row, 4, f"={level}", "result", "right", "mg")
            sheet.formula(
                row,
                5,
                f'=IF(ISNUMBER(D{at}),IF(D{at}>={level},"tasted: {less_of(anion)}",'
                f'IF(D{at}>=0.75*{level},"nearly tasted: {less_of(anion)}","")),"")',
                "note",
            )
        else:
            sheet.text(row, 4, "no level", "result", "right")
    phosphate = ANION_HEAD + 1 + ANIONS.index(shown_anion("phosphate"))
    sheet.formula(
        phosphate,
        5,
        f'=IF(N(D{phosphate + 1})>0,"no taste of its own ({PRACTICE})","")',
        "note",
    )


def _remark(sheet) -> None:
    both = "IF(Page_blend_mash+Page_blend_sparge>0,"
    sheet.across(REMARK - 1, 0, LAST, "Remark", "section")
    sheet.raw.merge_range(REMARK, 0, REMARK + 2, LAST, "", sheet.book.style("remark"))
    more = f"MAX(Mix_salt_number)>{SALT_ROWS}"
    sheet.formula(
        REMARK,
        0,
        (
            '=IF(Mash_plan_row=0,"Choose a batch of the plan on the sheet Mash.",IF(Page_ready=0,"This batch has no dose yet: see its '
            'remark on the batch plan.",IF(Mash_problem<>"","Mash: "&Mash_problem,'
            f'{both}IF(Page_blended>Mix_litres*1.005,"The blend is "&FIXED(Page_blended-Mix_litres,0,TRUE)&" L short of both liquors: make '
            'more of it, with salts in proportion. ","The blend is enough for both liquors. "),"")'
            f'&{both}IF({more},"There are more salts than fit here: see Blend and salts. ",""),"")'
            '&IF(ISNUMBER(Page_cost),"","The total has no cost of one acid: see Settings for pack and price. ")'
            '&"Give the first portion of each acid, mix, read, then the rest. Predicted and usual figures are a guide; the meter decides.")))'
        ),
        "remark",
    )
