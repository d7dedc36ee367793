"""How long a fresh interpreter takes to import the functions and to show the command's help, and
peak memory.
"""

import subprocess
import sys
import time

from tests.benchmarks.timing import median

ROUNDS = 7

_IMPORT = (
    "import time; t = time.perf_counter(); import udfs, sys; print(time.perf_counter() - t, 'scipy'"
    " in sys.modules)"
)
_PEAK = (
    "print(*(line.split()[1] for line in open('/proc/self/status') if line.startswith('VmHWM')))"
)
_JOBS = {
    "import udfs": "import udfs",
    "a column of 10,000 rows": (
        "import udfs, tests.benchmarks.waters as w; "
        "udfs.call('ACID_DOSE', *w.column_arguments(w.random_waters(10_000)))"
    ),
    "a workbook of 20,000 cells": "from tests.benchmarks.workbook import dose_once; dose_once()",
}


def measure() -> list[tuple[str, str, str]]:
    """Rows of the table: what, measured, aim."""
    imports = [_python("-c", _IMPORT).split() for _ in range(ROUNDS)]
    scipy = any(answer == "True" for _, answer in imports)
    helps = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        _python("-m", "workbook_template.cli", "--help")
        helps.append(time.perf_counter() - start)
    rows = [
        ("import udfs", f"{median(float(took) for took, _ in imports):.2f} s", "below 0.3"),
        ("    scipy imported with it", "yes" if scipy else "no", "no"),
        ("spargesheet --help, whole process", f"{median(helps):.2f} s", "below 0.3"),
    ]
    if sys.platform == "linux":  # elsewhere there is no such file to read it from
        for name, job in _JOBS.items():
            rows.append(
                (
                    f"peak memory, {name}",
                    f"{int(_python('-c', f'{job}; {_PEAK}')) / 1024:.0f} MB",
                    "",
                )
            )
    return rows


def _python(*arguments: str) -> str:
    return subprocess.run(
        [sys.executable, *arguments], check=True, capture_output=True, text=True
    ).stdout
