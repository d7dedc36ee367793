"""Batch plan: one row a batch; dose, what is left of the alkalinity, whether calcium stays, cost, and a remark."""

from __future__ import annotations

from udfs.functions.solids import NO_LIMIT
from workbook_template.template import scenario
from workbook_template.template.anions import brings_none, brings_phosphate
from workbook_template.template.book import Book, Sheet
from workbook_template.template.formula import (
    Formula,
    Part,
    all_of,
    any_of,
    call,
    first,
    is_number,
    joined,
    name,
    number_or,
    shown,
    when,
    xl,
)
from workbook_template.template.layout import (
    NO_ACID,
    NO_WATER,
    SILENT,
    celsius,
    cost_of,
    filled,
    first_problem,
    liquid_strength,
    looked_up,
    row_of,
    shelf_row,
    unknown_acid,
)
from workbook_template.template.sheets.purchasing import unpriced
from workbook_template.template.sizes import Sizes
from workbook_template.template.table import Input, Row, Shown, Table, Working

NAME = "Batch plan"
TOTALS = 4
HEAD = 7
PROMPT = "octacalcium phosphate"
ABOVE = "is above the"
#: Points of every row: a remark of three lines of small type, since no program makes a row higher when a formula's answer gets longer.
REMARK_HEIGHT = 37
WARNING, NOTICE = "#F6D5CF", "#FBE8C4"


# What several columns of a row are made of.


def _used(c: Row) -> Formula:
    return c.used == 1


def _ready(c: Row) -> Formula:
    return all_of(c.used == 1, c.water_row > 0, c.shelf_row > 0)


def _ions(c: Row) -> Formula:
    return xl.INDEX(name("Water_ions"), c.water_row, 0)


def _of_water(column: str):
    return lambda c: when(_ready(c), looked_up(f"Water_{column}", c.water_row))


def _of_acid(column: str):
    return lambda c: when(_ready(c), looked_up(f"Shelf_{column}", c.shelf_row))


def _to_target(called: str, strength: str):
    """The dose of a function, for the acid at the strength in this column."""
    return lambda c: when(
        _ready(c),
        call(
            called,
            c.alk,
            c.ph,
            c.target_used,
            c.cold,
            c.acid_name,
            c[strength],
            _ions(c),
            c.temp,
            name("CO2_lost"),
        ),
    )


def _dosed(c: Row) -> tuple[Formula, ...]:
    """The dosed liquor, as the functions that follow a dose take it."""
    return c.alk, c.ph, c.volume_ml, c.cold, c.acid_name, c.liquid, _ions(c), c.temp


def _phosphate(c: Row) -> Formula:
    return all_of(_ready(c), brings_phosphate(c.acid_name), c.ca != "")


def _safe(c: Row, solid: str) -> Formula:
    return call(
        "CALCIUM_SAFE_PH",
        c.alk,
        c.ph,
        c.ca,
        c.cold,
        c.acid_name,
        c.strength,
        solid,
        c.temp,
        name("Tank_temp_C"),
        _ions(c),
    )


def _steps(c: Row) -> tuple[Formula, ...]:
    """The figures that a row has to have; a cost it may do without."""
    return c.cold, c.mass, c.amount, c.left, c.added


def _problem(c: Row) -> Formula:
    """The first thing that keeps a row from its figures, in words."""
    return first(
        (c.used == 0, ""),
        (c.water_row == 0, NO_WATER),
        (c.shelf_row == 0, NO_ACID),
        *first_problem(*_steps(c)),
        (
            unknown_acid(c.acid_name),
            "Choose the acid of this label from the list on the sheet Settings.",
        ),
        (xl.COUNT(*_steps(c)) < len(_steps(c)), SILENT),
        "",
    )


def _figure(key: str):
    return lambda c: when(_used(c), number_or(c[key], "see remark"))


