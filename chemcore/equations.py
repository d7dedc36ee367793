"""The equilibrium equations of a set of anion families, ready to be iterated.

:mod:`chemcore.equation_text` writes them as straight-line Python from the species table, so that a
pass takes a few microseconds for a single cell; the same text serves arrays. The text is kept where
:mod:`linecache` finds it: a debugger steps through it and a traceback shows its lines.
``tests/chemcore/test_speciation.py`` compares it with a plain loop over the table.
"""

from __future__ import annotations

import linecache
from collections.abc import Callable
from functools import cache
from typing import Any

from chemcore.equation_text import text_at_ph, text_for_ph, text_saturated


class Equations:
    """The equations of some families.

    Attributes
    ----------
    families
        The anion families, the free one among them.
    fixed
        Those whose totals ``prepare`` takes, in its order.
    source
        The text.
    prepare
        The function that the text defines; what it returns is said in
        :mod:`chemcore.equation_text`.
    """

    def __init__(self, families: tuple[str, ...], free: str | None, source: str, name: str) -> None:
        self.families = families
        self.fixed = tuple(f for f in families if f != free)
        self.source = source
        file = f"<equations {name}>"
        linecache.cache[file] = (len(source), None, source.splitlines(keepends=True), file)
        namespace: dict[str, Callable[..., Any]] = {}
        exec(compile(source, file, "exec"), namespace)  # our own text
        self.prepare = namespace["prepare"]


def _name(families: tuple[str, ...], free: str | None, vented: bool) -> str:
    return f"{'+'.join(families)}{f', free {free}' if free else ''}{', vented' if vented else ''}"


@cache
def equations(families: tuple[str, ...], free: str | None, vented: bool = False) -> Equations:
    """Equations at a fixed pH for these families.

    Parameters
    ----------
    families
        Anion families, such as ``("CO3", "SO4")``.
    free
        The family whose total follows from the balance of charge; it need not be among
        ``families``.
    vented
        Whether carbon dioxide is lost to the air.

    Returns
    -------
    Equations
        Compiled, and kept for the next that asks.
    """
    families = tuple(dict.fromkeys([*families, *([free] if free else [])]))
    return Equations(
        families, free, text_at_ph(families, free, vented), _name(families, free, vented)
    )


@cache
def equations_for_ph(families: tuple[str, ...], vented: bool = False) -> Equations:
    """Equations for these families, all totals known, the pH sought.

    Parameters
    ----------
    families
        Anion families, such as ``("CO3", "SO4")``.
    vented
        Whether carbon dioxide is lost to the air.

    Returns
    -------
    Equations
        Compiled, and kept for the next that asks.
    """
    return Equations(
        families, None, text_for_ph(families, vented), f"for pH, {_name(families, None, vented)}"
    )


@cache
def equations_saturated(families: tuple[str, ...]) -> Equations:
    """Equations at a fixed pH for these families beside a phosphate solid, the calcium sought.

    Parameters
    ----------
    families
        Anion families, "PO4" among them.

    Returns
    -------
    Equations
        Compiled, and kept for the next that asks.
    """
    return Equations(families, None, text_saturated(families), f"saturated, {'+'.join(families)}")
