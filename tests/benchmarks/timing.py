"""Measuring side by side on one core."""

import os
import statistics
import time
from collections.abc import Callable

ROUNDS = 9


def one_core() -> None:
    """Keep this process on one core, where the system can."""
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})


def seconds(work: Callable[[], object]) -> float:
    """Processor time of this process, which other work on the machine disturbs least."""
    start = time.process_time()
    work()
    return time.process_time() - start


def side_by_side(*works: Callable[[], object], rounds: int = ROUNDS) -> list[list[float]]:
    """Seconds of each work in every round; all of them run once in each round, after one round unmeasured."""
    for work in works:
        work()
    return [[seconds(work) for work in works] for _ in range(rounds)]


def median(values) -> float:
    return statistics.median(values)
