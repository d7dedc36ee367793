"""Mash: grist and liquor, pH as predicted with its interval, acid for the target, and what the meter says."""

from __future__ import annotations

from chemcore.mash import typical_malts
from workbook_template.template import scenario
from workbook_template.template.book import Book
from workbook_template.template.formula import all_of, first, is_number, ref, xl
from workbook_template.template.layout import (
    celsius,
    cost_of,
    filled,
    liquid_strength,
    looked_up,
    shelf_row,
)
from workbook_template.template.sheets import mash_acids

NAME = "Mash"
GRIST_HEAD = 10
GRIST_ROWS = 10
FIRST, LAST = GRIST_HEAD + 1, GRIST_HEAD + GRIST_ROWS
RESULTS = 5
MALT_HEAD = 31
MALT_ROWS = 14
MALT_FIRST, MALT_LAST = MALT_HEAD + 1, MALT_HEAD + MALT_ROWS
#: Rows of the results, by what stands in them.
(
    LIQUOR,
    RATIO,
    RESIDUAL,
    PLAIN,
    ACID_HEAD,
    TARGET,
    ACID,
    DOSE,
    PORTION,
    AFTER,
    ANION,
    COST,
    LACTIC,
    ACID_MALT,
    READ_HEAD,
    BELONG,
    GIVEN,
    READ,
    EXPECTED,
    MISS,
    MORE,
) = range(RESULTS + 1, RESULTS + 22)
#: What the sheet says of malts whose source or note is long, in short; in full it stands beside the workings.
SHORT = {
    "pilsner malt": (
        "pH: attributed to Palmer, How to Brew, ch. 15. Buffering: between titrations (from memory) and "
        "a brewing handbook's table",
        "Differs from lot to lot and year to year.",
    ),
    "dark caramel malt": (
        "pH: as pilsner malt, 4.5 to 4.8. Buffering: from memory",
        "About 100 to 300 EBC.",
    ),
    "roasted malt": ("from memory", "Chocolate and black malt, roasted barley."),
}
LABEL, FIGURE, LOW, HIGH, NOTE = 9, 10, 11, 12, 13
WORKINGS = 15


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(
        NAME, [27, 12, 15, 12, 9, 13, 9, 27, 2, 42, 11, 7, 7, 40, 3, 20, 16, 16, 12, 12]
    )
    sheet.text(0, 0, "Mash", "title")
    sheet.across(
        1,
        0,
        NOTE,
        "One mash: its liquor and its grist. The pH is a prediction, which is why an interval stands beside it; give "
        "part of the acid, read a cooled sample, then the rest.",
        "lead",
    )
    sheet.cautions(2, NOTE)
    _set_up(sheet)
    _grist(sheet)
    _workings(sheet)
    _results(sheet)
    _remark(sheet)
    _malts(sheet)
    mash_acids.write_on(sheet, MALT_LAST + 2, WORKINGS)
    for column in range(WORKINGS, WORKINGS + 5):
        sheet.raw.set_column(column, column, 18, book.style("text"), {"level": 1})
    sheet.raw.set_h_pagebreaks([MALT_LAST + 2])
    sheet.finish(area=(0, 0, mash_acids.last(MALT_LAST + 2), NOTE))


def _set_up(sheet) -> None:
    demo = scenario.MASH
    sheet.across(4, 0, 7, "The mash", "section")
    rows = [
        ("Batch of the plan", "Mash_batch", demo.batch, "plain"),
        ("Water (empty: the batch's)", "Mash_water", None, "plain"),
        ('="Mash liquor, "&Volume_unit', "Mash_volume", demo.liquor, "share"),
        ('="    read at, "&Temperature_unit&" (empty: cold)"', "Mash_read_at", None, "share"),
    ]
    for row, (label, name, value, number) in enumerate(rows, 5):
        sheet.label(row, 0, label)
        if row < 7:
            sheet.raw.merge_range(row, 1, row, 2, value or "", sheet.book.style("input", "plain"))
        else:
            sheet.input(row, 1, value, number)
        sheet.name_range(name, (row, 1))
    sheet.choice((5, 1), (5, 1), "=Plan_batch", "Batch")
    sheet.choice((6, 1), (6, 1), "=Water_name", "Water")
    sheet.limits((7, 1), (7, 1), 0, 1e6, "A volume")
    _before_the_next(sheet)


