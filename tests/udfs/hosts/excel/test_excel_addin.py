"""Set-up of the add-in: every step that Excel is asked for, in order, and what is left after each
failure.
"""

import os
import re
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

from chemcore import __version__
from tests.udfs.hosts.excel.fake_excel import Book, FakeExcel
from tests.udfs.hosts.excel.xlwings_standins import refusal
from udfs import CATALOGUE
from udfs.functions import about
from udfs.hosts import HostError

STRANGE = "O'Brien & Söhne, Brauerei 100%"
GREEK = "Ζυθοποιία του O'Brien"


class Machine:
    """A Windows machine with an Excel that writes down what it is asked, and the project's set-up
    on it.
    """

    def __init__(self, windows, folder: Path, monkeypatch, name=STRANGE):
        from udfs.hosts.excel import addin, excel_manage, session

        self.windows, self.folder, self.monkeypatch = windows, folder, monkeypatch
        self.addin, self.manage, self.session = addin, excel_manage, session
        self.startup = folder / name / "XLSTART"
        self.target = self.startup / "spargesheet.xlam"
        self.python = folder / name / "Scripts" / "python.exe"
        self.python.parent.mkdir(parents=True)
        (folder / "SHORT~1").symlink_to(folder / name)
        self.bridge = self.python.parents[1] / f"xlwings64-{windows.xlwings.__version__}.dll"
        self.bridge.touch()
        self.refuse: dict = {}
        self.excels: list[FakeExcel] = []
        self.open_excel = None
        self.has_excel = True
        self.said: list[str] = []
        monkeypatch.setattr(sys, "executable", str(self.python))
        monkeypatch.setattr(addin, "ANSI", "cp1252")
        monkeypatch.setattr(session, "on_windows", lambda: True)
        client = sys.modules["win32com.client"]
        monkeypatch.setattr(client, "DispatchEx", self._start, raising=False)
        monkeypatch.setattr(client, "GetActiveObject", self._running, raising=False)
        monkeypatch.setattr(
            sys.modules["win32api"],
            "GetShortPathName",
            lambda path: path.replace(name, "SHORT~1"),
            raising=False,
        )
        monkeypatch.setenv("APPDATA", str(folder / "AppData"))

    def _start(self, name):
        assert name == "Excel.Application"
        if not self.has_excel:
            raise refusal("Invalid class string")
        self.excels.append(FakeExcel(self.windows, self.startup, self.refuse))
        return self.excels[-1]

    def _running(self, name):
        if self.open_excel is None:
            raise refusal("Operation unavailable")
        return self.open_excel

    def install(self):
        self.manage.install(self.said.append)

    def files(self):
        """Every file and folder with its content, but the Python and what a start of Excel may
        create.
        """
        return {
            str(path.relative_to(self.folder)): path.read_bytes() if path.is_file() else None
            for path in self.folder.rglob("*")
            if path != self.startup
        }

    def fails(self, *words):
        """The set-up fails with one line that holds the words, leaves the files as they were, and
        no Excel open.
        """
        before, started = self.files(), len(self.excels)
        with pytest.raises(HostError) as caught:
            self.install()
        sentence = str(caught.value)
        for word in words:
            assert word in sentence
        assert "\n" not in sentence and "Traceback" not in sentence and len(sentence) < 500
        assert self.files() == before
        assert self.said == []
        for excel in self.excels[started:]:
            assert excel.log[-1] == "Quit"


@pytest.fixture
def machine(windows, tmp_path, monkeypatch):
    return Machine(windows, tmp_path, monkeypatch)


def test_every_step_in_order(machine):
    from tests.udfs.hosts.excel.vba_text import shipped
    from udfs.hosts.excel import vba

    def replaced(edits):
        lines = shipped()
        return [
            f"Replace {lines[number - 1].strip()} by {line.strip()}"
            for number, line in vba.edited(lines, edits).items()
        ]

    machine.install()
    (excel,) = machine.excels
    assert excel.log == [
        "DisplayAlerts False",
        "Add workbook",
        "VBProject of Book1",
        "Open spargesheet.xlam",
        "VBProject of spargesheet.xlam",
        "Rename project myaddin to spargesheet",
        "VBProject of spargesheet.xlam",
        *replaced(vba.EDITS),
        "Rename sheet _myaddin.conf to spargesheet.conf",
        *["VBProject of spargesheet.xlam"] * 2,  # xlwings looks for functions of an earlier import
        "VBProject of spargesheet.xlam",
        "Import module xlwings_udfs",
        "VBProject of spargesheet.xlam",
        "Import module spargesheet_errors",
        *[
            f"Replace Exit Function by {name} = TrueErrors({name}): Exit Function"
            for name in sorted(CATALOGUE)
        ],
        "Save spargesheet.xlam",
        'Formula =ACID_DENSITY("phosphoric",85)',
        "Close spargesheet.xlam without saving",
        "Quit",
    ]
    assert list(machine.startup.iterdir()) == [machine.target]
    assert machine.said[0].startswith(f"Installed {machine.target}: ")
    assert "untick" in machine.said[-1]


