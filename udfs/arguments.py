"""Kinds of argument: unit, valid range and the help text, once for all functions that take one.

A function names the kind in its annotation; :mod:`udfs.cells` turns cells into values by it and
:mod:`udfs.catalogue` takes the help for every host from it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

from chemcore.acids import acid_names, find_acid
from chemcore.solids import find_solid, solid_names
from chemcore.tables import constant
from chemcore.units import litres_per_unit, unit_names


@dataclass(frozen=True)
class Quantity:
    """A number with its unit and the range in which it makes sense."""

    help: str
    unit: str
    low: float
    high: float
    low_hint: str = ""

    def problem(self, value: float) -> str | None:
        """What is wrong with a number, or nothing."""
        if self.low <= value <= self.high:
            return None
        text = f"{value:.10g} is not {self.range_text()}"
        return f"{text}; {self.low_hint}" if value < self.low and self.low_hint else text

    def range_text(self) -> str:
        """``0 to 2000 mg/L``, or ``pH 4 to 11``."""
        figures = f"{self.low:.10g} to {self.high:.10g}"
        return f"pH {figures}" if self.unit == "pH" else f"{figures} {self.unit}".rstrip()


@dataclass(frozen=True)
class Word:
    """A text that names something; ``find`` turns it into the thing or raises a DomainError."""

    help: str
    find: Callable[[str], Any]
    choices: tuple[str, ...] = ()


@dataclass(frozen=True)
class IonCells:
    """One range of five cells: calcium, magnesium, sodium, chloride, sulfate."""

    help: str
    unit: str
    high: float


@dataclass(frozen=True)
class Block:
    """A range that a function takes as one whole (a curve, a table) and that never broadcasts.

    ``read`` gets the argument's name and the range as a tuple of row tuples (a single cell as one row of one)
    and gives the function's value, or raises a DomainError that names what is wrong. Error codes in the range
    have been passed back before.
    """

    help: str
    read: Callable[[str, tuple], Any]
    unit: str = ""


Kind = Quantity | Word | IonCells | Block


def _strengths() -> str:
    return ", ".join(f"{name} {find_acid(name).default_strength:g}" for name in acid_names())


AMOUNT = Quantity("Volume in the unit named", "", 0.0, 1e9)
ALKALINITY = Quantity("Total alkalinity of the source water", "mg/L as CaCO3", 0.0, 2000.0)
BICARBONATE = Quantity("Bicarbonate as the report gives it", "mg/L", 1.0, 2500.0)
SOURCE_PH = Quantity("pH of the source water, cooled sample", "pH", 4.0, 11.0)
TARGET_PH = Quantity("pH to reach, not above the water's", "pH", 2.5, 11.0)
READ_PH = Quantity("pH reading of a cooled sample", "pH", 1.0, 11.0)
LITRES = Quantity("Liquor to treat, as litres at 20 °C", "L", 0.001, 1e7)
HOT_LITRES = Quantity("Volume read on the hot tank", "L", 0.0, 1e7)
DOSE_ML = Quantity("Acid as bought that went in", "mL", 0.0, 1e7)
DOSE_G = Quantity("Acid as bought that went in", "g", 0.0, 1e7)
STRENGTH = Quantity(
    f"Strength on the label; left out: {_strengths()}", "mass %", 1.0 + 1e-12, 100.0,
    "a cell formatted as % holds a fraction (0.85 for 85 %), so type the plain number, 85")
TEMP_C = Quantity("Temperature of the pH reading; left out: 20", "°C", 0.0, 100.0)
TANK_TEMP_C = Quantity(
    f"Temperature of the hot tank; left out: {constant('sparge_tank_temperature'):g}", "°C", 0.0, 100.0)
CO2_LOST = Quantity(
    "Share of the carbon dioxide above air equilibrium that escapes, 0 closed tank (left out) to 1 open to air", "",
    0.0, 1.0)
CALCIUM = Quantity("Calcium in the liquor", "mg/L", 0.0, 4000.0)
MAGNESIUM = Quantity("Magnesium in the liquor", "mg/L", 0.0, 2000.0)
PHOSPHATE = Quantity("Phosphate in the liquor, as PO4", "mg/L", 0.0, 20000.0)
PACK_SIZE = Quantity("Contents of the pack: litres, or kg where the dose is in grams", "L", 1e-6, 1e6)
PACK_PRICE = Quantity("Price of the pack, any currency", "", 0.0, 1e9)
ACID = Word("Acid by trade name, chemical name or formula", find_acid, acid_names())
SOLID = Word("Solid that may form", find_solid, solid_names())
UNIT = Word("Unit of volume", lambda text: (litres_per_unit(text), text)[1], unit_names())
FUNCTION = Word("Name of a function of this add-in", str)
IONS = IonCells(
    "One range of five cells: calcium, magnesium, sodium, chloride, sulfate; left out: calcium bicarbonate water",
    "mg/L", 20000.0)

Amount = Annotated[float, AMOUNT]
Alkalinity = Annotated[float, ALKALINITY]
Bicarbonate = Annotated[float, BICARBONATE]
SourcePH = Annotated[float, SOURCE_PH]
TargetPH = Annotated[float, TARGET_PH]
ReadPH = Annotated[float, READ_PH]
Litres = Annotated[float, LITRES]
HotLitres = Annotated[float, HOT_LITRES]
DoseML = Annotated[float, DOSE_ML]
DoseG = Annotated[float, DOSE_G]
Strength = Annotated[float, STRENGTH]
TempC = Annotated[float, TEMP_C]
TankTempC = Annotated[float, TANK_TEMP_C]
CO2Lost = Annotated[float, CO2_LOST]
Calcium = Annotated[float, CALCIUM]
Magnesium = Annotated[float, MAGNESIUM]
Phosphate = Annotated[float, PHOSPHATE]
PackSize = Annotated[float, PACK_SIZE]
PackPrice = Annotated[float, PACK_PRICE]
AcidName = Annotated[str, ACID]
SolidName = Annotated[str, SOLID]
UnitName = Annotated[str, UNIT]
FunctionName = Annotated[str, FUNCTION]
IonRange = Annotated[tuple, IONS]
