"""Last runnings: when to stop, by pH and gravity, and what the kettle then needs."""

from __future__ import annotations

from workbook_template.template import scenario
from workbook_template.template.book import GREEN, Book
from workbook_template.template.charts import LIMIT, LIMIT_2, OCHRE, OFF, scatter, series
from workbook_template.template.sheets.settings import RUNOFF_PRESETS

NAME = "Last runnings"
HEAD = 10
READ_OF = HEAD - 1
ROWS = 16
FIRST, LAST = HEAD + 1, HEAD + ROWS


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [18, 12, 13, 12, 12, 3, 44, 14, 54])
    sheet.text(0, 0, "Last runnings", "title")
    sheet.across(
        1,
        0,
        8,
        "Read volume, pH and gravity of the runnings; leave a cell empty where a reading was missed. Past the limit "
        "tannins come along: stop, and top the kettle up with water.",
        "lead",
    )
    sheet.text(2, 0, "Batch", "label")
    sheet.raw.merge_range(2, 1, 2, 3, scenario.RUNNINGS.batch, book.style("input", "plain"))
    sheet.choice((2, 1), (2, 1), "=Plan_batch", "Batch")
    for row, height in (
        (1, 18),
        (2, 18),
        (3, 28),
        *((row, 16) for row in range(4, 20) if row != HEAD),
    ):
        sheet.raw.set_row(row, height)
    _limits(sheet)
    _readings(sheet)
    _answer(sheet)
    rows = (FIRST, LAST)
    chart = scatter(
        book,
        "Runnings with both limits",
        f"='{NAME}'!$A${HEAD + 1}",
        "pH",
        second="Gravity, °P",
        x_axis={"min": 0, "num_format": "General"},
        y_axis={"min": 5, "max": 6.5, "num_format": "0.0"},
        second_axis={"min": 0, "num_format": "0"},
    )
    ends = _limit_lines(sheet)
    dots = {"marker": {"type": "circle", "size": 5}}
    series(chart, "pH", NAME, rows, 0, 1, line={"color": GREEN, "width": 2.25}, **dots)
    series(chart, "highest pH", NAME, ends, 10, 11, line=LIMIT)
    series(
        chart,
        "gravity, °P",
        NAME,
        rows,
        0,
        2,
        y2_axis=True,
        line={"color": OCHRE, "width": 2.25},
        **dots,
    )
    series(chart, "lowest gravity", NAME, ends, 10, 12, y2_axis=True, line=LIMIT_2)
    chart.show_blanks_as("span")
    sheet.raw.insert_chart(21, 6, chart, {"x_scale": 1.6, "y_scale": 1.25, "object_position": 2})
    sheet.finish(area=(0, 0, 41, 8), tall=1)


def _limits(sheet) -> None:
    sheet.across(3, 0, 4, "Limits (common practice, no source)", "section")
    sheet.text(4, 0, "Limits", "label")
    sheet.raw.merge_range(4, 1, 4, 3, RUNOFF_PRESETS[1][0], sheet.book.style("input", "plain"))
    sheet.choice((4, 1), (4, 1), [preset[0] for preset in RUNOFF_PRESETS], "Preset")
    sheet.text(5, 0, "own: highest pH", "label")
    sheet.input(5, 1, None, "ph")
    sheet.text(6, 0, "own: lowest °P", "label")
    sheet.input(6, 1, None, "share")
    sheet.limits((5, 1), (5, 1), 4, 9, "A pH")
    sheet.limits((6, 1), (6, 1), 0, 20, "A gravity")
    for row, label, name, which in (
        (7, "Highest pH", "Runoff_pH", 1),
        (8, "Lowest °P", "Runoff_plato", 2),
    ):
        chosen = "".join(
            f'IF(B5="{preset[0]}",{preset[which]:g},' for preset in RUNOFF_PRESETS[:-1]
        )
        sheet.text(row, 0, label, "label")
        sheet.formula(
            row,
            1,
            f'={chosen}IF(B{5 + which}="","type your own limit",B{5 + which})'
            + ")" * (len(RUNOFF_PRESETS) - 1),
            "result",
            "ph" if which == 1 else "share",
        )
        sheet.name_range(name, (row, 1))


def _limit_lines(sheet) -> tuple[int, int]:
    """Both ends of the two limits in the chart, to the right of the page; the rows they stand in."""
    sheet.text(HEAD - 1, 10, "Workings: limits in the chart", "section")
    sheet.headers(HEAD, 10, ["Run off", "pH", "°P"], height=18)
    for row, end in ((FIRST, "0"), (FIRST + 1, "MAX(Runoff_litres)")):
        sheet.formula(row, 10, f"={end}", "cell", "litres")
        sheet.formula(row, 11, f"=IF(ISNUMBER(Runoff_pH),Runoff_pH,{OFF})", "cell", "ph")
        sheet.formula(row, 12, f"=IF(ISNUMBER(Runoff_plato),Runoff_plato,{OFF})", "cell", "share")
    sheet.raw.set_column(10, 12, 11, sheet.book.style("text"), {"level": 1})
    return FIRST, FIRST + 1


