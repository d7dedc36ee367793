"""Purchasing: what plan and mashes need by month, what to order by when, what the acids cost by
what they do.
"""

from __future__ import annotations

from collections.abc import Callable

from xlsxwriter.utility import xl_rowcol_to_cell

from workbook_template.template.book import Book, Sheet
from workbook_template.template.charts import columns
from workbook_template.template.form import Answer, Form, Typed
from workbook_template.template.formula import (
    Formula,
    Part,
    all_of,
    any_of,
    call,
    count_where,
    first,
    is_number,
    joined,
    name,
    part,
    ref,
    when,
    xl,
)
from workbook_template.template.layout import SILENT, astray, first_problem, looked_up
from workbook_template.template.sizes import Sizes
from workbook_template.template.table import Row, Shown, Table, Working

NAME = "Purchasing"
#: Months that stand one by one; what the plan needs after them stands in one row more.
MONTHS = 24
COLOURS = (
    "#2F4A3C",
    "#8A6D1D",
    "#5C8374",
    "#C9A84C",
    "#9DB5A8",
    "#E3D3A2",
    "#1F6F8B",
    "#B3261E",
)
HEAD = 7
SEE = "see remark"
AFTER_PLAN = "after the plan"
#: More than the number of any day: a shelf number times this and a day make one number of both.
DAYS = 10_000_000

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
        Typed(
            "Days an order takes",
            14,
            name="Order_days",
            number="count",
            limits=(0, 365, "The days that an order takes"),
        ),
    ],
)


def unpriced() -> tuple[Formula, Formula]:
    """A case of :func:`first`: the acids that are taken and have no price make a total short, and
    are named in it.
    """
    acids = name("Unpriced_acids")
    return acids != "", joined("no price: ", acids)


