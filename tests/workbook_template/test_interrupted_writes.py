"""Writing whole or not at all: killed, no room, read-only, open elsewhere, two at once."""

import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from tests.calc_office import libreoffice  # noqa: F401  (fixture)
from tests.workbook_template.travelling import plan, rewritten
from workbook_template.cli import main as cli
from workbook_template.cli.calc_edition import to_ods
from workbook_template.template import build
from workbook_template.template.build import TEMPLATE
from workbook_template.travel import atomic
from workbook_template.travel.recalc import recalculate
from workbook_template.user_errors import BookError

ROOT = Path(__file__).parents[2]
POSIX = pytest.mark.skipif(not hasattr(os, "fork"), reason="kill -9 and fork are POSIX's")


def faults(*arguments):
    """What ``tests.workbook_template.faults`` reports, which forks from a process with everything
    loaded.
    """
    done = subprocess.run(
        [sys.executable, "-m", "tests.workbook_template.faults", *map(str, arguments)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


@pytest.fixture
def stale(tmp_path):
    return plan(tmp_path / "plan.xlsx", 8, settled=False)


def kills(task, folder):
    """What ``tests.workbook_template.kills`` reports."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.workbook_template.kills", task, folder],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=600,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


@pytest.fixture
def kitchen(stale, libreoffice):  # noqa: F811
    """A folder with the books that the writing commands start from."""
    shutil.copy(TEMPLATE, stale.with_name("brewery.xlsx"))
    to_ods(stale, stale.with_name("live.ods"))
    return stale.parent


@POSIX
@pytest.mark.office
@pytest.mark.slow
def test_all_writing_commands_killed_at_300_points(kitchen):
    result = kills("points", kitchen)
    assert result["wrong"] == []
    assert result["kills"] >= 300 and result["old"] > 50 and result["new"] > 50


@POSIX
@pytest.mark.office
@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="looks for processes in /proc")
def test_libreoffice_ends_with_the_command(kitchen):
    result = kills("office", kitchen)
    assert result["wrong"] == [] and result["kills"] == 9


@POSIX
def test_killed_while_the_evaluation_runs(stale):
    """The whole command, with its child process, which must end as well."""
    before = stale.read_bytes()
    code = f"from workbook_template.travel.recalc import recalculate; recalculate({str(stale)!r})"
    command = subprocess.Popen([sys.executable, "-c", code], cwd=ROOT)
    children = Path(f"/proc/{command.pid}/task/{command.pid}/children")
    if not children.parent.exists():
        command.kill()
        command.wait()
        pytest.skip("needs /proc to see the child process")
    while not (found := children.read_text().split()):
        assert command.poll() is None
    command.kill()
    command.wait()
    for _ in range(2000):
        if not Path(f"/proc/{found[0]}").exists():
            break
        subprocess.run(["sleep", "0.01"], check=True)
    else:
        pytest.fail("the child process outlived the command")
    assert stale.read_bytes() == before


@POSIX
@pytest.mark.parametrize("work", ["recalc", "share"])
def test_no_room_on_the_disk(stale, work):
    result = faults("full", work, stale)
    assert (
        "cannot be written" in result["sentence"]
        and result["unchanged"]
        and result["files"] == ["plan.xlsx"]
    )


def typed(path):
    """Commands that write, without LibreOffice, by the file that each leaves alone or makes
    whole.
    """
    return {
        "recalc": (["recalc", path], path),
        "share": (["share", path], path.with_name("plan-shared.xlsx")),
        "convert": (["convert", path, path.with_name("out.xlsx")], path.with_name("out.xlsx")),
        "new": (["new", path.with_name("out.xlsx"), "--force"], path.with_name("out.xlsx")),
    }


@POSIX
@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
@pytest.mark.parametrize("command", ["recalc", "share", "convert", "new"])
def test_stopped_from_outside(stale, capsys, monkeypatch, tmp_path_factory, name, command):
    """At the worst moment, with the new file half there, and once more while that is cleared
    away.
    """
    temporary = tmp_path_factory.mktemp("temporary")
    monkeypatch.setattr(tempfile, "tempdir", str(temporary))
    monkeypatch.setattr(build, "build", lambda path, *_, **__: shutil.copy(TEMPLATE, path))
    arguments, target = typed(stale)[command]
    before = {file.name: file.read_bytes() for file in stale.parent.iterdir()}
    number = getattr(signal, name)
    unlink = os.unlink

    def again(*arguments, **options):
        os.kill(os.getpid(), number)
        unlink(*arguments, **options)

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", lambda handle: os.kill(os.getpid(), number))
        patch.setattr(os, "unlink", again)
        code = cli.main(list(map(str, arguments)))
    error = capsys.readouterr().err
    assert code == 128 + number
    assert error.count("\n") == 1 and error.startswith("spargesheet: stopped by ")
    assert {file.name: file.read_bytes() for file in stale.parent.iterdir()} == before
    assert list(temporary.iterdir()) == []
    assert cli.main(list(map(str, arguments))) == 0 and target.exists()


def limited(kilobytes, *arguments):
    """A command that may write no file of more than so much, which fails as a full disk does."""
    return subprocess.run(
        ["sh", "-c", f'ulimit -f {kilobytes * 2}; exec "$@"', "sh", sys.executable]
        + ["-m", "workbook_template.cli", *map(str, arguments)],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )


@POSIX
@pytest.mark.slow
@pytest.mark.parametrize("command", ["new", "convert"])
def test_no_room_for_new_or_convert(stale, command):
    target = stale.with_name("out.xlsx")
    target.write_bytes(b"the good old file")
    arguments = ["new", target] if command == "new" else ["convert", stale, target]
    done = limited(2, *arguments, "--force")
    line = done.stderr.splitlines()[-1]
    assert done.returncode == 2 and "Traceback" not in done.stderr
    assert line.startswith("spargesheet: ") and "cannot be written" in line
    assert target.read_bytes() == b"the good old file"
    assert sorted(os.listdir(stale.parent)) == ["out.xlsx", "plan.xlsx"]


@POSIX
@pytest.mark.slow
def test_no_room_on_a_small_file_system(stale, tmp_path):
    small = tmp_path / "small"
    small.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=16k", "tmpfs", str(small)]
    mounted = subprocess.run(mount, capture_output=True).returncode == 0
    room, words = (
        (100_000, "No space left on device")
        if mounted
        else (16, "cannot be written (File too large)")
    )
    try:
        target = small / "out.xlsx"
        target.write_bytes(b"the good old file")
        for arguments in (["new", target], ["convert", TEMPLATE, target]):
            done = limited(room, *arguments, "--force")
            line = done.stderr.splitlines()[-1]
            assert done.returncode == 2 and words in line, done.stderr
            assert target.read_bytes() == b"the good old file"
            assert os.listdir(small) == ["out.xlsx"]
    finally:
        if mounted:
            subprocess.run(["umount", str(small)], check=True)


@pytest.mark.parametrize("lock", [".~lock.out.xlsx#", "~$out.xlsx"])
@pytest.mark.parametrize("command", ["new", "convert"])
def test_new_and_convert_leave_an_open_book_alone(stale, capsys, command, lock):
    target = stale.with_name("out.xlsx")
    target.write_bytes(b"mine")
    (stale.parent / lock).write_text("somebody")
    arguments = ["new", target] if command == "new" else ["convert", stale, target]
    assert cli.main([*map(str, arguments), "--force"]) == 2
    error = capsys.readouterr().err
    assert "is open in a spreadsheet program" in error and error.count("\n") == 1
    assert target.read_bytes() == b"mine"


@POSIX
def test_two_processes_at_once(stale):
    result = faults("twice", "recalc", stale, 20)
    assert result["broken"] == [] and result["unexpected"] == []


def test_a_read_only_file(stale):
    before = stale.read_bytes()
    stale.chmod(0o444)
    with pytest.raises(BookError, match="read-only"):
        recalculate(stale)
    assert stale.read_bytes() == before


@pytest.mark.parametrize("lock", [".~lock.plan.xlsx#", "~$plan.xlsx"])
def test_a_file_that_is_open_elsewhere(stale, lock):
    (stale.parent / lock).write_text("somebody")
    before = stale.read_bytes()
    with pytest.raises(BookError, match="is open in a spreadsheet program"):
        recalculate(stale)
    assert stale.read_bytes() == before


def test_a_file_that_another_program_saved_meanwhile(stale):
    status = os.stat(stale)
    rewritten(stale, {"extra.xml": b"<x/>"})
    before = stale.read_bytes()
    with pytest.raises(BookError, match="saved by another program meanwhile"):
        atomic.write(stale, b"new", unchanged=status)
    assert stale.read_bytes() == before and os.listdir(stale.parent) == ["plan.xlsx"]


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(BookError, match="cannot be written"):
        atomic.write(tmp_path / "none" / "x.xlsx", b"new")


def test_rights_and_links_are_kept(stale, tmp_path):
    link = tmp_path / "link.xlsx"
    try:
        link.symlink_to(stale)
    except OSError:
        pytest.skip("no symbolic links here")
    stale.chmod(0o640)
    recalculate(link)
    assert link.is_symlink() and stale.stat().st_mode & 0o777 == 0o640


@POSIX
def test_leftovers_of_killed_runs_go_and_those_of_live_runs_stay(stale):
    import fcntl

    left, held = (stale.parent / f".plan.xlsx.{name}.part" for name in ("left", "held"))
    for part in (left, held):
        part.write_bytes(b"half")
    with open(held, "rb") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        recalculate(stale)
        assert not left.exists() and held.exists()
    stale.write_bytes(plan(stale.with_name("other.xlsx"), 8, settled=False).read_bytes())
    recalculate(stale)
    assert not held.exists()
