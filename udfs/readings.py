"""Kinds of argument that are columns of readings, blank where one was missed."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from chemcore.acids import acid_names, find_acid
from udfs.arguments import STRENGTH, TITRANT_ML, Quantity, Word
from udfs.blocks import numbers, words

_PH = Quantity("pH readings, one for each volume; blank where one was missed", "pH", 0.5, 13.0)
_RUN_OFF = Quantity("Total wort run off at each reading", "L", 0.0, 1e7)
_PLATO = Quantity("Gravities of the runnings; blank where one was missed", "°P", 0.0, 40.0)
_DOSE = Quantity("Doses as bought (g for a powder)", "mL", 0.0, 1e7)
_GIVEN = replace(_DOSE, help="Acid as bought that went into each batch")
_PH_BEFORE = Quantity("pH of the source water of each batch, cooled sample", "pH", 4.0, 11.0)
_PH_AFTER = Quantity("pH of each batch's liquor after its dose, cooled sample", "pH", 1.0, 11.0)
_LITRES = Quantity("Liquor of each batch, as litres at 20 °C", "L", 0.001, 1e7)
_CAUSE = Quantity("Values of the cause, such as sparge pH", "", -1e12, 1e12)
_EFFECT = replace(_CAUSE, help="Values of the effect, one for each of xs")
_ACID = Word("Acid of each batch, or one for all", find_acid, acid_names())

MLColumn = Annotated[tuple, numbers(TITRANT_ML)]
PHColumn = Annotated[tuple, numbers(_PH)]
RunOffColumn = Annotated[tuple, numbers(_RUN_OFF)]
PlatoColumn = Annotated[tuple, numbers(_PLATO)]
DoseColumn = Annotated[tuple, numbers(_DOSE)]
GivenColumn = Annotated[tuple, numbers(_GIVEN)]
PHBeforeColumn = Annotated[tuple, numbers(_PH_BEFORE)]
PHAfterColumn = Annotated[tuple, numbers(_PH_AFTER)]
LitresColumn = Annotated[tuple, numbers(_LITRES)]
StrengthColumn = Annotated[tuple, numbers(STRENGTH)]
CauseColumn = Annotated[tuple, numbers(_CAUSE)]
EffectColumn = Annotated[tuple, numbers(_EFFECT)]
AcidColumn = Annotated[tuple, words(_ACID)]
