"""Gnumeric's own reading of a workbook, for tests; where there is none, tests are skipped or fail
as those in Calc do.
"""

import shutil
import subprocess
from pathlib import Path

from tests.calc_office import missing
from tests.workbook_template.travelling import values


def recalculated(data: bytes, folder: Path) -> dict:
    """Values of all cells of a workbook after ``ssconvert --recalc``, by sheet, row and column."""
    if not shutil.which("ssconvert"):
        missing("there is no Gnumeric (ssconvert)")
    before, after = folder / "before.xlsx", folder / "after.xlsx"
    before.write_bytes(data)
    subprocess.run(
        ["ssconvert", "--recalc", before, after], check=True, capture_output=True, timeout=120
    )
    return values(after.read_bytes())
