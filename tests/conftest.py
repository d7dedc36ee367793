"""Marks that follow from what a test asks for."""

from __future__ import annotations

import pytest

#: Fixtures that start the real LibreOffice.
OFFICE = {"libreoffice", "calc", "sheet"}


def pytest_collection_modifyitems(items):
    """A test that asks for LibreOffice is marked ``office`` without a word of its own."""
    for item in items:
        if OFFICE.intersection(getattr(item, "fixturenames", ())):
            item.add_marker(pytest.mark.office)
