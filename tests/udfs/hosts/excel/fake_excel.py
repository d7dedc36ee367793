"""An Excel that writes down what is asked of it, in order, and can refuse any of it.

It keeps workbooks with their sheets, VBA modules and macro options, saves an add-in's settings and
functions into the real file, and answers a formula in a cell through xlwings' own CallUDF where a
loaded add-in offers the function.
"""

from __future__ import annotations

import re
import zipfile
from pathlib import Path
from types import SimpleNamespace
from xml.sax.saxutils import escape

from tests.udfs.hosts.excel.vba_text import shipped
from tests.udfs.hosts.excel.xlwings_standins import ERROR_NUMBERS, MISSING, Cells, refusal

_FUNCTIONS_PART = "stand-in/functions.bas"


class FakeExcel:
    """``Excel.Application``; ``refuse`` holds the steps that fail."""

    def __init__(self, windows, startup: Path, refuse: dict | None = None):
        self.windows, self.log, self.refuse = windows, [], refuse or {}
        self.StartupPath, self.Version, self.Hwnd = str(startup), "16.0", 1
        self.Build, self.OperatingSystem = 17928, "Windows (64-bit) NT 10.00"
        self.books: list[Book] = []
        self.Workbooks = Books(self)

    def step(self, *words) -> None:
        self.log.append(" ".join(map(str, words)))
        for start, words in self.refuse.items():
            if self.log[-1].startswith(start):
                raise refusal(words)

    def __setattr__(self, name, value):
        super().__setattr__(name, value)
        if name in ("DisplayAlerts", "Visible", "UserControl"):
            self.step(name, value)

    @property
    def ActiveWorkbook(self):
        return next(book for book in reversed(self.books) if not book.Name.endswith(".xlam"))

    def MacroOptions(self, macro, **options):
        name = re.fullmatch(r"'spargesheet\.xlam'!(\w+)", macro).group(1)
        assert f"Function {name}(" in self.books[-1].modules["xlwings_udfs"]
        self.books[-1].options[name] = options

    def Run(self, name, *arguments):
        self.step("Run", name)

    def CalculateFullRebuild(self):
        self.step("CalculateFullRebuild")

    def Quit(self):
        self.step("Quit")

    def evaluate(self, formula: str):
        """A formula of one function with literal arguments, or #NAME? where no loaded add-in has
        it.
        """
        name, arguments = re.fullmatch(r"=(\w+)\((.*)\)", formula).groups()
        values = [
            text.strip('"') if text.startswith('"') else float(text)
            for text in arguments.split(",")
        ]
        for book in self.books:
            header = re.search(
                rf"Function {name}\((.*)\)\r?\n", book.modules.get("xlwings_udfs", "")
            )
            if header:
                module = re.search(
                    rf'XLPy\.CallUDF\("([\w.]+)", "{name}"', book.modules["xlwings_udfs"]
                ).group(1)
                values += [MISSING] * (len(header.group(1).split(",")) - len(values))
                return self.windows.server.CallUDF(
                    module, name, values, self.ActiveWorkbook, Cells(None)
                )
        return ERROR_NUMBERS["#NAME?"]


class Books:
    def __init__(self, app):
        self.app = app

    def Add(self):
        self.app.step("Add workbook")
        self.app.books.append(Book(self.app, "Book1"))

    def Open(self, path, update_links=None, read_only=False):
        self.app.step("Open", Path(path).name, *(["read-only"] if read_only else []))
        if not Path(path).is_file():
            raise refusal("Sorry, we couldn't find the file.")
        self.app.books.append(Book(self.app, Path(path).name, Path(path)))
        return self.app.books[-1]

    def __call__(self, name):
        for book in self.app.books:
            if book.Name == name:
                return book
        raise refusal("Subscript out of range")


