"""Acid choice: every acid on the shelf for one batch, side by side, and the two charts."""

from __future__ import annotations

from workbook_template.template import scenario
from workbook_template.template.anions import brings_none, brings_phosphate
from workbook_template.template.book import WARN, Book, Sheet
from workbook_template.template.charts import DASHED, LIMIT, OFF, SOLID, marks, scatter, series
from workbook_template.template.form import Answer, Form
from workbook_template.template.formula import (
    Formula,
    all_of,
    call,
    first,
    is_number,
    name,
    number_or,
    ref,
    when,
    xl,
)
from workbook_template.template.layout import (
    cautions_in,
    cost_of,
    first_problem,
    liquid_strength,
    looked_up,
    unknown_acid,
)
from workbook_template.template.sheets import curves
from workbook_template.template.sizes import Sizes
from workbook_template.template.table import Row, Shown, Table, Working

NAME = "Acid choice"
HEAD = 9
#: Row of the dose of the batch in the workings, its target below: the point in the chart.
POINT = HEAD + 7
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
    found = xl.MATCH(BATCH, name("Plan_batch"), 0)
    complete = xl.INDEX(name("Plan_complete"), found) == 1
    return xl.IFERROR(xl.IF(complete, found, 0), 0)


#: Where the chosen batch stands on the other sheets; names for the formulas of this sheet and of Curves.
STEPS = Form(
    row=HEAD + 1,
    label=13,
    figure=14,
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
    return xl.INDEX(name("Water_ions"), name("Choice_water"), 0)


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


def _safe(c: Row, solid: str) -> Formula:
    return call(
        "CALCIUM_SAFE_PH",
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


def _with_phosphate(c: Row, answer: Formula) -> Formula:
    return _present(c, when(_known(), when(brings_phosphate(c.acid), answer)))


def _figure(key: str):
    return lambda c: _present(c, number_or(c[key], SEE))


def _fact(column: str):
    """A fact of the acid from the sheet Reference."""
    return lambda c: _present(c, xl.INDEX(name(column), xl.MATCH(c.acid, name("Name_of_acid"), 0)))


def _state(c: Row) -> Formula:
    target = _of_batch("target")
    return _present(
        c,
        first(
            (unknown_acid(c.acid), SEE),
            (brings_none(c.acid), "no calcium phosphate: the acid brings none"),
            (xl.NOT(_known()), "ions not given on the sheet Water"),
            *first_problem(c.slow_ph),
            (xl.COUNT(c.slow_ph, c.prompt_ph) < 2, "not known: see Start, and the plan"),
            (target <= c.slow_ph, "stays dissolved: below every limit"),
            (target <= c.prompt_ph, "may drop slowly: above hydroxyapatite only"),
            "expect it to drop",
        ),
    )


COMPARED = Table(
    "Compared",
    head=HEAD,
    rows=Sizes().acids,
    workings=16,
    columns=[
        Shown(
            "label",
            "Acid on the shelf",
            lambda c: _present(c, _shelf(c, "label")),
            look=("remark",),
        ),
        Shown("acid", "Acid", lambda c: _present(c, _shelf(c, "acid")), look=("remark",)),
        Shown(
            "strength",
            "Strength, mass %",
            lambda c: _present(c, _shelf(c, "strength")),
            number="share",
        ),
        Shown(
            "ml",
            "Dose, mL",
            lambda c: _present(
                c,
                first((_shelf(c, "measure") == "g", "weigh it"), number_or(c.volume_ml, SEE)),
            ),
            number="ml",
        ),
        Shown("grams", "Dose, g", _figure("mass"), number="ml"),
        Shown("cost", '="Cost, "&Currency', _figure("money"), number="money"),
        Shown("anion", "Anion", _fact("Name_of_anion"), look=("remark",)),
        Shown("added", "Anion added, mg/L", _figure("brought"), number="mg"),
        Shown("left", "Alkalinity left, mg/L as CaCO3", _figure("alkalinity"), number="mg"),
        Shown(
            "safe_ph",
            "Calcium drops promptly above pH",
            lambda c: _present(
                c,
                first(
                    (unknown_acid(c.acid), SEE),
                    (xl.NOT(_known()), "?"),
                    (brings_none(c.acid), "no limit"),
                    (is_number(c.prompt_ph), xl.ROUNDDOWN(c.prompt_ph, 2)),
                    SEE,
                ),
            ),
            number="ph",
        ),
        Shown("state", "Calcium in the hot tank", _state, look=("remark",)),
        Shown("taste", "Taste", _fact("Taste_of_acid"), look=("remark",)),
        Working(
            "slow_ph",
            "Safe pH, hydroxyapatite",
            lambda c: _with_phosphate(c, _safe(c, "hydroxyapatite")),
            width=16,
            number="ph",
        ),
        Working(
            "prompt_ph",
            "Safe pH, octacalcium phosphate or brushite",
            lambda c: _with_phosphate(c, xl.MIN(_safe(c, PROMPT), _safe(c, "brushite"))),
            width=16,
            number="ph",
        ),
        Working("volume_ml", "mL", _dose("ACID_DOSE", _liquid), width=16),
        Working("mass", "g", _dose("ACID_DOSE_MASS", lambda c: c.strength), width=16),
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
            "alkalinity",
            "Alkalinity left",
            lambda c: _present(
                c,
                call(
                    "ALKALINITY_AFTER_ACID",
                    *_liquor(),
                    c.volume_ml,
                    name("Choice_litres"),
                    c.acid,
                    _liquid(c),
                    _ions(),
                    _of_water("temp_C"),
                    name("CO2_lost"),
                ),
            ),
            width=16,
        ),
    ],
)
FIRST, LAST = COMPARED.first, COMPARED.last


def write(book: Book) -> None:
    """Write the sheet."""
    compared = COMPARED.sized(book.sizes.acids)
    charts = compared.last + 4
    sheet = book.sheet(NAME, [22, 13, 10, 11, 11, 10, 16, 10, 12, 11, 44, 46])
    sheet.text(0, 0, "Acid choice", "title")
    sheet.across(
        1,
        0,
        compared.page_end,
        "Choose a batch of the plan. Each acid on the shelf is worked out for its water, volume and target pH. The "
        "cautions are those of the batch's own acid: read the safety data sheet of another before you change to it.",
        "lead",
    )
    sheet.text(3, 0, "Batch", "label")
    chosen = scenario.BATCHES[0].name if book.example else ""
    sheet.raw.merge_range(3, 1, 3, 2, chosen, book.style("input", "plain"))
    sheet.choice((3, 1), (3, 1), "=Plan_batch", "Batch")
    FACTS.write(sheet)
    sheet.text(HEAD - 1, 13, "Workings", "section")
    sheet.raw.set_column(13, 15, 16, book.style("text"), {"level": 1})
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
            "categories": [NAME, POINT, 14, POINT, 14],
            "values": [NAME, POINT + 1, 14, POINT + 1, 14],
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
        limit, "Octacalcium phosphate: expect it to drop above", curves.NAME, rows, 3, 8, line=SOLID
    )
    series(limit, "Hydroxyapatite: may drop slowly above", curves.NAME, rows, 3, 7, line=DASHED)
    series(limit, "The water's calcium", curves.NAME, rows, 3, 9, line=LIMIT)
    sheet.raw.insert_chart(top, 6, limit, {"x_scale": 1.6, "y_scale": 1.5, "object_position": 2})
    sheet.across(top - 1, 0, 11, "Charts for this batch", "section")
