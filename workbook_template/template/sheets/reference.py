"""Reference: the functions with their sources, the acids, the limits of the model, and the facts of
the trade.
"""

from __future__ import annotations

from collections.abc import Callable

from chemcore import __version__
from chemcore.acids import acid_names, find_acid
from chemcore.tables import constant
from udfs.function_list import by_category
from udfs.reading import ION_NAMES
from workbook_template.template import calcium_words, scenario
from workbook_template.template.anions import PRACTICE, TASTED, shown_anion, taste_name
from workbook_template.template.book import Book, Sheet
from workbook_template.template.formula import (
    Formula,
    call,
    is_number,
    joined,
    name,
    part,
    ref,
    shown,
    xl,
)
from workbook_template.template.table import Fact, Row, Shown, Table, Working

NAME = "Reference"

FACTS = (
    ("Mash pH", "5.2 to 5.3"),
    ("Calcium in the mash liquor", "50 mg/L or more"),
    (
        "Sulfate to chloride",
        (
            "above 1 by weight is said to bring out hops, below 1 malt; above 2 and below 0.5 the"
            " workbook says so"
        ),
    ),
    ("Kettle pH", "5.2 to 5.4 in the full kettle, before the boil"),
    ("Sparge liquor", "taken to pH 5.7 to 5.8 or below"),
    (
        "Last runnings",
        (
            "stop at pH 6.0 or 2 °P (older), 5.7 or 2.5 °P (compromise), 5.5 or 3 °P (newer); the"
            " kettle is then topped up with water, and the gravity regained by a longer boil or"
            " dextrose"
        ),
    ),
    ("Final beer pH", "about 4.2; about 4.4 where the sparge was left untreated"),
    (
        "Calcium with phosphoric acid",
        (
            "about 4 mg/L stays dissolved at pH 6 and about 400 mg/L at pH 5.5. This workbook finds"
            " no one solid, temperature and phosphate level that gives both: 4 at pH 6 is hot"
            " hydroxyapatite, 400 at pH 5.5 is cold brushite or octacalcium phosphate"
        ),
    ),
    (
        "Dose",
        (
            "about 210 mL of 85 % phosphoric acid in 10 US beer barrels on one water: by this model"
            " a water of about 170 mg/L alkalinity taken from pH 7.5 to 5.7"
        ),
    ),
    ("Catechin", "harsh at 20 mg/L"),
)
#: The water of the table, an invented one, and the phosphate that it then has at pH 5.7, mg/L.
RULE_WATER, RULE_PHOSPHATE = scenario.WATERS[0], 240
#: Temperatures of the hot tank, and the trade's sentences.
RULE = (
    (
        20,
        (
            "Taken to pH 5.7 to 5.8 or below, the calcium stays. So does the model with its middle"
            " figures for octacalcium phosphate; at their low end hot liquor needs 5.5."
        ),
    ),
    (49, "About 4 mg/L stays at pH 6. In the model that is hot hydroxyapatite, the slow one."),
    (
        constant("sparge_tank_temperature"),
        (
            "About 400 mg/L stays at pH 5.5. In the model that is cold octacalcium phosphate or"
            " brushite; hot, less."
        ),
    ),
)
ALKALINITIES = (
    (
        "The trade's sentence",
        (
            "Phosphoric acid lowers the pH without lowering the alkalinity as much as lactic acid"
            f" does ({PRACTICE}). At one and the same pH we find no meaning of alkalinity in which"
            " that holds:"
        ),
    ),
    (
        "Bicarbonate left",
        (
            "What meets the malt. At one pH every acid leaves nearly the same: about 41 mg/L in the"
            " first batch of the example."
        ),
    ),
    (
        "Alkalinity by titration",
        (
            "To pH 4.5, as a test kit finds it: 40 mg/L as CaCO3 after phosphoric acid, 54 after"
            " lactic, the other way round. On the way from pH 5.7 to 4.5 a mole of lactate takes up"
            " about 0.16 equivalents of acid, of phosphate 0.06: the anion's own part on the sheet"
            " Acid choice."
        ),
    ),
    (
        "Per mole of acid",
        (
            "By pH 5.7 a mole of phosphoric acid gives off 1.04 equivalents, of lactic 0.99: 6 to 7"
            " % more moles of lactic."
        ),
    ),
    (
        "In the mash",
        (
            "Calcium and phosphate fall together there and set acid free (from memory): phosphate"
            " that comes with the liquor adds to that, lactate does not. The sheet counts none"
            " of it."
        ),
    ),
)
MODEL = (
    (
        "Equilibria of one liquor at one temperature: calcium, magnesium, sodium, chloride,"
        " sulfate, carbonate and the acid's anion, with ion pairs and activity coefficients after"
        " the USGS database phreeqc.dat; phosphate's second constant from the NIST buffers."
    ),
    (
        "Potassium, nitrate, silica, borate, iron and organic matter are not counted. The acid's"
        " own water is not counted."
    ),
    (
        "A closed tank unless the settings let carbon dioxide escape. What time it takes is not"
        " modelled."
    ),
    (
        "Calcium phosphates: the papers measured up to 37 °C; above that the lines are extended."
        " Hydroxyapatite is the end state but forms slowly: most treated waters are above its limit"
        " and yet stay clear. Octacalcium phosphate and brushite form promptly."
    ),
    (
        "Blends: for its pH every water is taken as calcium bicarbonate water; no carbon dioxide"
        " leaves on mixing."
    ),
    (
        "Mash: the buffers of the malts against residual alkalinity and acid. About 0.1 pH from"
        " measurement with the malts' own figures, further with typical ones and where calcium is"
        " high; the interval beside each prediction says how far."
    ),
    (
        "The strength on a label is taken at its word; lactic acid above 80 % by an extended"
        " density line."
    ),
)
#: Per cent of the full size, so that the columns fit the width of a page; points of its height at
#: that size, with some to spare; points of a row that is not set.
SCALE, PAGE_HEIGHT, ROW_HEIGHT = {"a4": 64, "letter": 59}, 760, 16


