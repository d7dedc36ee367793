"""Water: up to six sources as their reports have them, what the reports say, and the blend as one more water."""

from __future__ import annotations

from workbook_template.template import scenario
from workbook_template.template.book import Book
from workbook_template.template.layout import WATER_ROWS, celsius, filled, from_celsius
from workbook_template.template.sheets import blend_salts

NAME = "Water"
HEAD = 3
FIRST, LAST = HEAD + 1, HEAD + WATER_ROWS
#: The row of the blend, from the sheet Blend and salts.
BLEND = LAST + 1


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(
        NAME,
        [22, 12, 10, 12, 10, 10, 10, 12, 13, 8, 11, 12, 13, 11, 12, 11, 58, 3, 12, 12, 12, 12, 12],
    )
    sheet.text(0, 0, "Water", "title")
    sheet.across(
        1,
        0,
        16,
        "One row a source, from the laboratory's report. Give the alkalinity, or the bicarbonate where the report has "
        "only that. Leave all five ions empty if they are not known: the alkalinity is then taken as "
        "calcium bicarbonate. The last row is the liquor of the sheet Blend and salts; choose it for a "
        "batch like any other water.",
        "lead",
        height=28,
    )
    sheet.headers(
        HEAD,
        0,
        [
            "Source",
            "Date of report",
            "Calcium, mg/L",
            "Magnesium, mg/L",
            "Sodium, mg/L",
            "Chloride, mg/L",
            "Sulfate, mg/L",
            "Alkalinity, mg/L as CaCO3",
            "or bicarbonate, mg/L",
            "pH",
            '="pH read at, "&Temperature_unit',
            "Alkalinity used, mg/L as CaCO3",
            "Bicarbonate, mg/L",
            "Hardness, mg/L as CaCO3",
            "Residual alkalinity, mg/L as CaCO3",
            "Ion balance, %",
            "Remark",
        ],
        height=58,
    )
    sheet.headers(
        HEAD,
        18,
        ["pH read at, °C", "Alkalinity", "Balance", "Bicarbonate", "Ions given"],
        height=58,
    )
    sheet.across(HEAD - 1, 18, 22, "Workings", "section")
    for offset in range(WATER_ROWS):
        row, at = FIRST + offset, FIRST + offset + 1
        source = scenario.WATERS[offset] if offset < len(scenario.WATERS) else (None,) * 10
        for column, (value, number) in enumerate(
            zip(source, ("plain", "date", *["share"] * 7, "ph"))
        ):
            sheet.input(row, column, value, number)
        sheet.input(row, 10, None, "share")
        used = filled(f"A{at}", f"C{at}:J{at}")
        sheet.formula(
            row, 18, f'=IF({used},IF(K{at}="",20,{celsius(f"K{at}")}),"")', "cell", "share"
        )
        sheet.formula(
            row,
            19,
            f'=IF({used},IF(H{at}="",IF(I{at}="","Check alkalinity: the cell is empty; type it, or the '
            f'bicarbonate",ALKALINITY_FROM_BICARBONATE(I{at},J{at},S{at})),H{at}),"")',
            "cell",
            "share",
        )
        sheet.formula(row, 22, f'=IF({used},COUNTA(C{at}:G{at}),"")', "cell", "count")
        _says(sheet, row, used)
        sheet.formula(row, 16, _remark(at, used), "remark")
    _blend(sheet)
    first, last = FIRST, LAST
    sheet.limits((first, 2), (last, 8), 0, 5000, "A figure of a water report")
    sheet.limits((first, 9), (last, 9), 4, 11, "The water's pH")
    for name, left, right in (
        ("name", 0, 0),
        ("ions", 2, 6),
        ("calcium", 2, 2),
        ("pH", 9, 9),
        ("temp_C", 18, 18),
        ("alkalinity", 19, 19),
        ("balance", 20, 20),
        ("bicarbonate", 21, 21),
        ("ions_given", 22, 22),
    ):
        sheet.name_range(f"Water_{name}", (first, left), (BLEND, right))
        sheet.name_range(
            f"Source_{name}", (first, left), (last, right)
        )  # without the blend, which is made of them
    sheet.across(BLEND + 2, 0, 16, "How to read it", "section")
    for offset, line in enumerate(
        (
            "Alkalinity is what acid has to overcome; hardness says nothing about the dose. Check the alkalinity by a bench titration: "
            "supplies change with the season.",
            "Residual alkalinity (Kolbach) is what is left after calcium and magnesium have met the malt: it steers mash pH.",
            "Ion balance: positive where cations are more. Potassium and nitrate are not counted.",
        )
    ):
        sheet.across(BLEND + 3 + offset, 0, 16, line, "text")
    for column in range(18, 23):
        sheet.raw.set_column(column, column, 12, book.style("text"), {"level": 1})
    sheet.raw.set_row(FIRST - 1, 58)
    for row in range(FIRST, BLEND + 1):
        sheet.raw.set_row(row, 28)
    sheet.finish(area=(0, 0, BLEND + 6, 16), freeze=(HEAD + 1, 1), tall=1)


