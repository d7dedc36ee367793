"""Blend and salts: waters, salts, and the liquor they make against a target profile, the acid's anion included."""

from __future__ import annotations

from xlsxwriter.utility import xl_col_to_name

from chemcore.salts import Salt, find_salt, salt_names
from chemcore.water import Ions
from workbook_template.template import scenario
from workbook_template.template.book import GREEN, Book
from workbook_template.template.charts import OCHRE, columns
from workbook_template.template.layout import BLEND_WATERS, liquid_strength, looked_up, shelf_row

NAME = "Blend and salts"
HEAD = 4
FIRST = HEAD + 1
DEMINERALISED = FIRST + BLEND_WATERS
BLEND = DEMINERALISED + 1
SALT_HEAD = BLEND + 2
SALT_FIRST, SALT_LAST = SALT_HEAD + 1, SALT_HEAD + len(salt_names())
LIQUOR = SALT_LAST + 1
ACID = LIQUOR + 3
ACID_HEAD = ACID + 2
BROUGHT, AFTER, TARGET, LESS = (ACID_HEAD + offset for offset in range(1, 5))
FIGURES = LESS + 3
REMARK = FIGURES + 5
END = REMARK + 9

#: Columns of the ions, the alkalinity and the pH, and of their workings to the right.
IONS, ALKALINITY, PH = 3, 8, 9
NOTE = PH + 1
LITRES, RAW, RAW_ALKALINITY, RAW_PH, SOURCE_ROW, PROBLEM = 12, 13, 18, 19, 20, 21
LETTER = xl_col_to_name
COUNT = len(Ions._fields)


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [29, 13, 15, *[13] * COUNT, 13, 10, 46, 3, *[11] * 9, 46])
    sheet.text(0, 0, "Blend and salts", "title")
    sheet.across(
        1,
        0,
        NOTE,
        "Give the volume of each water and the grams of each salt for all of it; the last lines compare the "
        "liquor with your target. The blend stands on the sheet Water as one more water, for any batch to use.",
        "lead",
    )
    sheet.cautions(2, NOTE)
    _headers(
        sheet,
        HEAD,
        ["Water", '="Volume, "&Volume_unit&" (cold)"', "Share, %"],
        "pH at 20 °C",
        ["L", "Source no.", "Problem"],
    )
    for row in range(FIRST, BLEND):
        _water(sheet, row)
    _blend(sheet)
    _headers(
        sheet,
        SALT_HEAD,
        ["Salt, for all of the blend", "Weight, g", "Strength, mass % (empty: usual)"],
        "pH with the salts so far",
        ["g", "Salts so far", ""],
    )
    for row, name in enumerate(salt_names(), SALT_FIRST):
        _salt(sheet, row, find_salt(name))
    _liquor(sheet)
    _acid(sheet)
    _figures(sheet)
    chart = columns(
        book, "Ions: target against the liquor after the acid", "Ion", "mg/L", stacked=False
    )
    for row, name, colour in ((TARGET, "target", OCHRE), (AFTER, "liquor after the acid", GREEN)):
        chart.add_series(
            {
                "name": name,
                "categories": [NAME, ACID_HEAD, IONS, ACID_HEAD, IONS + COUNT - 1],
                "values": [NAME, row, IONS, row, IONS + COUNT - 1],
                "fill": {"color": colour},
                "gap": 60,
            }
        )
    sheet.raw.insert_chart(
        FIGURES - 1, ALKALINITY, chart, {"x_scale": 1.03, "y_scale": 1.1, "object_position": 2}
    )
    for column in range(LITRES, PROBLEM + 1):
        sheet.raw.set_column(
            column, column, 11 if column < PROBLEM else 46, book.style("text"), {"level": 1}
        )
    sheet.finish(area=(0, 0, END, NOTE), tall=1)