def _place(anion: str) -> int:
    """Which of the five ions of a water an acid brings, from 1; 0 for none of them."""
    return ION_NAMES.index(anion) + 1 if anion in ION_NAMES else 0


def _acids(head: int) -> Table:
    """The facts of the acids, a row each: what the other sheets look up by the acid's name."""
    acids = [find_acid(acid) for acid in acid_names()]

    def tasted_from(c: Row) -> Formula:
        anion = shown_anion(acids[c.number - 1].anion)
        return name(taste_name(anion)) if anion in TASTED else part("")

    return Table(
        "Acids",
        head=head,
        rows=len(acids),
        columns=[
            Fact("name", "Acid", [acid.name for acid in acids], name="name"),
            Fact(
                "taste",
                "Taste",
                [f"{acid.taste} ({acid.taste_source})" for acid in acids],
                name="taste",
            ),
            Fact(
                "anion",
                "Anion",
                [shown_anion(acid.anion) for acid in acids],
                name="anion",
            ),
            Fact(
                "strength",
                "Usual strength",
                [f"{acid.default_strength:g} mass %" for acid in acids],
            ),
            Working("tasted_from", "Tasted from, mg/L", tasted_from, name="tasted_from", width=14),
            Working(
                "place",
                "Place of the anion among a water's ions",
                lambda c: part(_place(acids[c.number - 1].anion)),
                name="place",
                width=14,
            ),
        ],
    )


def _rule_beside_model(sheet: Sheet, row: int) -> int:
    """What the model says of calcium and phosphate beside the trade's rule; the next free row."""
    sheet.across(
        row, 0, 3, "Calcium with phosphoric acid: the model beside the trade's rule", "section"
    )
    table = _rule(row + 1)
    table.write(sheet, height=44)
    for line in range(table.first, table.last + 1):
        sheet.raw.set_row(line, 30)
    text = (
        f"The water: {RULE_WATER.alkalinity:g} mg/L alkalinity, pH {RULE_WATER.ph:g},"
        f" {RULE_WATER.calcium:g} mg/L calcium, dosed with phosphoric acid; in brackets the range"
        " of the published constants, which were measured at 42 °C or below. The calcium at pH 6"
        f" and 5.5 is that beside {RULE_PHOSPHATE:g} mg/L phosphate."
    )
    sheet.across(table.last + 1, 0, 3, text, "wrap", height=sheet.height(text, 0, 3))
    return table.last + 3


def _meanings_of_alkalinity(sheet: Sheet, row: int) -> int:
    """Which statement about phosphoric and lactic acid is true of what; the next free row."""
    sheet.across(row, 0, 3, "Phosphoric against lactic acid: which alkalinity", "section")
    for subject, text in ALKALINITIES:
        row += 1
        sheet.text(row, 0, subject, "wrap", "label")
        sheet.across(row, 1, 3, text, "wrap", height=sheet.height(text, 1, 3))
    return row + 2


