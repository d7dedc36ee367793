"""Random balanced waters over the range that breweries meet, and the corners of it."""

from __future__ import annotations

import random
from typing import NamedTuple

from chemcore.tables import constant
from chemcore.water import Ions


class Case(NamedTuple):
    """A water, the pH to reach, and the temperature of both."""

    alkalinity: float
    ph: float
    target_ph: float
    ions: Ions
    temp_c: float


def balanced(alkalinity, calcium, magnesium, sodium, sulfate) -> Ions:
    """The ions with the chloride that balances them, or with more sodium where no chloride can."""
    anions = alkalinity / constant("calcium_carbonate_equivalent") + 2.0 * sulfate / constant(
        "molar_mass_sulfate"
    )
    cations = 2.0 * calcium / constant("molar_mass_calcium") + 2.0 * magnesium / constant(
        "molar_mass_magnesium"
    )
    chloride = cations + sodium / constant("molar_mass_sodium") - anions
    if chloride < 0.0:
        sodium -= chloride * constant("molar_mass_sodium")
        chloride = 0.0
    return Ions(calcium, magnesium, sodium, chloride * constant("molar_mass_chloride"), sulfate)


def random_cases(count: int, seed: int = 1) -> list[Case]:
    """Waters of alkalinity 20 to 350 mg/L, pH 6.8 to 8.3, to pH 5.2 to 6.2, at 10 to 60 °C."""
    draw = random.Random(seed).uniform
    cases = []
    for _ in range(count):
        alkalinity = draw(20.0, 350.0)
        ions = balanced(
            alkalinity, draw(10.0, 150.0), draw(1.0, 40.0), draw(5.0, 80.0), draw(5.0, 200.0)
        )
        cases.append(Case(alkalinity, draw(6.8, 8.3), draw(5.2, 6.2), ions, draw(10.0, 60.0)))
    return cases


def corner_cases() -> list[Case]:
    """Alkalinity 5 and 500 mg/L, pH 4.5 and 6.2, soft and hard, 5 and 80 °C."""
    return [
        Case(alkalinity, 7.6, target_ph, balanced(alkalinity, calcium, 8.0, 10.0, 20.0), temp_c)
        for alkalinity in (5.0, 500.0)
        for target_ph in (4.5, 6.2)
        for calcium in (4.0, 150.0)
        for temp_c in (5.0, 80.0)
    ]
