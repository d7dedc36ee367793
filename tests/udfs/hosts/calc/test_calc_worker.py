"""The worker by itself: what goes in and out of it, without an office."""

import json
import math
import os
import subprocess
import sys
from pathlib import Path

import pytest

from udfs import call
from udfs.functions import about
from udfs.hosts.calc import answers, extension

WORKER = Path(extension.__file__).with_name("worker.py")


TOKEN = b"0123456789abcdef"


def unframed(line, number):
    """The answer in a line of the worker, which must be for this request."""
    token, found, length, answer = line.rstrip(b"\n").split(b" ", 3)
    assert (token, int(found), int(length)) == (TOKEN, number, len(answer))
    return json.loads(answer)


@pytest.fixture
def settings_file(tmp_path):
    settings = tmp_path / "settings.json"
    settings.write_text(json.dumps(extension.settings(sys.executable)), encoding="utf-8")
    return settings


@pytest.fixture
def worker(settings_file, tmp_path):
    """A worker process and a way to ask it."""
    process = subprocess.Popen(
        [sys.executable, WORKER, settings_file, "a test", TOKEN.decode()],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        cwd=tmp_path,
    )
    count = 0

    def ask(name, *cells):
        nonlocal count
        count += 1
        process.stdin.write(b"%d %b\n" % (count, json.dumps([name, cells]).encode()))
        process.stdin.flush()
        return unframed(process.stdout.readline(), count)

    with process:
        assert process.stdout.readline() == b"\n"
        assert unframed(process.stdout.readline(), 0) == ""
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


@pytest.mark.parametrize("kept_back", [False, True])
def test_what_a_library_writes_does_not_disturb(settings_file, tmp_path, kept_back):
    """By print, past Python's own streams as a C library does, and by a program that it starts."""
    (tmp_path / "sitecustomize.py").write_text(
        "import os, sys, subprocess, threading\n"
        "print('from sitecustomize')\n"
        "def noise():\n"
        "    print('noise', flush=True); os.write(1, b'3.0\\n'); subprocess.run(['echo', "
        "'noise'])\n"
        "    assert sys.stdin.read() == ''\n"
        "def late():\n"
        "    import udfs\n"
        "    entry = udfs.CATALOGUE['HARDNESS']; body = entry.body\n"
        "    entry.body = lambda *values: (noise(), body(*values))[1]\n"
        f"sys.path.append({str(WORKER.parents[3])!r}); late()\n"
    )
    done = subprocess.run(
        [sys.executable, WORKER, settings_file, "a test", TOKEN.decode()],
        input=b'1 ["HARDNESS", [1.0, 2.0]]\n',
        capture_output=True,
        env=os.environ
        | {"PYTHONPATH": str(tmp_path), "PYTHONUNBUFFERED": "" if kept_back else "1"},
    )
    *before, empty, hello, answer = done.stdout.splitlines()
    # What Python still kept back when the worker took its descriptors goes to where errors go.
    assert (before, empty) == ([] if kept_back else [b"from sitecustomize"], b"")
    assert kept_back == (b"from sitecustomize" in done.stderr)
    assert unframed(hello, 0) == "" and unframed(answer, 1) == call("HARDNESS", 1.0, 2.0)
    assert done.stderr.count(b"noise") == 2 and b"3.0" in done.stderr


def test_an_extension_of_before_the_frames_is_told(settings_file):
    done = subprocess.run(
        [sys.executable, WORKER, settings_file, "a test"], input=b"", capture_output=True
    )
    assert "older than its Python's spargesheet" in json.loads(done.stdout)


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
