"""Blend and salts: waters, salts, and the liquor they make against a target profile, the acid's
anion included.
"""

from __future__ import annotations

from collections.abc import Callable

from xlsxwriter.utility import xl_range_abs, xl_rowcol_to_cell

from chemcore.salts import Salt, find_salt, salt_names
from chemcore.water import Ions
from workbook_template.template import scenario
from workbook_template.template.book import GREEN, Book, Sheet
from workbook_template.template.charts import OCHRE, columns
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
    number_or,
    part,
    ref,
    shown,
    when,
    xl,
)
from workbook_template.template.layout import (
    BLEND_WATERS,
    NO_ACID,
    NO_WATER,
    filled,
    first_problem,
    liquid_strength,
    looked_up,
    of_acid,
    shelf_row,
    water_row,
)
from workbook_template.template.table import Column, Input, Row, Shown, Table, Worked, Working

NAME = "Blend and salts"
HEAD = 4
FIRST = HEAD + 1
DEMINERALISED = FIRST + BLEND_WATERS
BLEND = DEMINERALISED + 1
SALT_HEAD = BLEND + 2
SALT_FIRST, SALT_LAST = SALT_HEAD + 1, SALT_HEAD + len(salt_names())
LIQUOR = SALT_LAST + 1
ACID = LIQUOR + 3
ACID_HEAD = ACID + 2
BROUGHT, AFTER, TARGET, LESS = (ACID_HEAD + offset for offset in range(1, 5))
FIGURES = LESS + 3
REMARK = FIGURES + 5
END = REMARK + 9
#: Columns of the page: the ions, then the alkalinity, the pH and the remark.
IONS = 3
ALKALINITY = IONS + len(Ions._fields)
PH, NOTE = ALKALINITY + 1, ALKALINITY + 2
WORKINGS = NOTE + 2
SEE = "see remark"

#: What is worked out of a water, of the blend and of the liquor with the salts so far, by the
#: figure that is shown of it.
NOW = {key: f"now_{key}" for key in (*Ions._fields, "alkalinity", "ph")}
NUMBERS = {key: "ph" if key == "ph" else "share" for key in NOW}
GOOD = name("Mix_problem") == ""


def _ions(c: Row) -> Formula:
    """The ions of a row, as the functions take them."""
    return ref(f"{c[NOW[Ions._fields[0]]]}:{c[NOW[Ions._fields[-1]]]}")


def _seen(key: str, condition: Callable[[Row], Formula]) -> Callable[[Row], Formula]:
    """A figure of a row as the user reads it."""
    return lambda c: when(condition(c), number_or(c[NOW[key]], SEE))


# The waters.


def _water_used(c: Row) -> Formula:
    if c.row == DEMINERALISED:
        return c.amount != ""
    return filled(*c.cells_between("water", "amount"))


def _of_source(value: Callable[[Row], Formula], pure: int) -> Callable[[Row], Formula]:
    """A figure of a source, or that of demineralised water."""

    def formula(c: Row) -> Formula:
        if c.row == DEMINERALISED:
            return when(_water_used(c), pure)
        return when(_water_used(c), when(c.source > 0, value(c)))

    return formula


def _source_ion(place: int) -> Callable[[Row], Formula]:
    return lambda c: xl.INDEX(name("Source_ions"), c.source, place)


def _cooled(c: Row) -> Formula:
    """The pH of a source at 20 °C."""
    read, temp = looked_up("Source_pH", c.source), looked_up("Source_temp_C", c.source)
    ions = xl.INDEX(name("Source_ions"), c.source, 0)
    at_20 = call("PH_WHEN_HOT", c.now_alkalinity, read, 0, 1, "lactic", 80, ions, temp, 20)
    return xl.IF(temp == 20, read, at_20)


