"""Opening an .ods: LibreOffice gets nothing of the Python environment of the terminal."""

from __future__ import annotations

import os
import sys
import time

from workbook_template.cli.main import main


def test_nothing_of_an_active_environment_reaches_the_office(tmp_path, monkeypatch):
    """A program in LibreOffice's place writes down what it was started with."""
    folder, said = tmp_path / "office", tmp_path / "said"
    folder.mkdir()
    program = folder / "soffice"
    program.write_text(
        f"#!/bin/sh\n(env; echo ARGUMENTS $*) > {said}.part\nmv {said}.part {said}\n"
    )
    program.chmod(0o755)
    book = tmp_path / "plan.ods"
    book.write_bytes(b"PK")
    for name in ("PYTHONHOME", "PYTHONPATH", "VIRTUAL_ENV", "LD_LIBRARY_PATH", "CONDA_PREFIX"):
        monkeypatch.setenv(name, "/some/environment")
    monkeypatch.setenv("PATH", f"{os.path.dirname(sys.executable)}:{os.environ['PATH']}")
    assert main(["open", str(book), "--office", str(folder)]) == 0
    until = time.monotonic() + 60
    while not said.exists() and time.monotonic() < until:
        time.sleep(0.02)
    told = said.read_text()
    assert "/some/environment" not in told
    assert str(book) in told


def test_what_is_not_there_is_one_line(tmp_path, capsys):
    assert main(["open", str(tmp_path / "plan.ods")]) == 2
    assert "There is no file" in capsys.readouterr().err
