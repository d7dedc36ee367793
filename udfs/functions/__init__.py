"""The catalogue's functions, one subject a module: each module of this folder is found by itself
and adds its own.
"""

from __future__ import annotations

import importlib
import pkgutil


def load() -> None:
    """Import every module of this folder, in the order of the alphabet."""
    for module in pkgutil.iter_modules(__path__):
        importlib.import_module(f"{__name__}.{module.name}")


load()