def _of_calcium(c: Row, *cases: tuple[Part, Part] | Part) -> Formula:
    return when(_used(c), first((c.problem != "", "see remark"), (c.ca == "", "?"), *cases))


def _calcium_limit(c: Row) -> Formula:
    none = any_of(brings_none(c.acid_name), c.added == 0)
    unlimited = xl.IFERROR(c.limit & "", "") == NO_LIMIT
    return _of_calcium(
        c, (none, "no limit"), (is_number(c.limit), c.limit), (unlimited, "no limit"), "see remark"
    )


def _safe_ph(c: Row) -> Formula:
    return _of_calcium(
        c,
        (brings_none(c.acid_name), "no limit"),
        (is_number(c.prompt_ph), xl.ROUNDDOWN(c.prompt_ph, 2)),
        "see remark",
    )


def _calcium_state(c: Row) -> Formula:
    """What becomes of the calcium, in words."""
    target, slow, prompt = c.target_used, c.slow_ph, c.prompt_ph
    return first(
        (
            brings_none(c.acid_name),
            "No calcium phosphate can drop: this acid brings no phosphate.",
        ),
        (
            c.ca == "",
            "Give the five ions on the sheet Water to see whether calcium stays dissolved.",
        ),
        *first_problem(slow),
        (xl.COUNT(slow, prompt) < 2, SILENT),
        (target <= slow, "Calcium stays dissolved: below every limit."),
        (
            target <= prompt,
            "Calcium may drop slowly (above hydroxyapatite only), more so hot and at higher pH: dose "
            "shortly before use.",
        ),
        joined(
            "Expect calcium to drop in the hot tank: take the target to pH ",
            shown(xl.ROUNDDOWN(prompt, 2), 2),
            " or lower, or use an acid without phosphate.",
        ),
    )


def _remark(c: Row) -> Formula:
    target, usual = c.target_used, name("Usual_target")
    balance = looked_up("Water_balance", c.water_row)
    above = joined(" Target ", shown(target, 2), f" {ABOVE} ", shown(usual, 2), " of Settings.")
    preset = joined(" Target ", shown(target, 2), " is taken from Settings.")
    unbalanced = when(
        xl.ABS(balance) > name("Balance_remark"), " The water report does not balance: see Water."
    )
    little = " Little alkalinity is left: add the last of the acid in small steps."
    return first(
        (c.used == 0, ""),
        (c.problem != "", c.problem),
        joined(
            _calcium_state(c),
            when(xl.ROUND(target, 2) > usual, above),
            when(c.target == "", preset),
            when(is_number(balance), unbalanced),
            when(c.left < name("Alkalinity_low"), little),
            when(c.unpriced != "", joined(" No cost: ", xl.IFERROR(c.money & "", SILENT))),
        ),
    )