def _water_problem(c: Row) -> Formula:
    report = first(
        (c.source == 0, NO_WATER),
        (
            looked_up("Source_ions_given", c.source) != 5,
            "Give the five ions of this water on the sheet Water.",
        ),
        (
            xl.COUNT(
                looked_up("Source_bicarbonate", c.source), looked_up("Source_balance", c.source)
            )
            < 2,
            "See the remark of this water on the sheet Water.",
        ),
        "",
    )
    known = part("") if c.row == DEMINERALISED else report
    return when(_water_used(c), first(*first_problem(c.litres), known))


def _water_good(c: Row) -> Formula:
    return all_of(_water_used(c), c.problem == "")


WATERS = Table(
    "Mixed",
    head=HEAD,
    rows=BLEND_WATERS,
    followed=True,
    columns=[
        Input("water", "Water", choice="=Source_name"),
        Input(
            "amount",
            '="Volume, "&Volume_unit&" (cold)"',
            number="share",
            limits=(0, 1e6, "A volume"),
        ),
        Shown(
            "share",
            "Share, %",
            lambda c: when(all_of(_water_used(c), GOOD), 100 * c.litres / name("Mix_litres")),
            number="share",
        ),
        *(
            Shown(ion, f"{ion.title()}, mg/L", _seen(ion, _water_good), number="share")
            for ion in Ions._fields
        ),
        Shown(
            "alkalinity",
            "Alkalinity, mg/L as CaCO3",
            _seen("alkalinity", _water_good),
            number="share",
        ),
        Shown("ph", "pH at 20 °C", _seen("ph", _water_good), number="ph"),
        Shown("remark", "Remark", lambda c: c.problem, look=("remark",)),
        Working(
            "litres",
            "L",
            lambda c: when(_water_used(c), call("LITRES", c.amount, name("Volume_unit"))),
        ),
        *(
            Working(NOW[ion], ion.title(), _of_source(_source_ion(place), 0))
            for place, ion in enumerate(Ions._fields, 1)
        ),
        Working(
            NOW["alkalinity"],
            "Alkalinity",
            _of_source(lambda c: looked_up("Source_alkalinity", c.source), 0),
        ),
        Working(NOW["ph"], "pH", _of_source(_cooled, 7)),
        Working(
            "source",
            "Source no.",
            lambda c: xl.IF(
                _water_used(c),
                0 if c.row == DEMINERALISED else water_row(c.water, prefix="Source"),
                0,
            ),
        ),
        Working("problem", "Problem", _water_problem, width=46),
    ],
)


def _of_waters(first_key: str, last_key: str | None = None) -> Formula:
    """A column of the waters and of the demineralised water, or several beside each other."""
    at = WATERS.at
    return ref(xl_range_abs(FIRST, at[first_key], DEMINERALISED, at[last_key or first_key]))


#: What the waters make, before it is known whether every one of them has its figures.
MIXED = Form(
    row=FIRST,
    label=WORKINGS + 11,
    figure=WORKINGS + 12,
    look="text",
    lines=[
        Answer(
            "Problem of a water",
            first(
                (name("Mix_used") == 0, "Choose the waters and give their volumes."),
                *(
                    (problem != "", problem)
                    for problem in (
                        Row(WATERS, row).problem for row in range(FIRST, DEMINERALISED + 1)
                    )
                ),
                "",
            ),
            name="Mix_source_problem",
            look=("cell",),
        ),
        *(
            Answer(
                label,
                when(name("Mix_source_problem") == "", call(called, _of_waters("litres"), *rest)),
                name=f"Mix_blended_{ending}",
                look=("cell",),
            )
            for label, ending, called, rest in (
                (
                    "Alkalinity",
                    "alkalinity",
                    "BLEND_ALKALINITY",
                    (_of_waters(NOW["alkalinity"]),),
                ),
                (
                    "pH",
                    "pH",
                    "BLEND_PH",
                    (_of_waters(NOW["alkalinity"]), _of_waters(NOW["ph"]), 20),
                ),
            )
        ),
    ],
)


