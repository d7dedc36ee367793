"""Activity coefficients in the convention of the USGS database ``phreeqc.dat``.

Debye-Hückel slopes from the dielectric constant of water (Bradley & Pitzer 1979) and its density,
as in PHREEQC 3 (Parkhurst & Appelo 2013, USGS Techniques and Methods 6-A43).
"""

from __future__ import annotations

import math

from chemcore.numeric import LN10, Mathematics, Number
from chemcore.tables import constant
from chemcore.units import water_density


def dielectric_constant(temp_c: Number, xp: Mathematics) -> Number:
    """Relative permittivity of water at 1 atm, 0 to 100 °C.

    Source: Bradley & Pitzer 1979, J. Phys. Chem. 83:1599, eqs. 1 to 4 and Table I.

    Parameters
    ----------
    temp_c
        0 to 100 °C.
    xp
        Back end of the values: :func:`chemcore.numeric.backend`.

    Returns
    -------
    Number
        Relative to vacuum, no unit.
    """
    u1, u2, u3, u4, u5, u6, u7, u8, u9 = (constant(f"dielectric_u{i}") for i in range(1, 10))
    kelvin = temp_c + constant("zero_celsius")
    at_1000_bar = u1 * xp.exp(kelvin * (u2 + kelvin * u3))
    c = u4 + u5 / (u6 + kelvin)
    b = u7 + u8 / kelvin + u9 * kelvin
    return at_1000_bar + c * xp.log((b + constant("standard_atmosphere")) / (b + 1000.0))


def debye_huckel(temp_c: Number, xp: Mathematics) -> tuple[Number, Number]:
    """Slopes A in (kg/mol)^0.5 and B in (kg/mol)^0.5/ångström of the Debye-Hückel equation.

    Source: Parkhurst & Appelo 2013, with :func:`dielectric_constant` and the density of water.

    Parameters
    ----------
    temp_c
        0 to 100 °C.
    xp
        Back end of the values: :func:`chemcore.numeric.backend`.

    Returns
    -------
    tuple[Number, Number]
        A in (kg/mol)^0.5 (log10), B in (kg/mol)^0.5/ångström.
    """
    kelvin = temp_c + constant("zero_celsius")
    bjerrum = constant("debye_length_squared") / (dielectric_constant(temp_c, xp) * kelvin)
    kappa = xp.sqrt(8.0 * math.pi * constant("avogadro") * bjerrum * water_density(temp_c) / 1000.0)
    return kappa * bjerrum / (2.0 * LN10), kappa / 1e8
