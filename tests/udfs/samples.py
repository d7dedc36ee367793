"""Valid arguments for every function of the catalogue, for the tests of all hosts.

Arguments come by name, else by kind, so that a new function mostly has its samples already; one whose arguments
must fit each other, or that takes a block of cells, gets a line in ``OVERRIDES``.
"""

import math

from udfs.arguments import IonCells, Quantity, Word
from udfs.catalogue import Argument, Function

SETS = 3
IONS = (
    ((55.0, 8.0, 12.0, 25.0, 40.0),),
    ((90.0,), (15.0,), (30.0,), (60.0,), (110.0,)),
    ((20.0, 3.0, 45.0, 30.0, 15.0),),
)

BY_NAME = {
    "alkalinity": (150.0, 95.0, 240.0),
    "ph": (7.6, 7.2, 7.9),
    "ph_before": (7.6, 7.2, 7.9),
    "ph_now": (6.3, 6.1, 6.6),
    "ph_after": (6.2, 5.9, 6.5),
    "target_ph": (5.7, 5.5, 5.9),
    "dose_ml": (140.0, 120.0, 310.0),
    "dose_so_far_ml": (110.0, 105.0, 250.0),
    "dose_g": (150.0, 90.0, 400.0),
    "ml": (100.0, 12.5, 2000.0),
    "litres": (1500.0, 1000.0, 2200.0),
    "amount": (10.0, 25.5, 3.0),
    "acid": ("phosphoric", "lactic", "H2SO4"),
    "strength": (75.0, 80.0, 50.0),
    "temp_c": (20.0, 25.0, 60.0),
    "tank_temp_c": (77.0, 70.0, 82.0),
    "co2_lost": (0.0, 0.5, 1.0),
    "calcium": (55.0, 90.0, 20.0),
    "magnesium": (8.0, 15.0, 3.0),
    "bicarbonate": (180.0, 120.0, 300.0),
    "phosphate": (190.0, 60.0, 400.0),
    "pack_litres": (5.0, 20.0, 1.0),
    "pack_price": (48.0, 130.0, 12.5),
    "solid": ("hydroxyapatite", "octacalcium phosphate", "brushite"),
    "name": ("ACID_DOSE", "litres", "ION_BALANCE"),
}

#: By function: complete argument sets, for what neither names nor kinds can tell.
OVERRIDES: dict[str, tuple[tuple, ...]] = {}


def samples(entry: Function) -> list[tuple]:
    """At least three argument sets of a function: the first and last with all arguments, the second with the required.

    Raises
    ------
    LookupError
        For an argument that neither its name nor its kind gives a value to.
    """
    if entry.name in OVERRIDES:
        return list(OVERRIDES[entry.name])
    sets = [tuple(_value(argument, number) for argument in entry.arguments) for number in range(SETS)]
    sets[1] = sets[1][:entry.required]
    return sets


def _value(argument: Argument, number: int):
    kind = argument.kind
    if argument.name in BY_NAME:
        return BY_NAME[argument.name][number]
    if isinstance(kind, IonCells):
        return IONS[number]
    if isinstance(kind, Word) and kind.choices:
        return kind.choices[number % len(kind.choices)]
    if isinstance(kind, Quantity):
        return kind.low + (0.2 + 0.1 * number) * (kind.high - kind.low)
    raise LookupError(f"no sample for {argument.name}: give it a line in BY_NAME or the function one in OVERRIDES")


def alike(one, other, relative: float) -> bool:
    """Whether two answers hold the same texts in the same places, and the same numbers as near as ``relative``."""
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(alike(a, b, relative) for a, b in zip(one, other))
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=relative, abs_tol=relative)
    return type(one) is type(other) and one == other
