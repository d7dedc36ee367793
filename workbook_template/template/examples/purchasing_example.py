"""What to order."""

from workbook_template.template.book import Book
from workbook_template.template.examples.page import LAST, Page

TITLE = "What to order, and what it costs"
_DOSES = (("Pale", 238), ("Stout", 395), ("Wheat", 85), ("Lager", 250))


def write(book: Book) -> None:
    """Write the example."""
    page = Page(
        book, TITLE, "A dose that is words makes the need words too: nothing is ordered short."
    )
    page.section("What the formulas need")
    acid = page.given("Acid", "phosphoric")
    strength = page.given("    its strength", 75, unit="mass %")
    stock = page.given("On the shelf", 0.5, unit="L")
    pack = page.given("A pack holds", 5, unit="L")
    price = page.given("    and costs", 31.5, unit="in your money")
    waste = page.given("Wasted", 3, unit="%")
    page.section("Doses")
    page.headers("Batch", "Dose, mL")
    first = page.row + 1
    for batch, dose in _DOSES:
        page.sheet.input(page.row, 0, batch)
        page.sheet.input(page.row, 1, dose)
        page.row += 1
    doses = f"B{first}:B{page.row}"
    page.section("What they answer")
    need = f"B{page.row + 1}"
    page.answer("Needed, mL", f"=ACID_NEEDED({doses},{waste})", number="mg")
    page.answer("Packs to order", f"=PACKS_TO_BUY({need},1000*{stock},{pack})", number="count")
    page.answer(
        "Stock lasts for, batches",
        f"=BATCHES_LEFT(1000*{stock},AVERAGE({doses}))",
        number="count",
    )
    page.answer(
        "Acid for these batches costs", f"=ACID_COST({need},{pack},{price})", number="money"
    )
    page.sentence("Cautions for this acid", f"=ACID_CAUTIONS({acid},{strength})")
    page.sheet.finish(area=(0, 0, page.row, LAST))
