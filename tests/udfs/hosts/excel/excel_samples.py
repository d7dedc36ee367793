"""One set of arguments for each function, made from the kinds of its arguments."""

from __future__ import annotations

from udfs import arguments as kinds
from udfs import call

_VALUES = {
    kinds.AMOUNT: 3.0, kinds.ALKALINITY: 180.0, kinds.BICARBONATE: 220.0, kinds.SOURCE_PH: 7.4, kinds.TARGET_PH: 5.7,
    kinds.READ_PH: 6.1, kinds.LITRES: 900.0, kinds.HOT_LITRES: 925.0, kinds.DOSE_ML: 120.0, kinds.DOSE_G: 150.0,
    kinds.STRENGTH: 75.0, kinds.TEMP_C: 25.0, kinds.TANK_TEMP_C: 78.0, kinds.CO2_LOST: 0.25, kinds.CALCIUM: 65.0,
    kinds.MAGNESIUM: 9.0, kinds.PHOSPHATE: 150.0, kinds.PACK_SIZE: 5.0, kinds.PACK_PRICE: 39.5,
    kinds.ACID: "phosphoric", kinds.SOLID: "brushite", kinds.UNIT: "hL", kinds.FUNCTION: "ACID_DOSE",
    kinds.IONS: ((65.0, 9.0, 20.0, 30.0, 40.0),),
}


def sample(entry) -> tuple:
    """Arguments for which the function has an answer where :func:`has_answer` says so, else just some."""
    return tuple(_VALUES[argument.kind] if argument.kind in _VALUES else _some(argument.kind)
                 for argument in entry.arguments)


def has_answer(entry) -> bool:
    """Whether the sample gets more than a sentence."""
    return not str(call(entry.name, *sample(entry))).startswith("Check")


def _some(kind):
    if isinstance(kind, kinds.Quantity):
        return (max(kind.low, 0.01) * min(kind.high, 1e4)) ** 0.5
    if isinstance(kind, kinds.Word):
        return kind.choices[0] if kind.choices else "something"
    return ((1.0, 2.0), (3.0, 4.0), (5.0, 6.0))


def blanked(entry, position: int) -> tuple:
    """The same with one cell empty."""
    cells = list(sample(entry))
    cells[position] = None
    return tuple(cells)