def _blend_cells() -> dict[str, Formula]:
    """The row of the blend, by the columns of the waters."""
    c = Row(WATERS, BLEND)
    used, problem = name("Mix_used") > 0, name("Mix_problem")
    ions = _of_waters(NOW[Ions._fields[0]], NOW[Ions._fields[-1]])

    def good(answer: Formula) -> Formula:
        return xl.IF(GOOD, answer, problem)

    blended = {
        NOW[ion]: good(xl.INDEX(call("BLEND_IONS", _of_waters("litres"), ions), 1, place))
        for place, ion in enumerate(Ions._fields, 1)
    }
    return {
        "amount": when(GOOD, c.litres / call("LITRES", 1, name("Volume_unit"))),
        "share": when(GOOD, 100),
        **{key: when(used, number_or(c[NOW[key]], SEE)) for key in NOW},
        "remark": problem & "",
        "litres": good(xl.SUM(_of_waters("litres"))),
        **blended,
        NOW["alkalinity"]: good(name("Mix_blended_alkalinity")),
        NOW["ph"]: good(name("Mix_blended_pH")),
        "source": count_where(_of_waters("litres") != ""),
        "problem": first(
            (name("Mix_source_problem") != "", name("Mix_source_problem")),
            *first_problem(name("Mix_blended_alkalinity"), name("Mix_blended_pH")),
            "",
        ),
    }


# The salts: each on top of those above it.


def _salt(c: Row) -> Salt:
    return find_salt(salt_names()[c.number - 1])


def _is_lime(salt: Salt) -> bool:
    return bool(salt.alkalinity and salt.ions.calcium and not salt.is_chalk)


def _before(c: Row) -> Row:
    """The liquor with the salts above this one."""
    return Row(SALTS, c.row - 1) if c.number > 1 else Row(WATERS, BLEND)


def _bought(c: Row) -> tuple[Formula, ...]:
    strength = first((c.strength == "", ""), c.strength)
    return c.salt, c.grams, name("Mix_litres"), strength


def _after_salt(key: str, called: str) -> Callable[[Row], Formula]:
    def formula(c: Row) -> Formula:
        before = _before(c)
        settled = name("Lime_settled") if _is_lime(_salt(c)) else 0
        liquor = before.now_alkalinity, before.now_ph
        salted = call(called, *liquor, *_bought(c), _ions(before), 20, 0, settled)
        unchanged = any_of(c.grams == 0, xl.ISTEXT(before.now_alkalinity))
        return xl.IF(unchanged, before[NOW[key]], salted)

    return formula


def _salt_given(c: Row, answer: Formula) -> Formula:
    given = all_of(c.amount != "", is_number(_before(c).now_alkalinity))
    return when(given, xl.IF(is_number(c.now_alkalinity), answer, SEE))


def _gained(c: Row) -> Formula:
    return xl.ROUND(c.now_alkalinity - _before(c).now_alkalinity, 9)


def _salt_ion(place: int, ion: str) -> Callable[[Row], Formula]:
    def formula(c: Row) -> Formula:
        held = xl.INDEX(call("SALT_IONS", *_bought(c)), 1, place)
        salt = _salt(c)
        if ion == "calcium" and salt.alkalinity and salt.ions.calcium:
            # less the calcium of what stays undissolved, or falls
            held = held - (c.whole - _gained(c)) / call("HARDNESS", 1, 0)
        return _salt_given(c, held)

    return formula


def _ion_so_far(ion: str) -> Callable[[Row], Formula]:
    """An ion of the liquor with this salt and those above it."""
    return lambda c: xl.IF(
        is_number(c.now_alkalinity),
        _before(c)[NOW[ion]] + xl.N(c[ion]),
        c.now_alkalinity,
    )


def _salt_note(c: Row) -> Formula:
    salt = _salt(c)
    words = part("")
    if salt.is_chalk:
        undissolved = c.grams * (1 - _gained(c) / c.whole)
        words = when(
            _gained(c) < 0.99 * c.whole,
            joined(shown(undissolved, 0), " g stay undissolved: it dissolves poorly."),
        )
    aim = "alkalinity" if salt.alkalinity else _aim(salt)
    unit = "mg/L alkalinity" if salt.alkalinity else f"mg/L {aim}"
    adds = first(
        (is_number(c.for_ten), joined(shown(c.for_ten, 0), f" g adds 10 {unit}.")), c.for_ten
    )
    said = first(
        (xl.NOT(GOOD), ""),
        (c.grams == 0, adds),
        (xl.ISTEXT(_before(c).now_alkalinity), ""),
        *first_problem(c.now_alkalinity),
        words,
    )
    caustic = " Caustic: goggles and gloves; keep to its safety data sheet."
    return said & caustic if _is_lime(salt) else said


