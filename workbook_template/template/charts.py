"""One look for all charts: titles on both axes, one font, quiet grid lines."""

from __future__ import annotations

from typing import Any

from workbook_template.template.book import FONT, GREEN, INK, WARN, Book

OCHRE, GREY = "#8A6D1D", "#7A8781"
#: Drawn in place of a missing figure: below the least value of every axis here. Excel draws an
#: empty text as 0, and a text among the x values turns them all into 1, 2, 3.
OFF = -1
SOLID = {"color": GREEN, "width": 2.25}
DASHED = {"color": OCHRE, "width": 2.25, "dash_type": "dash"}
LIMIT = {"color": WARN, "width": 1.5}
LIMIT_2 = {"color": WARN, "width": 1.5, "dash_type": "dash"}
_FONT = {"name": FONT, "size": 9, "color": INK}
_GRID = {"visible": True, "line": {"color": "#D9DFDB", "width": 0.5}}


def marks(colour: str = GREEN) -> dict[str, Any]:
    """Points without a line."""
    return {
        "marker": {
            "type": "circle",
            "size": 6,
            "fill": {"color": colour},
            "border": {"color": colour},
        },
        "line": {"none": True},
    }


def scatter(
    book: Book,
    title: str,
    x: str,
    y: str,
    *,
    x_axis: dict | None = None,
    y_axis: dict | None = None,
    second: str | None = None,
    second_axis: dict | None = None,
    legend: bool = True,
):
    """An XY chart; ``x``, ``y`` and ``second`` are axis titles, or ``=Sheet!$A$1`` references to
    them.
    """
    chart = book.workbook.add_chart({"type": "scatter", "subtype": "straight"})
    _dress(chart, title, x, y, x_axis, y_axis, legend)
    if second:
        chart.set_y2_axis(
            {
                "name": second,
                "name_font": {**_FONT, "bold": True},
                "num_font": _FONT,
                **(second_axis or {}),
            }
        )
    return chart


def columns(book: Book, title: str, x: str, y: str, *, stacked: bool = True):
    """A column chart, one colour a series, stacked or side by side."""
    chart = book.workbook.add_chart(
        {"type": "column", **({"subtype": "stacked"} if stacked else {})}
    )
    _dress(chart, title, x, y, None, {"min": 0}, True)
    return chart


def steps(book: Book, title: str, x: str, y: str, *, y_axis: dict):
    """A line chart over named steps."""
    chart = book.workbook.add_chart({"type": "line"})
    _dress(chart, title, x, y, None, y_axis, True)
    return chart


def _dress(chart, title: str, x: str, y: str, x_axis, y_axis, legend: bool) -> None:
    bold = {**_FONT, "bold": True}
    chart.set_title(
        {"name": title, "name_font": {"name": FONT, "size": 11, "color": INK}, "overlay": False}
    )
    chart.set_x_axis(
        {
            "name": x,
            "name_font": bold,
            "num_font": _FONT,
            "major_gridlines": _GRID,
            **(x_axis or {}),
        }
    )
    chart.set_y_axis(
        {
            "name": y,
            "name_font": bold,
            "num_font": _FONT,
            "major_gridlines": _GRID,
            "crossing": "min",
            **(y_axis or {}),
        }
    )
    chart.set_legend({"position": "bottom", "font": _FONT} if legend else {"none": True})


def series(chart, name: str, sheet: str, rows: tuple[int, int], x: int, y: int, **look) -> None:
    """A series from two columns of a sheet."""
    chart.add_series(
        {
            "name": name,
            "categories": [sheet, rows[0], x, rows[1], x],
            "values": [sheet, rows[0], y, rows[1], y],
            **look,
        }
    )
