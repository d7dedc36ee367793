"""Writing whole or not at all: killed, no room, read-only, open elsewhere, two at once."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.calc_office import libreoffice  # noqa: F401  (fixture)
from tests.workbook_template.travelling import plan, rewritten
from workbook_template.cli.calc_edition import to_ods
from workbook_template.errors import BookError
from workbook_template.template.build import TEMPLATE
from workbook_template.travel import atomic
from workbook_template.travel.recalc import recalculate

ROOT = Path(__file__).parents[2]
POSIX = pytest.mark.skipif(not hasattr(os, "fork"), reason="kill -9 and fork are POSIX's")


def faults(*arguments):
    """What ``tests.workbook_template.faults`` reports, which forks from a process with everything loaded."""
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