def _before_the_next(sheet) -> None:
    """Beside the batch: what to copy before another one is chosen."""
    acid, amount = (looked_up(f"Mash_typed_{name}", "Mash_plan_row") for name in ("acid", "amount"))
    typed = f'IF({acid}&""=Mash_shelf_label&"",ABS(N({amount})-Mash_amount)<=MAX(1,0.01*Mash_amount),FALSE)'
    sheet.raw.merge_range(5, 3, 8, 7, "", sheet.book.style("remark"))
    sheet.formula(
        5,
        3,
        (
            '=IF(OR(Mash_plan_row=0,Mash_used=0),"",IF(Mash_shelf_label="","This mash has no acid to copy. ",IF(ISNUMBER(Mash_amount),'
            f'IF({typed},"The acid of "&Mash_batch&" stands in the table below: another batch may be chosen. ",'
            f'"Before you choose another batch: type "&Mash_shelf_label&", "&FIXED(Mash_amount,IF(Mash_amount<9.95,1,0),TRUE)&" "&Mash_unit&", '
            f'into row "&(Mash_plan_row+{mash_acids.before(MALT_LAST + 2)})&" of the table below ("&Mash_batch&"), or Settings and Purchasing '
            'no longer count it. "),""))&"For the new batch, type its liquor, grist, target and acid, and clear the readings.")'
        ),
        "remark",
    )
    sheet.raw.conditional_format(
        5,
        3,
        8,
        7,
        {
            "type": "text",
            "criteria": "begins with",
            "value": "Before you",
            "format": sheet.book.workbook.add_format({"bg_color": "#FBE8C4"}),
        },
    )


def _grist(sheet) -> None:
    sheet.headers(
        GRIST_HEAD,
        0,
        [
            "Malt",
            "Own pH, if measured",
            "Own buffering, mEq/(kg·pH)",
            "kg",
            "pH used",
            "Buffering, mEq/(kg·pH)",
            "Share, %",
            "Remark",
        ],
        height=32,
    )
    for offset in range(GRIST_ROWS):
        row, at = FIRST + offset, FIRST + offset + 1
        malt = (
            scenario.MASH.grist[offset]
            if offset < len(scenario.MASH.grist)
            else scenario.Malt(None, None)
        )
        for column, (value, number) in enumerate(
            ((malt.malt, "plain"), (None, "ph"), (None, "share"), (malt.kg, "share"))
        ):
            sheet.input(row, column, value, number)
        used, typical = f"COUNTA(A{at}:D{at})>0", f"MATCH(A{at},Malt_name,0)"
        for column, own, name, number in (
            (4, "B", "Malt_pH", "ph"),
            (5, "C", "Malt_buffering", "share"),
        ):
            sheet.formula(
                row,
                column,
                f'=IF({used},IF({own}{at}<>"",{own}{at},IFERROR(INDEX({name},{typical}),"see remark")),"")',
                "result",
                "right",
                number,
            )
        sheet.formula(
            row,
            6,
            f'=IF(AND(ISNUMBER(D{at}),ISNUMBER(Mash_kg)),IF(Mash_kg>0,100*D{at}/Mash_kg,""),"")',
            "result",
            "right",
            "share",
        )
        sheet.formula(
            row,
            7,
            (
                f'=IF({used},IF(COUNT(E{at}:F{at})<2,"Choose a malt of the table, or type its figures.",IF(D{at}="",'
                f'"Give the kg.",IF(COUNT(B{at}:C{at})=2,"measured figures",IF(COUNT(B{at}:C{at})=1,"one measured figure",'
                f'"typical figures")))),"")'
            ),
            "remark",
        )
    kg = f"D{FIRST + 1}:D{LAST + 1}"
    sheet.text(LAST + 1, 0, "Grist in all, kg", "label")
    missing = [
        (
            all_of(filled(f"A{at}:D{at}"), xl.NOT(is_number(ref(f"D{at}")))),
            f"row {at}: give its kg",
        )
        for at in range(FIRST + 1, LAST + 2)
    ]
    whole = first(*missing, xl.SUM(ref(kg)))
    sheet.formula(LAST + 1, 3, whole, "result", "right", "share")
    sheet.name_range("Mash_kg", (LAST + 1, 3))
    sheet.name_range("Mash_grist", (FIRST, 3), (LAST, 5))
    sheet.choice((FIRST, 0), (LAST, 0), "=Malt_name", "Malt", free=True)
    sheet.limits((FIRST, 1), (LAST, 1), 2.5, 7, "A malt's pH")
    sheet.limits((FIRST, 2), (LAST, 2), 1, 200, "A malt's buffering")
    sheet.limits((FIRST, 3), (LAST, 3), 0, 1e6, "A weight in kg")


