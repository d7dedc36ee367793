"""A column of batches, with totals that refuse to be short."""

from workbook_template.template.book import Book
from workbook_template.template.examples.page import LAST, Page

TITLE = "Batches in rows, with totals that refuse to be short"
_BATCHES = (
    ("Pale", 1120, 168, 7.5, 5.7, "phosphoric", 75),
    ("Stout", 880, 262, 7.3, 5.8, "phosphoric", 75),
    ("Wheat", 800, 84, 7.2, None, "phosphoric", 75),
    ("Lager", 1170, 168, 7.6, 5.6, "phosphoric", 75),
)


def write(book: Book) -> None:
    """Write the example."""
    page = Page(
        book,
        TITLE,
        "The wheat has no target pH yet: its row says so, and the totals name it instead of leaving"
        " it out. Type 5.8 there. SUM alone would pass over the words and be short.",
    )
    page.headers(
        "Batch",
        "Liquor, L at 20 °C",
        "Alkalinity, mg/L as CaCO3",
        "pH",
        "Target pH",
        "Acid",
        "Strength, mass %",
        "Dose, mL",
        "Alkalinity left, mg/L as CaCO3",
        "pH right after mixing",
        "can climb to pH, half of the gas lost",
    )
    dose = 'IF(E{r}="","target pH is missing",ACID_DOSE(C{r},D{r},E{r},B{r},F{r},G{r}))'
    reads = 'IF(ISNUMBER(H{r}),PH_AFTER_ACID(C{r},D{r},H{r},B{r},F{r},G{r}%s),"no dose")'
    left = 'IF(ISNUMBER(H{r}),ALKALINITY_AFTER_ACID(C{r},D{r},H{r},B{r},F{r},G{r}),"no dose")'
    answers = {
        7: (f"={dose}", "ml"),
        8: (f"={left}", "mg"),
        9: ("=" + reads % "", "ph"),
        10: ("=" + reads % ',"",20,0.5', "ph"),
    }
    first, last = page.rows(_BATCHES, answers)
    page.section("Totals")
    names, doses = f"A{first}:A{last}", f"H{first}:H{last}"
    page.answer("Batches", f"=COUNTA({names})", number="count")
    page.answer(
        "Acid for all of them, mL",
        f'=IF(COUNT({doses})=COUNTA({names}),SUM({doses}),COUNTA({names})-COUNT({doses})&" without'
        ' a dose")',
        number="ml",
    )
    page.sentence("The same, with 3 % wasted, mL", f"=ACID_NEEDED({doses},3)", "ml", height=18)
    page.sentence("Cautions for this acid", f"=ACID_CAUTIONS(F{first},G{first})")
    page.sheet.finish(area=(0, 0, page.row, LAST))
