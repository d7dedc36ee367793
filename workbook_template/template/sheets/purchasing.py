"""Purchasing: what plan and mashes need by month, what to order, what the acids cost by what they do."""

from __future__ import annotations

from xlsxwriter.utility import xl_rowcol_to_cell

from workbook_template.template.book import Book, Sheet
from workbook_template.template.charts import columns
from workbook_template.template.form import Answer, Form, Typed
from workbook_template.template.formula import (
    Formula,
    all_of,
    any_of,
    call,
    count_where,
    first,
    is_number,
    joined,
    name,
    ref,
    when,
    xl,
)
from workbook_template.template.layout import SHELF_ROWS, SILENT, astray, first_problem, looked_up
from workbook_template.template.table import Row, Shown, Table

NAME = "Purchasing"
MONTHS = 6
MONTH_NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MONTH_COLOURS = ("#2F4A3C", "#8A6D1D", "#5C8374", "#C9A84C", "#9DB5A8", "#E3D3A2")
HEAD = 6
FIRST_MONTH = 2
AFTER = FIRST_MONTH + MONTHS
LAST_COLUMN = AFTER + 8
#: Names of the months for the chart, to the right of the page.
WORKINGS = LAST_COLUMN + 2
MONTH_KEYS = tuple(f"month{number}" for number in range(1, MONTHS + 1))
SEE = "see remark"

INPUTS = Form(
    row=2,
    lines=[
        Typed(
            "Share wasted, %",
            3,
            name="Waste",
            number="share",
            limits=(0, 90, "The share wasted"),
        ),
        Typed("Batches a year", 110, name="Batches_a_year", number="count"),
    ],
)


def _no_cost() -> list[tuple[Formula, Formula | str]]:
    """What keeps the plan and the mashes from a cost, in words."""
    priced, used = xl.COUNT(name("Plan_money")), xl.SUM(name("Plan_used"))
    unpriced_mash = xl.COUNT(name("Mashes_money")) < xl.COUNTIFS(name("Mashes_acid"), "?*")
    return [
        (priced < used, joined("row ", xl.MIN(name("Plan_unpriced")), " of the plan has no cost")),
        (any_of(unpriced_mash, astray() > 0), "an acid in the mash has no cost"),
    ]


def _year() -> Formula:
    used, money = xl.SUM(name("Plan_used")), xl.SUM(name("Plan_money"))
    whole = money + xl.SUM(name("Mashes_money"))
    return first(
        (used == 0, ""),
        *_no_cost(),
        (xl.NOT(is_number(name("Batches_a_year"))), "type the batches a year"),
        whole / used * name("Batches_a_year"),
    )


def _first_month() -> Formula:
    day = xl.MIN(name("Plan_date"))
    return first((xl.COUNT(name("Plan_date")) == 0, ""), xl.DATE(xl.YEAR(day), xl.MONTH(day), 1))


OVERVIEW = Form(
    row=2,
    label=3,
    figure=6,
    lines=[
        Answer("First month of the plan", _first_month(), name="First_month", number="date"),
        Answer('="Acid for a year, "&Currency', _year(), number="money"),
    ],
)


# What several columns of a row are made of: a row is that of the shelf with the same number.


def _shelf(c: Row, column: str) -> Formula:
    return looked_up(f"Shelf_{column}", ref(str(c.number)))


def _present(c: Row, answer) -> Formula:
    return when(_shelf(c, "label") != "", answer)


def _dated(c: Row) -> Formula:
    """Whether every batch with this acid has its date and its dose, in the sparge and in the mash."""

    def known(prefix: str) -> Formula:
        acid, label = name(f"{prefix}_acid"), _shelf(c, "label")
        rows = (acid == label) * (name(f"{prefix}_dated") == 1) * (name(f"{prefix}_complete") == 1)
        return xl.COUNTIFS(acid, label) == xl.SUMPRODUCT(rows)

    return all_of(known("Plan"), known("Mashes"), astray() == 0)


