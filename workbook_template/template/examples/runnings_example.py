"""Last runnings."""

from workbook_template.template.book import Book
from workbook_template.template.examples.page import LAST, Page

TITLE = "Last runnings: when to stop, and what the kettle then needs"
_READINGS = (
    (0, 5.30, 17.5),
    (300, 5.32, 15.0),
    (600, None, 9.8),
    (800, 5.48, 6.1),
    (900, 5.58, 4.2),
    (1000, 5.72, 2.9),
    (1050, 5.83, 2.3),
)


def write(book: Book) -> None:
    """Write the example."""
    page = Page(
        book,
        TITLE,
        "pH of a cooled sample; leave a missed reading empty. The limits are common practice, no"
        " source.",
    )
    page.section("What the formulas need")
    ph = page.given("Highest pH", 5.7, number="ph")
    plato = page.given("Lowest gravity", 2.5, unit="°P")
    kettle = page.given("Wort in the kettle at the stop", 1460, unit="L at 20 °C")
    wanted = page.given("Kettle to be filled to", 1600, unit="L at 20 °C")
    page.section("Readings")
    page.headers("Run off in all, L", "pH", "Gravity, °P")
    first = page.row + 1
    for reading in _READINGS:
        for column, (value, number) in enumerate(zip(reading, ("litres", "ph", "share"))):
            page.sheet.input(page.row, column, value, number)
        page.row += 1
    readings = ",".join(f"{column}{first}:{column}{page.row}" for column in "ABC")
    page.section("What they answer")
    page.answer("Stop at, L", f"=RUNOFF_CUTOFF({readings},{ph},{plato})", number="litres")
    page.sentence("Because", f"=RUNOFF_REASON({readings},{ph},{plato})")
    page.answer("Water to add, L", f"=KETTLE_TOP_UP({kettle},{wanted})", number="litres")
    page.sheet.finish(area=(0, 0, page.row, LAST))
