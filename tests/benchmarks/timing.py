"""Measuring side by side, and the words for what was measured: a median with the best and the worst
beside it.
"""

import os
import statistics
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

ROUNDS = 9


@contextmanager
def one_core() -> Iterator[None]:
    """Keep this process, and what it starts, on one core, where the system can."""
    if not hasattr(os, "sched_setaffinity"):
        yield
        return
    before = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {min(before)})
    try:
        yield
    finally:
        os.sched_setaffinity(0, before)


def seconds(work: Callable[[], object]) -> float:
    """Processor time of this process, which other work on the machine disturbs least."""
    start = time.process_time()
    work()
    return time.process_time() - start


def side_by_side(*works: Callable[[], object], rounds: int = ROUNDS) -> list[list[float]]:
    """Seconds of each work in every round; all of them run once in each round, after one round
    unmeasured.
    """
    for work in works:
        work()
    return [[seconds(work) for work in works] for _ in range(rounds)]


def median(values) -> float:
    """The middle one."""
    return statistics.median(values)


def figure(values: Sequence[float], unit: str, scale: float = 1.0) -> str:
    """``61.2 µs (58.0 to 70.1)``: median, smallest and largest."""
    several = sorted(value * scale for value in values)
    return f"{median(several):.3g} {unit} ({several[0]:.3g} to {several[-1]:.3g})"
