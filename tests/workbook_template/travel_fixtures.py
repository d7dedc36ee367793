"""Fixtures of the tests of share, restore, check and recalc; a module imports those that it
uses.
"""

import json

import pytest

from tests.calc_office import programs
from workbook_template.cli import through_office
from workbook_template.travel import fresh_values
from workbook_template.travel.evaluation import Evaluation


def engine_that(answers):
    """In place of the child process: ``answers(job)`` in this process."""

    class Here:
        def __init__(self, *_):
            self.job = None

        def __enter__(self):
            return self

        def __exit__(self, *_):
            pass

        def ask(self, job):
            self.job = json.loads(json.dumps(job))

        def answer(self, heard):
            return json.loads(json.dumps(answers(self.job)))

    return Here


@pytest.fixture
def quick_engine(monkeypatch):
    """The evaluation in this process, for tests that are not about the child process: its start
    takes most of the time.
    """

    monkeypatch.setattr(
        fresh_values, "EngineProcess", engine_that(lambda job: Evaluation(job).answer())
    )


@pytest.fixture
def libreoffice():
    """What turns files into other kinds, where LibreOffice is there for it."""
    programs()
    return through_office
