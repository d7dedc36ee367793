"""The desk that the tests of the workbook share."""

from __future__ import annotations

import os

import pytest

from tests.workbook_template.desk import Desk

#: The season of 120 batches through the real Calc takes some four minutes: with
#: SPARGESHEET_WHOLE_SEASON in the environment.
collect_ignore = [] if os.environ.get("SPARGESHEET_WHOLE_SEASON") else ["test_season.py"]


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
