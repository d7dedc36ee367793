"""Last runnings: when to stop, by pH and gravity, and what the kettle then needs."""

from __future__ import annotations

from xlsxwriter.utility import xl_range_abs, xl_rowcol_to_cell

from workbook_template.template.book import GREEN, Book, Sheet
from workbook_template.template.charts import LIMIT, LIMIT_2, OCHRE, OFF, scatter, series
from workbook_template.template.form import Answer, Form, Typed
from workbook_template.template.formula import (
    Formula,
    all_of,
    call,
    first,
    is_number,
    joined,
    name,
    ref,
    shown,
    when,
    xl,
)
from workbook_template.template.layout import looked_up
from workbook_template.template.sheets import readings
from workbook_template.template.sheets.settings import RUNOFF_PRESETS
from workbook_template.template.sheets.sparge_day import reading
from workbook_template.template.table import Row, Shown, Table, Working

NAME = "Last runnings"
HEAD = 10
#: First column beside the readings: labels, then figures, then notes to the page's end.
SIDE = 7
LAST = SIDE + 2
WORKINGS = 14
#: Limits that no reading of the runnings passes, where only the other one is wanted: the ends of a
#: pH reading and a gravity.
NO_PH_LIMIT, NO_PLATO_LIMIT = 11, 0
#: What the function says first where no limit is reached.
_ON = "no limit reached"


def _limit(own: str, other: str, which: int) -> Formula:
    """The limit of the preset that is chosen; of one's own two limits one may be left out."""
    presets = [
        (name("Runoff_preset") == preset[0], preset[which]) for preset in RUNOFF_PRESETS[:-1]
    ]
    return first(
        *presets,
        (name(own) != "", name(own)),
        (name(other) != "", "no limit"),
        "type your own limit",
    )


BATCH = Form(
    row=2,
    span=3,
    lines=[
        Answer(
            "Batch",
            first(
                (name("Day_batch") == "", "choose a batch on the sheet Sparge day"),
                name("Day_batch"),
            ),
            look=("result", "text"),
        )
    ],
)
PRESET = Form(
    row=4,
    span=3,
    lines=[
        Typed(
            "Limits",
            RUNOFF_PRESETS[1][0],
            name="Runoff_preset",
            choice=[preset[0] for preset in RUNOFF_PRESETS],
            what="Preset",
        )
    ],
)
LIMITS = Form(
    row=5,
    lines=[
        Typed("own: highest pH", name="Runoff_own_pH", number="ph", limits=(4, 9, "A pH")),
        Typed(
            "own: lowest °P", name="Runoff_own_plato", number="share", limits=(0, 20, "A gravity")
        ),
        Answer(
            "Highest pH",
            _limit("Runoff_own_pH", "Runoff_own_plato", 1),
            name="Runoff_pH",
            number="ph",
        ),
        Answer(
            "Lowest °P",
            _limit("Runoff_own_plato", "Runoff_own_pH", 2),
            name="Runoff_plato",
            number="share",
        ),
    ],
)


def _of_run(key: str):
    """A figure of the batch of the day, by its number among the batch's readings."""

    def formula(c: Row) -> Formula:
        cell = looked_up(f"Run_{key}", c.row_of)
        return when(c.row_of > 0, first((cell == "", ""), cell))

    return formula


def _drawn(key: str, ok: str):
    """A figure of the chart: where one is missing that of the row above, so that the line goes on
    from there.
    """

    def formula(c: Row) -> Formula:
        column = c.table.at
        here = ref(
            xl_range_abs(c.table.first, column[ok], c.table.last, column[ok]),
        )
        if c.number > 1:
            drawn = c.table.at[f"{key}_of_{ok}"]
            return first((c[ok] == 1, c[key]), ref(xl_rowcol_to_cell(c.row - 1, drawn)))
        found = xl.IFERROR(xl.INDEX(c.table.all(key), xl.MATCH(1, here, 0)), OFF)
        return first((c[ok] == 1, c[key]), found)

    return formula


def _series(ok: str, key: str) -> list[Working]:
    """Where the chart draws a series: whether the row has it, and both of its figures."""
    return [
        Working(ok, f"Chart: {key} read", lambda c: xl.IF(xl.COUNT(c.volume, c[key]) == 2, 1, 0)),
        Working(f"volume_of_{ok}", "    run off", _drawn("volume", ok)),
        Working(f"{key}_of_{ok}", f"    {key}", _drawn(key, ok)),
    ]


