"""Published values that these checks compare with: the small tables in ``data``, each row with its
source.
"""

from __future__ import annotations

import csv
from pathlib import Path


def published(name: str) -> list[dict[str, str]]:
    """All rows of ``data/<name>.csv``."""
    with (Path(__file__).parent / "data" / f"{name}.csv").open(
        encoding="utf-8", newline=""
    ) as file:
        return list(csv.DictReader(file))