def _workings(sheet) -> None:
    mash = "Mash_grist,Mash_litres,Mash_alk,INDEX(Water_ions,Mash_water_row,0)"
    dosed = f"{mash},Mash_ml,Mash_acid_name,Mash_liquid"
    given = f"{mash},Mash_given_ml,Mash_acid_name,Mash_liquid"
    measure, strength = (
        looked_up("Shelf_measure", "Mash_shelf_row"),
        looked_up("Shelf_strength", "Mash_shelf_row"),
    )
    acid = "Mash_acid_name"

    def when(condition: str, formula: str) -> str:
        return f'=IF({condition},{formula},"")'

    def with_acid(dosed_formula: str, plain_formula: str) -> str:
        return when("ISNUMBER(Mash_plain)", f"IF(Mash_shelf_row>0,{dosed_formula},{plain_formula})")

    ready, sour = "AND(Mash_used=1,Mash_water_row>0)", "AND(Mash_shelf_row>0,ISNUMBER(Mash_plain))"
    label = f"{_cell(FIGURE, ACID)}"
    sheet.text(4, WORKINGS, "Workings", "section")
    sheet.workings(
        5,
        WORKINGS,
        [
            ("Mash_used", "In use", f"=IF(COUNTA(A{FIRST + 1}:D{LAST + 1})>0,1,0)"),
            (
                "Mash_plan_row",
                "Row of the plan",
                '=IF(Mash_batch="",0,IFERROR(MATCH(Mash_batch,Plan_batch,0),0))',
            ),
            (
                "Mash_water_row",
                "Water no.",
                '=IF(Mash_water="",IF(Mash_plan_row>0,INDEX(Plan_water_row,Mash_plan_row),0),'
                "IFERROR(MATCH(Mash_water,Water_name,0),0))",
            ),
            ("Mash_shelf_row", "Shelf no.", f"={shelf_row(label)}"),
            (
                "Mash_litres",
                "Liquor, L",
                when(
                    "Mash_used=1",
                    f'COLD_LITRES(LITRES(Mash_volume,Volume_unit),IF(Mash_read_at="",20,'
                    f"{celsius('Mash_read_at')}))",
                ),
            ),
            (
                "Mash_alk",
                "Alkalinity",
                when(ready, looked_up("Water_alkalinity", "Mash_water_row")),
            ),
            ("Mash_plain", "pH without acid", when(ready, f"MASH_PH({mash})")),
            (
                "Mash_aim",
                "Target pH",
                f'=IF({_cell(FIGURE, TARGET)}="",(Mash_pH_low+Mash_pH_high)/2,{_cell(FIGURE, TARGET)})',
            ),
            (
                "Mash_acid_name",
                "Acid",
                when("Mash_shelf_row>0", looked_up("Shelf_acid", "Mash_shelf_row")),
            ),
            ("Mash_unit", "Measured in", f'=IF(Mash_shelf_row>0,{measure},"mL")'),
            (
                "Mash_liquid",
                "Strength for mL",
                when("Mash_shelf_row>0", liquid_strength(measure, strength)),
            ),
            (
                "Mash_each",
                "mL at that for each mL or g",
                when(
                    "Mash_shelf_row>0", f'IF(Mash_unit="g",{strength}/50/ACID_DENSITY({acid},50),1)'
                ),
            ),
            (
                "Mash_ml",
                "mL at that",
                when(
                    sour,
                    f"IF(Mash_plain<=Mash_aim,0,MASH_ACID_DOSE({mash},Mash_aim,{acid},Mash_liquid))",
                ),
            ),
            (
                "Mash_amount",
                "mL, or g of powder",
                when(sour, "IF(COUNT(Mash_ml,Mash_each)=2,Mash_ml/Mash_each,Mash_ml)"),
            ),
            ("Mash_after", "pH with the acid", with_acid(f"MASH_PH({dosed})", "Mash_plain")),
            (
                "Mash_after_low",
                "    from",
                with_acid(f"MASH_PH_LOWEST({dosed})", f"MASH_PH_LOWEST({mash})"),
            ),
            (
                "Mash_after_high",
                "    to",
                with_acid(f"MASH_PH_HIGHEST({dosed})", f"MASH_PH_HIGHEST({mash})"),
            ),
            (
                "Mash_anion",
                "Anion, mg/L",
                when(sour, f"ACID_ANION(Mash_ml,Mash_litres,{acid},Mash_liquid)"),
            ),
            (
                "Mash_money",
                "Cost",
                when(
                    sour,
                    f"{cost_of(ref('Mash_amount'), ref('Mash_shelf_row'))}",
                ),
            ),
            (
                "Mash_own",
                "Readings are of this batch",
                f"=IF(COUNTA({_cell(FIGURE, GIVEN)},{_cell(FIGURE, READ)})=0,1,"
                f'IF({_cell(FIGURE, BELONG)}&""=Mash_batch&"",1,0))',
            ),
            (
                "Mash_given",
                "Given before the reading",
                f'=IF(OR(Mash_own=0,{_cell(FIGURE, GIVEN)}=""),0,{_cell(FIGURE, GIVEN)})',
            ),
            (
                "Mash_read",
                "pH read",
                f'=IF(OR(Mash_own=0,{_cell(FIGURE, READ)}=""),"",{_cell(FIGURE, READ)})',
            ),
            (
                "Mash_given_ml",
                "Given, mL at that",
                when(sour, "IF(ISNUMBER(Mash_given),Mash_given*Mash_each,Mash_given)"),
            ),
            ("Mash_then", "pH predicted then", with_acid(f"MASH_PH({given})", "Mash_plain")),
            (
                "Mash_then_low",
                "    from",
                with_acid(f"MASH_PH_LOWEST({given})", f"MASH_PH_LOWEST({mash})"),
            ),
            (
                "Mash_then_high",
                "    to",
                with_acid(f"MASH_PH_HIGHEST({given})", f"MASH_PH_HIGHEST({mash})"),
            ),
        ],
    )
    sheet.workings(  # beside the others, whose last line stands just above the malts' sources
        5,
        WORKINGS + 2,
        [
            ("Mash_problem", "What is missing", _problem(label)),
            (
                "Mash_loose",
                "Acid of no batch of the plan",
                f'=IF(AND(Mash_used=1,{label}<>"",Mash_plan_row=0),1,0)',
            ),
        ],
    )
    sheet.name_range("Mash_shelf_label", (ACID, FIGURE))


