"""The pictures of EVIDENCE.md, and the figures that they are drawn from.

Each picture has its figures beside it as a CSV, whose digest stands in the picture.
"""

from __future__ import annotations

import csv
import hashlib
import io
import math
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from chemcore.acids import acid_names, find_acid, volume_of_moles
from chemcore.dosing import dose_volume, ph_after
from chemcore.solids import LEAST, MOST, VALUE, find_solid, solid_names, solubility_product
from chemcore.speciation import Totals, solve_for_ph
from chemcore.tables import constant
from chemcore.units import report_density
from chemcore.water import Ions
from tests.outside import phreeqc_runs
from tests.outside.tables import published
from tests.outside.waters import Case, corner_cases, random_cases

FOLDER = Path(__file__).parent / "pictures"
#: A town water, invented: that of the template's first batch.
TOWN = Case(168.0, 7.5, 5.7, Ions(72.0, 9.0, 18.0, 31.0, 48.0), 20.0)
#: Strength of each acid in the pictures; powders as a solution.
STRENGTH = {
    "phosphoric": 75.0,
    "lactic": 80.0,
    "hydrochloric": 31.0,
    "sulfuric": 93.0,
    "citric": 50.0,
    "acetic": 80.0,
    "malic": 40.0,
}
#: Alkali metal and anion of the buffers, mol/kg, with the composition of the source
#: (nist_buffers.csv).
BUFFERS = {
    "phosphate 1:1": (0.075, {"PO4": 0.05}),
    "phosphate 1:3.5": (0.069555, {"PO4": 0.039125}),
    "carbonate": (0.075, {"CO3": 0.05}),
    "citrate": (0.05, {"Citrate": 0.05}),
}

Rows = list[tuple]


class Drawing(NamedTuple):
    """A picture: its file, words, columns of figures, and how to make the figures and draw them."""

    name: str
    title: str
    words: str
    columns: tuple[str, ...]
    figures: Callable[[], Rows]
    draw: Callable[[object, Rows], None]


def _per_hectolitre(acid: str, moles_per_kg: float) -> float:
    return volume_of_moles(moles_per_kg * 100.0 * report_density(), find_acid(acid), STRENGTH[acid])


def _doses() -> Rows:
    """mL for 100 L by PHREEQC and ours, over random waters and the corners of what breweries meet,
    pH 4.5 to 7.
    """
    found = []
    for acid in acid_names():
        for i, case in enumerate([*random_cases(60, seed=51), *corner_cases()]):
            target = min(4.5 + 2.5 * (i % 10) / 9.0, case.ph - 0.1)
            moles = phreeqc_runs.dose_to_ph(
                case.alkalinity, case.ph, target, acid, case.ions, case.temp_c
            )
            ours = dose_volume(
                case.alkalinity,
                case.ph,
                target,
                100.0,
                find_acid(acid),
                STRENGTH[acid],
                case.ions,
                case.temp_c,
            )
            found.append((acid, _per_hectolitre(acid, moles), ours))
    return found


def _draw_doses(figure, rows: Rows) -> None:
    axes = figure.add_subplot()
    for acid in STRENGTH:
        mine = [row for row in rows if row[0] == acid]
        axes.plot(
            [row[1] for row in mine],
            [100.0 * (row[2] / row[1] - 1.0) for row in mine],
            "o",
            markersize=3,
            label=acid,
        )
    axes.set(
        xscale="log",
        xlabel="dose by PHREEQC, mL of acid as bought for 100 L",
        ylabel="ours less PHREEQC's, %",
        ylim=(-1.0, 1.0),
    )
    axes.axhline(0.0, color="black", linewidth=0.6)
    axes.legend(ncols=3, fontsize=8)


