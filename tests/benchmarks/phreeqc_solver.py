"""The same question put to USGS PHREEQC: phosphoric acid to a fixed pH, by a Fix_H+ phase."""

from phreeqc import Phreeqc

from chemcore.acids import find_acid, volume_of_moles
from chemcore.units import report_density
from tests.benchmarks.waters import LITRES, TEMP_C, Case

_HEAD = """PHASES
Fix_H+
    H+ = H+
    log_k 0
SELECTED_OUTPUT 1
    -reset false
USER_PUNCH 1
    -headings acid
    10 PUNCH EQUI_DELTA("Fix_H+")
END
"""


class Solver:
    """PHREEQC with phreeqc.dat and the waters to solve."""

    def __init__(self, cases: list[Case]):
        self.engine = Phreeqc()
        if self.engine.LoadBuiltInDatabase("phreeqc.dat"):
            raise RuntimeError(self.engine.GetErrorString())
        self._run(_HEAD)
        self.waters = "".join(_water(number, case) for number, case in enumerate(cases, start=1))
        self.doses = "".join(
            f"USE solution {number}\nEQUILIBRIUM_PHASES {number}\n"
            f" Fix_H+ {-case.target_ph!r} H3PO4 10\nEND\n"
            for number, case in enumerate(cases, start=1)
        )

    def speciate(self) -> None:
        """Solve the waters as reported."""
        self._run(self.waters)

    def dose(self) -> None:
        """Solve each water at its target pH."""
        self._run(self.doses)

    def answers(self) -> list[float]:
        """mL of acid found by the last :meth:`dose`."""
        moles = [
            -self.engine.GetSelectedOutputValue(row, 0)
            for row in range(1, self.engine.GetSelectedOutputRowCount())
        ]
        acid = find_acid("phosphoric")
        return [volume_of_moles(one * LITRES * report_density(), acid, 85.0) for one in moles]

    def _run(self, text: str) -> None:
        if self.engine.RunString(text):
            raise RuntimeError(self.engine.GetErrorString())


def _water(number: int, case: Case) -> str:
    ions, per_kg = case.ions, 1.0 / report_density()
    return (
        f"SOLUTION {number}\n units mmol/kgw\n temp {TEMP_C}\n pH {case.ph!r}\n"
        f" Alkalinity {case.alkalinity / 50.0435 * per_kg!r}\n"
        f" Ca {ions.calcium / 40.078 * per_kg!r}\n"
        f" Mg {ions.magnesium / 24.305 * per_kg!r}\n Na {ions.sodium / 22.99 * per_kg!r}\n"
        f" Cl {ions.chloride / 35.45 * per_kg!r}\n S(6) {ions.sulfate / 96.056 * per_kg!r}\nEND\n"
    )
