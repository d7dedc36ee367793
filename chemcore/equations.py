"""The equilibrium equations of a set of anion families, ready to be solved at a fixed pH.

For a set of families ("CO3", "SO4" ...) :func:`equations` makes one function, ``solve``. It substitutes: activity
coefficients from the ionic strength; at these, the anions' activities from their totals (one of them, the ``free``
family, from the charge balance instead) and the metals' from theirs, a few turns; then the new ionic strength, until
that has settled. The function is straight-line Python written from the species table, so that a pass takes a few
microseconds for a single cell, and the same text serves arrays. ``tests/chemcore/test_speciation.py`` compares it with
a plain loop over the table.
"""

from __future__ import annotations

from functools import cache

from chemcore.equation_text import solve_text


class Equations:
    """The equations of ``families``, one of which may be ``free`` and need not be named among them.

    ``fixed`` are the families whose totals ``solve`` takes, in its order.
    """

    def __init__(self, families: tuple[str, ...], free: str | None, vented: bool):
        self.families = tuple(dict.fromkeys([*families, *([free] if free else [])]))
        self.fixed = tuple(f for f in self.families if f != free)
        self.source = solve_text(self.families, free, vented)
        namespace: dict = {}
        exec(
            compile(self.source, f"<equations {'+'.join(self.families)}>", "exec"), namespace
        )  # our own text
        self.solve = namespace["solve"]


@cache
def equations(families: tuple[str, ...], free: str | None, vented: bool = False) -> Equations:
    """Equations for these families; ``vented`` adds the loss of carbon dioxide to the air."""
    return Equations(families, free, vented)
