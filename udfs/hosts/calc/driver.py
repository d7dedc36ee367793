"""What runs in LibreOffice's own Python to work a headless LibreOffice;
:mod:`udfs.hosts.calc.office` starts it.

Standard library and ``uno`` only. One JSON request a line on standard input, one JSON answer a line
on standard output: ``[method, [arguments]]`` gives ``{"answer": ...}`` or ``{"error": text}``. The
office listens on a named pipe of this user, not on a network port.
"""

import json
import sys
import time

import uno
from com.sun.star.beans import PropertyValue
from com.sun.star.connection import NoConnectException

FILTERS = {"ods": "calc8", "xlsx": "Calc MS Excel 2007 XML", "pdf": "calc_pdf_Export"}


def connect(pipe, seconds):
    """The office's component context, as soon as it answers."""
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext(
        "com.sun.star.bridge.UnoUrlResolver", local
    )
    end = time.monotonic() + seconds
    while True:
        try:
            return resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
        except NoConnectException:
            if time.monotonic() > end:
                raise
            time.sleep(0.1)


def properties(**values):
    """Named values as UNO has them."""
    return tuple(PropertyValue(name, 0, value, 0) for name, value in values.items())


class Driver:
    """The requests by name."""

    def __init__(self, context):
        self.context = context
        self.desktop = self.create("com.sun.star.frame.Desktop")
        self.book = None

    def create(self, service):
        """An object of a service."""
        return self.context.ServiceManager.createInstanceWithContext(service, self.context)

    def new(self):
        """Start an empty spreadsheet in place of the one that is open."""
        self.open(None)

    def open(self, path, view=False):
        """Load a file in place of the one that is open.

        Only with a view does Calc keep frozen panes, zoom and the chosen sheet for the next
        saving; a document that is loaded hidden has none.
        """
        if self.book is not None:
            self.book.close(True)
        url = uno.systemPathToFileUrl(path) if path else "private:factory/scalc"
        hidden = properties(Hidden=not view)
        self.book = self.desktop.loadComponentFromURL(url, "_blank", 0, hidden)
        if self.book is None:
            raise RuntimeError("LibreOffice cannot load this file")

    def save(self, path):
        """Save the open spreadsheet in the format of the file's ending."""
        kind = FILTERS[path.rsplit(".", 1)[-1].lower()]
        self.book.storeToURL(uno.systemPathToFileUrl(path), properties(FilterName=kind))

    def recalculate(self):
        """Recalculate every cell; how many seconds that took."""
        start = time.perf_counter()
        self.book.calculateAll()
        return time.perf_counter() - start

    def sheets(self):
        """Names of the sheets."""
        return list(self.book.Sheets.ElementNames)

    def name_sheets(self, names):
        """Give the sheets these names: on loading, Calc changes one that is Sheet1 in letters of
        another case.
        """
        sheets = self.book.Sheets
        if sheets.Count == len(names):
            for at, name in enumerate(names):
                if sheets.getByIndex(at).Name != name:
                    sheets.getByIndex(at).Name = name

    def sheet(self, sheet):
        """A sheet by name or number."""
        sheets = self.book.Sheets
        return sheets.getByIndex(sheet) if isinstance(sheet, int) else sheets.getByName(sheet)

    def range(self, sheet, address):
        """A range of cells."""
        return self.sheet(sheet).getCellRangeByName(address)

    def put(self, sheet, address, formulas):
        """Fill a range with numbers, texts and formulas in English notation, as rows; None empties
        a cell.
        """
        rows = tuple(tuple("" if cell is None else cell for cell in row) for row in formulas)
        self.range(sheet, address).setFormulaArray(rows)

    def type(self, sheet, address, text):
        """Put a text into one cell as a user of this locale types it."""
        self.range(sheet, address).FormulaLocal = text

    def array(self, sheet, address, formula):
        """Enter one array formula over a range."""
        self.range(sheet, address).setArrayFormula(formula)

    def insert_columns(self, sheet, at, count):
        """Put empty columns before the one with this number, from 0."""
        self.unlocked(sheet).Columns.insertByIndex(at, count)

    def move(self, sheet, source, target):
        """Cut a range and paste it where the target begins."""
        self.unlocked(sheet).moveRange(
            self.range(sheet, target).CellAddress, self.range(sheet, source).RangeAddress
        )

    def copy(self, sheet, source, target):
        """Copy a range to where the target begins."""
        self.unlocked(sheet).copyRange(
            self.range(sheet, target).CellAddress, self.range(sheet, source).RangeAddress
        )

    def sort(self, sheet, address, column, ascending):
        """Sort the rows of a range by one of its columns."""
        self.unlocked(sheet)
        field = uno.createUnoStruct("com.sun.star.table.TableSortField")
        field.Field, field.IsAscending = column, ascending
        fields = uno.Any("[]com.sun.star.table.TableSortField", (field,))
        self.range(sheet, address).sort(properties(SortFields=fields, ContainsHeader=False))

    def unlocked(self, sheet):
        """A sheet without its protection, which has no password."""
        found = self.sheet(sheet)
        found.unprotect("")
        return found

    def cells(self, sheet, address):
        """What the cells of a range hold, as rows: number, text, None, or ``{"error": code}``."""
        cells = self.range(sheet, address)
        rows = [list(row) for row in cells.getDataArray()]
        for y, row in enumerate(rows):
            for x, value in enumerate(row):
                if value is None or value == "":
                    cell = cells.getCellByPosition(x, y)
                    row[x] = {"error": cell.String} if cell.getError() else value or None
        return rows

    def data(self, sheet, address):
        """Numbers and texts of a range as rows, at once; an error and an empty cell are both
        none.
        """
        return [list(row) for row in self.range(sheet, address).getDataArray()]

    def formulas(self, sheet, address):
        """Formulas of a range as rows, in English notation with the stored names of functions."""
        return [list(row) for row in self.range(sheet, address).getFormulaArray()]

    def shown(self, sheet, address):
        """A cell as a user of this locale sees it: formula and result."""
        cell = self.range(sheet, address)
        return [cell.FormulaLocal, cell.String]

    def used(self, sheet):
        """Number of columns and rows in use on a sheet."""
        cursor = self.sheet(sheet).createCursor()
        cursor.gotoEndOfUsedArea(False)
        return [cursor.RangeAddress.EndColumn + 1, cursor.RangeAddress.EndRow + 1]

    def described(self, names):
        """What the function wizard knows of functions, by name."""
        functions = self.create("com.sun.star.sheet.FunctionDescriptions")
        found = {}
        for index in range(functions.getCount()):
            entry = {one.Name: one.Value for one in functions.getByIndex(index)}
            if entry["Name"] in names:
                found[entry["Name"]] = {
                    "text": entry["Description"],
                    "arguments": [
                        [one.Name, one.Description, one.IsOptional] for one in entry["Arguments"]
                    ],
                }
        return found

    def quit(self):
        """Close everything and end the office."""
        if self.book is not None:
            self.book.close(True)
            self.book = None
        self.desktop.terminate()


def main(pipe, seconds):
    """Work the office that listens on the pipe until told to quit."""
    driver = Driver(connect(pipe, float(seconds)))
    for line in sys.stdin:
        method, arguments = json.loads(line)
        try:
            answer = {"answer": getattr(driver, method)(*arguments)}
        except Exception as error:
            answer = {"error": f"{type(error).__name__}: {getattr(error, 'Message', '') or error}"}
        print(json.dumps(answer), flush=True)
        if method == "quit":
            break


if __name__ == "__main__":
    main(*sys.argv[1:])