def _cell(column: int, row: int) -> str:
    return f"{'ABCDEFGHIJKLMN'[column]}{row + 1}"


def _problem(label: str) -> str:
    """The first thing that keeps the mash from its figures, in words."""
    steps = "".join(
        f"IF(ISTEXT({name}),{name}," for name in ("Mash_plain", "Mash_ml", "Mash_amount")
    )
    return (
        '=IF(Mash_used=0,"Fill in the grist.",IF(Mash_water_row=0,"Choose a water that has a row on the sheet Water, or a batch of the '
        'plan that has one.",IF(ISTEXT(Mash_litres),Mash_litres,IF(INDEX(Water_ions_given,Mash_water_row)<>5,"Give the five ions of '
        f'this water on the sheet Water.",IF(AND({label}<>"",Mash_shelf_row=0),"Choose an acid that has a label on the sheet '
        f'Settings.",IF(AND(Mash_shelf_row=0,ISNUMBER(Mash_plain)),"",{steps}""' + ")" * 9
    )


def _results(sheet) -> None:
    sheet.across(4, LABEL, NOTE, "What it says", "section")
    sheet.headers(RESULTS, LABEL, ["", "Figure", "from", "to", ""], height=16)
    mash = "Mash_grist,Mash_litres,Mash_alk,INDEX(Water_ions,Mash_water_row,0)"
    residual = (
        f"RESIDUAL_ALKALINITY(Mash_alk,{looked_up('Water_calcium', 'Mash_water_row')},"
        "INDEX(Water_ions,Mash_water_row,2))"
    )
    malt = f"ACID_MALT_MASS({mash},Mash_aim,{_cell(FIGURE, LACTIC)})"
    good = 'Mash_problem=""'
    read, then = "Mash_read", "Mash_then"
    shifted = "Mash_aim-(Mash_read-Mash_then)"
    more = f"MASH_ACID_DOSE({mash},{shifted},Mash_acid_name,Mash_liquid)/Mash_each-N(Mash_given)"

    def figure(formula: str) -> str:
        return f'=IF(Mash_used=1,IF(AND({good},ISNUMBER({formula})),{formula},"see remark"),"")'

    def of_acid(formula: str) -> str:
        return f'=IF(AND(Mash_used=1,Mash_shelf_label<>""),IF(AND({good},ISNUMBER({formula})),{formula},"see remark"),"")'

    def of_reading(formula: str) -> str:
        return f'=IF(Mash_own=0,"see remark",IF(AND({good},ISNUMBER({read}),ISNUMBER({then})),{formula},""))'

    prediction = "cooled sample; expect a reading from ... to"
    rows = {
        LIQUOR: ("Mash liquor, L at 20 °C", figure("Mash_litres"), "litres", ""),
        RATIO: (
            "Liquor to grist, L/kg",
            f'=IF(AND({good},Mash_kg>0),Mash_litres/Mash_kg,"")',
            "share",
            "",
        ),
        RESIDUAL: (
            "Residual alkalinity of the liquor",
            f'=IF({good},IF(ISNUMBER({residual}),{residual},"see remark"),"")',
            "mg",
            "mg/L as CaCO3; raises mash pH",
        ),
        PLAIN: ("pH without acid, predicted", figure("Mash_plain"), "rough_ph", prediction),
        DOSE: ('="Acid for the target, "&Mash_unit', of_acid("Mash_amount"), "ml", ""),
        PORTION: (
            '="First portion, "&Mash_unit',
            of_acid("Mash_amount*First_portion"),
            "ml",
            "share as on the sheet Settings",
        ),
        AFTER: (
            "pH with all of the acid, predicted",
            of_acid("Mash_after"),
            "rough_ph",
            prediction,
        ),
        ANION: ("Anion brought, mg/L", of_acid("Mash_anion"), "mg", ""),
        COST: ('="Cost, "&Currency', of_acid("Mash_money"), "money", ""),
        ACID_MALT: (
            "    kg of it, in place of the acid",
            f'=IF({good},IF(Mash_plain<=Mash_aim,0,IF(ISNUMBER({malt}),{malt},"see remark")),"")',
            "share",
            "on top of the grist",
        ),
        EXPECTED: ("pH predicted for that", of_reading(then), "rough_ph", ""),
        MISS: (
            "pH read against the prediction",
            of_reading(  # no closer than the prediction is shown
                f'IF(ABS({read}-{then})<0.05,"as predicted",FIXED(ABS({read}-{then}),1)&IF({read}>{then}," above"," below"))'
            ),
            "plain",
            "",
        ),
        MORE: (
            '="Still to give by the reading, "&Mash_unit',
            of_reading(
                f'IF({read}<=Mash_aim,"no more",IF(Mash_shelf_row=0,"no acid",IF(ISNUMBER({more}),MAX(0,{more}),{more})))'
            ),
            "ml",
            "from the pH read and the malts' buffering",
        ),
    }
    for row, (label, formula, number, note) in rows.items():
        sheet.label(row, LABEL, label)
        sheet.formula(row, FIGURE, formula, "result", "right", number)
        sheet.text(row, NOTE, note, "note")
    sheet.formula(
        ANION,
        NOTE,
        '=IF(Mash_shelf_row>0,"of the mash liquor: "&INDEX(Name_of_anion,MATCH(Mash_acid_name,Name_of_acid,0)),"")',
        "note",
    )
    sheet.formula(
        TARGET,
        NOTE,
        f'=IF(AND({_cell(FIGURE, TARGET)}="",ISNUMBER(Mash_aim)),"target: "&FIXED(Mash_aim,2),"")',
        "note",
    )
    aimed = '"target "&FIXED(Mash_aim,2)&"; expect a reading from ... to"'
    sheet.formula(
        AFTER,
        NOTE,
        f'=IF(ISNUMBER(Mash_amount),IF(Mash_amount>0,{aimed},"{prediction}"),"{prediction}")',
        "note",
    )
    for row, low, high, shown in (
        (PLAIN, f"MASH_PH_LOWEST({mash})", f"MASH_PH_HIGHEST({mash})", good),
        (AFTER, "Mash_after_low", "Mash_after_high", f"AND({good},Mash_shelf_row>0)"),
        (EXPECTED, "Mash_then_low", "Mash_then_high", f"AND({good},ISNUMBER({read}))"),
    ):
        for column, end in ((LOW, low), (HIGH, high)):
            sheet.formula(row, column, f'=IF({shown},{end},"")', "result", "right", "rough_ph")
    _result_inputs(sheet)


