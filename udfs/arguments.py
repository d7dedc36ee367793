"""Kinds of argument: unit, valid range and the help text, once for all functions that take one.

A function names the kind in its annotation; :mod:`udfs.cells` turns cells into values by it and
:mod:`udfs.catalogue` takes the help for every host from it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Annotated, Any

from chemcore.acids import Acid, acid_names, find_acid
from chemcore.errors import DomainError
from chemcore.gravity import dextrose_extract
from chemcore.mash import HIGHEST_MASH_PH, LOWEST_MASH_PH
from chemcore.numeric import Number
from chemcore.salts import AIMS, Salt, find_aim, find_salt, salt_names
from chemcore.solids import Solid, find_solid, solid_names
from chemcore.tables import constant
from chemcore.titration import METHODS, find_method
from chemcore.units import litres_per_unit, unit_names
from chemcore.water import Ions


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
        """``0 to 2000 mg/L``, ``pH 4 to 11``, or ``above 1 to 100 mass %`` where the low end itself
        is outside.
        """
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

    ``read`` gets the argument's name and the range as a tuple of row tuples (a single cell as one
    row of one) and gives the function's value, or raises a DomainError that names what is wrong.
    Error codes in the range have been passed back before.
    """

    help: str
    read: Callable[[str, tuple[Any, ...]], Any]
    unit: str = ""


Kind = Quantity | Word | IonCells | Block


def kind(annotation: Any) -> Any:
    """The kind that an annotation of this module names, to make another of it with
    :func:`dataclasses.replace`.
    """
    return annotation.__metadata__[0]


def _strengths() -> str:
    """The usual strength of each acid, or where they stand if they are too many for a help text."""
    listed = ", ".join(f"{name} {find_acid(name).default_strength:g}" for name in acid_names())
    return listed if len(listed) <= 180 else "the acid's usual one, on the sheet Reference"


def _unit(text: str) -> str:
    """The text as it is, where it names a unit of volume; DomainError otherwise."""
    litres_per_unit(text)
    return text


def _status_part(text: str) -> str:
    part = text.strip().lower()
    if part not in STATUS_PARTS:
        raise DomainError("part", f'"{text.strip()[:40]}" is none of {", ".join(STATUS_PARTS)}')
    return part