def _cells(row: int) -> dict[str, str]:
    """The cells of a row, by what stands in them."""
    at = row + 1
    return {
        "name": f"A{at}",
        "amount": f"B{at}",
        "strength": f'IF(C{at}="","",C{at})',
        "litres": f"{LETTER(LITRES)}{at}",
        "alkalinity": f"{LETTER(RAW_ALKALINITY)}{at}",
        "ph": f"{LETTER(RAW_PH)}{at}",
        "source": f"{LETTER(SOURCE_ROW)}{at}",
        "problem": f"{LETTER(PROBLEM)}{at}",
        "ions": f"{LETTER(RAW)}{at}:{LETTER(RAW + COUNT - 1)}{at}",
    }


def _column(column: int, first: int, last: int) -> str:
    return f"{LETTER(column)}{first + 1}:{LETTER(column)}{last + 1}"


def _headers(sheet, row: int, first: list[str], ph: str, workings: list[str]) -> None:
    titles = [
        *first,
        *(f"{ion.title()}, mg/L" for ion in Ions._fields),
        "Alkalinity, mg/L as CaCO3",
        ph,
        "Remark",
    ]
    sheet.headers(row, 0, titles, height=45)
    sheet.headers(
        row,
        LITRES,
        [workings[0], *(ion.title() for ion in Ions._fields), "Alkalinity", "pH", *workings[1:]],
        height=45,
    )
    sheet.across(row - 1, LITRES, PROBLEM, "Workings", "section")


def _shown(sheet, row: int, condition: str) -> None:
    """The figures of a row as the user reads them, from the workings of the same row."""
    for column, raw, number in (
        *((IONS + i, RAW + i, "share") for i in range(COUNT)),
        (ALKALINITY, RAW_ALKALINITY, "share"),
        (PH, RAW_PH, "ph"),
    ):
        cell = f"{LETTER(raw)}{row + 1}"
        sheet.formula(
            row,
            column,
            f'=IF({condition},IF(ISNUMBER({cell}),{cell},"see remark"),"")',
            "result",
            "right",
            number,
        )


def _water(sheet, row: int) -> None:
    c = _cells(row)
    offset = row - FIRST
    demineralised = row == DEMINERALISED
    if demineralised:
        sheet.text(row, 0, "Demineralised water", "cell")
        volume, used = scenario.BLEND.demineralised, f'{c["amount"]}<>""'
        known, source = "TRUE", "0"
    else:
        name, volume = (
            scenario.BLEND.waters[offset] if offset < len(scenario.BLEND.waters) else (None, None)
        )
        sheet.input(row, 0, sheet.book.shown(name))
        sheet.choice((row, 0), (row, 0), "=Source_name", "Water")
        used, known = f"COUNTA({c['name']}:{c['amount']})>0", f"{c['source']}>0"
        source = f"IFERROR(MATCH({c['name']},Source_name,0),0)"
    sheet.input(row, 1, sheet.book.shown(volume), "share")
    sheet.limits((row, 1), (row, 1), 0, 1e6, "A volume")

    def of_source(formula: str, pure: str) -> str:
        return f'=IF({used},IF({known},{pure if demineralised else formula},""),"")'

    number = c["source"]
    sheet.formula(row, LITRES, f'=IF({used},LITRES({c["amount"]},Volume_unit),"")', "cell")
    for i in range(COUNT):
        sheet.formula(row, RAW + i, of_source(f"INDEX(Source_ions,{number},{i + 1})", "0"), "cell")
    sheet.formula(
        row, RAW_ALKALINITY, of_source(looked_up("Source_alkalinity", number), "0"), "cell"
    )
    read, temp = looked_up("Source_pH", number), looked_up("Source_temp_C", number)
    cooled = f'PH_WHEN_HOT({c["alkalinity"]},{read},0,1,"lactic",80,INDEX(Source_ions,{number},0),{temp},20)'
    sheet.formula(row, RAW_PH, of_source(f"IF({temp}=20,{read},{cooled})", "7"), "cell")
    sheet.formula(row, SOURCE_ROW, f"=IF({used},{source},0)", "cell")
    report = (
        f'IF({number}=0,"Choose a water that has a row on the sheet Water.",IF(INDEX(Source_ions_given,{number})<>5,'
        f'"Give the five ions of this water on the sheet Water.",IF(COUNT(INDEX(Source_bicarbonate,{number}),'
        f'INDEX(Source_balance,{number}))<2,"See the remark of this water on the sheet Water.","")))'
    )
    own = f"IF(ISTEXT({c['litres']}),{c['litres']},{chr(34) * 2 if demineralised else report})"
    sheet.formula(row, PROBLEM, f'=IF({used},{own},"")', "cell")
    _shown(sheet, row, f'AND({used},{c["problem"]}="")')
    sheet.formula(
        row,
        2,
        f'=IF(AND({used},Mix_problem=""),100*{c["litres"]}/Mix_litres,"")',
        "result",
        "right",
        "share",
    )
    sheet.formula(row, NOTE, f"={c['problem']}", "remark")