def built(machine):
    """The add-in workbook as it stood when Excel saved it."""
    kept, original = [], Book.Save
    machine.monkeypatch.setattr(Book, "Save", lambda book: (kept.append(book), original(book))[1])
    machine.install()
    return kept[0]


def settings_of(book):
    values = book.sheets[0].values
    rows = 0
    while values.get((rows + 1, 1)):
        rows += 1
    return {values[row, 1].upper(): values.get((row, 2)) for row in range(1, rows + 1)}


def test_the_settings_name_this_python_and_this_package(machine):
    rows = settings_of(built(machine))
    package = Path(__file__).parents[4]
    assert rows["INTERPRETER_WIN"] == str(machine.python)
    assert (
        rows["PYTHONPATH"] == str(package)
        and (package / "udfs" / "hosts" / "excel" / "functions.py").is_file()
    )
    assert rows["UDF MODULES"] == "udfs.hosts.excel.functions"
    assert rows["ADD_WORKBOOK_TO_PYTHONPATH"] == "false"  # text, in whatever language Excel speaks


def test_nothing_outside_the_addin_can_redirect_the_functions(machine):
    """All that xlwings' VBA reads on the way to Python is in the add-in's sheet, and only that
    sheet is read.
    """
    book = built(machine)
    code = book.modules["xlwings"]
    read = set()
    for procedure in ("Function XLPyCommand", "Private Sub XLPyLoadDLL"):
        body = code[code.index(procedure) :]
        read |= set(re.findall(r'GetConfig\("([^"]+)"', body[: body.index("\nEnd ")]))
    assert {"INTERPRETER_WIN", "PYTHONPATH", "LICENSE_KEY"} <= read
    assert read - {"INTERPRETER"} <= set(
        settings_of(book)
    )  # INTERPRETER is read only where INTERPRETER_WIN is empty
    config = code[code.index("Function GetConfig(") :]
    sheet_part = config[: config.index("' Directory Config")]
    assert "ActiveWorkbook" not in sheet_part and sheet_part.count("ThisWorkbook") == 6


def test_every_function_is_in_the_addin_with_its_words(machine):
    assert sorted(built(machine).options) == sorted(CATALOGUE)


def test_letters_of_another_code_page_are_shortened(windows, tmp_path, monkeypatch):
    machine = Machine(windows, tmp_path, monkeypatch, name=GREEK)
    assert settings_of(built(machine))["INTERPRETER_WIN"] == str(
        tmp_path / "SHORT~1" / "Scripts" / "python.exe"
    )
    assert list((tmp_path / GREEK / "XLSTART").iterdir()) == [machine.target]


def test_letters_that_cannot_be_shortened_are_refused(windows, tmp_path, monkeypatch):
    machine = Machine(windows, tmp_path, monkeypatch, name=GREEK)
    monkeypatch.setattr(sys.modules["win32api"], "GetShortPathName", lambda path: path)
    machine.fails(GREEK, "plain letters")


def test_not_windows(machine, monkeypatch):
    monkeypatch.setattr(machine.session, "on_windows", lambda: False)
    machine.fails("Windows", "LibreOffice Calc")
    assert machine.manage.status_line().startswith("Excel: not here")


def test_no_pywin32(machine, monkeypatch):
    monkeypatch.setitem(sys.modules, "win32com.client", None)
    machine.fails("pip install pywin32")


def test_no_excel(machine):
    machine.has_excel = False
    machine.fails("Excel does not start here")


def test_excel_open(machine):
    machine.open_excel = SimpleNamespace()
    machine.fails("Excel is open", "close all its windows")
    assert machine.excels == []


def test_bridge_not_beside_python(machine):
    machine.bridge.unlink()
    machine.fails(machine.bridge.name, "virtual environment")
    assert machine.excels == []


def test_no_trust(machine):
    machine.refuse["VBProject of Book1"] = (
        "Programmatic access to Visual Basic Project is not trusted."
    )
    machine.fails("Trust access to the VBA project object model", "Trust Center", "untick")


