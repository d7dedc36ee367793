"""``spargesheet open``: the book in Excel, recalculated once, and formulas that did not bind typed
in again.
"""

import sys

import pytest

from tests.udfs.hosts.excel.fake_excel import FakeExcel
from tests.udfs.hosts.excel.xlwings_standins import ERROR_NUMBERS, refusal
from udfs.hosts import HostError

NAME_ERROR = ERROR_NUMBERS["#NAME?"]


class Formula:
    """A cell whose formula shows #NAME? until it is typed in again."""

    def __init__(self, formula, value=NAME_ERROR, HasArray=False, protected=False, dynamic=True):
        self.formula, self.Value, self.HasArray, self.protected = (
            formula,
            value,
            HasArray,
            protected,
        )
        self.typed, self.CurrentArray = [], self
        if not dynamic:
            self.has_formula2 = False

    has_formula2 = True

    def __getattr__(self, name):
        if name in ("Formula", "FormulaArray") or name == "Formula2" and self.has_formula2:
            return self.formula
        raise AttributeError(name)

    def __setattr__(self, name, value):
        if not name.startswith("Formula"):
            super().__setattr__(name, value)
        elif self.protected:
            raise refusal("The cell is protected")
        else:
            self.typed.append(name)
            self.Value = 1.0


class Used:
    """The used range of a protected sheet, in which Excel refuses to look for kinds of cells."""

    Row, Column = 3, 2

    def __init__(self, sheet):
        self.sheet = sheet

    @property
    def Value(self):
        values = tuple((None, cell.Value) for cell in self.sheet.cells)
        return values if len(values) > 1 else self.sheet.cells[0].Value if values else None

    def SpecialCells(self, *kinds):
        raise refusal("You cannot use this command on a protected sheet.")


class Plan:
    """A book of one protected sheet whose cells stand in one column, the second of its used
    range.
    """

    def __init__(self, path, *cells):
        self.Name, self.cells = path.name, cells

    @property
    def UsedRange(self):
        return Used(self)

    def Cells(self, row, column):
        assert column == (Used.Column + 1 if len(self.cells) > 1 else Used.Column)
        return self.cells[row - Used.Row]

    @property
    def Worksheets(self):
        return [self]


class Desk:
    def __init__(self, windows, tmp_path, monkeypatch):
        from udfs.hosts.excel import excel_opening, session

        self.opening, self.said, self.started = excel_opening, [], []
        self.running, self.windows = None, windows
        self.startup = tmp_path / "Söhne's XLSTART"
        self.startup.mkdir()
        self.plan = tmp_path / "the plan.xlsx"
        self.plan.touch()
        self.cells = ()
        monkeypatch.setattr(session, "on_windows", lambda: True)
        monkeypatch.setenv("APPDATA", str(tmp_path / "AppData"))
        self.usual = tmp_path / "AppData" / "Microsoft" / "Excel" / "XLSTART"
        self.shell = []
        monkeypatch.setattr(
            session.os,
            "startfile",
            lambda *words, **named: self.shell.append((*words, *named.values())),
            raising=False,
        )
        client = sys.modules["win32com.client"]
        monkeypatch.setattr(client, "DispatchEx", self._start, raising=False)
        monkeypatch.setattr(client, "GetActiveObject", self._running, raising=False)

    def excel(self):
        app = FakeExcel(self.windows, self.startup)
        real_open = app.Workbooks.Open

        def open_book(path, *options):
            if path.endswith(".xlam"):
                return real_open(path)
            app.step("Open", path, *options)
            return Plan(self.plan, *self.cells)

        app.Workbooks.Open = open_book
        return app

    def _start(self, name):
        self.started.append(self.excel())
        return self.started[-1]

    def _running(self, name):
        if self.running is None:
            raise refusal("Operation unavailable")
        return self.running

    def install(self):
        import zipfile

        with zipfile.ZipFile(self.startup / "spargesheet.xlam", "w"):
            pass

    def open(self):
        self.opening.open_book(self.plan, self.said.append)


@pytest.fixture
def desk(windows, tmp_path, monkeypatch):
    return Desk(windows, tmp_path, monkeypatch)