def _aim(salt: Salt) -> str:
    """What a salt is weighed for."""
    if salt.alkalinity:
        return "alkalinity"
    return "chloride" if salt.ions.chloride else "sulfate"


def _for_ten(c: Row) -> Formula:
    salt, _, litres, strength = _bought(c)
    mass = call("SALT_MASS", salt, _aim(_salt(c)), 10, litres, strength)
    return when(all_of(GOOD, c.grams == 0), mass)


def _whole_alkalinity(c: Row) -> Formula:
    """What all of a salt would bring, where not all of it dissolves or stays."""
    salt = _salt(c)
    if not (salt.alkalinity and salt.ions.calcium):
        return part("")
    return _salt_given(c, call("SALT_ALKALINITY", *_bought(c)))


SALTS = Table(
    "Salted",
    head=SALT_HEAD,
    rows=len(salt_names()),
    followed=True,
    columns=[
        Column("salt", "Salt, for all of the blend"),
        Input("amount", "Weight, g", number="ml", limits=(0, 1e8, "A weight in g")),
        Input("strength", "Strength, mass % (empty: usual)", number="share"),
        *(
            Shown(ion, f"{ion.title()}, mg/L", _salt_ion(place, ion), number="share")
            for place, ion in enumerate(Ions._fields, 1)
        ),
        Shown(
            "alkalinity",
            "Alkalinity, mg/L as CaCO3",
            lambda c: _salt_given(c, _gained(c)),
            number="share",
        ),
        Shown(
            "ph",
            "pH with the salts so far",
            lambda c: _salt_given(c, c.now_ph),
            number="ph",
        ),
        Shown("remark", "Remark", _salt_note, look=("remark",)),
        Working("grams", "g", lambda c: xl.IF(c.amount == "", 0, c.amount)),
        *(
            Working(
                NOW[ion],
                ion.title(),
                _ion_so_far(ion),
            )
            for ion in Ions._fields
        ),
        Working(
            NOW["alkalinity"], "Alkalinity", _after_salt("alkalinity", "ALKALINITY_AFTER_SALT")
        ),
        Working(NOW["ph"], "pH", _after_salt("ph", "PH_AFTER_SALT")),
        Working(
            "count",
            "Salts so far",
            lambda c: (
                (xl.N(_before(c)["count"]) if c.number > 1 else part(0)) + xl.IF(c.grams == 0, 0, 1)
            ),
        ),
        Working("whole", "Alkalinity, if all of it counts", _whole_alkalinity, width=46),
        Working("for_ten", "g for 10 mg/L", _for_ten),
    ],
)


def _liquor_cells() -> dict[str, Formula]:
    """The row of the liquor, by the columns of the salts."""
    last = Row(SALTS, SALT_LAST)
    alkalinity = last.now_alkalinity
    return {
        "amount": when(is_number(alkalinity), xl.SUM(SALTS.all("amount"))),
        **{key: when(name("Mix_used") > 0, number_or(last[NOW[key]], SEE)) for key in NOW},
        "remark": first(
            (is_number(alkalinity), "This is what the sheet Water hands on, before any acid."),
            alkalinity,
        ),
    }


# The acid and the target profile.

CHOSEN = Form(
    row=ACID,
    span=2,
    lines=[
        Typed(
            "Acid on the shelf (empty: none)",
            example=scenario.BLEND.acid,
            choice="=Shelf_label",
            what="Acid",
        )
    ],
)
AIM = Form(
    row=ACID,
    label=4,
    figure=5,
    look="text",
    lines=[
        Typed(
            "Target pH",
            example=scenario.BLEND.target_ph,
            number="ph",
            limits=(2.5, 11, "A target pH"),
        )
    ],
)

