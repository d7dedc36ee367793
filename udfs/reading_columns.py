"""Kinds of argument that are columns of readings, blank where one was missed."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from chemcore.acids import Acid
from udfs.arguments import (
    AcidName,
    DoseML,
    Litres,
    Plato,
    Quantity,
    ReadPH,
    SourcePH,
    Strength,
    TitrantML,
    kind,
)
from udfs.blocks import numbers, words

Floats = tuple[float, ...]

MLColumn = Annotated[Floats, numbers(kind(TitrantML))]
PHColumn = Annotated[
    Floats,
    numbers(
        Quantity("pH readings, one for each volume; blank where one was missed", "pH", 0.5, 13.0)
    ),
]
RunOffColumn = Annotated[
    Floats, numbers(Quantity("Total wort run off at each reading", "L", 0.0, 1e7))
]
PlatoColumn = Annotated[
    Floats,
    numbers(replace(kind(Plato), help="Gravities of the runnings; blank where one was missed")),
]
DoseColumn = Annotated[
    Floats, numbers(replace(kind(DoseML), help="Doses as bought (g for a powder)"))
]
GivenColumn = Annotated[
    Floats, numbers(replace(kind(DoseML), help="Acid as bought that went into each batch"))
]
PHBeforeColumn = Annotated[
    Floats,
    numbers(replace(kind(SourcePH), help="pH of the source water of each batch, cooled sample")),
]
PHAfterColumn = Annotated[
    Floats,
    numbers(replace(kind(ReadPH), help="pH of each batch's liquor after its dose, cooled sample")),
]
LitresColumn = Annotated[
    Floats, numbers(replace(kind(Litres), help="Liquor of each batch, as litres at 20 °C"))
]
StrengthColumn = Annotated[Floats | None, numbers(kind(Strength))]
_CAUSE = Quantity("Values of the cause, such as sparge pH", "", -1e12, 1e12)
CauseColumn = Annotated[Floats, numbers(_CAUSE)]
EffectColumn = Annotated[
    Floats, numbers(replace(_CAUSE, help="Values of the effect, one for each of xs"))
]
AcidColumn = Annotated[
    tuple[Acid | None, ...],
    words(replace(kind(AcidName), help="Acid of each batch, or one for all")),
]
