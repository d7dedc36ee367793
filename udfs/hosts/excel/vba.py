"""What this add-in changes in the VBA that xlwings ships and writes: checked edits, and true error
values.

Written against the module of xlwings 0.37.8. Each edit names how often its text must be found;
where a release of xlwings changes the module, the set-up refuses with a sentence instead of half an
edit.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from chemcore import __version__
from udfs.hosts import HostError

PROJECT = "spargesheet"

#: What a cell shows where Python does not answer; and how long the other cells wait before they try
#: it again.
NO_PYTHON = (
    "Check add-in: its Python does not start or has no working spargesheet; close Excel, install"
    " spargesheet again and run `spargesheet install excel`"
)
NO_BRIDGE = (
    "Check add-in: its Python is gone or moved, or xlwings was upgraded; close Excel and run"
    " `spargesheet install excel`. Could not load "
)
_AGAIN_AFTER_S = 20

_DIRECT = "PYTHON_WIN = Chr(34) & PYTHON_WIN & Chr(34)"


class Edit(NamedTuple):
    """Text of a line and what takes its place; how often it must be found, and whether only the
    last one changes.
    """

    old: str
    new: str
    times: int = 1
    only_last: bool = False


EDITS = (
    # Its own name, and no settings but those of its own sheet: as it comes, a sheet of that name in
    # whatever workbook is in front could name another program to run instead of Python.
    Edit('PROJECT_NAME As String = "myaddin"', f'PROJECT_NAME As String = "{PROJECT}"'),
    Edit("SheetExists(ActiveWorkbook, PROJECT_NAME", "SheetExists(ThisWorkbook, PROJECT_NAME"),
    Edit("GetConfigFromSheet(ActiveWorkbook).Exists", "GetConfigFromSheet(ThisWorkbook).Exists"),
    Edit("GetConfigFromSheet(ActiveWorkbook).Item", "GetConfigFromSheet(ThisWorkbook).Item"),
    # The command that starts Python: nothing of the workbook in front, whose name could carry a
    # command, and one Python for all workbooks, since the bridge keeps one for each command.
    Edit(
        'AddExcelDir & ";" & ActiveWorkbook.FullName & ";" & ThisWorkbook.FullName & ";" &',
        'AddExcelDir & ";;;" &',
    ),
    # Python itself instead of cmd.exe, which outlives a Python that fails, so that the bridge waits
    # for two minutes.
    Edit(
        'PYTHON_WIN = "cmd.exe " & ConsoleSwitch & " /K " & Chr(34) & Chr(34) & PYTHON_WIN &'
        " Chr(34)",
        _DIRECT,
    ),
    Edit(
        'PYTHON_WIN = "cmd.exe " & ConsoleSwitch & " /K " & CondaCmd & "python"',
        _DIRECT,
    ),
    Edit("XLPyCommand = PYTHON_WIN & tail & Chr(34)", "XLPyCommand = PYTHON_WIN & tail"),
    # cmd's escape of an ampersand; the first such line belongs to RunPython, which does go through
    # cmd.
    Edit(
        'PYTHONPATH = Replace(PYTHONPATH, "&", "^&")',
        "' no cmd.exe, nothing to escape for it",
        times=2,
        only_last=True,
    ),
    # A Python that does not answer: a sentence, and one trial for all cells instead of one for
    # each.
    Edit(
        "Function XLPy()",
        "Function XLPy(): Static Later As Date, Words As String: "
        "If Now < Later Then Err.Raise 1000, Description:=Words",
    ),
    Edit(
        "If 0 <> XLPyDLLActivateAuto(XLPy, XLPyCommand, 1) Then Err.Raise 1000, Description:=XLPy",
        "If 0 <> XLPyDLLActivateAuto(XLPy, XLPyCommand, 1) Then "
        f'Words = "{NO_PYTHON} (" & Split(XLPy & vbLf, vbLf)(0) & ")": '
        f"Later = Now + TimeSerial(0, 0, {_AGAIN_AFTER_S}): "
        "Err.Raise 1000, Description:=Words",
    ),
    Edit(
        '"Could not load " + XLPyDLLName + " from either of the following folders: "',
        f'"{NO_BRIDGE}" + XLPyDLLName + " from either of the following folders: "',
    ),
)


def edited(lines: Sequence[str], edits: Sequence[Edit] = EDITS) -> dict[int, str]:
    """The lines of a module that the edits change, by number from 1; HostError where one does not
    fit.
    """
    changed: dict[int, str] = {}
    for edit in edits:
        found = [number for number, line in enumerate(lines, 1) if edit.old in line]
        if len(found) != edit.times:
            wanted = "once" if edit.times == 1 else f"{edit.times} times"
            raise HostError(
                f"This xlwings has another add-in than spargesheet {__version__} knows"
                f" ({edit.old!r} is not in it {wanted}): run `python -m pip install --upgrade"
                " spargesheet`"
            )
        for number in found[-1:] if edit.only_last else found:
            line = changed.get(number, lines[number - 1])
            changed[number] = line.replace(edit.old, edit.new)
    return changed


#: The module that turns error codes into true errors. pywin32 can hand Excel no error value: of a
#: ``VARIANT`` of type VT_ERROR it makes "argument missing", whatever its value
#: (``MakeObjToVariant`` in its oleargs.cpp). VBA can: what ``CVErr`` makes and a function returns
#: is an error value of the cell, which ``ISNA`` sees and a total passes on.
ERRORS_MODULE = "spargesheet_errors"
_NUMBERS = {
    "#NULL!": 2000,
    "#DIV/0!": 2007,
    "#VALUE!": 2015,
    "#REF!": 2023,
    "#NAME?": 2029,
    "#NUM!": 2036,
    "#N/A": 2042,
    # of later versions of Excel, which an older one cannot show
    "#GETTING_DATA": 2015,
    "#SPILL!": 2015,
    "#CALC!": 2015,
}


def errors_module() -> str:
    """The text of that module, as a file that Excel imports."""
    cases = "\n".join(
        f'        Case "{code}": OneTrueError = CVErr({number})'
        for code, number in _NUMBERS.items()
    )
    return f"""Attribute VB_Name = "{ERRORS_MODULE}"