LABELLED, AIMED = (ref(xl_rowcol_to_cell(form.row, form.figure)) for form in (CHOSEN, AIM))


def _with_acid(answer: Formula) -> Formula:
    return when(name("Mix_acid_chosen") == 1, answer)


_LIQUOR = name("Mix_alkalinity"), name("Mix_pH")
_ACID = name("Mix_litres"), name("Mix_acid"), name("Mix_liquid")
_WATER = name("Mix_ions"), 20, name("CO2_lost")


def _reading(lost: Formula | int) -> Formula:
    """What the dosed liquor reads once this share of the gas has left."""
    return _with_acid(
        call("PH_AFTER_ACID", *_LIQUOR, name("Mix_ml"), *_ACID, name("Mix_ions"), 20, lost)
    )


_ON_SHELF = name("Mix_shelf_row") > 0
STEPS = Form(
    row=ACID_HEAD,
    label=WORKINGS,
    figure=WORKINGS + 1,
    look="text",
    lines=[
        Answer(label, formula, name=f"Mix_{ending}", look=("cell",))
        for ending, label, formula in (
            ("shelf_row", "Shelf no.", shelf_row(LABELLED)),
            (
                "acid_chosen",
                "Acid chosen",
                xl.IF(all_of(LABELLED != "", is_number(name("Mix_alkalinity"))), 1, 0),
            ),
            (
                "acid",
                "Acid",
                _with_acid(when(_ON_SHELF, looked_up("Shelf_acid", "Mix_shelf_row"))),
            ),
            (
                "liquid",
                "Strength for mL",
                _with_acid(
                    when(
                        _ON_SHELF,
                        liquid_strength(
                            looked_up("Shelf_measure", "Mix_shelf_row"),
                            looked_up("Shelf_strength", "Mix_shelf_row"),
                        ),
                    )
                ),
            ),
            (
                "target",
                "Target pH",
                xl.IF(
                    AIMED == "",
                    name("Default_target"),
                    AIMED,
                ),
            ),
            (
                "ml",
                "mL at that",
                _with_acid(call("ACID_DOSE", *_LIQUOR, name("Mix_target"), *_ACID, *_WATER)),
            ),
            ("anion", "Anion, mg/L", _with_acid(call("ACID_ANION", name("Mix_ml"), *_ACID))),
            (
                "anion_name",
                "Anion",
                _with_acid(xl.IFERROR(of_acid("anion", name("Mix_acid")), "")),
            ),
            (
                "left",
                "Alkalinity left",
                _with_acid(
                    call("ALKALINITY_AFTER_ACID", *_LIQUOR, name("Mix_ml"), *_ACID, *_WATER)
                ),
            ),
            ("mixed", "pH, no gas lost", _reading(0)),
            ("open", "pH, most gas lost", _reading(name("CO2_lost_to"))),
            (
                "acid_problem",
                "What is missing",
                _with_acid(
                    first((name("Mix_shelf_row") == 0, NO_ACID), *first_problem(name("Mix_ml")), "")
                ),
            ),
        )
    ],
)
_DOSED = all_of(name("Mix_acid_chosen") == 1, name("Mix_acid_problem") == "")


def _at(row: int, key: str) -> Formula:
    """The cell of a figure in a row of the lower part."""
    return ref(xl_rowcol_to_cell(row, SALTS.at[key]))


def _after(key: str, dosed: Formula) -> Formula:
    """A figure of the liquor after the acid; where none is chosen, as it was before."""
    before = _at(LIQUOR, key)
    figure = first((name("Mix_acid_chosen") == 0, before), (_DOSED, dosed), SEE)
    return when(is_number(before), figure)


def _changed(key: str) -> Formula:
    """What the acid changes of a figure."""
    if key == "alkalinity":
        return name("Mix_left") - name("Mix_alkalinity")
    return xl.IF(name("Mix_anion_name") == key, name("Mix_anion"), 0)


