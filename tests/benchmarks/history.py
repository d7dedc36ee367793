"""Earlier measurements, one line of JSON a run, and what has become slower since."""

import json
import re
from datetime import date
from pathlib import Path

FILE = Path(__file__).with_name("history.jsonl")
#: Where a figure has no spread beside it, so much of it counts as noise.
NOISE = 0.15
_FIGURE = re.compile(r"^([\d.e+-]+) (.*?)(?: \(([\d.e+-]+) to ([\d.e+-]+)\))?$")


def save(about: dict[str, str], rows: dict[str, str]) -> None:
    """Append a run."""
    with FILE.open("a", encoding="utf-8") as file:
        line = {"date": date.today().isoformat(), **about, "rows": rows}
        file.write(json.dumps(line, ensure_ascii=False) + "\n")


def slower(rows: dict[str, str], file: Path = FILE) -> list[str]:
    """Sentences about the rows that are slower than in the last saved run by more than the spread
    of both.
    """
    if not file.exists():
        return ["nothing to compare with: make bench SAVE=1 writes the first line of history.jsonl"]
    last = json.loads(file.read_text(encoding="utf-8").splitlines()[-1])
    found, compared = [], 0
    for what, measured in rows.items():
        now, before = _figures(measured), _figures(last["rows"].get(what, ""))
        if now is None or before is None or now[0] != before[0]:
            continue
        compared += 1
        more_is_better = now[0].endswith("faster")
        worse = now[3] < before[2] if more_is_better else now[2] > before[3]
        if worse:
            found.append(f"slower: {what}: {before[1]:g} to {now[1]:g} {now[0]}")
    return found or [
        f"nothing slower than on {last['date']} by more than the noise ({compared} rows)"
    ]


def _figures(measured: str) -> tuple[str, float, float, float] | None:
    """Unit, median, smallest and largest of a measured figure; None where it is none."""
    match = _FIGURE.match(measured)
    if match is None:
        return None
    middle = float(match[1])
    low = float(match[3] or middle * (1.0 - NOISE))
    high = float(match[4] or middle * (1.0 + NOISE))
    return match[2], middle, low, high
