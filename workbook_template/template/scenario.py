"""The demo: an invented brewery's waters, acids and nine batches. Nothing here is measured
anywhere.
"""

from __future__ import annotations

from datetime import datetime
from typing import NamedTuple

from workbook_template.template.sizes import Celsius, Hectolitres, Kilograms


class Source(NamedTuple):
    """A water as its report has it, mg/L; alkalinity as CaCO3."""

    name: str
    date: datetime
    calcium: float | None
    magnesium: float | None
    sodium: float | None
    chloride: float | None
    sulfate: float | None
    alkalinity: float | None
    bicarbonate: float | None
    ph: float


class Shelf(NamedTuple):
    """An acid on the shelf; pack and stock in the unit, or without one in L, of powders in kg."""

    label: str
    acid: str
    strength: float
    pack: float
    price: float
    stock: float
    unit: str | None = None


class Batch(NamedTuple):
    """A batch; volume in hL, ``read_at`` °C where the volume is read hot."""

    date: datetime
    name: str
    water: str
    volume: float
    read_at: float | None
    target_ph: float | None
    acid: str


WATERS = (
    Source("Town main", datetime(2026, 1, 12), 72, 9, 18, 31, 48, 168, None, 7.5),
    Source("Yard well", datetime(2026, 1, 12), 104, 16, 22, 44, 61, 262, None, 7.3),
    Source("Softened main", datetime(2026, 1, 14), 6, 1, 106, 33, 48, 168, None, 7.6),
    Source("Half demineralised", datetime(2026, 1, 20), 36, 4.5, 9, 15.5, 24, None, 103, 7.2),
)

ACIDS = (
    Shelf("Phosphoric 75 drum", "phosphoric", 75, 25, 96.0, 31),
    Shelf("Phosphoric 85 can", "phosphoric", 85, 5, 31.5, 4),
    Shelf("Lactic 80 can", "lactic", 80, 10, 58.0, 12),
    Shelf("Hydrochloric 31 can", "hydrochloric", 31, 10, 17.9, 10),
    Shelf("Citric powder", "citric", 100, 5, 24.0, 3),
)

BATCHES = (
    Batch(datetime(2026, 2, 2), "0207 Pale", "Town main", 11.5, 77, 5.7, "Phosphoric 75 drum"),
    Batch(datetime(2026, 2, 4), "0208 Stout", "Yard well", 9.0, 77, 5.8, "Lactic 80 can"),
    Batch(datetime(2026, 2, 6), "0209 Pale", "Town main", 11.5, 77, 5.7, "Phosphoric 75 drum"),
    Batch(
        datetime(2026, 2, 9), "0210 Wheat", "Half demineralised", 8.2, 76, 5.8, "Phosphoric 85 can"
    ),
    Batch(datetime(2026, 2, 11), "0211 Red", "Yard well", 10.4, 77, 6.0, "Phosphoric 75 drum"),
    Batch(
        datetime(2026, 3, 3), "0212 Lager", "Softened main", 12.0, 75, 5.6, "Hydrochloric 31 can"
    ),
    Batch(datetime(2026, 3, 6), "0213 Pale", "Town main", 11.5, None, None, "Citric powder"),
    Batch(
        datetime(2026, 3, 10), "0214 Table", "Half demineralised", 7.5, 77, 5.2, "Phosphoric 85 can"
    ),
    Batch(
        datetime(2026, 3, 13),
        "0215 Export",
        "Blend and salts",
        10.5,
        77,
        5.7,
        "Hydrochloric 31 can",
    ),
)


class Blend(NamedTuple):
    """A blend: waters with hL, hL of demineralised water, grams of salts, acid and target pH,
    target profile in mg/L.
    """

    waters: tuple[tuple[str, float], ...]
    demineralised: float
    salts: dict[str, float]
    acid: str
    target_ph: float
    profile: tuple[float, ...]


class GristMalt(NamedTuple):
    """A row of a grist: malt of the table of typical malts, kg; its own pH and buffering where they
    were measured.
    """

    malt: str
    kg: float
    ph: float | None = None
    buffering: float | None = None


