"""Batch plan: one row a batch; dose, what is left of the alkalinity, whether calcium stays, cost,
and a remark.
"""

from __future__ import annotations

from udfs.functions.solids import NO_LIMIT
from workbook_template.template import calcium_words, scenario
from workbook_template.template.anions import brings_phosphate
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
    dose_end,
    filled,
    first_problem,
    liquid_strength,
    looked_up,
    of_acid,
    rows_of,
    shelf_row,
    stated,
    unknown_acid,
    water_ions,
    water_row,
)
from workbook_template.template.sheets.purchasing import unpriced
from workbook_template.template.sizes import Sizes
from workbook_template.template.table import Input, Row, Shown, Table, Working

NAME = "Batch plan"
TOTALS = 3
HEAD = 6
PROMPT = "octacalcium phosphate"
ABOVE = "is above the"
#: Points of every row: a remark of two lines of the smallest type, since no program makes a row
#: higher when a formula's answer gets longer, and fifteen batches are to be seen at once.
REMARK_HEIGHT = 20.25
_TINY = ("remark", "tiny")
#: A volume above and below these shares of the tank's is asked about.
LARGE, SMALL = 1.2, 0.1
#: A climb of the reading that a meter shows beyond its own error.
CLIMB = 0.1
WARNING, NOTICE = "#F6D5CF", "#FBE8C4"


# What several columns of a row are made of.


def _used(c: Row) -> Formula:
    return c.used == 1


def _ready(c: Row) -> Formula:
    return all_of(c.used == 1, c.water_row > 0, c.shelf_row > 0)


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
            water_ions(c.water_row),
            c.temp,
            name("CO2_lost"),
        ),
    )


def _end(called: str):
    """An end of the dose's interval in mL."""
    return lambda c: when(
        _ready(c),
        dose_end(
            called,
            (c.alk, c.ph, c.target_used, c.cold, c.acid_name, c.liquid),
            water_ions(c.water_row),
            c.temp,
        ),
    )


def _shown_end(key: str, outer):
    """An end of the interval in what the acid is measured in; the dose itself always lies
    within.
    """
    return lambda c: when(
        _used(c),
        first(
            (
                xl.COUNT(c[key], c.volume_ml, c.amount) == 3,
                outer(c[key], c.volume_ml) * c.amount / c.volume_ml,
            ),
            "see remark",
        ),
    )


def _dosed(c: Row) -> tuple[Formula, ...]:
    """The dosed liquor, as the functions that follow a dose take it."""
    return c.alk, c.ph, c.volume_ml, c.cold, c.acid_name, c.liquid, water_ions(c.water_row), c.temp


def _reading(share: Part):
    """What a cooled sample reads once this share of the gas has left."""
    return lambda c: when(_ready(c), call("PH_AFTER_ACID", *_dosed(c), share))


def _state(share: Part):
    """The state of the calcium in the hot tank once this share of the gas has left, in words."""
    return lambda c: when(
        _phosphate(c),
        call(
            "CALCIUM_STATE",
            c.alk,
            c.ph,
            c.ca,
            c.volume_ml,
            c.cold,
            c.acid_name,
            c.liquid,
            c.temp,
            name("Tank_temp_C"),
            water_ions(c.water_row),
            share,
        ),
    )


def _level(key: str):
    return lambda c: when(_phosphate(c), calcium_words.level(c[key]))


def _own_anion(c: Row) -> Formula:
    """What the water itself has of the acid's anion, mg/L; 0 where a report does not list that
    anion.
    """
    place = of_acid("place", c.acid_name)
    return xl.IF(place > 0, xl.N(xl.INDEX(name("Water_ions"), c.water_row, xl.MAX(place, 1))), 0)


def _phosphate(c: Row) -> Formula:
    return all_of(_ready(c), c.phosphate == 1, c.ca != "")


