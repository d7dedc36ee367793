"""What a workbook is made with: the rows of each of its tables, and what its settings begin
with.
"""

from __future__ import annotations

from dataclasses import dataclass

from chemcore.units import litres_per_unit


@dataclass(frozen=True)
class Sizes:
    """Rows of the tables; what a batch brings of its own is counted by the batch."""

    batches: int = 40
    waters: int = 6
    acids: int = 8

    def __post_init__(self):
        for name, (least, most) in LIMITS.items():
            rows = getattr(self, name)
            if type(rows) is not int or not least <= rows <= most:
                raise ValueError(f"{name} is {rows}: it is a whole number from {least} to {most:,}")

    @property
    def grist(self) -> int:
        """Rows of the grists, all batches together: four malts to a batch."""
        return 4 * self.batches

    def warning(self) -> str | None:
        """What to know before a book of this size is made, or None."""
        if self.batches <= READ_AGAIN:
            return None
        return (
            f"share, check, recalc, log add and carry read books of at most about {READ_AGAIN}"
            " batches; this one is for Excel and Calc alone, and takes minutes to make"
        )

    @property
    def pages(self) -> int:
        """Pages for a table of all batches: one in the usual size, else (0) as many as it takes."""
        return 1 if self.batches <= Sizes().batches else 0

    @property
    def log(self) -> int:
        """Rows of the log: a batch may be dosed twice."""
        return self.batches + self.batches // 2


#: Least and most rows of each table: what the example needs, and what a spreadsheet program still
#: opens with ease.
LIMITS = {"batches": (1, 2_000), "waters": (1, 60), "acids": (1, 60)}
#: The most batches of a book that the commands on existing books read: their bound is on formulas,
#: some 290 a batch.
READ_AGAIN = 600


class Hectolitres(float):
    """A volume of the example, typed into a workbook in that workbook's unit."""


class Celsius(float):
    """A temperature of the example, typed into a workbook in that workbook's unit."""


class Kilograms(float):
    """A weight of malt of the example, typed into a workbook in the unit that goes with that
    workbook's volumes.
    """


#: Kilograms in the international pound, by definition.
KG_PER_LB = 0.45359237
#: Unit of volume, unit of temperature and the hot tank's usual temperature in it, by the system of
#: units.
_SYSTEMS = {
    "metric": ("hL", "°C", 77),
    "us": ("US bbl", "°F", 170),
    "imperial": ("imp bbl", "°C", 77),
}
SYSTEMS = tuple(_SYSTEMS)
#: Paper, by the number that files have for it (ECMA-376 part 1, 18.3.1.63).
PAPERS = {"a4": 9, "letter": 1}
#: A label such as EUR or kr; more is no currency.
CURRENCY_CHARACTERS = 12


@dataclass(frozen=True)
class Starting:
    """What the settings of a new workbook begin with."""

    units: str = "metric"
    currency: str = "EUR"
    paper: str = "a4"

    def __post_init__(self):
        for name, known in (("units", SYSTEMS), ("paper", tuple(PAPERS))):
            if getattr(self, name) not in known:
                raise ValueError(
                    f"{name} is {getattr(self, name)!r}: it is one of {', '.join(known)}"
                )
        text = self.currency
        if not text.strip() or len(text) > CURRENCY_CHARACTERS or not text.isprintable():
            raise ValueError(
                f"currency is {text[:40]!r}: it is a short label such as USD, of at most "
                f"{CURRENCY_CHARACTERS} characters"
            )
        if text[0] in "=+-@":
            raise ValueError(f"currency is {text!r}: a label does not begin with {text[0]}")

    def value(self, name: str | None, usual: object) -> object:
        """What the setting with this defined name begins with; ``usual`` where nothing else is
        asked for.
        """
        volume, temperature, tank = _SYSTEMS[self.units]
        own: dict[str | None, object] = {
            "Volume_unit": volume,
            "Temperature_unit": temperature,
            "Tank_temp": tank,
            "Currency": self.currency,
        }
        return own.get(name, usual)

    def typed(self, value: object) -> object:
        """A figure of the example in the workbook's unit, to three digits where it is not the
        example's own.
        """
        volume, temperature, _ = _SYSTEMS[self.units]
        if isinstance(value, Hectolitres) and volume != "hL":
            return float(f"{value * litres_per_unit('hL') / litres_per_unit(volume):.3g}")
        if isinstance(value, Kilograms) and volume != "hL":
            return float(f"{value / KG_PER_LB:.3g}")
        if isinstance(value, Celsius) and temperature != "°C":
            return float(round(value * 1.8 + 32))
        return float(value) if isinstance(value, (Hectolitres, Celsius, Kilograms)) else value
