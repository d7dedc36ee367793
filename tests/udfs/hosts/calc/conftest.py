import pytest

from tests.calc_office import programs
from udfs.hosts.calc.office import with_extension


@pytest.fixture(scope="session")
def libreoffice():
    return programs()


@pytest.fixture(scope="session")
def calc(libreoffice):
    """A headless Calc with the extension."""
    with with_extension(str(libreoffice.folder)) as office:
        yield office


@pytest.fixture
def sheet(calc):
    """An empty spreadsheet in it."""
    calc.ask("new")
    return calc