def _curves() -> Rows:
    """pH of the town water by dose: ours, closed and with all excess gas gone, and PHREEQC's."""
    air, found = constant("air_carbon_dioxide"), []
    for acid in ("phosphoric", "lactic", "hydrochloric"):
        for tank, lost in (("closed", 0.0), ("open", 1.0)):
            for i in range(1, 25):
                moles = i * 1.9e-4
                ml = volume_of_moles(
                    moles * 1000.0 * report_density(), find_acid(acid), STRENGTH[acid]
                )
                ours = ph_after(
                    TOWN.alkalinity,
                    TOWN.ph,
                    ml,
                    1000.0,
                    find_acid(acid),
                    STRENGTH[acid],
                    TOWN.ions,
                    20.0,
                    lost,
                )
                found.append(
                    (acid, tank, 1000.0 * moles, ours, _phreeqc_ph(acid, moles, lost, air))
                )
    return found


def _phreeqc_ph(acid: str, moles: float, lost: float, air: float) -> float:
    script = (
        phreeqc_runs.solution(TOWN.alkalinity, TOWN.ph, TOWN.ions, 20.0)
        + f"\nREACTION 1\n{phreeqc_runs.FORMULA[acid]} 1\n{moles!r} moles"
    )
    if lost:
        script += f"\nEQUILIBRIUM_PHASES 1\nCO2(g) {math.log10(air)!r} 0"
    return phreeqc_runs.run(phreeqc_runs.engine(False), script, '-LA("H+")')[0]


def _draw_curves(figure, rows: Rows) -> None:
    axes = figure.add_subplot()
    for acid, color in zip(("phosphoric", "lactic", "hydrochloric"), ("C0", "C1", "C2")):
        for tank, line in (("closed", "-"), ("open", "--")):
            mine = [row for row in rows if row[:2] == (acid, tank)]
            dose = [row[2] for row in mine]
            axes.plot(dose, [row[3] for row in mine], line, color=color, label=f"{acid}, {tank}")
            axes.plot(dose, [row[4] for row in mine], "o", color=color, markersize=3)
    axes.set(xlabel="acid, mmol for a kg of water", ylabel="pH, cooled sample")
    axes.legend(fontsize=8, title="lines ours, points PHREEQC")


def _products() -> Rows:
    """log K of the phosphates by temperature with both ends of its spread, and what is
    published.
    """
    found = []
    for name in solid_names():
        solid = find_solid(name)
        if not solid.phosphate:
            continue
        for temp in range(0, 96, 5):
            ends = (
                solubility_product(solid._replace(end=end), float(temp))
                for end in (LEAST, VALUE, MOST)
            )
            found.append((name, "ours", float(temp), *ends))
    for row in published("log_k_of_solids"):
        value = float(row["log_k"])
        found.append((row["solid"], row["kind"], float(row["temp_c"]), value, value, value))
    return found


def _draw_products(figure, rows: Rows) -> None:
    names = list(dict.fromkeys(row[0] for row in rows))
    marks = {
        "paper": ("o", "measured"),
        "other": ("x", "other papers, databases"),
        "left out": ("+", "left out on purpose"),
    }
    for axes, name in zip(figure.subplots(2, 2, sharex=True).flat, names):
        ours = [row for row in rows if row[:2] == (name, "ours")]
        temps = [row[2] for row in ours]
        axes.fill_between(temps, [r[3] for r in ours], [r[5] for r in ours], alpha=0.25)
        axes.plot(temps, [row[4] for row in ours])
        for kind, (mark, label) in marks.items():
            mine = [row for row in rows if row[:2] == (name, kind)]
            axes.plot(
                [r[2] for r in mine],
                [r[4] for r in mine],
                mark,
                color="black",
                markersize=4,
                label=label,
            )
        axes.axvspan(find_solid(name).t_max_c, 95.0, color="grey", alpha=0.1)
        axes.set_title(name, fontsize=9)
        axes.tick_params(labelsize=8)
    figure.axes[0].legend(fontsize=7)
    figure.supxlabel("°C (grey: not measured, extrapolated)", fontsize=9)
    figure.supylabel("log K", fontsize=9)


