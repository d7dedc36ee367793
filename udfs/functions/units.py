"""Functions: volumes."""

from __future__ import annotations

from chemcore import units
from chemcore.numeric import Number
from udfs.arguments import Amount, HotLitres, TempC, UnitName
from udfs.catalogue import function


@function("Volumes", "L")
def litres(amount: Amount, unit: UnitName) -> Number:
    """Litres in an amount of a unit of volume.

    A US bbl is the beer barrel of 31 US gallons, not the 42 gallon oil barrel; an imp bbl is the
    brewery barrel of 36 imperial gallons.

    References
    ----------
    27 CFR 25.11 and 7.10 (US barrel and gallon); NIST SP 811, Appendix B; UK Weights and Measures
    Act 1985.
    """
    return units.litres(amount, unit)


@function("Volumes", "L at 20 °C")
def cold_litres(litres: HotLitres, temp_c: TempC) -> Number:
    """Litres at 20 °C of the water that fills a volume read on a hot tank.

    Water only: the widening of the tank itself, about 0.3 % for steel from 20 to 77 °C, is left
    out.

    Parameters
    ----------
    temp_c
        Temperature of the water in the tank

    References
    ----------
    Kell 1975, J. Chem. Eng. Data 20:97, eq. 16; checked against IAPWS-95.
    """
    return units.cold_litres(litres, temp_c)