#: What the liquor is after the acid.
CHLORIDE, SULFATE, CALCIUM, LEFT = (
    _at(AFTER, key) for key in ("chloride", "sulfate", "calcium", "alkalinity")
)
_KNOWN = is_number(name("Mix_alkalinity"))
CHARACTER = Form(
    row=FIGURES,
    note=2,
    lines=[
        Answer(
            "Sulfate to chloride, mg/mg",
            when(
                xl.COUNT(SULFATE, CHLORIDE) == 2,
                number_or(name("Mix_ratio_said"), "no chloride"),
            ),
            name="Mix_ratio",
            number="ph",
            note="after the acid; above 1 is said to bring out hops (common practice, no source)",
        ),
        Answer(
            "Residual alkalinity",
            when(
                _KNOWN,
                call(
                    "RESIDUAL_ALKALINITY",
                    name("Mix_alkalinity"),
                    xl.INDEX(name("Mix_ions"), 1, 1),
                    xl.INDEX(name("Mix_ions"), 1, 2),
                ),
            ),
            name="Mix_residual",
            number="mg",
            note="mg/L as CaCO3, before the acid: it steers mash pH",
        ),
        Answer(
            "Scale in the hot tank",
            when(
                _KNOWN,
                call(
                    "CALCITE_SCALE",
                    *_LIQUOR,
                    name("Mix_ions"),
                    20,
                    name("Tank_temp_C"),
                    name("CO2_lost"),
                ),
            ),
            name="Mix_scale",
            number="mg",
            note="mg/L as CaCO3, if heated without acid",
        ),
        Typed(
            "Lime: share of chalk settled",
            0,
            name="Lime_settled",
            limits=(0, 1, "The share settled"),
            note="0: dosed and used at once; 1: lime softening, let to settle and drawn off clear",
        ),
    ],
)
RATIO = Form(
    row=STEPS.last + 1,
    label=WORKINGS,
    figure=WORKINGS + 1,
    look="text",
    lines=[
        Answer(
            "Sulfate to chloride",
            when(
                xl.COUNT(SULFATE, CHLORIDE) == 2, call("SULFATE_CHLORIDE_RATIO", SULFATE, CHLORIDE)
            ),
            name="Mix_ratio_said",
            look=("cell",),
        )
    ],
)


def _remark() -> Formula:
    ratio, problem = name("Mix_ratio"), Row(SALTS, SALT_LAST).now_alkalinity
    return first(
        (name("Mix_used") == 0, "No blend yet: choose the waters and give their volumes."),
        *first_problem(problem),
        (
            all_of(name("Mix_acid_chosen") == 1, name("Mix_acid_problem") != ""),
            name("Mix_acid_problem"),
        ),
        joined(
            when(
                xl.N(name("Mix_scale")) > name("Scale_remark"),
                "Scale will fall in the hot tank if heated untreated: dose the acid first, or blend"
                " in more demineralised water. ",
            ),
            when(
                CALCIUM < name("Calcium_low"),
                "Calcium is low for a mash: gypsum or calcium chloride raise it. ",
            ),
            when(
                is_number(ratio),
                first(
                    (ratio > 2, "Much more sulfate than chloride: dry and bitter. "),
                    (ratio < 0.5, "Much more chloride than sulfate: full and soft. "),
                    "Sulfate and chloride are near each other. ",
                ),
            ),
            when(
                xl.N(CHLORIDE) > name("Chloride_taste"),
                "Chloride is at a level that is tasted. ",
            ),
            when(xl.N(SULFATE) > name("Sulfate_taste"), "Sulfate is at a level that is tasted. "),
            when(xl.N(LEFT) < 0, "More acid than alkalinity: raise the target pH. "),
            "Weigh the salts, stir them in until they are dissolved, and check the pH.",
        ),
    )


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [29, 13, 15, *[13] * len(Ions._fields), 13, 10, 46, 3])
    sheet.text(0, 0, "Blend and salts", "title")
    sheet.across(
        1,
        0,
        NOTE,
        "Give the volume of each water and the grams of each salt for all of it; the last lines"
        " compare the liquor with your target. The blend stands on the sheet Water as one more"
        " water, for any batch to use.",
        "lead",
    )
    sheet.cautions(2, NOTE)
    for head in (HEAD, SALT_HEAD):
        sheet.across(head - 1, WORKINGS, WORKINGS + 9, "Workings", "section")
    WATERS.write(sheet, scenario.BLEND.waters, described=False)
    _demineralised(sheet)
    _blend(sheet)
    MIXED.write(sheet)
    _salts(sheet)
    _liquor(sheet)
    _acid(sheet)
    _figures(sheet)
    _chart(book, sheet)
    sheet.finish(area=(0, 0, END, NOTE), tall=1)


