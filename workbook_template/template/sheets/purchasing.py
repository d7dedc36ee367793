"""Purchasing: what plan and mashes need by month, what to order, what the acids cost by what they do."""

from __future__ import annotations

from workbook_template.template.book import Book
from workbook_template.template.charts import columns
from workbook_template.template.layout import SHELF_ROWS, SILENT

NAME = "Purchasing"
MONTHS = 6
MONTH_NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MONTH_COLOURS = ("#2F4A3C", "#8A6D1D", "#5C8374", "#C9A84C", "#9DB5A8", "#E3D3A2")
HEAD = 6
FIRST, LAST = HEAD + 1, HEAD + SHELF_ROWS
FIRST_MONTH = 2
AFTER = FIRST_MONTH + MONTHS
#: Names of the months for the chart, to the right of the page.
WORKINGS = AFTER + 10


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(
        NAME, [24, 12] + [10] * MONTHS + [11, 11, 9, 11, 12, 13, 11, 11, 44, 3] + [10] * MONTHS
    )
    last = AFTER + 8
    sheet.text(0, 0, "Purchasing", "title")
    sheet.across(
        1,
        0,
        last,
        "From the batch plan, the acid in the mash (lower part of the sheet Mash), the stock and the packs on the "
        "sheet Settings. Order before it runs out: acid travels as dangerous goods and takes its time. "
        "An equivalent is the acid that takes off 50 g of alkalinity as CaCO3.",
        "lead",
        height=28,
    )
    inputs = (
        ("Share wasted, %", "Waste", 3, "share"),
        ("Batches a year", "Batches_a_year", 110, "count"),
    )
    for offset, (label, name, value, number) in enumerate(inputs):
        sheet.text(2 + offset, 0, label, "label")
        sheet.input(2 + offset, 1, value, number)
        sheet.name_range(name, (2 + offset, 1))
    sheet.limits((2, 1), (2, 1), 0, 90, "The share wasted")
    sheet.formula(3, 3, '="Acid for a year, "&Currency', "label")
    sheet.formula(
        3,
        6,
        '=IF(SUM(Plan_used)=0,"",IF(COUNT(Plan_money)<SUM(Plan_used),"row "&MIN(Plan_bad_row)&" of the plan has no cost",'
        'IF(OR(COUNT(Mash_plan_money)<COUNTIFS(Mash_plan_acid,"?*"),SUM(Mash_plan_astray)>0),'
        '"an acid in the mash has no cost",(SUM(Plan_money)+SUM(Mash_plan_money))/SUM(Plan_used)*Batches_a_year)))',
        "result",
        "right",
        "money",
    )
    sheet.text(2, 3, "First month of the plan", "label")
    sheet.formula(
        2,
        6,
        '=IF(COUNT(Plan_date)=0,"",DATE(YEAR(MIN(Plan_date)),MONTH(MIN(Plan_date)),1))',
        "result",
        "right",
        "date",
    )
    sheet.name_range("First_month", (2, 6))
    sheet.across(HEAD - 1, FIRST_MONTH, AFTER - 1, "Needed by month, mL (g of a powder)", "section")
    sheet.across(
        HEAD - 1, WORKINGS, WORKINGS + MONTHS - 1, "Workings: months for the chart", "section"
    )
    sheet.headers(HEAD, 0, ["Acid", "Target pH for comparison"], height=45)
    for month in range(MONTHS):
        sheet.formula(
            HEAD,
            FIRST_MONTH + month,
            f'=IF(First_month="","",EDATE(First_month,{month}))',
            "header",
            "month",
        )
        cell = f"{chr(ord('C') + month)}{HEAD + 1}"
        names = ",".join(f'"{name}"' for name in MONTH_NAMES)
        sheet.formula(
            HEAD,
            WORKINGS + month,
            f'=IF({cell}="","",CHOOSE(MONTH({cell}),{names})&" "&YEAR({cell}))',
            "cell",
        )
        sheet.raw.set_column(
            WORKINGS + month, WORKINGS + month, 10, book.style("text"), {"level": 1}
        )
    sheet.headers(
        HEAD,
        AFTER,
        [
            "With waste, mL (g)",
            "In stock, mL (g)",
            "Packs to order",
            '="Order, "&Currency',
            "Stock lasts, batches",
            "Runs out in",
            '="Cost, "&Currency&" per hL of sparge"',
            '="Price, "&Currency&" per equivalent"',
            "Remark",
        ],
        height=45,
    )
    for offset in range(SHELF_ROWS):
        _row(sheet, FIRST + offset, offset + 1)
    total = LAST + 1
    sheet.text(total, 0, "Order in all", "label")
    cells = f"L{FIRST + 1}:L{LAST + 1}"
    sheet.formula(
        total,
        AFTER + 3,
        f'=IF(COUNT({cells})=SUMPRODUCT(--(Shelf_label<>"")),SUM({cells}),'
        '"a row has no order: see its remark")',
        "result",
        "right",
        "money",
    )
    chart = columns(book, "Acid needed by month", "Acid on the shelf", "mL (g of a powder)")
    for month in range(MONTHS):
        column = FIRST_MONTH + month
        chart.add_series(
            {
                "name": [NAME, HEAD, WORKINGS + month],
                "categories": [NAME, FIRST, 0, LAST, 0],
                "values": [NAME, FIRST, column, LAST, column],
                "fill": {"color": MONTH_COLOURS[month]},
                "gap": 60,
            }
        )
    sheet.raw.insert_chart(
        LAST + 3, 0, chart, {"x_scale": 1.5, "y_scale": 1.25, "object_position": 2}
    )
    price = columns(
        book,
        "Price of one equivalent of acid at the target",
        "Acid on the shelf",
        f"='{NAME}'!$P${HEAD + 1}",
    )
    price.add_series(
        {
            "name": [NAME, HEAD, AFTER + 7],
            "categories": [NAME, FIRST, 0, LAST, 0],
            "values": [NAME, FIRST, AFTER + 7, LAST, AFTER + 7],
            "fill": {"color": "#2F4A3C"},
            "gap": 60,
        }
    )
    price.set_legend({"none": True})
    sheet.raw.insert_chart(
        LAST + 3, AFTER, price, {"x_scale": 1.5, "y_scale": 1.25, "object_position": 2}
    )
    sheet.finish(area=(0, 0, LAST + 23, last), freeze=(HEAD + 1, 1), tall=1)