def _rule(head: int) -> Table:
    """Three temperatures, each with what the model says; the trade's rule beside it."""
    ions = ("calcium", "magnesium", "sodium", "chloride", "sulfate")
    kinds = ("", "_LOW", "_HIGH")
    alkalinity = RULE_WATER.alkalinity
    if alkalinity is None:
        raise ValueError(f"the water {RULE_WATER.name} gives no alkalinity for the trade's rule")

    def water_ions(c: Row) -> Formula:
        return ref(f"{c[ions[0]]}:{c[ions[-1]]}")

    def reported(ion: str) -> Callable[[Row], Formula]:
        return lambda c: part(getattr(RULE_WATER, ion))

    def safe(solid: str, called: str) -> Callable[[Row], Formula]:
        return lambda c: call(
            f"CALCIUM_SAFE_PH{called}",
            alkalinity,
            RULE_WATER.ph,
            c.calcium,
            1000,
            "phosphoric",
            75,
            solid,
            20,
            c.temp,
            water_ions(c),
        )

    def limit(solid: str, ph: float) -> Callable[[Row], Formula]:
        return lambda c: call(
            "CALCIUM_SOLUBILITY", ph, RULE_PHOSPHATE, solid, c.temp, water_ions(c)
        )

    def ranged(c: Row, solid: str) -> Formula:
        cells = [c[f"{solid}{kind}"] for kind in kinds]
        return xl.IF(xl.COUNT(*cells) == 3, calcium_words.with_range(*cells), "not worked out here")

    def milligrams(cell: Formula) -> Formula:
        return xl.IF(is_number(cell), shown(cell, 0), "?")

    solids = {"slow": "hydroxyapatite", "prompt": "octacalcium phosphate"}
    return Table(
        "Rule",
        head=head,
        rows=len(RULE),
        columns=[
            Fact("temp", "Hot tank, °C", [line[0] for line in RULE], look=("result",)),
            Shown(
                "stays",
                "All calcium of the water stays up to pH",
                lambda c: joined(
                    "hydroxyapatite (slow): ",
                    ranged(c, "slow"),
                    "; octacalcium phosphate (can drop within hours): ",
                    ranged(c, "prompt"),
                ),
                look=("remark",),
            ),
            Shown(
                "milligrams",
                "Calcium at pH 6; 5.5, mg/L",
                lambda c: joined(
                    *(
                        piece
                        for solid, words in (("slow", "slow: "), ("prompt", ", prompt: "))
                        for piece in (
                            words,
                            milligrams(c[f"{solid}_6"]),
                            "; ",
                            milligrams(c[f"{solid}_5"]),
                        )
                    )
                ),
                look=("remark",),
            ),
            Fact(
                "rule",
                f"The trade's rule ({PRACTICE})",
                [line[1] for line in RULE],
                look=("remark",),
            ),
            *(Working(ion, ion.title(), reported(ion)) for ion in ions),
            *(
                Working(
                    f"{key}{kind}", f"Safe pH{kind.lower()}, {solid}", safe(solid, kind), width=14
                )
                for key, solid in solids.items()
                for kind in kinds
            ),
            *(
                Working(
                    f"{key}_{int(ph)}", f"Calcium at pH {ph:g}, {solid}", limit(solid, ph), width=14
                )
                for key, solid in solids.items()
                for ph in (6, 5.5)
            ),
        ],
    )


def write(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME, [34, 66, 22, 90])
    sheet.text(0, 0, "Reference", "title")
    sheet.across(
        1,
        0,
        3,
        f"spargesheet {__version__}. Every function also explains itself:"
        ' =FUNCTION_SOURCE("ACID_DOSE").',
        "lead",
    )
    row, breaks = 3, []
    filled: float = 3 * ROW_HEIGHT
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
    acids = _acids(row + 1)
    acids.write(sheet, height=18)
    row = acids.last + 2
    breaks.append(row)
    row = _rule_beside_model(sheet, row)
    row = _meanings_of_alkalinity(sheet, row)
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
    # fitted to the width, Excel would pass over the page breaks
    sheet.raw.set_print_scale(SCALE[book.starting.paper])
    sheet.raw.set_h_pagebreaks(breaks)


def _height(sheet, entry) -> float:
    """Points that the row of a function takes."""
    answer = f"{entry.summary}\n{entry.signature}"
    return 5 + max(
        sheet.height(answer, 1, 1), sheet.height(entry.unit, 2, 2), sheet.height(entry.source, 3, 3)
    )
