"""Functions: salts, and the calcium carbonate that falls."""

from __future__ import annotations

from operator import attrgetter

from chemcore import precipitation, salts, water
from chemcore.numeric import Number
from chemcore.salts import Treated
from chemcore.water import Ions
from udfs.arguments import (
    AimMgL,
    AimName,
    Alkalinity,
    Chloride,
    CO2Lost,
    IonRange,
    Litres,
    SaltGrams,
    SaltName,
    SaltStrength,
    Settled,
    SourcePH,
    Sulfate,
    TankTempC,
    TempC,
)
from udfs.catalogue import function, twin


@function("Blend and salts", "mg/L, a row of five cells", cells=5)
def salt_ions(
    salt: SaltName, grams: SaltGrams, litres: Litres, strength: SaltStrength = None
) -> Ions:
    """Calcium, magnesium, sodium, chloride and sulfate that a weight of salt brings into the
    liquor.

    Of the salt once it is dissolved; what it brings in alkalinity is SALT_ALKALINITY. For one ion
    in a cell, put INDEX around it.

    References
    ----------
    Formula masses from IUPAC 2021 atomic weights, row by row in chemcore/data/salts.csv.
    """
    return salts.ions_added(salt, grams, litres, strength)


@function("Blend and salts", "mg/L as CaCO3")
def salt_alkalinity(
    salt: SaltName, grams: SaltGrams, litres: Litres, strength: SaltStrength = None
) -> Number:
    """Alkalinity that a weight of salt brings into the liquor once dissolved; 0 for gypsum and its
    like.

    Chalk may not dissolve wholly and lime may let chalk fall: ALKALINITY_AFTER_SALT counts both.

    References
    ----------
    Equivalents a mole: sodium bicarbonate 1, chalk and slaked lime 2; formula masses as SALT_IONS.
    """
    return salts.alkalinity_added(salt, grams, litres, strength)


@function("Blend and salts", "g")
def salt_mass(
    salt: SaltName, ion: AimName, mg_l: AimMgL, litres: Litres, strength: SaltStrength = None
) -> Number:
    """Weight of salt that brings so much of an ion, or of alkalinity, into the liquor.

    References
    ----------
    As SALT_IONS and SALT_ALKALINITY.
    """
    return salts.mass_for(salt, ion, mg_l, litres, strength)


@function("Blend and salts", "pH", part=attrgetter("ph"))
def ph_after_salt(
    alkalinity: Alkalinity,
    ph: SourcePH,
    salt: SaltName,
    grams: SaltGrams,
    litres: Litres,
    strength: SaltStrength = None,
    ions: IonRange = None,
    temp_c: TempC = 20.0,
    co2_lost: CO2Lost = 0.0,
    settled: Settled = 0.0,
) -> Treated:
    """pH of the liquor after a salt, read on a cooled sample; for lime and chalk above all.

    Chalk dissolves no further than calcite saturation, given time; much of it may lie undissolved.
    Slaked lime takes a water above saturation: with settled at 1 the chalk has fallen, as in lime
    softening. No carbon dioxide is taken up from the air. Lime that takes the water to where its
    magnesium falls as hydroxide, from about pH 10.2, is refused. Lime burns eyes and skin: keep to
    its safety data sheet.

    References
    ----------
    Speciation as ACID_DOSE; calcite as SATURATION_INDEX; magnesium hydroxide by minteq.v4.dat.
    """
    found = salts.limed(
        alkalinity, ph, salt, grams, litres, strength, ions, temp_c, co2_lost, settled
    )
    return salts.without_brucite(found, salt, grams, litres)


@twin(ph_after_salt, attrgetter("alkalinity"), unit="mg/L as CaCO3")
def alkalinity_after_salt() -> None:
    """Total alkalinity of the clear liquor after a salt: what dissolved, less what fell as chalk.

    As PH_AFTER_SALT. Calcium goes with it: a mg/L as CaCO3 that falls takes 0.4 mg/L of calcium.

    References
    ----------
    As PH_AFTER_SALT.
    """


@function("Blend and salts", "mg/L as CaCO3")
def calcite_scale(
    alkalinity: Alkalinity,
    ph: SourcePH,
    ions: IonRange = None,
    temp_c: TempC = 20.0,
    tank_temp_c: TankTempC = None,
    co2_lost: CO2Lost = 0.0,
) -> Number:
    """Scale that falls in the hot tank from the untreated water, brought to calcite saturation.

    The end state; on the day less may fall. A vented, recirculated tank loses carbon dioxide
    (co2_lost towards 1), which can more than double the scale of a hard water.

    References
    ----------
    Calcite of USGS phreeqc.dat at the tank's temperature; the expression of Plummer & Busenberg
    1982 is 0.2 higher in log K at 75 °C.
    """
    return precipitation.scale(alkalinity, ph, ions, temp_c, tank_temp_c, co2_lost)


@function("Blend and salts", "mg/mg")
def sulfate_chloride_ratio(sulfate: Sulfate, chloride: Chloride) -> Number:
    """Sulfate to chloride by weight: above 1 is said to bring out hops, below 1 malt.

    Count the anions of the acids too: ACID_ANION.

    References
    ----------
    Common practice, no source.
    """
    return water.sulfate_chloride_ratio(sulfate, chloride)
