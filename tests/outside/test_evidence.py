"""Every function of the catalogue has a check against something that is not its own code:
``data/evidence.csv``.

Where nothing outside exists, an independent second computation counts and is called that. Texts
about the add-in itself have no figure to check.
"""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests.outside.tables import published
from udfs import CATALOGUE

NO_FIGURES = "About"


@pytest.fixture(scope="module")
def bodies() -> dict[str, str]:
    """Text of every test of this folder, by ``file::name``."""
    found = {}
    for file in sorted(Path(__file__).parent.glob("test_*.py")):
        text = file.read_text(encoding="utf-8")
        for node in ast.parse(text).body:
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                found[f"{file.name}::{node.name}"] = ast.get_source_segment(text, node)
    return found


def test_every_function_has_its_evidence_once():
    named = [row["function"] for row in published("evidence")]
    assert sorted(named) == sorted(
        name for name, entry in CATALOGUE.items() if entry.category != NO_FIGURES
    )


@pytest.mark.parametrize("row", published("evidence"), ids=lambda row: row["function"])
def test_the_check_named_calls_the_function(row, bodies):
    assert row["source"] and row["data_of"]
    assert f'"{row["function"]}"' in bodies[row["test"]]
