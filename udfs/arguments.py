"""Kinds of argument: unit, valid range and the help text, once for all functions that take one.

A function names the kind in its annotation; :mod:`udfs.cells` turns cells into values by it and
:mod:`udfs.catalogue` takes the help for every host from it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Annotated, Any

from chemcore.acids import acid_names, find_acid
from chemcore.errors import DomainError
from chemcore.gravity import dextrose_extract
from chemcore.mash import HIGHEST_MASH_PH, LOWEST_MASH_PH
from chemcore.salts import AIMS, find_aim, find_salt, salt_names
from chemcore.solids import find_solid, solid_names
from chemcore.tables import constant
from chemcore.titration import METHODS, find_method
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
        """``0 to 2000 mg/L``, ``pH 4 to 11``, or ``above 1 to 100 mass %`` where the low end itself is outside."""
        low = f"{self.low:.10g}"
        figures = f"{'above ' if float(low) < self.low else ''}{low} to {self.high:.10g}"
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


def _unit(text: str) -> str:
    """The text as it is, where it names a unit of volume; DomainError otherwise."""
    litres_per_unit(text)
    return text


def _status_part(text: str) -> str:
    part = text.strip().lower()
    if part not in STATUS_PARTS:
        raise DomainError("part", f'"{text.strip()[:40]}" is none of {", ".join(STATUS_PARTS)}')
    return part


AMOUNT = Quantity("Volume in the unit named", "", 0.0, 1e9)
ALKALINITY = Quantity("Total alkalinity of the source water", "mg/L as CaCO3", 0.0, 2000.0)
BICARBONATE = Quantity("Bicarbonate as the report gives it", "mg/L", 1.0, 2500.0)
SOURCE_PH = Quantity("pH of the source water, cooled sample", "pH", 4.0, 11.0)
TARGET_PH = Quantity("pH to reach, not above the water's", "pH", 2.5, 11.0)
CURVE_TARGET_PH = replace(TARGET_PH, help="pH to reach, within the measured curve")
READ_PH = Quantity("pH reading of a cooled sample", "pH", 1.0, 11.0)
LITRES = Quantity("Liquor to treat, as litres at 20 °C", "L", 0.001, 1e7)
HOT_LITRES = Quantity("Volume read on the hot tank", "L", 0.0, 1e7)
DOSE_ML = Quantity("Acid as bought that went in", "mL", 0.0, 1e7)
DOSE_G = Quantity("Acid as bought that went in", "g", 0.0, 1e7)
STRENGTH = Quantity(
    f"Strength on the label; left out: {_strengths()}",
    "mass %",
    1.0 + 1e-12,
    100.0,
    "a cell formatted as % holds a fraction (0.85 for 85 %), so type the plain number, 85",
)
LABEL_STRENGTH = replace(STRENGTH, help="Strength on the label")
TEMP_C = Quantity("Temperature of the pH reading; left out: 20", "°C", 0.0, 100.0)
TANK_TEMP_C = Quantity(
    f"Temperature of the hot tank; left out: {constant('sparge_tank_temperature'):g}",
    "°C",
    0.0,
    100.0,
)
CO2_LOST = Quantity(
    "Share of the carbon dioxide above air equilibrium that escapes, 0 closed tank (left out) to 1 open to air",
    "",
    0.0,
    1.0,
)
CO2_LOST_FROM = replace(
    CO2_LOST,
    help="Least share of the excess carbon dioxide that this tank may lose; left out: co2_lost",
)
CO2_LOST_TO = replace(
    CO2_LOST, help="Largest share of the excess carbon dioxide that it may lose; left out: co2_lost"
)
CALCIUM = Quantity("Calcium in the liquor", "mg/L", 0.0, 4000.0)
MAGNESIUM = Quantity("Magnesium in the liquor", "mg/L", 0.0, 2000.0)
CHLORIDE = Quantity("Chloride in the liquor", "mg/L", 0.0, 20000.0)
SULFATE = Quantity("Sulfate in the liquor", "mg/L", 0.0, 20000.0)
PHOSPHATE = Quantity("Phosphate in the liquor, as PO4", "mg/L", 0.0, 20000.0)
SALT_GRAMS = Quantity("Salt as weighed", "g", 0.0, 1e8)
SALT_STRENGTH = Quantity(
    "Salt in what is weighed; left out: 100, and 33 for calcium chloride solution",
    "mass %",
    1.0 + 1e-12,
    100.0,
    "a cell formatted as % holds a fraction (0.33 for 33 %), so type the plain number, 33",
)
AIM_MG_L = Quantity("What the salt is to bring; alkalinity as CaCO3", "mg/L", 0.0, 20000.0)
SETTLED = Quantity(
    "Share of the calcium carbonate above saturation that has fallen, 0 none (left out) to 1 all",
    "",
    0.0,
    1.0,
)
MASH_LITRES = Quantity("Mash liquor, as litres at 20 °C", "L", 0.001, 1e7)
MASH_ALKALINITY = Quantity(
    "Total alkalinity of the mash liquor; negative after more acid than alkalinity",
    "mg/L as CaCO3",
    -2000.0,
    2000.0,
)
MASH_TARGET_PH = Quantity(
    "pH to reach in the mash, cooled sample", "pH", LOWEST_MASH_PH, HIGHEST_MASH_PH
)
LACTIC_PERCENT = Quantity(
    "Lactic acid in the acidulated malt, from its maltster", "mass %", 0.1, 20.0
)
PACK_SIZE = Quantity(
    "Contents of the pack: litres, or kg where the dose is in grams", "L", 0.001, 1e6
)
PACK_PRICE = Quantity("Price of the pack, any currency", "", 0.0, 1e9)
TITRANT_ML = Quantity("Total titrant so far at a reading", "mL", 0.0, 1e5)
SAMPLE_ML = Quantity("Sample that was titrated", "mL", 0.1, 1e5)
NORMALITY = Quantity("Strength of the titrant, eq/L as on its bottle", "eq/L", 1e-4, 20.0)
ENDPOINT_PH = Quantity(
    f"End point of the method of that name; left out: {constant('endpoint_ph'):g}", "pH", 3.0, 9.0
)
MADE_UP_ML = Quantity("Volume made up with demineralised water", "mL", 0.01, 1e7)
PLATO = Quantity("Gravity of the wort", "°P", 0.0, 40.0)
SPECIFIC_GRAVITY = Quantity("Specific gravity 20/20 °C", "", 1.0, 1.178)
WORT_LITRES = Quantity("Wort, as litres at 20 °C", "L", 0.001, 1e7)
ADDED_LITRES = Quantity("Water added, as litres at 20 °C", "L", 0.0, 1e7)
EVAPORATION = Quantity("Water that boils off in an hour, as litres at 20 °C", "L/h", 0.001, 1e6)
MINUTES = Quantity("Length of the boil", "min", 0.0, 10000.0)
EXTRACT_PERCENT = Quantity(
    f"Extract of the sugar; left out: {dextrose_extract():.1f}, dextrose monohydrate",
    "mass %",
    50.0,
    100.0,
)
WASTE = Quantity("Share that is spilt or stays in the pack, on top of the doses", "%", 0.0, 100.0)
STOCK_ML = Quantity("Acid as bought on the shelf (g for a powder)", "mL", 0.0, 1e9)
MEAN_DOSE = Quantity("Mean dose of a batch (g for a powder)", "mL", 0.001, 1e7)
ALKALINITY_ERROR = Quantity(
    f"Standard error of the alkalinity; left out: {constant('error_alkalinity'):g}",
    "mg/L as CaCO3",
    0.0,
    500.0,
)
PH_ERROR = Quantity(
    f"Standard error of one pH reading; left out: {constant('error_ph'):g}", "pH", 0.0, 1.0
)
STRENGTH_ERROR = Quantity(
    f"Standard error of the strength; left out: {constant('error_strength'):g}", "mass %", 0.0, 20.0
)
VOLUME_ERROR = Quantity(
    f"Standard error of the tank's volume, in % of it; left out: {constant('error_volume'):g}",
    "%",
    0.0,
    30.0,
)
TITRANT_ERROR = Quantity(
    "Standard error of titrant strength and sample volume together; left out: "
    f"{constant('error_titrant'):g}",
    "%",
    0.0,
    30.0,
)
METHOD = Word("Where the curve ends; left out: Gran", find_method, METHODS)
TITRANT = Word(
    "Acid of the titrant, where it is a weak one or the tank's own diluted; left out: a strong acid",
    find_acid,
    acid_names(),
)
ACID = Word("Acid by trade name, chemical name or formula", find_acid, acid_names())
SOLID = Word("Solid that may form", find_solid, solid_names())
SALT = Word("Salt by trade name or formula, with its water of crystals", find_salt, salt_names())
AIM = Word("What it is dosed for", find_aim, AIMS)
UNIT = Word("Unit of volume", _unit, unit_names())
FUNCTION = Word("Name of a function of this add-in", str)
STATUS_PARTS = ("all", "version", "host", "python", "folder")
STATUS_PART = Word("What to say, all of it where left out", _status_part, STATUS_PARTS)
IONS = IonCells(
    "One range of five cells: calcium, magnesium, sodium, chloride, sulfate; left out: calcium bicarbonate water",
    "mg/L",
    20000.0,
)
Amount = Annotated[float, AMOUNT]
Alkalinity = Annotated[float, ALKALINITY]
Bicarbonate = Annotated[float, BICARBONATE]
SourcePH = Annotated[float, SOURCE_PH]
TargetPH = Annotated[float, TARGET_PH]
CurveTargetPH = Annotated[float, CURVE_TARGET_PH]
ReadPH = Annotated[float, READ_PH]
Litres = Annotated[float, LITRES]
HotLitres = Annotated[float, HOT_LITRES]
DoseML = Annotated[float, DOSE_ML]
DoseG = Annotated[float, DOSE_G]
Strength = Annotated[float, STRENGTH]
LabelStrength = Annotated[float, LABEL_STRENGTH]
TempC = Annotated[float, TEMP_C]
TankTempC = Annotated[float, TANK_TEMP_C]
CO2Lost = Annotated[float, CO2_LOST]
CO2LostFrom = Annotated[float, CO2_LOST_FROM]
CO2LostTo = Annotated[float, CO2_LOST_TO]
Calcium = Annotated[float, CALCIUM]
Magnesium = Annotated[float, MAGNESIUM]
Chloride = Annotated[float, CHLORIDE]
Sulfate = Annotated[float, SULFATE]
Phosphate = Annotated[float, PHOSPHATE]
SaltGrams = Annotated[float, SALT_GRAMS]
SaltStrength = Annotated[float, SALT_STRENGTH]
AimMgL = Annotated[float, AIM_MG_L]
Settled = Annotated[float, SETTLED]
MashLitres = Annotated[float, MASH_LITRES]
MashAlkalinity = Annotated[float, MASH_ALKALINITY]
MashTargetPH = Annotated[float, MASH_TARGET_PH]
LacticPercent = Annotated[float, LACTIC_PERCENT]
PackSize = Annotated[float, PACK_SIZE]
PackPrice = Annotated[float, PACK_PRICE]
AcidName = Annotated[str, ACID]
SolidName = Annotated[str, SOLID]
SaltName = Annotated[str, SALT]
AimName = Annotated[str, AIM]
UnitName = Annotated[str, UNIT]
FunctionName = Annotated[str, FUNCTION]
StatusPart = Annotated[str, STATUS_PART]
IonRange = Annotated[tuple, IONS]
SampleML = Annotated[float, SAMPLE_ML]
TitrantML = Annotated[float, TITRANT_ML]
Normality = Annotated[float, NORMALITY]
EndpointPH = Annotated[float, ENDPOINT_PH]
MadeUpML = Annotated[float, MADE_UP_ML]
MethodName = Annotated[str, METHOD]
TitrantName = Annotated[str, TITRANT]
Plato = Annotated[float, PLATO]
SpecificGravity = Annotated[float, SPECIFIC_GRAVITY]
WortLitres = Annotated[float, WORT_LITRES]
AddedLitres = Annotated[float, ADDED_LITRES]
Evaporation = Annotated[float, EVAPORATION]
Minutes = Annotated[float, MINUTES]
ExtractPercent = Annotated[float, EXTRACT_PERCENT]
Waste = Annotated[float, WASTE]
StockML = Annotated[float, STOCK_ML]
MeanDose = Annotated[float, MEAN_DOSE]
AlkalinityError = Annotated[float, ALKALINITY_ERROR]
PHError = Annotated[float, PH_ERROR]
StrengthError = Annotated[float, STRENGTH_ERROR]
VolumeError = Annotated[float, VOLUME_ERROR]
TitrantError = Annotated[float, TITRANT_ERROR]