LINES = Table(
    "Runoff",
    head=HEAD,
    rows=readings.RUNNINGS,
    workings=WORKINGS,
    columns=[
        Shown(
            "volume",
            '="Run off, "&Volume_unit',
            _of_run("volume"),
            number="volume",
            name="litres",
        ),
        Shown("ph", "pH, cooled", _of_run("ph"), number="ph", name="phs"),
        Shown("plato", "Gravity, °P", _of_run("plato"), number="share", name="platos"),
        Shown(
            "sg",
            "Gravity, SG",
            lambda c: when(is_number(c.plato), call("GRAVITY_SG", c.plato)),
            number="density",
        ),
        Shown(
            "ph_limit", "pH limit", lambda c: when(c.volume != "", name("Runoff_pH")), number="ph"
        ),
        Shown(
            "plato_limit",
            "°P limit",
            lambda c: when(c.volume != "", name("Runoff_plato")),
            number="share",
        ),
        Working(
            "row_of",
            "Row of the runnings",
            lambda c: xl.IFERROR(xl.MATCH(c.number, name("Run_nth"), 0), 0),
        ),
        *_series("ph_read", "ph"),
        *_series("plato_read", "plato"),
    ],
)

_READ = xl.MAX(name("Run_nth"))
_ANSWERS = LINES.end + 2


def _used(limit: str, none: float) -> Formula:
    return first((name(limit) == "no limit", none), name(limit))


_COLUMNS = (
    name("Runoff_litres"),
    name("Runoff_phs"),
    name("Runoff_platos"),
    name("Runoff_pH_used"),
    name("Runoff_plato_used"),
)
CUTOFF = Form(
    row=HEAD + 1,
    label=_ANSWERS,
    figure=_ANSWERS + 1,
    look="text",
    lines=[
        Answer(label, formula, name=named, look=("cell",))
        for named, label, formula in (
            ("Runoff_read", "Readings of the batch", _READ),
            ("Runoff_pH_used", "Highest pH, or none", _used("Runoff_pH", NO_PH_LIMIT)),
            ("Runoff_plato_used", "Lowest °P, or none", _used("Runoff_plato", NO_PLATO_LIMIT)),
            ("Runoff_stop", "Stop at", call("RUNOFF_CUTOFF", *_COLUMNS)),
            ("Runoff_why", "Why", call("RUNOFF_REASON", *_COLUMNS)),
        )
    ],
)


def _stop() -> Formula:
    return first(
        (name("Runoff_read") == 0, "no reading"),
        (name("Runoff_read") > readings.RUNNINGS, "see why"),
        (xl.LEFT(name("Runoff_why"), len(_ON)) == _ON, "go on"),
        name("Runoff_stop"),
    )


def _why() -> Formula:
    """The function's words, with the figure as it is shown above, in the unit of the readings."""
    why, stop = name("Runoff_why"), name("Runoff_stop")
    words = xl.LEFT(why, xl.IFERROR(xl.FIND(" at ", why), xl.FIND(" by ", why)) + 3)
    figure = xl.FIXED(stop, first((stop >= 99.95, 0), (stop >= 9.995, 1), 2))
    return first(
        (
            name("Runoff_read") == 0,
            "No reading of this batch yet: type the runnings on the sheet Readings.",
        ),
        (
            name("Runoff_read") > readings.RUNNINGS,
            f"More than {readings.RUNNINGS} readings of this batch: leave out those in between.",
        ),
        (is_number(stop), joined(words, figure, " ", name("Volume_unit"))),
        why,
    )


STOP = Form(
    row=4,
    label=SIDE,
    figure=SIDE + 1,
    lines=[
        Answer('="Stop when run off, "&Volume_unit', _stop(), name="Runoff_answer", number="volume")
    ],
)


def _with(*cells: str, answer: Formula) -> Formula:
    """An answer where all of these cells hold numbers."""
    return when(xl.COUNT(*map(name, cells)) == len(cells), answer)