def _no_cost() -> list[tuple[Formula, Formula | str]]:
    """What keeps the plan and the mashes from a cost, in words."""
    priced, used = xl.COUNT(name("Plan_money")), xl.SUM(name("Plan_used"))
    unpriced_mash = xl.COUNT(name("Mashes_money")) < count_where(name("Mashes_acid") != "")
    return [
        unpriced(),
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
    span=2,
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


def _rows(c: Row, column: str) -> Formula:
    """Over the rows of plan and mash plan that take this acid: the sum of a column."""
    acid = ref(str(c.number))
    return xl.SUMIFS(name(f"Plan_{column}"), name("Plan_shelf_row"), acid) + xl.SUMIFS(
        name(f"Mashes_{column}"), name("Mashes_shelf_row"), acid
    )


def _sound(c: Row) -> Formula:
    """Whether every batch with this acid has its date and its dose, in the sparge and in the
    mash.
    """
    return all_of(c.taken == _rows(c, "dated"), c.taken == _rows(c, "complete"), astray() == 0)


def _lasts(c: Row) -> Formula:
    once = xl.SUMIFS(name("Mashes_in_both"), name("Mashes_shelf_row"), c.number)
    return _present(
        c,
        first(
            (c.taken == 0, "not planned"),
            (
                xl.COUNT(c.need, c.stock) == 2,
                call("BATCHES_LEFT", c.stock, c.need / (c.taken - once)),
            ),
            SEE,
        ),
    )


def _short(needed: Formula, stock: Formula) -> Formula:
    """Whether the stock falls short, by more than what the rounding of sums in another order makes,
    mL (g).
    """
    return xl.ROUND(needed - stock, 6) > 0


def _key(c: Row) -> Formula:
    """Shelf number and day of the first batch that the stock does not reach for, as one number."""
    keys = name("Drawn_keys")
    below = xl.COUNTIF(keys, joined("<", c.number * DAYS))
    return _present(c, xl.IF(below < xl.COUNT(keys), xl.SMALL(keys, below + 1), 0))


def _runs_out(c: Row) -> Formula:
    """The day of the first batch whose need, with that of all before it, is more than the stock."""
    mine = all_of(c.key >= c.number * DAYS, c.key < (c.number + 1) * DAYS)
    return _present(
        c,
        first(
            (xl.COUNT(c.need, c.stock) < 2, SEE),
            (xl.NOT(_short(c.need, c.stock)), AFTER_PLAN),
            (mine, c.key - c.number * DAYS),
            SEE,
        ),
    )


def _order_by(c: Row) -> Formula:
    days = name("Order_days")
    return _present(
        c,
        first(
            (xl.NOT(is_number(c.runs_out)), c.runs_out),
            (is_number(days), c.runs_out - days),
            "type the days an order takes",
        ),
    )


def _per_hl(c: Row) -> Formula:
    label, acid = ref(str(c.number)), name("Plan_shelf_row")
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


def _per_unit(c: Row) -> Formula:
    hl = call("LITRES", 1, name("Volume_unit")) / 100
    return first((is_number(c.per_hl), c.per_hl * hl), c.per_hl)


def _per_equivalent(c: Row) -> Formula:
    facts = (_shelf(c, column) for column in ("pack", "price", "acid", "strength"))
    return _present(
        c,
        first(
            (_shelf(c, "price") == "", SEE),
            call("PRICE_PER_EQUIVALENT", *facts, c.target),
        ),
    )


def _order(c: Row) -> Formula:
    return _present(
        c,
        first(
            (xl.NOT(is_number(c.packs)), SEE),
            (c.packs == 0, 0),
            (is_number(_shelf(c, "price")), c.packs * _shelf(c, "price")),
            SEE,
        ),
    )


def _day(date: Formula) -> Formula:
    """A day in words."""
    month, day = (xl.RIGHT(joined("0", part), 2) for part in (xl.MONTH(date), xl.DAY(date)))
    return joined(xl.YEAR(date), "-", month, "-", day)


def _remark(c: Row) -> Formula:
    order = joined(
        "Order ",
        c.packs,
        " of ",
        _shelf(c, "pack_said"),
        first((is_number(c.order_by), joined(" by ", _day(c.order_by))), ""),
        ".",
    )
    return _present(
        c,
        first(
            (
                xl.NOT(c.sound),
                (
                    "A batch with this acid has no date or no dose, or one has no acid: see the"
                    " remarks of the sheets Batch plan, Mash plan and Grists."
                ),
            ),
            (xl.NOT(is_number(name("Waste"))), "Type the share wasted: 0 if there is none."),
            *first_problem(c.need),
            (xl.NOT(is_number(c.need)), SILENT),
            (c.stock == SEE, "No stock given: type 0 on the sheet Settings if there is none."),
            *first_problem(c.packs),
            joined(
                first((c.packs > 0, order), "Enough for the plan."),
                first(
                    (_shelf(c, "price") == "", " No price given."),
                    (xl.ISTEXT(c.per_equivalent), joined(" ", c.per_equivalent)),
                    "",
                ),
            ),
        ),
    )


def _so_far(c: Row) -> Formula:
    """The labels of the acids without a price, from the first row to this one."""
    above = ref(xl_rowcol_to_cell(c.row - 1, c.table.at["so_far"]))
    before = part("") if c.number == 1 else above
    lacking = all_of(
        _shelf(c, "label") != "",
        c.taken > 0,
        any_of(_shelf(c, "price") == "", _shelf(c, "pack") == ""),
    )
    comma = first((before == "", ""), ", ")
    return xl.IF(lacking, joined(before, comma, _shelf(c, "label")), before)


def _of_month(number: int) -> Callable[[Row], Formula]:
    """What a month needs of the acid with this number."""

    def formula(c: Row) -> Formula:
        label = looked_up("Shelf_label", ref(str(number)))

        def within(prefix: str) -> tuple[Part, ...]:
            date, begin = name(f"{prefix}_date"), c.begin
            bounds: tuple[Formula, ...] = (date, joined(">=", begin))
            if c.number <= MONTHS:
                bounds += (date, joined("<", xl.EDATE(begin, 1)))
            return (name(f"{prefix}_shelf_row"), number, *bounds)

        planned, mashed = within("Plan"), within("Mashes")

        def both(column: str) -> Formula:
            return xl.SUMIFS(name(f"Plan_{column}"), *planned) + xl.SUMIFS(
                name(f"Mashes_{column}"), *mashed
            )

        batches = xl.COUNTIFS(*planned) + xl.COUNTIFS(*mashed)
        return when(
            label != "",
            first(
                (xl.NOT(looked_up("Need_sound", ref(str(number)))), SEE),
                (c.begin == "", 0),
                (batches != both("complete"), SEE),
                both("amount"),
            ),
        )

    return formula


def _month(c: Row) -> Formula:
    later = joined("after ", MONTHS, " months")
    return when(c.begin != "", c.begin if c.number <= MONTHS else later)


def _drawn(prefix: str) -> Callable[[Row], Formula]:
    """Shelf number and day of a batch of the plan, or of a mash, at which the stock falls short;
    empty where it reaches.
    """

    def formula(c: Row) -> Formula:
        row = ref(str(c.number))
        acid, day = (looked_up(f"{prefix}_{column}", row) for column in ("shelf_row", "date"))
        stock = looked_up("Need_stock", acid)

        def drawn(of: str) -> Formula:
            before = name(f"{of}_date"), joined("<=", day)
            return xl.SUMIFS(name(f"{of}_amount"), name(f"{of}_shelf_row"), acid, *before)

        so_far = (drawn("Plan") + drawn("Mashes")) * (1 + name("Waste") / 100)
        known = all_of(looked_up(f"{prefix}_complete", row) == 1, is_number(day))
        return when(
            known,
            when(
                xl.COUNT(stock, name("Waste")) == 2,
                when(_short(so_far, stock), acid * DAYS + day),
            ),
        )

    return formula


def need(sizes: Sizes) -> Table:
    """What is needed and ordered, a row an acid of the shelf."""
    by_month = months(sizes)
    return Table(
        "Need",
        head=HEAD,
        rows=sizes.acids,
        columns=[
            Shown("acid", "Acid", lambda c: _present(c, _shelf(c, "label")), look=("remark",)),
            Shown(
                "target",
                "Target pH for comparison",
                lambda c: _present(c, name("Default_target")),
                number="ph",
            ),
            Shown(
                "need",
                "Needed with waste, mL (g)",
                lambda c: _present(
                    c,
                    first(
                        (
                            all_of(c.sound, is_number(name("Waste"))),
                            call("ACID_NEEDED", by_month.all(f"acid{c.number}"), name("Waste")),
                        ),
                        SEE,
                    ),
                ),
                number="mg",
                name="need",
            ),
            Shown(
                "stock",
                "In stock, mL (g)",
                lambda c: _present(
                    c, first((_shelf(c, "stock") == "", SEE), _shelf(c, "stock") * 1000)
                ),
                number="mg",
                name="stock",
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
                name="packs",
            ),
            Shown("order", '="Order, "&Currency', _order, number="money"),
            Shown("runs_out", "Stock runs out on", _runs_out, number="date"),
            Shown("order_by", "Order by", _order_by, number="date"),
            Shown("lasts", "Stock lasts, batches", _lasts, number="count"),
            Shown(
                "per_unit",
                '="Cost, "&Currency&" per "&Volume_unit&" of sparge"',
                _per_unit,
                number="money",
            ),
            Shown(
                "per_equivalent",
                '="Price, "&Currency&" per equivalent"',
                _per_equivalent,
                number="density",
            ),
            Shown("remark", "Remark", _remark, name="remark", look=("remark",)),
            Working(
                "taken",
                "Batches and mashes",
                lambda c: _present(
                    c,
                    xl.COUNTIFS(name("Plan_shelf_row"), c.number)
                    + xl.COUNTIFS(name("Mashes_shelf_row"), c.number),
                ),
            ),
            Working("per_hl", "Cost per hL, or why not", _per_hl, width=14),
            Working("sound", "All dated and dosed", _sound, name="sound"),
            Working("key", "Shelf number and day", _key, width=14),
            Working("so_far", "Without a price", _so_far, width=24),
        ],
    )


def months(sizes: Sizes) -> Table:
    """What is needed by month, a row a month and one for the rest, a column an acid."""
    return Table(
        "Months",
        head=HEAD + sizes.acids + 5,
        rows=MONTHS + 1,
        workings=max(sizes.acids + 2, 13),
        columns=[
            Shown("month", "Month", _month, number="month", look=("result", "right")),
            *(
                Shown(
                    f"acid{number}",
                    f'=IF(INDEX(Shelf_label,{number})="","–",INDEX(Shelf_label,{number})&"")',
                    _of_month(number),
                    number="need",
                )
                for number in range(1, sizes.acids + 1)
            ),
            Working(
                "begin",
                "Begins on",
                lambda c: first(
                    (name("First_month") == "", ""), xl.EDATE(name("First_month"), c.number - 1)
                ),
                number="date",
            ),
        ],
    )


def drawn(sizes: Sizes) -> Table:
    """Beside the page, a row for each row of plan and mash plan: where the stock falls short."""
    return Table(
        "Drawn",
        head=HEAD,
        rows=sizes.batches,
        left=max(sizes.acids + 4, 19),
        columns=[
            Working("sparge", "Sparge: short at", _drawn("Plan"), width=14),
            Working("mash", "Mash: short at", _drawn("Mashes"), width=14),
        ],
    )


NEED = need(Sizes())
FIRST, LAST = NEED.first, NEED.last


def write(book: Book) -> None:
    """Write the sheet."""
    needs, by_month, draws = need(book.sizes), months(book.sizes), drawn(book.sizes)
    sheet = book.sheet(NAME, [24, 13, 13, 12, 11, 12, 13, 13, 11, 11, 11, 52, 3])
    sheet.text(0, 0, "Purchasing", "title")
    sheet.across(
        1,
        0,
        needs.page_end,
        "From the sheets Batch plan and Mash plan, the stock and the packs on the sheet Settings."
        " Order before it runs out: acid travels as dangerous goods and takes its time. An"
        " equivalent is the acid that takes off 50 g of alkalinity as CaCO3.",
        "lead",
        height=28,
    )
    INPUTS.write(sheet)
    OVERVIEW.write(sheet)
    sheet.across(HEAD - 1, needs.gap + 1, needs.end, "Workings", "section")
    sheet.across(HEAD - 1, draws.gap + 1, draws.end, "Workings: by row of the plans", "section")
    needs.write(sheet)
    draws.write(sheet)
    sheet.name_range(
        "Drawn_keys", (draws.first, draws.at["sparge"]), (draws.last, draws.at["mash"])
    )
    sheet.name_range("Unpriced_acids", (needs.last, needs.at["so_far"]))
    for row in range(needs.first, needs.last + 1):
        sheet.raw.set_row(row, 28)
    _order_in_all(sheet, needs)
    top = by_month.head - 1
    sheet.across(top, 0, by_month.page_end, "Needed by month, mL (g of a powder)", "section")
    by_month.write(sheet, height=32)
    column = max(by_month.page_end + 1, 9)
    _charts(book, sheet, needs, by_month, column)
    last = max(column + 3, needs.page_end)
    sheet.finish(area=(0, 0, by_month.last + 6, last), freeze=(HEAD + 1, 1), tall=1)


def _order_in_all(sheet: Sheet, needs: Table) -> None:
    orders = needs.all("order")
    named = count_where(name("Shelf_label") != "")
    whole = first(
        (xl.COUNT(orders) == named, xl.SUM(orders)),
        unpriced(),
        "a row has no order: see its remark",
    )
    sheet.text(needs.last + 1, 0, "Order in all", "label")
    sheet.formula(needs.last + 1, needs.at["order"], whole, "result", "right", "money")
    sheet.name_range("Order_in_all", (needs.last + 1, needs.at["order"]))


def _charts(book: Book, sheet: Sheet, needs: Table, by_month: Table, column: int) -> None:
    rows = by_month.first, by_month.last
    chart = columns(book, "Acid needed by month", "Month", "mL (g of a powder)")
    for number, colour in zip(range(1, book.sizes.acids + 1), COLOURS, strict=False):
        at = by_month.at[f"acid{number}"]
        chart.add_series(
            {
                "name": [NAME, by_month.head, at],
                "categories": [NAME, rows[0], 0, rows[1], 0],
                "values": [NAME, rows[0], at, rows[1], at],
                "fill": {"color": colour},
                "gap": 60,
            }
        )
    look = {"x_scale": 1.15, "y_scale": 1.1, "object_position": 2}
    sheet.raw.insert_chart(by_month.head, column, chart, look)
    at = needs.at["per_equivalent"]
    title = xl_rowcol_to_cell(HEAD, at, True, True)
    price = columns(
        book,
        "Price of one equivalent of acid at the target",
        "Acid on the shelf",
        f"='{NAME}'!{title}",
    )
    price.add_series(
        {
            "name": [NAME, HEAD, at],
            "categories": [NAME, needs.first, 0, needs.last, 0],
            "values": [NAME, needs.first, at, needs.last, at],
            "fill": {"color": COLOURS[0]},
            "gap": 60,
        }
    )
    price.set_legend({"none": True})
    sheet.raw.insert_chart(by_month.head + 15, column, price, look)
