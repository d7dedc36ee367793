"""Acid choice: every acid on the shelf for one batch, side by side, and the two charts."""

from __future__ import annotations

from workbook_template.template import calcium_words, scenario
from workbook_template.template.anions import brings_phosphate
from workbook_template.template.book import WARN, Book, Sheet
from workbook_template.template.charts import DASHED, LIMIT, OFF, SOLID, marks, scatter, series
from workbook_template.template.form import Answer, Form
from workbook_template.template.formula import (
    Formula,
    Part,
    all_of,
    call,
    first,
    name,
    number_or,
    ref,
    when,
    xl,
)
from workbook_template.template.layout import (
    cautions_in,
    cost_of,
    dose_end,
    first_problem,
    liquid_strength,
    looked_up,
    of_acid,
    row_of,
    unknown_acid,
    water_ions,
)
from workbook_template.template.sheets import curves
from workbook_template.template.sizes import Sizes
from workbook_template.template.table import Row, Shown, Table, Working

NAME = "Acid choice"
HEAD = 9
#: Row of the dose of the batch in the workings, its target below: the point in the chart.
POINT = HEAD + 7
#: The column of the workings, behind the page.
WORKINGS = 19
SEE = "see Settings"
PROMPT = "octacalcium phosphate"

CHOSEN = name("Choice_row") > 0
BATCH = ref("B4")


def _of_batch(column: str) -> Formula:
    """A column of the plan, in the row of the chosen batch."""
    return looked_up(f"Plan_{column}", name("Choice_row"))


def _of_water(column: str) -> Formula:
    return looked_up(f"Water_{column}", name("Choice_water"))


def _of_its_acid(column: str, otherwise: str = "") -> Formula:
    return xl.IF(CHOSEN, looked_up(f"Shelf_{column}", _of_batch("shelf_row")), otherwise)


FACTS = Form(
    row=4,
    span=2,
    lines=[
        Answer(
            "Water",
            first((CHOSEN, _of_water("name")), "choose a batch that has a water and an acid"),
            look=("result",),
        ),
        Answer(
            "Liquor, L at 20 °C",
            when(CHOSEN, name("Choice_litres")),
            number="litres",
            look=("result",),
        ),
        Answer("Target pH", when(CHOSEN, _of_batch("target")), number="ph", look=("result",)),
    ],
)


def _chosen_row() -> Formula:
    found = row_of(BATCH, "Plan_batch")
    complete = xl.INDEX(name("Plan_complete"), found) == 1
    return xl.IF(found > 0, xl.IF(complete, found, 0), 0)


#: Where the chosen batch stands on the other sheets; names for the formulas of this sheet and of
#: Curves.
STEPS = Form(
    row=HEAD + 1,
    label=WORKINGS,
    figure=WORKINGS + 1,
    look="text",
    lines=[
        Answer(label, formula, name=f"Choice_{ending}", look=("cell",))
        for ending, label, formula in (
            ("row", "Row of the plan", _chosen_row()),
            ("water", "Water no.", xl.IF(CHOSEN, _of_batch("water_row"), 0)),
            ("litres", "Liquor, L", when(CHOSEN, _of_batch("cold"))),
            ("acid", "Acid", _of_its_acid("acid")),
            ("strength", "Strength", _of_its_acid("strength")),
            ("measure", "Measured in", _of_its_acid("measure")),
            ("dose", "Dose, for the chart", xl.IF(CHOSEN, _of_batch("amount"), OFF)),
            ("target", "Target, for the chart", xl.IF(CHOSEN, _of_batch("target"), OFF)),
            (
                "cautions",
                "Cautions",
                when(CHOSEN, call("ACID_CAUTIONS", name("Choice_acid"), name("Choice_strength"))),
            ),
        )
    ],
)


# What several columns of a row are made of: a row is that of the shelf with the same number.


def _shelf(c: Row, column: str) -> Formula:
    return looked_up(f"Shelf_{column}", ref(str(c.number)))


def _present(c: Row, answer) -> Formula:
    return when(all_of(CHOSEN, _shelf(c, "label") != "", _shelf(c, "acid") != ""), answer)


def _known() -> Formula:
    """Whether all five ions of the water are given."""
    return _of_water("ions_given") == 5


def _ions() -> Formula:
    return water_ions(name("Choice_water"))


def _liquor() -> tuple[Formula, Formula]:
    return _of_water("alkalinity"), _of_water("pH")


