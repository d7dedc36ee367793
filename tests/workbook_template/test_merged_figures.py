"""The sender's workbook with the copy's inputs: every figure that reads one is worked out again, or
named.
"""

import openpyxl
import pytest

from tests.foreign.books import DOSE, with_dose
from tests.workbook_template.travel_fixtures import quick_engine  # noqa: F401
from tests.workbook_template.travelling import values
from workbook_template.travel.merge import merged
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.share import shared

pytestmark = pytest.mark.usefixtures("quick_engine")


def sent_and_changed(path, fill, cell, value):
    """A book with a dose, and its copy in which somebody typed another value."""
    with_dose(path, fill)
    copy = path.with_name("copy.xlsx")
    copy.write_bytes(shared(Package.read(path)).data)
    book = openpyxl.load_workbook(copy)
    book["Plan"][cell] = value
    book.save(copy)
    return Package.read(copy), Package.read(path)


def test_native_formulas_that_read_a_changed_input_are_worked_out_again(tmp_path):
    def fill(_, sheet):
        sheet.write("I1", 10.0)
        sheet.write_formula("J1", "=I1*2", None, 20.0)
        sheet.write_formula("K1", "=G1+J1", None, DOSE + 20.0)
        sheet.write_formula("L1", "=ACID_NEEDED(J1,0)", None, 20.0)

    result = merged(*sent_and_changed(tmp_path / "plan.xlsx", fill, "I1", 50.0))
    assert result.inputs == [("Plan!I1", 10.0, 50.0)]
    found = values(result.data)
    assert found["Plan", 1, 10] == 100.0
    assert found["Plan", 1, 11] == pytest.approx(DOSE + 100.0, rel=1e-12)
    assert found["Plan", 1, 12] == 100.0


def test_a_figure_that_cannot_be_worked_out_again_is_named(tmp_path):
    def fill(_, sheet):
        sheet.write("I1", 10.0)
        sheet.write_formula("J1", "=CEILING(I1,4)", None, 12.0)

    result = merged(*sent_and_changed(tmp_path / "plan.xlsx", fill, "I1", 50.0))
    assert values(result.data)["Plan", 1, 10] == 12.0
    assert result.warning and "Plan!J1" in result.warning
