"""The embedded engine: formualizer with the catalogue registered, no office program needed."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any
from zipfile import ZIP_STORED, ZipFile

import formualizer

from udfs import CATALOGUE, ERRORS, call
from udfs.functions import about
from udfs.hosts.calc.scratch import scratch

#: A formula as a sheet of an .xlsx holds it.
_FORMULA = re.compile(rb"(<f(?: [^>]*[^>/])?>)([^<]+)(</f>)")
#: formualizer's names of errors, and those of cells.
_KINDS = {
    "Null": "#NULL!",
    "Div": "#DIV/0!",
    "Value": "#VALUE!",
    "Ref": "#REF!",
    "Name": "#NAME?",
    "Num": "#NUM!",
    "Na": "#N/A",
    "Spill": "#SPILL!",
    "Calc": "#CALC!",
}
_NAMES = {code: kind for kind, code in _KINDS.items()}


def load(path: Path | str) -> Any:
    """The workbook in ``path`` with the catalogue's functions registered, not yet evaluated."""
    with scratch() as folder:
        draft = folder / "draft.xlsx"
        with ZipFile(path) as book, ZipFile(draft, "w", ZIP_STORED) as changed:
            for part in book.infolist():
                data = book.read(part)
                if part.filename.startswith("xl/worksheets/"):
                    data = _FORMULA.sub(_apart, data)
                changed.writestr(part, data)
        config = formualizer.WorkbookConfig(eval_config=one_thread())
        loaded = formualizer.Workbook.load_path(str(draft), backend="umya", config=config)
    register(loaded)
    return loaded


def one_thread() -> Any:
    """Settings with which the engine evaluates in one thread: the functions are Python, of which
    one runs at a time.
    """
    config = formualizer.EvaluationConfig()
    config.enable_parallel = False
    return config


def apart(text: str) -> str:
    """A formula for the engine, without its ``=``, such that it is worked out by itself.

    formualizer 0.11 to 0.13 gives formulas of one shape the first one's answer where the cells that
    they read by relative references hold like values, even though they ask INDEX, MATCH, SUMIFS and
    their like for different literals (``A1&INDEX(E$1:E$9,1)``, ``A2&INDEX(E$1:E$9,2)``). It does so
    only where the outermost function is not one that chooses, and a choice that is always taken
    changes no answer, be it blank, an error or a range. The brackets keep a union of references one
    argument.
    """
    return f"IF(TRUE,({text}))"


def _apart(found: re.Match[bytes]) -> bytes:
    return found[1] + apart(found[2].decode()).encode() + found[3]


def register(book: Any, heard: Callable[[str], None] | None = None) -> None:
    """Make every function of the catalogue known to a formualizer workbook; ``heard`` is told of
    each call's name.
    """
    about.HOST = "the embedded engine"
    for entry in CATALOGUE.values():
        book.register_function(
            entry.name, _callback(entry.name, heard), min_args=0, max_args=len(entry.arguments)
        )


def error_code(kind: str) -> str:
    """What a cell shows for one of the engine's errors."""
    return _KINDS.get(kind, "#VALUE!")


def error_kind(code: str) -> str:
    """The engine's error for what a cell shows."""
    return _NAMES.get(code, "Value")


def _callback(name: str, heard: Callable[[str], None] | None = None) -> Callable[..., Any]:
    def answer(*arguments: Any) -> Any:
        if heard:
            heard(name)
        return to_engine(call(name, *(from_engine(value) for value in arguments)))

    return answer


def from_engine(value: Any) -> Any:
    """A value of the engine as the catalogue takes it."""
    if isinstance(value, list):
        return tuple(tuple(from_engine(cell) for cell in row) for row in value)
    if isinstance(value, dict) and value.get("type") == "Error":
        return error_code(value.get("kind"))  # type: ignore[arg-type]
    return value


def to_engine(value: Any) -> Any:
    """An answer of the catalogue as the engine takes it."""
    if isinstance(value, tuple):
        return [[to_engine(cell) for cell in row] for row in value]
    if isinstance(value, str) and value in ERRORS:
        return {"type": "Error", "kind": error_kind(value)}
    return value