@pytest.mark.parametrize(
    "step, words",
    [
        ("Add workbook", "open an empty workbook"),
        ("Open", "open xlwings' add-in"),
        ("Rename project", "name the add-in"),
        ("Replace", "name the add-in"),
        ("Rename sheet", "write the add-in's settings"),
        ("Import module", "import the functions"),
        ("Save", "save the add-in"),
        ("Formula", "work out a formula"),
    ],
)
@pytest.mark.parametrize("older", [False, True])
def test_a_refused_step(machine, step, words, older):
    if older:
        machine.install()
        machine.said.clear()
        machine.target.write_bytes(b"the add-in of before")
    machine.refuse[step] = "No,\r\nthanks."
    if step == "Import module":
        machine.refuse["Run ImportXlwingsUdfsModule"] = "No,\r\nthanks."  # xlwings' second try
    machine.fails(f"Excel refused to {words}: No, thanks.")


def test_xlwings_with_another_addin(machine, monkeypatch):
    original, edit = machine.addin.vba.edited, machine.addin.vba.Edit("Something else", "x")
    monkeypatch.setattr(machine.addin.vba, "edited", lambda lines: original(lines, [edit]))
    machine.fails("another add-in", "Something else")


def test_xlwings_that_writes_functions_in_another_way(machine, monkeypatch):
    original = machine.addin.vba.with_true_errors
    monkeypatch.setattr(
        machine.addin.vba, "with_true_errors", lambda lines, n: original(lines[:50], n)
    )
    machine.fails("writes the functions in another way")


@pytest.mark.parametrize("where", ["base_prefix", "executable"])
def test_python_from_the_store(machine, monkeypatch, where):
    store = r"C:\Program Files\WindowsApps\PythonSoftwareFoundation.Python.3.12_x64"
    monkeypatch.setattr(sys, where, store)
    machine.fails("Microsoft Store", "python.org")
    assert machine.excels == []


def test_python_for_arm(machine, monkeypatch):
    monkeypatch.setattr(machine.addin.platform, "machine", lambda: "ARM64")
    machine.fails("ARM", "x64")
    assert machine.excels == []


def test_trial_formula_does_not_answer(machine, monkeypatch):
    monkeypatch.setattr(machine.addin, "TRIAL_FORMULA", '=NO_SUCH_FUNCTION("phosphoric",85)')
    machine.fails("NO_SUCH_FUNCTION", "#NAME?")
    monkeypatch.setattr(machine.addin, "TRIAL_FORMULA", '=ACID_DENSITY("phosphoric",84)')
    machine.fails("instead of 1.689")


def test_trial_formula_answers_with_a_text(machine, monkeypatch):
    monkeypatch.setattr(machine.addin, "TRIAL_FORMULA", '=ACID_DENSITY("beer",85)')
    machine.fails("Check acid")


@pytest.mark.parametrize(
    "words, hint",
    [
        ("Could not activate Python COM server, hr = -2147221164", "from the Microsoft Store"),
        ("Could not create Python process.", "Block all Office applications"),
        ("Python process exited before it was possible", "import udfs.hosts.excel.functions"),
    ],
)
def test_trial_formula_says_why_python_does_not_answer(machine, windows, monkeypatch, words, hint):
    from udfs.hosts.excel import vba

    def no_python(*arguments):
        return f"{vba.NO_PYTHON} ({words})"

    monkeypatch.setattr(windows.server, "CallUDF", no_python)
    before = machine.files()
    with pytest.raises(HostError) as caught:
        machine.install()
    assert words in str(caught.value) and hint in str(caught.value)
    assert machine.files() == before and "\n" not in str(caught.value)


def test_addin_file_locked(machine, monkeypatch):
    def locked(source, target):
        raise PermissionError(13, "The process cannot access the file", str(target))

    monkeypatch.setattr(machine.manage.os, "replace", locked)
    machine.fails("in use", "Task Manager")