def _blend(sheet) -> None:
    c, last = _cells(BLEND), DEMINERALISED
    litres, alkalinities, phs = (
        _column(column, FIRST, last) for column in (LITRES, RAW_ALKALINITY, RAW_PH)
    )
    ions = f"{LETTER(RAW)}{FIRST + 1}:{LETTER(RAW + COUNT - 1)}{last + 1}"
    rows = "".join(
        f'IF({_cells(row)["problem"]}<>"",{_cells(row)["problem"]},'
        for row in range(FIRST, last + 1)
    )
    answers = "".join(
        f"IF(ISTEXT({answer}),{answer},"
        for answer in (
            f"BLEND_ALKALINITY({litres},{alkalinities})",
            f"BLEND_PH({litres},{alkalinities},{phs},20)",
        )
    )
    sheet.text(BLEND, 0, "Blend", "label")
    sheet.name_range("Mix_problem", (BLEND, PROBLEM))
    sheet.name_range("Mix_litres", (BLEND, LITRES))
    sheet.name_range("Mix_used", (BLEND, SOURCE_ROW))
    sheet.name_range("Mix_water_name", (FIRST, 0), (last, 0))
    sheet.name_range("Mix_water_litres", (FIRST, LITRES), (last, LITRES))
    sheet.name_range("Mix_water_pH", (FIRST, RAW_PH), (last, RAW_PH))
    sheet.name_range("Mix_unsalted_pH", (BLEND, RAW_PH))
    sheet.formula(BLEND, SOURCE_ROW, f'=SUMPRODUCT(--({litres}<>""))', "cell")
    sheet.formula(
        BLEND,
        PROBLEM,
        f'=IF(Mix_used=0,"Choose the waters and give their volumes.",{rows}{answers}""'
        + ")" * (BLEND_WATERS + 4),
        "cell",
    )

    def when(formula: str) -> str:
        return f'=IF(Mix_problem="",{formula},Mix_problem)'

    sheet.formula(BLEND, LITRES, when(f"SUM({litres})"), "cell")
    for i in range(COUNT):
        sheet.formula(BLEND, RAW + i, when(f"INDEX(BLEND_IONS({litres},{ions}),1,{i + 1})"), "cell")
    sheet.formula(BLEND, RAW_ALKALINITY, when(f"BLEND_ALKALINITY({litres},{alkalinities})"), "cell")
    sheet.formula(BLEND, RAW_PH, when(f"BLEND_PH({litres},{alkalinities},{phs},20)"), "cell")
    sheet.formula(
        BLEND,
        1,
        f'=IF(Mix_problem="",{c["litres"]}/LITRES(1,Volume_unit),"")',
        "result",
        "right",
        "share",
    )
    sheet.formula(BLEND, 2, '=IF(Mix_problem="",100,"")', "result", "right", "share")
    _shown(sheet, BLEND, "Mix_used>0")
    sheet.formula(BLEND, NOTE, '=Mix_problem&""', "remark")


