"""The module that xlwings imports: a plain wrapper for every function of the catalogue.

xlwings takes a function's name, its arguments, which of them may be left out and the words for
Excel's function wizard from these wrappers. VBA knows one spelling of a name in a whole project, so
that the argument ``litres`` may show there as ``LITRES`` beside the function of that name:
harmless, because VBA tells neither from the other by its case and arguments go by their order. On
other systems than Windows xlwings' decorators do nothing, and neither does this module.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable
from typing import Any

import xlwings as xw

from chemcore import __version__
from udfs import CATALOGUE, Function, call
from udfs.functions import about
from udfs.hosts.excel.addin import difference
from udfs.hosts.excel.excel_values import from_excel, to_excel
from udfs.hosts.excel.session import on_windows

#: The group in Excel's function wizard.
CATEGORY = "spargesheet"


def wrapper(entry: Function) -> Callable[..., Any]:
    """The function that xlwings offers to Excel for a catalogue entry."""

    def answer(*cells: Any) -> Any:
        return to_excel(call(entry.name, *map(from_excel, cells)))

    answer.__name__ = answer.__qualname__ = entry.name
    answer.__doc__ = entry.description
    answer.__signature__ = inspect.Signature(  # type: ignore[attr-defined]
        [
            inspect.Parameter(
                argument.name,
                inspect.Parameter.POSITIONAL_OR_KEYWORD,
                default=inspect.Parameter.empty if argument.required else None,
            )
            for argument in entry.arguments
        ]
    )
    for argument in entry.arguments:
        answer = xw.arg(argument.name, doc=argument.help, ndim=2, err_to_str=True)(answer)
    return xw.func(category=CATEGORY)(xw.ret()(answer))


def introduce() -> None:
    """Let ADDIN_STATUS say that Excel calls, and whether another version made the add-in."""
    if on_windows():
        about.HOST, about.NOTE = "Excel", difference()


introduce()
globals().update({name: wrapper(entry) for name, entry in CATALOGUE.items()})


def __getattr__(name: str) -> Callable[..., Any]:
    """A function that an add-in made by another version still offers: it answers what to do about
    that.
    """
    if not re.fullmatch(r"[A-Z][A-Z0-9_]*", name):
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")

    def answer(*cells: Any) -> str:
        return (
            f"Check {name}: spargesheet {__version__} has no such function; close Excel and run "
            "`spargesheet install excel` to renew the add-in"
        )

    return xw.func(answer)
