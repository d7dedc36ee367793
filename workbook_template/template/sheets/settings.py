"""Settings: units, the hot tank, the acids on the shelf, and limits with their common-practice
presets.
"""

from __future__ import annotations

from typing import NamedTuple

from xlsxwriter.utility import xl_rowcol_to_cell

from chemcore.acids import acid_names
from chemcore.tables import constant
from chemcore.units import unit_names
from workbook_template.template import scenario
from workbook_template.template.anions import PRACTICE, TASTED, taste_name
from workbook_template.template.book import Book
from workbook_template.template.form import Answer, Form, Typed
from workbook_template.template.formula import (
    Formula,
    all_of,
    any_of,
    call,
    first,
    is_number,
    joined,
    name,
    number_or,
    ref,
    shown,
    when,
    xl,
)
from workbook_template.template.layout import (
    celsius,
    filled,
    first_problem,
    looked_up,
    rows_of,
    stated,
    unknown_acid,
)
from workbook_template.template.sizes import KG_PER_LB, Sizes
from workbook_template.template.table import Input, Row, Shown, Table, Working

NAME = "Settings"
LAST_COLUMN = 11

#: Last-runnings limits: label, highest pH, lowest gravity in °P. Common practice, no source.
RUNOFF_PRESETS = (
    ("pH 6.0 or 2 °P: the older limits", 6.0, 2.0),
    ("pH 5.7 or 2.5 °P: the compromise", 5.7, 2.5),
    ("pH 5.5 or 3 °P: the newer limits", 5.5, 3.0),
    ("own figures", None, None),
)


class Tank(NamedTuple):
    """A way to keep the hot tank, and the share of the excess carbon dioxide that it loses: choices
    of this workbook.
    """

    kept: str
    more: str
    lost_from: float | None
    lost_to: float | None


TANKS = (
    Tank("closed or covered", " and dosed shortly before use", 0, 0.1),
    Tank("vented, recirculated", "", 0.1, 0.5),
    Tank("sprayed or held hot", " for hours", 0.3, 1),
    Tank("own figures", "", None, None),
)


def _lost(end: str) -> Formula:
    """The least or the largest share that the tank loses: by how it is kept, or one's own
    figure.
    """
    kept, own = name("Tank_kept"), name(f"Own_lost_{end}")
    return first(
        *((kept == tank.kept, getattr(tank, f"lost_{end}")) for tank in TANKS[:-1]),
        (
            kept != TANKS[-1].kept,
            "Check co2_lost: choose from the list on the sheet Settings how the tank is kept",
        ),
        (
            own == "",
            (
                "Check co2_lost: the cell of the least or the largest share is empty; give both on"
                " the sheet Settings"
            ),
        ),
        own,
    )


