"""pH of the NIST standard buffers against temperature, solved as a water of their composition.

The phosphate, carbonate and citrate buffers are made of what the model holds. The phthalate, borax,
tartrate and oxalate buffers are not: phthalate, borate, tartrate and oxalate are no species of a
brewing water, so they are not compared. The buffers' potassium counts as sodium: in phreeqc.dat
both pair with HPO4-2 alike (log K 0.29), and the pH moves by less than 0.003 (checked below). The
pH(S) scale itself rests on a convention good to about 0.01.
"""

from __future__ import annotations

import pytest

from chemcore.speciation import Totals, solve_for_ph
from tests.outside import phreeqc_runs
from tests.outside.tables import published

#: Alkali metal and anion, mol/kg, with the composition of the source.
COMPOSITION = {
    "phosphate 1:1": (0.075, {"PO4": 0.05}),
    "phosphate 1:3.5": (0.069555, {"PO4": 0.039125}),
    "carbonate": (0.075, {"CO3": 0.05}),
    "citrate": (0.05, {"Citrate": 0.05}),
}
#: Largest difference. pK2 of phosphate was fitted to the 1:1 buffer with the activity coefficients
#: of single ions, not to its pH outright. Carbonate carries what phreeqc.dat itself is off by:
#: 0.019 at 25 °C, growing with temperature.
WITHIN = {"phosphate 1:1": 0.016, "phosphate 1:3.5": 0.020, "carbonate": 0.038, "citrate": 0.012}


@pytest.mark.parametrize(
    "row", published("nist_buffers"), ids=lambda r: f"{r['buffer']} at {r['temp_c']}"
)
def test_nist_buffer(row):
    alkali, anions = COMPOSITION[row["buffer"]]
    found = solve_for_ph(float(row["temp_c"]), Totals(0.0, 0.0, alkali, anions, alkali))
    assert found == pytest.approx(float(row["ph"]), abs=WITHIN[row["buffer"]])


@pytest.mark.parametrize("temp_c", [5.0, 25.0, 75.0])
@pytest.mark.parametrize(
    "alkali, potassium, phosphate", [(0.075, 0.025, 0.05), (0.069555, 0.008695, 0.039125)]
)
def test_potassium_counted_as_sodium(alkali, potassium, phosphate, temp_c):
    def ph(potassium):
        script = (
            f"SOLUTION 1\n units mol/kgw\n temp {temp_c}\n pH 7 charge\n Na {alkali - potassium}\n"
            f" K {potassium}\n"
            f" P {phosphate}"
        )
        return phreeqc_runs.run(phreeqc_runs.engine(True), script, '-LA("H+")')[0]

    assert ph(potassium) == pytest.approx(ph(0.0), abs=0.003)
    assert solve_for_ph(
        temp_c, Totals(0.0, 0.0, alkali, {"PO4": phosphate}, alkali)
    ) == pytest.approx(ph(0.0), abs=0.002)
