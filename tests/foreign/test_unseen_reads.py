"""Native formulas of a copy that read frozen cells in ways that no reference shows, or whose text
stands in another cell.
"""

import pytest

from tests.foreign import books
from tests.workbook_template.travel_fixtures import quick_engine  # noqa: F401
from tests.workbook_template.travelling import formulas, rewritten, values
from workbook_template.travel.band import UNWATCHED
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.restore import restored
from workbook_template.travel.share import shared
from workbook_template.user_errors import BookError

pytestmark = pytest.mark.usefixtures("quick_engine")
SHEET = "xl/worksheets/sheet1.xml"


def doses(sheet, count):
    """Doses in G of rows 1 to ``count``, all the same."""
    for row in range(2, count + 1):
        sheet.write_row(row - 1, 0, books.WATER)
        sheet.write_formula(row - 1, 6, books.DOSE_OF.format(row), None, books.DOSE)


def in_rows(sheet, column, texts, stored):
    for row, (text, value) in enumerate(zip(texts, stored)):
        sheet.write_formula(row, column, text, None, value)


def shared_formula(first, ref, others):
    """Plain formulas of a column as one shared formula, as programs write a fill-down."""

    def change(data):
        text = f"<f>{first}</f>".encode()
        assert text in data
        data = data.replace(text, f'<f t="shared" ref="{ref}" si="0">{first}</f>'.encode())
        for other in others:
            text = f"<f>{other}</f>".encode()
            assert text in data
            data = data.replace(text, b'<f t="shared" si="0"/>')
        return data

    return change


def test_a_shared_formula_of_which_only_some_cells_read_a_dose_stays_whole(tmp_path):
    """The first cell of a filled-down native formula gets a guard; the others lose their text."""

    def fill(_, sheet):
        sheet.write_column("G2", [5.0, 6.0])
        texts = [f"=G{row}*2" for row in (1, 2, 3)]
        in_rows(sheet, 7, texts, [2 * books.DOSE, 10.0, 12.0])

    path = books.with_dose(tmp_path / "book.xlsx", fill)
    rewritten(path, {SHEET: shared_formula("G1*2", "H1:H3", ["G2*2", "G3*2"])})
    data = shared(Package.read(path)).data
    assert formulas(data)["Plan", 2, 8] == "G2*2" and formulas(data)["Plan", 3, 8] == "G3*2"
    restored(Package(data, "copy.xlsx"))


@pytest.mark.parametrize(
    "total",
    [
        "SUM(G1:last)",
        "SUM(Plan!G1:Plan!G4)",
        "SUM(G1:CHOOSE(1,G4))",
        'SUMIF(E1:E4,"lactic",G1)',
        '4*AVERAGEIF(E1:E4,"lactic",G1)',
        "SUM(Plan:Other!G3)",
        "SUM(column)",
    ],
)
def test_a_total_in_a_copy_says_that_a_dose_in_it_is_not_known(tmp_path, total):
    """Row 3 of the copy is changed; Gnumeric and Calc then pass over its words in the total."""

    def fill(book, sheet):
        doses(sheet, 4)
        book.add_worksheet("Other").write("G3", 3 * books.DOSE)
        book.define_name("last", "=Plan!$G$4")
        book.define_name("column", "=OFFSET(Plan!$A$1,0,6,4,1)")
        sheet.write_formula("I1", f"={total}", None, 4 * books.DOSE)

    path = books.with_dose(tmp_path / "book.xlsx", fill)
    copy = shared(Package.read(path))
    text = formulas(copy.data)["Plan", 1, 9]
    guarded = text.startswith("IF(COUNTIF") and covers(text.partition(">0")[0], 3)
    named = any("Plan!I1 may not show" in remark for remark in copy.remarks)
    assert guarded or named
    if named:
        assert UNWATCHED in values(copy.data).values()


def covers(counts, row):
    """Whether one of the areas that are counted has G of a row."""
    for piece in counts.split("COUNTIF(")[1:]:
        ends = piece.partition(",")[0].replace("$", "").replace("Plan!", "").split(":")
        rows = [int(end[1:]) for end in ends if end[:1] == "G" and end[1:].isdigit()]
        if rows and rows[0] <= row <= rows[-1]:
            return True
    return False


def test_a_shared_formula_that_is_defined_twice_hides_no_other(tmp_path):
    """Gnumeric takes the second text, our reader the first for all; so the second is not judged."""
    path = books.with_dose(tmp_path / "book.xlsx", lambda _, sheet: sheet.write("J1", 3.0))
    path.write_bytes(shared(Package.read(path)).data)
    first = b'<c r="J1"><f t="shared" ref="J1:J1" si="7">1+1</f><v>2</v></c>'
    hostile = b'<c r="K1"><f t="shared" ref="K1:K1" si="7">WEBSERVICE("x")</f><v>2</v></c>'
    rewritten(path, {SHEET: lambda d: d.replace(b'<c r="J1"><v>3</v></c>', first + hostile)})
    with pytest.raises(BookError, match="sheet1.xml, K1: a shared formula has another text"):
        restored(Package.read(path))
