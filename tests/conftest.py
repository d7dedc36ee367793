"""Marks that follow from what a test asks for, and how invented examples are drawn."""

from __future__ import annotations

import os

import pytest
from hypothesis import settings

if os.environ.get("SPARGESHEET_REQUIRE_OFFICE"):
    # CI judges a change by the same examples each time; `make test` at home draws others each time.
    settings.load_profile("ci")

#: Fixtures that start the real LibreOffice.
OFFICE = {"libreoffice", "calc", "sheet"}


def pytest_collection_modifyitems(items):
    """A test that asks for LibreOffice is marked ``office`` without a word of its own."""
    for item in items:
        if OFFICE.intersection(getattr(item, "fixturenames", ())):
            item.add_marker(pytest.mark.office)
