"""The desk that the tests of the workbook share."""

from __future__ import annotations

import pytest

from tests.workbook_template.desk import Desk


@pytest.fixture(scope="session")
def one_desk():
    return Desk()


@pytest.fixture
def desk(one_desk):
    yield one_desk
    one_desk.tidy()