Amount = Annotated[Number, Quantity("Volume in the unit named", "", 0.0, 1e9)]
Alkalinity = Annotated[
    Number, Quantity("Total alkalinity of the source water", "mg/L as CaCO3", 0.0, 2000.0)
]
Bicarbonate = Annotated[Number, Quantity("Bicarbonate as the report gives it", "mg/L", 1.0, 2500.0)]
SourcePH = Annotated[Number, Quantity("pH of the source water, cooled sample", "pH", 4.0, 11.0)]
TargetPH = Annotated[Number, Quantity("pH to reach, not above the water's", "pH", 2.5, 11.0)]
CurveTargetPH = Annotated[
    float, replace(kind(TargetPH), help="pH to reach, within the measured curve")
]
ReadPH = Annotated[Number, Quantity("pH reading of a cooled sample", "pH", 1.0, 11.0)]
Litres = Annotated[Number, Quantity("Liquor to treat, as litres at 20 °C", "L", 0.001, 1e7)]
HotLitres = Annotated[Number, Quantity("Volume read on the hot tank", "L", 0.0, 1e7)]
DoseML = Annotated[Number, Quantity("Acid as bought that went in", "mL", 0.0, 1e7)]
DoseG = Annotated[Number, Quantity("Acid as bought that went in", "g", 0.0, 1e7)]
Strength = Annotated[
    Number | None,
    Quantity(
        f"Strength on the label; left out: {_strengths()}",
        "mass %",
        1.0 + 1e-12,
        100.0,
        "a cell formatted as % holds a fraction (0.85 for 85 %), so type the plain number, 85",
    ),
]
LabelStrength = Annotated[Number, replace(kind(Strength), help="Strength on the label")]
TempC = Annotated[Number, Quantity("Temperature of the pH reading; left out: 20", "°C", 0.0, 100.0)]
TankTempC = Annotated[
    Number | None,
    Quantity(
        f"Temperature of the hot tank; left out: {constant('sparge_tank_temperature'):g}",
        "°C",
        0.0,
        100.0,
    ),
]
CO2Lost = Annotated[
    Number,
    Quantity(
        "Share of the carbon dioxide above air equilibrium that escapes, 0 closed tank (left out)"
        " to 1 open to air",
        "",
        0.0,
        1.0,
    ),
]
CO2LostFrom = Annotated[
    Number | None,
    replace(
        kind(CO2Lost),
        help="Least share of the excess carbon dioxide that this tank may lose; left out: co2_lost",
    ),
]
CO2LostTo = Annotated[
    Number | None,
    replace(
        kind(CO2Lost),
        help="Largest share of the excess carbon dioxide that it may lose; left out: co2_lost",
    ),
]
Calcium = Annotated[Number, Quantity("Calcium in the liquor", "mg/L", 0.0, 4000.0)]
Magnesium = Annotated[Number, Quantity("Magnesium in the liquor", "mg/L", 0.0, 2000.0)]
Chloride = Annotated[Number, Quantity("Chloride in the liquor", "mg/L", 0.0, 20000.0)]
Sulfate = Annotated[Number, Quantity("Sulfate in the liquor", "mg/L", 0.0, 20000.0)]
Phosphate = Annotated[Number, Quantity("Phosphate in the liquor, as PO4", "mg/L", 0.0, 20000.0)]
SaltGrams = Annotated[Number, Quantity("Salt as weighed", "g", 0.0, 1e8)]
SaltStrength = Annotated[
    Number | None,
    Quantity(
        "Salt in what is weighed; left out: 100, and 33 for calcium chloride solution",
        "mass %",
        1.0 + 1e-12,
        100.0,
        "a cell formatted as % holds a fraction (0.33 for 33 %), so type the plain number, 33",
    ),
]
AimMgL = Annotated[
    Number, Quantity("What the salt is to bring; alkalinity as CaCO3", "mg/L", 0.0, 20000.0)
]
Settled = Annotated[
    Number,
    Quantity(
        "Share of the calcium carbonate above saturation that has fallen, 0 none (left out) to"
        " 1 all",
        "",
        0.0,
        1.0,
    ),
]
MashLitres = Annotated[Number, Quantity("Mash liquor, as litres at 20 °C", "L", 0.001, 1e7)]
MashAlkalinity = Annotated[
    Number,
    Quantity(
        "Total alkalinity of the mash liquor; negative after more acid than alkalinity",
        "mg/L as CaCO3",
        -2000.0,
        2000.0,
    ),
]
MashTargetPH = Annotated[
    Number,
    Quantity("pH to reach in the mash, cooled sample", "pH", LOWEST_MASH_PH, HIGHEST_MASH_PH),
]
LacticPercent = Annotated[
    Number, Quantity("Lactic acid in the acidulated malt, from its maltster", "mass %", 0.1, 20.0)
]
PackSize = Annotated[
    Number,
    Quantity("Contents of the pack: litres, or kg where the dose is in grams", "L", 0.001, 1e6),
]
PackPrice = Annotated[Number, Quantity("Price of the pack, any currency", "", 0.0, 1e9)]
TitrantML = Annotated[Number, Quantity("Total titrant so far at a reading", "mL", 0.0, 1e5)]
SampleML = Annotated[float, Quantity("Sample that was titrated", "mL", 0.1, 1e5)]
Normality = Annotated[
    float, Quantity("Strength of the titrant, eq/L as on its bottle", "eq/L", 1e-4, 20.0)
]
EndpointPH = Annotated[
    Number | None,
    Quantity(
        f"End point of the method of that name; left out: {constant('endpoint_ph'):g}",
        "pH",
        3.0,
        9.0,
    ),
]
MadeUpML = Annotated[Number, Quantity("Volume made up with demineralised water", "mL", 0.01, 1e7)]
Plato = Annotated[Number, Quantity("Gravity of the wort", "°P", 0.0, 40.0)]
SpecificGravity = Annotated[Number, Quantity("Specific gravity 20/20 °C", "", 1.0, 1.178)]
WortLitres = Annotated[Number, Quantity("Wort, as litres at 20 °C", "L", 0.001, 1e7)]
AddedLitres = Annotated[Number, Quantity("Water added, as litres at 20 °C", "L", 0.0, 1e7)]
Evaporation = Annotated[
    Number, Quantity("Water that boils off in an hour, as litres at 20 °C", "L/h", 0.001, 1e6)
]
Minutes = Annotated[Number, Quantity("Length of the boil", "min", 0.0, 10000.0)]
ExtractPercent = Annotated[
    Number | None,
    Quantity(
        f"Extract of the sugar; left out: {dextrose_extract():.1f}, dextrose monohydrate",
        "mass %",
        50.0,
        100.0,
    ),
]
Waste = Annotated[
    Number,
    Quantity("Share that is spilt or stays in the pack, on top of the doses", "%", 0.0, 100.0),
]
StockML = Annotated[
    Number, Quantity("Acid as bought on the shelf (g for a powder)", "mL", 0.0, 1e9)
]
MeanDose = Annotated[Number, Quantity("Mean dose of a batch (g for a powder)", "mL", 0.001, 1e7)]
AlkalinityError = Annotated[
    Number | None,
    Quantity(
        f"Standard error of the alkalinity; left out: {constant('error_alkalinity'):g}",
        "mg/L as CaCO3",
        0.0,
        500.0,
    ),
]
PHError = Annotated[
    Number | None,
    Quantity(
        f"Standard error of one pH reading; left out: {constant('error_ph'):g}", "pH", 0.0, 1.0
    ),
]
StrengthError = Annotated[
    Number | None,
    Quantity(
        f"Standard error of the strength; left out: {constant('error_strength'):g}",
        "mass %",
        0.0,
        20.0,
    ),
]
VolumeError = Annotated[
    Number | None,
    Quantity(
        f"Standard error of the tank's volume, in % of it; left out: {constant('error_volume'):g}",
        "%",
        0.0,
        30.0,
    ),
]
TitrantError = Annotated[
    Number | None,
    Quantity(
        "Standard error of titrant strength and sample volume together; left out: "
        f"{constant('error_titrant'):g}",
        "%",
        0.0,
        30.0,
    ),
]
MethodName = Annotated[str, Word("Where the curve ends; left out: Gran", find_method, METHODS)]
TitrantName = Annotated[
    Acid | None,
    Word(
        "Acid of the titrant, where it is a weak one or the tank's own diluted; left out: a strong"
        " acid",
        find_acid,
        acid_names(),
    ),
]
AcidName = Annotated[
    Acid, Word("Acid by trade name, chemical name or formula", find_acid, acid_names())
]
SolidName = Annotated[Solid, Word("Solid that may form", find_solid, solid_names())]
SaltName = Annotated[
    Salt, Word("Salt by trade name or formula, with its water of crystals", find_salt, salt_names())
]
AimName = Annotated[str, Word("What it is dosed for", find_aim, AIMS)]
UnitName = Annotated[str, Word("Unit of volume", _unit, unit_names())]
FunctionName = Annotated[str, Word("Name of a function of this add-in", str)]
STATUS_PARTS = ("all", "version", "host", "python", "folder")
StatusPart = Annotated[
    str, Word("What to say, all of it where left out", _status_part, STATUS_PARTS)
]
IonRange = Annotated[
    Ions | None,
    IonCells(
        "One range of five cells: calcium, magnesium, sodium, chloride, sulfate; left out: calcium"
        " bicarbonate water",
        "mg/L",
        20000.0,
    ),
]
GivenIons = Annotated[Ions, kind(IonRange)]
