"""Functions: what a water report says."""

from __future__ import annotations

from chemcore import carbonate, water
from chemcore.numeric import Number
from udfs.arguments import Alkalinity, Bicarbonate, Calcium, GivenIons, Magnesium, SourcePH, TempC
from udfs.catalogue import function


@function("Water report", "mg/L as CaCO3")
def hardness(calcium: Calcium, magnesium: Magnesium) -> Number:
    """Total hardness from calcium and magnesium.

    References
    ----------
    Standard Methods 2340 B: 2.497 Ca + 4.118 Mg.
    """
    return water.hardness(calcium, magnesium)


@function("Water report", "mg/L as CaCO3")
def residual_alkalinity(alkalinity: Alkalinity, calcium: Calcium, magnesium: Magnesium) -> Number:
    """Residual alkalinity: what is left of the alkalinity after calcium and magnesium have met the
    malt's phosphate.

    References
    ----------
    Kolbach 1953, Monatsschrift für Brauerei 6:49: alkalinity - Ca/3.5 - Mg/7 in equivalents (from
    memory).
    """
    return water.residual_alkalinity(alkalinity, calcium, magnesium)


@function("Water report", "mg/L as CaCO3")
def alkalinity_from_bicarbonate(
    bicarbonate: Bicarbonate, ph: SourcePH, temp_c: TempC = 20.0
) -> Number:
    """Total alkalinity of a water whose report gives bicarbonate.

    Ion pairs count as bicarbonate; the water is taken as a calcium bicarbonate water. From pH 8.3
    up carbonate makes the alkalinity more than bicarbonate alone would.

    References
    ----------
    Carbonate equilibria of USGS phreeqc.dat (Plummer & Busenberg 1982); alkalinity as in Standard
    Methods 2320 B.
    """
    return carbonate.alkalinity_from_bicarbonate(bicarbonate, ph, temp_c)


@function("Water report", "mg/L")
def bicarbonate(alkalinity: Alkalinity, ph: SourcePH, temp_c: TempC = 20.0) -> Number:
    """Bicarbonate of a water of this total alkalinity and pH.

    Ion pairs count as bicarbonate; the water is taken as a calcium bicarbonate water.

    References
    ----------
    Carbonate equilibria of USGS phreeqc.dat (Plummer & Busenberg 1982); alkalinity as in Standard
    Methods 2320 B.
    """
    return carbonate.bicarbonate(alkalinity, ph, temp_c)


@function("Water report", "%")
def ion_balance(ions: GivenIons, alkalinity: Alkalinity, ph: SourcePH) -> Number:
    """Difference between cations and anions in % of their sum; positive where cations are more.

    A report within 5 % is usual; beyond 10 % a figure is missing or wrong. Potassium and nitrate,
    which most reports leave small, are not counted.

    Parameters
    ----------
    ions
        One range of five cells: calcium, magnesium, sodium, chloride, sulfate

    References
    ----------
    Standard Methods 1030 E: 100 (cations - anions)/(cations + anions) in meq/L.
    """
    return water.ion_balance(ions, alkalinity, ph)
