"""Ctrl+C, SIGTERM and SIGHUP as an exception, so that a command clears away what it made before it
ends.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

_HOW = {"SIGINT": "Ctrl+C", "SIGTERM": "another program", "SIGHUP": "its terminal closing"}


class Stopped(BaseException):
    """A command was stopped from outside; like KeyboardInterrupt it is no error that a command may
    catch.

    Parameters
    ----------
    number
        Of the signal.
    """

    def __init__(self, number: int):
        name = signal.Signals(number).name
        super().__init__(
            f"stopped by {_HOW.get(name, name)}; each file is as it was, or whole and new"
        )
        #: What a shell shows for a program that this signal ended.
        self.code = 128 + number


@contextmanager
def stoppable() -> Iterator[None]:
    """Raise :class:`Stopped` inside for the first such signal, and let none of them disturb the
    clearing away after it.
    """
    numbers = [getattr(signal, name) for name in _HOW if hasattr(signal, name)]
    if threading.current_thread() is not threading.main_thread():  # only that one gets signals
        yield
        return
    before: dict[int, Any] = {}

    def stop(number, frame):
        for other in before:
            signal.signal(other, signal.SIG_IGN)
        raise Stopped(number)

    try:
        for number in numbers:
            if signal.getsignal(number) not in (signal.SIG_IGN, None):  # nohup
                before[number] = signal.signal(number, stop)
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