class Book:
    def __init__(self, app, name, path=None):
        self.Application, self.Name, self.path = app, name, path
        self.modules, self.options = {}, {}
        self.sheets = [Sheet(self, "Sheet1")]
        self.project = Project(self)
        if name.endswith(".xlam"):
            self._read()

    def _read(self):
        self.modules["xlwings"] = "\n".join(shipped())
        self.sheets = [Sheet(self, "_myaddin.conf")]
        names = (
            "Interpreter_Win",
            "Interpreter_Mac",
            "PYTHONPATH",
            "Use UDF Server",
            "Conda Env",
            "Conda Path",
            "UDF Modules",
            "Debug UDFs",
            "Show Console",
        )
        for row, name in enumerate(names, 1):
            self.sheets[0].values[row, 1] = name
            self.sheets[0].values[row, 2] = (
                False if name in ("Use UDF Server", "Debug UDFs", "Show Console") else None
            )
        with zipfile.ZipFile(self.path) as parts:
            if _FUNCTIONS_PART in parts.namelist():
                self.modules["xlwings_udfs"] = parts.read(_FUNCTIONS_PART).decode()

    @property
    def VBProject(self):
        self.Application.step("VBProject of", self.Name)
        return self.project

    @property
    def Worksheets(self):
        return Sheets(self.sheets)

    def Save(self):
        self.Application.step("Save", self.Name)
        with zipfile.ZipFile(self.path) as parts:
            contents = {name: parts.read(name) for name in parts.namelist()}
        texts = "".join(
            f"<si><t>{escape(str(value))}</t></si>"
            for value in self.sheets[0].values.values()
            if value
        )
        contents["xl/sharedStrings.xml"] = (
            f'<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">{texts}</sst>'
        ).encode()
        contents[_FUNCTIONS_PART] = self.modules["xlwings_udfs"].encode()
        with zipfile.ZipFile(self.path, "w") as parts:
            for name, content in contents.items():
                parts.writestr(zipfile.ZipInfo(name), content)  # of no time of day

    def Close(self, save_changes):
        self.Application.step("Close", self.Name, "saving" if save_changes else "without saving")
        self.Application.books.remove(self)


class Sheets:
    def __init__(self, sheets):
        self.sheets = sheets

    def __iter__(self):
        return iter(self.sheets)

    def __call__(self, key):
        for number, sheet in enumerate(self.sheets, 1):
            if key in (number, sheet.Name):
                return sheet
        raise refusal("Subscript out of range")


class Sheet:
    def __init__(self, book, name):
        self.book, self.name, self.values, self.formats = book, name, {}, {}

    @property
    def Name(self):
        return self.name

    @Name.setter
    def Name(self, name):
        self.book.Application.step("Rename sheet", self.name, "to", name)
        self.name = name

    def Cells(self, row, column):
        return Cell(self, row, column)


class Cell:
    def __init__(self, sheet, row, column):
        self.sheet, self.at = sheet, (row, column)

    @property
    def Value(self):
        return self.sheet.values.get(self.at)

    @Value.setter
    def Value(self, value):
        if (
            isinstance(value, str)
            and self.sheet.formats.get(self.at) != "@"
            and value.lower() in ("true", "false")
        ):
            value = value.lower() == "true"
        self.sheet.values[self.at] = value

    @property
    def NumberFormat(self):
        return self.sheet.formats.get(self.at, "General")

    @NumberFormat.setter
    def NumberFormat(self, code):
        self.sheet.formats[self.at] = code

    @property
    def Text(self):
        codes = {number: code for code, number in ERROR_NUMBERS.items()}
        return codes.get(self.Value, str(self.Value))

    def _set_formula(self, formula):
        app = self.sheet.book.Application
        app.step("Formula", formula)
        self.Value = app.evaluate(formula)

    Formula = property(fset=_set_formula)

    def ClearContents(self):
        self.sheet.values.pop(self.at)


class Project:
    def __init__(self, book):
        self.book, self.name = book, "myaddin"
        self.VBComponents = Components(book)

    Name = property(lambda self: self.name)

    @Name.setter
    def Name(self, name):
        self.book.Application.step("Rename project", self.name, "to", name)
        self.name = name


class Components:
    def __init__(self, book):
        self.book = book

    def Item(self, index):
        return object()

    def __call__(self, name):
        if name not in self.book.modules:
            raise refusal("Subscript out of range")
        return SimpleNamespace(Name=name, CodeModule=Code(self.book, name))

    def Remove(self, component):
        self.book.Application.step("Remove module", component.Name)
        del self.book.modules[component.Name]

    def Import(self, path):
        text = Path(path).read_text(encoding="ascii")
        name = re.match(r'Attribute VB_Name = "(\w+)"', text).group(1)
        self.book.Application.step("Import module", name)
        self.book.modules[name] = text


class Code:
    def __init__(self, book, name):
        self.book, self.name = book, name

    @property
    def lines(self):
        return self.book.modules[self.name].splitlines()

    @property
    def CountOfLines(self):
        return len(self.lines)

    def Lines(self, first, count):
        return "\r\n".join(self.lines[first - 1 : first - 1 + count])

    def ReplaceLine(self, number, text):
        lines = self.lines
        self.book.Application.step("Replace", lines[number - 1].strip(), "by", text.strip())
        lines[number - 1] = text
        self.book.modules[self.name] = "\n".join(lines)
