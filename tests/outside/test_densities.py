"""Densities of the acids against handbook points and second sources that the interpolation does not
use.

The points are the rows with ``use`` = ``check`` in chemcore/data/density.csv.
"""

from __future__ import annotations

import re

import pytest

from chemcore.tables import rows
from tests.outside.record import call, near

CHECKS = [row for row in rows("density") if row["use"] == "check"]


def _uncertainty(row: dict[str, str]) -> float:
    """What the row's note states; else 0.0003 within a handbook's own table, 0.001 for a second
    reading of the older tables, and what the Laliberte 2009 correlation is known to differ by:
    0.001 in weak, 0.003 in strong acid.
    """
    stated = re.search(r"tolerance ([0-9.]+\d)", row["note"])
    if stated:
        return float(stated.group(1))
    if "Laliberte" in row["source"]:
        return 0.003 if float(row["mass_percent"]) >= 50.0 else 0.0012
    if "International Critical" in row["source"]:
        return 0.001
    return 0.0003


@pytest.mark.parametrize(
    "row", CHECKS, ids=lambda r: f"{r['acid']}-{r['mass_percent']}-{r['source'][:8]}"
)
def test_density_of_an_acid(row):
    strength = float(row["mass_percent"])
    found = call("ACID_DENSITY", row["acid"], strength)
    if isinstance(
        found, str
    ):  # a 60 % citric acid is past the solubility at 20 °C: refused, in words
        assert (row["acid"], strength) == ("citric", 60.0) and found.startswith(
            "Check strength: 60 %"
        )
        return
    assert found == near(float(row["density"]), abs=_uncertainty(row) + 1e-9)


def test_every_acid_is_checked():
    assert {row["acid"] for row in CHECKS} == {row["acid"] for row in rows("acids")}
