"""Finding LibreOffice, and putting the extension into a profile and taking it away."""

import os
import re
import sys
import time
from pathlib import Path

import pytest

from chemcore import __version__
from udfs import CATALOGUE
from udfs.hosts import HostError
from udfs.hosts.calc import calc_manage, office
from udfs.hosts.calc.extension import IDENTIFIER
from workbook_template.cli import main as cli

FOLDER = "l'été à Köln, 試し"


def test_install_status_and_remove_in_an_awkward_folder(libreoffice, tmp_path):
    profile = tmp_path / FOLDER / "profile"
    path = str(libreoffice.folder)
    said = []
    assert calc_manage.status_line(path, profile) == (
        f"Calc: LibreOffice is in {path}, the extension is not; `spargesheet install calc` puts it "
        "in"
    )
    for _ in range(2):  # the second time as after an upgrade
        calc_manage.install(said.append, path, profile)
    assert said[0] == f"Installed: {len(CATALOGUE)} functions in the LibreOffice of {path}"
    answer = calc_manage.status_line(path, profile)
    assert answer.startswith(
        f"Calc: extension {__version__} answers a trial formula: spargesheet {__version__} in "
        "LibreOffice Calc "
    )
    said.clear()
    calc_manage.remove(said.append, path, profile)
    calc_manage.remove(said.append, path, profile)
    assert said == [
        f"Removed from the LibreOffice of {path}; restart LibreOffice if it is open",
        f"The extension is not in the LibreOffice of {path}",
    ]
    listed = office.unopkg(libreoffice, profile, "list", "--shared")
    assert IDENTIFIER not in listed


def test_status_says_what_an_extension_without_its_python_answers(libreoffice, tmp_path):
    profile = tmp_path / "profile"
    office.register(libreoffice, profile, python=str(tmp_path / "gone" / "python"))
    assert calc_manage.status_line(str(libreoffice.folder), profile) == (
        f"Calc: extension {__version__} is in the LibreOffice of {libreoffice.folder}; the trial "
        "formula says Check "
        f"add-in: its Python {tmp_path / 'gone' / 'python'} does not start (No such file or "
        "directory); in the Python that "
        "has spargesheet run `spargesheet install calc`, then restart LibreOffice"
    )


def test_a_broken_extension_is_one_line(libreoffice, tmp_path, monkeypatch):
    monkeypatch.setattr(
        office.extension, "build", lambda path, python: Path(path).write_bytes(b"no extension")
    )
    with pytest.raises(
        HostError, match=r"^unopkg add failed \(ERROR.*\); close LibreOffice and try again$"
    ):
        calc_manage.install(print, str(libreoffice.folder), tmp_path / "profile")


def program_folder(folder, *names):
    folder.mkdir(parents=True)
    for name in names:
        (folder / name).write_text("")
    return folder


@pytest.fixture
def elsewhere(monkeypatch):
    """A machine with nothing on its PATH."""
    monkeypatch.setattr(office.shutil, "which", lambda name: None)


def test_nothing_found_says_what_to_do(monkeypatch, elsewhere):
    monkeypatch.setattr(office, "_usual", lambda: iter(()))
    with pytest.raises(HostError, match="install LibreOffice Calc"):
        office.find()
    assert calc_manage.status_line().startswith(
        "Calc: LibreOffice is not found; install LibreOffice Calc"
    )


def test_a_path_without_libreoffice_is_refused(tmp_path):
    with pytest.raises(HostError, match="there is no LibreOffice in"):
        office.find(str(tmp_path))


@pytest.mark.parametrize("inside", [".", "program", "Contents/MacOS"])
def test_a_named_folder_is_searched(tmp_path, inside):
    folder = program_folder(tmp_path / "LibreOffice" / inside, "soffice", "soffice.com")
    assert office.find(str(tmp_path / "LibreOffice")).folder == folder
    assert office.find(str(folder / "soffice")).folder == folder.resolve()


