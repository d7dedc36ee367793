"""Start: what the workbook is for, how to use it, and safety first."""

from __future__ import annotations

from xlsxwriter.utility import xl_rowcol_to_cell

from chemcore import __version__
from chemcore.safety import cautions
from workbook_template.template.book import Book
from workbook_template.template.formula import first, joined, ref, xl

NAME = "Start"

STEPS = (
    (
        "Settings",
        "Choose the units, the tank's temperature and how it is kept, and the acids on your shelf.",
    ),
    ("Water", "Type in the report of each source; read its remark."),
    (
        "Bench titration",
        "Measure the alkalinity of the water yourself, and take the dose from the curve.",
    ),
    (
        "Blend and salts",
        (
            "Blend waters, weigh salts, and compare with your target; the blend is then one more"
            " water for any batch."
        ),
    ),
    (
        "Batch plan",
        (
            "One row a batch: water, volume, target pH, acid. Read the dose, whether the calcium"
            " stays in solution, what alkalinity is left, the cost, and the remark."
        ),
    ),
    (
        "Acid choice",
        "Pick one batch and see every acid on the shelf side by side, with two charts.",
    ),
    ("Malts", "Typical figures of malts, to give way to your maltster's."),
    (
        "Grists",
        "The malts of every batch, one row a malt, with its own figures where they were measured.",
    ),
    (
        "Mash plan",
        (
            "One row a batch: mash liquor, target and acid. Read the pH as predicted with its"
            " interval, and the dose."
        ),
    ),
    ("Mash", "The mash of one batch: its pH, its acid, and what the meter says."),
    (
        "Liquor plan",
        (
            "One page a batch to print: liquors, salts, both acids with their cost, pH at each"
            " step, anions."
        ),
    ),
    (
        "Readings",
        "What is read on the day and later, typed once, a row a batch; other sheets show it.",
    ),
    (
        "Sparge day",
        "The work sheet to print: first portion, readings, further dose, cautions, sign-off.",
    ),
    ("Last runnings", "When to stop, by pH and gravity, and what the kettle then needs."),
    (
        "Log",
        "What came out: the alkalinity the water really had, the bias of the plan, final beer pH.",
    ),
    ("Purchasing", "What to order and when, and which acid is cheapest for what it does."),
    ("Curves", "The figures behind the charts."),
    (
        "Reference",
        (
            "The functions, their sources, the limits of the model, and the facts of the trade used"
            " here."
        ),
    ),
)


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [22, 90])
    sheet.text(0, 0, "Acid for brewing liquor: a batch plan", "title")
    sheet.across(
        1,
        0,
        1,
        "How much food-grade acid brings the sparge or mash liquor in the hot tank to its target"
        " pH, for your own water, and whether its calcium stays in solution. The figures in the"
        " file are an invented example: type over them.",
        "lead",
        height=28,
    )
    sheet.across(3, 0, 1, "Before any acid is touched", "section")
    row = 4
    for line in cautions():
        sheet.across(row, 0, 1, line, "caution", height=3 + sheet.height(line, 0, 1))
        row += 1
    row += 1
    sheet.across(row, 0, 1, "How to use it", "section")
    for name, text in STEPS:
        row += 1
        sheet.raw.write_url(
            row,
            0,
            f"internal:'{name}'!A1",
            book.style("label", underline=1, font_color="#0B57A4", valign="top"),
            name,
        )
        sheet.text(row, 1, text, "wrap")
        sheet.raw.set_row(row, sheet.height(text, 1, 1))
    row += 2
    sheet.across(row, 0, 1, "What the cells mean", "section")
    sheet.input(row + 1, 0, "yellow")
    sheet.text(
        row + 1,
        1,
        " for you to fill in; paste unformatted, so that lists and colours stay; how many rows"
        " stands below",
    )
    sheet.text(row + 2, 0, "grey-green", "result")
    sheet.text(row + 2, 1, " worked out by a formula; locked, without a password")
    sheet.text(row + 3, 0, '"see remark"', "result")
    sheet.text(
        row + 3,
        1,
        " a figure that cannot be worked out yet: the remark of the row says what is missing",
    )
    row += 5
    sheet.across(row, 0, 1, "What a figure is worth", "section")
    for offset, line in enumerate(
        (
            (
                "pH is that of a cooled sample (20 °C). Volumes are litres at 20 °C; a volume read"
                " on the hot tank is corrected."
            ),
            (
                "The dose is a calculation from the report. Give half to two thirds of it, mix,"
                " read, then the rest: reports age, strengths vary."
            ),
            (
                "To see new figures after a change, the formulas need the spargesheet functions in"
                " your spreadsheet program; without them the figures stay as they were when the"
                " file was written."
            ),
            (
                "Sums refuse to be short: where a row has no figure, the total names that row"
                " instead of leaving it out."
            ),
        )
    ):
        sheet.across(row + 1 + offset, 0, 1, line, "wrap", height=sheet.height(line, 0, 1))
    row += 7
    sheet.across(row - 1, 0, 1, "Versions", "section")
    sheet.text(row, 0, "Made with spargesheet", "label")
    sheet.text(row, 1, __version__)
    sheet.name_range("Made_with", (row, 1))
    sheet.text(row + 1, 0, "Answering here", "label")
    sheet.formula(row + 1, 1, '=ADDIN_STATUS("version")', "text")
    made, here = (ref(xl_rowcol_to_cell(at, 1)) for at in (row, row + 1))
    said = first(
        (
            xl.ISERROR(here),
            "Nothing answers here: run `spargesheet status` and follow what it says.",
        ),
        (
            xl.LEFT(joined(here, ""), 7) == "copy of",
            "This is a copy: its figures are those of that day. Who sent it can work it out anew.",
        ),
        (
            xl.LEFT(joined(here, ""), 6) == "Check ",
            (
                "The functions do not answer here, for the reason above; figures are those of the"
                " last time that they did."
            ),
        ),
        (
            joined(here, "") == joined(made, ""),
            "The same version made this workbook and works it out (or worked it out last).",
        ),
        "The versions differ: make a new workbook with `spargesheet new`, or install the version"
        " that made this one.",
    )
    sheet.across(row + 2, 0, 1, said, "wrap", height=15)
    advice = (
        "If figures do not change when you type, or #NAME? shows, nothing answers: run `spargesheet"
        " status` and follow what it says."
    )
    sheet.across(row + 3, 0, 1, advice, "wrap", height=sheet.height(advice, 0, 1))
    sheet.finish(landscape=False, area=(0, 0, row + 3, 1), tall=1)