class Mash(NamedTuple):
    """A mash: batch of the plan; water where it is not the batch's; liquor in hL; target pH, acid,
    grist.
    """

    batch: str
    water: str | None
    liquor: float
    read_at: float | None
    target_ph: float | None
    acid: str | None
    grist: tuple[GristMalt, ...]


class Titration(NamedTuple):
    """A bench titration: sample in mL, titrant in eq/L, batch of the plan it is for, readings of mL
    and pH.
    """

    water: str
    sample_ml: float
    normality: float
    batch: str
    readings: tuple[tuple[float, float], ...]


class MaltTrial(NamedTuple):
    """A titration of a malt's mash: g of malt, strong acid in eq/L, readings of mL in all and
    pH.
    """

    grams: float
    normality: float
    readings: tuple[tuple[float, float], ...]


class Runnings(NamedTuple):
    """Readings of the runnings (hL, pH, °P; empty where missed) and the kettle after them, in
    hL.
    """

    batch: str
    readings: tuple[tuple[float, float | None, float | None], ...]
    kettle: float
    kettle_plato: float
    target: float
    target_plato: float
    evaporation: float
    planned_minutes: float


class Logged(NamedTuple):
    """A batch as it came out; liquor in hL at 20 °C, doses in mL, or in g for a powder, alkalinity
    of that day's report.
    """

    date: datetime
    batch: str
    water: str
    acid: str
    volume: float
    target_ph: float
    ph_before: float
    dose: float
    ph_after: float | None
    last_runnings_ph: float | None
    kettle_ph: float | None
    beer_ph: float | None
    later_ph: float | None = None
    planned: float | None = None
    alkalinity: float | None = 168
    titrated: float | None = None


BLEND = Blend(
    (("Town main", 12),),
    8,
    {"gypsum": 400, "calcium chloride dihydrate": 80},
    "Hydrochloric 31 can",
    5.7,
    (100, 5, 12, 95, 140, 20),
)

_PALE = (GristMalt("pilsner malt", 265, 5.78, 47), GristMalt("pale caramel malt", 12))
MASHES = (
    Mash("0207 Pale", None, 9.5, 72, None, "Phosphoric 75 drum", _PALE),
    Mash(
        "0208 Stout",
        None,
        7.8,
        72,
        5.3,
        None,
        (
            GristMalt("pale ale malt", 190),
            GristMalt("roasted malt", 24),
            GristMalt("dark caramel malt", 9),
        ),
    ),
    Mash("0209 Pale", None, 9.5, 72, None, "Phosphoric 75 drum", _PALE),
    Mash(
        "0210 Wheat",
        None,
        7.2,
        70,
        5.3,
        "Lactic 80 can",
        (GristMalt("wheat malt", 120), GristMalt("pilsner malt", 95)),
    ),
    Mash(
        "0211 Red",
        None,
        8.6,
        72,
        None,
        "Lactic 80 can",
        (
            GristMalt("pale ale malt", 205),
            GristMalt("Munich malt", 48, 5.52, 52),
            GristMalt("dark caramel malt", 14),
        ),
    ),
    Mash(
        "0212 Lager",
        "Half demineralised",
        10,
        65,
        5.25,
        "Lactic 80 can",
        (GristMalt("pilsner malt", 255),),
    ),
    Mash(
        "0215 Export",
        None,
        9,
        None,
        None,
        "Lactic 80 can",
        (
            GristMalt("pilsner malt", 210),
            GristMalt("Munich malt", 75),
            GristMalt("pale caramel malt", 15),
        ),
    ),
)

TITRATION = Titration(
    "Town main",
    100,
    0.1,
    "0207 Pale",
    (
        (0, 7.48),
        (0.5, 6.95),
        (1, 6.64),
        (1.5, 6.41),
        (2, 6.18),
        (2.5, 5.92),
        (2.8, 5.74),
        (3.1, 5.44),
        (3.3, 5.16),
        (3.4, 4.91),
        (3.5, 4.52),
        (3.6, 4.08),
        (3.8, 3.61),
        (4.0, 3.39),
        (4.2, 3.24),
        (4.5, 3.10),
        (4.8, 2.97),
        (5.2, 2.83),
    ),
)

