"""Malts: typical figures of the malts that a grist names, to give way to the maltster's or to a
titration of one's own.
"""

from __future__ import annotations

from chemcore.mash import typical_malts
from workbook_template.template import scenario
from workbook_template.template.book import Book, Sheet
from workbook_template.template.form import Answer, Form, Typed
from workbook_template.template.formula import (
    Formula,
    call,
    cell_text,
    first,
    joined,
    name,
    shown,
    when,
    xl,
)
from workbook_template.template.layout import first_problem
from workbook_template.template.table import Fact, Input, Table

NAME = "Malts"
ROWS = 20
#: What a malt's pH in demineralised water and its buffering may be: the bounds of the functions of
#: the mash.
PH_LIMITS = (2.5, 7, "A malt's pH")
BUFFERING_LIMITS = (1, 200, "A malt's buffering")
#: How far off a malt's own figures may be said to be: in pH, and in % of the buffering.
PH_ERROR_LIMITS = (0, 1, "The error of a malt's pH")
BUFFERING_ERROR_LIMITS = (0, 100, "The error of buffering in %")
#: Readings of a titration of one's own.
READINGS = 14

ACID_MALT = Form(
    row=2,
    note=2,
    lines=[
        Typed(
            "Acidulated malt: its lactic acid, mass %",
            2,
            name="Acid_malt_lactic",
            number="share",
            limits=(0.1, 20, "The lactic acid of the malt"),
            note="from the maltster; 1 to 2 (common practice, no source)",
        )
    ],
)
MALTS = Table(
    "Malt",
    head=4,
    rows=ROWS,
    columns=[
        Input("malt", "Malt", width=38, name="name"),
        Input("ph", "pH in demin. water", width=11, number="ph", name="pH", limits=PH_LIMITS),
        Input(
            "buffering",
            "Buffering, mEq/(kg·pH)",
            width=14,
            number="share",
            name="buffering",
            limits=BUFFERING_LIMITS,
        ),
        Input(
            "ph_error",
            "pH ±, if titrated",
            width=10,
            number="ph",
            name="pH_error",
            limits=PH_ERROR_LIMITS,
        ),
        Input(
            "buffering_error",
            "Buffering ±, %, if titrated",
            width=12,
            number="share",
            name="buffering_error",
            limits=BUFFERING_ERROR_LIMITS,
        ),
        Input("source", "Source of the figures", width=70),
        Input("note", "Note", width=46),
    ],
)
#: A titration of one's own, below the malts.
TRIAL = Form(
    row=MALTS.last + 4,
    lines=[
        Typed(
            "Malt in the portion, g",
            name="Malt_trial_g",
            example=scenario.MALT_TRIAL.grams,
            number="share",
        ),
        Typed(
            "Strong acid (or base), eq/L",
            name="Malt_trial_normality",
            example=scenario.MALT_TRIAL.normality,
        ),
    ],
)
TRIAL_READINGS = Table(
    "Malt_trial",
    head=TRIAL.last + 2,
    rows=READINGS,
    columns=[
        Fact("number", "Reading no.", list(range(1, READINGS + 1)), look=("label",)),
        Input("ml", "Acid in all, mL (base: -)", number="share", name="ml"),
        Input("ph", "pH, cooled sample", number="ph", name="phs"),
    ],
)
_TITRATION = tuple(
    map(name, ("Malt_trial_ml", "Malt_trial_phs", "Malt_trial_g", "Malt_trial_normality"))
)


def _trial(called: str, place: int) -> Formula:
    """One of the two figures of a function of the titration; nothing before a pH is typed."""
    return when(xl.COUNT(name("Malt_trial_phs")) > 0, xl.INDEX(call(called, *_TITRATION), 1, place))


#: Beside the readings: the columns of the labels and of the figures.
FOUND = Form(
    row=TRIAL_READINGS.head,
    label=MALTS.at["source"],
    figure=MALTS.at["note"],
    lines=[
        Answer(
            label,
            _trial(called, place),
            name=f"Malt_trial_{ending}",
            number=number,
        )
        for ending, label, called, place, number in (
            ("pH", "pH in demin. water", "MALT_BUFFER", 1, "ph"),
            ("buffering", "Buffering, mEq/(kg·pH)", "MALT_BUFFER", 2, "share"),
            ("pH_half", "pH ± (95 %)", "MALT_BUFFER_ERROR", 1, "ph"),
            ("buffering_half", "Buffering ±, mEq/(kg·pH)", "MALT_BUFFER_ERROR", 2, "share"),
        )
    ],
)


