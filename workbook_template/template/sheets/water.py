"""Water: the sources as their reports have them, what the reports say, and the blend as one more
water.
"""

from __future__ import annotations

from chemcore.tables import constant
from workbook_template.template import scenario
from workbook_template.template.book import Book, Sheet
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
    FOR_EVER,
    celsius,
    filled,
    first_problem,
    from_celsius,
    in_use,
    rows_of,
    stated,
)
from workbook_template.template.sheets import blend_salts
from workbook_template.template.sizes import Sizes
from workbook_template.template.table import Input, Row, Shown, Table, Worked, Working

NAME = "Water"
HEAD = 3
SEE = "see remark"
#: The share of an alkalinity by which what the bicarbonate makes may differ from it without a
#: question.
CONTRADICTION = 0.1
#: What a sulfate given as sulfur, and a nitrate given as nitrogen, are multiplied by.
_SULFATE = constant("molar_mass_sulfate") / constant("molar_mass_sulfur")
_NITRATE = constant("molar_mass_nitrate") / constant("molar_mass_nitrogen")
IONS = ("calcium", "magnesium", "sodium", "chloride", "sulfate")


def _ions(c: Row) -> Formula:
    return c.span(IONS[0], IONS[-1])


def _shown(key: str):
    """A working as the reader sees it: its number, nothing, or where to look."""
    return lambda c: in_use(c, first((is_number(c[key]), c[key]), (c[key] == "", ""), SEE))


def _of_all_ions(key: str):
    return lambda c: when(all_of(c.used == 1, c.given == 5), number_or(c[key], SEE))


def _same(c: Row) -> Formula:
    """Which rows are reports of the same source."""
    return name("Water_name") == c.source


def _order(c: Row) -> Formula:
    """How many reports of the same source come before this one; of one day, the lower row is the
    later report.
    """
    day, number = name("Water_day"), name("Water_number")
    before = (day < c.day) + (day == c.day) * (number < c.number)
    return count_where(_same(c) * before)


def _holds_from(c: Row) -> Formula:
    """The first report of a source holds before its date too: no other is known."""
    return in_use(c, xl.IF(c.order == 0, 0, c.day))


def _holds_until(c: Row) -> Formula:
    """The date of the source's next report."""
    following = _same(c) * (name("Water_order") == c.order + 1)
    return in_use(
        c,
        xl.IF(
            count_where(following) == 0,
            FOR_EVER,
            xl.SUMPRODUCT(following * name("Water_day")),
        ),
    )


def _alkalinity(c: Row) -> Formula:
    """What is typed, or else what the bicarbonate makes."""
    return in_use(
        c,
        first(
            (c.alkalinity != "", c.alkalinity),
            (
                c.bicarbonate == "",
                "Check alkalinity: the cell is empty; type it, or the bicarbonate",
            ),
            c.alkalinity_of_it,
        ),
    )


def _remark(c: Row) -> Formula:
    off = xl.ABS(c.balance_said)
    return in_use(
        c,
        first(
            (c.source == "", "Give this source a name."),
            (
                count_where(_same(c) * (name("Water_day") == c.day)) > 1,
                (
                    "This name stands twice: give each source its own, or each report of one source"
                    " its own date."
                ),
            ),
            (
                all_of(c.date != "", xl.NOT(is_number(c.date))),
                joined(
                    "The date ",
                    c.address("date"),
                    " is not a date: type it as the settings of the program have it.",
                ),
            ),
            (
                all_of(c.day == 0, count_where(_same(c)) > 1),
                joined(
                    "Give this report its date, ",
                    c.address("date"),
                    ": without one it counts as the oldest.",
                ),
            ),
            *first_problem(c.ph_said, c.bicarbonate_said),
            (
                all_of(
                    is_number(c.alkalinity),
                    xl.IFERROR(
                        xl.ABS(c.alkalinity - c.alkalinity_of_it)
                        > xl.MAX(CONTRADICTION * c.alkalinity, name("Error_alkalinity")),
                        False,
                    ),
                ),
                joined(
                    "Alkalinity ",
                    c.address("alkalinity"),
                    " is ",
                    shown(c.alkalinity, 0),
                    ", but bicarbonate ",
                    c.address("bicarbonate"),
                    " makes ",
                    shown(c.alkalinity_of_it, 0),
                    " mg/L as CaCO3: which is right? The alkalinity is used.",
                ),
            ),
            (
                c.given == 0,
                (
                    "No ions given: alkalinity is taken as calcium bicarbonate; calcium limits"
                    " cannot be worked out."
                ),
            ),
            *first_problem(c.balance_said),
            (
                off > name("Balance_wrong"),
                joined(
                    "Ions do not balance: a figure is missing or wrong. Look at the report again"
                    " before dosing by it.",
                    when(
                        all_of(c.balance_said > 0, c.sulfate != ""),
                        f" Is its sulfate given as sulfur (SO4-S)? Type {_SULFATE:.2f} times that.",
                    ),
                ),
            ),
            (
                off > name("Balance_remark"),
                "Ions are a little out of balance; usable, but look at the report again.",
            ),
            (
                any_of(c.ph < 6.5, c.ph > 8.8),
                "Unusual pH for a supply: was it read on a fresh, cooled sample?",
            ),
            (
                all_of(
                    c.read_at != "",
                    any_of(c.read_at < from_celsius(0), c.read_at > from_celsius(60)),
                ),
                joined(
                    "Unusual temperature for a pH reading, ",
                    c.address("read_at"),
                    ": which unit is it in?",
                ),
            ),
            "Plausible.",
        ),
    )