def _says(sheet, row: int, used: str) -> None:
    """What the report of one row says, in workings and as it is shown."""
    at = row + 1
    ions = f"C{at}:G{at}"
    sheet.formula(
        row, 20, f'=IF({used},IF(W{at}=0,"",ION_BALANCE({ions},T{at},J{at})),"")', "cell", "share"
    )
    sheet.formula(row, 21, f'=IF({used},BICARBONATE(T{at},J{at},S{at}),"")', "cell", "share")

    def shown(column: int, raw: str, number: str) -> None:
        sheet.formula(
            row,
            column,
            f'=IF({used},IF(ISNUMBER({raw}),{raw},IF({raw}="","","see remark")),"")',
            "result",
            number,
        )

    shown(11, f"T{at}", "mg")
    shown(12, f"V{at}", "mg")
    sheet.formula(
        row,
        13,
        f'=IF(AND({used},W{at}=5),IF(ISNUMBER(HARDNESS(C{at},D{at})),HARDNESS(C{at},D{at}),"see remark"),"")',
        "result",
        "mg",
    )
    sheet.formula(
        row,
        14,
        f"=IF(AND({used},W{at}=5),IF(ISNUMBER(RESIDUAL_ALKALINITY(T{at},C{at},D{at})),"
        f'RESIDUAL_ALKALINITY(T{at},C{at},D{at}),"see remark"),"")',
        "result",
        "mg",
    )
    shown(15, f"U{at}", "share")


def _blend(sheet) -> None:
    """The row of the blend: nothing to fill in."""
    at = BLEND + 1
    used = f'A{at}<>""'

    def when(formula: str) -> str:
        return f'=IF({used},{formula},"")'

    sheet.formula(BLEND, 0, f'=IF(Mix_used>0,"{blend_salts.NAME}","")', "result")
    for column in (1, 8, 10):
        sheet.text(BLEND, column, "", "result")
    for offset in range(5):
        figure = f"INDEX(Mix_ions,1,{offset + 1})"
        sheet.formula(
            BLEND,
            2 + offset,
            when(f'IF(ISNUMBER({figure}),{figure},"see remark")'),
            "result",
            "right",
            "share",
        )
    for column, name, number in ((7, "Mix_alkalinity", "share"), (9, "Mix_pH", "ph")):
        sheet.formula(
            BLEND,
            column,
            when(f'IF(ISNUMBER({name}),{name},"see remark")'),
            "result",
            "right",
            number,
        )
    sheet.formula(BLEND, 18, when("20"), "cell", "share")
    sheet.formula(
        BLEND,
        19,
        when(
            f'IF(ISNUMBER(Mix_alkalinity),Mix_alkalinity,"Check alkalinity: see the remarks on the '
            f'sheet {blend_salts.NAME}")'
        ),
        "cell",
        "share",
    )
    sheet.formula(BLEND, 22, when("IF(COUNT(Mix_ions)=5,5,0)"), "cell", "count")
    _says(sheet, BLEND, used)
    sheet.formula(
        BLEND,
        16,
        when(
            f'IF(COUNTIF(Water_name,A{at})>1,"A source has this name too: give it another.",IF(COUNT(T{at},V{at})<2,"See the remarks on the '
            f'sheet {blend_salts.NAME}.","Made on the sheet {blend_salts.NAME}; before any acid."))'
        ),
        "remark",
    )


def _remark(at: int, used: str) -> str:
    cool, warm = from_celsius(0), from_celsius(60)
    return (
        f'=IF({used},IF(A{at}="","Give this source a name.",IF(COUNTIF(Water_name,A{at})>1,"This name stands twice: give each '
        f'source its own.",IF(ISTEXT(V{at}),V{at},IF(W{at}=0,"No ions given: alkalinity is taken as '
        f'calcium bicarbonate; calcium limits cannot be worked out.",IF(ISTEXT(U{at}),U{at},IF(ABS(U{at})>Balance_wrong,'
        f'"Ions do not balance: a figure is missing or wrong. Look at the report again before dosing by it.",'
        f'IF(ABS(U{at})>Balance_remark,"Ions are a little out of balance; usable, but look at the report again.",'
        f'IF(OR(J{at}<6.5,J{at}>8.8),"Unusual pH for a supply: was it read on a fresh, cooled sample?",'
        f'IF(AND(K{at}<>"",OR(K{at}<{cool},K{at}>{warm})),"Unusual temperature for a pH reading: which unit is it in?",'
        f'"Plausible."))))))))),"")'
    )
