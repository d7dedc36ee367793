"""The functions that a cell may call, for every host through one door: :func:`call`."""

from __future__ import annotations

from typing import Any

from udfs import functions  # noqa: F401  (its modules add their functions to the catalogue)
from udfs.catalogue import CATALOGUE, Function
from udfs.cells import ERRORS, evaluate

__all__ = ["CATALOGUE", "ERRORS", "Function", "call"]


def call(name: str, *cells: Any) -> Any:
    """Answer of a catalogue function for what stands in cells.

    Parameters
    ----------
    name
        Name of the function, in any case.
    *cells
        A float, bool, text, None (empty cell), an error code (one of :data:`ERRORS`), or a tuple of
        row tuples for a range. Arguments left out at the end take their defaults.

    Returns
    -------
    A float, a text (an answer, or a sentence that begins with ``Check``), an error code that was
    handed in, or a tuple of row tuples where a range was given.
    """
    entry = CATALOGUE.get(name) or CATALOGUE.get(str(name).upper())
    if entry is None:
        return f"Check name: {str(name)[:40]} is not a function of this add-in"
    return evaluate(entry, cells)