def _result_inputs(sheet) -> None:
    demo = scenario.MASH
    sheet.text(TARGET, LABEL, "Target pH (empty: middle of the settings)", "label")
    sheet.input(TARGET, FIGURE, demo.target_ph, "ph")
    sheet.text(ACID, LABEL, "Acid on the shelf (empty: none)", "label")
    sheet.raw.merge_range(ACID, FIGURE, ACID, HIGH, demo.acid, sheet.book.style("input", "plain"))
    sheet.choice((ACID, FIGURE), (ACID, FIGURE), "=Shelf_label", "Acid")
    sheet.text(LACTIC, LABEL, "or acidulated malt: its lactic acid, mass %", "label")
    sheet.input(LACTIC, FIGURE, 2, "share")
    sheet.text(LACTIC, NOTE, "from the maltster; 1 to 2 (common practice)", "note")
    sheet.across(ACID_HEAD, LABEL, NOTE, "Acid for the mash", "section")
    sheet.across(READ_HEAD, LABEL, NOTE, "On the day", "section")
    sheet.text(BELONG, LABEL, "Readings of batch", "label")
    sheet.raw.merge_range(
        BELONG, FIGURE, BELONG, HIGH, demo.batch, sheet.book.style("input", "plain")
    )
    sheet.choice((BELONG, FIGURE), (BELONG, FIGURE), "=Plan_batch", "Batch")
    sheet.formula(GIVEN, LABEL, '="Acid given before the reading, "&Mash_unit', "label")
    sheet.input(GIVEN, FIGURE, demo.given, "ml")
    sheet.text(READ, LABEL, "pH read, cooled sample", "label")
    sheet.input(READ, FIGURE, demo.read, "ph")
    sheet.limits((TARGET, FIGURE), (TARGET, FIGURE), 4, 7, "A mash pH")
    sheet.limits((LACTIC, FIGURE), (LACTIC, FIGURE), 0.1, 20, "The lactic acid of the malt")
    sheet.limits((GIVEN, FIGURE), (GIVEN, FIGURE), 0, 1e6, "An amount of acid")
    sheet.limits((READ, FIGURE), (READ, FIGURE), 3, 8, "A mash pH")