def _buffers() -> Rows:
    """pH of the NIST buffers: printed, and solved."""
    found = []
    for row in published("nist_buffers"):
        alkali, anions = BUFFERS[row["buffer"]]
        temp = float(row["temp_c"])
        ours = solve_for_ph(temp, Totals(0.0, 0.0, alkali, anions, alkali))
        found.append((row["buffer"], temp, float(row["ph"]), ours))
    return found


def _draw_buffers(figure, rows: Rows) -> None:
    axes = figure.add_subplot()
    for buffer in BUFFERS:
        mine = [row for row in rows if row[0] == buffer]
        axes.plot(
            [r[1] for r in mine], [r[3] - r[2] for r in mine], "o-", markersize=3, label=buffer
        )
    axes.axhspan(-0.01, 0.01, color="grey", alpha=0.2)
    axes.axhline(0.0, color="black", linewidth=0.6)
    axes.set(xlabel="°C", ylabel="pH solved less pH(S) of NIST")
    axes.legend(fontsize=8)


DRAWINGS = (
    Drawing(
        "dose",
        "Doses against PHREEQC",
        "76 waters, alkalinity 5 to 500 mg/L, 5 to 80 °C, to pH 4.5 to 7, seven acids: `ACID_DOSE`"
        " less the dose by PHREEQC. Phosphoric acid at 25 °C and below meets the second constant"
        " that phreeqc.dat has of its own.",
        ("acid", "phreeqc_ml_per_hl", "ours_ml_per_hl"),
        _doses,
        _draw_doses,
    ),
    Drawing(
        "curve",
        "pH against dose",
        "A town water of 168 mg/L alkalinity and pH 7.5: closed, and open to air until nothing more"
        " leaves.",
        ("acid", "tank", "mmol_per_kg", "ours_ph", "phreeqc_ph"),
        _curves,
        _draw_curves,
    ),
    Drawing(
        "solids",
        "Calcium phosphates: constants with their spread",
        "log K by temperature, the spread that `CALCIUM_SAFE_PH_LOW` and `_HIGH` reckon with, the"
        " points of the papers, and what else is published, row by row in"
        " `data/log_k_of_solids.csv`. Octacalcium phosphate near -47 in three databases is left out"
        " on purpose: see `chemcore/data/solids.csv`.",
        ("solid", "kind", "temp_c", "least", "value", "most"),
        _products,
        _draw_products,
    ),
    Drawing(
        "buffers",
        "Buffers of NIST",
        "pH of the standard buffers by temperature; the scale itself rests on a convention good to"
        " 0.01 (grey).",
        ("buffer", "temp_c", "nist_ph", "ours_ph"),
        _buffers,
        _draw_buffers,
    ),
)


def csv_text(drawing: Drawing) -> str:
    """The figures of a picture as CSV, rounded to what is to be seen."""
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(drawing.columns)
    for row in drawing.figures():
        writer.writerow([f"{cell:.5g}" if isinstance(cell, float) else cell for cell in row])
    return file.getvalue()


def read_rows(text: str) -> Rows:
    """Rows of such a CSV, numbers as numbers."""
    _, *rows = csv.reader(io.StringIO(text))
    return [tuple(_number(cell) for cell in row) for row in rows]


def _number(cell: str):
    try:
        return float(cell)
    except ValueError:
        return cell


def digest(text: str) -> str:
    """What a picture carries to say which figures it shows."""
    return hashlib.sha256(text.encode()).hexdigest()


def draw_all() -> None:
    """Writes the figures and draws the pictures from what was written."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    FOLDER.mkdir(exist_ok=True)
    for drawing in DRAWINGS:
        text = csv_text(drawing)
        (FOLDER / f"{drawing.name}.csv").write_text(text, encoding="utf-8")
        figure = Figure(figsize=(7.0, 4.5), dpi=100, layout="constrained")
        FigureCanvasAgg(figure)
        drawing.draw(figure, read_rows(text))
        figure.savefig(
            FOLDER / f"{drawing.name}.png",
            metadata={"Software": "spargesheet", "Figures": digest(text)},
        )