def test_steps_where_no_excel_is_open(desk):
    desk.install()
    desk.open()
    assert desk.started[0].log == [
        "DisplayAlerts False",
        "Open spargesheet.xlam",
        f"Open {desk.plan} 0",
        "CalculateFullRebuild",
        "DisplayAlerts True",
        "Visible True",
        "UserControl True",
    ]
    assert desk.said == ["Opened the plan.xlsx and recalculated it"]


def test_excel_starts_as_by_the_user_where_the_addin_lies_in_the_usual_folder(desk):
    desk.usual.mkdir(parents=True)
    (desk.usual / "spargesheet.xlam").touch()
    desk.open()
    assert desk.shell == [("excel.exe", f'"{desk.plan}"')] and desk.started == []
    (line,) = desk.said
    assert line.startswith("Started Excel with the plan.xlsx.") and "run this again" in line


def test_excel_cannot_be_started_so(desk, monkeypatch):
    from udfs.hosts.excel import session

    def missing(*words, **named):
        raise OSError(2, "The system cannot find the file specified")

    monkeypatch.setattr(session.os, "startfile", missing)
    desk.usual.mkdir(parents=True)
    (desk.usual / "spargesheet.xlam").touch()
    with pytest.raises(HostError, match="Excel does not start here"):
        desk.open()


def test_an_open_excel_is_used_and_its_loaded_addin_kept(desk):
    desk.install()
    desk.running = desk.excel()
    desk.running.Workbooks.Open(str(desk.startup / "spargesheet.xlam"))
    desk.running.log.clear()
    desk.open()
    assert desk.started == []
    assert desk.running.log[:2] == [f"Open {desk.plan} 0", "CalculateFullRebuild"]


def test_formulas_that_did_not_bind_are_typed_again(desk):
    desk.install()
    desk.cells = (
        Formula("=ACID_DOSE(B1,B2)"),
        Formula("=hardness(B1,B2)", dynamic=False),
        Formula("=ACID_DOSE(B1:B9,7)", HasArray=True),
        Formula("=SOMETHING_ELSE(1)"),
        Formula("=ACID_DOSE(B1,B2)", value=ERROR_NUMBERS["#N/A"]),
    )
    desk.open()
    assert [cell.typed for cell in desk.cells] == [
        ["Formula2"],
        ["Formula"],
        ["FormulaArray"],
        [],
        [],
    ]
    assert len(desk.said) == 1


def test_formulas_that_cannot_be_typed_again_are_counted(desk):
    desk.install()
    desk.cells = (
        Formula("=ACID_DOSE(1)", protected=True),
        Formula("=ACID_DOSE(2)"),
        Formula("=HARDNESS(1)", protected=True),
    )
    desk.open()
    assert desk.said[1].startswith("2 formulas still show #NAME?")


def test_one_formula_alone_on_a_protected_sheet_is_counted(desk):
    desk.install()
    desk.cells = (Formula("=ACID_DOSE(1)", protected=True),)
    desk.open()
    assert desk.said[1].startswith("1 formulas still show #NAME?")


def test_no_such_file(desk):
    desk.plan.unlink()
    with pytest.raises(HostError, match="There is no file"):
        desk.open()
    assert desk.started == []


def test_addin_not_installed_leaves_no_hidden_excel(desk):
    with pytest.raises(HostError, match="spargesheet install excel"):
        desk.open()
    assert desk.started[0].log[-1] == "Quit"


def test_a_book_that_excel_refuses(desk):
    desk.install()
    desk.running = desk.excel()
    desk.running.refuse[f"Open {desk.plan}"] = "The file is corrupt"
    with pytest.raises(HostError, match="Excel refused to open the plan.xlsx: The file is corrupt"):
        desk.open()
    assert "Quit" not in desk.running.log  # the user's Excel stays


def test_not_on_windows(desk, monkeypatch):
    from udfs.hosts.excel import session

    monkeypatch.setattr(session, "on_windows", lambda: False)
    with pytest.raises(HostError, match="LibreOffice Calc"):
        desk.open()


def test_the_command(desk, monkeypatch):
    import argparse

    from workbook_template.cli.commands import open_command as command
    from workbook_template.user_errors import CommandError

    top = argparse.ArgumentParser()
    command.add(top.add_subparsers())
    options = top.parse_args(["open", str(desk.plan)])
    with pytest.raises(CommandError, match="spargesheet install excel"):
        options.run(options)
    desk.install()
    assert options.run(options) == 0