def _liquid(c: Row) -> Formula:
    return liquid_strength(_shelf(c, "measure"), c.strength)


def _dose(called: str, strength):
    return lambda c: _present(
        c,
        call(
            called,
            *_liquor(),
            _of_batch("target"),
            name("Choice_litres"),
            c.acid,
            strength(c),
            _ions(),
            _of_water("temp_C"),
            name("CO2_lost"),
        ),
    )


def _end(called: str):
    """An end of the dose's interval in mL."""
    return lambda c: _present(
        c,
        dose_end(
            called,
            (*_liquor(), _of_batch("target"), name("Choice_litres"), c.acid, _liquid(c)),
            _ions(),
            _of_water("temp_C"),
        ),
    )


def _shown_end(key: str, outer):
    """An end of the interval in what the acid is measured in; the dose itself always lies
    within.
    """

    def shown_end(c: Row) -> Formula:
        amount = xl.IF(_shelf(c, "measure") == "g", c.mass, c.volume_ml)
        known = xl.COUNT(c[key], c.volume_ml, c.mass) == 3
        return _present(c, first((known, outer(c[key], c.volume_ml) * amount / c.volume_ml), SEE))

    return shown_end


def _dosed(c: Row) -> tuple[Formula, ...]:
    """The dosed liquor, as the functions that follow a dose take it."""
    return (
        *_liquor(),
        c.volume_ml,
        name("Choice_litres"),
        c.acid,
        _liquid(c),
        _ions(),
        _of_water("temp_C"),
    )


def _after(called: str, share: Part):
    """What a function says of the dosed liquor once this share of the gas has left."""
    return lambda c: _present(c, call(called, *_dosed(c), share))


def _safe(called: str):
    """The pH up to which neither solid that forms promptly can form."""

    def of(c: Row, solid: str) -> Formula:
        return call(
            called,
            *_liquor(),
            _of_water("calcium"),
            name("Choice_litres"),
            c.acid,
            c.strength,
            solid,
            _of_water("temp_C"),
            name("Tank_temp_C"),
            _ions(),
        )

    return lambda c: _with_phosphate(c, xl.MIN(of(c, PROMPT), of(c, "brushite")))


def _state(share: Part):
    """The state of the calcium in the hot tank once this share of the gas has left, in words."""
    return lambda c: _with_phosphate(
        c,
        call(
            "CALCIUM_STATE",
            *_liquor(),
            _of_water("calcium"),
            c.volume_ml,
            name("Choice_litres"),
            c.acid,
            _liquid(c),
            _of_water("temp_C"),
            name("Tank_temp_C"),
            _ions(),
            share,
        ),
    )


def _level(key: str):
    return lambda c: _with_phosphate(c, calcium_words.level(c[key]))


def _with_phosphate(c: Row, answer: Formula) -> Formula:
    return _present(c, when(_known(), when(c.phosphate == 1, answer)))


def _figure(key: str):
    return lambda c: _present(c, number_or(c[key], SEE))


def _fact(column: str):
    """A fact of the acid from the sheet Reference."""
    return lambda c: _present(c, xl.IFERROR(of_acid(column, c.acid), ""))


def _of_calcium(c: Row, *cases: tuple[Part, Part] | Part) -> Formula:
    return _present(
        c,
        first(
            (unknown_acid(c.acid), SEE),
            (xl.NOT(_known()), "?"),
            (c.phosphate == 0, "no phosphate"),
            *cases,
        ),
    )


def _safe_ph(c: Row) -> Formula:
    return _of_calcium(
        c,
        (
            xl.COUNT(c.prompt_ph, c.prompt_low, c.prompt_high) == 3,
            calcium_words.with_range(c.prompt_ph, c.prompt_low, c.prompt_high),
        ),
        SEE,
    )


def _in_short(c: Row) -> Formula:
    levels = c.mixed_level, c.open_level
    return _of_calcium(
        c,
        (
            all_of(xl.COUNT(*levels) == 2, *(level >= 0 for level in levels)),
            calcium_words.short(*levels),
        ),
        *first_problem(c.mixed_state, c.open_state),
        "not known: see Start, and the plan",
    )


