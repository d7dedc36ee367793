"""Work on a whole book without the search for objects that refer to each other in a circle."""

from __future__ import annotations

import functools
import gc
from collections.abc import Callable
from typing import ParamSpec, TypeVar

P = ParamSpec("P")
T = TypeVar("T")


def uncollected(work: Callable[P, T]) -> Callable[P, T]:
    """The function without the search meanwhile.

    A long sheet becomes millions of objects that all stay until the work is done; going through
    them again and again, as they grow more, took a third of its time.
    """

    @functools.wraps(work)
    def run(*args: P.args, **kwargs: P.kwargs) -> T:
        was = gc.isenabled()
        gc.disable()
        try:
            return work(*args, **kwargs)
        finally:
            if was:
                gc.enable()

    return run