def _remark(sheet) -> None:
    whose = _cell(FIGURE, BELONG)
    sheet.across(LAST + 3, 0, 7, "Remark", "section")
    sheet.raw.merge_range(LAST + 4, 0, LAST + 7, 7, "", sheet.book.style("remark"))
    sheet.formula(
        LAST + 4,
        0,
        (
            f'=IF(Mash_own=1,"",IF({whose}="","Choose which batch the readings belong to. ","The readings belong to batch "&{whose}&": clear '
            'them. "))&IF(Mash_problem<>"",Mash_problem,'
            'IF(Mash_plain<=Mash_aim,"The mash is predicted at its target or below without any acid. ",IF(Mash_shelf_row=0,"Choose an acid, or '
            'take the acidulated malt. ","Give the first portion, mix, read a cooled sample, then what is still to give. "))'
            '&"The prediction is good to about "&FIXED((Mash_after_high-Mash_after_low)/2,1,TRUE)&" pH on either side: the '
            'meter decides. "'
            '&IF(AND(ISNUMBER(Mash_read),ISNUMBER(Mash_then)),IF(AND(Mash_read>=Mash_then_low,Mash_read<=Mash_then_high),"The reading lies '
            'within what was predicted. ","The reading is outside what was predicted: check volumes, the malts\' figures and the meter before '
            'more acid goes in. "),"")'
            '&IF(AND(ISTEXT(Mash_money),Mash_shelf_row>0),IF(Mash_money="","","No cost: "&Mash_money&" "),"")'
            '&IF(Mash_plan_row=0,"No batch of the plan is chosen, so purchasing does not count this acid. ",""))'
        ),
        "remark",
    )


