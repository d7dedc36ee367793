"""The words outside the code are those of the catalogue."""

from __future__ import annotations

from pathlib import Path

from udfs.reference import renewed

README = Path(__file__).parents[2] / "README.md"


def test_the_function_table_of_the_readme_is_true():
    text = README.read_text(encoding="utf-8")
    assert renewed(text) == text, "run `make readme` and commit the result"
