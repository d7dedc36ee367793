"""An acid that is nothing but rows of the tables works in every function that takes one."""

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import chemcore
import udfs
from tests.udfs.samples import samples
from udfs import CATALOGUE, call

#: An invented acid: two protons, pK 3 and 5, of 50 % in water, which brings an anion that is tasted
#: from 120 mg/L.
ROWS = {
    "acids": (
        "invented,Invented acid,C2H2X,invented"
        " acid,100.0,2,Invent,inventate,C2X,98.0,liquid,50,1,60,,,-1,of nothing,invented for a"
        " test,120,Invented for a test.,invented for a test,\n"
    ),
    "species": "".join(
        f"{name},Invent,{metal},{h},{charge},{parent},{log_k},0,,,,,,,,,invented for a test,\n"
        for name, metal, h, charge, parent, log_k in (
            ("Invent-2", "", 0, -2, "", 0),
            ("HInvent-", "", 1, -1, "Invent-2", 5.0),
            ("H2Invent", "", 2, 0, "HInvent-", 3.0),
            ("CaInvent", "Ca", 0, 0, "Invent-2", 2.0),
        )
    ),
    "density": "".join(
        f"invented,{strength},{density},table,invented for a test,\n"
        for strength, density in ((0, 0.99821), (20, 1.07), (40, 1.15), (60, 1.24))
    ),
    "hazards": "invented,0,100,none,none,not classified,invented for a test\n",
}

PROGRAM = """
import json, sys
from chemcore.acids import find_acid
from udfs import call
from workbook_template.template import anions
print(json.dumps({
    "answers": [call(name, *cells) for name, cells in json.load(sys.stdin)],
    "anions": anions.ANIONS,
    "tasted": {anion: acid.tasted_from for anion, acid in anions.TASTED.items()},
    "phosphate": str(anions.brings_phosphate(anions.part("A1"))),
    "less": anions.less_of("inventate"),
}))
"""


@pytest.fixture(scope="module")
def with_rows(tmp_path_factory):
    """What the program answers where the tables have the rows of the invented acid."""
    home = tmp_path_factory.mktemp("rows")
    for package in ("chemcore", "udfs", "workbook_template"):
        shutil.copytree(Path(udfs.__file__).parents[1] / package, home / package)
    assert (home / "chemcore" / "data").is_dir() and chemcore.__version__
    for table, rows in ROWS.items():
        with (home / "chemcore" / "data" / f"{table}.csv").open("a", encoding="utf-8") as file:
            file.write(rows)

    def run(questions):
        ran = subprocess.run(
            [sys.executable, "-c", PROGRAM],
            cwd=home,
            input=json.dumps(questions),
            capture_output=True,
            text=True,
        )
        assert ran.returncode == 0, ran.stderr
        return json.loads(ran.stdout)

    return run


def _questions(acid: str, strength: float) -> list:
    """Functions that take one acid in a cell, but EFFECTIVE_*, CO2_LOST_* and TITRATION_DOSE*."""
    asked = []
    for entry in CATALOGUE.values():
        names = [argument.name for argument in entry.arguments]
        if "acid" not in names or entry.name.startswith(
            ("EFFECTIVE_", "CO2_LOST_", "TITRATION_DOSE")
        ):
            continue
        cells = list(samples(entry)[0])
        cells += [None] * (len(names) - len(cells))
        cells[names.index("acid")] = acid
        if "strength" in names:
            cells[names.index("strength")] = strength
        if "dose_ml" in names or "dose_so_far_ml" in names:
            place = names.index("dose_ml" if "dose_ml" in names else "dose_so_far_ml")
            cells[place] = 60.0
        if entry.name in ("ALKALINITY_FROM_DOSE", "ACID_TOP_UP"):
            cells[names.index("dose_ml" if "dose_ml" in names else "dose_so_far_ml")] = 200.0
        asked.append((entry.name, cells))
    return asked


@pytest.mark.parametrize("acid, strength", [("malic", 40.0)])
def test_malic_acid_works_but_for_readings_and_titrations(acid, strength):
    asked = _questions(acid, strength)
    assert len(asked) > 20
    for name, cells in asked:
        answer = call(name, *cells)
        assert not str(answer).startswith("Check"), (name, answer)


def test_an_invented_acid_works_but_for_readings_and_titrations(with_rows):
    asked = _questions("invented", 50.0)
    found = with_rows(asked)
    for (name, _), answer in zip(asked, found["answers"]):
        assert not str(answer).startswith("Check"), (name, answer)
    assert found["anions"][-1] == "inventate"
    assert found["tasted"]["inventate"] == 120.0
    assert "invented" in found["less"] and "invented" not in found["phosphate"]


def test_a_dose_of_the_invented_acid_by_hand(with_rows):
    """At pH 4.0 a diprotic acid of pK 3 and 5 has given off 1 + 0.1 - 0.1 hydrogen ions a molecule
    at no ionic strength.
    """
    moles = 1000.0 * 1.15 * 0.40 / 100.0
    (answer,) = with_rows([("ACID_EQUIVALENTS", ["invented", 40.0, 4.0])])["answers"]
    assert answer == pytest.approx(moles, rel=0.03)