def _need_in(number: int):
    """What a month needs of this acid."""

    def formula(c: Row) -> Formula:
        month = ref(xl_rowcol_to_cell(HEAD, FIRST_MONTH + number, row_abs=True))
        label = _shelf(c, "label")

        def within(prefix: str) -> tuple[Formula, ...]:
            date = name(f"{prefix}_date")
            bounds = date, joined(">=", month), date, joined("<", xl.EDATE(month, 1))
            return (name(f"{prefix}_acid"), label, *bounds)

        planned, mashed = within("Plan"), within("Mashes")

        def both(column: str) -> Formula:
            return xl.SUMIFS(name(f"Plan_{column}"), *planned) + xl.SUMIFS(
                name(f"Mashes_{column}"), *mashed
            )

        batches = xl.COUNTIFS(*planned) + xl.COUNTIFS(*mashed)
        undated = xl.COUNTIFS(name("Plan_acid"), label, name("Plan_dated"), 0) + xl.COUNTIFS(
            name("Mashes_acid"), label, name("Mashes_dated"), 0
        )
        return _present(
            c,
            first(
                (any_of(undated > 0, astray() > 0), SEE),
                (month == "", 0),
                (batches != both("complete"), SEE),
                both("amount"),
            ),
        )

    return formula


def _lasts(c: Row) -> Formula:
    label = _shelf(c, "label")
    mashed = name("Mashes_acid"), label
    once = xl.SUMIFS(name("Mashes_in_both"), *mashed)
    batches = xl.COUNTIFS(name("Plan_acid"), label) + xl.COUNTIFS(*mashed) - once
    return _present(
        c,
        first(
            (batches == 0, "not planned"),
            (
                xl.COUNT(c.need, c.stock) == 2,
                call("BATCHES_LEFT", c.stock, c.need / batches),
            ),
            SEE,
        ),
    )


def _runs_out(c: Row) -> Formula:
    """The first month whose need, summed from the first, is more than the stock."""
    left = xl_rowcol_to_cell(c.row, FIRST_MONTH, col_abs=True)
    steps = []
    for number, key in enumerate(MONTH_KEYS):
        so_far = xl.SUM(ref(f"{left}:{c[key]}")) * (1 + name("Waste") / 100)
        month = ref(xl_rowcol_to_cell(HEAD, FIRST_MONTH + number, row_abs=True))
        steps.append((so_far > c.stock, month))
    return _present(c, first((xl.COUNT(c.need, c.stock) < 2, SEE), *steps, "after the plan"))


def _per_hl(c: Row) -> Formula:
    label, acid = _shelf(c, "label"), name("Plan_acid")
    batches = xl.COUNTIFS(acid, label)
    return _present(
        c,
        first(
            (batches == 0, "no sparge"),
            (
                any_of(
                    batches != xl.SUMIFS(name("Plan_complete"), acid, label),
                    _shelf(c, "price") == "",
                    xl.SUM(name("Plan_astray")) > 0,
                ),
                SEE,
            ),
            call(
                "COST_PER_HL",
                xl.SUMIFS(name("Plan_amount"), acid, label),
                _shelf(c, "pack"),
                _shelf(c, "price"),
                xl.SUMIFS(name("Plan_cold"), acid, label),
            ),
        ),
    )


def _per_equivalent(c: Row) -> Formula:
    facts = (_shelf(c, column) for column in ("pack", "price", "acid", "strength"))
    return _present(
        c,
        first(
            (_shelf(c, "price") == "", SEE),
            call("PRICE_PER_EQUIVALENT", *facts, c.target),
        ),
    )


def _remark(c: Row) -> Formula:
    unit = first((_shelf(c, "measure") == "g", " kg."), " L.")
    return _present(
        c,
        first(
            (
                xl.NOT(_dated(c)),
                "A batch with this acid has no date or no dose, or one has no acid: see the plan, and the acid "
                "in the mash.",
            ),
            (xl.NOT(is_number(name("Waste"))), "Type the share wasted: 0 if there is none."),
            *first_problem(c.need),
            (xl.NOT(is_number(c.need)), SILENT),
            (c.stock == SEE, "No stock given: type 0 on the sheet Settings if there is none."),
            *first_problem(c.packs),
            (_shelf(c, "price") == "", "No price given."),
            *first_problem(c.per_equivalent),
            (c.packs > 0, joined("Order ", c.packs, " of ", _shelf(c, "pack"), unit)),
            "Enough in stock.",
        ),
    )


