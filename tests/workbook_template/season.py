"""An invented year of a brewery: 120 batches of two waters with two reports each and three acids,
and what it comes to.

What is expected is worked out from the entries alone, by ``udfs.call`` for one figure at a time and
by plain sums; nothing here asks the workbook's own formulas or its layout.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import date, timedelta
from statistics import median
from typing import Any

from chemcore.mash import typical_malts
from udfs import call

BATCHES, READ, START = 120, 60, date(2026, 1, 12)
WASTE, ORDER_DAYS, TARGET, MASH_TARGET, TANK = 4.0, 10, 5.65, 5.25, 77.0
IONS = ("calcium", "magnesium", "sodium", "chloride", "sulfate")
#: Standard errors of alkalinity, pH, strength and volume, as a new workbook has them in its
#: settings.
ERRORS = ("Error_alkalinity", "Error_ph", "Error_strength", "Error_volume")
#: Names that a lookup could read as a pattern, a comparison or a number.
ODD = {5: "Wild*", 6: "Wildcat", 17: "What?", 18: "Whats", 31: "~ Rye", 40: ">3", 41: "<>", 52: 207}


def source(name: str, day: date, ions: tuple[float, ...], alkalinity: float, ph: float) -> dict:
    """A report of a water."""
    figures = dict(zip(IONS, ions, strict=True), alkalinity=alkalinity, ph=ph)
    return {"source": name, "date": day, **figures}


#: The newer report of one water stands above the older, that of the other below it.
WATERS = (
    source("Town", date(2026, 6, 15), (66, 8, 19, 33, 45), 152, 7.6),
    source("Town", date(2026, 1, 5), (72, 9, 18, 31, 48), 168, 7.5),
    source("Well?", date(2026, 1, 5), (104, 16, 22, 44, 61), 262, 7.3),
    source("Well?", date(2026, 9, 1), (98, 15, 24, 46, 63), 240, 7.35),
)
ACIDS = (
    {"label": "Lactic*", "acid": "lactic", "strength": 80, "pack": 10, "price": 58, "stock": 25},
    {
        "label": "Phosphoric",
        "acid": "phosphoric",
        "strength": 75,
        "pack": 25,
        "price": 96,
        "stock": 4,
    },
    {"label": ">5", "acid": "citric", "strength": 100, "pack": 5, "price": 24, "stock": 60},
)
MALTS = {name: (malt.ph, malt.buffering) for name, malt in typical_malts().items()}


def held(name: str, day: date) -> dict:
    """The report of a water that held on a day."""
    reports = sorted((w for w in WATERS if w["source"] == name), key=lambda w: w["date"])
    return next((w for w in reversed(reports) if w["date"] <= day), reports[0])


def ions(report: dict) -> list[list[float]]:
    """Its ions as a range."""
    return [[report[ion] for ion in IONS]]


@dataclass
class Batch:
    """What is typed of a batch."""

    number: int
    name: Any
    day: date
    water: str
    volume: float
    read_at: float | None
    target: float | None
    acid: dict
    liquor: float
    mash_target: float | None
    mash_acid: dict | None
    grist: list[tuple[str, float, float | None, float | None]]
    readings: dict[str, float] = field(default_factory=dict)

    @property
    def report(self) -> dict:
        """The water's report of its day."""
        return held(self.water, self.day)

    @property
    def litres(self) -> float:
        """Cold litres: the hectolitres, shrunk from the tank's temperature."""
        return call("COLD_LITRES", self.volume * 100, self.read_at or 20)

    @property
    def aim(self) -> float:
        """Its target pH."""
        return self.target or TARGET


def batch(number: int) -> Batch:
    """The batch with this number, from 0."""
    base, other = ("pilsner malt", "wheat malt") if number % 4 else ("pale ale malt", "Munich malt")
    own = (5.8, 46.0) if number % 3 == 0 else (None, None)
    made = Batch(
        number,
        ODD.get(number, f"{number:04d} Ale"),
        START + timedelta(3 * number),
        WATERS[number % 2 * 2]["source"],
        8 + 0.75 * (number % 7),
        77 if number % 4 else None,
        None if number % 5 == 0 else 5.5 + 0.1 * (number % 4),
        ACIDS[number % 3],
        7 + 0.5 * (number % 5),
        None if number % 6 == 0 else 5.3,
        ACIDS[0] if number % 2 else None,
        [(base, 190.0 + number, *own), (other, 30.0, None, None)],
    )
    if number % 7 == 0:
        made.grist.append(("roasted malt", 11.5, None, None))
    if number < READ:
        first = 90.0 + 2 * number
        made.readings = {
            "before": made.report["ph"] - 0.02,
            "given_1": first,
            "ph_1": 6.3,
            "given_2": first / 2,
            "ph_2": 5.6 + 0.01 * (number % 20),
            "mash_ml": 100.0 + number,
            "mash_ph": 5.3,
            "last_ph": 5.7,
            "kettle_ph": 5.3,
            "beer_ph": 4.2 + 0.01 * (number % 9),
        }
    return made


SEASON = [batch(number) for number in range(BATCHES)]


def tables() -> dict[str, list[dict[str, Any]]]:
    """What is typed, by table of the workbook and key of its columns; the mashes backwards, the
    malts in rounds.
    """
    return {
        "Source": list(WATERS),
        "Shelf": list(ACIDS),
        "Plan": [
            {
                "date": b.day,
                "batch": b.name,
                "water": b.water,
                "volume": b.volume,
                "read_at": b.read_at,
                "target": b.target,
                "acid": b.acid["label"],
            }
            for b in SEASON
        ],
        "Mashes": [
            {
                "batch": b.name,
                "liquor": b.liquor,
                "target": b.mash_target,
                "acid": b.mash_acid and b.mash_acid["label"],
            }
            for b in reversed(SEASON)
        ],
        "Grist": [
            dict(zip(("batch", "malt", "weight", "own_ph", "own_buffering"), (b.name, *malt)))
            for place in range(3)
            for b in SEASON
            for malt in b.grist[place : place + 1]
        ],
        "Read": [{"batch": b.name, **b.readings} for b in SEASON if b.readings],
        "Log": [{"date": b.day, "batch": b.name} for b in SEASON if b.readings],
    }


