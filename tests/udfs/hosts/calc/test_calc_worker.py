"""The worker by itself: what goes in and out of it, without an office."""

import json
import math
import subprocess
import sys
from pathlib import Path

import pytest

from udfs import about, call
from udfs.hosts.calc import answers, extension


@pytest.fixture
def worker(tmp_path):
    """A worker process and a way to ask it."""
    settings = tmp_path / "settings.json"
    settings.write_text(json.dumps(extension.settings(sys.executable)), encoding="utf-8")
    process = subprocess.Popen(
        [sys.executable, Path(extension.__file__).with_name("worker.py"), settings, "a test"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        cwd=tmp_path,
    )

    def ask(name, *cells):
        process.stdin.write(json.dumps([name, cells]).encode() + b"\n")
        process.stdin.flush()
        return json.loads(process.stdout.readline())

    with process:
        assert json.loads(process.stdout.readline()) == ""
        yield ask
        process.stdin.close()
        assert process.wait(30) == 0


def test_answers_are_exact(worker):
    third = 100 / 3
    assert worker("HARDNESS", third, math.pi) == call("HARDNESS", third, math.pi)


@pytest.mark.parametrize(
    "cells",
    [
        (None, 2.0),
        (True, 2.0),
        ("", 2.0),
        ("ü ' \" \n", 2.0),
        ("#N/A", 2.0),
        (((1.0,), (None,), ("x",)), 2.0),
        (((1.0, 2.0),), ((3.0, 4.0),)),
        (1.0, 2.0, 3.0),
        (math.nan, 1.0),
    ],
)
def test_every_kind_of_cell_arrives(worker, cells):
    expected = call("HARDNESS", *cells)
    if expected == "#N/A":
        expected = {"error": "#N/A"}
    if isinstance(expected, tuple):
        expected = [list(row) for row in expected]
    assert worker("HARDNESS", *cells) == expected


def test_it_knows_where_it_is(worker):
    assert worker("ADDIN_STATUS", "host") == "a test"


def test_no_module_of_the_working_folder_is_loaded(worker, tmp_path):
    (tmp_path / "udfs.py").write_text("raise SystemExit")
    assert worker("ADDIN_STATUS", "folder") == call("ADDIN_STATUS", "folder")


def test_what_a_library_prints_does_not_disturb(tmp_path):
    settings = tmp_path / "settings.json"
    settings.write_text(json.dumps(extension.settings(sys.executable)), encoding="utf-8")
    code = (
        f"import sys; sys.path.insert(0, {str(Path(extension.__file__).parents[3])!r}); import udfs.units\n"
        "from udfs.hosts.calc import worker; from udfs import catalogue\n"
        "entry = catalogue.CATALOGUE['HARDNESS']; body = entry.body\n"
        "entry.body = lambda *values: (print('noise'), body(*values))[1]\n"
        f"worker.main({str(settings)!r}, 'a test')"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], input=b'["HARDNESS", [1.0, 2.0]]\n', capture_output=True
    )
    assert [json.loads(line) for line in done.stdout.splitlines()] == [
        "",
        call("HARDNESS", 1.0, 2.0),
    ]
    assert b"noise" in done.stderr


def test_other_versions_and_other_arguments_are_said(monkeypatch):
    monkeypatch.setattr(about, "HOST", "")
    monkeypatch.setattr(about, "NOTE", "")
    old = extension.settings(sys.executable) | {"version": "0.0.1"}
    old["functions"] = old["functions"] | {"HARDNESS": ["calcium"], "OLD_FUNCTION": ["x"]}
    source = answers.Answers(old, "a test")
    assert json.loads(source.answer(b'["HARDNESS", [1.0]]')).startswith(
        "Check add-in: HARDNESS is not the same in "
    )
    assert json.loads(source.answer(b'["OLD_FUNCTION", [1.0]]')).startswith(
        "Check add-in: OLD_FUNCTION is not the same"
    )
    assert json.loads(source.answer(b'["LITRES", [1.0, "hL"]]')) == 100.0
    assert call("ADDIN_STATUS").endswith(
        "; the extension in LibreOffice is of version 0.0.1: run `spargesheet install "
        "calc`, then restart LibreOffice"
    )
