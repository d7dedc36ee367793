"""The report that a user may attach to a question: what it says, and that nothing of the user's is
in it.
"""

import getpass
import platform
import socket
from pathlib import Path

import pytest

from chemcore import __version__
from tests.udfs.hosts.excel.test_excel_addin import GREEK, STRANGE, Machine, machine  # noqa: F401
from workbook_template.cli import main as cli
from workbook_template.cli.commands import status_command as command


@pytest.fixture
def report(windows):
    from udfs.hosts.excel import report

    return report


def private(machine_, text):
    """Whether the text holds a path, or a name of this machine, its user or the folders that the
    stand-in uses.
    """
    words = [STRANGE, GREEK, "O'Brien", str(machine_.folder), str(Path(__file__).parents[4])]
    words += [str(Path.home()), "python.exe", socket.gethostname()]
    if len(getpass.getuser()) > 4:
        words.append(getpass.getuser())
    return [word for word in words if len(word) > 3 and word in text]


def test_a_working_addin(machine, report):  # noqa: F811
    machine.install()
    text = report.text()
    assert f"spargesheet {__version__}\nPython {platform.python_version()}, 64 bits" in text
    assert "Excel 16.0, build 17928; Windows (64-bit) NT 10.00" in text
    assert "trust access to the VBA project object model: yes" in text
    assert f"add-in: made by spargesheet {__version__}, xlwings " in text
    assert "its Python is this one: yes" in text
    assert "trial formula: 1.689 after " in text
    assert not private(machine, text)


def test_what_is_wrong_is_said_without_paths(machine, report, monkeypatch):  # noqa: F811
    assert "add-in: not installed" in report.text()
    machine.install()
    machine.refuse["VBProject of Book1"] = "not trusted"
    machine.refuse["Formula"] = rf"Could not load xlwings64.dll from {machine.folder}\Scripts"
    text = report.text()
    assert "object model: no" in text
    assert "trial formula: no answer. Excel refused to work out a formula: Could not load" in text
    machine.bridge.unlink()
    text += report.text()
    assert "this Python can be the add-in's: no. xlwings64-" in text
    machine.target.write_bytes(b"something else")
    text += report.text()
    assert "a file of its name that is not ours" in text
    machine.has_excel = False
    text += report.text()
    assert "Excel: Excel does not start here" in text
    assert not private(machine, text)


@pytest.mark.parametrize(
    "words, left",
    [
        (r"no file C:\Users\Jane Doe\x.py: mend it", "no file (a path, left out)"),
        ("D:/a b/c.py", "(a path, left out)"),
        (r"on \\server\Jane\x", "on (a path, left out)"),
        ("in '/home/jane doe/x' or", "in (a path, left out)"),
        ("close Excel and/or\nrun it again", "close Excel and/or run it again"),
    ],
)
def test_paths_are_left_out(report, words, left):
    assert report.without_paths(words) == left


def test_the_command_here(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr(command.hosts, "HOSTS", ())
    file = tmp_path / "report.txt"
    assert cli.main(["status", "--report", str(file)]) == 0
    text = file.read_text()
    assert "this Python can be the add-in's: no. The formulas run in Excel on Windows only" in text
    assert str(Path.home()) not in text and socket.gethostname() not in text
    assert cli.main(["status", "--report", str(file)]) == 2
    assert "is there already; name another file" in capsys.readouterr().err
    assert file.read_text() == text
    assert cli.main(["status", "--report", str(tmp_path / "no" / "x.txt")]) == 2
    assert "cannot be written" in capsys.readouterr().err