def _salt(sheet, row: int, salt: Salt) -> None:
    """One salt on top of those above it; the workings hold the liquor with all of them so far."""
    c, before = _cells(row), _cells(row - 1 if row > SALT_FIRST else BLEND)
    sheet.text(row, 0, salt.name, "cell")
    sheet.input(row, 1, sheet.book.shown(scenario.BLEND.salts.get(salt.name)), "ml")
    sheet.input(row, 2, None, "share")
    sheet.limits((row, 1), (row, 1), 0, 1e8, "A weight in g")
    bought = f"{c['name']},{c['litres']},Mix_litres,{c['strength']}"
    settled = "Lime_settled" if salt.alkalinity and salt.ions.calcium and not salt.is_chalk else "0"
    liquor = f"{before['alkalinity']},{before['ph']},{bought},{before['ions']},20,0,{settled}"
    given = f'AND({c["amount"]}<>"",ISNUMBER({before["alkalinity"]}))'
    gained = f"ROUND({c['alkalinity']}-{before['alkalinity']},9)"
    sheet.formula(row, LITRES, f'=IF({c["amount"]}="",0,{c["amount"]})', "cell")
    unchanged = f"OR({c['litres']}=0,ISTEXT({before['alkalinity']}))"
    sheet.formula(
        row,
        RAW_ALKALINITY,
        f"=IF({unchanged},{before['alkalinity']},ALKALINITY_AFTER_SALT({liquor}))",
        "cell",
    )
    sheet.formula(row, RAW_PH, f"=IF({unchanged},{before['ph']},PH_AFTER_SALT({liquor}))", "cell")
    so_far = f"N({before['source']})" if row > SALT_FIRST else "0"
    sheet.formula(row, SOURCE_ROW, f"={so_far}+IF({c['litres']}=0,0,1)", "cell")
    for i, ion in enumerate(Ions._fields):
        held = f"INDEX(SALT_IONS({bought}),1,{i + 1})"
        if (
            ion == "calcium" and salt.alkalinity and salt.ions.calcium
        ):  # less the calcium of what stays undissolved, or falls
            held += f"-(SALT_ALKALINITY({bought})-{gained})/HARDNESS(1,0)"
        shown = f"{LETTER(IONS + i)}{row + 1}"
        sheet.formula(
            row,
            IONS + i,
            f'=IF({given},IF(ISNUMBER({c["alkalinity"]}),{held},"see remark"),"")',
            "result",
            "right",
            "share",
        )
        old = f"{LETTER(RAW + i)}{(row if row > SALT_FIRST else BLEND + 1)}"
        sheet.formula(
            row,
            RAW + i,
            f"=IF(ISNUMBER({c['alkalinity']}),{old}+N({shown}),{c['alkalinity']})",
            "cell",
        )
    for column, figure, number in ((ALKALINITY, gained, "share"), (PH, c["ph"], "ph")):
        sheet.formula(
            row,
            column,
            f'=IF({given},IF(ISNUMBER({c["alkalinity"]}),{figure},"see remark"),"")',
            "result",
            "right",
            number,
        )
    aim = "alkalinity" if salt.alkalinity else "chloride" if salt.ions.chloride else "sulfate"
    mass = f'SALT_MASS({c["name"]},"{aim}",10,Mix_litres,{c["strength"]})'
    unit = "mg/L alkalinity" if salt.alkalinity else f"mg/L {aim}"
    words = '""'
    if salt.is_chalk:
        words = (
            f"IF({gained}<0.99*SALT_ALKALINITY({bought}),FIXED({c['litres']}*(1-{gained}/SALT_ALKALINITY({bought})),0,TRUE)&"
            f'" g stay undissolved: it dissolves poorly.","")'
        )
    caustic = ""
    if salt.alkalinity and salt.ions.calcium and not salt.is_chalk:
        caustic = '&" Caustic: goggles and gloves; keep to its safety data sheet."'
        sheet.raw.set_row(row, 28)
    sheet.formula(
        row,
        NOTE,
        (
            f'=IF(Mix_problem<>"","",IF({c["litres"]}=0,IF(ISNUMBER({mass}),FIXED({mass},0,TRUE)&" g adds 10 {unit}.",{mass}),'
            f'IF(ISTEXT({before["alkalinity"]}),"",IF(ISTEXT({c["alkalinity"]}),{c["alkalinity"]},{words}))))'
            + caustic
        ),
        "remark",
    )


