"""The workbook of usual sizes and settings with the example, as it comes with the package."""

from __future__ import annotations

import shutil
from pathlib import Path

from workbook_template.template.sizes import Sizes, Starting

TEMPLATE = Path(__file__).parents[1] / "batch-plan.xlsx"


def copied(path: Path | str, sizes: Sizes, starting: Starting, example: bool) -> bool:
    """Copy it to ``path`` where it is what was asked for; whether it was."""
    if not example or (sizes, starting) != (Sizes(), Starting()) or not TEMPLATE.exists():
        return False
    shutil.copyfile(TEMPLATE, path)
    return True