Option Explicit
Option Private Module

Public Function TrueErrors(ByVal Answer As Variant) As Variant
    Dim i As Long, j As Long, Wide As Boolean
    If Not IsArray(Answer) Then
        TrueErrors = OneTrueError(Answer)
        Exit Function
    End If
    On Error Resume Next
    j = UBound(Answer, 2)
    Wide = (Err.Number = 0)
    On Error GoTo 0
    For i = LBound(Answer, 1) To UBound(Answer, 1)
        If Wide Then
            For j = LBound(Answer, 2) To UBound(Answer, 2)
                Answer(i, j) = OneTrueError(Answer(i, j))
            Next j
        Else
            Answer(i) = OneTrueError(Answer(i))
        End If
    Next i
    TrueErrors = Answer
End Function

Private Function OneTrueError(ByVal Answer As Variant) As Variant
    OneTrueError = Answer
    If VarType(Answer) <> vbString Then Exit Function
    Select Case Answer
{cases}
    End Select
End Function
"""


_CALL = re.compile(r"(?P<name>\w+) = XLPy\.CallUDF\(")


def with_true_errors(lines: Sequence[str], functions: int) -> dict[int, str]:
    """The lines of xlwings' module of functions that hand on true errors, by number from 1.

    HostError where they are not found once for each of so many functions.
    """
    changed: dict[int, str] = {}
    name = ""
    for number, line in enumerate(lines, 1):
        if found := _CALL.search(line):
            name = found["name"]
        before = lines[number - 2] if number > 1 else ""
        if line.strip() == "Exit Function" and before.endswith(
            "ActiveWorkbook, Application.Caller)"
        ):
            changed[number] = line.replace("Exit", f"{name} = TrueErrors({name}): Exit")
    if len(changed) != functions:
        raise HostError(
            f"This xlwings writes the functions in another way than spargesheet {__version__} knows"
            f" ({len(changed)} of {functions} are as expected): run `python -m pip install"
            " --upgrade spargesheet`"
        )
    return changed
