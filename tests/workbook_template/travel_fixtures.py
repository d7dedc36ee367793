"""Fixtures of the tests of share, restore, check and recalc; a module imports those that it
uses.
"""

import json

import pytest

from tests.calc_office import programs
from workbook_template.cli import through_office
from workbook_template.travel import fresh_values
from workbook_template.travel.evaluation import Evaluation


@pytest.fixture
def quick_engine(monkeypatch):
    """The evaluation in this process, for tests that are not about the child process: its start
    takes most of the time.
    """

    def run(job, title, heard, seconds):
        return json.loads(json.dumps(Evaluation(json.loads(json.dumps(job))).answer()))

    monkeypatch.setattr(fresh_values, "_run", run)


@pytest.fixture
def libreoffice():
    """What turns files into other kinds, where LibreOffice is there for it."""
    programs()
    return through_office
