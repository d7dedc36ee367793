"""The commands as they are typed: exit codes, one line for what is wrong, files left alone."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.workbook_template.travel_fixtures import libreoffice  # noqa: F401
from tests.workbook_template.travelling import plan, rewritten
from workbook_template.cli import main as cli

ROOT = Path(__file__).parents[2]
SHEET = "xl/worksheets/sheet1.xml"


@pytest.fixture(autouse=True)
def only_these(monkeypatch):
    monkeypatch.setattr(cli, "COMMANDS", ("share", "restore", "check", "recalc"))


def run(capsys, *arguments):
    code = cli.main([str(argument) for argument in arguments])
    out = capsys.readouterr()
    assert "Traceback" not in out.err
    return code, out.out, out.err


def test_the_way_of_a_sheet(tmp_path, capsys):
    path = plan(tmp_path / "plan.xlsx", 2)
    before = path.read_bytes()
    assert run(capsys, "check", path)[0] == 0
    code, out, _ = run(capsys, "share", path)
    assert code == 0 and "2 formulas of the add-in are frozen now" in out
    assert run(capsys, "check", tmp_path / "plan-shared.xlsx")[0] == 0
    code, out, _ = run(capsys, "restore", tmp_path / "plan-shared.xlsx", tmp_path / "back.xlsx")
    assert code == 0 and "2 formulas of the add-in are live again" in out
    assert run(capsys, "recalc", tmp_path / "back.xlsx")[1].endswith("no values changed\n")
    assert path.read_bytes() == before


def test_findings_and_json(tmp_path, capsys):
    path = plan(tmp_path / "plan.xlsx", 1, settled=False)
    code, out, _ = run(capsys, "check", path)
    assert (
        code == 1
        and "Plan!G1: stale: holds 0, a fresh evaluation gives" in out
        and "1 finding. Not checked: " in out
    )
    code, out, _ = run(capsys, "check", path, "--json")
    found = json.loads(out)
    assert code == 1 and found["formulas"] == 1 and found["findings"][0]["where"] == "Plan!G1"


def test_unreadable_is_2(tmp_path, capsys):
    path = tmp_path / "x.xlsx"
    path.write_bytes(b"no workbook")
    for command in ("check", "share", "restore", "recalc"):
        code, _, err = run(capsys, command, path)
        assert (
            code == 2
            and err.count("\n") == 1
            and err.startswith("spargesheet: ")
            and "x.xlsx is not a whole" in err
        )
    code, out, _ = run(capsys, "check", path, "--json")
    assert code == 2 and "not a whole" in json.loads(out)["error"]


def test_outputs_replace_nothing_unasked(tmp_path, capsys):
    path = plan(tmp_path / "plan.xlsx", 1)
    before = path.read_bytes()
    (tmp_path / "plan-shared.xlsx").write_bytes(b"mine")
    assert "exists already" in run(capsys, "share", path)[2]
    assert (tmp_path / "plan-shared.xlsx").read_bytes() == b"mine"
    assert "the input itself" in run(capsys, "share", path, path, "--force")[2]
    assert "must end in .xlsx or .ods" in run(capsys, "share", path, tmp_path / "out.csv")[2]
    assert run(capsys, "share", path, "--force")[0] == 0 and path.read_bytes() == before


def test_what_the_recipient_changed_is_printed(tmp_path, capsys):
    path = plan(tmp_path / "plan.xlsx", 1)
    run(capsys, "share", path)
    rewritten(
        tmp_path / "plan-shared.xlsx",
        {SHEET: lambda data: data.replace(b"<v>101</v>", b"<v>150</v>")},
    )
    _, out, _ = run(capsys, "restore", tmp_path / "plan-shared.xlsx")
    assert "Plan!A1: 101 -> 150" in out and "Answers that changed:\n  Plan!G1: " in out


def test_recalc_of_ods_is_told(tmp_path, capsys):
    assert "recalc works on .xlsx" in run(capsys, "recalc", tmp_path / "x.ods")[2]


def test_pdf_and_ods(tmp_path, capsys, libreoffice):  # noqa: F811
    path = plan(tmp_path / "plan.xlsx", 1)
    code, out, _ = run(capsys, "share", path, tmp_path / "out.ods", "--pdf")
    assert code == 0 and (tmp_path / "out.pdf").read_bytes().startswith(b"%PDF")
    assert (tmp_path / "out.ods").read_bytes()[:2] == b"PK"
    assert run(capsys, "check", tmp_path / "out.ods")[0] == 0


def test_progress_shows_on_a_terminal_only(tmp_path, capsys):
    path = plan(tmp_path / "plan.xlsx", 1)
    assert run(capsys, "check", path)[2] == ""


def test_as_a_program(tmp_path):
    """From another folder: the child process finds the package as well."""
    path = plan(tmp_path / "plan.xlsx", 1)
    code = (
        "import sys; from workbook_template.cli import main as cli; cli.COMMANDS = ('check',); "
        f"sys.exit(cli.main(['check', {str(path)!r}]))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0 and "no findings" in done.stdout, done.stderr


def test_restore_says_which_way_it_took(tmp_path, capsys):
    book = plan(tmp_path / "plan.xlsx", 1)
    run(capsys, "share", book)
    copy, out = tmp_path / "plan-shared.xlsx", tmp_path / "back.xlsx"
    _, beside, _ = run(capsys, "restore", copy, out)
    assert f"formulas from {book} only" in beside and "unchanged since it was shared" in beside
    _, alone, _ = run(capsys, "restore", copy, out, "--alone", "--force")
    assert "no workbook of yours was compared" in alone
    _, named, _ = run(capsys, "restore", copy, out, "--into", book, "--force")
    assert f"formulas from {book} only" in named
    before = book.read_bytes()
    code, _, err = run(capsys, "restore", copy, book)
    assert code == 2 and "exists already" in err and book.read_bytes() == before