def _malts(sheet) -> None:
    sheet.across(
        MALT_HEAD - 1, 0, NOTE, "Malts: typical figures, to give way to your maltster's", "section"
    )
    sheet.headers(MALT_HEAD, 0, ["Malt", "pH in demin. water", "Buffering, mEq/(kg·pH)"], height=32)
    sheet.across(MALT_HEAD, 3, LABEL, "Source of the figures", "header")
    sheet.across(MALT_HEAD, FIGURE, NOTE, "Note", "header")
    sheet.text(MALT_HEAD, WORKINGS, "Sources and notes in full", "section")
    known = list(typical_malts().items())
    for offset in range(MALT_ROWS):
        row = MALT_FIRST + offset
        name, malt = known[offset] if offset < len(known) else (None, None)
        figures = (name, malt.ph, malt.buffering) if malt else (None,) * 3
        for column, (value, number) in enumerate(zip(figures, ("plain", "ph", "share"))):
            sheet.input(row, column, value, number)
        source, note = SHORT.get(name, (malt.source, malt.note)) if malt else ("", "")
        if name in SHORT:
            sheet.text(row, WORKINGS, " ".join(filter(None, (malt.source, malt.note))), "grey")
        for begin, last, text in ((3, LABEL, source), (FIGURE, NOTE, note)):
            sheet.raw.merge_range(
                row,
                begin,
                row,
                last,
                text,
                sheet.book.style("input", "wrap", valign="vcenter", indent=1),
            )
        sheet.raw.set_row(
            row, 2 + max(sheet.height(source, 3, LABEL), sheet.height(note, FIGURE, NOTE))
        )
    sheet.limits((MALT_FIRST, 1), (MALT_LAST, 1), 2.5, 7, "A malt's pH")
    sheet.limits((MALT_FIRST, 2), (MALT_LAST, 2), 1, 200, "A malt's buffering")
    for name, column in (("name", 0), ("pH", 1), ("buffering", 2)):
        sheet.name_range(f"Malt_{name}", (MALT_FIRST, column), (MALT_LAST, column))
