"""The demo: an invented brewery's waters, acids and eight batches. Nothing here is measured anywhere."""

from __future__ import annotations

from datetime import datetime
from typing import NamedTuple


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
    """An acid on the shelf; pack and stock in L, of powders in kg."""

    label: str
    acid: str
    strength: float
    pack: float
    price: float
    stock: float


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
    Batch(datetime(2026, 2, 9), "0210 Wheat", "Half demineralised", 8.2, 76, 5.8, "Phosphoric 85 can"),
    Batch(datetime(2026, 2, 11), "0211 Red", "Yard well", 10.4, 77, 6.0, "Phosphoric 75 drum"),
    Batch(datetime(2026, 2, 13), "0212 Lager", "Softened main", 12.0, 75, 5.6, "Hydrochloric 31 can"),
    Batch(datetime(2026, 2, 16), "0213 Pale", "Town main", 11.5, None, None, "Citric powder"),
    Batch(datetime(2026, 2, 18), "0214 Table", "Half demineralised", 7.5, 77, 5.2, "Phosphoric 85 can"),
)