def _demineralised(sheet: Sheet) -> None:
    """Demineralised water: a row whose figures are known."""
    c = Row(WATERS, DEMINERALISED)
    sheet.text(DEMINERALISED, 0, "Demineralised water", "cell")
    amount = WATERS.at["amount"]
    volume = scenario.BLEND.demineralised if sheet.book.example else None
    sheet.input(DEMINERALISED, amount, volume, "share")
    sheet.limits((DEMINERALISED, amount), (DEMINERALISED, amount), 0, 1e6, "A volume")
    for column in (*WATERS.page, *WATERS.workings):
        if isinstance(column, Worked):
            WATERS.put(sheet, DEMINERALISED, column.key, column.formula(c))


def _blend(sheet: Sheet) -> None:
    """What the waters make."""
    at = WATERS.at
    sheet.text(BLEND, 0, "Blend", "label")
    for key, formula in _blend_cells().items():
        if key == "amount":
            sheet.formula(BLEND, at[key], formula, "result", "right", "share")
        else:
            WATERS.put(sheet, BLEND, key, formula)
    for ending, key in (
        ("problem", "problem"),
        ("litres", "litres"),
        ("used", "source"),
        ("unsalted_pH", NOW["ph"]),
    ):
        sheet.name_range(f"Mix_{ending}", (BLEND, at[key]))
    for ending, key in (
        ("water_name", "water"),
        ("water_litres", "litres"),
        ("water_pH", NOW["ph"]),
    ):
        sheet.name_range(f"Mix_{ending}", (FIRST, at[key]), (DEMINERALISED, at[key]))


def _salts(sheet: Sheet) -> None:
    given = [(scenario.BLEND.salts.get(salt), None) for salt in salt_names()]
    SALTS.write(sheet, given, described=False)
    for row, salt in enumerate(salt_names(), SALT_FIRST):
        sheet.text(row, 0, salt, "cell")
        if _is_lime(find_salt(salt)):
            sheet.raw.set_row(row, 28)
    at = SALTS.at
    for ending, key in (("salt_name", "salt"), ("salt_number", "count"), ("salt_grams", "grams")):
        sheet.name_range(f"Mix_{ending}", (SALT_FIRST, at[key]), (SALT_LAST, at[key]))


def _liquor(sheet: Sheet) -> None:
    """The blend with all of its salts: what other sheets take."""
    at = SALTS.at
    sheet.text(LIQUOR, 0, "Liquor: blend and salts", "label")
    for key, formula in _liquor_cells().items():
        if key == "amount":
            sheet.formula(LIQUOR, at[key], formula, "result", "right", "ml")
        else:
            SALTS.put(sheet, LIQUOR, key, formula)
    sheet.text(LIQUOR, at["strength"], "", "result")
    ends = at[NOW[Ions._fields[0]]], at[NOW[Ions._fields[-1]]]
    sheet.name_range("Mix_ions", (SALT_LAST, ends[0]), (SALT_LAST, ends[1]))
    sheet.name_range("Mix_alkalinity", (SALT_LAST, at[NOW["alkalinity"]]))
    sheet.name_range("Mix_pH", (SALT_LAST, at[NOW["ph"]]))