def _safe(called: str):
    """The pH up to which neither solid that forms promptly can form."""

    def of(c: Row, solid: str) -> Formula:
        return call(
            called,
            c.alk,
            c.ph,
            c.ca,
            c.cold,
            c.acid_name,
            c.strength,
            solid,
            c.temp,
            name("Tank_temp_C"),
            water_ions(c.water_row),
        )

    return lambda c: when(_phosphate(c), xl.MIN(of(c, PROMPT), of(c, "brushite")))


def _steps(c: Row) -> tuple[Formula, ...]:
    """The figures that a row has to have; a cost it may do without."""
    return c.cold, c.mass, c.amount, c.left, c.added, c.mixed_ph, c.open_ph, c.low_ml, c.high_ml


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
    none = any_of(c.phosphate == 0, c.added == 0)
    unlimited = xl.IFERROR(c.limit & "", "") == NO_LIMIT
    return _of_calcium(
        c, (none, "no limit"), (is_number(c.limit), c.limit), (unlimited, "no limit"), "see remark"
    )


def _safe_ph(c: Row) -> Formula:
    return _of_calcium(
        c,
        (c.phosphate == 0, "no limit"),
        (
            xl.COUNT(c.prompt_ph, c.prompt_low, c.prompt_high) == 3,
            calcium_words.with_range(c.prompt_ph, c.prompt_low, c.prompt_high),
        ),
        "see remark",
    )


def _calcium_in_short(c: Row) -> Formula:
    return _of_calcium(
        c,
        (c.phosphate == 0, "no phosphate"),
        (
            all_of(
                xl.COUNT(c.mixed_level, c.open_level) == 2, c.mixed_level >= 0, c.open_level >= 0
            ),
            calcium_words.short(c.mixed_level, c.open_level),
        ),
        "see remark",
    )


def _calcium_state(c: Row) -> Formula:
    """What becomes of the calcium, in words."""
    known = all_of(
        xl.COUNT(c.mixed_level, c.open_level, c.prompt_ph, c.prompt_low, c.prompt_high) == 5,
        c.mixed_level >= 0,
        c.open_level >= 0,
    )
    safe = calcium_words.with_range(c.prompt_ph, c.prompt_low, c.prompt_high)
    return first(
        (c.phosphate == 0, "No calcium phosphate can drop: this acid brings no phosphate."),
        (
            c.ca == "",
            "Give the five ions on the sheet Water to see whether calcium stays dissolved.",
        ),
        *first_problem(c.prompt_ph, c.prompt_low, c.prompt_high),
        (xl.NOT(known), first(*first_problem_but_a_state(c), SILENT)),
        joined(
            "Calcium is ",
            c.mixed_state,
            ".",
            when(
                c.open_level >= calcium_words.DROPS,
                joined(
                    when(c.mixed_level < calcium_words.DROPS, " As gas leaves it can drop too."),
                    " It stays up to about pH ",
                    safe,
                    " or with an acid without phosphate.",
                ),
            ),
        ),
    )


def first_problem_but_a_state(c: Row) -> list[tuple[Formula, Formula]]:
    """Cases of :func:`first` for what CALCIUM_STATE says instead of a state."""
    return [
        (all_of(xl.ISTEXT(said), level < 0), said)
        for said, level in ((c.mixed_state, c.mixed_level), (c.open_state, c.open_level))
    ]


def _gas(c: Row) -> Formula:
    """What the meter does while the pump runs, where it shows."""
    return when(
        c.open_ph - c.mixed_ph >= CLIMB,
        joined(
            " Reads ",
            shown(c.mixed_ph, 2),
            " once mixed, up to ",
            shown(c.open_ph, 2),
            " as gas leaves: read again before more acid.",
        ),
    )


