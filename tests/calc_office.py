"""The real LibreOffice for tests; where there is none, tests are skipped, or fail where it is required."""

import os
import subprocess

import pytest

from udfs.hosts import HostError
from udfs.hosts.calc import office


def programs():
    """The LibreOffice of this machine; a skip says why there is none.

    With SPARGESHEET_REQUIRE_OFFICE in the environment, as in CI, its absence is a failure.
    """
    reason = ""
    try:
        found = office.find()
        done = subprocess.run([found.python, "-c", "import uno"], env=office.environment(), capture_output=True)
        if done.returncode:
            reason = f"{found.python} cannot work LibreOffice: no module uno"
    except (HostError, OSError) as error:
        reason = str(error)
    if not reason:
        return found
    if os.environ.get("SPARGESHEET_REQUIRE_OFFICE"):
        pytest.fail(f"the tests in Calc are required here, but {reason}")
    pytest.skip(reason)


@pytest.fixture(scope="session")
def libreoffice():
    """The LibreOffice of this machine."""
    return programs()


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
