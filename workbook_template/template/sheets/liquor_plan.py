"""Liquor plan: one page for a batch, from the source to the beer: volumes, salts, acids, pH at each
step, anions, cost.
"""

from __future__ import annotations

from typing import NamedTuple

from xlsxwriter.utility import xl_rowcol_to_cell

from workbook_template.template.anions import (
    ANIONS,
    PRACTICE,
    TASTED,
    less_of,
    shown_anion,
    taste_name,
)
from workbook_template.template.book import BAND, GREEN, LINE, WARN, Book, Sheet
from workbook_template.template.charts import OCHRE, marks, steps
from workbook_template.template.form import Answer, Form
from workbook_template.template.formula import (
    Formula,
    Part,
    all_of,
    call,
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
from workbook_template.template.layout import BLEND_WATERS, cautions_in, looked_up, of_acid, row_of
from workbook_template.template.sheets import blend_salts
from workbook_template.template.table import Row, Shown, Table, Working

NAME = "Liquor plan"
LAST = 6
WORKINGS = 8
WATERS = BLEND_WATERS + 1
SALT_ROWS = 5
VOLUMES = 6
#: Another height than the 15 points of a usual row, which is not written into the file.
CHART_ROWS, CHART_ROW_HEIGHT = 23, 15.75
#: The columns of those that the water brings too.
OF_WATER = {"chloride": 4, "sulfate": 5}

_ROW = name("Mash_plan_row")
_READY, _MASH = name("Page_ready") == 1, name("Page_mash") == 1
_BOTH = all_of(_READY, _MASH)
_BLEND = name("Page_blend_mash") + name("Page_blend_sparge") > 0


def _of_plan(column: str) -> Formula:
    return when(_READY, looked_up(f"Plan_{column}", _ROW))


def _water_of(row: str) -> Formula:
    return looked_up("Water_name", name(row))


def _reading(key: str) -> Formula:
    """A reading of the batch, empty where there is none."""
    cell = looked_up(f"Read_{key}", name("Page_read_row"))
    return when(name("Page_read_row") > 0, first((is_number(cell), cell), ""))


def _logged(column: str) -> Formula:
    """What the log has of the batch, empty where it has nothing."""
    cell = looked_up(f"Log_{column}", name("Page_log_row"))
    return when(name("Page_log_row") > 0, first((is_number(cell), cell), ""))


def _first_water() -> Formula:
    """The number of the first water of the blend; the last is demineralised water."""
    cases = [
        (is_number(xl.INDEX(name("Mix_water_litres"), number)), number)
        for number in range(1, WATERS)
    ]
    return first(*cases, WATERS)


def _cautions(acid: Part, strength: Part) -> Formula:
    return call("ACID_CAUTIONS", acid, strength)


_SPARGE_ACID = looked_up("Shelf_acid", name("Page_shelf"))
PAGE = Form(
    row=3,
    label=WORKINGS,
    figure=WORKINGS + 1,
    look="text",
    lines=[
        Answer(label, formula, name=named, look=("cell",))
        for named, label, formula in (
            (
                "Page_ready",
                "Batch has a dose",
                first((_ROW > 0, looked_up("Plan_complete", _ROW)), 0),
            ),
            (
                "Page_mash",
                "Mash worked out",
                xl.IF(all_of(_ROW > 0, name("Mash_problem") == ""), 1, 0),
            ),
            (
                "Page_log_row",
                "Row of the log",
                first((_ROW > 0, row_of(name("Mash_batch"), "Log_batch")), 0),
            ),
            (
                "Page_read_row",
                "Row of the readings",
                first((_ROW > 0, row_of(name("Mash_batch"), "Read_batch")), 0),
            ),
            (
                "Page_water",
                "Sparge: water no.",
                first((_READY, looked_up("Plan_water_row", _ROW)), 0),
            ),
            (
                "Page_shelf",
                "Sparge: shelf no.",
                first((_READY, looked_up("Plan_shelf_row", _ROW)), 0),
            ),
            ("Page_litres", "Sparge: liquor, L", _of_plan("cold")),
            ("Page_amount", "Sparge: mL, or g", _of_plan("amount")),
            ("Page_money", "Sparge: cost", _of_plan("money")),
            ("Page_anion", "Sparge: anion, mg/L", _of_plan("added")),
            (
                "Page_blend_mash",
                "Mash from the blend",
                first((_MASH, xl.IF(_water_of("Mash_water_row") == blend_salts.NAME, 1, 0)), 0),
            ),
            (
                "Page_blend_sparge",
                "Sparge from the blend",
                first((_READY, xl.IF(_water_of("Page_water") == blend_salts.NAME, 1, 0)), 0),
            ),
            (
                "Page_blended",
                "L from the blend",
                xl.IF(name("Page_blend_mash") == 1, name("Mash_litres"), 0)
                + xl.IF(name("Page_blend_sparge") == 1, name("Page_litres"), 0),
            ),
            ("Page_source", "First water of the blend", _first_water()),
            ("Page_all", "L in all", when(_BOTH, name("Mash_litres") + name("Page_litres"))),
            (
                "Page_cautions",
                "Cautions: sparge",
                when(
                    name("Page_shelf") > 0,
                    _cautions(_SPARGE_ACID, looked_up("Shelf_strength", name("Page_shelf"))),
                ),
            ),
            (
                "Page_mash_cautions",
                "Cautions: mash",
                when(
                    name("Mash_shelf_row") > 0,
                    _cautions(
                        name("Mash_acid_name"), looked_up("Shelf_strength", name("Mash_shelf_row"))
                    ),
                ),
            ),
        )
    ],
)


class Pair(NamedTuple):
    """A line of the first section: its figures for mash and sparge, where they are known, and both
    together.
    """

    label: str
    mash: Part
    sparge: Part
    total: Formula | None = None
    number: str = "plain"
    note: str = ""
    acid: bool = False


def _in_unit(litres: str) -> Formula:
    return name(litres) / call("LITRES", 1, name("Volume_unit"))


LIQUORS = (
    Pair(
        "Water",
        _water_of("Mash_water_row"),
        _water_of("Page_water"),
        note="from the sheets Mash plan and Batch plan",
    ),
    Pair(
        "Liquor, L at 20 °C", name("Mash_litres"), name("Page_litres"), name("Page_all"), "litres"
    ),
    Pair(
        '="Liquor, "&Volume_unit&" at 20 °C"',
        _in_unit("Mash_litres"),
        _in_unit("Page_litres"),
        when(is_number(name("Page_all")), _in_unit("Page_all")),
        "volume",
    ),
)


def _shared(key: str, used, whole, number: str) -> list[Shown]:
    """What of a water or a salt of the blend goes into either liquor, and into both, by volume."""
    parts = (
        ("mash", xl.IF(name("Page_blend_mash") == 1, name("Mash_litres"), 0)),
        ("sparge", xl.IF(name("Page_blend_sparge") == 1, name("Page_litres"), 0)),
        ("all", name("Page_blended")),
    )

    def of(litres: Formula):
        return lambda c: when(
            _any_blend(),
            first((used(c), whole(c) * litres / name("Mix_litres")), ""),
        )

    return [
        Shown(f"{key}_{end}", "", of(litres), number=number, look=("right",), heading=("text",))
        for end, litres in parts
    ]


def _any_blend() -> Formula:
    return all_of(_BLEND, is_number(name("Mix_alkalinity")))


def _next_water(c: Row) -> Formula:
    """The number of the next water of the blend that has litres; beyond them where there is
    none.
    """

    def is_next(number: int) -> Formula:
        has_litres = is_number(xl.INDEX(name("Mix_water_litres"), number))
        if c.number == 1:
            return has_litres
        above = ref(xl_rowcol_to_cell(c.row - 1, c.table.at["no"]))
        return all_of(above < number, has_litres)

    return first(*((is_next(number), number) for number in range(1, WATERS + 1)), WATERS + 1)


def _indented(label: Formula, *more: Part) -> Formula:
    return joined("    ", label, *more)


BLENDED = Table(
    "Page_water",
    head=VOLUMES + len(LIQUORS),
    rows=WATERS,
    workings=WORKINGS + 3,
    columns=[
        Shown(
            "name",
            "Waters of the blend, L at 20 °C",
            lambda c: when(
                _any_blend(),
                first((c.no <= WATERS, _indented(xl.INDEX(name("Mix_water_name"), c.no))), ""),
            ),
            look=("text",),
            heading=("text",),
        ),
        *_shared(
            "litres",
            lambda c: c.no <= WATERS,
            lambda c: xl.INDEX(name("Mix_water_litres"), c.no),
            "litres",
        ),
        Working("no", "No. of each water used", _next_water),
    ],
)
SALTED = Table(
    "Page_salt",
    head=BLENDED.last + 1,
    rows=SALT_ROWS,
    workings=WORKINGS + 3,
    columns=[
        Shown(
            "name",
            "Salts of the blend",
            lambda c: when(
                _any_blend(),
                first((c.no > 0, _indented(xl.INDEX(name("Mix_salt_name"), c.no), ", g")), ""),
            ),
            look=("text",),
            heading=("text",),
        ),
        *_shared(
            "grams", lambda c: c.no > 0, lambda c: xl.INDEX(name("Mix_salt_grams"), c.no), "ml"
        ),
        Working("no", "No. of each salt used", lambda c: row_of(part(c.number), "Mix_salt_number")),
    ],
)
SOURCES, SALTS = BLENDED.first, SALTED.first
ACIDS = SALTED.last + 1


def _measured(amount: Formula, unit: Formula) -> Formula:
    return joined(xl.FIXED(amount, xl.IF(amount < 100, 1, 0), True), " ", unit)


def _money(cost: str) -> Formula:
    return number_or(name(cost), "see remark")


_UNIT = looked_up("Shelf_measure", name("Page_shelf"))
DOSES = (
    Pair("Acid", name("Mash_shelf_label"), looked_up("Shelf_label", name("Page_shelf")), acid=True),
    Pair(
        "Dose",
        _measured(name("Mash_amount"), name("Mash_unit")),
        _measured(name("Page_amount"), _UNIT),
        acid=True,
    ),
    Pair(
        "First portion",
        _measured(name("Mash_amount") * name("First_portion"), name("Mash_unit")),
        _measured(name("Page_amount") * name("First_portion"), _UNIT),
        acid=True,
    ),
    Pair(
        '="Cost, "&Currency', _money("Mash_money"), _money("Page_money"), None, "money", acid=True
    ),
)
COST = ACIDS + len(DOSES) - 1
CAUTIONS = COST + 2
PH_TITLE = CAUTIONS + 3


# pH at each step.


class Step(NamedTuple):
    """A step from the source to the beer: what is expected, between which ends, what was read, and
    what that figure is.
    """

    step: str
    expected: Part
    ends: tuple[Part, Part] | None
    read: Part
    words: Part
    number: str = "ph"


def _read_or_logged(key: str, column: str) -> Formula:
    read = _reading(key)
    return first((is_number(read), read), _logged(column))


_USUAL = f"usual value ({PRACTICE})"
PH_STEPS = (
    Step(
        "Source",
        first(
            (_BLEND, xl.INDEX(name("Mix_water_pH"), name("Page_source"))),
            (_READY, looked_up("Water_pH", name("Page_water"))),
            "",
        ),
        None,
        "",
        first(
            (_BLEND, joined("report of ", xl.INDEX(name("Mix_water_name"), name("Page_source")))),
            "report",
        ),
    ),
    Step(
        "Blend",
        when(_BLEND, name("Mix_unsalted_pH")),
        None,
        "",
        first((_BLEND, "predicted: carbonate of the blend"), "no blend"),
    ),
    Step(
        "Mash liquor",
        when(_MASH, looked_up("Water_pH", name("Mash_water_row"))),
        None,
        "",
        first((name("Page_blend_mash") == 1, "predicted: blend with its salts"), "report"),
    ),
    Step(
        "Mash",
        when(_MASH, name("Mash_after")),
        (when(_MASH, name("Mash_after_low")), when(_MASH, name("Mash_after_high"))),
        _reading("mash_ph"),
        first(
            (name("Mash_shelf_row") > 0, "predicted, with the acid of the mash"),
            "predicted, without acid",
        ),
        "rough_ph",
    ),
    Step(
        "Sparge",
        when(_READY, looked_up("Plan_target", _ROW)),
        (
            when(_READY, looked_up("Plan_mixed_pH", _ROW)),
            when(_READY, looked_up("Plan_open_pH", _ROW)),
        ),
        _read_or_logged("mixed", "after"),
        "planned; right after mixing, and once gas left",
    ),
    Step(
        "Last runnings",
        name("Runoff_pH"),
        None,
        _read_or_logged("last", "last"),
        f"limit to stop at ({PRACTICE})",
    ),
    Step(
        "Kettle",
        (name("Kettle_pH_low") + name("Kettle_pH_high")) / 2,
        (name("Kettle_pH_low"), name("Kettle_pH_high")),
        _read_or_logged("kettle_ph", "kettle"),
        _USUAL,
    ),
    Step("Beer", name("Beer_pH_usual"), None, _read_or_logged("beer_ph", "beer"), _USUAL),
)
STEPS = len(PH_STEPS)


def _step(c: Row) -> Step:
    return PH_STEPS[c.number - 1]


def _number_of(key: str):
    return lambda c: number_or(c[key], "")


PH = Table(
    "Page_pH",
    head=PH_TITLE + 1,
    rows=STEPS,
    workings=WORKINGS,
    columns=[
        Shown("step", "Step", lambda c: part(_step(c).step), look=("label",)),
        Shown("expected_shown", "Expected", _number_of("expected"), number="ph"),
        Shown("from_shown", "from", _number_of("from"), number="ph"),
        Shown("to_shown", "to", _number_of("to"), number="ph"),
        Shown("read", "Read", lambda c: part(_step(c).read), number="ph"),
        Shown(
            "words",
            "What the expected figure is",
            lambda c: part(_step(c).words),
            span=2,
            look=("note",),
        ),
        Working("drawn", "Step", lambda c: part(_step(c).step)),
        Working("expected", "Expected", lambda c: part(_step(c).expected)),
        Working("from", "from", lambda c: part((_step(c).ends or ("", ""))[0])),
        Working("to", "to", lambda c: part((_step(c).ends or ("", ""))[1])),
    ],
)
PH_HEAD, PH_FIRST, PH_LAST = PH.head, PH.first, PH.last
CHART = PH_LAST + 2
ANION_TITLE = CHART + CHART_ROWS


# The anions.


def _anion(c: Row) -> str:
    return ANIONS[c.number - 1]


def _in_liquor(ready: Formula, water: str, acid: Formula, added: str):
    """An anion in a liquor: what the water has, and what its acid adds."""

    def formula(c: Row) -> Formula:
        anion = _anion(c)
        own: Part = 0
        if anion in OF_WATER:
            own = xl.INDEX(name("Water_ions"), name(water), OF_WATER[anion])
        brings = xl.IFERROR(of_acid("anion", acid), "")
        known = first(
            (
                brings == anion,
                first((is_number(name(added)), own + name(added)), "see remark"),
            ),
            own,
        )
        given = looked_up("Water_ions_given", name(water)) == 5
        return when(ready, first((given, known), "?"))

    return formula


def _level(c: Row) -> Part:
    return name(taste_name(_anion(c))) if _anion(c) in TASTED else "no level"


def _taste(c: Row) -> Formula:
    """What the anion does to the taste."""
    anion = _anion(c)
    if anion == shown_anion("phosphate"):
        return when(xl.N(c.both) > 0, f"no taste of its own ({PRACTICE})")
    if anion not in TASTED:
        return part("")
    level = name(taste_name(anion))
    return when(
        is_number(c.both),
        first(
            (c.both >= level, f"tasted: {less_of(anion)}"),
            (c.both >= 0.75 * level, f"nearly tasted: {less_of(anion)}"),
            "",
        ),
    )


ANION = Table(
    "Page_anion",
    head=ANION_TITLE + 1,
    rows=len(ANIONS),
    columns=[
        Shown("anion", "Anion", lambda c: part(_anion(c)), look=("label",)),
        Shown(
            "mash",
            "Mash liquor",
            _in_liquor(_MASH, "Mash_water_row", name("Mash_acid_name"), "Mash_anion"),
            number="mg",
        ),
        Shown(
            "sparge",
            "Sparge liquor",
            _in_liquor(_READY, "Page_water", _SPARGE_ACID, "Page_anion"),
            number="mg",
        ),
        Shown(
            "both",
            "Both together",
            lambda c: when(
                all_of(is_number(name("Page_all")), xl.COUNT(c.mash, c.sparge) == 2),
                (c.mash * name("Mash_litres") + c.sparge * name("Page_litres")) / name("Page_all"),
            ),
            number="mg",
        ),
        Shown("level", "Tasted from", lambda c: part(_level(c)), number="mg"),
        Shown("remark", "Remark", _taste, span=2, look=("note",)),
    ],
)
ANION_HEAD = ANION.head
REMARK = ANION.last + 3


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [34, 19, 19, 12, 11, 9, 42, 3, 26, 14, 12, 12, 12, 12])
    sheet.text(0, 0, "Liquor plan", "title")
    sheet.across(
        1,
        0,
        LAST,
        "The batch that is chosen on the sheet Sparge day, on one page to print. Nothing is filled"
        " in here: what was read stands on the sheet Readings, or for batches without it on the"
        " sheet Log.",
        "lead",
        height=28,
    )
    sheet.text(2, WORKINGS, "Workings: the batch", "section")
    PAGE.write(sheet)
    _heading(sheet)
    _pairs(sheet)
    _ph(book, sheet)
    sheet.across(
        ANION_TITLE,
        0,
        LAST,
        "Anions of liquor and acid, without what the malt brings, mg/L",
        "section",
    )
    ANION.write(sheet, height=18)
    sheet.across(REMARK - 1, 0, LAST, "Remark", "section")
    sheet.raw.merge_range(REMARK, 0, REMARK + 2, LAST, "", sheet.book.style("remark"))
    sheet.formula(REMARK, 0, _remark(), "remark")
    for column, width in ((WORKINGS, 26), *((WORKINGS + more, 13) for more in range(1, 6))):
        sheet.raw.set_column(column, column, width, book.style("text"), {"level": 1})
    sheet.finish(landscape=False, area=(0, 0, REMARK + 2, LAST), tall=1)


