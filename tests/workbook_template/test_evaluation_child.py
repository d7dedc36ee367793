"""The child process of the evaluation: what else is printed, what else is on its path, and how much
it is sent.
"""

import sys
import tracemalloc

import pytest

from tests.workbook_template.travelling import fresh, plan, rewritten
from udfs import call
from workbook_template.travel import bounds, child
from workbook_template.travel.fresh_values import fresh_values
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.user_errors import BookError

DOSE = call("ACID_DOSE", 101.0, 7.5, 5.5, 301.0, "lactic", 88.0)


@pytest.mark.parametrize(
    "noise",
    [
        "print('a line'); ",
        "print('{\"values\": []}', end=''); ",
        "import os; os.write(1, b'\\xff'); ",
    ],
)
def test_what_is_printed_before_is_no_answer(tmp_path, monkeypatch, noise):
    path = plan(tmp_path / "plan.xlsx", 1)
    monkeypatch.setattr(child, "_START", noise + child._START)
    assert fresh(path)["Plan", 1, 7] == DOSE


def test_what_is_printed_in_the_middle_is_no_answer(tmp_path, monkeypatch):
    path = plan(tmp_path / "plan.xlsx", 1)
    inside = "import udfs; print('a line'); import os; os.write(1, b'another'); main()"
    monkeypatch.setattr(
        child,
        "_START",
        child._START.replace("main()", f"import atexit; old = child_answers; {inside}").replace(
            "import main;",
            "import main; import workbook_template.travel.child as c; child_answers = c.Reply; "
            "c.Reply = lambda: (lambda say: (os_write(), say)[1])(child_answers()); "
            "os_write = lambda: __import__('os').write(1, b'a C library');",
        ),
    )
    assert fresh(path)["Plan", 1, 7] == DOSE


def test_a_backport_stands_in_for_no_module_of_the_standard_library(tmp_path, monkeypatch):
    for name in ("enum", "dataclasses", "json", "typing"):
        (tmp_path / f"{name}.py").write_text("raise ImportError('this is a backport')\n")
    path = plan(tmp_path / "plan.xlsx", 1)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.setattr(sys, "path", [str(tmp_path), *sys.path])
    assert fresh(path)["Plan", 1, 7] == DOSE


def test_texts_that_are_repeated_over_and_over_are_bounded(tmp_path):
    """A few kilobytes in the file, and gigabytes where each cell's text is counted out."""
    cells = "".join(
        f'<row r="{row}">' + '<c t="s"><v>0</v></c>' * 20 + "</row>" for row in range(2, 1002)
    )
    text = "x" * 32_767
    path = rewritten(
        plan(tmp_path / "plan.xlsx", 1, lambda book, sheet: sheet.write("J1", text), settled=False),
        {
            "xl/worksheets/sheet1.xml": lambda data: (
                data[: data.index(b'<row r="2"')]
                + cells.encode()
                + data[data.index(b"</sheetData>") :]
            ),
            "xl/sharedStrings.xml": lambda data: data.replace(b"lactic", text.encode()),
        },
    )
    assert path.stat().st_size < 100_000
    tracemalloc.start()
    try:
        with pytest.raises(BookError, match="more than 30 million characters in its cells"):
            fresh_values(StoredBook(Package.read(path)))
        assert tracemalloc.get_traced_memory()[1] < 100_000_000
    finally:
        tracemalloc.stop()


def test_shared_texts_are_bounded_as_they_are_read(tmp_path, monkeypatch):
    monkeypatch.setattr(bounds, "TEXT_CHARACTERS", 1_000)
    path = plan(
        tmp_path / "plan.xlsx", 1, lambda book, sheet: sheet.write("J1", "y" * 1_001), settled=False
    )
    with pytest.raises(BookError, match="shared texts"):
        fresh_values(StoredBook(Package.read(path)))
