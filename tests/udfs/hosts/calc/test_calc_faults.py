"""What happens when the worker, its environment or the package goes away or changes under a running
office.

The package, the Python that runs it and the office's profile stand in folders with spaces, an
apostrophe and letters beyond ASCII.
"""

import contextlib
import json
import os
import shutil
import signal
import sys
import threading
import time
from pathlib import Path

import pytest

import chemcore
import udfs
from udfs import call
from udfs.hosts.calc import office

pytestmark = pytest.mark.skipif(
    sys.platform != "linux", reason="looks for processes in /proc, as Linux has it"
)

FOLDER = "l'été à Köln, 試し"


class Installation:
    """A copy of the package, a Python for it that tells its process, and an office that uses
    them.
    """

    def __init__(self, profile, root):
        self.package = root / FOLDER / "package"
        for source in (Path(chemcore.__file__).parent, Path(udfs.__file__).parent):
            shutil.copytree(
                source, self.package / source.name, ignore=shutil.ignore_patterns("__pycache__")
            )
        self.python = root / FOLDER / "bin" / "python"
        self.python.parent.mkdir()
        self.pid_file = root / "pid"
        self.script(f'exec "{sys.executable}" "$@"')
        self.profile = root / FOLDER / "profile"
        shutil.copytree(profile, self.profile)
        (self.settings_file,) = self.profile.glob(
            "shared/uno_packages/*/spargesheet.oxt/settings.json"
        )
        self.change(
            python=str(self.python),
            worker=str(self.package / "udfs/hosts/calc/worker.py"),
            **{"seconds to start": 20, "seconds to pause": 0.2},
        )

    def script(self, text):
        """What runs in place of Python, after its process has put its number into a file."""
        self.python.write_text(
            f'#!/bin/sh\necho $$ >> "{self.pid_file}"\n{text}\n', encoding="utf-8"
        )
        self.python.chmod(0o755)

    def change(self, **settings):
        before = json.loads(self.settings_file.read_text(encoding="utf-8"))
        self.settings_file.write_text(json.dumps(before | settings), encoding="utf-8")

    def edit(self, file, old, new):
        """Change a line of the installed package."""
        path = self.package / file
        text = path.read_text(encoding="utf-8")
        assert text.count(old) == 1
        path.write_text(text.replace(old, new), encoding="utf-8")

    @property
    def pids(self):
        """Every worker so far."""
        return [int(line) for line in self.pid_file.read_text().split()]

    @property
    def pid(self):
        return self.pids[-1]

    def kill_worker(self):
        try:
            os.kill(self.pid, signal.SIGKILL)
        except ProcessLookupError:
            pass


@pytest.fixture(scope="module")
def profile(libreoffice, tmp_path_factory):
    """A profile with the extension, which has been used once."""
    folder = tmp_path_factory.mktemp("prepared") / "profile"
    office.register(libreoffice, folder)
    with office.Office(libreoffice, folder) as calc:
        calc.ask("new")
    return folder


@pytest.fixture
def installation(profile, tmp_path):
    return Installation(profile, tmp_path)


@pytest.fixture
def running(libreoffice, installation):
    with office.Office(libreoffice, installation.profile) as calc:
        calc.ask("new")
        yield calc


def value(calc, formula):
    calc.ask("put", 0, "A1:A1", [[formula]])
    return calc.ask("cells", 0, "A1:A1")[0][0]


def test_a_killed_worker_is_replaced_and_every_cell_is_right(installation, running, tmp_path):
    """Killed in the midst of a formula: the worker says that it is there, and waits for the test to
    open a pipe.
    """
    before, after = tmp_path / "reached", tmp_path / "go on"
    os.mkfifo(before)
    os.mkfifo(after)
    installation.edit(
        "udfs/functions/units.py",
        "    return units.litres(amount, unit)",
        f"    if amount == 2000 and __import__('os').path.exists({str(before)!r}):\n"
        f"        open({str(before)!r}, 'w').close()\n"
        f"        open({str(after)!r}).close()\n"
        "    return units.litres(amount, unit)",
    )
    running.ask("new")
    count = 4000
    killed = []

    def kill():
        open(before).close()  # until the worker has come there
        killed.append(installation.pid)
        before.unlink()
        installation.kill_worker()

    killer = threading.Thread(target=kill)
    killer.start()
    running.ask("put", 0, f"A1:A{count}", [[f'=LITRES({number};"hL")'] for number in range(count)])
    killer.join()
    found = [row[0] for row in running.ask("cells", 0, f"A1:A{count}")]
    assert len(installation.pids) == 2 and killed == installation.pids[:1]
    assert found == pytest.approx([call("LITRES", float(n), "hL") for n in range(count)], rel=1e-9)


def test_a_wrapper_that_writes_does_not_move_answers(installation, running):
    installation.script(
        f'echo "starting $@"; (while sleep 0.01; do echo 7.0; done) & exec "{sys.executable}" "$@"'
    )
    count = 500
    running.ask("put", 0, f"A1:A{count}", [[f'=LITRES({number};"hL")'] for number in range(count)])
    found = [row[0] for row in running.ask("cells", 0, f"A1:A{count}")]
    assert found == [100.0 * number for number in range(count)]


