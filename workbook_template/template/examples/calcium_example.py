"""Calcium and gas."""

from workbook_template.template.book import Book
from workbook_template.template.examples.page import LAST, Page

TITLE = "Calcium that stays dissolved, and carbon dioxide that leaves"


def write(book: Book) -> None:
    """Write the example."""
    page = Page(
        book,
        TITLE,
        "Phosphoric acid in hot liquor may take calcium out as phosphate, above a pH. A tank that"
        " loses carbon dioxide climbs after dosing; the share that left, from two readings, tells"
        " how far.",
    )
    page.section("What the formulas need")
    ions = page.given(
        "Calcium, magnesium, sodium, chloride, sulfate", 72, 9, 18, 31, 48, unit="mg/L"
    )
    calcium, ions = ions, f"{ions}:F{ions[1:]}"
    alk = page.given("Alkalinity", 168, unit="mg/L as CaCO3")
    ph = page.given("pH of the water, cooled sample", 7.5, number="ph")
    litres = page.given("Liquor", 1120, unit="L at 20 °C")
    acid = page.given("Acid", "phosphoric")
    strength = page.given("    its strength", 75, unit="mass %")
    dose = page.given("Acid given", 220, unit="mL")
    tank = page.given("The tank is at", 77, unit="°C")
    mixed = page.given("pH right after mixing, cooled sample", 5.78, number="ph")
    later = page.given("pH half an hour later, cooled sample", 5.9, number="ph")
    page.section("What they answer")
    safe = (
        f'{alk},{ph},{calcium},{litres},{acid},{strength},"octacalcium phosphate",20,{tank},{ions}'
    )
    for label, called in (
        ("All calcium stays dissolved up to pH, about", ""),
        ("    as low as", "_LOW"),
        ("    as high as", "_HIGH"),
    ):
        page.answer(label, f"=CALCIUM_SAFE_PH{called}({safe})", number="rough_ph")
    page.sentence(
        "With the acid given, right after mixing",
        f"=CALCIUM_STATE({alk},{ph},{calcium},{dose},{litres},{acid},{strength},20,{tank},{ions})",
    )
    page.answer(
        "Share of the carbon dioxide that left, 0 to 1",
        f"=CO2_LOST_FROM_TWO_READINGS({ph},{mixed},{later},{dose},{litres},{acid},{strength}"
        f",{ions})",
        number="volume",
    )
    page.answer(
        "Alkalinity that the water had, mg/L as CaCO3",
        f"=ALKALINITY_FROM_DOSE({ph},{mixed},{dose},{litres},{acid},{strength},{ions})",
        number="mg",
    )
    page.sentence("Cautions for this acid", f"=ACID_CAUTIONS({acid},{strength})")
    page.sheet.finish(area=(0, 0, page.row, LAST))