def _liquor(sheet) -> None:
    c = _cells(SALT_LAST)
    sheet.text(LIQUOR, 0, "Liquor: blend and salts", "label")
    sheet.formula(
        LIQUOR,
        1,
        f'=IF(ISNUMBER({c["alkalinity"]}),SUM({_column(1, SALT_FIRST, SALT_LAST)}),"")',
        "result",
        "right",
        "ml",
    )
    sheet.text(LIQUOR, 2, "", "result")
    for column, raw, number in (
        *((IONS + i, RAW + i, "share") for i in range(COUNT)),
        (ALKALINITY, RAW_ALKALINITY, "share"),
        (PH, RAW_PH, "ph"),
    ):
        cell = f"{LETTER(raw)}{SALT_LAST + 1}"
        sheet.formula(
            LIQUOR,
            column,
            f'=IF(Mix_used>0,IF(ISNUMBER({cell}),{cell},"see remark"),"")',
            "result",
            "right",
            number,
        )
    sheet.formula(
        LIQUOR,
        NOTE,
        f'=IF(ISNUMBER({c["alkalinity"]}),"This is what the sheet Water hands on, before any acid.",'
        f"{c['alkalinity']})",
        "remark",
    )
    sheet.name_range("Mix_ions", (SALT_LAST, RAW), (SALT_LAST, RAW + COUNT - 1))
    sheet.name_range("Mix_alkalinity", (SALT_LAST, RAW_ALKALINITY))
    sheet.name_range("Mix_pH", (SALT_LAST, RAW_PH))
    sheet.name_range("Mix_salt_name", (SALT_FIRST, 0), (SALT_LAST, 0))
    sheet.name_range("Mix_salt_number", (SALT_FIRST, SOURCE_ROW), (SALT_LAST, SOURCE_ROW))
    sheet.name_range("Mix_salt_grams", (SALT_FIRST, LITRES), (SALT_LAST, LITRES))


def _acid(sheet) -> None:
    sheet.text(ACID, 0, "Acid on the shelf (empty: none)", "label")
    sheet.input_across(ACID, 1, 2, sheet.book.shown(scenario.BLEND.acid))
    sheet.choice((ACID, 1), (ACID, 1), "=Shelf_label", "Acid")
    sheet.text(ACID, 4, "Target pH (empty: settings)", "right", "label")
    sheet.input(ACID, 5, sheet.book.shown(scenario.BLEND.target_ph), "ph")
    sheet.limits((ACID, 5), (ACID, 5), 2.5, 11, "A target pH")
    sheet.across(
        ACID - 1, 0, NOTE, "Acid and target profile, mg/L (alkalinity as CaCO3)", "section"
    )
    liquor = "Mix_alkalinity,Mix_pH"
    more = "Mix_litres,Mix_acid,Mix_liquid"
    ions = "Mix_ions,20,CO2_lost"

    measure, strength = (
        looked_up(f"Shelf_{what}", "Mix_shelf_row") for what in ("measure", "strength")
    )

    def when(formula: str) -> str:
        return f'=IF(Mix_acid_chosen=1,{formula},"")'

    sheet.text(ACID_HEAD - 1, LITRES, "Workings: the acid", "section")
    sheet.workings(
        ACID_HEAD,
        LITRES,
        [
            ("Mix_shelf_row", "Shelf no.", f"={shelf_row(f'B{ACID + 1}')}"),
            (
                "Mix_acid_chosen",
                "Acid chosen",
                f'=IF(AND(B{ACID + 1}<>"",ISNUMBER(Mix_alkalinity)),1,0)',
            ),
            (
                "Mix_acid",
                "Acid",
                when(f'IF(Mix_shelf_row>0,{looked_up("Shelf_acid", "Mix_shelf_row")},"")'),
            ),
            (
                "Mix_liquid",
                "Strength for mL",
                when(f'IF(Mix_shelf_row>0,{liquid_strength(measure, strength)},"")'),
            ),
            ("Mix_target", "Target pH", f'=IF(F{ACID + 1}="",Default_target,F{ACID + 1})'),
            ("Mix_ml", "mL at that", when(f"ACID_DOSE({liquor},Mix_target,{more},{ions})")),
            ("Mix_anion", "Anion, mg/L", when(f"ACID_ANION(Mix_ml,{more})")),
            (
                "Mix_anion_name",
                "Anion",
                when('IFERROR(INDEX(Name_of_anion,MATCH(Mix_acid,Name_of_acid,0)),"")'),
            ),
            (
                "Mix_left",
                "Alkalinity left",
                when(f"ALKALINITY_AFTER_ACID({liquor},Mix_ml,{more},{ions})"),
            ),
            (
                "Mix_acid_problem",
                "What is missing",
                when(
                    'IF(Mix_shelf_row=0,"Choose an acid that has a label on the sheet Settings.",IF(ISTEXT(Mix_ml),Mix_ml,""))'
                ),
            ),
        ],
    )
    titles = [*(ion.title() for ion in Ions._fields), "Alkalinity", "pH", "Remark"]
    sheet.across(ACID_HEAD, 0, IONS - 1, "Liquor", "header")
    sheet.headers(ACID_HEAD, IONS, titles, height=18)
    _acid_rows(sheet)


