"""Writes EVIDENCE.md: what each function of the catalogue was checked against, and how far off it
was.

``make evidence`` runs the checks that ``data/evidence.csv`` names, once each, and draws the
pictures of
:mod:`tests.outside.drawings`.
"""

from __future__ import annotations

import sys
from pathlib import Path
from statistics import median

import pytest

from tests.outside.drawings import DRAWINGS, draw_all
from tests.outside.record import DIFFERENCES, Difference
from tests.outside.tables import published
from udfs import CATALOGUE

HERE = Path(__file__).parent
FILE = HERE / "EVIDENCE.md"
#: Below this a difference is rounding of the arithmetic, and said to be none.
NONE = 1e-5
#: Units in which a difference is given as it is; of all other answers in % of what was wanted.
AS_IT_IS = ("pH", "share", "log10", "°P", "mg/L as CaCO3")


def run_checks() -> None:
    """Runs the checks that the table names; what they compare stands in
    :data:`tests.outside.record.DIFFERENCES`.

    Raises
    ------
    SystemExit
        Where a check fails.
    """
    tests = sorted({row["test"] for row in published("evidence")})
    code = pytest.main(
        ["-q", "--no-header", "-p", "no:cacheprovider", *(str(HERE / name) for name in tests)]
    )
    if code:
        raise SystemExit("a check fails: nothing written")


def text() -> str:
    """EVIDENCE.md from what has been compared."""
    lines = [
        "# Evidence",
        "",
        (
            "Written by `make evidence`; `test_evidence_is_current.py` says whether it is current."
            " One check a function, named in"
        ),
        (
            "`data/evidence.csv`; most functions have more in this folder. A check against PHREEQC"
            " compares the solvers, PHREEQC's"
        ),
        (
            "database being given the same constants where `phreeqc_runs.py` says so; the constants"
            " are checked against their papers"
        ),
        (
            "apart. Where nothing outside exists, an independent second computation counts and is"
            " called that. Differences in the"
        ),
        (
            "function's own unit, or in % of what was wanted; *holds* stands for a text or a bound"
            " that was met."
        ),
        "",
        "| function | checked against | data of | cases | median difference | worst difference |",
        "|---|---|---|---:|---:|---:|",
    ]
    for row in published("evidence"):
        name = row["function"]
        cases = DIFFERENCES.get(name, [])
        if not cases:
            raise SystemExit(f"{name}: the check named for it compares nothing that is kept")
        middle, worst = _differences(name, cases)
        lines.append(
            f"| `{name}` | {row['source']} | {row['data_of']} | {len(cases)} | {middle} | {worst} |"
        )
    for drawing in DRAWINGS:
        lines += [
            "",
            f"## {drawing.title}",
            "",
            f"![{drawing.title}](pictures/{drawing.name}.png)",
            "",
            drawing.words,
        ]
    return "\n".join(lines) + "\n"


def _differences(name: str, cases: list[Difference]) -> tuple[str, str]:
    """The median and the worst difference of a function, in words."""
    numbers = [case for case in cases if case.found is not None and case.wanted is not None]
    if not numbers:
        return "holds", "holds"
    unit, one_cell = CATALOGUE[name].unit, CATALOGUE[name].cells == 1
    plain = (one_cell and unit.startswith(AS_IT_IS)) or not all(case.wanted for case in numbers)
    off = [abs(case.found - case.wanted) / (1.0 if plain else abs(case.wanted)) for case in numbers]
    unit = unit.split(",")[0].split(" at ")[0] if plain else "%"
    return tuple(
        _figure(value * (1.0 if plain else 100.0), unit) for value in (median(off), max(off))
    )


def _figure(value: float, unit: str) -> str:
    return "none" if value < NONE else f"{value:.2g} {unit}".rstrip()


def main(other: str | None = None) -> None:
    """``python -m tests.outside.evidence``; with the name of another file, the text alone, into
    that.
    """
    run_checks()
    if other:
        Path(other).write_text(text(), encoding="utf-8")
        return
    FILE.write_text(text(), encoding="utf-8")
    draw_all()
    print(f"{FILE.name} and {len(DRAWINGS)} pictures written")


if __name__ == "__main__":
    main(*sys.argv[1:])
