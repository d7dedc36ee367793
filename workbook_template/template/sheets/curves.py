"""Curves: the figures behind the charts, for the batch chosen on the sheet Acid choice."""

from __future__ import annotations

from udfs.functions.solids import NO_LIMIT
from workbook_template.template.book import Book
from workbook_template.template.formula import Formula, call, first, name, when, xl
from workbook_template.template.layout import looked_up, water_ions
from workbook_template.template.table import Row, Shown, Table, Working

NAME = "Curves"
HEAD = 4
POINTS = 29
LIMIT_POINTS = 21
LIMIT_FROM, LIMIT_TO = 5.0, 7.0
#: Lowest pH of the dose curve.
CURVE_TO = 4.5
#: A limit beyond the model is drawn at this height.
CEILING = 4000
#: The phosphoric acid of the limits.
PHOSPHORIC = "phosphoric", 85


def _chosen(answer) -> Formula:
    return when(name("Choice_row") > 0, answer)


def _of_water(column: str) -> Formula:
    return looked_up(f"Water_{column}", name("Choice_water"))


def _liquor() -> tuple[Formula, Formula]:
    return _of_water("alkalinity"), _of_water("pH")


def _last() -> tuple[Formula, Formula]:
    """The water's ions, and the temperature that its pH was read at."""
    return water_ions(name("Choice_water")), _of_water("temp_C")


def _curve_ph(c: Row) -> Formula:
    """From the water's pH down to the end, in steps that are rounded to tenths."""
    source = _of_water("pH")
    step = c.number - 1
    down = xl.ROUND(source - (source - CURVE_TO) * step / (POINTS - 1), 1)
    return _chosen(xl.MIN(source, down if step else source))


def _curve_dose(c: Row) -> Formula:
    own = name("Choice_litres"), name("Choice_acid"), name("Choice_strength")
    dosed = (*_liquor(), c.ph, *own, *_last(), name("CO2_lost"))
    powder = name("Choice_measure") == "g"
    return _chosen(xl.IF(powder, call("ACID_DOSE_MASS", *dosed), call("ACID_DOSE", *dosed)))


def _limit_ph(c: Row) -> Formula:
    span = xl.MIN(LIMIT_TO, _of_water("pH") - 0.05) - LIMIT_FROM
    return _chosen(LIMIT_FROM + span * (c.number - 1) / (LIMIT_POINTS - 1))


def _drawn(key: str):
    """A limit for the chart: one beyond the model at its ceiling."""
    return lambda c: _chosen(first((c[key] & "" == NO_LIMIT, CEILING), c[key]))


def _limit(solid: str):
    return lambda c: _chosen(
        call("CALCIUM_SOLUBILITY", c.hot_ph, c.phosphate, solid, name("Tank_temp_C"), _last()[0])
    )


DOSES = Table(
    "Curve",
    head=HEAD,
    rows=POINTS,
    columns=[
        Shown("ph", "pH", _curve_ph, number="ph", look=("result",)),
        Shown(
            "dose",
            '="Dose of the batch\'s acid, "&IF(Choice_measure="g","g","mL")',
            _curve_dose,
            number="ml",
            look=("result",),
        ),
    ],
)
LIMITS = Table(
    "Limit_curve",
    head=HEAD,
    rows=LIMIT_POINTS,
    left=3,
    columns=[
        Shown("ph", "pH, cooled sample", _limit_ph, number="ph", look=("result",)),
        Shown(
            "ml",
            "Phosphoric 85 %, mL",
            lambda c: _chosen(
                call(
                    "ACID_DOSE",
                    *_liquor(),
                    c.ph,
                    name("Choice_litres"),
                    *PHOSPHORIC,
                    *_last(),
                    name("CO2_lost"),
                )
            ),
            number="ml",
            look=("result",),
        ),
        Shown(
            "phosphate",
            "Phosphate, mg/L as PO4",
            lambda c: _chosen(call("ACID_ANION", c.ml, name("Choice_litres"), *PHOSPHORIC)),
            number="mg",
            look=("result",),
        ),
        Shown(
            "hot_ph",
            "pH when hot",
            lambda c: _chosen(
                call(
                    "PH_WHEN_HOT",
                    *_liquor(),
                    c.ml,
                    name("Choice_litres"),
                    *PHOSPHORIC,
                    *_last(),
                    name("Tank_temp_C"),
                )
            ),
            number="ph",
            look=("result",),
        ),
        Shown(
            "slow",
            "Hydroxyapatite limit, mg/L",
            _drawn("slow_limit"),
            number="limit",
            look=("result",),
        ),
        Shown(
            "prompt",
            "Octacalcium phosphate limit, mg/L",
            _drawn("prompt_limit"),
            number="limit",
            look=("result",),
        ),
        Shown(
            "calcium",
            "The water's calcium, mg/L",
            lambda c: _chosen(_of_water("calcium")),
            number="mg",
            look=("result",),
        ),
        Working("slow_limit", "Hydroxyapatite limit", _limit("hydroxyapatite"), width=12),
        Working("prompt_limit", "Octacalcium phosphate", _limit("octacalcium phosphate"), width=12),
    ],
)
FIRST, DOSE_LAST, LIMIT_LAST = DOSES.first, DOSES.last, LIMITS.last


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [10, 14, 3, 10, 14, 14, 12, 16, 16, 12])
    sheet.text(0, 0, "Curves", "title")
    sheet.across(
        1,
        0,
        9,
        "The figures behind the charts of the sheet Acid choice. Nothing to fill in.",
        "lead",
    )
    sheet.across(HEAD - 1, 0, 1, "pH against dose", "section")
    sheet.across(
        HEAD - 1, 3, 9, "Calcium that stays dissolved if phosphoric acid is used", "section"
    )
    DOSES.write(sheet, height=60)
    LIMITS.write(sheet, height=60)
    sheet.across(
        max(DOSE_LAST, LIMIT_LAST) + 2,
        0,
        9,
        f"{CEILING} mg/L stands for {CEILING} or more. Solids at the tank's temperature, pH as the"
        " hot liquor has it.",
        "text",
    )
    sheet.finish(area=(0, 0, DOSE_LAST + 2, 9), freeze=(HEAD + 1, 0), tall=1)