def _heading(sheet: Sheet) -> None:
    date = looked_up("Plan_date", _ROW)
    for column, label, formula, number in (
        (
            0,
            "Batch",
            first((_ROW > 0, name("Mash_batch")), "choose a batch on the sheet Sparge day"),
            "plain",
        ),
        (3, "Date", when(_READY, number_or(date, "no date")), "date"),
    ):
        sheet.text(2, column, label, "label")
        sheet.raw.merge_range(2, column + 1, 2, column + 2, "", sheet.book.style("result", number))
        sheet.formula(2, column + 1, formula, "result", "text", number)


def _pairs(sheet: Sheet) -> None:
    """Liquors, what of the blend goes into them, and their acids."""
    sheet.across(VOLUMES - 2, 0, LAST, "Liquors, salts and acids", "section")
    sheet.headers(VOLUMES - 1, 0, ["For", "Mash", "Sparge", "In all"], height=16)
    sheet.across(VOLUMES - 1, 4, LAST, "Note", "header")
    BLENDED.write(sheet, height=15)
    SALTED.write(sheet, height=15)
    sheet.raw.conditional_format(
        BLENDED.first,
        1,
        SALTED.last,
        3,
        {
            "type": "formula",
            "criteria": f"={ref(xl_rowcol_to_cell(BLENDED.first, 1)) != ''}",
            "format": sheet.book.workbook.add_format(
                {"bg_color": BAND, "border": 1, "border_color": LINE}
            ),
        },
    )
    sour = all_of(_MASH, name("Mash_shelf_row") > 0)
    for row, pair in (*enumerate(LIQUORS, VOLUMES), *enumerate(DOSES, ACIDS)):
        look = "result", "right", pair.number
        sheet.label(row, 0, pair.label)
        sheet.formula(row, 1, when(sour if pair.acid else _MASH, pair.mash), *look)
        sheet.formula(row, 2, when(_READY, pair.sparge), *look)
        if pair.total is not None:
            sheet.formula(row, 3, pair.total, *look)
        sheet.text(row, 4, pair.note, "note")
    costs = ref(f"{xl_rowcol_to_cell(COST, 1)}:{xl_rowcol_to_cell(COST, 2)}")
    known = xl.COUNT(costs) == xl.IF(name("Mash_shelf_row") > 0, 2, 1)
    total = when(_BOTH, first((known, xl.SUM(costs)), "see remark"))
    sheet.formula(COST, 3, total, "result", "right", "money")
    sheet.name_range("Page_cost", (COST, 3))
    for row, formula in (
        (
            CAUTIONS,
            first(
                (name("Page_shelf") > 0, cautions_in(name("Page_cautions"))), name("Any_cautions")
            ),
        ),
        (
            CAUTIONS + 1,
            when(name("Mash_shelf_row") > 0, cautions_in(name("Page_mash_cautions"))),
        ),
    ):
        sheet.across(row, 0, LAST, formula, "caution", height=72, formula=True)


