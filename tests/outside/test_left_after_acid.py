"""What takes up acid in a dosed liquor, bicarbonate and the acid's anion apart, against USGS
PHREEQC 3.8.6.

PHREEQC doses the water, and titrates it on to pH 4.5 with hydrochloric acid; its own species are
counted at both ends.
"""

from __future__ import annotations

import pytest

from chemcore.acids import find_acid, volume_of_moles
from chemcore.species import all_species
from chemcore.units import report_density
from chemcore.water import Ions, alkalinity_per_litre, per_litre
from tests.outside import phreeqc_runs
from tests.outside.record import call, near
from tests.outside.waters import Case, random_cases

LITRES = 1000.0
#: A town water, invented, to pH 5.7: that of the template's first batch.
TOWN = Case(168.0, 7.5, 5.7, Ions(72.0, 9.0, 18.0, 31.0, 48.0), 20.0)
STRENGTH = {"phosphoric": 75.0, "lactic": 80.0, "hydrochloric": 31.0, "acetic": 80.0}
BICARBONATES = ("HCO3-", "CaHCO3+", "MgHCO3+", "NaHCO3")


def _phreeqc(case: Case, acid: str, moles: float):
    """Bicarbonate, the anion's hydrogen, and hydrochloric acid used to pH 4.5, mol/kg: dosed, and
    on at pH 4.5.
    """
    one = phreeqc_runs.engine_at(case.temp_c)
    held = [s for s in all_species() if s.family == find_acid(acid).family and s.h]
    punch = [
        " + ".join(f'MOL("{name}")' for name in BICARBONATES),
        " + ".join(
            f'{s.h} * MOL("{s.name}")' + (f' + {s.h} * MOL("NaH2PO4")' if s.h == 2 else "")
            for s in held
        )
        or "0",
    ]
    dosed = (
        phreeqc_runs.solution(case.alkalinity, case.ph, case.ions, case.temp_c)
        + f"\nREACTION 1\n{phreeqc_runs.FORMULA[acid]} 1\n{moles!r} moles"
    )
    end = "\nSAVE solution 1\nEND\nUSE solution 1\nEQUILIBRIUM_PHASES 1\nFix_H+ -4.5 HCl 1.0"
    bicarbonate, protons = phreeqc_runs.run(one, dosed, ", ".join(punch))
    _, protons_at_end, left = phreeqc_runs.run(
        one, dosed + end, ", ".join([*punch, 'EQUI("Fix_H+")'])
    )
    return bicarbonate, protons_at_end - protons, 1.0 - left


def _moles(case: Case, acid: str) -> float:
    return phreeqc_runs.dose_to_ph(
        case.alkalinity, case.ph, case.target_ph, acid, case.ions, case.temp_c
    )


def _arguments(case: Case, acid: str, moles: float) -> tuple:
    strength = STRENGTH[acid]
    ml = volume_of_moles(moles * LITRES * report_density(), find_acid(acid), strength)
    ions = (tuple(case.ions),)
    return (case.alkalinity, case.ph, ml, LITRES, acid, strength, ions, case.temp_c)


@pytest.mark.parametrize("acid", STRENGTH)
def test_bicarbonate_and_the_anions_share_of_the_alkalinity(acid):
    """The anion within 2 %: below 25 °C phreeqc.dat keeps its own pK2 here, up to 0.02 above that
    of the NIST buffers.
    """
    for case in [*random_cases(40, seed=41), TOWN]:
        moles = _moles(case, acid)
        bicarbonate, anion, _ = _phreeqc(case, acid, moles)
        arguments = _arguments(case, acid, moles)
        found = call("BICARBONATE_AFTER_ACID", *arguments)
        assert found == near(per_litre(bicarbonate, 61.016), rel=0.01, abs=0.05)
        found = call("ANION_ALKALINITY_AFTER_ACID", *arguments)
        assert found == near(alkalinity_per_litre(anion), rel=0.02, abs=0.05)


@pytest.mark.parametrize("acid", STRENGTH)
def test_titrated_alkalinity_of_an_organic_acid_too(acid):
    """Hydrochloric acid to pH 4.5 that the dosed water takes less than the source water."""
    for case in [*random_cases(20, seed=42), TOWN]:
        moles = _moles(case, acid)
        _, _, dosed = _phreeqc(case, acid, moles)
        _, _, source = _phreeqc(case, acid, 0.0)
        found = call("ALKALINITY_AFTER_ACID", *_arguments(case, acid, moles))
        wanted = case.alkalinity - alkalinity_per_litre(source - dosed)
        assert found == near(wanted, abs=0.005 * case.alkalinity)


def test_phosphoric_against_lactic_acid_by_phreeqc():
    """Town water to pH 5.7: titrated 40 and 54 mg/L left, yet the same bicarbonate; the anions make
    the difference.
    """
    found = {}
    for acid in ("phosphoric", "lactic", "hydrochloric"):
        moles = _moles(TOWN, acid)
        bicarbonate, anion, dosed = _phreeqc(TOWN, acid, moles)
        _, _, source = _phreeqc(TOWN, acid, 0.0)
        left = TOWN.alkalinity - alkalinity_per_litre(source - dosed)
        found[acid] = (left, per_litre(bicarbonate, 61.016), anion / moles, moles)
    titrated, bicarbonate, per_mole, moles = (
        {acid: values[i] for acid, values in found.items()} for i in range(4)
    )
    assert titrated["phosphoric"] == near(40.2, abs=0.2)
    assert titrated["lactic"] == near(54.4, abs=0.2)
    assert titrated["hydrochloric"] == near(33.2, abs=0.2)
    for acid in found:
        assert bicarbonate[acid] == near(40.6, abs=0.3)
    assert per_mole["phosphoric"] == near(0.055, abs=0.003)
    assert per_mole["lactic"] == near(0.155, abs=0.003)
    # a mole of phosphoric acid gives off 1.04 equivalents by pH 5.7, of lactic 0.99: so fewer moles
    # of it
    assert moles["lactic"] / moles["phosphoric"] == near(1.065, abs=0.01)


def test_other_constant_of_calcium_lactate():
    """log K 1.69 and 31 kJ/mol (Vavrusova, Liang & Skibsted 2014, abstract) in place of 1.42: what
    it would change.
    """
    case = Case(300.0, 7.5, 5.7, Ions(140.0, 20.0, 30.0, 80.0, 200.0), 20.0)
    one = phreeqc_runs.engine(False)
    members = {s.name: s for s in all_species()}
    ours = " ".join(repr(c) for c in members["CaLactate+"].coefficients)
    reaction = "SOLUTION_SPECIES\nCa+2 + Lactate- = CaLactate+\n"
    doses, left = [], []
    try:
        for line in (f" -analytic {ours}", " log_k 1.69\n delta_h 31 kJ\n -analytic 0 0 0 0 0 0"):
            assert one.RunString(f"{reaction}{line}\nEND") == 0, one.GetErrorString()
            moles = _moles(case, "lactic")
            doses.append(moles)
            left.append(_phreeqc(case, "lactic", moles)[2] - _phreeqc(case, "lactic", 0.0)[2])
    finally:
        assert one.RunString(f"{reaction} -analytic {ours}\nEND") == 0, one.GetErrorString()
    assert doses[1] / doses[0] - 1.0 == near(-0.0001, abs=0.0001)
    assert alkalinity_per_litre(left[1] - left[0]) == near(-0.6, abs=0.1)
