"""Valid arguments for every function of the catalogue, for the tests of all hosts.

Arguments come by name, else by kind, so that a new function mostly has its samples already; one
whose arguments must fit each other, or that takes a block of cells, gets a line in ``OVERRIDES``.
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
    "co2_lost_from": (0.0, 0.1, 0.3),
    "co2_lost_to": (0.3, 0.5, 1.0),
    "read_in_high": (7.02, 6.95, 7.1),
    "read_in_low": (4.1, 4.05, 4.2),
    "buffer_high": (7.0, 6.86, 7.02),
    "buffer_low": (4.01, 4.0, 4.0),
    "calcium": (55.0, 90.0, 20.0),
    "magnesium": (8.0, 15.0, 3.0),
    "bicarbonate": (180.0, 120.0, 300.0),
    "phosphate": (190.0, 60.0, 400.0),
    "pack_litres": (5.0, 20.0, 1.0),
    "pack_price": (48.0, 130.0, 12.5),
    "solid": ("hydroxyapatite", "octacalcium phosphate", "brushite"),
    "grams": (150.0, 90.0, 400.0),
    "settled": (0.0, 0.5, 1.0),
    "name": ("ACID_DOSE", "litres", "ION_BALANCE"),
}


def column(*cells) -> tuple:
    """Cells as a range of one column."""
    return tuple((cell,) for cell in cells)


def each(argument_sets, *more) -> tuple:
    """Argument sets with further arguments after each."""
    return tuple((*arguments, *more) for arguments in argument_sets)


# Titration curves as a bench sheet holds them, invented: mL of 0.02 eq/L on 100 mL, and the pH.
_TITRATIONS = tuple(
    (
        column(
            *(scale * ml for ml in (0.0, 2.0, 4.0, 6.0, 8.0, 9.0, 10.0, 11.0, 12.0, 13.0, 14.0))
        ),
        column(start, 6.95, 6.5, 6.15, 5.7, 5.3, 4.4, 3.75, 3.45, 3.3, 3.15),
    )
    for scale, start in ((1.0, 7.6), (1.3, 7.9), (0.8, 7.4))
)
_BENCH = tuple((*curve, 100.0, 0.02) for curve in _TITRATIONS)
_RUNNINGS = (
    column(0.0, 200.0, 400.0, 600.0),
    column(5.3, None, 5.7, 6.2),
    column(16.0, 9.0, "", 1.2),
)
_LOG = (
    column(7.6, 7.5, 7.7),
    column(5.7, 5.8, 5.6),
    column(85.0, 80.0, 90.0),
    column(*[1000.0] * 3),
    "phosphoric",
)
# After ACID_DOSE to pH 5.7, 5.8 and 5.6: the reading when mixed, and later.
_DOSED = (
    (150.0, 7.6, 262.0, 5.85, 1500.0, "phosphoric", 75.0),
    (95.0, 7.2, 150.0, 5.3, 1000.0, "lactic"),
    (240.0, 7.9, 575.0, 6.1, 2200.0, "H2SO4", 50.0),
)
_MIXED = (
    (7.6, 5.7, 5.9, 262.0, 1500.0, "phosphoric", 75.0),
    (7.2, 5.2, 5.5, 150.0, 1000.0, "lactic"),
    (7.9, 5.8, 6.2, 575.0, 2200.0, "H2SO4", 50.0),
)
_XS, _YS = column(5.5, 5.7, None, 6.0), column(4.2, 4.3, 4.4, 4.35)
_GRIST = ((180.0, 5.75, 35.0), (15.0, 5.2, 45.0), (None, None, None))
_MASHES = tuple(
    (_GRIST[:2] if n else _GRIST, 600.0 + 100.0 * n, 90.0 + 40.0 * n, IONS[n]) for n in range(SETS)
)
# Malts titrated with 0.1 eq/L, invented: mL on 50 g, and the pH.
_MALTS = tuple(
    (
        column(*(scale * ml for ml in (0.0, 2.0, 4.0, 6.0, 8.0))),
        column(5.74, 5.65, 5.53, 5.41, 5.22),
    )
    + (50.0, 0.1)
    for scale in (1.0, 1.5, 2.0)
)
_WATERS = ((55.0, 8.0, 12.0, 25.0, 40.0), (0.0, 0.0, 1.0, 1.0, 0.0))
_ERRORS = (5.8, 900.0, "lactic", 80.0, "lactic", 1.0, 0.05, 0.5, 1.0, IONS[0])

#: By function: complete argument sets, for what neither names nor kinds can tell.
OVERRIDES: dict[str, tuple[tuple, ...]] = {
    "ACID_MALT_MASS": each(_MASHES, 5.3, 2.0),
    "ACID_NEEDED": (
        (column(200.0, None, 300.0), 5.0),
        (column(80.0, 90.0), 0.0),
        (column(1.0), 10.0),
    ),
    "BLEND_ALKALINITY": (
        (column(700.0, 300.0), column(200.0, 5.0)),
        (column(1.0, 1.0), column(300.0, 0.0)),
        (column(500.0, None, 50.0), column(120.0, None, 80.0)),
    ),
    "BLEND_IONS": (
        (column(700.0, 300.0), _WATERS),
        (column(1.0, 9.0), _WATERS),
        (column(50.0, 50.0), _WATERS),
    ),
    "BLEND_PH": (
        (column(700.0, 300.0), column(200.0, 10.0), column(7.6, 6.8), 20.0),
        (column(1.0, 1.0), column(300.0, 50.0), column(7.3, 7.9)),
        (column(500.0, 50.0), column(120.0, 80.0), column(7.5, 7.2), 15.0),
    ),
    "BLEND_SHARE": ((200.0, 10.0, 50.0), (300.0, 0.0, 120.0), (20.0, 180.0, 100.0)),
    "CO2_LOST_FROM_READING": (
        (*_DOSED[0], IONS[0], 20.0),
        _DOSED[1],
        (*_DOSED[2], IONS[1], 25.0),
    ),
    "CO2_LOST_FROM_READING_HIGH": (
        (*_DOSED[0], 2.0, 0.02, 0.5, 1.0, IONS[0], 20.0),
        _DOSED[1],
        (*_DOSED[2], 5.0, 0.05, 0.5, 1.0, IONS[1], 25.0),
    ),
    "CO2_LOST_FROM_READING_LOW": (
        (*_DOSED[0], 2.0, 0.02, 0.5, 1.0, IONS[0], 20.0),
        _DOSED[1],
        (*_DOSED[2], 5.0, 0.05, 0.5, 1.0, IONS[1], 25.0),
    ),
    "CO2_LOST_FROM_TWO_READINGS": (
        (*_MIXED[0], IONS[0], 20.0),
        _MIXED[1],
        (*_MIXED[2], IONS[1], 25.0),
    ),
    "CO2_LOST_FROM_TWO_READINGS_HIGH": (
        (*_MIXED[0], 0.02, 0.5, 1.0, IONS[0], 20.0),
        _MIXED[1],
        (*_MIXED[2], 0.05, 0.5, 1.0, IONS[1], 25.0),
    ),
    "CO2_LOST_FROM_TWO_READINGS_LOW": (
        (*_MIXED[0], 0.02, 0.5, 1.0, IONS[0], 20.0),
        _MIXED[1],
        (*_MIXED[2], 0.05, 0.5, 1.0, IONS[1], 25.0),
    ),
    "EFFECTIVE_ALKALINITY": (
        _LOG,
        (*_LOG, 85.0, IONS[0], 20.0, 0.1),
        (*_LOG[:4], "lactic", column(80.0, 80.0, 88.0)),
    ),
    "EFFECTIVE_ALKALINITY_SPREAD": (
        _LOG,
        (*_LOG, 85.0, IONS[0], 20.0, 0.1),
        (*_LOG[:4], "lactic", 80.0),
    ),
    "END_POINT_ML": (*each(_BENCH[:1], "end point", 4.5), *_BENCH[1:]),
    "GRAN_LINE": each(_BENCH, 12.0),
    "LITRES_AFTER_BOIL": (
        (1000.0, 11.0, 60.0, 80.0),
        (600.0, 12.5, 90.0, 45.0),
        (2500.0, 10.0, 75.0, 150.0),
    ),
    "MALT_BUFFER": each(_MALTS, 5.3),
    "MALT_BUFFER_ERROR": each(_MALTS, 5.3, 0.03, 0.5),
    "MASH_ACID_DOSE": each(_MASHES, 5.3, "lactic", 80.0),
    "MASH_PH": (*_MASHES[:2], (*_MASHES[2], 120.0, "phosphoric", 75.0)),
    "MASH_PH_HIGHEST": (*_MASHES[:2], (*_MASHES[2], 120.0, "phosphoric", 75.0, 0.05, 10.0)),
    "MASH_PH_LOWEST": (*_MASHES[:2], (*_MASHES[2], 120.0, "phosphoric", 75.0, 0.05, 10.0)),
    "PLATO_AFTER_BOIL": (
        (1000.0, 11.0, 60.0, 80.0),
        (600.0, 12.5, 90.0, 45.0),
        (2500.0, 10.0, 75.0, 150.0),
    ),
    "RUNOFF_CUTOFF": each((_RUNNINGS,) * 3, 5.7, 2.5),
    "RUNOFF_REASON": each((_RUNNINGS,) * 3, 5.7, 2.5),
    "SALT_MASS": (
        ("gypsum", "calcium", 30.0, 1000.0),
        ("epsom salt", "sulfate", 60.0, 800.0),
        ("nacl", "sodium", 15.0, 5.0, 99.0),
    ),
    "SLOPE_HIGH": ((_XS, _YS),) * 3,
    "SLOPE_LOW": ((_XS, _YS),) * 3,
    "TITRATION_ALKALINITY": (_BENCH[0], _BENCH[1], (*_BENCH[2], "end point", 4.4)),
    "TITRATION_DOSE": (
        *each(_BENCH[:2], 5.7, 1000.0, "phosphoric", 85.0),
        (*_BENCH[2], 5.8, 900.0, "lactic", 80.0, "lactic", IONS[0]),
    ),
    "TITRATION_DOSE_HIGH": (
        *each(_BENCH[:2], 5.7, 1000.0, "phosphoric", 85.0),
        (*_BENCH[2], *_ERRORS),
    ),
    "TITRATION_DOSE_LOW": (
        *each(_BENCH[:2], 5.7, 1000.0, "phosphoric", 85.0),
        (*_BENCH[2], *_ERRORS),
    ),
    "TITRATION_ERROR": _BENCH,
    "TITRATION_HALF_WIDTH": _BENCH,
    "TITRATION_ODD_BY": (*_BENCH[:2], (*_BENCH[2], "hydrochloric")),
    "TITRATION_ODD_READING": (*_BENCH[:2], (*_BENCH[2], "hydrochloric")),
    "TITRATION_PH": each(_TITRATIONS, 5.0),
}


def samples(entry: Function) -> list[tuple]:
    """At least three argument sets of a function: the first and last with all arguments, the second
    with the required.

    Raises
    ------
    LookupError
        For an argument that neither its name nor its kind gives a value to.
    """
    if entry.name in OVERRIDES:
        return list(OVERRIDES[entry.name])
    sets = [
        tuple(_value(argument, number) for argument in entry.arguments) for number in range(SETS)
    ]
    sets[1] = sets[1][: entry.required]
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
    raise LookupError(
        f"no sample for {argument.name}: give it a line in BY_NAME or the function one in OVERRIDES"
    )


def alike(one, other, relative: float) -> bool:
    """Whether two answers hold the same texts in the same places, and the same numbers as near as
    ``relative``.
    """
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(alike(a, b, relative) for a, b in zip(one, other))
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=relative, abs_tol=relative)
    return type(one) is type(other) and one == other