COMPARED = Table(
    "Compared",
    head=HEAD,
    rows=Sizes().acids,
    workings=STEPS.figure + 2,
    columns=[
        Shown(
            "label",
            "Acid on the shelf",
            lambda c: _present(c, _shelf(c, "label")),
            width=20,
            look=("remark",),
        ),
        Shown("acid", "Acid", lambda c: _present(c, _shelf(c, "acid")), width=13, look=("remark",)),
        Shown(
            "strength",
            "Strength, mass %",
            lambda c: _present(c, _shelf(c, "strength")),
            width=9,
            number="share",
        ),
        Shown(
            "ml",
            "Dose, mL",
            lambda c: _present(
                c,
                first((_shelf(c, "measure") == "g", "weigh it"), number_or(c.volume_ml, SEE)),
            ),
            width=9,
            number="ml",
        ),
        Shown("grams", "Dose, g", _figure("mass"), width=9, number="ml"),
        Shown("low", "95 %: from, mL (g)", _shown_end("low_ml", xl.MIN), width=8, number="ml"),
        Shown("high", "to, mL (g)", _shown_end("high_ml", xl.MAX), width=8, number="ml"),
        Shown("cost", '="Cost, "&Currency', _figure("money"), width=9, number="money"),
        Shown("mixed", "pH right after mixing", _figure("mixed_ph"), width=8, number="ph"),
        Shown("climbs", "can climb to pH", _figure("open_ph"), width=8, number="ph"),
        Shown("safe_ph", "Calcium stays up to pH", _safe_ph, width=14, look=("result", "centre")),
        Shown("state", "Calcium in the hot tank", _in_short, width=22, look=("remark",)),
        Shown("anion", "Anion", _fact("anion"), width=17, look=("remark",)),
        Shown("added", "Anion added, mg/L", _figure("brought"), width=8, number="mg"),
        Shown("bicarbonate", "Bicarbonate left, mg/L", _figure("carbonate"), width=11, number="mg"),
        Shown(
            "left",
            "Alkalinity left by titration, mg/L as CaCO3",
            _figure("alkalinity"),
            width=12,
            number="mg",
        ),
        Shown(
            "buffering",
            "    of it the anion's own, mg/L as CaCO3",
            _figure("anion_buffer"),
            width=12,
            number="limit",
        ),
        Shown("taste", "Taste", _fact("taste"), width=46, look=("remark",)),
        Working(
            "phosphate",
            "Brings phosphate",
            lambda c: _present(c, xl.IF(brings_phosphate(c.acid), 1, 0)),
            width=16,
        ),
        Working("volume_ml", "mL", _dose("ACID_DOSE", _liquid), width=16),
        Working("low_ml", "from", _end("ACID_DOSE_LOW"), width=16),
        Working("high_ml", "to", _end("ACID_DOSE_HIGH"), width=16),
        Working("mass", "g", _dose("ACID_DOSE_MASS", lambda c: c.strength), width=16),
        Working("mixed_ph", "pH, no gas lost", _after("PH_AFTER_ACID", 0), width=16),
        Working(
            "open_ph", "pH, most gas lost", _after("PH_AFTER_ACID", name("CO2_lost_to")), width=16
        ),
        Working("mixed_state", "Calcium, no gas lost", _state(0), width=16),
        Working("open_state", "Calcium, most gas lost", _state(name("CO2_lost_to")), width=16),
        Working("mixed_level", "State, no gas lost", _level("mixed_state"), width=16),
        Working("open_level", "State, most gas lost", _level("open_state"), width=16),
        Working("prompt_ph", "Safe pH", _safe("CALCIUM_SAFE_PH"), width=16, number="ph"),
        Working("prompt_low", "Safe pH, low", _safe("CALCIUM_SAFE_PH_LOW"), width=16, number="ph"),
        Working(
            "prompt_high", "Safe pH, high", _safe("CALCIUM_SAFE_PH_HIGH"), width=16, number="ph"
        ),
        Working(
            "money",
            "Cost",
            lambda c: _present(
                c,
                cost_of(
                    xl.IF(_shelf(c, "measure") == "g", c.mass, c.volume_ml), ref(str(c.number))
                ),
            ),
            width=16,
        ),
        Working(
            "brought",
            "Anion, mg/L",
            lambda c: _present(
                c, call("ACID_ANION_MASS", c.mass, name("Choice_litres"), c.acid, c.strength)
            ),
            width=16,
        ),
        Working(
            "carbonate",
            "Bicarbonate left",
            _after("BICARBONATE_AFTER_ACID", name("CO2_lost")),
            width=16,
        ),
        Working(
            "alkalinity",
            "Alkalinity left",
            _after("ALKALINITY_AFTER_ACID", name("CO2_lost")),
            width=16,
        ),
        Working(
            "anion_buffer",
            "Anion's part of it",
            _after("ANION_ALKALINITY_AFTER_ACID", name("CO2_lost")),
            width=16,
        ),
    ],
)
FIRST, LAST = COMPARED.first, COMPARED.last


