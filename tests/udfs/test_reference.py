"""The words outside the code are those of the catalogue."""

from __future__ import annotations

from pathlib import Path

from udfs import CATALOGUE
from udfs.function_list import ORDER, by_category, renewed

README = Path(__file__).parents[2] / "README.md"


def test_the_function_table_of_the_readme_is_true():
    text = README.read_text(encoding="utf-8")
    assert renewed(text) == text, "run `make readme` and commit the result"


def test_every_category_has_its_place_and_every_function_its_category():
    groups = by_category()
    assert tuple(groups) == ORDER
    assert sorted(entry.name for entries in groups.values() for entry in entries) == sorted(
        CATALOGUE
    )
