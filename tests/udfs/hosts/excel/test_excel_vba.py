"""The add-in's VBA as it is after our edits: the real module of the installed xlwings, and the
command that it builds.
"""

from __future__ import annotations

import ntpath
import re
import sys
import types

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.udfs.hosts.excel.test_excel_functions import MODULE, Taker
from tests.udfs.hosts.excel.vba_text import (
    applied,
    arguments,
    command_line,
    procedure,
    shipped,
    with_macros,
)
from udfs import CATALOGUE
from udfs.hosts import HostError
from udfs.hosts.excel import addin, vba

CLSID = "{0f1e2d3c-0000-4000-8000-000000000001}"
ODD = (
    r"C:\Program Files\brew",
    r"C:\Users\O'Brien & Söhne",
    r"C:\^caret ^& amp",
    r"D:\100% malt",
    r"D:\$5 a hL",
    r"D:\'quoted' (2026), a=b;no",
    r"E:\Ζυθοποιία",
    r"\\server\share\brew",
)


@pytest.fixture(scope="module")
def original():
    return shipped()


@pytest.fixture(scope="module")
def module(original):
    return applied(original, vba.edited(original))


def test_the_installed_xlwings_has_the_module_that_the_edits_were_written_for(original):
    for edit in vba.EDITS:
        found = sum(edit.old in line for line in original)
        assert found == edit.times, (
            f"xlwings' add-in changed: {edit.old!r} stands in its VBA {found} times and not"
            f" {edit.times}; read the new module (quickstart_addin.xlam) and renew EDITS in"
            " udfs/hosts/excel/vba.py before the pin in pyproject.toml is raised"
        )


@pytest.mark.parametrize("number", range(len(vba.EDITS)))
def test_a_module_that_lacks_an_edits_text_or_has_it_once_more_is_refused(original, number):
    old = vba.EDITS[number].old
    without = [line.replace(old, "") for line in original]
    more = [*original, f"    {old}"]
    for lines in (without, more):
        with pytest.raises(HostError, match="another add-in"):
            vba.edited(lines)


def test_every_other_line_stays(original, module):
    changed = [number for number, (a, b) in enumerate(zip(original, module)) if a != b]
    assert len(original) == len(module) and len(changed) == len(vba.EDITS)
    assert all(len(module[number]) < 1023 for number in changed)  # the most that VBA takes


def settings_for(python, package, monkeypatch):
    monkeypatch.setattr(addin, "plain", lambda path: package)
    return addin.settings(addin.Made("1", "2", python))


def argument_of(call: str, program: str) -> str:
    """The text that a program hands to ``xlwings.utils.prepare_sys_path`` or ``xlwings.serve``."""
    taken = {}
    utils = types.ModuleType("xlwings.utils")
    utils.prepare_sys_path = lambda text: taken.update(prepare_sys_path=text)
    package = types.ModuleType("xlwings")
    package.utils, package.serve = utils, lambda clsid: taken.update(serve=clsid)
    before = {name: sys.modules.get(name) for name in ("xlwings", "xlwings.utils")}
    sys.modules.update({"xlwings": package, "xlwings.utils": utils})
    try:
        exec(compile(program, "-c", "exec"), {})
    finally:
        for name, module in before.items():
            sys.modules.pop(name)
            if module is not None:
                sys.modules[name] = module
    return taken[call]


def started(module, python, package, monkeypatch, active="C:\\x.xlsx"):
    """The arguments with which Windows starts Python for these settings."""
    command = command_line(
        module, settings_for(python, package, monkeypatch), active, "C:\\spargesheet.xlam"
    )
    return arguments(with_macros(command, CLSID))


def reaches(argv, python, package):
    """Whether the arguments start this Python with this package on its path, and nothing else."""
    assert argv[:3] == [python, "-B", "-c"] and len(argv) == 4
    assert argument_of("serve", argv[3]) == CLSID
    text = argument_of("prepare_sys_path", argv[3])
    parts = ntpath.normcase(ntpath.expandvars(text)).split(";")  # as prepare_sys_path does
    assert parts[0] == "false" and parts[1:6] == [""] * 5
    assert parts[6:] == [ntpath.normcase(package)]


@pytest.mark.parametrize("folder", [folder for folder in ODD if ";" not in folder])
def test_paths_reach_python_whole(module, folder, monkeypatch):
    python, package = rf"{folder}\Scripts\python.exe", rf"{folder}\src"
    reaches(started(module, python, package, monkeypatch), python, package)


LETTERS = st.text(st.sampled_from(" '&^$%()!,=+@#~`[]{}.-_aZ9üßéΩж"), min_size=1, max_size=30).map(
    lambda text: f"a{text}b"
)


@settings(max_examples=150, deadline=None)
@given(folders=st.lists(LETTERS, min_size=1, max_size=4))
def test_any_folder_reaches_python_or_is_refused(module, folders):
    folder = "C:\\" + "\\".join(folders)
    python, package = rf"{folder}\python.exe", rf"{folder}\src"
    with pytest.MonkeyPatch.context() as monkeypatch:
        try:
            argv = started(module, python, package, monkeypatch)
        except HostError as error:
            assert "reads as a variable" in str(error)
            assert "$(" in folder or ntpath.expandvars(folder) != folder
            return
        reaches(argv, python, package)


