"""Doses, pH and alkalinity against USGS PHREEQC 3.8.6 (Parkhurst & Appelo 2013), phreeqc.dat, over
336 waters.
"""

from __future__ import annotations

import numpy as np
import pytest

from chemcore.acids import find_acid, volume_of_moles
from chemcore.tables import constant
from chemcore.units import report_density
from chemcore.water import alkalinity_per_kg, alkalinity_per_litre
from tests.outside import phreeqc_runs
from tests.outside.record import call, near
from tests.outside.waters import Case, corner_cases, random_cases

LITRES = 1000.0
#: Strength of each acid in the checks; powders as a solution, because they have no volume.
STRENGTH = {
    "phosphoric": 85.0,
    "hydrochloric": 31.0,
    "sulfuric": 93.0,
    "lactic": 88.0,
    "acetic": 80.0,
    "citric": 50.0,
    "malic": 40.0,
}
#: Median, 95th percentile and worst error in % of a dose asked without ions, as in the docstring of
#: ACID_DOSE.
WITHOUT_IONS = {
    "phosphoric": (1.6, 8.1, 14.4),
    "hydrochloric": (0.7, 2.4, 4.0),
    "sulfuric": (0.6, 2.3, 3.9),
    "lactic": (0.8, 2.5, 4.1),
    "acetic": (1.2, 3.1, 4.7),
    "citric": (3.7, 14.1, 23.1),
    "malic": (1.9, 5.2, 8.1),
}
RANDOM, CORNERS = random_cases(320), corner_cases()


def _ml(acid: str, moles_per_kg: float) -> float:
    return volume_of_moles(
        moles_per_kg * LITRES * report_density(), find_acid(acid), STRENGTH[acid]
    )


def _given(case: Case, acid: str, ions: bool = True, co2_lost: float = 0.0) -> tuple:
    return (
        case.alkalinity,
        case.ph,
        case.target_ph,
        LITRES,
        acid,
        STRENGTH[acid],
        (tuple(case.ions),) if ions else None,
        case.temp_c,
        co2_lost,
    )


def _dose(case: Case, acid: str, ions: bool = True, co2_lost: float = 0.0) -> float:
    return call("ACID_DOSE", *_given(case, acid, ions, co2_lost))


@pytest.mark.parametrize("acid", STRENGTH)
def test_dose_to_a_ph(acid):
    off = []
    for case in RANDOM + CORNERS:
        wanted = _ml(
            acid,
            phreeqc_runs.dose_to_ph(
                case.alkalinity, case.ph, case.target_ph, acid, case.ions, case.temp_c
            ),
        )
        found = call("ACID_DOSE", *_given(case, acid))
        assert found == near(wanted, rel=0.01)
        off.append(abs(found / wanted - 1.0))
    assert np.percentile(off, 99) < 0.005
    assert max(off) < 0.01


@pytest.mark.parametrize("acid", STRENGTH)
def test_dose_in_a_tank_open_to_air(acid):
    """``co2_lost`` 1 against carbon dioxide leaving down to the same pressure of the air."""
    air = constant("air_carbon_dioxide")
    off = []
    for case in RANDOM[:60] + CORNERS:
        wanted = phreeqc_runs.dose_to_ph(
            case.alkalinity, case.ph, case.target_ph, acid, case.ions, case.temp_c, air
        )
        off.append(abs(_dose(case, acid, co2_lost=1.0) / _ml(acid, wanted) - 1.0))
    assert max(off) < 0.005


@pytest.mark.parametrize("acid", STRENGTH)
def test_ph_after_a_dose(acid):
    """Doses from 0.3 to 1.1 of the alkalinity's equivalents."""
    share = {"sulfuric": 0.5, "citric": 0.4, "malic": 0.6}.get(acid, 1.0)
    cases = RANDOM[:100] + CORNERS
    for i, case in enumerate(cases):
        moles = (0.3 + 0.8 * i / len(cases)) * share * alkalinity_per_kg(case.alkalinity)
        wanted, _ = phreeqc_runs.after_dose(
            case.alkalinity, case.ph, moles, acid, case.ions, case.temp_c
        )
        ph = call(
            "PH_AFTER_ACID",
            case.alkalinity,
            case.ph,
            _ml(acid, moles),
            LITRES,
            acid,
            STRENGTH[acid],
            (tuple(case.ions),),
            case.temp_c,
        )
        assert ph == near(wanted, abs=0.01)


@pytest.mark.parametrize("acid", ["phosphoric", "hydrochloric", "sulfuric"])
def test_alkalinity_after_a_dose_of_an_inorganic_acid(acid):
    """PHREEQC counts whole equivalents; a titration to pH 4.5 leaves up to 0.5 % of them with the
    anion.
    """
    share = 0.5 if acid == "sulfuric" else 1.0
    cases = RANDOM[:100] + CORNERS
    for i, case in enumerate(cases):
        moles = (0.3 + 0.8 * i / len(cases)) * share * alkalinity_per_kg(case.alkalinity)
        _, left = phreeqc_runs.after_dose(
            case.alkalinity, case.ph, moles, acid, case.ions, case.temp_c
        )
        found = call(
            "ALKALINITY_AFTER_ACID",
            case.alkalinity,
            case.ph,
            _ml(acid, moles),
            LITRES,
            acid,
            STRENGTH[acid],
            (tuple(case.ions),),
            case.temp_c,
        )
        assert found == near(alkalinity_per_litre(left), abs=0.005 * case.alkalinity)


def test_report_in_milligrams_per_litre():
    """A report in mg/L at 20 °C given to PHREEQC as it stands, the density of the water worked out
    by it.
    """
    for case in RANDOM[:20]:
        ions = case.ions
        script = (
            f"SOLUTION 1\n units mg/L\n density 1 calc\n temp 20\n pH {case.ph!r}\n"
            f" Ca {ions.calcium!r}\n"
            f" Mg {ions.magnesium!r}\n Na {ions.sodium!r}\n Cl {ions.chloride!r}\n"
            f" S(6) {ions.sulfate!r} as SO4\n"
            f" Alkalinity {case.alkalinity!r} as Ca0.5(CO3)0.5\n"
            f"EQUILIBRIUM_PHASES 1\nFix_H+ {-case.target_ph!r} H3PO4 1.0"
        )
        left, litres = phreeqc_runs.run(
            phreeqc_runs.engine_at(20.0), script, 'EQUI("Fix_H+"), SOLN_VOL'
        )
        wanted = volume_of_moles((1.0 - left) / litres * LITRES, find_acid("phosphoric"), 85.0)
        assert _dose(case._replace(temp_c=20.0), "phosphoric") == near(wanted, rel=0.003)


@pytest.mark.parametrize("acid", STRENGTH)
def test_what_leaving_out_the_ions_costs(acid):
    """The figures of ACID_DOSE's docstring, over the random waters (not the corners)."""
    off = [100.0 * abs(_dose(case, acid, ions=False) / _dose(case, acid) - 1.0) for case in RANDOM]
    found = (np.median(off), np.percentile(off, 95), max(off))
    assert found == near(WITHOUT_IONS[acid], abs=0.1)
