"""Reference: the functions with their sources, the acids, the limits of the model, and the facts of the trade."""

from __future__ import annotations

from chemcore import __version__
from chemcore.acids import acid_names, find_acid
from udfs.reference import by_category
from workbook_template.template.anions import PRACTICE, shown_anion
from workbook_template.template.book import Book

NAME = "Reference"

FACTS = (
    ("Mash pH", "5.2 to 5.3"),
    ("Calcium in the mash liquor", "50 mg/L or more"),
    (
        "Sulfate to chloride",
        "above 1 by weight is said to bring out hops, below 1 malt; above 2 and below 0.5 the workbook says so",
    ),
    ("Kettle pH", "5.2 to 5.4 in the full kettle, before the boil"),
    ("Sparge liquor", "taken to pH 5.7 to 5.8 or below"),
    (
        "Last runnings",
        "stop at pH 6.0 or 2 °P (older), 5.7 or 2.5 °P (compromise), 5.5 or 3 °P (newer); the kettle is then topped up with "
        "water, and the gravity regained by a longer boil or dextrose",
    ),
    ("Final beer pH", "about 4.2; about 4.4 where the sparge was left untreated"),
    (
        "Calcium with phosphoric acid",
        "about 4 mg/L stays dissolved at pH 6 and about 400 mg/L at pH 5.5. This workbook finds no one solid, "
        "temperature and phosphate level that gives both: 4 at pH 6 is hot hydroxyapatite, 400 at pH 5.5 "
        "is cold brushite or octacalcium phosphate",
    ),
    (
        "Dose",
        "about 210 mL of 85 % phosphoric acid in 10 US beer barrels on one water: by this model a water of about 170 mg/L alkalinity "
        "taken from pH 7.5 to 5.7",
    ),
    ("Catechin", "harsh at 20 mg/L"),
)
MODEL = (
    "Equilibria of one liquor at one temperature: calcium, magnesium, sodium, chloride, sulfate, carbonate and the acid's anion, with ion "
    "pairs and activity coefficients after the USGS database phreeqc.dat; phosphate's second constant from the NIST buffers.",
    "Potassium, nitrate, silica, borate, iron and organic matter are not counted. The acid's own water is not counted.",
    "A closed tank unless the settings let carbon dioxide escape. What time it takes is not modelled.",
    "Calcium phosphates: the papers measured up to 37 °C; above that the lines are extended. Hydroxyapatite is the end state but forms "
    "slowly: most treated waters are above its limit and yet stay clear. Octacalcium phosphate and brushite form promptly.",
    "Blends: for its pH every water is taken as calcium bicarbonate water; no carbon dioxide leaves on mixing.",
    "Mash: the buffers of the malts against residual alkalinity and acid. About 0.1 pH from measurement with the malts' own figures, "
    "further with typical ones and where calcium is high; the interval beside each prediction says how far.",
    "The strength on a label is taken at its word; lactic acid above 80 % by an extended density line.",
)
#: Per cent of the full size, so that the columns fit the width of a page; points of its height at that size, with some to
#: spare; points of a row that is not set.
SCALE, PAGE_HEIGHT, ROW_HEIGHT = 64, 760, 16


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [34, 66, 22, 90])
    sheet.text(0, 0, "Reference", "title")
    sheet.across(
        1,
        0,
        3,
        f'spargesheet {__version__}. Every function also explains itself: =FUNCTION_SOURCE("ACID_DOSE").',
        "lead",
    )
    row, breaks, filled = 3, [], 3 * ROW_HEIGHT
    for category, entries in by_category().items():
        filled += 3 * ROW_HEIGHT  # the heading, the titles and the blank row before them
        if filled + _height(sheet, entries[0]) > PAGE_HEIGHT:
            breaks.append(row)
            filled = 2 * ROW_HEIGHT
        sheet.across(row, 0, 3, category, "section")
        titles = [
            "Function",
            "What it answers, and how it is typed",
            "Unit of the answer",
            "Equations and sources",
        ]
        sheet.headers(row + 1, 0, titles, height=18)
        row += 2
        for entry in entries:
            sheet.text(row, 0, entry.name, "wrap", "label")
            answer = f"{entry.summary}\n{entry.signature}"
            sheet.text(row, 1, answer, "wrap")
            sheet.text(row, 2, entry.unit or "text", "wrap")
            sheet.text(row, 3, entry.source, "wrap")
            height = _height(sheet, entry)
            sheet.raw.set_row(row, height)
            filled += height
            if filled > PAGE_HEIGHT:
                breaks.append(row)
                filled = height
            row += 1
        row += 1
    sheet.across(row, 0, 3, "Acids", "section")
    sheet.headers(row + 1, 0, ["Acid", "Taste", "Anion", "Usual strength"], height=18)
    first = row + 2
    for offset, name in enumerate(acid_names()):
        acid = find_acid(name)
        sheet.text(first + offset, 0, name)
        sheet.text(first + offset, 1, f"{acid.taste} ({acid.taste_source})")
        sheet.text(first + offset, 2, shown_anion(acid.anion))
        sheet.text(first + offset, 3, f"{acid.default_strength:g} mass %")
    last = first + len(acid_names()) - 1
    for name, column in (("Name_of_acid", 0), ("Taste_of_acid", 1), ("Name_of_anion", 2)):
        sheet.name_range(name, (first, column), (last, column))
    row = last + 2
    breaks.append(row)
    sheet.across(row, 0, 3, f"Facts of the trade used here ({PRACTICE})", "section")
    for subject, text in FACTS:
        row += 1
        sheet.text(row, 0, subject, "wrap", "label")
        sheet.across(row, 1, 3, text, "wrap", height=sheet.height(text, 1, 3))
    row += 2
    sheet.across(row, 0, 3, "Limits of the model", "section")
    for text in MODEL:
        row += 1
        sheet.across(row, 0, 3, text, "wrap", height=sheet.height(text, 0, 3))
    sheet.finish(area=(0, 0, row, 3))
    sheet.raw.set_print_scale(SCALE)  # fitted to the width, Excel would pass over the page breaks
    sheet.raw.set_h_pagebreaks(breaks)


def _height(sheet, entry) -> float:
    """Points that the row of a function takes."""
    answer = f"{entry.summary}\n{entry.signature}"
    return 5 + max(
        sheet.height(answer, 1, 1), sheet.height(entry.unit, 2, 2), sheet.height(entry.source, 3, 3)
    )