#: Batches that the meter's file brings, with the pH that was read after the dose in one go.
METERED = SEASON[70:78]


def metered() -> str:
    """The file."""
    lines = ["date;batch;ph_before;dose;ph_after;beer_ph"]
    lines += [f"{b.day};{b.name};7,4;{150 + b.number};5,8;4,3" for b in METERED]
    return "\n".join(lines) + "\n"


# what it comes to


def liquid(acid: dict) -> float:
    """The strength that mL are worked out for: a powder as its solution of 50 %."""
    return 50 if acid["acid"] == "citric" else acid["strength"]


def planned(b: Batch, settings: dict[str, float]) -> dict[str, Any]:
    """The figures of a batch on the plan."""
    report, acid = b.report, b.acid
    water = report["alkalinity"], report["ph"]
    given = ions(report), 20, 0
    ml = call("ACID_DOSE", *water, b.aim, b.litres, acid["acid"], liquid(acid), *given)
    mass = call("ACID_DOSE_MASS", *water, b.aim, b.litres, acid["acid"], acid["strength"], *given)
    amount = mass if acid["acid"] == "citric" else ml
    errors = [settings[error] for error in ERRORS]
    liquor = *water, b.aim, b.litres, acid["acid"], liquid(acid), *errors, ions(report), 20, 0
    dosed = *water, ml, b.litres, acid["acid"], liquid(acid), ions(report), 20
    return {
        "cold": b.litres,
        "mass": mass,
        "volume_ml": ml,
        "amount": amount,
        "low_ml": call("ACID_DOSE_LOW", *liquor, 0, 0.1),
        "high_ml": call("ACID_DOSE_HIGH", *liquor, 0, 0.1),
        "mixed_ph": call("PH_AFTER_ACID", *dosed, 0),
        "open_ph": call("PH_AFTER_ACID", *dosed, 0.1),
        "left": call("ALKALINITY_AFTER_ACID", *dosed, 0),
        "money": amount / 1000 / acid["pack"] * acid["price"],
    }


def mashed(b: Batch) -> dict[str, Any]:
    """The figures of its mash, malt by malt."""
    grist = []
    for malt, kg, ph, buffering in b.grist:
        usual = MALTS[malt]
        grist.append([kg, ph or usual[0], buffering or usual[1]])
    mash = grist, b.liquor * 100, b.report["alkalinity"], ions(b.report)
    plain, aim = call("MASH_PH", *mash), b.mash_target or MASH_TARGET
    found = {"kg": sum(malt[1] for malt in b.grist), "litres": b.liquor * 100, "plain": plain}
    if b.mash_acid:
        acid, strength = b.mash_acid["acid"], b.mash_acid["strength"]
        ml = call("MASH_ACID_DOSE", *mash, aim, acid, strength) if plain > aim else 0
        found["amount"] = ml
        found["money"] = ml / 1000 / b.mash_acid["pack"] * b.mash_acid["price"]
    return found


@dataclass
class Bought:
    """What is bought of an acid; ``months`` are counted from the first of the plan."""

    need: float
    packs: int
    months: list[float]
    runs_out: date | None


def bought(acid: dict, plan: list[dict], mashes: list[dict], months: int) -> Bought:
    """Sums by hand over the batches in the order of their days."""
    draws = [(b.day, row["amount"]) for b, row in zip(SEASON, plan) if b.acid is acid]
    draws += [(b.day, row["amount"]) for b, row in zip(SEASON, mashes) if b.mash_acid is acid]
    by_month, share = [0.0] * months, 1 + WASTE / 100
    left, out = acid["stock"] * 1000.0, None
    for day, amount in sorted(draws):
        by_month[12 * (day.year - START.year) + day.month - START.month] += amount
        left -= amount * share
        if left < 0 and out is None:
            out = day
    need = share * math.fsum(amount for _, amount in draws)
    short = need - acid["stock"] * 1000
    return Bought(need, max(0, math.ceil(short / 1000 / acid["pack"])), by_month, out)


def implied(b: Batch, before: float, after: float, dose: float, report: dict | None = None):
    """The alkalinity that a dose and the readings around it imply, mg/L as CaCO3."""
    each = 1.0
    if b.acid["acid"] == "citric":
        each = 100 / 50 / call("ACID_DENSITY", "citric", 50)
    where = b.litres, b.acid["acid"], liquid(b.acid), ions(report or b.report), 20, 0
    return call("ALKALINITY_FROM_DOSE", before, after, dose * each, *where)


def logged() -> list[tuple[Batch, float, float, float]]:
    """Batch, pH before, pH after and dose of every row of the log, those of the meter last."""
    rows = [
        (b, b.readings["before"], b.readings["ph_2"], b.readings["given_1"] + b.readings["given_2"])
        for b in SEASON
        if b.readings
    ]
    return rows + [(b, 7.4, 5.8, 150.0 + b.number) for b in METERED]


def learnt(water: str, acid: dict) -> tuple[int, float]:
    """How many batches of a water's newest report and an acid, and the median of what they
    imply.
    """
    newest = held(water, date(2100, 1, 1))
    found = [
        implied(b, before, after, dose, newest)
        for b, before, after, dose in logged()
        if b.water == water and b.acid is acid and b.report == newest
    ]
    return len(found), median(found)