def _ph(book: Book, sheet: Sheet) -> None:
    sheet.across(PH_TITLE, 0, LAST, "pH at each step, of a cooled sample", "section")
    PH.write(sheet, height=18)
    for row, step in enumerate(
        PH_STEPS, PH.first
    ):  # a prediction is shown no closer than it is known
        for key in ("expected", "from", "to") if step.number != "ph" else ():
            figure = number_or(Row(PH, row)[key], "")
            sheet.formula(row, PH.at[f"{key}_shown"], figure, "result", "right", step.number)
    chart = steps(
        book,
        "pH from the source to the beer",
        "Step",
        "pH, cooled sample",
        y_axis={"min": 3, "max": 9, "num_format": "0"},
    )
    dot = {"type": "circle", "size": 7, "fill": {"color": WARN}, "border": {"color": WARN}}
    # points and no line: a line falls to the floor where a step has no figure, as if it were one
    for title, key, look in (
        ("expected", "expected", marks(GREEN)),
        ("from", "from", _dashes(OCHRE)),
        ("to", "to", _dashes(OCHRE)),
        ("read", "read", {"line": {"none": True}, "marker": dot}),
    ):
        drawn, column = PH.at["drawn"], PH.at[key]
        chart.add_series(
            {
                "name": title,
                "categories": [NAME, PH_FIRST, drawn, PH_LAST, drawn],
                "values": [NAME, PH_FIRST, column, PH_LAST, column],
                **look,
            }
        )
    # As high as the chart is in every program: rows without a height of their own are lower in
    # some.
    for row in range(CHART, ANION_TITLE):
        sheet.raw.set_row(row, CHART_ROW_HEIGHT)
    sheet.raw.insert_chart(CHART, 0, chart, {"x_scale": 2.2, "y_scale": 1.38, "object_position": 2})


