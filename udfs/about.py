"""Functions: what stands behind the functions."""

from __future__ import annotations

from chemcore.errors import DomainError
from udfs.arguments import FunctionName
from udfs.catalogue import CATALOGUE, function


@function("About")
def function_source(name: FunctionName):
    """Equations and sources behind a function of this add-in, in one line.

    References
    ----------
    The catalogue entry of the function named.
    """
    entry = CATALOGUE.get(name.strip().upper().removesuffix("()"))
    if entry is None:
        raise DomainError("name", f'"{name[:40]}" is not a function of this add-in; take one from the reference sheet')
    return entry.source
