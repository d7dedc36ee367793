"""A table of a sheet: a column is declared once, and everything that the file needs of it comes
from there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from copy import copy
from dataclasses import KW_ONLY, dataclass
from typing import Any

from xlsxwriter.utility import xl_col_to_name, xl_range_abs, xl_rowcol_to_cell

from workbook_template.template.book import Sheet
from workbook_template.template.formula import Formula, joined, name, ref, xl

#: Width of a working that gives none.
WORKING_WIDTH = 11


@dataclass(frozen=True)
class Column:
    """One column; ``name`` is the end of its defined name, where other sheets use it.

    A title that begins with ``=`` is a formula. ``width`` counts in digits, and ``None`` leaves the
    width to the sheet. ``span`` is over how many columns of the sheet each of its cells goes;
    ``heading`` is the look of the title.
    """

    key: str
    title: str
    _: KW_ONLY
    width: float | None = None
    number: str = "plain"
    name: str | None = None
    span: int = 1
    heading: tuple[str, ...] = ("header",)


@dataclass(frozen=True)
class Input(Column):
    """A column that the user fills in.

    ``choice`` is the source of a drop-down list and ``what`` the word for it; ``free`` lets other
    texts be typed too. ``limits`` are the least and the most of a number and what it is.
    """

    _: KW_ONLY
    choice: str | Sequence[str] | None = None
    what: str = ""
    free: bool = False
    limits: tuple[float, float, str] | None = None


@dataclass(frozen=True)
class Fact(Column):
    """A column of what the book holds from the start, by row."""

    values: Sequence[Any]
    _: KW_ONLY
    look: tuple[str, ...] = ("text",)


@dataclass(frozen=True)
class Worked(Column):
    """A column of formulas; each is written in terms of the other columns of its row."""

    formula: Callable[[Row], Formula]
    _: KW_ONLY
    look: tuple[str, ...] = ()


@dataclass(frozen=True)
class Working(Worked):
    """A step in between, to the right of the page: every slow call stands in one of these."""

    look: tuple[str, ...] = ("cell",)


@dataclass(frozen=True)
class Shown(Worked):
    """What the user reads."""

    look: tuple[str, ...] = ("result", "right")


class Row:
    """The cells of one row of a table, by key."""

    def __init__(self, table: Table, row: int):
        self.table = table
        self.row = row
        self._written: dict[str, Formula] = {}

    @property
    def number(self) -> int:
        """The number of the row within its table, from 1."""
        return self.row - self.table.first + 1

    def __getattr__(self, key: str) -> Formula:
        if key not in self.table.at:
            raise AttributeError(f"the table {self.table.name} has no column {key!r}")
        return self[key]

    def __getitem__(self, key: str) -> Formula:
        if key not in self._written:
            self._written[key] = self._cell(key)
        return self._written[key]

    def _cell(self, key: str) -> Formula:
        column = self.table.at[key]
        if isinstance(self.table.columns[key], Input) and self.row <= self.table.last:
            return xl.INDEX(self._between(column, column), self._place())
        return ref(xl_rowcol_to_cell(self.row, column))

    def address(self, key: str) -> Formula:
        """Where a cell of the row stands, as ``D9``: for a remark that names it."""
        return joined(xl_col_to_name(self.table.at[key]), xl.ROW())

    def span(self, first: str, last: str) -> Formula:
        """The cells from one column of inputs to another."""
        if self.row > self.table.last:
            ends = (xl_rowcol_to_cell(self.row, self.table.at[key]) for key in (first, last))
            return ref(":".join(ends))
        return xl.INDEX(self._between(self.table.at[first], self.table.at[last]), self._place(), 0)

    def cells_between(self, first: str, last: str) -> list[Formula]:
        """The cells from one column to another, one by one; for what counts them, as :meth:`span`
        is not known to Gnumeric.
        """
        at = self.table.at
        return [self[key] for key in at if at[first] <= at[key] <= at[last]]

    def _between(self, first: int, last: int) -> Formula:
        """Whole columns, from their title to the cell below their last: both are locked.

        A reference to an input cell itself would go along when the cell is cut and pasted
        elsewhere, and the row would then be worked out from another row's figures.
        """
        end = self.table.last + (0 if self.table.followed else 1)
        return ref(xl_range_abs(self.table.head, first, end, last))

    def _place(self) -> Formula:
        """How many rows this one is from the title, counted in the empty column behind the page."""
        top = xl_rowcol_to_cell(self.table.head, self.table.gap, True, True)
        return xl.ROWS(ref(f"{top}:{xl_rowcol_to_cell(self.row, self.table.gap, False, True)}"))


class Table:
    """Rows of like columns at one place of a sheet.

    Parameters
    ----------
    name
        How its defined names begin.
    columns
        In the order in which they stand; the workings come after the rest.
    head
        The row of the titles, from 0.
    rows
        How many rows it has.
    left
        The column of the sheet that it begins in.
    workings
        The column in which the workings begin; without it, one column is left free before them.
    followed
        Whether a row with formulas of its own follows, which may depend on the rows above it:
        :class:`Row` takes it too.
    """

    def __init__(
        self,
        name: str,
        columns: Iterable[Column],
        *,
        head: int,
        rows: int,
        left: int = 0,
        workings: int | None = None,
        followed: bool = False,
    ):
        self.name = name
        columns = tuple(columns)
        self.page = tuple(column for column in columns if not isinstance(column, Working))
        self.workings = tuple(column for column in columns if isinstance(column, Working))
        self.inputs = tuple(column for column in columns if isinstance(column, Input))
        self.columns = {column.key: column for column in (*self.page, *self.workings)}
        if len(self.columns) < len(columns):
            raise ValueError(f"two columns of the table {name} have one key")
        self.head, self.first, self.last = head, head + 1, head + rows
        self.left = left
        self.followed = followed
        self.at: dict[str, int] = {}
        place = left
        for column in self.page:
            self.at[column.key] = place
            place += column.span
        self.page_end = place - 1
        self.gap = place
        for column in self.workings:
            place = max(place + 1, workings or 0) if column is self.workings[0] else place + 1
            self.at[column.key] = place
        self.end = place if self.workings else self.page_end

    def sized(self, rows: int) -> Table:
        """The same table with another number of rows."""
        sized = copy(self)
        sized.last = self.head + rows
        return sized

    @property
    def widths(self) -> list[float]:
        """Widths of the sheet's columns where this table alone decides them."""
        workings = [column.width or WORKING_WIDTH for column in self.workings]
        return [*self.page_widths, 3, *workings]

    @property
    def page_widths(self) -> list[float]:
        """Widths of the columns of the page.

        Raises
        ------
        ValueError
            Where a column leaves its width to the sheet.
        """
        found = {column.key: column.width for column in self.page}
        widths = [width for width in found.values() if width is not None]
        if len(widths) < len(found):
            without = ", ".join(key for key, width in found.items() if width is None)
            raise ValueError(f"the table {self.name} gives no width to {without}")
        return widths

    def all(self, key: str) -> Formula:
        """The cells of a column, for formulas of its own sheet."""
        return ref(xl_range_abs(self.first, self.at[key], self.last, self.at[key]))

    def named(self, key: str) -> Formula:
        """The name of a column."""
        ending = self.columns[key].name
        if ending is None:
            raise ValueError(f"the column {key} of the table {self.name} has no name")
        return name(f"{self.name}_{ending}")

    def write(
        self,
        sheet: Sheet,
        data: Sequence[Sequence[Any]] = (),
        height: float = 45,
        *,
        described: bool = True,
    ) -> None:
        """Write titles, rows, limits, lists and names.

        ``data`` are the inputs of the first rows: the invented example, left out of a book without
        it. One that is not ``described`` holds single cells, each known by its name or the words
        beside it.
        """
        if described:
            sheet.book.tables.append((sheet.name, self))
        if not sheet.book.example:
            data = ()
        self._titles(sheet, height)
        for offset in range(self.last - self.head):
            values = data[offset] if offset < len(data) else (None,) * len(self.inputs)
            row = self.first + offset
            for typed, value in zip(self.inputs, values, strict=True):
                self._input(sheet, row, typed, value)
            cells = Row(self, row)
            for column in self.columns.values():
                if isinstance(column, Worked):
                    self.put(sheet, row, column.key, column.formula(cells))
                elif isinstance(column, Fact):
                    sheet.text(row, self.at[column.key], column.values[offset], *column.look)
        for typed in self.inputs:
            self._bounds(sheet, typed)
        for column in self.columns.values():
            if column.name:
                where = self.at[column.key]
                sheet.name_range(
                    str(self.named(column.key)), (self.first, where), (self.last, where)
                )
        for working in self.workings:
            where = self.at[working.key]
            style = sheet.book.style("text")
            sheet.raw.set_column(where, where, working.width or WORKING_WIDTH, style, {"level": 1})

    def room(self, of: str) -> str:
        """How many rows there are, for who pastes more of them, and the command that makes more
        ``of`` them.
        """
        rows = self.last - self.head
        return (
            f"{rows} rows, no more: a paste of more is refused. For a workbook with more, with all"
            f" that you typed: spargesheet carry this-book.xlsx larger-book.xlsx --{of} N"
        )

    def ends(self, sheet: Sheet, of: str) -> None:
        """Say below the last row how many there are."""
        sheet.text(self.last + 1, min(self.at.values()), self.room(of), "note")

    def put(self, sheet: Sheet, row: int, key: str, formula: Formula) -> None:
        """Write a formula into a row of this table in the look of its column."""
        column = self.columns[key]
        if not isinstance(column, Worked):
            raise TypeError(f"the column {key} of the table {self.name} holds no formulas")
        look = column.look if column.number == "plain" else (*column.look, column.number)
        if column.span > 1:
            end = self.at[key] + column.span - 1
            sheet.raw.merge_range(row, self.at[key], row, end, "", sheet.book.style(*look))
        sheet.formula(row, self.at[key], formula, *look)

    def coloured(self, sheet: Sheet, key: str, criteria: str, words: str, colour: str) -> None:
        """Colour the cells of a column whose text begins with, or contains, these words."""
        sheet.raw.conditional_format(
            self.first,
            self.at[key],
            self.last,
            self.at[key],
            {
                "type": "text",
                "criteria": criteria,
                "value": words,
                "format": sheet.book.workbook.add_format({"bg_color": colour}),
            },
        )

    def _titles(self, sheet: Sheet, height: float) -> None:
        for column in self.columns.values():
            where = self.at[column.key]
            if column.span > 1:
                style = sheet.book.style(*column.heading)
                sheet.raw.merge_range(
                    self.head, where, self.head, where + column.span - 1, "", style
                )
            sheet.label(self.head, where, column.title, *column.heading)
        sheet.raw.set_row(self.head, height)

    def _input(self, sheet: Sheet, row: int, column: Input, value: Any) -> None:
        where = self.at[column.key]
        if column.span > 1:
            style = sheet.book.style("input", column.number)
            sheet.raw.merge_range(row, where, row, where + column.span - 1, "", style)
        sheet.input(row, where, value, column.number)

    def _bounds(self, sheet: Sheet, column: Input) -> None:
        where = self.at[column.key]
        cells = (self.first, where), (self.last, where)
        if column.choice:
            source = column.choice if isinstance(column.choice, str) else list(column.choice)
            sheet.choice(*cells, source, column.what or column.title, free=column.free)
        if column.limits:
            low, high, what = column.limits
            sheet.limits(*cells, low, high, what)
