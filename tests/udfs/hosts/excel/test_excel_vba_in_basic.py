"""The add-in's VBA for error values, run: LibreOffice's Basic in its VBA mode reads it as it
stands.
"""

from xml.sax.saxutils import escape

import pytest

from tests.calc_office import programs
from udfs.hosts.calc.office import profile_options
from udfs.hosts.excel import vba

_LIBRARY = "http://openoffice.org/2000/library"
_SCRIPT = "http://openoffice.org/2000/script"

#: Says what became of single answers, a row and a block, as they come from xlwings.
_MAIN = """
Private Function Shown(Answer As Variant) As String
    If IsError(Answer) Then
        Shown = "error " & CStr(CLng(Answer))
    Else
        Shown = TypeName(Answer) & " " & CStr(Answer)
    End If
End Function

Sub Main()
    Dim Flat(1) As Variant, Block(1, 1) As Variant, One As Variant, Answer As Variant
    Open "{file}" For Output As #1
    For Each One In Array(1.5, "1.5", "Check acid: no", "#N/A!", {codes})
        Print #1, Shown(TrueErrors(One))
    Next One
    Flat(0) = 2.5
    Flat(1) = "#N/A"
    Answer = TrueErrors(Flat)
    Print #1, Shown(Answer(0)) & ", " & Shown(Answer(1))
    Block(0, 0) = 2.5
    Block(0, 1) = "#DIV/0!"
    Block(1, 0) = "text"
    Block(1, 1) = "#N/A"
    Answer = TrueErrors(Block)
    Print #1, Shown(Answer(0, 0)) & ", " & Shown(Answer(0, 1))
    Print #1, Shown(Answer(1, 0)) & ", " & Shown(Answer(1, 1))
    Close #1
    StarDesktop.terminate()
End Sub
"""


def library(profile, text):
    """A Basic library of one module in a profile."""
    folder = profile / "user" / "basic" / "Standard"
    folder.mkdir(parents=True, exist_ok=True)
    head = '<?xml version="1.0" encoding="UTF-8"?>\n'
    (folder / "Answers.xba").write_text(
        f'{head}<script:module xmlns:script="{_SCRIPT}" script:name="Answers"'
        f' script:language="StarBasic">{escape(text)}</script:module>',
        encoding="utf-8",
    )
    (folder / "script.xlb").write_text(
        f'{head}<library:library xmlns:library="{_LIBRARY}" library:name="Standard"'
        ' library:readonly="false" library:passwordprotected="false"><library:element'
        ' library:name="Answers"/></library:library>',
        encoding="utf-8",
    )
    (folder.parent / "script.xlc").write_text(
        f'{head}<library:libraries xmlns:library="{_LIBRARY}"'
        ' xmlns:xlink="http://www.w3.org/1999/xlink"><library:library library:name="Standard"'
        ' xlink:href="$(USER)/basic/Standard/script.xlb/" xlink:type="simple"'
        ' library:link="false"/></library:libraries>',
        encoding="utf-8",
    )


def ran(tmp_path, text):
    """The lines that the Sub Main of a Basic text writes into the file ``{file}``."""
    office, said = programs(), tmp_path / "said.txt"
    options = ("--headless", "--norestore", *profile_options(tmp_path / "profile"))
    office.run(office.soffice, "--terminate_after_init", *options)  # makes the profile
    library(tmp_path / "profile", f"Option VBASupport 1\n{text.replace('{file}', str(said))}")
    done = office.run(office.soffice, "macro:///Standard.Answers.Main", *options)
    assert said.exists(), done.stdout
    return said.read_text().splitlines()


@pytest.mark.office
@pytest.mark.slow
def test_a_python_that_does_not_answer_is_tried_once_for_many_cells(tmp_path):
    """The two lines of ``XLPy`` as edited; the bridge is a function that counts, since no DLL is
    here.
    """
    head, trial = (
        edit.new
        for edit in vba.EDITS
        if edit.old.startswith(("Function XLPy()", "If 0 <> XLPyDLLActivateAuto"))
    )
    call = "XLPyDLLActivateAuto(XLPy, XLPyCommand, 1)"
    assert trial.count(call) == 1 and trial.count("XLPy & vbLf") == 1
    trial = trial.replace(call, "Fails()").replace("XLPy & vbLf", 'Says & vbLf & "Command: x"')
    said = ran(
        tmp_path,
        f"""Option Explicit
Private Trials As Long
Private Says As String

Private Function Fails() As Long
    Trials = Trials + 1
    Says = "trial " & CStr(Trials)
    Fails = -1
End Function

{head}
    {trial}
End Function

Private Function Cell() As String
    On Error GoTo failed
    Cell = XLPy()
    Exit Function
failed:
    Cell = Err.Description
End Function

Sub Main()
    Open "{{file}}" For Output As #1
    Print #1, Cell()
    Print #1, Cell()
    Print #1, Cell()
    Print #1, CStr(Trials)
    Close #1
    StarDesktop.terminate()
End Sub
""",
    )
    assert said == [f"{vba.NO_PYTHON} (trial 1)"] * 3 + ["1"]


@pytest.mark.office
@pytest.mark.slow
def test_error_codes_become_error_values_and_all_else_stays(tmp_path):
    module = vba.errors_module().split("\n", 1)[1].replace("Option Private Module\n", "")
    codes = {
        "#NULL!": 2000,
        "#DIV/0!": 2007,
        "#VALUE!": 2015,
        "#REF!": 2023,
        "#NAME?": 2029,
        "#NUM!": 2036,
        "#N/A": 2042,
        "#SPILL!": 2015,
    }
    listed = ", ".join(f'"{code}"' for code in codes)
    main = _MAIN.replace("{codes}", listed)
    assert ran(tmp_path, f"{module}{main}") == [
        "Double 1.5",
        "String 1.5",
        "String Check acid: no",
        "String #N/A!",
        *(f"error {number}" for number in codes.values()),
        "Double 2.5, error 2042",
        "Double 2.5, error 2007",
        "String text, error 2042",
    ]
