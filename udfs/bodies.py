"""What is put around the body of a function of the catalogue."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any

from chemcore.acids import checked_strength, is_powder
from chemcore.errors import DomainError

#: What one body has worked out and still holds for the other functions that take a part of it.
KEPT = 1024


def no_powder(body: Callable[..., Any], names: tuple[str, ...], instead: str) -> Callable[..., Any]:
    """The body of a function that works in mL, which refuses a powder.

    Parameters
    ----------
    body
        Takes its arguments in the order of ``names``, with ``acid`` and ``strength`` among them.
    names
        Names of its arguments.
    instead
        What to do with a powder, for the end of the sentence.

    Raises
    ------
    DomainError
        From the new body: for a single strength at which the acid is a powder. In a column such a
        row has no density and comes out as NaN.
    """
    acid_at, strength_at = names.index("acid"), names.index("strength")

    def checked(*values: Any) -> Any:
        acid, strength = values[acid_at], values[strength_at]
        if isinstance(strength, (float, type(None))):
            value = checked_strength(acid, strength)
            if is_powder(acid, value):
                raise DomainError(
                    "acid",
                    f"{acid.name} acid of {value:g} % is a powder, which is weighed; {instead}",
                )
        return body(*values)

    return checked


def once(body: Callable[..., Any]) -> Callable[..., Any]:
    """The body, which works out single values once and hands them to the next that asks for the
    same.
    """
    kept = lru_cache(maxsize=KEPT)(body)

    def answer(*values: Any) -> Any:
        try:
            hash(values)
        except TypeError:  # a column
            return body(*values)
        return kept(*values)

    return answer
