"""A name in a cell: what it stands for, and the words for what is none."""

from __future__ import annotations

from typing import Any

from chemcore.errors import DomainError
from udfs.arguments import Word
from udfs.numbers import shown

#: Longest text that is looked up as a name.
NAME_LENGTH = 80


def named(name: str, cell: Any, word: Word) -> Any:
    """What a cell names; a DomainError for argument ``name`` where it is no such name."""
    if not isinstance(cell, str):
        raise DomainError(name, f"{shown(cell)} is not a name; {wanted(word)}")
    if len(cell) > NAME_LENGTH:
        raise DomainError(name, f'"{cell[:40]} ..." is not a name; {wanted(word)}')
    try:
        return word.find(cell)
    except DomainError as error:
        raise DomainError(name, error.reason) from None


def wanted(word: Word) -> str:
    """What would be right, for the end of a sentence."""
    return f"type one of {', '.join(word.choices)}" if word.choices else "type its name"