def _acid(sheet: Sheet) -> None:
    sheet.across(
        ACID - 1, 0, NOTE, "Acid and target profile, mg/L (alkalinity as CaCO3)", "section"
    )
    CHOSEN.write(sheet)
    AIM.write(sheet)
    sheet.text(ACID, AIM.label, "Target pH (empty: settings)", "right", "label")
    sheet.text(ACID_HEAD - 1, WORKINGS, "Workings: the acid", "section")
    STEPS.write(sheet)
    RATIO.write(sheet)
    sheet.across(ACID_HEAD, 0, IONS - 1, "Liquor", "header")
    titles = [*(ion.title() for ion in Ions._fields), "Alkalinity", "pH", "Remark"]
    sheet.headers(ACID_HEAD, IONS, titles, height=18)
    for row, label in (
        (BROUGHT, "The acid changes"),
        (AFTER, "Liquor after the acid"),
        (TARGET, "Target profile"),
        (LESS, "Liquor minus target"),
    ):
        sheet.text(row, 0, label, "label")
        if row != AFTER:
            sheet.text(row, PH, "", "result")
    look = "result", "right", "share"
    profile = scenario.BLEND.profile if sheet.book.example else (None,) * (PH - IONS)
    for value, key in zip(profile, (*Ions._fields, "alkalinity"), strict=True):
        at, changed = SALTS.at[key], _at(BROUGHT, key)
        sheet.formula(BROUGHT, at, when(_DOSED, _changed(key)), *look)
        sheet.formula(AFTER, at, _after(key, _at(LIQUOR, key) + changed), *look)
        sheet.input(TARGET, at, value, "share")
        both = _at(AFTER, key), _at(TARGET, key)
        sheet.formula(LESS, at, when(xl.COUNT(*both) == 2, both[0] - both[1]), *look)
    sheet.formula(AFTER, PH, _after("ph", name("Mix_target")), "result", "right", "ph")
    sheet.limits((TARGET, IONS), (TARGET, ALKALINITY), 0, 20000, "A figure of the target")
    brings = joined("Brings ", shown(name("Mix_anion"), 0), " mg/L ", name("Mix_anion_name"), ".")
    sheet.formula(
        BROUGHT,
        NOTE,
        first(
            (LABELLED == "", "No acid chosen."),
            (name("Mix_acid_chosen") == 0, "See the remark of the liquor."),
            (name("Mix_acid_problem") != "", name("Mix_acid_problem")),
            brings,
        ),
        "remark",
    )
    reads = joined(
        "pH ",
        shown(name("Mix_mixed"), 2),
        " right after mixing; can climb to ",
        shown(name("Mix_open"), 2),
        " as gas leaves.",
    )
    known = all_of(_DOSED, xl.COUNT(name("Mix_mixed"), name("Mix_open")) == 2)
    sheet.formula(AFTER, NOTE, when(known, reads), "remark")
    for row, words in ((TARGET, "your own; after the acid"), (LESS, "")):
        sheet.text(row, NOTE, words, "remark")


def _figures(sheet: Sheet) -> None:
    sheet.across(FIGURES - 1, 0, ALKALINITY - 2, "What the liquor is", "section")
    CHARACTER.write(sheet)
    sheet.raw.merge_range(REMARK, 0, REMARK + 4, ALKALINITY - 2, "", sheet.book.style("remark"))
    sheet.formula(REMARK, 0, _remark(), "remark")


def _chart(book: Book, sheet: Sheet) -> None:
    chart = columns(
        book, "Ions: target against the liquor after the acid", "Ion", "mg/L", stacked=False
    )
    last = ALKALINITY - 1
    for row, label, colour in ((TARGET, "target", OCHRE), (AFTER, "liquor after the acid", GREEN)):
        chart.add_series(
            {
                "name": label,
                "categories": [NAME, ACID_HEAD, IONS, ACID_HEAD, last],
                "values": [NAME, row, IONS, row, last],
                "fill": {"color": colour},
                "gap": 60,
            }
        )
    sheet.raw.insert_chart(
        FIGURES - 1, ALKALINITY, chart, {"x_scale": 1.03, "y_scale": 1.1, "object_position": 2}
    )
