"""One dose."""

from workbook_template.template.book import Book
from workbook_template.template.examples.page import LAST, Page

TITLE = "One dose of acid for the liquor of one batch"


def write(book: Book) -> None:
    """Write the example."""
    page = Page(book, TITLE, "Type over the yellow cells. The figures are invented.")
    page.section("What the formulas need")
    ions = page.given(
        "Calcium, magnesium, sodium, chloride, sulfate", 72, 9, 18, 31, 48, unit="mg/L"
    )
    ions = f"{ions}:F{ions[1:]}"
    alk = page.given("Alkalinity", 168, unit="mg/L as CaCO3")
    ph = page.given("pH of the water, cooled sample", 7.5, number="ph")
    target = page.given("Target pH", 5.7, number="ph")
    volume = page.given("Volume in the tank", 11.5, unit="hL, read hot")
    hot = page.given("    read at", 77, unit="°C")
    acid = page.given("Acid", "phosphoric")
    strength = page.given("    its strength, as on the label", 75, unit="mass %")
    lost = page.given(
        "Share of the gas that the tank may lose", 0.5, unit="0 closed to 1 open to air"
    )
    page.section("What they answer")
    litres = f"B{page.row + 1}"
    page.answer("Liquor, L at 20 °C", f'=COLD_LITRES(LITRES({volume},"hL"),{hot})', number="litres")
    last = f"{alk},{ph},{{}},{litres},{acid},{strength},{ions}"
    dose = f"B{page.row + 1}"
    page.answer("Dose, mL", f"=ACID_DOSE({last.format(target)})", number="ml")
    page.answer(
        "First portion, 60 % of it, mL",
        f'=IF(ISNUMBER({dose}),0.6*{dose},"no dose")',
        number="ml",
    )
    page.answer(
        "pH right after mixing, all of it given",
        f"=PH_AFTER_ACID({last.format(dose)})",
        number="ph",
    )
    page.answer(
        "    as gas leaves it can climb to pH",
        f"=PH_AFTER_ACID({last.format(dose)},20,{lost})",
        number="ph",
    )
    page.answer(
        "Alkalinity left, mg/L as CaCO3",
        f"=ALKALINITY_AFTER_ACID({last.format(dose)})",
        number="mg",
    )
    page.sentence("Cautions for this acid", f"=ACID_CAUTIONS({acid},{strength})")
    page.sheet.finish(area=(0, 0, page.row, LAST))