def _acid_rows(sheet) -> None:
    good = 'AND(Mix_acid_chosen=1,Mix_acid_problem="")'
    for row, label in (
        (BROUGHT, "The acid changes"),
        (AFTER, "Liquor after the acid"),
        (TARGET, "Target profile"),
        (LESS, "Liquor minus target"),
    ):
        sheet.text(row, 0, label, "label")
    for column in range(IONS, ALKALINITY + 1):
        before, change, after, target = (
            f"{LETTER(column)}{row + 1}" for row in (LIQUOR, BROUGHT, AFTER, TARGET)
        )
        if column == ALKALINITY:
            changed = "Mix_left-Mix_alkalinity"
        else:
            changed = f'IF(Mix_anion_name="{Ions._fields[column - IONS]}",Mix_anion,0)'
        sheet.formula(BROUGHT, column, f'=IF({good},{changed},"")', "result", "right", "share")
        sheet.formula(
            AFTER, column, _after(before, f"{before}+{change}", good), "result", "right", "share"
        )
        sheet.input(
            TARGET, column, sheet.book.shown(scenario.BLEND.profile[column - IONS]), "share"
        )
        sheet.formula(
            LESS,
            column,
            f'=IF(COUNT({after},{target})=2,{after}-{target},"")',
            "result",
            "right",
            "share",
        )
    for row in (BROUGHT, TARGET, LESS):
        sheet.text(row, PH, "", "result")
    sheet.formula(
        AFTER, PH, _after(f"{LETTER(PH)}{LIQUOR + 1}", "Mix_target", good), "result", "right", "ph"
    )
    sheet.limits((TARGET, IONS), (TARGET, ALKALINITY), 0, 20000, "A figure of the target")
    sheet.formula(
        BROUGHT,
        NOTE,
        (
            f'=IF(B{ACID + 1}="","No acid chosen.",IF(Mix_acid_chosen=0,"See the remark of the liquor.",IF(Mix_acid_problem<>"",'
            'Mix_acid_problem,"Brings "&FIXED(Mix_anion,0,TRUE)&" mg/L "&Mix_anion_name&".")))'
        ),
        "remark",
    )
    sheet.text(AFTER, NOTE, "", "remark")
    sheet.text(TARGET, NOTE, "your own; after the acid", "remark")
    sheet.text(LESS, NOTE, "", "remark")


def _after(before: str, dosed: str, good: str) -> str:
    """A figure of the liquor after the acid; where none is chosen, as it was before."""
    return (
        f'=IF(ISNUMBER({before}),IF(Mix_acid_chosen=0,{before},IF({good},{dosed},"see remark")),"")'
    )