def _figure(key: str, title: str) -> Input:
    """A figure of a report."""
    return Input(key, title, number="share", limits=(0, 5000, "A figure of a water report"))


SOURCES = Table(
    "Source",
    head=HEAD,
    rows=Sizes().waters,
    followed=True,
    columns=[
        Input("source", "Source", width=22, name="name"),
        Input("date", "Date of report", number="date"),
        Input(
            "calcium",
            "Calcium, mg/L",
            number="share",
            name="calcium",
            limits=(0, 5000, "A figure of a water report"),
        ),
        *(_figure(ion, f"{ion.title()}, mg/L") for ion in IONS[1:]),
        _figure("alkalinity", "Alkalinity, mg/L as CaCO3"),
        _figure("bicarbonate", "or bicarbonate, mg/L"),
        Input("ph", "pH", number="ph", limits=(4, 11, "The water's pH")),
        Input("read_at", '="pH read at, "&Temperature_unit', number="share"),
        Shown(
            "alkalinity_used",
            "Alkalinity used, mg/L as CaCO3",
            _shown("alkalinity_said"),
            number="mg",
            look=("result",),
        ),
        Shown(
            "bicarbonate_shown",
            "Bicarbonate, mg/L",
            _shown("bicarbonate_said"),
            number="mg",
            look=("result",),
        ),
        Shown(
            "hardness",
            "Hardness, mg/L as CaCO3",
            _of_all_ions("hardness_said"),
            number="mg",
            look=("result",),
        ),
        Shown(
            "residual",
            "Residual alkalinity, mg/L as CaCO3",
            _of_all_ions("residual_said"),
            number="mg",
            look=("result",),
        ),
        Shown(
            "balance", "Ion balance, %", _shown("balance_said"), number="share", look=("result",)
        ),
        Shown("remark", "Remark", _remark, look=("remark",)),
        Working(
            "temp",
            "pH read at, °C",
            lambda c: in_use(c, first((c.read_at == "", 20), celsius(c.read_at))),
            width=12,
            number="share",
            name="temp_C",
        ),
        Working(
            "ph_said",
            "pH, or what is wrong",
            lambda c: in_use(c, stated("ph", c.ph)),
            width=12,
            number="ph",
            name="pH",
        ),
        Working(
            "alkalinity_of_it",
            "Alkalinity of the bicarbonate typed",
            lambda c: when(
                all_of(c.used == 1, c.bicarbonate != ""),
                call("ALKALINITY_FROM_BICARBONATE", c.bicarbonate, c.ph_said, c.temp),
            ),
            width=12,
            number="share",
        ),
        Working(
            "alkalinity_said",
            "Alkalinity",
            _alkalinity,
            width=12,
            number="share",
            name="alkalinity",
        ),
        Working(
            "balance_said",
            "Balance",
            lambda c: in_use(
                c,
                first(
                    (c.given == 0, ""),
                    call("ION_BALANCE", _ions(c), c.alkalinity_said, c.ph_said),
                ),
            ),
            width=12,
            number="share",
            name="balance",
        ),
        Working(
            "bicarbonate_said",
            "Bicarbonate",
            lambda c: in_use(c, call("BICARBONATE", c.alkalinity_said, c.ph_said, c.temp)),
            width=12,
            number="share",
            name="bicarbonate",
        ),
        Working(
            "given",
            "Ions given",
            lambda c: in_use(c, xl.COUNTA(*c.cells_between(IONS[0], IONS[-1]))),
            width=12,
            number="count",
            name="ions_given",
        ),
        Working(
            "used",
            "In use",
            lambda c: xl.IF(filled(c.source, *c.cells_between("calcium", "ph")), 1, 0),
            width=12,
        ),
        Working(
            "day",
            "Day of the report",
            lambda c: xl.IF(is_number(c.date), c.date, 0),
            name="day",
        ),
        Working("order", "Report no.", _order, name="order"),
        Working("from", "Holds from", _holds_from, name="from"),
        Working("until", "until", _holds_until, name="until"),
        Working("number", "Row", lambda c: ref(str(c.number)), name="number"),
        Working(
            "hardness_said",
            "Hardness",
            lambda c: in_use(c, call("HARDNESS", c.calcium, c.magnesium)),
            width=12,
        ),
        Working(
            "residual_said",
            "Residual alkalinity",
            lambda c: in_use(
                c, call("RESIDUAL_ALKALINITY", c.alkalinity_said, c.calcium, c.magnesium)
            ),
            width=12,
        ),
    ],
)
FIRST, LAST = SOURCES.first, SOURCES.last
#: The row of the blend, from the sheet Blend and salts.
BLEND = LAST + 1
#: The columns that other sheets use, by the end of the name.
NAMED = {column.name: key for key, column in SOURCES.columns.items() if column.name}