def _readings(sheet) -> None:
    sheet.text(READ_OF, 0, "Readings of batch", "label")
    sheet.raw.merge_range(
        READ_OF, 1, READ_OF, 3, scenario.RUNNINGS.batch, sheet.book.style("input", "plain")
    )
    sheet.choice((READ_OF, 1), (READ_OF, 1), "=Plan_batch", "Batch")
    sheet.headers(
        HEAD,
        0,
        ['="Run off, "&Volume_unit', "pH, cooled", "Gravity, °P", "pH limit", "°P limit"],
        height=18,
    )
    for offset in range(ROWS):
        row, at = FIRST + offset, FIRST + offset + 1
        reading = (
            scenario.RUNNINGS.readings[offset]
            if offset < len(scenario.RUNNINGS.readings)
            else (None,) * 3
        )
        for column, (value, number) in enumerate(zip(reading, ("volume", "ph", "share"))):
            sheet.input(row, column, value, number)
        sheet.formula(row, 3, f'=IF(A{at}="","",Runoff_pH)', "result", "ph")
        sheet.formula(row, 4, f'=IF(A{at}="","",Runoff_plato)', "result", "share")
    for name, column in (("litres", 0), ("phs", 1), ("platos", 2)):
        sheet.name_range(f"Runoff_{name}", (FIRST, column), (LAST, column))


def _answer(sheet) -> None:
    demo = scenario.RUNNINGS
    whose = f"B{READ_OF + 1}"
    readings = "Runoff_litres,Runoff_phs,Runoff_platos,Runoff_pH,Runoff_plato"
    sheet.across(3, 6, 8, "When to stop", "section")
    sheet.formula(4, 6, '="Stop when run off, "&Volume_unit', "label")
    sheet.formula(
        4, 7, f'=IF(Runoff_own=1,RUNOFF_CUTOFF({readings}),"see why")', "result", "right", "volume"
    )
    sheet.text(5, 6, "Why", "label")
    # The function speaks of L with figures of its own, whatever unit the readings are in: its words, and the figure as it is above.
    sheet.workings(
        FIRST + 3,
        10,
        [
            ("Runoff_why", "Why", f"=RUNOFF_REASON({readings})"),
            (
                "Runoff_own",
                "Of this batch",
                f'=IF(COUNTA(Runoff_litres,Runoff_phs,Runoff_platos)=0,1,IF({whose}&""=B3&"",1,0))',
            ),
        ],
    )
    words = 'LEFT(Runoff_why,IFERROR(FIND(" at ",Runoff_why),FIND(" by ",Runoff_why))+3)'
    figure = "FIXED(H5,IF(H5>=99.95,0,IF(H5>=9.995,1,2)))"
    sheet.across(
        5,
        7,
        8,
        f'=IF(Runoff_own=0,IF({whose}="","Choose which batch the readings belong to.",'
        f'"These readings belong to batch "&{whose}&": clear them."),IF(ISNUMBER(H5),'
        f'{words}&{figure}&" "&Volume_unit,Runoff_why))',
        "remark",
        formula=True,
    )
    sheet.across(7, 6, 8, "What the kettle then needs", "section")
    rows = [
        (
            '="Wort in the kettle at the stop, "&Volume_unit&" at 20 °C"',
            demo.kettle,
            None,
            "volume",
            "",
        ),
        ("    its gravity, °P", demo.kettle_plato, None, "share", ""),
        ('="Kettle to be filled to, "&Volume_unit&" at 20 °C"', demo.target, None, "volume", ""),
        ("Gravity wanted in the end, °P", demo.target_plato, None, "share", ""),
        (
            '="Evaporation in an hour, "&Volume_unit&" at 20 °C"',
            demo.evaporation,
            None,
            "volume",
            "",
        ),
        ("Boil as planned, minutes", demo.planned_minutes, None, "count", ""),
        (
            '="Top up with water, "&Volume_unit&" at 20 °C"',
            None,
            "=KETTLE_TOP_UP(H9,H11)",
            "volume",
            "liquor treated like the sparge",
        ),
        (
            "    gravity after the top-up, °P",
            None,
            "=PLATO_AFTER_TOP_UP(H9,H10,H15)",
            "share",
            "extract balance",
        ),
        (
            "    gravity after the planned boil, °P",
            None,
            "=PLATO_AFTER_BOIL(H11,H16,H14,H13)",
            "share",
            "",
        ),
        (
            "Boil instead for, minutes",
            None,
            "=IF(ISNUMBER(H16),IF(H16>=H12,0,BOIL_MINUTES(H11,H16,H12,H13)),H16)",
            "count",
            "the whole boil that reaches the gravity wanted",
        ),
        (
            "or dextrose after the planned boil, kg",
            None,
            "=IF(ISNUMBER(H17),IF(H17>=H12,0,DEXTROSE_MASS(LITRES(LITRES_AFTER_BOIL(H11,H16,H14,H13),Volume_unit),H17,H12)),H17)",
            "share",
            "dextrose monohydrate; see DEXTROSE_MASS in Reference",
        ),
    ]
    for offset, (label, value, formula, number, note) in enumerate(rows):
        row = 8 + offset
        sheet.label(row, 6, label)
        if formula:
            sheet.formula(row, 7, formula, "result", "right", number)
        else:
            sheet.input(row, 7, value, number)
        sheet.text(row, 8, f" {note}")
