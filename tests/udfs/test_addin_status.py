import platform
from pathlib import Path

import pytest

import udfs
from chemcore import __version__
from udfs import call
from udfs.functions import about
from udfs.hosts import engine


@pytest.fixture(autouse=True)
def host(monkeypatch):
    monkeypatch.setattr(about, "HOST", "a program")
    monkeypatch.setattr(about, "NOTE", "")


def test_all_and_its_parts():
    folder = str(Path(udfs.__file__).parents[1])
    parts = {
        "version": __version__,
        "host": "a program",
        "python": platform.python_version(),
        "folder": folder,
    }
    assert {name: call("ADDIN_STATUS", name.upper()) for name in parts} == parts
    assert (
        call("ADDIN_STATUS")
        == call("ADDIN_STATUS", "all")
        == f"spargesheet {__version__} in a program, Python {platform.python_version()}, package in"
        f" {folder}"
    )
    assert (
        call("ADDIN_STATUS", "size")
        == 'Check part: "size" is none of all, version, host, python, folder'
    )


def test_a_note_comes_last(monkeypatch):
    monkeypatch.setattr(about, "NOTE", "install again")
    assert call("ADDIN_STATUS").endswith("; install again")


def test_the_engine_says_that_it_is_the_engine():
    import formualizer

    book = formualizer.Workbook()
    book.add_sheet("S")
    engine.register(book)
    book.set_formula("S", 1, 1, '=ADDIN_STATUS("host")')
    assert book.evaluate_cell("S", 1, 1) == "the embedded engine"