def test_windows_folders(monkeypatch, tmp_path, elsewhere):
    folder = program_folder(
        tmp_path / "Program Files" / "LibreOffice 24" / "program", "soffice.com", "python.exe"
    )
    monkeypatch.setattr(office, "WINDOWS", True)
    for name in ("ProgramW6432", "ProgramFiles(x86)"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("ProgramFiles", str(tmp_path / "Program Files"))
    found = office.find()
    assert found.folder == folder
    assert (found.unopkg, found.python) == (folder / "unopkg.com", str(folder / "python.exe"))


def test_macos_folders(monkeypatch, tmp_path, elsewhere):
    contents = tmp_path / "Applications" / "LibreOffice.app" / "Contents"
    folder = program_folder(contents / "MacOS", "soffice")
    program_folder(contents / "Resources", "python")
    monkeypatch.setattr(office.sys, "platform", "darwin")
    monkeypatch.setattr(office.Path, "home", lambda: tmp_path)
    found = office.find()
    assert found.folder == folder
    assert found.python == str(contents / "Resources" / "python")


def test_the_office_starts_without_our_python(monkeypatch, tmp_path):
    (tmp_path / "pyvenv.cfg").write_text("")
    unreadable = "/" + "x" * 5000
    monkeypatch.setenv("PATH", os.pathsep.join([str(tmp_path / "bin"), "/usr/bin", unreadable]))
    monkeypatch.setenv("VIRTUAL_ENV", str(tmp_path))
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    clean = office.environment()
    assert clean["PATH"] == f"/usr/bin{os.pathsep}{unreadable}"
    assert not {"VIRTUAL_ENV", "PYTHONPATH"} & set(clean)


def test_a_program_that_does_not_start_is_one_line(tmp_path):
    folder = program_folder(tmp_path / "program", "soffice", "unopkg")
    with pytest.raises(HostError, match="unopkg does not start"):
        office.unopkg(office.Programs(folder), None, "list")


@pytest.mark.parametrize(
    "last", ["", "ERROR: Binary URP bridge disposed during call at bridge.cxx:615"]
)
@pytest.mark.parametrize("failures", [0, 1, 2, 3])
def test_unopkg_that_breaks_off_is_asked_again(tmp_path, failures, last):
    folder = program_folder(tmp_path / "program", "soffice", "unopkg")
    (folder / "unopkg").write_text(
        f"#!/bin/sh\necho x >> {tmp_path}/asked\n"
        f"[ $(wc -l < {tmp_path}/asked) -gt {failures} ] && echo done && exit 0\necho '{last}'\n"
        "exit 134\n"
    )
    (folder / "unopkg").chmod(0o755)
    programs = office.Programs(folder)
    if failures < 3:
        assert office.unopkg(programs, None, "list") == "done\n"
    else:
        words = last or "exit code 134, without a word"
        with pytest.raises(HostError, match=re.escape(f"unopkg list failed ({words}); close")):
            office.unopkg(programs, None, "list")
    assert len((tmp_path / "asked").read_text().split()) == min(failures + 1, 3)


def test_unopkg_that_says_no_is_not_asked_again(tmp_path):
    folder = program_folder(tmp_path / "program", "soffice", "unopkg")
    (folder / "unopkg").write_text(
        f"#!/bin/sh\necho x >> {tmp_path}/asked\necho 'ERROR: no such extension'\nexit 1\n"
    )
    (folder / "unopkg").chmod(0o755)
    with pytest.raises(HostError, match="unopkg remove failed .ERROR: no such extension.;"):
        office.unopkg(office.Programs(folder), None, "remove")
    assert (tmp_path / "asked").read_text() == "x\n"


def test_a_program_past_its_time_is_ended_with_what_it_started(tmp_path):
    folder = program_folder(tmp_path / "program", "soffice", "unopkg")
    (folder / "unopkg").write_text(f"#!/bin/sh\nsleep 600 &\necho $! > {tmp_path}/child\nwait\n")
    (folder / "unopkg").chmod(0o755)
    programs = office.Programs(folder)
    with pytest.raises(HostError, match=r"^unopkg did not end within 2 s"):
        programs.run(programs.unopkg, seconds=2)
    child = int((tmp_path / "child").read_text())
    for _ in range(100):  # a process that was ended takes a moment to go
        if not alive(child):
            break
        time.sleep(0.1)
    assert not alive(child)


def alive(process):
    """Whether a process still works; one that has ended may stand in the list until its parent asks
    for it.
    """
    try:
        return (
            Path("/proc", str(process), "stat").read_text().rpartition(")")[2].split()[0]
            not in "ZX"
        )
    except OSError:
        return False


@pytest.mark.parametrize("command", ["install", "remove"])
def test_commands_give_one_line_and_code_2(monkeypatch, capsys, tmp_path, command):
    monkeypatch.setattr(cli, "COMMANDS", ("install", "remove", "status"))
    assert cli.main([command, "calc", "--office", str(tmp_path)]) == 2
    assert capsys.readouterr().err == (
        f"spargesheet: there is no LibreOffice in {tmp_path}; name the folder that holds soffice\n"
    )


def test_the_worker_runs_in_this_python():
    from udfs.hosts.calc.extension import settings

    assert settings(sys.executable)["python"] == sys.executable
