"""Random balanced waters and targets, the ranges of common supplies."""

import random
from typing import NamedTuple

from chemcore.water import Ions

LITRES, STRENGTH, TEMP_C = 1500.0, 85.0, 20.0
ACID = "phosphoric"


class Case(NamedTuple):
    alkalinity: float
    ph: float
    target_ph: float
    ions: Ions

    def arguments(self) -> tuple:
        """What the cells of an ACID_DOSE hold."""
        return (
            self.alkalinity,
            self.ph,
            self.target_ph,
            LITRES,
            ACID,
            STRENGTH,
            (tuple(self.ions),),
            TEMP_C,
            0.0,
        )


def random_waters(count: int, seed: int = 1) -> list[Case]:
    """Alkalinity 20 to 350 mg/L as CaCO3, pH 6.8 to 8.3, target 5.2 to 6.2; chloride closes the
    charge balance.
    """
    draw = random.Random(seed).uniform
    cases: list[Case] = []
    while len(cases) < count:
        alkalinity, sulfate = draw(20, 350), draw(5, 200)
        calcium, magnesium, sodium = draw(10, 150), draw(1, 40), draw(5, 80)
        chloride = 35.45 * (
            calcium / 20.039
            + magnesium / 12.1525
            + sodium / 22.99
            - alkalinity / 50.0435
            - sulfate / 48.028
        )
        if chloride >= 0.0:
            cases.append(
                Case(
                    alkalinity,
                    draw(6.8, 8.3),
                    draw(5.2, 6.2),
                    Ions(calcium, magnesium, sodium, chloride, sulfate),
                )
            )
    return cases


def column_arguments(cases: list[Case]) -> tuple:
    """The arguments of one ACID_DOSE over a column of all the waters."""
    alkalinity, ph, target = (tuple((case[i],) for case in cases) for i in range(3))
    return (
        alkalinity,
        ph,
        target,
        LITRES,
        ACID,
        STRENGTH,
        tuple(tuple(case.ions) for case in cases),
        TEMP_C,
        0.0,
    )
