"""A titration of one's own water."""

from workbook_template.template import scenario
from workbook_template.template.book import Book
from workbook_template.template.examples.page import LAST, Page

TITLE = "A titration of your own water, and the dose by its curve"


def write(book: Book) -> None:
    """Write the example."""
    page = Page(
        book,
        TITLE,
        "Hydrochloric acid of known strength, in small steps from the water's pH to below pH 3.5;"
        " read after each. Stir gently: carbon dioxide that leaves the sample raises the dose.",
    )
    page.section("What the formulas need")
    sample = page.given("Sample", 100, unit="mL")
    titrant = page.given("Titrant, hydrochloric acid", 0.1, unit="eq/L")
    target = page.given("Target pH of the tank", 5.7, number="ph")
    litres = page.given("Liquor in the tank", 1120, unit="L at 20 °C")
    acid = page.given("Acid for the tank", "phosphoric")
    strength = page.given("    its strength", 75, unit="mass %")
    page.section("Readings")
    page.headers("Titrant added in all, mL", "pH")
    first = page.row + 1
    for ml, ph in scenario.TITRATION.readings:
        page.sheet.input(page.row, 0, ml, "density")
        page.sheet.input(page.row, 1, ph, "ph")
        page.row += 1
    volumes, phs = f"A{first}:A{page.row}", f"B{first}:B{page.row}"
    page.section("What they answer")
    alkalinity = f"B{page.row + 1}"
    page.answer(
        "Alkalinity by Gran's line, mg/L as CaCO3",
        f"=TITRATION_ALKALINITY({volumes},{phs},{sample},{titrant})",
        number="mg",
    )
    page.answer(
        "    it may be off by, mg/L (95 %)",
        f"=TITRATION_HALF_WIDTH({volumes},{phs},{sample},{titrant})",
        number="rough_ph",
    )
    page.answer(
        "    by end point pH 4.5, mg/L",
        f'=TITRATION_ALKALINITY({volumes},{phs},{sample},{titrant},"end point")',
        number="mg",
    )
    page.answer(
        "Dose for the tank by the curve, mL",
        f"=TITRATION_DOSE({volumes},{phs},{sample},{titrant},{target},{litres},{acid},{strength})",
        number="ml",
    )
    dosed = f"{alkalinity},B{first},B{page.row},{litres},{acid},{strength}"
    for label, more in (
        ("pH right after mixing, all of it given", ""),
        ("    can climb to pH, half of the gas lost", ',"",20,0.5'),
    ):
        page.answer(label, f"=PH_AFTER_ACID({dosed}{more})", number="ph")
    page.sentence("Cautions for this acid", f"=ACID_CAUTIONS({acid},{strength})")
    page.sheet.finish(landscape=False, area=(0, 0, page.row, LAST))