NEED = Table(
    "Need",
    head=HEAD,
    rows=SHELF_ROWS,
    columns=[
        Shown("acid", "Acid", lambda c: _present(c, _shelf(c, "label")), look=("remark",)),
        Shown(
            "target",
            "Target pH for comparison",
            lambda c: _present(c, name("Default_target")),
            number="ph",
        ),
        *(
            Shown(
                key,
                f'=IF(First_month="","",EDATE(First_month,{number}))',
                _need_in(number),
                number="need",
                heading=("header", "month"),
            )
            for number, key in enumerate(MONTH_KEYS)
        ),
        Shown(
            "need",
            "With waste, mL (g)",
            lambda c: _present(
                c,
                first(
                    (
                        all_of(_dated(c), is_number(name("Waste"))),
                        call("ACID_NEEDED", c.span(MONTH_KEYS[0], MONTH_KEYS[-1]), name("Waste")),
                    ),
                    SEE,
                ),
            ),
            number="mg",
        ),
        Shown(
            "stock",
            "In stock, mL (g)",
            lambda c: _present(
                c, first((_shelf(c, "stock") == "", SEE), _shelf(c, "stock") * 1000)
            ),
            number="mg",
        ),
        Shown(
            "packs",
            "Packs to order",
            lambda c: _present(
                c,
                first(
                    (
                        xl.COUNT(c.need, c.stock) == 2,
                        call("PACKS_TO_BUY", c.need, c.stock, _shelf(c, "pack")),
                    ),
                    SEE,
                ),
            ),
            number="count",
        ),
        Shown(
            "order",
            '="Order, "&Currency',
            lambda c: _present(
                c,
                first(
                    (
                        all_of(is_number(c.packs), is_number(_shelf(c, "price"))),
                        c.packs * _shelf(c, "price"),
                    ),
                    SEE,
                ),
            ),
            number="money",
        ),
        Shown("lasts", "Stock lasts, batches", _lasts, number="count"),
        Shown("runs_out", "Runs out in", _runs_out, number="month"),
        Shown("per_hl", '="Cost, "&Currency&" per hL of sparge"', _per_hl, number="money"),
        Shown(
            "per_equivalent",
            '="Price, "&Currency&" per equivalent"',
            _per_equivalent,
            number="density",
        ),
        Shown("remark", "Remark", _remark, look=("remark",)),
    ],
)
FIRST, LAST = NEED.first, NEED.last


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(
        NAME, [24, 12] + [10] * MONTHS + [11, 11, 9, 11, 12, 13, 11, 11, 44, 3] + [10] * MONTHS
    )
    sheet.text(0, 0, "Purchasing", "title")
    sheet.across(
        1,
        0,
        LAST_COLUMN,
        "From the sheets Batch plan and Mash plan, the stock and the packs on the "
        "sheet Settings. Order before it runs out: acid travels as dangerous goods and takes its time. "
        "An equivalent is the acid that takes off 50 g of alkalinity as CaCO3.",
        "lead",
        height=28,
    )
    INPUTS.write(sheet)
    OVERVIEW.write(sheet)
    sheet.across(HEAD - 1, FIRST_MONTH, AFTER - 1, "Needed by month, mL (g of a powder)", "section")
    _month_names(sheet)
    NEED.write(sheet)
    for row in range(FIRST, LAST + 1):
        sheet.raw.set_row(row, 28)
    orders = NEED.all("order")
    named = count_where(name("Shelf_label") != "")
    sheet.text(LAST + 1, 0, "Order in all", "label")
    sheet.formula(
        LAST + 1,
        NEED.at["order"],
        first((xl.COUNT(orders) == named, xl.SUM(orders)), "a row has no order: see its remark"),
        "result",
        "right",
        "money",
    )
    _charts(book, sheet)
    sheet.finish(area=(0, 0, LAST + 23, LAST_COLUMN), freeze=(HEAD + 1, 1), tall=1)


def _month_names(sheet: Sheet) -> None:
    """Names of the months for the chart, to the right of the page."""
    sheet.across(
        HEAD - 1, WORKINGS, WORKINGS + MONTHS - 1, "Workings: months for the chart", "section"
    )
    for number in range(MONTHS):
        month, column = ref(xl_rowcol_to_cell(HEAD, FIRST_MONTH + number)), WORKINGS + number
        named = xl.CHOOSE(xl.MONTH(month), *MONTH_NAMES)
        words = first((month == "", ""), joined(named, " ", xl.YEAR(month)))
        sheet.formula(HEAD, column, words, "cell")
        sheet.raw.set_column(column, column, 10, sheet.book.style("text"), {"level": 1})


def _charts(book: Book, sheet: Sheet) -> None:
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
