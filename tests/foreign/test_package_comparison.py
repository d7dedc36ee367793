"""The comparison of packages finds what it is there to find."""

import re

import pytest

from tests.foreign import corpus_books
from tests.foreign.package_comparison import refreshed_differences, shared_differences
from tests.workbook_template.hand_parts import SHEET
from tests.workbook_template.travelling import rewritten


@pytest.fixture(params=[refreshed_differences, lambda old, new: shared_differences(old, new, "")])
def compared(request, tmp_path):
    """Compares a book with itself after a change to its parts."""

    def run(changes, removed=()):
        old, new = tmp_path / "comments.xlsx", tmp_path / "new.xlsx"
        if not old.exists():
            folder = tmp_path / "books"
            folder.mkdir()
            corpus_books.write(folder)
            old.write_bytes((folder / "comments.xlsx").read_bytes())
        new.write_bytes(old.read_bytes())
        return request.param(old, rewritten(new, changes, removed))

    return run


def test_a_book_is_like_itself(compared):
    assert compared({}) == []


def test_a_changed_figure_is_found(compared):
    def changed(data):
        return re.sub(rb"(<c r=\"D1\"><v>)[^<]*", rb"\g<1>5", data)

    assert any("D1 was" in fault for fault in compared({SHEET: changed}))


def test_a_changed_figure_of_a_formula_is_no_fault(compared):
    def changed(data):
        return re.sub(rb"(<c r=\"H1\"><f>[^<]*</f><v>)[^<]*", rb"\g<1>5", data)

    assert compared({SHEET: changed}) == []


@pytest.mark.parametrize("name", ["xl/styles.xml", "xl/theme/theme1.xml", "xl/sharedStrings.xml"])
def test_a_changed_part_is_found(compared, name):
    assert any(name in fault for fault in compared({name: lambda data: data + b" "}))


def test_a_lost_part_is_found(compared):
    assert any("theme1.xml" in fault for fault in compared({}, ["xl/theme/theme1.xml"]))
