"""The one list of functions: what every host, the reference sheet and the README take their words
from.

A function is an ordinary Python function whose annotations name kinds of :mod:`udfs.arguments` and
whose docstring has numpydoc sections; :func:`function` reads both and adds a :class:`Function` to
``CATALOGUE``. Adding a function to the product means writing one such function; nothing else.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any, get_args, get_type_hints

from udfs.arguments import Word, kind
from udfs.bodies import no_powder, once

CATALOGUE: dict[str, Function] = {}

#: Longest text that Excel shows for a function or an argument.
HELP_LENGTH = 255
#: Where to find the names of an argument that are too many for its help.
LISTED = "any other word is answered with the list of names"


@dataclass(frozen=True)
class Argument:
    """One argument of a function: its name, kind, default and words."""

    name: str
    kind: Any  # one of Kind; what it is decides how its cell is read
    required: bool
    default: Any
    text: str = ""

    @property
    def unit(self) -> str:
        """Unit of the argument, or nothing for a text."""
        return getattr(self.kind, "unit", "")

    @property
    def help(self) -> str:
        """One line for a function wizard, with the unit."""
        text = self.text or self.kind.help
        if isinstance(self.kind, Word) and self.kind.choices:
            whole = f"{text}: {', '.join(self.kind.choices)}"
            text = whole if len(whole) <= HELP_LENGTH else f"{text}; {LISTED}"
        if self.unit and self.unit != "pH":
            text += f" ({self.unit})"
        return text


class Function:
    """One function of the catalogue.

    Parameters
    ----------
    described
        Gives the name and the docstring.
    whole
        Works out the answer, or what several functions take their answers from.
    part
        Takes this function's answer out of it; left out, it is the answer.

    The others are those of :func:`function`. ``body`` then gives the answer.
    """

    def __init__(
        self,
        described: Callable[..., Any],
        whole: Callable[..., Any],
        category: str,
        unit: str,
        arguments: dict[str, Argument],
        cells: int = 1,
        words: str = "",
        part: Callable[[Any], Any] | None = None,
    ):
        self.name = described.__name__.upper()
        self.described = described
        self.whole = whole
        self.body = _part_of(whole, part) if part else whole
        self.category = category
        self.unit = unit
        self.cells = cells
        self.words = words
        self.arguments = tuple(arguments.values())
        self.required = sum(1 for argument in self.arguments if argument.required)

    @cached_property
    def sections(self) -> dict[str, str]:
        """The docstring by section; the text before the first section under ``""``."""
        parts = re.split(
            r"^(\w+)\n-{3,}$", inspect.cleandoc(self.described.__doc__ or ""), flags=re.MULTILINE
        )
        named = {"": parts[0].strip()}
        named.update((title, text.strip()) for title, text in zip(parts[1::2], parts[2::2]))
        return named

    @property
    def summary(self) -> str:
        """First line of the docstring: what the function answers."""
        return self.sections[""].split("\n\n")[0].replace("\n", " ")

    @property
    def notes(self) -> str:
        """The rest of the docstring's text, as one paragraph."""
        body = self.sections[""].split("\n\n")[1:] + [self.sections.get("Notes", "")]
        return " ".join(" ".join(body).split())

    @property
    def source(self) -> str:
        """Equations and sources, one line."""
        return " ".join(self.sections["References"].split())

    @property
    def description(self) -> str:
        """Summary with the unit of the answer, for a function wizard."""
        if not self.unit:
            return self.summary
        return f"{self.summary} Answer: {self.unit}{f', or: {self.words}' if self.words else ''}."

    @property
    def signature(self) -> str:
        """``ACID_DOSE(alkalinity, ph, ..., [strength])`` as it is typed."""
        names = (a.name if a.required else f"[{a.name}]" for a in self.arguments)
        return f"{self.name}({', '.join(names)})"


def function(
    category: str,
    unit: str = "",
    cells: int = 1,
    words: str = "",
    *,
    liquid: str = "",
    part: Callable[[Any], Any] | None = None,
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Add the function below to the catalogue.

    Parameters
    ----------
    category
        Group in the function wizard and on the reference sheet.
    unit
        Unit of the answer; nothing for a text.
    cells
        Cells in the row that one answer fills; such a function answers with a sequence and takes no
        ranges to broadcast.
    words
        Text that stands in place of a figure where there is none, although nothing is wrong with
        what was asked.
    liquid
        For a function that works in mL: what to do instead with an ``acid`` that at its
        ``strength`` is a powder, which is refused with these words.
    part
        Takes the answer out of what the function gives, where that holds the answers of several
        functions: the others are declared with :func:`twin`, and what one has worked out serves the
        others.
    """

    def add(body: Callable[..., Any]) -> Callable[..., Any]:
        arguments = _arguments(body)
        answer = no_powder(body, tuple(arguments), liquid) if liquid else body
        whole = once(answer) if part else answer
        _add(Function(body, whole, category, unit, arguments, cells, words, part))
        return body

    return add


def twin(
    of: Callable[..., Any], part: Callable[[Any], Any], unit: str | None = None
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Add a function that takes another part of what the function ``of`` works out, with the same
    arguments.

    The function below has no arguments and nothing but its docstring. ``unit`` is that of ``of``
    where left out.
    """
    first = CATALOGUE[of.__name__.upper()]

    def add(stub: Callable[..., Any]) -> Callable[..., Any]:
        arguments = {argument.name: argument for argument in first.arguments}
        _add(
            Function(
                stub,
                first.whole,
                first.category,
                first.unit if unit is None else unit,
                arguments,
                first.cells,
                first.words,
                part,
            )
        )
        return stub

    return add


def _part_of(whole: Callable[..., Any], part: Callable[[Any], Any]) -> Callable[..., Any]:
    return lambda *values: part(whole(*values))


def _add(entry: Function) -> None:
    CATALOGUE[entry.name] = entry


def _arguments(body: Callable[..., Any]) -> dict[str, Argument]:
    """The arguments of a function by name, from its annotations, defaults and docstring."""
    hints = get_type_hints(body, include_extras=True)
    texts = parameter_texts(body)
    arguments = {}
    for parameter in inspect.signature(body).parameters.values():
        hint = hints[parameter.name]
        if not hasattr(hint, "__metadata__"):  # Python 3.10 wraps a default of None in Optional
            hint = get_args(hint)[0]
        required = parameter.default is inspect.Parameter.empty
        arguments[parameter.name] = Argument(
            parameter.name,
            kind(hint),
            required,
            None if required else parameter.default,
            texts.get(parameter.name, ""),
        )
    return arguments


def parameter_texts(body: Callable[..., Any]) -> dict[str, str]:
    """Words that a function's own docstring has for an argument, where they differ from its
    kind's.
    """
    match = re.search(
        r"^Parameters\n-+\n(.*?)(?=^\w+\n-{3,}$|\Z)",
        inspect.cleandoc(body.__doc__ or ""),
        flags=re.MULTILINE | re.DOTALL,
    )
    if not match:
        return {}
    found = re.findall(r"^(\w+)\n((?:    .*\n?)+)", match.group(1), flags=re.MULTILINE)
    return {name: " ".join(text.split()) for name, text in found}