#: Where the tank's temperature is typed.
TANK_TEMP_ROW = 6
UNITS = Form(
    row=4,
    note=2,
    lines=[
        Typed(
            "Volumes are typed in",
            "hL",
            name="Volume_unit",
            choice=unit_names(),
            what="Unit of volume",
            note=(
                "On every sheet; acid is in mL, its packs as you choose below. US bbl is the beer"
                " barrel of 31 US gallons; imp bbl the brewery barrel of 36 imperial gallons."
            ),
        ),
        Typed(
            "Temperatures are typed in",
            "°C",
            name="Temperature_unit",
            choice=("°C", "°F"),
            what="Unit of temperature",
            note="°C or °F, on every sheet.",
        ),
        Typed(
            '="Hot tank temperature, "&Temperature_unit',
            constant("sparge_tank_temperature"),
            name="Tank_temp",
            number="share",
            limits=(0, 212, "The tank's temperature"),
            note=joined(
                name("Tank_temp_question"),
                "Decides what becomes of the calcium: its solids are less soluble when hot.",
            ),
        ),
        Typed(
            '="Tank volume, "&Volume_unit',
            name="Tank_volume",
            example=scenario.TANK_VOLUME,
            number="volume",
            limits=(0, 1e7, "The tank's volume"),
            note=(
                "How much the tank holds; a batch of more than that is asked about. Empty: not"
                " asked."
            ),
        ),
        Typed(
            "The tank is kept",
            TANKS[0].kept,
            name="Tank_kept",
            choice=[tank.kept for tank in TANKS],
            what="Way of keeping the tank",
            note="Share of the carbon dioxide set free that leaves: "
            + "; ".join(
                f"{tank.lost_from:g} to {tank.lost_to:g} {tank.kept}{tank.more}"
                for tank in TANKS[:-1]
            )
            + ".",
        ),
        Typed(
            "    own share lost, from, 0 to 1",
            name="Own_lost_from",
            limits=(0, 1, "Share of carbon dioxide"),
            note=(
                'Only with "own figures". The shares above are choices of this workbook; the sheet'
                " Log learns those of your tank."
            ),
        ),
        Typed("    to", name="Own_lost_to", limits=(0, 1, "Share of carbon dioxide")),
        Typed(
            "    doses reckon with a share of (empty: the least)",
            name="Reckoned_lost",
            limits=(0, 1, "Share of carbon dioxide"),
            note=(
                "The least never gives too much: read again before more. More gas lost takes more"
                " acid."
            ),
        ),
        Typed(
            "Recirculation after a portion, minutes",
            10,
            name="Recirculate_minutes",
            number="count",
            limits=(0, 600, "The recirculation"),
            note="Before the pH is read.",
        ),
        Typed(
            "Target pH where a batch gives none",
            5.7,
            name="Default_target",
            number="ph",
            limits=(4, 8, "A target pH"),
            note=(
                f"Sparge liquor is taken to pH 5.7 to 5.8 or lower ({PRACTICE}). Read on a cooled"
                " sample."
            ),
        ),
        Typed("Currency", "EUR", name="Currency", note="Only a label."),
        Typed(
            "First portion, share of the dose",
            0.6,
            name="First_portion",
            limits=(0.1, 1, "The first portion"),
            note="Given first on the day; the reading after it decides the rest.",
        ),
        Typed(
            "Mixing time, minutes",
            10,
            name="Mixing_minutes",
            number="count",
            note="After each portion; as long as your own tank takes.",
        ),
    ],
)
TANK = Form(
    row=UNITS.last + 1,
    note=2,
    lines=[
        Answer(
            "Hot tank temperature in °C",
            celsius(name("Tank_temp")),
            name="Tank_temp_C",
            number="share",
            look=("result",),
        ),
        *(
            Answer(
                f"Share of carbon dioxide lost, {end}",
                _lost(end),
                name=f"CO2_lost_{end}",
                look=("result",),
                note=(
                    "Of what the acid sets free above air equilibrium; the interval of a dose"
                    " spans it."
                    if end == "from"
                    else ""
                ),
            )
            for end in ("from", "to")
        ),
        Answer(
            "    that doses reckon with",
            first(
                *first_problem(name("CO2_lost_from"), name("CO2_lost_to")),
                (name("Reckoned_lost") == "", name("CO2_lost_from")),
                (
                    any_of(
                        name("Reckoned_lost") < name("CO2_lost_from"),
                        name("Reckoned_lost") > name("CO2_lost_to"),
                    ),
                    (
                        "Check co2_lost: the share that doses reckon with lies outside what the"
                        " tank loses; see the sheet Settings"
                    ),
                ),
                name("Reckoned_lost"),
            ),
            name="CO2_lost",
            look=("result",),
        ),
    ],
)
SHELF_HEAD = TANK.last + 3


def _tank_temp_question() -> Formula:
    """Whether the tank's temperature may stand in the other unit."""
    cold = all_of(
        name("Temperature_unit") == "°F", is_number(name("Tank_temp")), name("Tank_temp_C") < 40
    )
    return when(
        cold,
        joined(
            f"Tank temperature on {NAME}, ",
            xl_rowcol_to_cell(TANK_TEMP_ROW, UNITS.figure),
            ": ",
            shown(name("Tank_temp"), 0),
            " °F is ",
            shown(name("Tank_temp_C"), 0),
            " °C; is it typed in °C? ",
        ),
    )


def _remark(c: Row) -> Formula:
    return when(
        filled(*c.cells_between("label", "unit")),
        first(
            (c.label == "", "Give this acid a label."),
            (
                rows_of(c.label, "Shelf_label") > 1,
                "This label stands twice: give each acid its own.",
            ),
            (c.measure == "see remark", c.density_said),
            (unknown_acid(c.acid), "Choose the acid from the list."),
            (xl.ISTEXT(c.in_one), c.in_one),
            looked_up("Need_remark", ref(str(c.number))),
        ),
    )


_MONEY = (0, 1e6, "A pack, price or stock")
#: What packs and stock may be counted in: volumes, and masses by their kilograms.
_LIQUID = ("L", "US gal", "imp gal")
_MASSES = {"kg": 1.0, "lb": KG_PER_LB}


