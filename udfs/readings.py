"""Kinds of argument that are columns of readings, blank where one was missed."""

from __future__ import annotations

from typing import Annotated

from chemcore.acids import acid_names, find_acid
from udfs.arguments import STRENGTH, TITRANT_ML, Quantity, Word
from udfs.blocks import numbers, words

_PH = Quantity("pH readings, one for each volume; blank where one was missed", "pH", 0.5, 13.0)
_RUN_OFF = Quantity("Total wort run off at each reading", "L", 0.0, 1e7)
_PLATO = Quantity("Gravities of the runnings; blank where one was missed", "°P", 0.0, 40.0)
_DOSE = Quantity("Doses as bought (g for a powder)", "mL", 0.0, 1e7)
_PH_BEFORE = Quantity("pH of the source water of each batch, cooled sample", "pH", 4.0, 11.0)
_PH_AFTER = Quantity("pH of each batch's liquor after its dose, cooled sample", "pH", 1.0, 11.0)
_LITRES = Quantity("Liquor of each batch, as litres at 20 °C", "L", 0.001, 1e7)
_VALUE = Quantity("Numbers", "", -1e12, 1e12)
_ACID = Word("Acid of each batch, or one for all", find_acid, acid_names())

MLColumn = Annotated[tuple, numbers(TITRANT_ML)]
PHColumn = Annotated[tuple, numbers(_PH)]
RunOffColumn = Annotated[tuple, numbers(_RUN_OFF)]
PlatoColumn = Annotated[tuple, numbers(_PLATO)]
DoseColumn = Annotated[tuple, numbers(_DOSE)]
PHBeforeColumn = Annotated[tuple, numbers(_PH_BEFORE)]
PHAfterColumn = Annotated[tuple, numbers(_PH_AFTER)]
LitresColumn = Annotated[tuple, numbers(_LITRES)]
StrengthColumn = Annotated[tuple, numbers(STRENGTH)]
ValueColumn = Annotated[tuple, numbers(_VALUE)]
AcidColumn = Annotated[tuple, words(_ACID)]
