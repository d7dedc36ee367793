"""One set of arguments for each function, and the same with one cell empty."""

from __future__ import annotations

from tests.udfs.samples import samples
from udfs import call


def sample(entry) -> tuple:
    """A set with every argument of the function."""
    return max(samples(entry), key=len)


def has_answer(entry) -> bool:
    """Whether the sample gets more than a sentence."""
    return not str(call(entry.name, *sample(entry))).startswith("Check")


def blanked(entry, position: int) -> tuple:
    """The same with one cell empty."""
    cells = list(sample(entry))
    cells[position] = None
    return tuple(cells)