def _in_one(c: Row) -> Formula:
    """Litres of the acid, of a powder kilograms, in one of the unit of pack and stock."""

    def of_mass(kg: float) -> Formula:
        return first(
            (c.powder == 1, kg), (is_number(c.density_said), kg / c.density_said), c.density_said
        )

    return when(
        c.label != "",
        first(
            (c.unit == "", 1),
            *((c.unit == unit, of_mass(kg)) for unit, kg in _MASSES.items()),
            (c.powder == 1, "Check pack: a powder is weighed; choose kg or lb for it"),
            call("LITRES", 1, c.unit),
        ),
    )


def _counted(key: str):
    """Pack or stock in L, of a powder in kg; as typed where it is no number."""

    def formula(c: Row) -> Formula:
        return first(
            (c[key] == "", ""),
            (xl.NOT(is_number(c[key])), c[key]),
            (is_number(c.in_one), c[key] * c.in_one),
            c.in_one,
        )

    return formula


def _unit(c: Row) -> Formula:
    return first((c.unit != "", c.unit), (c.powder == 1, "kg"), "L")


SHELF = Table(
    "Shelf",
    head=SHELF_HEAD,
    rows=Sizes().acids,
    columns=[
        Input("label", "Label (your own)", name="label"),
        Input("acid", "Acid", name="acid", choice=acid_names()),
        Input("strength", "Strength, mass %", number="share"),
        Input("pack", "A pack holds", number="share", limits=_MONEY),
        Input(
            "price", '="Price of a pack, "&Currency', number="money", name="price", limits=_MONEY
        ),
        Input("stock", "In stock", number="share", limits=_MONEY),
        Input(
            "unit",
            "Pack, stock in\n(empty: L or kg)",
            choice=(*_LIQUID, *_MASSES),
            what="Unit of pack and stock",
        ),
        Shown(
            "density",
            "Density,\nkg/L",
            lambda c: when(
                filled(*c.cells_between("label", "strength")),
                first((c.powder == 1, "powder"), number_or(c.density_said, "see remark")),
            ),
            number="density",
        ),
        Shown(
            "measure",
            "Measured in",
            lambda c: when(
                filled(*c.cells_between("label", "strength")),
                first(
                    (c.powder == 1, "g"),
                    (is_number(c.density_said), "mL"),
                    "see remark",
                ),
            ),
            name="measure",
            look=("result", "centre"),
        ),
        Shown(
            "needed",
            "Needed with waste, in that unit",
            lambda c: when(
                c.label != "",
                first(
                    (
                        xl.COUNT(looked_up("Need_need", ref(str(c.number))), c.in_one) == 2,
                        looked_up("Need_need", ref(str(c.number))) / 1000 / c.in_one,
                    ),
                    "see remark",
                ),
            ),
            number="density",
            look=("result",),
        ),
        Shown(
            "left",
            "Left after the plan, in that unit",
            lambda c: first(
                (any_of(c.label == "", c.stock == ""), ""),
                (is_number(c.needed), xl.ROUND(c.stock - c.needed, 9)),
                "see remark",
            ),
            number="density",
            look=("result",),
        ),
        Shown("remark", "Remark", _remark, look=("remark",)),
        Working(
            "density_said",
            "Density, or what is wrong",
            lambda c: when(
                filled(*c.cells_between("label", "strength")),
                first((c.powder == 1, ""), call("ACID_DENSITY", c.acid, c.strength)),
            ),
            width=16,
        ),
        Working(
            "strength_said",
            "Strength, or what is wrong",
            lambda c: when(c.label != "", stated("strength", c.strength)),
            width=16,
            name="strength",
        ),
        Working(
            "powder",
            "A powder, which is weighed",
            lambda c: xl.IF(
                is_number(xl.SEARCH("powder", call("ACID_DENSITY", c.acid, c.strength))), 1, 0
            ),
            width=16,
        ),
        Working("in_one", "L (powder: kg) in that unit", _in_one, width=16),
        Working("pack_used", "Pack, L (kg)", _counted("pack"), width=16, name="pack"),
        Working("stock_used", "Stock, L (kg)", _counted("stock"), width=16, name="stock"),
        Working(
            "pack_said",
            "Pack in words",
            lambda c: when(c.pack != "", joined(c.pack, " ", _unit(c))),
            width=16,
            name="pack_said",
        ),
    ],
)
SHELF_FIRST, SHELF_LAST = SHELF.first, SHELF.last


def _limit(label: str, named: str, value: float, number: str, note: str) -> Typed:
    return Typed(label, value, name=named, number=number, note=note)


