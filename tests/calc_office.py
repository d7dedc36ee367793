"""The real LibreOffice for tests; where there is none, tests are skipped, or fail where it is
required.
"""

import os
import subprocess

import pytest

from udfs.hosts import HostError
from udfs.hosts.calc import office


def missing(reason):
    """A skip that says why; with SPARGESHEET_REQUIRE_OFFICE in the environment, as in CI, a
    failure.
    """
    if os.environ.get("SPARGESHEET_REQUIRE_OFFICE"):
        pytest.fail(f"the tests in Calc are required here, but {reason}")
    pytest.skip(reason)


def programs():
    """The LibreOffice of this machine."""
    try:
        return office.find()
    except HostError as error:
        missing(str(error))


@pytest.fixture(scope="session")
def libreoffice():
    """The LibreOffice of this machine, with a Python that can work it."""
    found = programs()
    try:
        done = subprocess.run(
            [found.python, "-c", "import uno"], env=office.environment(), capture_output=True
        )
    except OSError as error:
        missing(str(error))
    if done.returncode:
        missing(f"{found.python} cannot work LibreOffice: no module uno")
    return found


@pytest.fixture(scope="session")
def calc(libreoffice):
    """A headless Calc with the extension."""
    with office.with_extension(str(libreoffice.folder)) as running:
        yield running


@pytest.fixture
def sheet(calc):
    """An empty spreadsheet in it."""
    calc.ask("new")
    return calc
