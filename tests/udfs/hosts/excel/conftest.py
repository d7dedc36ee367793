import pytest

from tests.udfs.hosts.excel.xlwings_standins import windows as stand_ins


@pytest.fixture(scope="module")
def windows():
    with stand_ins() as namespace:
        yield namespace