def write(book: Book) -> None:
    """Write the sheet."""
    sources = SOURCES.sized(book.sizes.waters)
    blend = sources.last + 1
    sheet = book.sheet(NAME, [22, 12, 10, 12, 10, 10, 10, 12, 13, 8, 11, 12, 13, 11, 12, 11, 58, 3])
    sheet.text(0, 0, "Water", "title")
    sheet.across(
        1,
        0,
        sources.page_end,
        "One row a source, from the laboratory's report. Give the alkalinity, or the bicarbonate"
        " where the report has only that. Leave all five ions empty if they are not known: the"
        " alkalinity is then taken as calcium bicarbonate. The last row is the liquor of the sheet"
        " Blend and salts; choose it for a batch like any other water. A newer report is a row of"
        " its own with the same name and its date: each batch takes the one that held on its day.",
        "lead",
        height=28,
    )
    sheet.across(HEAD - 1, sources.gap + 1, sources.end, "Workings", "section")
    sources.write(sheet, [(*source, None) for source in scenario.WATERS], height=58)
    _blend(sheet, sources)
    # With the blend for the batches; without it, as Source, for the blend, which is made of them.
    for ending, key in NAMED.items():
        column = sources.at[key]
        sheet.name_range(f"Water_{ending}", (sources.first, column), (blend, column))
    ends = sources.at[IONS[0]], sources.at[IONS[-1]]
    sheet.name_range("Source_ions", (sources.first, ends[0]), (sources.last, ends[1]))
    sheet.name_range("Water_ions", (sources.first, ends[0]), (blend, ends[1]))
    sheet.across(blend + 2, 0, sources.page_end, "How to read it", "section")
    for offset, line in enumerate(
        (
            (
                "Alkalinity is what acid has to overcome; hardness says nothing about the dose."
                " Check the alkalinity by a bench titration: supplies change with the season."
            ),
            (
                "Residual alkalinity (Kolbach) is what is left after calcium and magnesium have met"
                " the malt: it steers mash pH."
            ),
            "Ion balance: positive where cations are more. Potassium and nitrate are not counted.",
            (
                f"A report may give sulfate as sulfur (SO4-S): type {_SULFATE:.2f} times that."
                f" Nitrate as nitrogen (NO3-N) times {_NITRATE:.2f} is nitrate; much of it shows in"
                " the ion balance as cations that are more."
            ),
            sources.room("waters"),
        )
    ):
        sheet.across(blend + 3 + offset, 0, sources.page_end, line, "text")
    for row in range(sources.first, blend + 1):
        sheet.raw.set_row(row, 28)
    sheet.finish(area=(0, 0, blend + 8, sources.page_end), freeze=(HEAD + 1, 1), tall=1)


def _blend(sheet: Sheet, sources: Table) -> None:
    """The row of the blend: nothing to fill in."""
    blend = sources.last + 1
    c = Row(sources, blend)
    at = sources.at
    see = f"see the remarks on the sheet {blend_salts.NAME}"

    def handed(key: str, figure: Formula, number: str) -> None:
        """A figure of the blend, in a column that is typed for the sources."""
        answer = in_use(c, number_or(figure, SEE))
        sheet.formula(blend, at[key], answer, "result", "right", number)

    # an error here would be one of every water that is looked for in the column
    mixed = xl.IFERROR(name("Mix_used") > 0, False)
    sheet.formula(blend, at["source"], when(mixed, blend_salts.NAME), "result")
    for key in ("date", "bicarbonate", "read_at"):
        sheet.text(blend, at[key], "", "result")
    for place, ion in enumerate(IONS, 1):
        handed(ion, xl.INDEX(name("Mix_ions"), 1, place), "share")
    handed("alkalinity", name("Mix_alkalinity"), "share")
    handed("ph", name("Mix_pH"), "ph")
    own = {
        "used": xl.IF(c.source != "", 1, 0),
        "day": part(0),
        "temp": in_use(c, part(20)),
        "ph_said": in_use(c, number_or(name("Mix_pH"), f"Check ph: {see}")),
        "alkalinity_of_it": part(""),
        "alkalinity_said": in_use(c, number_or(name("Mix_alkalinity"), f"Check alkalinity: {see}")),
        "given": in_use(c, first((xl.COUNT(name("Mix_ions")) == 5, 5), 0)),
        "remark": in_use(
            c,
            first(
                (
                    rows_of(c.source, "Water_name") > 1,
                    "A source has this name too: give it another.",
                ),
                (xl.COUNT(c.alkalinity_said, c.bicarbonate_said) < 2, f"S{see[1:]}."),
                f"Made on the sheet {blend_salts.NAME}; before any acid.",
            ),
        ),
    }
    for column in (*sources.page, *sources.workings):
        if isinstance(column, Worked):
            sources.put(
                sheet,
                blend,
                column.key,
                own[column.key] if column.key in own else column.formula(c),
            )
