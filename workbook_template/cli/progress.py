"""How far work is that takes over two seconds: a bar on a terminal, nothing where output is piped
or unwanted.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.progress import Progress, TaskID

#: Seconds of work before a bar shows.
PATIENCE = 2.0


class _Shown:
    """What the command that runs shows; one command runs at a time."""

    quiet = False
    bar: Progress | None = None


def begin(quiet: bool) -> None:
    """A command begins; with ``quiet`` nothing is shown."""
    _Shown.quiet = quiet


def end() -> None:
    """A command has ended, however: take its bar away."""
    if _Shown.bar is not None:
        _Shown.bar.stop()
    _Shown.bar, _Shown.quiet = None, False


def progress() -> Callable[[int, int], None] | None:
    """What hears how many of how many formulas are worked out; nothing where nobody would see
    it.
    """
    if _Shown.quiet or not sys.stderr.isatty():
        return None
    begun = time.monotonic()
    task: TaskID | None = None

    def show(done: int, total: int) -> None:
        nonlocal task
        if _Shown.bar is None:
            if time.monotonic() - begun < PATIENCE or done >= total:
                return
            _Shown.bar = _bar()
            task = None
        if task is None:
            task = _Shown.bar.add_task("formulas", total=total)
        _Shown.bar.update(task, completed=done, total=total)
        if done >= total:
            _Shown.bar.stop()
            _Shown.bar = None

    return show


def _bar() -> Progress:
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn

    bar = Progress(
        BarColumn(),
        MofNCompleteColumn(),
        "formulas",
        TimeRemainingColumn(),
        console=Console(stderr=True),
        transient=True,
    )
    bar.start()
    return bar