LIMITS = Form(
    row=SHELF_LAST + 4,
    note=2,
    lines=[
        _limit(
            "Sparge liquor: highest usual target pH",
            "Usual_target",
            5.8,
            "ph",
            f"5.7 to 5.8 or lower ({PRACTICE}).",
        ),
        _limit("Mash pH: lowest usual", "Mash_pH_low", 5.2, "ph", f"5.2 to 5.3 ({PRACTICE})."),
        _limit("    highest usual", "Mash_pH_high", 5.3, "ph", ""),
        _limit(
            "Ion balance: remark beyond, %",
            "Balance_remark",
            5,
            "share",
            "Standard Methods 1030 E: within 5 % for most waters.",
        ),
        _limit(
            "Ion balance: not usable beyond, %", "Balance_wrong", 10, "share", f"10 % ({PRACTICE})."
        ),
        _limit(
            "Alkalinity left: remark below, mg/L as CaCO3",
            "Alkalinity_low",
            12,
            "mg",
            "Below this a small overdose drops the pH far; a choice of this workbook.",
        ),
        _limit(
            "Calcium for the mash: remark below, mg/L",
            "Calcium_low",
            50,
            "mg",
            f"50 mg/L or more ({PRACTICE}).",
        ),
        _limit(
            "Scale in the hot tank: remark above, mg/L as CaCO3",
            "Scale_remark",
            50,
            "mg",
            "A choice of this workbook: 50 mg/L leave 50 g in each m³ heated.",
        ),
        *(
            _limit(
                f"{'    ' if number else 'Taste: '}{anion} from, mg/L",
                taste_name(anion),
                acid.tasted_from,
                "mg",
                acid.tasted_source,
            )
            for number, (anion, acid) in enumerate(TASTED.items())
            if acid.tasted_from is not None
        ),
        _limit(
            "Kettle pH: lowest usual",
            "Kettle_pH_low",
            5.2,
            "ph",
            f"Full kettle, before the boil: 5.2 to 5.4 ({PRACTICE}).",
        ),
        _limit("    highest usual", "Kettle_pH_high", 5.4, "ph", ""),
        _limit(
            "Final beer pH: usual",
            "Beer_pH_usual",
            4.2,
            "ph",
            f"About 4.2; about 4.4 where the sparge was left untreated ({PRACTICE}).",
        ),
        *(
            _limit(
                f"Standard error of {label}",
                f"Error_{name}",
                constant(f"error_{name}"),
                "plain",
                f"For the intervals of doses ({PRACTICE}); your own where you know it.",
            )
            for label, name in (
                ("an alkalinity, mg/L", "alkalinity"),
                ("a pH reading", "ph"),
                ("a strength, mass %", "strength"),
                ("a tank volume, %", "volume"),
            )
        ),
    ],
)
EXPANSION = Form(
    row=LIMITS.last + 1,
    note=2,
    lines=[
        Answer(
            "Cold litres in a litre read on the hot tank",
            call("COLD_LITRES", 1, name("Tank_temp_C")),
            number="density",
            look=("result",),
            note=f"L at {constant('report_temperature'):g} °C; hot water fills more volume.",
        )
    ],
)


def write(book: Book) -> None:
    """Write the sheet."""
    shelf = SHELF.sized(book.sizes.acids)
    head = shelf.last + 3
    limits = LIMITS.at(head + 1)
    expansion = EXPANSION.at(limits.last + 1)
    sheet = book.sheet(NAME, [46, 20, 12, 12, 12, 12, 15, 11, 12, 15, 15, 52])
    sheet.text(0, 0, "Settings", "title")
    sheet.across(
        1,
        0,
        LAST_COLUMN,
        "Fill in the yellow cells. Everything else is worked out and locked against slips (no"
        " password).",
        "lead",
    )
    sheet.across(UNITS.row - 1, 0, LAST_COLUMN, "Units and the tank", "section")
    UNITS.write(sheet)
    TANK.write(sheet)
    Form(
        [Answer("Asked", _tank_temp_question(), name="Tank_temp_question", look=("cell",))],
        row=UNITS.row,
        label=LAST_COLUMN + 2,
        figure=LAST_COLUMN + 3,
        look="text",
    ).write(sheet)
    sheet.across(SHELF_HEAD - 1, 0, LAST_COLUMN, "Acids on the shelf", "section")
    shelf.write(sheet, scenario.ACIDS)
    shelf.ends(sheet, "acids")
    sheet.across(head - 1, 0, LAST_COLUMN, "Limits", "section")
    sheet.headers(head, 0, ["What", "Limit"], height=20)
    sheet.across(head, 2, LAST_COLUMN, "Preset and where it is from", "header")
    limits.write(sheet)
    expansion.write(sheet)
    sheet.finish(area=(0, 0, expansion.last, LAST_COLUMN), freeze=(2, 0), tall=1)