def _figures(sheet) -> None:
    def after(ion: str) -> str:
        return f"{LETTER(IONS + Ions._fields.index(ion))}{AFTER + 1}"

    chloride, sulfate, calcium = after("chloride"), after("sulfate"), after("calcium")
    ratio, left = (
        f"SULFATE_CHLORIDE_RATIO({sulfate},{chloride})",
        f"{LETTER(ALKALINITY)}{AFTER + 1}",
    )
    sheet.across(FIGURES - 1, 0, ALKALINITY - 2, "What the liquor is", "section")
    rows = [
        (
            "Sulfate to chloride, mg/mg",
            "Mix_ratio",
            f'=IF(COUNT({sulfate},{chloride})=2,IF(ISNUMBER({ratio}),{ratio},"no chloride"),"")',
            "ph",
            "after the acid; above 1 is said to bring out hops (common practice, no source)",
        ),
        (
            "Residual alkalinity",
            "Mix_residual",
            "=IF(ISNUMBER(Mix_alkalinity),RESIDUAL_ALKALINITY(Mix_alkalinity,INDEX(Mix_ions,1,1),"
            'INDEX(Mix_ions,1,2)),"")',
            "mg",
            "mg/L as CaCO3, before the acid: it steers mash pH",
        ),
        (
            "Scale in the hot tank",
            "Mix_scale",
            "=IF(ISNUMBER(Mix_alkalinity),CALCITE_SCALE(Mix_alkalinity,Mix_pH,Mix_ions,20,Tank_temp_C,"
            'CO2_lost),"")',
            "mg",
            "mg/L as CaCO3, if heated without acid",
        ),
    ]
    for offset, (label, name, formula, number, note) in enumerate(rows):
        row = FIGURES + offset
        sheet.text(row, 0, label, "label")
        sheet.formula(row, 1, formula, "result", "right", number)
        sheet.text(row, 2, note, "note")
        sheet.name_range(name, (row, 1))
    row = FIGURES + len(rows)
    sheet.text(row, 0, "Lime: share of chalk settled", "label")
    sheet.input(row, 1, 0, "plain")
    sheet.limits((row, 1), (row, 1), 0, 1, "The share settled")
    sheet.name_range("Lime_settled", (row, 1))
    sheet.text(
        row,
        2,
        "0: dosed and used at once; 1: lime softening, let to settle and drawn off clear",
        "note",
    )
    sheet.raw.merge_range(REMARK, 0, REMARK + 4, ALKALINITY - 2, "", sheet.book.style("remark"))
    problem = _cells(SALT_LAST)["alkalinity"]

    def above(cell: str, limit: str, words: str) -> str:
        return f'IF(N({cell})>{limit},"{words}","")'

    sheet.formula(
        REMARK,
        0,
        (
            f'=IF(Mix_used=0,"No blend yet: choose the waters and give their volumes.",IF(ISTEXT({problem}),{problem},'
            'IF(AND(Mix_acid_chosen=1,Mix_acid_problem<>""),Mix_acid_problem,'
            + above(
                "Mix_scale",
                "Scale_remark",
                "Scale will fall in the hot tank if heated untreated: dose the acid first, or blend "
                "in more demineralised water. ",
            )
            + f'&IF({calcium}<Calcium_low,"Calcium is low for a mash: gypsum or calcium chloride raise it. ","")'
            + '&IF(ISNUMBER(Mix_ratio),IF(Mix_ratio>2,"Much more sulfate than chloride: dry and bitter. ",IF(Mix_ratio<0.5,'
            '"Much more chloride than sulfate: full and soft. ","Sulfate and chloride are near each other. ")),"")'
            + "&"
            + above(chloride, "Chloride_taste", "Chloride is at a level that is tasted. ")
            + "&"
            + above(sulfate, "Sulfate_taste", "Sulfate is at a level that is tasted. ")
            + f'&IF(N({left})<0,"More acid than alkalinity: raise the target pH. ","")'
            + '&"Weigh the salts, stir them in until they are dissolved, and check the pH."'
            + ")))"
        ),
        "remark",
    )