def _row(sheet, row: int, number: int) -> None:
    at = row + 1
    label, acid, strength = (
        f"INDEX(Shelf_{name},{number})" for name in ("label", "acid", "strength")
    )
    pack, price, stock, measure = (
        f"INDEX(Shelf_{name},{number})" for name in ("pack", "price", "stock", "measure")
    )
    present = f'{label}<>""'
    dated = (
        f"AND(COUNTIFS(Plan_acid,{label})=SUMPRODUCT((Plan_acid={label})*(Plan_dated=1)*(Plan_complete=1)),"
        f"COUNTIFS(Mash_plan_acid,{label})=SUMPRODUCT((Mash_plan_acid={label})*(Plan_dated=1)*(Mash_plan_complete=1)),"
        "SUM(Mash_plan_astray)=0)"
    )
    batches = f"SUMPRODUCT(--((Plan_acid={label})+(Mash_plan_acid={label})>0))"
    first, last = "C", "H"
    months = f"{first}{at}:{last}{at}"

    def when(formula: str) -> str:
        return f'=IF({present},{formula},"")'

    sheet.formula(row, 0, when(label), "remark")
    sheet.formula(row, 1, when("Default_target"), "result", "right", "ph")
    for month in range(MONTHS):
        head = f"{chr(ord('C') + month)}${HEAD + 1}"
        when_in = f'Plan_date,">="&{head},Plan_date,"<"&EDATE({head},1)'
        planned, mashed = f"Plan_acid,{label},{when_in}", f"Mash_plan_acid,{label},{when_in}"
        sheet.formula(
            row,
            FIRST_MONTH + month,
            when(
                f'IF({head}="",0,IF(COUNTIFS({planned})+COUNTIFS({mashed})<>SUMIFS(Plan_complete,{planned})'
                f'+SUMIFS(Mash_plan_complete,{mashed}),"see remark",SUMIFS(Plan_amount,{planned})+SUMIFS(Mash_plan_amount,{mashed})))'
            ),
            "result",
            "right",
            "need",
        )
    need = f"ACID_NEEDED({months},Waste)"
    figures = [
        (when(f'IF({dated},{need},"see remark")'), "mg"),
        (when(f'IF({stock}="",0,{stock}*1000)'), "mg"),
        (when(f'IF(ISNUMBER(I{at}),PACKS_TO_BUY(I{at},J{at},{pack}),"see remark")'), "count"),
        (when(f'IF(AND(ISNUMBER(K{at}),ISNUMBER({price})),K{at}*{price},"see remark")'), "money"),
        (
            when(
                f'IF({batches}=0,"not planned",IF(ISNUMBER(I{at}),BATCHES_LEFT(J{at},I{at}/{batches}),"see remark"))'
            ),
            "count",
        ),
        (when(f'IF(NOT(ISNUMBER(I{at})),"see remark",{_runs_out(at)})'), "month"),
        (
            when(
                f'IF(COUNTIFS(Plan_acid,{label})=0,"no sparge",IF(COUNTIFS(Plan_acid,{label})<>SUMIFS(Plan_complete,Plan_acid,{label}),'
                f'"see remark",COST_PER_HL(SUMIFS(Plan_amount,Plan_acid,{label}),{pack},{price},SUMIFS(Plan_cold,Plan_acid,{label}))))'
            ),
            "money",
        ),
        (when(f"PRICE_PER_EQUIVALENT({pack},{price},{acid},{strength},B{at})"), "density"),
        (
            when(
                f'IF(NOT({dated}),"A batch with this acid has no date or no dose: see the plan, and the acid in the mash.",'
                f'IF(ISTEXT(I{at}),I{at},IF(NOT(ISNUMBER(I{at})),"{SILENT}",IF(ISTEXT(K{at}),K{at},'
                f'IF(ISTEXT(P{at}),P{at},IF({price}="","No price given.",'
                f'IF(K{at}>0,"Order "&K{at}&" of "&{pack}&IF({measure}="g"," kg."," L."),"Enough in stock.")))))))'
            ),
            "plain",
        ),
    ]
    for offset, (formula, number_format) in enumerate(figures):
        look = ("remark",) if number_format == "plain" else ("result", "right", number_format)
        sheet.formula(row, AFTER + offset, formula, *look)
    sheet.raw.set_row(row, 28)


def _runs_out(at: int) -> str:
    """The first month whose need, summed from the first, is more than the stock."""
    steps = "".join(
        f"IF(SUM($C{at}:{column}{at})*(1+Waste/100)>J{at},{column}${HEAD + 1},"
        for column in "CDEFGH"
    )
    return steps + '"after the plan"' + ")" * MONTHS