PLAN = Table(
    "Plan",
    head=HEAD,
    rows=Sizes().batches,
    columns=[
        Input("date", "Date", width=11, number="date", name="date"),
        Input("batch", "Batch", width=17, name="batch"),
        Input("water", "Water", width=18, name="water_name", choice="=Water_name"),
        Input(
            "volume",
            '="Volume, "&Volume_unit',
            width=9,
            number="share",
            name="volume",
            limits=(0, 1e7, "A volume"),
        ),
        Input(
            "read_at",
            '="Volume read at, "&Temperature_unit&" (empty: cold)"',
            width=11,
            number="share",
            name="read_at",
        ),
        Input("target", "Target pH", width=8, number="ph", limits=(2.5, 11, "A target pH")),
        Input("acid", "Acid", width=20, name="acid", choice="=Shelf_label"),
        Shown("litres", "Liquor, L at 20 °C", _figure("cold"), width=9, number="litres"),
        Shown(
            "ml",
            "Dose, mL",
            lambda c: when(
                _used(c),
                first((c.measure == "g", "weigh it"), number_or(c.volume_ml, "see remark")),
            ),
            width=9,
            number="ml",
        ),
        Shown("grams", "Dose, g", _figure("mass"), width=9, number="ml"),
        Shown(
            "alkalinity_left",
            "Alkalinity left, mg/L as CaCO3",
            _figure("left"),
            width=10,
            number="mg",
        ),
        Shown("anion", "Anion added, mg/L", _figure("added"), width=9, number="mg"),
        Shown("calcium", "Calcium, mg/L", lambda c: _of_calcium(c, c.ca), width=9, number="mg"),
        Shown(
            "calcium_limit",
            "Calcium limit in the hot tank, mg/L",
            _calcium_limit,
            width=10,
            number="limit",
        ),
        Shown("safe_ph", "Calcium drops promptly above pH", _safe_ph, width=10, number="ph"),
        Shown("cost", '="Cost, "&Currency', _figure("money"), width=9, number="money"),
        Shown("remark", "Remark", _remark, width=66, look=("remark", "small")),
        Working(
            "used",
            "Row in use",
            lambda c: xl.IF(filled(*c.cells_between("batch", "acid")), 1, 0),
            name="used",
        ),
        Working(
            "water_row",
            "Water no.",
            lambda c: xl.IF(_used(c), row_of(c.water, "Water_name"), 0),
            name="water_row",
        ),
        Working(
            "shelf_row",
            "Shelf no.",
            lambda c: xl.IF(_used(c), shelf_row(c.acid), 0),
            name="shelf_row",
        ),
        Working("acid_name", "Acid", _of_acid("acid")),
        Working("strength", "Strength, %", _of_acid("strength")),
        Working("measure", "Measured in", _of_acid("measure")),
        Working("alk", "Alkalinity", _of_water("alkalinity")),
        Working("ph", "Water's pH", _of_water("pH")),
        Working("temp", "pH read at, °C", _of_water("temp_C")),
        Working(
            "target_used",
            "Target",
            lambda c: when(_ready(c), first((c.target == "", name("Default_target")), c.target)),
            name="target",
        ),
        Working(
            "cold",
            "Liquor, L",
            lambda c: when(
                _used(c),
                call(
                    "COLD_LITRES",
                    call("LITRES", c.volume, name("Volume_unit")),
                    first((c.read_at == "", 20), celsius(c.read_at)),
                ),
            ),
            name="cold",
        ),
        Working("mass", "Dose, g", _to_target("ACID_DOSE_MASS", "strength")),
        Working(
            "liquid",
            "Strength for mL (powder: as 50 % solution)",
            lambda c: when(_ready(c), liquid_strength(c.measure, c.strength)),
        ),
        Working("volume_ml", "mL at that", _to_target("ACID_DOSE", "liquid"), name="volume_ml"),
        Working(
            "amount",
            "mL, or g of powder",
            lambda c: when(_ready(c), first((c.measure == "g", c.mass), c.volume_ml)),
            name="amount",
        ),
        Working(
            "left",
            "Alkalinity left",
            lambda c: when(_ready(c), call("ALKALINITY_AFTER_ACID", *_dosed(c), name("CO2_lost"))),
        ),
        Working(
            "added",
            "Anion",
            lambda c: when(
                _ready(c), call("ACID_ANION", c.volume_ml, c.cold, c.acid_name, c.liquid)
            ),
            name="added",
        ),
        Working(
            "hot_ph",
            "pH when hot",
            lambda c: when(_ready(c), call("PH_WHEN_HOT", *_dosed(c), name("Tank_temp_C"))),
        ),
        Working(
            "ca",
            "Calcium",
            lambda c: when(
                _ready(c),
                when(
                    looked_up("Water_ions_given", c.water_row) == 5,
                    looked_up("Water_calcium", c.water_row),
                ),
            ),
        ),
        Working(
            "slow_ph",
            "Safe pH, hydroxyapatite",
            lambda c: when(_phosphate(c), _safe(c, "hydroxyapatite")),
        ),
        Working(
            "prompt_ph",
            "Safe pH, octacalcium phosphate or brushite",
            lambda c: when(_phosphate(c), xl.MIN(_safe(c, PROMPT), _safe(c, "brushite"))),
        ),
        Working(
            "limit",
            "Calcium limit",
            lambda c: when(
                _phosphate(c),
                call(
                    "CALCIUM_SOLUBILITY", c.hot_ph, c.added, PROMPT, name("Tank_temp_C"), _ions(c)
                ),
            ),
        ),
        Working(
            "money",
            "Cost",
            lambda c: when(
                _ready(c),
                cost_of(c.amount, c.shelf_row),
            ),
            name="money",
        ),
        Working(
            "complete", "Complete", lambda c: xl.IF(is_number(c.amount), 1, 0), name="complete"
        ),
        Working("dated", "Dated", lambda c: xl.IF(is_number(c.date), 1, 0), name="dated"),
        Working("problem", "What is missing", _problem),
        Working(
            "astray",
            "Without an acid",
            lambda c: xl.IF(all_of(c.used == 1, c.shelf_row == 0), 1, 0),
            name="astray",
        ),
        Working(
            "unpriced",
            "Row without a cost",
            lambda c: first((any_of(c.used == 0, is_number(c.money)), ""), xl.ROW()),
            name="unpriced",
        ),
        Working("bad_row", "Row", lambda c: first((c.problem == "", ""), xl.ROW()), name="bad_row"),
    ],
)
FIRST, LAST = PLAN.first, PLAN.last
COLUMN = PLAN.at


