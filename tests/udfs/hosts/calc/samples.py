"""Three sets of arguments for every function of the catalogue, by the kinds of its arguments."""

from udfs import CATALOGUE
from udfs.arguments import IonCells, Quantity, Word

TYPICAL = {
    "alkalinity": (150.0, 60.0, 280.0), "ph": (7.6, 7.1, 8.2), "target_ph": (5.7, 5.5, 6.0),
    "litres": (400.0, 25.0, 1200.0), "strength": (80.0, 60.0, 30.0), "temp_c": (20.0, 25.0, 15.0),
    "co2_lost": (0.0, 0.5, 1.0), "dose_ml": (60.0, 1.5, 200.0), "dose_so_far_ml": (30.0, 1.0, 120.0),
    "ph_before": (7.6, 7.1, 8.2), "ph_after": (6.9, 6.2, 7.2), "ph_now": (6.9, 6.2, 7.2), "calcium": (50.0, 80.0, 20.0),
    "phosphate": (40.0, 100.0, 10.0), "tank_temp_c": (77.0, 70.0, 80.0),
}
IONS = (((50.0, 8.0, 20.0, 30.0, 40.0),), ((80.0,), (10.0,), (15.0,), (40.0,), (90.0,)), ((20.0, 2.0, 60.0, 10.0, 30.0),))


def argument(one, case):
    kind = one.kind
    if isinstance(kind, IonCells):
        return IONS[case]
    if isinstance(kind, Word):
        return kind.choices[case % len(kind.choices)] if kind.choices else list(CATALOGUE)[case]
    if one.name in TYPICAL:
        return TYPICAL[one.name][case]
    assert isinstance(kind, Quantity)
    low, high = max(kind.low, 1e-3), min(kind.high, 1e3)
    return low + (0.1, 0.35, 0.7)[case] * (high - low)


def samples():
    """Pairs of a name and arguments: all arguments, only the required ones, and all but the last."""
    for entry in CATALOGUE.values():
        for case, count in enumerate((len(entry.arguments), entry.required, max(entry.required, len(entry.arguments) - 1))):
            yield entry.name, tuple(argument(one, case) for one in entry.arguments[:count])