def _dashes(colour: str) -> dict:
    return {
        "line": {"none": True},
        "marker": {
            "type": "long_dash",
            "size": 9,
            "fill": {"color": colour},
            "border": {"color": colour},
        },
    }


def _remark() -> Formula:
    short = name("Page_blended") - name("Mix_litres")
    of_blend = first(
        (
            name("Page_blended") > name("Mix_litres") * 1.005,
            joined(
                "The blend is ",
                shown(short, 0),
                " L short of both liquors: make more of it, with salts in proportion. ",
            ),
        ),
        "The blend is enough for both liquors. ",
    )
    more = when(
        xl.MAX(name("Mix_salt_number")) > SALT_ROWS,
        "There are more salts than fit here: see Blend and salts. ",
    )
    unpriced = first(
        (is_number(name("Page_cost")), ""),
        "The total has no cost of one acid: see Settings for pack and price. ",
    )
    return first(
        (_ROW == 0, "Choose a batch of the plan on the sheet Sparge day."),
        (name("Page_ready") == 0, "This batch has no dose yet: see its remark on the batch plan."),
        (name("Mash_problem") != "", joined("Mash: ", name("Mash_problem"))),
        joined(
            when(_BLEND, of_blend),
            when(_BLEND, more),
            unpriced,
            "Give the first portion of each acid, mix, read, then the rest. Predicted and usual"
            " figures are a guide; the meter decides.",
        ),
    )
