"""Bicarbonate and alkalinity of the same water, and carbon dioxide in equilibrium with air."""

from __future__ import annotations

import numpy as np

from chemcore.numeric import Number, backend, find_root, require
from chemcore.speciation import Solution, Venting, molalities
from chemcore.species import log_k
from chemcore.tables import constant
from chemcore.water import HIGHEST_ALKALINITY, per_litre, source_water, speciated

BICARBONATES = ("HCO3-", "CaHCO3+", "MgHCO3+", "NaHCO3")


def bicarbonate(alkalinity: Number, ph: Number, temp_c: Number = 20.0) -> Number:
    """Bicarbonate in mg/L, ion pairs included, of a water of this total alkalinity (mg/L as CaCO3)
    and pH.

    The water is taken as a calcium bicarbonate water. Source: equilibria of data/species.csv
    (phreeqc.dat); the definition of alkalinity as in Standard Methods 2320 B.

    Parameters
    ----------
    alkalinity
        Total alkalinity of the source water, mg/L as CaCO3, 0 to 2000.
    ph
        pH of the source water at ``temp_c``.
    temp_c
        Temperature of the pH readings, 0 to 100 °C.

    Returns
    -------
    Number
        mg/L of HCO3.

    Raises
    ------
    DomainError
        As :func:`chemcore.water.source_water`.
    """
    return bicarbonate_of(source_water(alkalinity, ph, None, temp_c))


def alkalinity_from_bicarbonate(
    bicarbonate_mg_l: Number, ph: Number, temp_c: Number = 20.0
) -> Number:
    """Total alkalinity in mg/L as CaCO3 of a water of this bicarbonate (mg/L) and pH; undoes
    :func:`bicarbonate`.

    Parameters
    ----------
    bicarbonate_mg_l
        As a report gives it, mg/L, 0 or more.
    ph
        pH of the water at ``temp_c``.
    temp_c
        Temperature of the pH readings, 0 to 100 °C.

    Returns
    -------
    Number
        mg/L as CaCO3, 0 to 5000.

    Raises
    ------
    DomainError
        For ``ph``, where the alkalinity would be negative (acid water) or above 5000 mg/L.
    """

    def excess(alkalinity: Number, ph: Number, temp_c: Number, wanted: Number) -> Number:
        return bicarbonate_of(speciated(alkalinity, ph, None, temp_c)) - wanted

    values = (ph, temp_c, bicarbonate_mg_l)
    found = find_root(excess, 0.0, HIGHEST_ALKALINITY, values, backend(*values))
    return require(
        found == found,
        "ph",
        lambda: (
            f"pH {ph:g} with {bicarbonate_mg_l:g} mg/L bicarbonate makes an alkalinity outside 0 to"
            f" {HIGHEST_ALKALINITY:g} mg/L as CaCO3; look at both readings again"
        ),
        found,
    )


def bicarbonate_of(water: Solution) -> Number:
    """Bicarbonate of a solved water in mg/L, ion pairs included.

    Parameters
    ----------
    water
        Any solved water.

    Returns
    -------
    Number
        mg/L of HCO3.
    """
    found = molalities(water)
    return per_litre(sum(found[name] for name in BICARBONATES), constant("molar_mass_bicarbonate"))


def carbon_dioxide_of_air(temp_c: Number) -> Number:
    """Molality of carbon dioxide in water in equilibrium with outdoor air, mol/kg.

    Source: Henry's constant of phreeqc.dat; 420 ppm in air.

    Parameters
    ----------
    temp_c
        Of the water, 0 to 100 °C.

    Returns
    -------
    Number
        mol/kg of CO2.
    """
    kelvin = temp_c + constant("zero_celsius")
    coefficients = tuple(constant(f"henry_a{i}") for i in range(1, 7))
    return constant("air_carbon_dioxide") * 10.0 ** log_k(coefficients, kelvin, backend(temp_c))


def venting(temp_c: Number, co2_lost: Number) -> Venting | None:
    """Loss of a share, 0 to 1, of the carbon dioxide above air equilibrium; None where nothing
    leaves.

    Parameters
    ----------
    temp_c
        Of the water, 0 to 100 °C.
    co2_lost
        Share, 0 to 1, of the carbon dioxide above air equilibrium that leaves.

    Returns
    -------
    Venting | None
        For :func:`chemcore.speciation.solve_at_ph` and :func:`chemcore.speciation.solve_for_ph`.
    """
    if isinstance(co2_lost, np.ndarray) or co2_lost:
        return Venting(carbon_dioxide_of_air(temp_c), co2_lost)
    return None