def write(book: Book) -> None:
    """Write the sheet."""
    compared = COMPARED.sized(book.sizes.acids)
    charts = compared.last + 4
    sheet = book.sheet(NAME, COMPARED.page_widths)
    sheet.text(0, 0, "Acid choice", "title")
    sheet.across(
        1,
        0,
        compared.page_end,
        "Choose a batch of the plan. Each acid on the shelf is worked out for its water, volume and"
        " target pH. The cautions are those of the batch's own acid: read the safety data sheet of"
        " another before you change to it.",
        "lead",
    )
    sheet.text(3, 0, "Batch", "label")
    chosen = scenario.BATCHES[0].name if book.example else ""
    sheet.input_across(3, 1, 2, chosen)
    sheet.choice((3, 1), (3, 1), "=Plan_batch", "Batch")
    FACTS.write(sheet)
    sheet.text(HEAD - 1, WORKINGS, "Workings", "section")
    sheet.raw.set_column(WORKINGS, WORKINGS + 2, 16, book.style("text"), {"level": 1})
    STEPS.write(sheet)
    _cautions(sheet)
    compared.write(sheet, height=58)
    for row in range(compared.first, compared.last + 1):
        sheet.raw.set_row(row, 28)
    _charts(book, sheet, charts)
    sheet.finish(area=(0, 0, charts + 23, compared.page_end), freeze=(HEAD + 1, 1), tall=1)


def _cautions(sheet: Sheet) -> None:
    """The cautions of the batch's own acid, beside its facts."""
    sheet.raw.merge_range(3, 4, 6, COMPARED.page_end, "", sheet.book.style("caution"))
    own = cautions_in(name("Choice_cautions"))
    sheet.formula(3, 4, xl.IF(CHOSEN, own, name("Any_cautions")), "caution")
    for row in range(3, 7):
        sheet.raw.set_row(row, 19)


def _charts(book: Book, sheet: Sheet, top: int) -> None:
    title = f"='{curves.NAME}'!$B${curves.HEAD + 1}"
    dose = scatter(
        book,
        "pH against dose, the batch's acid",
        title,
        "pH, cooled sample",
        legend=False,
        x_axis={"min": 0, "num_format": "#,##0"},
        y_axis={"min": 4, "max": 9, "num_format": "0.0"},
    )
    series(
        dose, "pH of the liquor", curves.NAME, (curves.FIRST, curves.DOSE_LAST), 1, 0, line=SOLID
    )
    dose.add_series(
        {
            "name": "target",
            "categories": [NAME, POINT, STEPS.figure, POINT, STEPS.figure],
            "values": [NAME, POINT + 1, STEPS.figure, POINT + 1, STEPS.figure],
            **marks(WARN),
            "data_labels": {"series_name": True, "value": False, "position": "right"},
        }
    )
    sheet.raw.insert_chart(top, 0, dose, {"x_scale": 1.17, "y_scale": 1.5, "object_position": 2})
    limit = scatter(
        book,
        "Calcium that stays dissolved in the hot tank, with phosphoric acid",
        "pH, cooled sample",
        "Calcium, mg/L",
        x_axis={"min": 5.0, "max": 7.0, "num_format": "0.0"},
        y_axis={"log_base": 10, "min": 0.1, "max": 10000, "num_format": "General"},
    )
    rows = (curves.FIRST, curves.LIMIT_LAST)
    series(
        limit,
        "Octacalcium phosphate: can drop within hours above",
        curves.NAME,
        rows,
        3,
        8,
        line=SOLID,
    )
    series(limit, "Hydroxyapatite: slow scale above", curves.NAME, rows, 3, 7, line=DASHED)
    series(limit, "The water's calcium", curves.NAME, rows, 3, 9, line=LIMIT)
    sheet.raw.insert_chart(top, 9, limit, {"x_scale": 1.6, "y_scale": 1.5, "object_position": 2})
    sheet.across(top - 1, 0, COMPARED.page_end, "Charts for this batch", "section")
