"""Malts: typical figures of the malts that a grist names, to give way to the maltster's."""

from __future__ import annotations

from chemcore.mash import typical_malts
from workbook_template.template.book import Book, Sheet
from workbook_template.template.form import Form, Typed
from workbook_template.template.table import Input, Table

NAME = "Malts"
ROWS = 20
#: What a malt's pH in demineralised water and its buffering may be: the bounds of the functions of the mash.
PH_LIMITS = (2.5, 7, "A malt's pH")
BUFFERING_LIMITS = (1, 200, "A malt's buffering")

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
        Input("source", "Source of the figures", width=76),
        Input("note", "Note", width=52),
    ],
)


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [column.width for column in MALTS.page])
    sheet.text(0, 0, "Malts", "title")
    sheet.across(
        1,
        0,
        MALTS.page_end,
        "Typical figures, to give way to your maltster's: type over them, or add malts below. Figures that were measured "
        "for one lot go into its row of the sheet Grists.",
        "lead",
    )
    ACID_MALT.write(sheet)
    MALTS.write(sheet, height=32)
    _typical(sheet)
    sheet.finish(area=(0, 0, MALTS.last, MALTS.page_end), freeze=(MALTS.first, 1), tall=1)


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