def _boil_steps() -> list[tuple[str, str, Formula]]:
    litres, plato = name("Kettle_fill_to"), name("Kettle_topped")
    boil = litres, plato, name("Kettle_boil"), name("Kettle_evaporation")
    known = "Kettle_fill_to", "Kettle_topped", "Kettle_boil", "Kettle_evaporation"
    wanted = name("Kettle_wanted")
    return [
        (
            "Kettle_boiled_litres",
            "Wort after the planned boil",
            _with(*known, answer=call("LITRES_AFTER_BOIL", *boil)),
        ),
        (
            "Kettle_minutes_said",
            "Minutes to the gravity wanted",
            _with(
                "Kettle_fill_to",
                "Kettle_topped",
                "Kettle_wanted",
                "Kettle_evaporation",
                answer=call("BOIL_MINUTES", litres, plato, wanted, name("Kettle_evaporation")),
            ),
        ),
        (
            "Kettle_dextrose_said",
            "Dextrose to it",
            _with(
                "Kettle_boiled_litres",
                "Kettle_boiled",
                "Kettle_wanted",
                answer=call(
                    "DEXTROSE_MASS",
                    call("LITRES", name("Kettle_boiled_litres"), name("Volume_unit")),
                    name("Kettle_boiled"),
                    wanted,
                ),
            ),
        ),
    ]


BOIL = Form(
    row=CUTOFF.last + 1,
    label=_ANSWERS,
    figure=_ANSWERS + 1,
    look="text",
    lines=[
        Answer(label, formula, name=named, look=("cell",))
        for named, label, formula in _boil_steps()
    ],
)


def _sg(named: str, *more: str) -> Formula:
    """A gravity in °P as the specific one, beside it."""
    said = joined("specific gravity ", shown(call("GRAVITY_SG", name(named)), 3), *more)
    return when(is_number(name(named)), xl.IFERROR(said, ""))


def _of_kettle(label: str, key: str, named: str, number: str, note: str | Formula = "") -> Answer:
    return Answer(label, reading(key), name=named, number=number, note=note)


KETTLE = Form(
    row=8,
    label=SIDE,
    figure=SIDE + 1,
    note=SIDE + 2,
    lines=[
        _of_kettle(
            '="Wort in the kettle at the stop, "&Volume_unit&" at 20 °C"',
            "kettle_volume",
            "Kettle_volume",
            "volume",
        ),
        _of_kettle(
            "    its gravity, °P", "kettle_plato", "Kettle_plato", "share", _sg("Kettle_plato")
        ),
        _of_kettle(
            '="Kettle to be filled to, "&Volume_unit&" at 20 °C"',
            "fill_to",
            "Kettle_fill_to",
            "volume",
        ),
        _of_kettle(
            "Gravity wanted in the end, °P",
            "wanted_plato",
            "Kettle_wanted",
            "share",
            _sg("Kettle_wanted"),
        ),
        _of_kettle(
            '="Evaporation in an hour, "&Volume_unit&" at 20 °C"',
            "evaporation",
            "Kettle_evaporation",
            "volume",
        ),
        _of_kettle("Boil as planned, minutes", "boil", "Kettle_boil", "count"),
        Answer(
            '="Top up with water, "&Volume_unit&" at 20 °C"',
            _with(
                "Kettle_volume",
                "Kettle_fill_to",
                answer=call("KETTLE_TOP_UP", name("Kettle_volume"), name("Kettle_fill_to")),
            ),
            name="Kettle_water",
            number="volume",
            note="liquor treated like the sparge",
        ),
        Answer(
            "    gravity after the top-up, °P",
            _with(
                "Kettle_volume",
                "Kettle_plato",
                "Kettle_water",
                answer=call(
                    "PLATO_AFTER_TOP_UP",
                    name("Kettle_volume"),
                    name("Kettle_plato"),
                    name("Kettle_water"),
                ),
            ),
            name="Kettle_topped",
            number="share",
            note=_sg("Kettle_topped", ", by the balance of the extract"),
        ),
        Answer(
            "    gravity after the planned boil, °P",
            _with(
                "Kettle_fill_to",
                "Kettle_topped",
                "Kettle_boil",
                "Kettle_evaporation",
                answer=call(
                    "PLATO_AFTER_BOIL",
                    name("Kettle_fill_to"),
                    name("Kettle_topped"),
                    name("Kettle_boil"),
                    name("Kettle_evaporation"),
                ),
            ),
            name="Kettle_boiled",
            number="share",
            note=_sg("Kettle_boiled"),
        ),
        Answer(
            "Boil instead for, minutes",
            first(
                (
                    all_of(
                        xl.COUNT(name("Kettle_topped"), name("Kettle_wanted")) == 2,
                        name("Kettle_topped") >= name("Kettle_wanted"),
                    ),
                    0,
                ),
                name("Kettle_minutes_said"),
            ),
            name="Kettle_minutes",
            number="count",
            note="the whole boil that reaches the gravity wanted",
        ),
        Answer(
            "or dextrose after the planned boil, kg",
            first(
                (
                    all_of(
                        xl.COUNT(name("Kettle_boiled"), name("Kettle_wanted")) == 2,
                        name("Kettle_boiled") >= name("Kettle_wanted"),
                    ),
                    0,
                ),
                name("Kettle_dextrose_said"),
            ),
            name="Kettle_dextrose",
            number="share",
            note="dextrose monohydrate; see DEXTROSE_MASS in Reference",
        ),
    ],
)
#: Both ends of the two limits in the chart, below the workings of the answer.
ENDS = BOIL.last + 2


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [18, 12, 13, 12, 12, 12, 3, 44, 14, 54])
    sheet.text(0, 0, "Last runnings", "title")
    sheet.across(
        1,
        0,
        LAST,
        "Volume, pH and gravity of the runnings are typed on the sheet Readings; the batch is"
        " chosen on the sheet Sparge day. Past the limit tannins come along: stop, and top the"
        " kettle up with water.",
        "lead",
    )
    for row, height in (
        (1, 18),
        (2, 18),
        (3, 28),
        *((row, 16) for row in range(4, 20) if row != HEAD),
    ):
        sheet.raw.set_row(row, height)
    BATCH.write(sheet)
    sheet.across(3, 0, SIDE - 2, "Limits (common practice, no source)", "section")
    PRESET.write(sheet)
    LIMITS.write(sheet)
    LINES.write(sheet, height=18)
    sheet.text(HEAD - 1, _ANSWERS, "Workings: the answer", "section")
    CUTOFF.write(sheet)
    BOIL.write(sheet)
    for column, width in ((_ANSWERS, 28), (_ANSWERS + 1, 14), (_ANSWERS + 2, 12)):
        sheet.raw.set_column(column, column, width, book.style("text"), {"level": 1})
    sheet.across(3, SIDE, LAST, "When to stop", "section")
    STOP.write(sheet)
    sheet.text(5, SIDE, "Why", "label")
    sheet.across(5, SIDE + 1, LAST, _why(), "remark", formula=True)
    sheet.across(7, SIDE, LAST, "What the kettle then needs", "section")
    KETTLE.write(sheet)
    _chart(book, sheet)
    sheet.finish(area=(0, 0, 41, LAST), tall=1)


