"""Functions: the last runnings."""

from __future__ import annotations

from dataclasses import replace
from operator import attrgetter
from typing import Annotated

from chemcore import runoff
from chemcore.numeric import Number
from chemcore.runoff import Cutoff
from udfs.arguments import (
    Plato,
    ReadPH,
    kind,
)
from udfs.catalogue import function, twin
from udfs.reading_columns import PHColumn, PlatoColumn, RunOffColumn

HighestPH = Annotated[Number, replace(kind(ReadPH), help="Highest pH allowed")]
LowestPlato = Annotated[Number, replace(kind(Plato), help="Lowest gravity allowed")]


@function("Last runnings", "L", part=attrgetter("litres"))
def runoff_cutoff(
    litres: RunOffColumn,
    phs: PHColumn,
    platos: PlatoColumn,
    max_ph: HighestPH,
    min_plato: LowestPlato,
) -> Cutoff:
    """Litres run off when the runnings first reach the highest pH or the lowest gravity allowed.

    Straight lines between readings; a missed reading is a blank cell. Where no limit is reached,
    the litres of the last reading: RUNOFF_REASON says so. Common limits: pH 6.0 with 2 °P, 5.7 with
    2.5, 5.5 with 3.

    References
    ----------
    Linear interpolation; the limits: common practice, no source.
    """
    return runoff.cutoff(litres, phs, platos, max_ph, min_plato)


@twin(runoff_cutoff, attrgetter("reason"), unit="")
def runoff_reason() -> None:
    """Which limit stopped the runnings and at how many litres, or that none was reached.

    References
    ----------
    As RUNOFF_CUTOFF.
    """