def write(book: Book) -> None:
    """Write the sheet."""
    plan = PLAN.sized(book.sizes.batches)
    sheet = book.sheet(NAME, plan.widths)
    sheet.text(0, 0, "Batch plan", "title")
    sheet.across(
        1,
        0,
        plan.page_end,
        "Fill in the yellow cells of a row from left to right. pH is that of a cooled sample. Give half to two "
        "thirds of the dose, mix, read the meter, then the rest.",
        "lead",
    )
    sheet.cautions(2, plan.page_end)
    sheet.name_range("Any_cautions", (2, 0))
    _totals(sheet, plan)
    sheet.across(HEAD - 1, plan.gap + 1, plan.end, "Workings: one step a column", "section")
    plan.write(sheet, scenario.BATCHES, height=72)
    for row in range(plan.first, plan.last + 1):
        sheet.raw.set_row(row, REMARK_HEIGHT)
    for words, colour in (
        ("Expect calcium", WARNING),
        ("Calcium may drop", NOTICE),
        ("Check ", WARNING),
        ("Choose", WARNING),
        (SILENT[:13], WARNING),
    ):
        plan.coloured(sheet, "remark", "begins with", words, colour)
    plan.coloured(sheet, "remark", "containing", ABOVE, NOTICE)
    sheet.finish(area=(0, 0, plan.last, plan.page_end), repeat=HEAD, freeze=(HEAD + 1, 2))


def _totals(sheet: Sheet, plan: Table) -> None:
    """Totals above the table, which name the first row without a figure instead of leaving it out."""
    used = xl.SUM(plan.named("used"))

    def total(key: str, without: str, *why: tuple[Formula, Formula]) -> Formula:
        cells = plan.all(key)
        bad = joined("row ", xl.MIN(plan.named(without)), ": see remark")
        return first((xl.COUNT(cells) == used, xl.SUM(cells)), *why, bad)

    for column, title, formula, number in (
        (1, "Batches", used, "count"),
        (2, "Liquor, L at 20 °C", total("cold", "bad_row"), "litres"),
        (6, '="Acid, "&Currency', total("money", "unpriced", unpriced()), "money"),
    ):
        sheet.headers(TOTALS, column, [title], height=None)
        sheet.formula(TOTALS + 1, column, formula, "result", number, "centre")
    sheet.name_range("Plan_cost_total", (TOTALS + 1, 6))
    sheet.text(TOTALS + 1, 0, "Total", "label")