def _reaching(half: Formula, figure: Formula, decimals: int) -> Formula:
    """Half a width that reaches as far from the figure as it is shown as it did from the figure
    itself.
    """
    return half + xl.ABS(figure - xl.ROUND(figure, decimals))


def _trial_says() -> Formula:
    """What to type where, from a titration of one's own; or what keeps it from its figures."""
    ph, buffering, ph_half, half = (
        name(f"Malt_trial_{of}") for of in ("pH", "buffering", "pH_half", "buffering_half")
    )
    return first(
        (
            xl.COUNT(name("Malt_trial_phs")) == 0,
            (
                "Titrate a mash of this malt alone in demineralised water: the malt first, then"
                " with acid (a dark malt with base) down to the mash pH or past it, seven readings"
                " or more."
            ),
        ),
        *first_problem(ph, buffering, ph_half, half),
        joined(
            "Type into this malt's row above: pH ",
            shown(ph, 2),
            ", buffering ",
            shown(buffering, 1),
            ", pH ± ",
            shown(xl.ROUNDUP(_reaching(ph_half, ph, 2), 2), 2),
            ", buffering ± ",
            shown(xl.ROUNDUP(100 * _reaching(half, buffering, 1) / xl.ROUND(buffering, 1), 0), 0),
            " %, and as its source that you titrated it, with the day. The mash's interval then has"
            " these errors in place of the typical ones. Another bag, or a thicker mash, may differ"
            " by more.",
        ),
    )


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, MALTS.page_widths)
    sheet.text(0, 0, "Malts", "title")
    sheet.across(
        1,
        0,
        MALTS.page_end,
        "Typical figures, to give way to your maltster's: type over them, or add malts below; the"
        " table at the foot makes a malt's own from a titration. Figures that were measured for one"
        " lot go into its row of the sheet Grists.",
        "lead",
    )
    ACID_MALT.write(sheet)
    MALTS.write(sheet, height=32)
    _typical(sheet)
    _titration(sheet)
    sheet.finish(area=(0, 0, TRIAL_READINGS.last, MALTS.page_end), freeze=(MALTS.first, 1), tall=1)


def _titration(sheet: Sheet) -> None:
    top = TRIAL.row - 1
    sheet.across(top, 0, MALTS.page_end, "A malt's own figures by titration", "section")
    TRIAL.write(sheet)
    TRIAL_READINGS.write(sheet, scenario.MALT_TRIAL.readings, height=32)
    FOUND.write(sheet)
    row, first_column = FOUND.last + 2, FOUND.label
    sheet.raw.merge_range(row, first_column, row + 3, FOUND.figure, "", sheet.book.style("remark"))
    sheet.formula(row, first_column, _trial_says(), "remark")
    sheet.name_range("Malt_trial_says", (row, first_column))
    written = [
        cell_text(call(called, *_TITRATION)) for called in ("MALT_BUFFER", "MALT_BUFFER_ERROR")
    ]
    lines = ("As formulas, a row of two cells each:", *written)
    for below, words in enumerate(lines, row + 5):
        sheet.across(below, first_column, FOUND.figure, words, "text")


def _typical(sheet: Sheet) -> None:
    """The typical figures, which a book without the example has too."""
    at = MALTS.at
    wrapped = sheet.book.style("input", "wrap", valign="vcenter", indent=1)
    malts = [(name, malt) for name, malt in typical_malts().items()]
    for offset in range(ROWS):
        row = MALTS.first + offset
        texts = ("", "")
        if offset < len(malts):
            name, malt = malts[offset]
            for key, value, number in (
                ("malt", name, "plain"),
                ("ph", malt.ph, "ph"),
                ("buffering", malt.buffering, "share"),
            ):
                sheet.input(row, at[key], value, number)
            texts = (malt.source, malt.note)
        for key, words in zip(("source", "note"), texts):
            sheet.input(row, at[key], words or None, style=wrapped)
        heights = (
            sheet.height(words, at[key], at[key]) for key, words in zip(("source", "note"), texts)
        )
        sheet.raw.set_row(row, 3 + max(heights))
