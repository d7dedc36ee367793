"""A thin layer over XlsxWriter: formats by purpose, formulas that carry cached values, names and
input cells.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from copy import deepcopy
from datetime import datetime
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

import xlsxwriter
from xlsxwriter.utility import xl_rowcol_to_cell

from chemcore import __version__
from chemcore.safety import cautions
from workbook_template.template import formula_cells
from workbook_template.template.formula import Formula, cell_text
from workbook_template.template.sizes import PAPERS, Sizes, Starting

if TYPE_CHECKING:
    from workbook_template.template.table import Table

FONT = "Arial"
INK, PAPER, BAND, INPUT, LINE, WARN = (
    "#1F2A30",
    "#FFFFFF",
    "#E7EDE8",
    "#FFF6D6",
    "#B9C4BD",
    "#B3261E",
)
GREEN = "#2F4A3C"
#: The font of the whole book, empty cells included: the widths of columns count in its digits, so
#: where they counted in Excel's own font, a program without that font drew every column wider.
#: "none": no font of a theme takes its place.
_BASE = {"font_name": FONT, "font_size": 10, "font_scheme": "none"}
#: Pixels of a letter of running text, rather too many, and points of a line.
LETTER, LINE_HEIGHT = 6.0, 12.75
#: Written into the file instead of the clock, so that building twice gives the same bytes.
BUILT = datetime(2026, 1, 1)

#: Number formats by what is shown, rounded as a brewer reads them.
NUMBERS = {
    "ph": "0.00",
    "rough_ph": "0.0",
    "mg": "#,##0",
    "limit": "[>=9.95]#,##0;0.0",
    "ml": "[>=99.95]#,##0;0.0",
    "litres": "#,##0",
    "volume": "[>=99.95]#,##0;[>=9.995]0.0;0.00",
    "money": "#,##0.00",
    "share": "0.0",
    "date": "yyyy-mm-dd",
    "density": "0.000",
    "need": "#,##0;-#,##0;",
    "plain": "General",
    "count": "0",
    "month": "mmm yyyy",
}


class Book:
    """One workbook being written.

    ``sizes`` are the rows of its tables and ``starting`` what its settings begin with; with
    ``example`` the invented example is written into its input cells. ``given`` are entries that
    stand in input cells instead, by sheet, row and column from 0.
    """

    def __init__(
        self,
        path: Path | str,
        *,
        sizes: Sizes | None = None,
        example: bool = True,
        starting: Starting | None = None,
        given: Mapping[tuple[str, int, int], Any] | None = None,
    ):
        self.path = path
        self.sizes = sizes or Sizes()
        self.example = example
        self.starting = starting or Starting()
        self.given = given or {}
        #: The formulas as they are written, by their cells.
        self.formulas: dict[tuple[str, int, int], str] = {}
        self._looks: dict[tuple[str, int, int], Any] = {}
        self._numbers: dict[tuple[str, int, int], int] = {}
        #: The tables that were written, each with its sheet: what the book says of itself.
        self.tables: list[tuple[str, Table]] = []
        #: The input cells, the names of single cells, and the words that stand in cells.
        self.inputs: list[tuple[str, int, int]] = []
        self.cell_names: dict[tuple[str, int, int], str] = {}
        self.words: dict[tuple[str, int, int], str] = {}
        self._made = BytesIO()
        self.workbook = xlsxwriter.Workbook(
            self._made,
            {
                "in_memory": True,
                "default_date_format": NUMBERS["date"],
                "default_format_properties": dict(_BASE),
            },
        )
        self.workbook.calc_on_load = (
            False  # a recalculation on load would show #NAME? where there is no add-in
        )
        self.workbook.set_properties(
            {
                "title": "Batch plan: acid for brewing liquor",
                "author": "",
                "created": BUILT,
                "comments": f"Made with spargesheet {__version__}",
            }
        )
        self._formats: dict[tuple, Any] = {}

    def style(self, *purposes: str, **extra) -> Any:
        """The format for one or more purposes (see ``_PURPOSES``), or numbers of ``NUMBERS``."""
        key = (purposes, tuple(sorted(extra.items())))
        if key not in self._formats:
            properties = {"font_color": INK, "valign": "vcenter"}
            for purpose in purposes:
                properties.update(
                    _PURPOSES[purpose] if purpose in _PURPOSES else {"num_format": NUMBERS[purpose]}
                )
            properties.update(extra)
            self._formats[key] = self.workbook.add_format(properties)
        return self._formats[key]

    def sheet(self, name: str, columns: Sequence[float]) -> Sheet:
        """A new sheet with these column widths."""
        return Sheet(self, name, columns)

    def name(
        self, name: str, sheet: str, first: tuple[int, int], last: tuple[int, int] | None = None
    ) -> str:
        """Give a cell or range a name for formulas; returns the name."""
        cells = xl_rowcol_to_cell(*first, True, True)
        if last is None:
            self.cell_names[sheet, first[0], first[1]] = name
        if last:
            cells += ":" + xl_rowcol_to_cell(*last, True, True)
        self.workbook.define_name(name, f"='{sheet}'!{cells}")
        return name

    def draft(self, path: Path | str) -> None:
        """Write the book as it is so far, without values, to be evaluated; more can be written
        after that.
        """
        made, workbook = deepcopy((self._made, self.workbook))
        workbook.close()
        formula_cells.write_with(path, made, list(self.formulas.values()))

    def close(self, values: Mapping[tuple[str, int, int], Any] | None = None) -> None:
        """Write the file, with these values of its formulas."""
        if values:
            for number, (where, style) in enumerate(self._looks.items()):
                self._put(number, where, style, values[where])
        self.workbook.close()
        formula_cells.write_with(self.path, self._made, list(self.formulas.values()))

    def formula(self, where: tuple[str, int, int], formula: str, style: Any) -> None:
        """Put a formula into a cell, in place of one that is there."""
        self.formulas[where] = formula
        self._looks[where] = style
        if len(self._numbers) < len(self.formulas):
            self._numbers[where] = len(self._numbers)
        self._put(self._numbers[where], where, style, 0)

    def _put(self, number: int, where: tuple[str, int, int], style: Any, value: Any) -> None:
        sheet, row, column = where
        raw = self.workbook.get_worksheet_by_name(sheet)
        raw.write_formula(row, column, formula_cells.stand_in(number), style, value)


_PURPOSES: dict[str, dict[str, Any]] = {
    "text": {},
    "right": {"align": "right"},
    "wrap": {"text_wrap": True, "valign": "top"},
    "title": {"font_size": 16, "bold": True, "font_color": GREEN},
    "lead": {"italic": True, "text_wrap": True, "valign": "top"},
    "section": {
        "valign": "bottom",
        "bold": True,
        "font_size": 12,
        "font_color": GREEN,
        "bottom": 1,
        "bottom_color": GREEN,
    },
    "header": {
        "bold": True,
        "font_color": PAPER,
        "bg_color": GREEN,
        "text_wrap": True,
        "align": "center",
        "border": 1,
        "border_color": LINE,
    },
    "label": {"bold": True},
    "cell": {"border": 1, "border_color": LINE},
    "result": {"border": 1, "border_color": LINE, "bg_color": BAND},
    "input": {"border": 1, "border_color": LINE, "bg_color": INPUT, "locked": False},
    "remark": {
        "border": 1,
        "border_color": LINE,
        "bg_color": BAND,
        "text_wrap": True,
        "align": "left",
        "indent": 1,
    },
    "caution": {
        "font_color": WARN,
        "text_wrap": True,
        "align": "left",
        "indent": 1,
        "border": 1,
        "border_color": WARN,
    },
    "note": {"indent": 1},
    "small": {"font_size": 9},
    "tiny": {"font_size": 8},
    "centre": {"align": "center"},
    "grey": {"font_size": 8, "font_color": "#7A8781"},
    "quiet": {"font_size": 8, "font_color": "#7A8781", "align": "center"},
}


class Sheet:
    """One sheet of a :class:`Book`."""

    def __init__(self, book: Book, name: str, columns: Sequence[float]):
        self.book = book
        self.name = name
        self.raw = book.workbook.add_worksheet(name)
        self.raw.hide_gridlines(2)
        self.columns = columns
        for index, width in enumerate(columns):
            self.raw.set_column(index, index, width, book.style("text"))

    def text(self, row: int, column: int, text: Any, *purposes: str) -> None:
        """A constant text or number."""
        self.book.words[self.name, row, column] = str(text)
        self.raw.write(row, column, text, self.book.style(*(purposes or ("text",))))

    def height(self, text: str, first: int, last: int) -> float:
        """Points that a text takes when it is wrapped into these columns."""
        letters = int(sum(7 * width + 5 for width in self.columns[first : last + 1]) / LETTER)
        return 2.25 + LINE_HEIGHT * sum(
            max(1, len(textwrap.wrap(part, letters))) for part in text.split("\n")
        )

    def label(self, row: int, column: int, text: str, *purposes: str) -> None:
        """What stands beside or above a figure; one that begins with ``=`` is a formula."""
        self.book.words[self.name, row, column] = text
        write = self.formula if text.startswith("=") else self.text
        write(row, column, text, *(purposes or ("label",)))

    def across(
        self,
        row: int,
        first: int,
        last: int,
        text: Formula | str,
        *purposes: str,
        height: float | None = None,
        formula: bool = False,
    ) -> None:
        """A text, or a formula, in merged cells."""
        style = self.book.style(*purposes)
        self.raw.merge_range(row, first, row, last, "", style)
        if formula or isinstance(text, Formula):
            self.formula(row, first, text, *purposes)
        else:
            self.raw.write_string(row, first, text, style)
        if height:
            self.raw.set_row(row, height)

    def input(
        self,
        row: int,
        column: int,
        value: Any = None,
        number: str = "plain",
        style: Any = None,
    ) -> None:
        """An unlocked cell for the user, filled with ``value`` or empty; ``style`` is a look of its
        own.
        """
        where = (self.name, row, column)
        self.book.inputs.append(where)
        given = where in self.book.given
        value = self.book.given[where] if given else self.book.starting.typed(value)
        left = number == "plain" and not isinstance(value, (int, float))
        style = style or self.book.style(
            "input", number, **({"align": "left", "indent": 1} if left else {})
        )
        if value is None or value == "":
            self.raw.write_blank(row, column, None, style)
        elif isinstance(value, datetime):
            self.raw.write_datetime(row, column, value, style)
        elif isinstance(value, str):
            self.raw.write_string(row, column, value, style)
        else:
            self.raw.write(row, column, value, style)

    def input_across(
        self, row: int, first: int, last: int, value: Any = None, number: str = "plain"
    ) -> None:
        """One unlocked cell over several columns."""
        self.raw.merge_range(row, first, row, last, "", self.book.style("input", number))
        self.input(row, first, value, number)

    def formula(self, row: int, column: int, formula: Formula | str, *purposes: str) -> None:
        """A formula; its value comes when the book is closed."""
        style = self.book.style(*(purposes or ("result",)))
        self.book.formula((self.name, row, column), cell_text(formula), style)

    def headers(self, row: int, first: int, titles: list[str], height: float | None = 45) -> None:
        """A row of column titles; one that begins with ``=`` is a formula."""
        for offset, title in enumerate(titles):
            self.label(row, first + offset, title, "header")
        if height:
            self.raw.set_row(row, height)

    def cautions(self, row: int, last: int) -> None:
        """The usual cautions across the sheet."""
        text = " ".join(cautions())
        self.across(row, 0, last, text, "caution", height=6 + self.height(text, 0, last))

    def choice(
        self,
        first: tuple[int, int],
        last: tuple[int, int],
        source: str | list[str],
        what: str,
        *,
        free: bool = False,
    ) -> None:
        """A drop-down list over input cells; where it is ``free``, other texts may be typed too."""
        thing = what.partition("(")[0].strip()
        thing = thing[0].lower() + thing[1:]
        article = "an" if thing[0] in "aeio" else "a"
        self.raw.data_validation(
            *first,
            *last,
            {
                "validate": "list",
                "source": source,
                "show_error": not free,
                "input_title": what,
                "input_message": f"Choose the {thing}.",
                "error_title": what,
                "error_message": f"Choose {article} {thing} from the list.",
            },
        )

    def limits(
        self, first: tuple[int, int], last: tuple[int, int], low: float, high: float, what: str
    ) -> None:
        """A range of sense over numeric input cells."""
        self.raw.data_validation(
            *first,
            *last,
            {
                "validate": "decimal",
                "criteria": "between",
                "minimum": low,
                "maximum": high,
                "error_title": what,
                "error_message": f"{what} is a number from {low:,.12g} to {high:,.12g}.",
            },
        )

    def name_range(
        self, name: str, first: tuple[int, int], last: tuple[int, int] | None = None
    ) -> str:
        """A name for cells of this sheet."""
        return self.book.name(name, self.name, first, last)

    def finish(
        self,
        *,
        landscape: bool = True,
        area: tuple[int, int, int, int] | None = None,
        repeat: int | None = None,
        freeze: tuple[int, int] | None = None,
        tall: int = 0,
    ) -> None:
        """Print set-up, frozen panes and protection (no password: it only guards against slips)."""
        self.raw.set_landscape() if landscape else self.raw.set_portrait()
        self.raw.set_paper(PAPERS[self.book.starting.paper])
        self.raw.set_margins(0.4, 0.4, 0.6, 0.6)
        self.raw.fit_to_pages(1, tall)
        self.raw.set_footer(
            "&L&A&CStrong acid: safety data sheet, local codes and a trained person decide&RPage &P"
            " of &N"
        )
        if area:
            self.raw.print_area(*area)
        if repeat is not None:
            self.raw.repeat_rows(repeat)
        if freeze:
            self.raw.freeze_panes(*freeze)
        self.raw.protect(
            "",
            {
                "format_cells": True,
                "format_columns": True,
                "format_rows": True,
                "sort": True,
                "autofilter": True,
                "objects": False,
            },
        )