def _questions(c: Row) -> Formula:
    """What may have been typed wrong, as a question that names the cell; it keeps nothing from its
    figure.
    """
    tank = name("Tank_volume")
    far = any_of(c.volume > LARGE * tank, c.volume < SMALL * tank)
    other_unit = all_of(
        name("Temperature_unit") == "°F",
        is_number(c.read_at),
        xl.ABS(c.read_at - celsius(name("Tank_temp"))) < 12,
    )
    return joined(
        when(
            rows_of(c.batch, "Plan_batch") > 1,
            joined(
                "Batch ",
                c.address("batch"),
                ": this name stands twice; is it one batch in two rows? Other sheets find the first"
                " only. ",
            ),
        ),
        when(
            all_of(is_number(c.volume), is_number(tank), tank > 0, far),
            joined(
                "Volume ",
                c.address("volume"),
                ": ",
                shown(c.volume, 1),
                " beside a tank of ",
                shown(tank, 1),
                " ",
                name("Volume_unit"),
                "; is it in that unit? ",
            ),
        ),
        when(other_unit, joined("Temperature ", c.address("read_at"), ": is it in °C? ")),
        name("Tank_temp_question"),
    )


def _taste(c: Row) -> Formula:
    """Whether the anion of the dose, with what the water has of it, is at a level that is
    tasted.
    """
    return when(
        is_number(c.tasted_from),
        when(
            c.tasted > c.tasted_from,
            joined(
                " ",
                c.anion_name,
                " ",
                shown(c.tasted, 0),
                " mg/L: tasted from about ",
                shown(c.tasted_from, 0),
                " (Settings).",
            ),
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
            c.questions,
            _calcium_state(c),
            _gas(c),
            when(xl.ROUND(target, 2) > usual, above),
            when(c.target == "", preset),
            _taste(c),
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
        Input("date", "Date", width=10, number="date", name="date"),
        Input("batch", "Batch", width=14, name="batch"),
        Input("water", "Water", width=17, name="water_name", choice="=Water_name"),
        Input(
            "volume",
            '="Volume, "&Volume_unit',
            width=7.5,
            number="share",
            name="volume",
            limits=(0, 1e7, "A volume"),
        ),
        Input(
            "read_at",
            '="Read hot at, "&Temperature_unit',
            width=8,
            number="share",
            name="read_at",
        ),
        Input("target", "Target pH", width=6.5, number="ph", limits=(2.5, 11, "A target pH")),
        Input("acid", "Acid", width=18, name="acid", choice="=Shelf_label"),
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
        Shown("low", "95 %: from, mL (g)", _shown_end("low_ml", xl.MIN), width=8, number="ml"),
        Shown("high", "to, mL (g)", _shown_end("high_ml", xl.MAX), width=8, number="ml"),
        Shown("state", "Calcium in the hot tank", _calcium_in_short, width=18, look=_TINY),
        Shown("remark", "Remark", _remark, width=100, look=_TINY),
        Shown("litres", "Liquor, L at 20 °C", _figure("cold"), width=8, number="litres"),
        Shown("mixed", "pH right after mixing", _figure("mixed_ph"), width=8, number="ph"),
        Shown("climbs", "can climb to pH", _figure("open_ph"), width=8, number="ph"),
        Shown(
            "alkalinity_left",
            "Alkalinity left, mg/L as CaCO3",
            _figure("left"),
            width=10,
            number="mg",
        ),
        Shown("anion", "Anion added, mg/L", _figure("added"), width=8, number="mg"),
        Shown("calcium", "Calcium, mg/L", lambda c: _of_calcium(c, c.ca), width=8, number="mg"),
        Shown(
            "calcium_limit",
            "Calcium limit, mg/L",
            _calcium_limit,
            width=9,
            number="limit",
        ),
        Shown("safe_ph", "Calcium stays up to pH", _safe_ph, width=14, look=("result", "centre")),
        Shown("cost", '="Cost, "&Currency', _figure("money"), width=9, number="money"),
        Working(
            "used",
            "Row in use",
            lambda c: xl.IF(filled(*c.cells_between("batch", "acid")), 1, 0),
            name="used",
        ),
        Working(
            "water_row",
            "Water no.",
            lambda c: xl.IF(_used(c), water_row(c.water, c.date), 0),
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
                    call("LITRES", stated("amount", c.volume), name("Volume_unit")),
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
        Working("low_ml", "from", _end("ACID_DOSE_LOW"), name="low_ml"),
        Working("high_ml", "to", _end("ACID_DOSE_HIGH"), name="high_ml"),
        Working(
            "amount",
            "mL, or g of powder",
            lambda c: when(_ready(c), first((c.measure == "g", c.mass), c.volume_ml)),
            name="amount",
        ),
        Working("mixed_ph", "pH, no gas lost", _reading(0), name="mixed_pH"),
        Working("open_ph", "pH, most gas lost", _reading(name("CO2_lost_to")), name="open_pH"),
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
            "phosphate",
            "Acid brings phosphate",
            lambda c: when(_ready(c), xl.IF(brings_phosphate(c.acid_name), 1, 0)),
        ),
        Working(
            "anion_name",
            "Name of the anion",
            lambda c: when(_ready(c), xl.IFERROR(of_acid("anion", c.acid_name), "")),
        ),
        Working(
            "tasted_from",
            "Anion tasted from, mg/L",
            lambda c: when(_ready(c), xl.IFERROR(of_acid("tasted_from", c.acid_name), "")),
        ),
        Working(
            "tasted",
            "Anion in all, mg/L",
            lambda c: when(is_number(c.tasted_from), c.added + _own_anion(c)),
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
        Working("mixed_state", "Calcium, no gas lost", _state(0), name="mixed_state"),
        Working(
            "open_state", "Calcium, most gas lost", _state(name("CO2_lost_to")), name="open_state"
        ),
        Working("mixed_level", "State, no gas lost", _level("mixed_state")),
        Working("open_level", "State, most gas lost", _level("open_state")),
        Working("prompt_ph", "Safe pH", _safe("CALCIUM_SAFE_PH")),
        Working("prompt_low", "Safe pH, low", _safe("CALCIUM_SAFE_PH_LOW")),
        Working("prompt_high", "Safe pH, high", _safe("CALCIUM_SAFE_PH_HIGH")),
        Working(
            "limit",
            "Calcium limit",
            lambda c: when(
                _phosphate(c),
                call(
                    "CALCIUM_SOLUBILITY",
                    c.hot_ph,
                    c.added,
                    PROMPT,
                    name("Tank_temp_C"),
                    water_ions(c.water_row),
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
        Working("questions", "What is asked", lambda c: when(_used(c), _questions(c))),
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
    shown = plan.at["state"]  # as far as a screen shows
    sheet.across(
        1,
        0,
        shown,
        "Fill in the yellow cells from left to right. pH is that of a cooled sample. Give half to"
        " two thirds of the dose, mix, read, then the rest. A reading that climbs while the pump"
        " runs is gas leaving: read again before more acid; dose nearer to use, keep the lid on, or"
        " dose for the share your tank loses (Settings).",
        "lead",
        height=27,
    )
    sheet.cautions(2, shown)
    sheet.name_range("Any_cautions", (2, 0))
    _totals(sheet, plan)
    sheet.across(HEAD - 1, plan.gap + 1, plan.end, "Workings: one step a column", "section")
    plan.write(sheet, scenario.BATCHES, height=40)
    plan.ends(sheet, "batches")
    for row in range(plan.first, plan.last + 1):
        sheet.raw.set_row(row, REMARK_HEIGHT)
    for key, criteria, words, colour in (
        *(
            ("state", "begins with", words, WARNING)
            for words in calcium_words.SHORT[calcium_words.DROPS :]
        ),
        ("state", "containing", "gas lost", NOTICE),
        *(("remark", "begins with", words, WARNING) for words in ("Check ", "Choose", SILENT[:13])),
        ("remark", "containing", "is it ", NOTICE),
        ("remark", "containing", ABOVE, NOTICE),
    ):
        plan.coloured(sheet, key, criteria, words, colour)
    sheet.finish(
        area=(0, 0, plan.last, plan.page_end),
        repeat=HEAD,
        freeze=(HEAD + 1, 2),
        tall=book.sizes.pages,
    )


def _totals(sheet: Sheet, plan: Table) -> None:
    """Totals above the table, which name the first row without a figure instead of leaving it
    out.
    """
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