@pytest.mark.parametrize(
    "folder", [r"C:\a;b", r"C:\$(CLSID)", r"C:\$HOME", "C:\\", r"C:\50%% malt", r"C:\$$"]
)
def test_folders_that_a_step_on_the_way_would_change_are_refused(folder, monkeypatch):
    monkeypatch.setenv("HOME", "elsewhere")
    with pytest.raises(HostError):
        settings_for(r"C:\Python\python.exe", folder, monkeypatch)


def test_the_workbook_in_front_is_not_in_the_command(module, original, monkeypatch):
    hostile = r"C:\plan^& calc.exe &$(2026)" + "\n.xlsx"
    rows = settings_for(r"C:\P\python.exe", r"C:\brew", monkeypatch)
    commands = {
        command_line(module, rows, active, r"C:\a.xlam") for active in (hostile, "b.xlsx", "")
    }
    assert len(commands) == 1  # one Python for all workbooks
    (command,) = commands
    assert "cmd" not in command and "calc.exe" not in command and "a.xlam" not in command
    # as it comes, the same reading does find all of it in the command
    came = command_line(original, rows, hostile, r"C:\a.xlam")
    assert came.startswith("cmd.exe ") and "calc.exe" in came and "a.xlam" in came


def test_the_command_is_short_enough_for_the_bridge(module, monkeypatch):
    deep = "C:\\" + "\\".join("n'" * 4 for _ in range(28))  # 250 letters, as long as Windows takes
    argv = command_line(module, settings_for(rf"{deep}\python.exe", deep, monkeypatch), "", "")
    assert len(with_macros(argv, CLSID)) < 2048  # its buffer (ActivateRPCServer in config.cpp)


def test_conda_rows_cannot_bring_cmd_back(module, monkeypatch):
    rows = settings_for(r"C:\P\python.exe", r"C:\brew", monkeypatch)
    rows |= {"INTERPRETER_WIN": "python", "CONDA PATH": r"C:\conda", "CONDA ENV": "brew"}
    assert arguments(command_line(module, rows, "", ""))[0] == "python"


def test_no_line_on_the_way_to_python_names_the_active_workbook(module):
    for head in ("Function XLPyCommand()", "Private Sub XLPyLoadDLL()", "Function XLPy()"):
        body = "\n".join(procedure(module, head))
        assert "ActiveWorkbook" not in body and "cmd.exe" not in body, head


def test_python_that_does_not_answer_is_one_sentence_and_one_trial(module):
    text = "\n".join(module)
    head, load, trial = text[text.index("Function XLPy():") :].split("\n")[:3]
    assert "If Now < Later Then Err.Raise 1000, Description:=Words" in head
    assert load.strip() == "XLPyLoadDLL"
    assert re.search(r'Words = "Check add-in: [^"]+" & Split\(XLPy & vbLf, vbLf\)\(0\)', trial)
    assert trial.rstrip().endswith("Err.Raise 1000, Description:=Words")
    assert '"Check add-in: its Python is gone or moved' in text


def test_arguments_are_split_as_windows_documents_it():
    """The examples of Microsoft's "Parsing C++ command-line arguments"."""
    for text, wanted in (
        ('"a b c" d e', ["a b c", "d", "e"]),
        (r'"ab\"c" "\\" d', ['ab"c', "\\", "d"]),
        (r'a\\\b d"e f"g h', [r"a\\\b", "de fg", "h"]),
        (r"a\\\"b c d", [r"a\"b", "c", "d"]),
        (r'a\\\\"b c" d e', [r"a\\b c", "d", "e"]),
    ):
        assert arguments(f'"x" {text}') == ["x", *wanted]


@pytest.fixture(scope="module")
def functions(windows):
    book = Taker()
    windows.udfs.import_udfs(MODULE, book)
    return book.text.split("\n")


def test_every_function_hands_on_true_errors(functions):
    after = "\n".join(applied(functions, vba.with_true_errors(functions, len(CATALOGUE))))
    for name in CATALOGUE:
        body = after[after.index(f"Function {name}(") :]
        body = body[: body.index("End Function")].split("#Else")[0]
        assert body.count(f"{name} = TrueErrors({name}): Exit Function") == 1, name
        assert body.index("XLPy.CallUDF") < body.index("TrueErrors")


def test_functions_in_another_shape_are_refused(functions):
    with pytest.raises(HostError, match="in another way"):
        vba.with_true_errors(functions[:-30], len(CATALOGUE))


def test_each_error_code_has_the_number_of_its_error_in_excel():
    """XlCVError of Excel's object model: 2000, 2007, 2015, 2023, 2029, 2036, 2042."""
    from udfs import ERRORS

    text = vba.errors_module()
    cases = dict(re.findall(r'Case "([^"]+)": OneTrueError = CVErr\((\d+)\)', text))
    assert set(ERRORS) <= set(cases)
    assert [cases[code] for code in ("#NULL!", "#DIV/0!", "#VALUE!", "#REF!")] == [
        "2000",
        "2007",
        "2015",
        "2023",
    ]
    assert [cases[code] for code in ("#NAME?", "#NUM!", "#N/A")] == ["2029", "2036", "2042"]
    assert text.isascii() and text.startswith('Attribute VB_Name = "spargesheet_errors"')