def test_disk_full(machine, monkeypatch):
    def full(source, target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(machine.addin.shutil, "copyfile", full)
    machine.fails("No space left on device")


def test_install_again_after_an_upgrade(machine, windows, monkeypatch):
    machine.install()
    first = machine.target.read_bytes()
    machine.install()
    assert machine.target.read_bytes() == first
    assert list(machine.startup.iterdir()) == [machine.target]

    newer = "99.1.0"
    machine.bridge.with_name(f"xlwings64-{newer}.dll").touch()
    monkeypatch.setattr(windows.xlwings, "__version__", newer)
    line = machine.manage.status_line()
    assert f"xlwings {newer}" in line and line.endswith(
        "close Excel and run `spargesheet install excel`"
    )
    machine.install()
    assert machine.manage.status_line().endswith("trial formula answers 1.689")
    assert machine.addin.made_by(machine.target).xlwings == newer


def test_upgrade_took_the_bridge_away(machine, windows, monkeypatch):
    machine.install()
    monkeypatch.setattr(windows.xlwings, "__version__", "99.1.0")
    line = machine.manage.status_line()
    assert "no answer" in line and "xlwings64-99.1.0.dll" in line and "\n" not in line


def test_function_removed_from_the_catalogue_under_an_installed_addin(
    machine, windows, monkeypatch
):
    machine.install()
    monkeypatch.delattr(windows.functions, "ACID_DENSITY")
    line = machine.manage.status_line()
    assert (
        "no answer" in line
        and "Check ACID_DENSITY: " in line
        and "spargesheet install excel" in line
    )


def test_status(machine):
    assert (
        machine.manage.status_line()
        == "Excel: add-in not installed; `spargesheet install excel` installs it"
    )
    machine.install()
    line = machine.manage.status_line()
    assert line == (
        f"Excel: {machine.target}, made by spargesheet {__version__}, "
        f"xlwings {machine.windows.xlwings.__version__}, Python {machine.python}; "
        "trial formula answers 1.689"
    )
    assert machine.excels[-1].log == [
        "DisplayAlerts False",
        "Add workbook",
        "Open spargesheet.xlam read-only",
        'Formula =ACID_DENSITY("phosphoric",85)',
        "Quit",
    ]
    machine.target.write_bytes(b"something else")
    assert "not readable as our add-in" in machine.manage.status_line()
    machine.has_excel = False
    assert machine.manage.status_line().startswith("Excel: Excel does not start here")


def test_remove(machine, monkeypatch):
    before = machine.files()
    machine.install()
    machine.said.clear()
    machine.manage.remove(machine.said.append)
    assert machine.said == [f"Removed {machine.target}"]
    assert machine.files() == before
    machine.manage.remove(machine.said.append)
    assert machine.said[1] == "The Excel add-in is not installed"


def test_remove_refuses_while_excel_is_open_or_the_file_is_locked(machine, monkeypatch):
    machine.install()
    machine.open_excel = SimpleNamespace()
    with pytest.raises(HostError, match="Excel is open"):
        machine.manage.remove()
    machine.open_excel = None

    def locked(path):
        raise PermissionError(13, "in use")

    monkeypatch.setattr(Path, "unlink", locked)
    with pytest.raises(HostError, match="in use or write-protected"):
        machine.manage.remove()
    assert machine.target.is_file()


def test_remove_where_excel_itself_is_gone(machine):
    folder = Path(os.environ["APPDATA"], "Microsoft", "Excel", "XLSTART")
    folder.mkdir(parents=True)
    (folder / "spargesheet.xlam").touch()
    machine.has_excel = False
    machine.manage.remove(machine.said.append)
    assert list(folder.iterdir()) == []


def test_the_copied_addin_keeps_no_name_of_its_own(machine):
    book = built(machine)
    assert book.project.name == book.Name.removesuffix(".xlam") == "spargesheet"
    assert book.sheets[0].Name == "spargesheet.conf"
    assert "myaddin" not in book.modules["xlwings"]


def test_addin_status_knows_excel_and_an_addin_of_another_version(machine, windows, monkeypatch):
    monkeypatch.setattr(about, "HOST", "", raising=False)
    monkeypatch.setattr(about, "NOTE", "", raising=False)
    folder = Path(os.environ["APPDATA"], "Microsoft", "Excel", "XLSTART")
    folder.mkdir(parents=True)
    windows.functions.introduce()
    assert (about.HOST, about.NOTE) == ("", "")  # not on Windows
    monkeypatch.setattr(windows.functions, "on_windows", lambda: True)
    windows.functions.introduce()
    assert (about.HOST, about.NOTE) == ("Excel", "")  # no add-in there

    machine.install()
    os.replace(machine.target, folder / "spargesheet.xlam")
    windows.functions.introduce()
    assert about.NOTE == ""
    monkeypatch.setattr(machine.addin, "__version__", "99.0")
    windows.functions.introduce()
    assert (
        about.NOTE
        == f"version {__version__} made the add-in: close Excel and run `spargesheet install excel`"
    )