def _chart(book: Book, sheet: Sheet) -> None:
    title = xl_rowcol_to_cell(HEAD, 0, True, True)
    chart = scatter(
        book,
        "Runnings with both limits",
        f"='{NAME}'!{title}",
        "pH",
        second="Gravity, °P",
        x_axis={"min": 0, "num_format": "General"},
        y_axis={"min": 5, "max": 6.5, "num_format": "0.0"},
        second_axis={"min": 0, "num_format": "0"},
    )
    rows, at = (LINES.first, LINES.last), LINES.at
    ends = _limit_lines(sheet)
    dots = {"marker": {"type": "circle", "size": 5}}
    series(
        chart,
        "pH",
        NAME,
        rows,
        at["volume_of_ph_read"],
        at["ph_of_ph_read"],
        line={"color": GREEN, "width": 2.25},
        **dots,
    )
    series(chart, "highest pH", NAME, ends, _ANSWERS, _ANSWERS + 1, line=LIMIT)
    series(
        chart,
        "gravity, °P",
        NAME,
        rows,
        at["volume_of_plato_read"],
        at["plato_of_plato_read"],
        y2_axis=True,
        line={"color": OCHRE, "width": 2.25},
        **dots,
    )
    series(chart, "lowest gravity", NAME, ends, _ANSWERS, _ANSWERS + 2, y2_axis=True, line=LIMIT_2)
    sheet.raw.insert_chart(21, SIDE, chart, {"x_scale": 1.6, "y_scale": 1.25, "object_position": 2})


def _limit_lines(sheet: Sheet) -> tuple[int, int]:
    """Both ends of the two limits in the chart; the rows they stand in."""
    sheet.headers(ENDS, _ANSWERS, ["Run off", "pH", "°P"], height=None)
    limits = [
        first((is_number(name(key)), name(key)), OFF) for key in ("Runoff_pH", "Runoff_plato")
    ]
    for row, end in ((ENDS + 1, xl.N(0)), (ENDS + 2, xl.MAX(name("Runoff_litres")))):
        sheet.formula(row, _ANSWERS, end, "cell", "litres")
        sheet.formula(row, _ANSWERS + 1, limits[0], "cell", "ph")
        sheet.formula(row, _ANSWERS + 2, limits[1], "cell", "share")
    return ENDS + 1, ENDS + 2
