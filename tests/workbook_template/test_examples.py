"""The small books to copy from: each formula stands beside its answer, and the answer is what the
function gives.
"""

from __future__ import annotations

import pytest
from openpyxl import load_workbook

from tests.calc_office import calc, libreoffice  # noqa: F401  (fixtures)
from udfs import call
from workbook_template.cli.calc_edition import to_xlsx
from workbook_template.cli.main import main
from workbook_template.template import examples


@pytest.fixture(scope="module", params=examples.NAMES)
def book(request, tmp_path_factory):
    path = tmp_path_factory.mktemp("example") / f"{request.param}.xlsx"
    examples.build(request.param, path)
    return path


def test_each_formula_stands_beside_its_answer(book):
    sheet = load_workbook(book).active
    cells = [cell for row in sheet.iter_rows() for cell in row]
    live = {cell.value for cell in cells if cell.data_type == "f"}
    texts = {
        str(cell.value).partition(":  ")[2] or str(cell.value)
        for cell in cells
        if cell.data_type == "s"
    }
    columns = {f for f in live if f not in texts}
    first = {f for f in texts if f.startswith("=")}
    assert len(first) >= 3 and first <= live
    # what is filled down a column is shown for its first row only
    shapes = {"".join("#" if c.isdigit() else c for c in f) for f in first}
    assert {"".join("#" if c.isdigit() else c for c in f) for f in columns} <= shapes


def test_no_answer_is_an_error_and_the_cautions_stand_above(book):
    sheet = load_workbook(book, data_only=True).active
    values = [cell.value for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert not [value for value in values if str(value).startswith("#")]
    assert "goggles" in sheet["A3"].value
    unasked = [value for value in values if str(value).startswith("Check ")]
    assert unasked == [] or all("dose" in value for value in unasked)


def test_the_dose_is_the_functions(tmp_path):
    examples.build("dose", tmp_path / "dose.xlsx")
    sheet = load_workbook(tmp_path / "dose.xlsx", data_only=True).active
    found = {row[0].value: row[1].value for row in sheet.iter_rows() if row[0].value}
    litres = call("COLD_LITRES", 1150, 77)
    ions = [[72, 9, 18, 31, 48]]
    dose = call("ACID_DOSE", 168, 7.5, 5.7, litres, "phosphoric", 75, ions)
    assert found["Dose, mL"] == pytest.approx(dose, rel=1e-9)
    assert found["First portion, 60 % of it, mL"] == pytest.approx(0.6 * dose, rel=1e-9)
    dosed = 168, 7.5, dose, litres, "phosphoric", 75, ions
    assert found["pH right after mixing, all of it given"] == pytest.approx(5.7, abs=1e-6)
    assert found["    as gas leaves it can climb to pH"] == pytest.approx(
        call("PH_AFTER_ACID", *dosed, 20, 0.5), rel=1e-9
    )


def test_a_total_refuses_to_be_short(tmp_path):
    examples.build("batches", tmp_path / "batches.xlsx")
    sheet = load_workbook(tmp_path / "batches.xlsx", data_only=True).active
    found = {row[0].value: row[1].value for row in sheet.iter_rows() if row[0].value}
    assert found["Batches"] == 4
    assert found["Acid for all of them, mL"] == "1 without a dose"
    assert isinstance(found["The same, with 3 % wasted, mL"], str)


def test_the_command_lists_writes_and_refuses(tmp_path, capsys):
    assert main(["example"]) == 0
    listed = capsys.readouterr().out
    assert all(name in listed for name in examples.NAMES)
    path = tmp_path / "own.xlsx"
    assert main(["example", "runnings", str(path)]) == 0 and path.exists()
    for arguments, words in (
        (["runnings", str(path)], "add --force"),
        (["nothing", str(path)], "there are dose, batches"),
        (["dose"], "name the file too"),
        (["dose", str(tmp_path / "x.doc")], "must end in .xlsx"),
    ):
        assert main(["example", *arguments]) == 2
        assert words in capsys.readouterr().err


@pytest.mark.slow
@pytest.mark.parametrize("name", examples.NAMES)
def test_it_is_live_in_calc(name, calc, tmp_path):  # noqa: F811
    """Calc recalculates the book on its way into an .ods and back; its figures are those that were
    stored.
    """
    book, back = tmp_path / "book.xlsx", tmp_path / "back.xlsx"
    assert main(["example", name, str(tmp_path / "example.ods"), "--quiet"]) == 0
    examples.build(name, book)
    to_xlsx(tmp_path / "example.ods", back)
    live = load_workbook(back).active
    held, found = (load_workbook(path, data_only=True).active for path in (book, back))
    cells = [c.coordinate for row in live.iter_rows() for c in row if c.data_type == "f"]
    assert len(cells) >= 3
    for cell in cells:
        value = held[cell].value
        same = pytest.approx(value, rel=1e-9) if isinstance(value, (int, float)) else value
        assert found[cell].value == same, cell
