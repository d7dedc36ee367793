"""The command: what it prints, and one line with exit code 2 where it cannot."""

from __future__ import annotations

import os
import shutil

import pytest

from udfs import CATALOGUE
from workbook_template.cli.main import COMMANDS, main
from workbook_template.template import build
from workbook_template.template.build import TEMPLATE


def refused(capsys, *arguments: str) -> str:
    """The one line of a refusal."""
    assert main(list(arguments)) == 2
    *progress, line = capsys.readouterr().err.strip().splitlines()
    assert all(text.endswith("...") for text in progress)
    assert line.startswith("spargesheet: ")
    return line


def test_new_writes_the_template_and_show_prints_it(tmp_path, capsys):
    book = tmp_path / "plan é's.xlsx"
    assert main(["new", str(book)]) == 0
    assert capsys.readouterr().err.startswith("wrote ")
    assert book.read_bytes() == TEMPLATE.read_bytes()
    assert main(["show", str(book)]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    for words in (
        "0207 Pale",
        "Phosphoric 75 drum",
        "5.70",
        "237",
        "374",
        "alk left",
        "Ca limit",
        "can drop within hours",
        "goggles",
        "7.52",
    ):
        assert words in shown


def copied(monkeypatch):
    """Have the committed template stand for the one that would be built."""
    monkeypatch.setattr(build, "build", lambda path, *_, **__: shutil.copy(TEMPLATE, path))


def test_new_never_writes_over_a_file_unasked(tmp_path, capsys, monkeypatch):
    copied(monkeypatch)
    book = tmp_path / "plan.xlsx"
    book.write_text("mine")
    assert "--force" in refused(capsys, "new", str(book))
    assert book.read_text() == "mine"
    assert main(["new", str(book), "--force"]) == 0
    assert book.read_bytes() == TEMPLATE.read_bytes()


def test_new_refuses_a_place_it_cannot_write(tmp_path, capsys, monkeypatch):
    assert "not a folder" in refused(capsys, "new", str(tmp_path / "nowhere" / "plan.xlsx"))
    assert ".xlsx" in refused(capsys, "new", str(tmp_path / "plan.doc"))

    def denied(*arguments):
        raise PermissionError(13, "Permission denied")

    copied(monkeypatch)
    monkeypatch.setattr(os, "replace", denied)
    assert "Permission denied" in refused(capsys, "new", str(tmp_path / "plan.xlsx"))
    assert list(tmp_path.iterdir()) == []


def test_show_refuses_what_is_no_plan(tmp_path, capsys):
    assert "is not there" in refused(capsys, "show", str(tmp_path / "none.xlsx"))
    text = tmp_path / "text.xlsx"
    text.write_text("no workbook")
    assert "not an .xlsx workbook" in refused(capsys, "show", str(text))
    broken = tmp_path / "broken.xlsx"
    broken.write_bytes(TEMPLATE.read_bytes()[:2000])
    refused(capsys, "show", str(broken))


def test_functions_lists_and_explains(capsys):
    assert main(["functions"]) == 0
    listed = capsys.readouterr().out
    assert all(name in listed for name in CATALOGUE)
    assert main(["functions", "acid_dose"]) == 0
    assert "mg/L as CaCO3" in capsys.readouterr().out
    assert "lists them" in refused(capsys, "functions", "NO_SUCH")


@pytest.mark.parametrize("command", ["", *COMMANDS])
def test_help_reads_well(command, capsys):
    with pytest.raises(SystemExit) as ended:
        main([command, "--help"] if command else ["--help"])
    assert ended.value.code == 0
    assert "usage: spargesheet" in capsys.readouterr().out


def test_every_command_can_be_quiet():
    """Every command, and every action of a command, takes --quiet."""
    import argparse

    from workbook_template.cli.main import COMMANDS, parser

    def leaves(command):
        inner = [a for a in command._actions if isinstance(a, argparse._SubParsersAction)]
        if not inner:
            yield command
        for action in inner:
            for one in action.choices.values():
                yield from leaves(one)

    found = list(leaves(parser()))
    assert len(found) >= len(COMMANDS)
    assert [one.prog for one in found if "--quiet" not in one._option_string_actions] == []
