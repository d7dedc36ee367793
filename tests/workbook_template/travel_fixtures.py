"""Fixtures of the tests of share, restore, check and recalc; a module imports those that it uses."""

import json
import os

import pytest

from workbook_template import office, values
from workbook_template.evaluation import Evaluation


@pytest.fixture
def quick_engine(monkeypatch):
    """The evaluation in this process, for tests that are not about the child process: its start takes most of the time."""
    def run(job, title, heard, seconds):
        return json.loads(json.dumps(Evaluation(json.loads(json.dumps(job))).answer()))

    monkeypatch.setattr(values, "_run", run)
    monkeypatch.setattr("workbook_template.evaluation.say", lambda message: None)


@pytest.fixture
def libreoffice():
    """LibreOffice; a visible skip without it, a failure where the environment requires it."""
    if office.soffice():
        return office
    reason = "LibreOffice (soffice) is not installed here"
    if os.environ.get("SPARGESHEET_REQUIRE_OFFICE"):
        pytest.fail(reason)
    return pytest.skip(reason)