MALT_TRIAL = MaltTrial(
    50,
    0.1,
    ((0, 5.74), (2, 5.65), (4, 5.57), (6, 5.47), (8, 5.39), (10, 5.30), (12, 5.20), (14, 5.12)),
)

#: What the hot tank holds, hL.
TANK_VOLUME = Hectolitres(14)

RUNNINGS = Runnings(
    "0207 Pale",
    (
        (0, 5.30, 17.5),
        (3, 5.32, 15.0),
        (6, None, 9.8),
        (8, 5.48, 6.1),
        (9, 5.58, 4.2),
        (10, 5.72, 2.9),
        (10.5, 5.83, 2.3),
    ),
    14.6,
    11.6,
    16,
    11.8,
    0.95,
    60,
)

LOG = tuple(
    Logged(datetime(*day), batch, "Town main", "Phosphoric 75 drum", *values)
    for day, batch, *values in (
        ((2025, 11, 3), "0196", 11.21, 5.7, 7.46, 237, 5.69, 5.61, 5.27, 4.16),
        ((2025, 11, 10), "0197", 11.3, 5.7, 7.47, 239, 5.70, 5.50, 5.27, 4.22),
        ((2025, 11, 17), "0198", 11.1, 5.8, 7.48, 220, 5.86, 5.59, 5.30, 4.25),
        ((2025, 11, 24), "0199", 11.25, 5.6, 7.46, 251, 5.70, 5.48, 5.26, 4.22),
        ((2025, 12, 1), "0200", 11.21, 5.7, 7.46, 237, 5.75, 5.61, 5.29, 4.22),
        ((2025, 12, 8), "0201", 11.18, 5.9, 7.49, 205, 5.96, 5.74, 5.33, 4.29),
        ((2025, 12, 15), "0202", 11.21, 5.5, 7.48, 261, 5.62, 5.53, 5.25, 4.18),
        ((2025, 12, 22), "0203", 11.4, 5.7, 7.52, 241, 5.77, 5.64, 5.31, 4.23),
        ((2025, 12, 29), "0204", 11.21, 5.6, 7.49, 250, 5.75, 5.51, 5.29, 4.26),
        ((2026, 1, 5), "0205", 11.21, 5.8, 7.51, 222, 5.94, 5.69, 5.38, 4.23),
    )
)

#: What was read of two batches, by the keys of the sheet Readings; acid in mL.
READINGS = (
    {
        "batch": "0207 Pale",
        "given_1": 140,
        "ph_1": 6.36,
        "given_2": 80,
        "ph_2": 5.78,
        "later_ph": 5.9,
        "kettle_volume": 14.6,
        "kettle_plato": 11.6,
        "fill_to": 16,
        "wanted_plato": 11.8,
        "evaporation": 0.95,
        "boil": 60,
    },
    {"batch": "0215 Export", "mash_ml": 330, "mash_ph": 5.43},
)


def _typed(row, volumes: tuple[str, ...], temperatures: tuple[str, ...] = ()):
    """A row whose volumes and temperatures are typed into a workbook in that workbook's units."""
    kinds = {**dict.fromkeys(volumes, Hectolitres), **dict.fromkeys(temperatures, Celsius)}
    given = row if isinstance(row, dict) else row._asdict()
    new = {key: kinds[key](given[key]) for key in kinds if given.get(key) is not None}
    return {**row, **new} if isinstance(row, dict) else row._replace(**new)


BATCHES = tuple(_typed(batch, ("volume",), ("read_at",)) for batch in BATCHES)
BLEND = _typed(BLEND, ("demineralised",))._replace(
    waters=tuple((water, Hectolitres(volume)) for water, volume in BLEND.waters)
)
MASHES = tuple(
    _typed(mash, ("liquor",), ("read_at",))._replace(
        grist=tuple(malt._replace(kg=Kilograms(malt.kg)) for malt in mash.grist)
    )
    for mash in MASHES
)
RUNNINGS = _typed(RUNNINGS, ("kettle", "target", "evaporation"))._replace(
    readings=tuple((Hectolitres(volume), *rest) for volume, *rest in RUNNINGS.readings)
)
LOG = tuple(_typed(row, ("volume",)) for row in LOG)
READINGS = tuple(_typed(row, ("kettle_volume", "fill_to", "evaporation")) for row in READINGS)
