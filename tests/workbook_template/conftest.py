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


@pytest.fixture(autouse=True)
def key_folder(tmp_path_factory, monkeypatch):
    """The key of shared copies in a folder of the test's own, for child processes too."""
    folder = tmp_path_factory.mktemp("data")
    monkeypatch.setenv("XDG_DATA_HOME", str(folder))
    monkeypatch.setattr("workbook_template.travel.seal.folder", lambda: folder / "spargesheet")
    return folder / "spargesheet"
