"""How far doses by the databases of PHREEQC 3.8.6 are apart: the floor of every dose's interval.

Hydrochloric and phosphoric acid, which all of these databases hold, at 15 to 25 °C. Each database
keeps its own carbonate, its own ion pairs and its own activity coefficients.
"""

from __future__ import annotations

import numpy as np
import phreeqc
import pytest

from chemcore.tables import constant
from tests.outside import phreeqc_runs
from tests.outside.waters import random_cases

DATABASES = ("phreeqc.dat", "wateq4f.dat", "minteq.v4.dat", "llnl.dat", "sit.dat")


def _engine(name: str) -> phreeqc.Phreeqc:
    one = phreeqc.Phreeqc()
    assert one.LoadBuiltInDatabase(name) == 0, one.GetErrorString()
    assert one.RunString("PHASES\nFix_H+\nH+ = H+\n log_k 0\nEND") == 0, one.GetErrorString()
    return one


def _doses(name: str, acid: str, cases) -> list[float]:
    one, doses = _engine(name), []
    for case in cases:
        script = (
            phreeqc_runs.solution(case.alkalinity, case.ph, case.ions, case.temp_c)
            + f"\nEQUILIBRIUM_PHASES 1\nFix_H+ {-case.target_ph!r} {phreeqc_runs.FORMULA[acid]} 1.0"
        )
        (left,) = phreeqc_runs.run(one, script, 'EQUI("Fix_H+")')
        doses.append(1.0 - left)
    return doses


@pytest.mark.slow
@pytest.mark.parametrize("acid", ["hydrochloric", "phosphoric"])
def test_doses_by_other_databases(acid):
    """95 % of the differences from phreeqc.dat, over four databases, are within 1.96
    ``error_constants``; worst 1.8 %.
    """
    cases = [
        case._replace(temp_c=15.0 + 10.0 * i / 59.0)
        for i, case in enumerate(random_cases(60, seed=21))
    ]
    first = np.array(_doses(DATABASES[0], acid, cases))
    others = np.array([_doses(name, acid, cases) for name in DATABASES[1:]])
    off = 100.0 * np.abs(others / first - 1.0)
    assert np.percentile(off, 95) == pytest.approx(1.96 * constant("error_constants"), abs=0.1)
    assert off.max() < 1.8