def test_an_environment_that_goes_says_so_at_once_and_answers_again_when_it_is_back(
    installation, running
):
    assert value(running, '=LITRES(1;"hL")') == 100.0
    away = installation.package.with_name("moved")
    installation.package.rename(away)
    installation.kill_worker()
    count = 300
    starts = len(installation.pids)
    running.ask("put", 0, f"A1:A{count}", [['=LITRES(2;"hL")']] * count)
    starts = len(installation.pids) - starts
    sentences = {row[0] for row in running.ask("cells", 0, f"A1:A{count}")}
    assert len(sentences) == 1
    sentence = sentences.pop()
    assert sentence.startswith(
        f"Check add-in: its Python {installation.python} has no working spargesheet; "
    )
    assert "spargesheet install calc" in sentence
    assert 1 <= starts < 10, "formulas tried to start workers of their own"
    installation.python.unlink()
    time.sleep(3)
    assert value(running, '=LITRES(3;"hL")').startswith(
        f"Check add-in: its Python {installation.python} does not start"
    )
    away.rename(installation.package)
    installation.script(f'exec "{sys.executable}" "$@"')
    time.sleep(1)
    assert value(running, '=LITRES(4;"hL")') == 400.0


def test_a_package_without_its_libraries_names_what_is_missing(installation, running):
    installation.edit(
        "udfs/functions/units.py",
        "from chemcore import units",
        "import a_library_that_is_gone as units",
    )
    text = value(running, '=LITRES(1;"hL")')
    assert text.startswith("Check add-in: ModuleNotFoundError in its Python ")
    assert "No module named 'a_library_that_is_gone'" in text and "spargesheet install calc" in text


def test_a_python_that_hangs_is_given_up(libreoffice, installation):
    installation.script("exec sleep 600")
    installation.change(**{"seconds to start": 1})
    with office.Office(libreoffice, installation.profile) as calc:
        calc.ask("new")
        calc.ask("put", 0, "A1:A50", [['=LITRES(1;"hL")']] * 50)
        assert len(installation.pids) < 5, "formulas waited for workers of their own"
        texts = {row[0] for row in calc.ask("cells", 0, "A1:A50")}
        assert texts == {
            f"Check add-in: its Python {installation.python} did not start within 1 s; wait a"
            " minute, then Ctrl+Shift+F9 tries again"
        }


def test_a_formula_that_takes_too_long_is_given_up(libreoffice, installation):
    installation.edit(
        "udfs/functions/units.py", "    return units.litres(amount, unit)", "    while True: pass"
    )
    installation.change(**{"seconds to answer": 1})
    with office.Office(libreoffice, installation.profile) as calc:
        calc.ask("new")
        assert (
            value(calc, '=LITRES(1;"hL")')
            == "Check add-in: its Python took more than 1 s over a formula; wait a minute, then"
            " Ctrl+Shift+F9 tries again"
        )
        time.sleep(0.3)
        assert value(calc, "=HARDNESS(1;2)") == pytest.approx(call("HARDNESS", 1.0, 2.0))


def test_an_upgrade_under_a_running_office_answers_at_once_and_says_what_differs(
    installation, running
):
    before = value(running, "=ADDIN_STATUS()")
    assert "; " not in before and before.endswith(f"package in {installation.package}")
    time.sleep(1.1)
    installation.edit("udfs/functions/units.py", "def cold_litres(", "def litres_when_cold(")
    installation.edit(
        "udfs/functions/water.py",
        "def hardness(calcium: Calcium, magnesium: Magnesium)",
        "def hardness(magnesium: Magnesium, calcium: Calcium)",
    )
    installation.edit("chemcore/__init__.py", f'"{chemcore.__version__}"', '"99.0.0"')
    mend = "run `spargesheet install calc`, then restart LibreOffice"
    assert (
        value(running, "=ADDIN_STATUS()")
        == before.replace(chemcore.__version__, "99.0.0", 1)
        + f"; the extension in LibreOffice is of version {chemcore.__version__}: {mend}"
    )
    for formula, name in (("=COLD_LITRES(1;70)", "COLD_LITRES"), ("=HARDNESS(1;2)", "HARDNESS")):
        assert (
            value(running, formula)
            == f"Check add-in: {name} is not the same in spargesheet 99.0.0 as in the extension of"
            f" version {chemcore.__version__}; {mend}"
        )
    assert value(running, '=LITRES(5;"hL")') == 500.0


def test_the_worker_ends_with_the_office(installation, libreoffice):
    with office.Office(libreoffice, installation.profile) as calc:
        calc.ask("new")
        assert value(calc, '=LITRES(1;"hL")') == 100.0
        worker = installation.pid
        os.kill(process_of(calc), signal.SIGKILL)
        assert gone(worker)
    with office.Office(libreoffice, installation.profile) as calc:
        calc.ask("new")
        assert value(calc, '=LITRES(1;"hL")') == 100.0
        worker = installation.pid
        os.kill(worker, 0)
    assert gone(worker)


def process_of(calc):
    """The office's own process, which is neither the program that started it nor the worker."""
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            name, rest = (entry / "stat").read_text().split("(", 1)[1].rsplit(") ", 1)
        except OSError:
            continue
        leader = int(rest.split()[2])
        with contextlib.suppress(OSError):
            stat = Path(f"/proc/{leader}/stat").read_text().rsplit(") ", 1)[1]
            if name == "soffice.bin" and int(stat.split()[1]) == calc.office.pid:
                return int(entry.name)
    raise AssertionError("the office does not run")


def gone(pid):
    """Whether a process ends within five seconds (a zombie that nobody has waited for counts)."""
    end = time.monotonic() + 5
    while time.monotonic() < end:
        try:
            if " Z " in Path(f"/proc/{pid}/stat").read_text():
                return True
            os.kill(pid, 0)
        except (ProcessLookupError, FileNotFoundError):
            return True
        time.sleep(0.05)
    return False
