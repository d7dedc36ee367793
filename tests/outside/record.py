"""Calls of the catalogue whose answers remember their function, and comparisons that keep how far
off they were.

The checks of this folder use both in place of ``udfs.call`` and ``pytest.approx``;
:mod:`tests.outside.evidence` runs the checks and makes a table of what was kept.
"""

from __future__ import annotations

from collections import defaultdict
from typing import Any, NamedTuple

import pytest

import udfs


class Difference(NamedTuple):
    """One comparison: what was found and what was wanted, numbers; or None for both, where a
    condition held.
    """

    found: float | None
    wanted: float | None


#: What has been compared in this process, by function.
DIFFERENCES: dict[str, list[Difference]] = defaultdict(list)


class Answer(float):
    """A number that remembers which function gave it."""

    function: str


def call(name: str, *cells: Any) -> Any:
    """As :func:`udfs.call`; each number of the answer is an :class:`Answer`."""
    return _named(name, udfs.call(name, *(_plain(cell) for cell in cells)))


def _named(name: str, found: Any) -> Any:
    if isinstance(found, tuple):
        return tuple(_named(name, part) for part in found)
    if not isinstance(found, float):
        return found
    answer = Answer(found)
    answer.function = name
    return answer


def _plain(cell: Any) -> Any:
    if isinstance(cell, tuple):
        return tuple(_plain(part) for part in cell)
    return float(cell) if isinstance(cell, Answer) else cell


class near:
    """As :func:`pytest.approx`; a comparison with an answer is kept."""

    def __init__(self, wanted: Any, rel: float | None = None, abs: float | None = None):
        self.wanted, self.approx = wanted, pytest.approx(wanted, rel=rel, abs=abs)

    def __eq__(self, found: Any) -> bool:
        one_number = isinstance(self.wanted, float | int)
        for one, wanted in [(found, self.wanted)] if one_number else zip(found, self.wanted):
            if isinstance(one, Answer):
                DIFFERENCES[one.function].append(Difference(float(one), float(wanted)))
        return found == self.approx

    def __repr__(self) -> str:
        return repr(self.approx)


def held(function: str, condition: bool) -> bool:
    """The condition, kept as a case of the function: for a text, or a bound."""
    if condition:
        DIFFERENCES[function].append(Difference(None, None))
    return bool(condition)
