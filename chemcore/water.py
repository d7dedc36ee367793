"""A water as the laboratory reports it, and the sums a brewer does with the report."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from chemcore.numeric import FLOAT, Number, backend, require
from chemcore.speciation import MODEL_IONIC_STRENGTH, Solution, Totals, solve_at_ph, strong_charge
from chemcore.tables import constant
from chemcore.units import report_density

#: Highest alkalinity, mg/L as CaCO3, that is looked for where it is the answer.
HIGHEST_ALKALINITY = 5000.0


class Ions(NamedTuple):
    """Calcium, magnesium, sodium, chloride and sulfate in mg/L."""

    calcium: Number
    magnesium: Number
    sodium: Number
    chloride: Number
    sulfate: Number


def with_calcium(ions: Ions | None, calcium: Number) -> Ions:
    """The ions of a report with the calcium asked about; without a report, calcium and nothing
    else.

    Parameters
    ----------
    ions
        mg/L; None for no report.
    calcium
        mg/L.

    Returns
    -------
    Ions
        mg/L.
    """
    return (ions or Ions(0.0, 0.0, 0.0, 0.0, 0.0))._replace(calcium=calcium)


def per_kg(mg_per_litre: Number, molar_mass: float) -> Number:
    """mg per litre at 20 °C as mol per kg of water.

    Parameters
    ----------
    mg_per_litre
        mg/L at 20 °C.
    molar_mass
        g/mol.

    Returns
    -------
    Number
        mol/kg.
    """
    return mg_per_litre / (1000.0 * molar_mass * report_density())


def per_litre(mol_per_kg: Number, molar_mass: float) -> Number:
    """mol per kg of water as mg per litre at 20 °C.

    Parameters
    ----------
    mol_per_kg
        mol/kg.
    molar_mass
        g/mol.

    Returns
    -------
    Number
        mg/L at 20 °C.
    """
    return mol_per_kg * (1000.0 * molar_mass * report_density())


def alkalinity_per_kg(alkalinity: Number) -> Number:
    """Alkalinity in mg/L as CaCO3 as eq per kg of water.

    Parameters
    ----------
    alkalinity
        mg/L as CaCO3.

    Returns
    -------
    Number
        eq/kg.
    """
    return per_kg(alkalinity, constant("calcium_carbonate_equivalent"))


def alkalinity_per_litre(eq_per_kg: Number) -> Number:
    """Alkalinity in eq per kg of water as mg/L as CaCO3.

    Parameters
    ----------
    eq_per_kg
        eq/kg.

    Returns
    -------
    Number
        mg/L as CaCO3.
    """
    return per_litre(eq_per_kg, constant("calcium_carbonate_equivalent"))


def source_water(
    alkalinity: Number,
    ph: Number,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
    phosphate: Number = 0.0,
) -> Solution:
    """The water of a report, speciated; its dissolved carbonate follows from alkalinity and pH.

    Parameters
    ----------
    alkalinity
        Total alkalinity, mg/L as CaCO3, 0 to 2000.
    ph
        pH at ``temp_c``.
    ions
        mg/L; left out, the alkalinity is taken as calcium bicarbonate. Ions that do not balance are
        taken as they stand: the charge that is missing stays missing on both sides of a dose.
    temp_c
        Temperature of the reading, 0 to 100 °C.
    phosphate
        Phosphate already in the water, mg/L as PO4; its share of the alkalinity is taken off first.

    Returns
    -------
    Solution
        Solved at its pH, all totals known.

    Raises
    ------
    DomainError
        For ``ph``, where hydroxide alone is more than the alkalinity and its rounding; for ``ions``
        of a brine.
    """
    if backend(alkalinity, ph, temp_c, phosphate, *(ions or ())) is FLOAT:
        return _single_water(alkalinity, ph, ions, temp_c, phosphate)
    return _checked_water(alkalinity, ph, ions, temp_c, phosphate)


def _checked_water(
    alkalinity: Number, ph: Number, ions: Ions | None, temp_c: Number, phosphate: Number
) -> Solution:
    """The body of :func:`source_water`."""
    water = speciated(alkalinity, ph, ions, temp_c, phosphate)
    others = "hydroxide and phosphate" if "PO4" in water.totals.anions else "hydroxide"
    short, rounded = shortfall(water)
    mu = require(
        rounded,
        "ph",
        lambda: (
            f"pH {ph:g} does not go with an alkalinity of {alkalinity:g} mg/L as CaCO3: {others}"
            " alone would be more than that; look at both readings again"
        ),
        water.mu,
    )
    mu = require(
        mu <= MODEL_IONIC_STRENGTH,
        "ions",
        lambda: (
            "this is a brine: what is dissolved takes the ionic strength past"
            f" {MODEL_IONIC_STRENGTH:g} mol/kg, where the model ends (brewing liquor is below 0.1);"
            " look at the figures, which are in mg/L"
        ),
        mu,
    )
    failed = 0.0 * mu  # NaN in a row of a column that has not passed
    ca, mg, na, anions, strong = water.totals
    anions = {**anions, "CO3": backend(mu).maximum(anions["CO3"], 0.0)}
    return water._replace(
        mu=mu, ca=water.ca + failed, totals=Totals(ca, mg, na, anions, strong + short + failed)
    )


#: The formulas of a row ask about one water again and again.
_single_water: Callable[..., Solution] = lru_cache(maxsize=64)(_checked_water)


def shortfall(water: Solution) -> tuple[Number, Any]:
    """eq/kg by which the alkalinity is too low for the pH, and whether the rounding of a report
    explains it.

    Deionised water, reported with no alkalinity and a pH of 7 to 8, is such a case: it holds no
    carbonate, and the pH is believed.

    Parameters
    ----------
    water
        From :func:`speciated`.

    Returns
    -------
    tuple[Number, Any]
        eq/kg, 0 or more; and true or false, for each element of an array.
    """
    short = backend(water.charge).maximum(-water.charge, 0.0)
    return short, short <= alkalinity_per_kg(constant("report_rounding"))


def dissolved_ions(ions: Ions) -> Totals:
    """The ions of a report in mol/kg, without carbonate and its charge.

    Parameters
    ----------
    ions
        mg/L.

    Returns
    -------
    Totals
        mol/kg.
    """
    anions: dict[str, Number] = {
        "SO4": per_kg(ions.sulfate, constant("molar_mass_sulfate")),
        "Cl": per_kg(ions.chloride, constant("molar_mass_chloride")),
    }
    return Totals(
        per_kg(ions.calcium, constant("molar_mass_calcium")),
        per_kg(ions.magnesium, constant("molar_mass_magnesium")),
        per_kg(ions.sodium, constant("molar_mass_sodium")),
        anions,
        0.0,
    )


def speciated(
    alkalinity: Number,
    ph: Number,
    ions: Ions | None,
    temp_c: Number,
    phosphate: Number = 0.0,
    start: Solution | None = None,
) -> Solution:
    """:func:`source_water` without its check: the carbonate may come out negative.

    Parameters
    ----------
    alkalinity
        Total alkalinity of the source water, mg/L as CaCO3, 0 to 2000.
    ph
        pH of the source water at ``temp_c``.
    ions
        Of the source water, mg/L; left out, the alkalinity is taken as calcium bicarbonate.
    temp_c
        Temperature of the pH readings, 0 to 100 °C.
    phosphate
        Already in the water, mg/L as PO4.
    start
        A solved water like this one (speed only).

    Returns
    -------
    Solution
        Solved at its pH.
    """
    eq = alkalinity_per_kg(alkalinity)
    anions: dict[str, Number]
    if ions is None:
        ca, mg, na, anions = 0.5 * eq, 0.0 * eq, 0.0 * eq, {}
    else:
        ca, mg, na, anions, _ = dissolved_ions(ions)
    if isinstance(phosphate, np.ndarray) or phosphate:
        anions["PO4"] = per_kg(phosphate, constant("molar_mass_phosphate"))
    return solve_at_ph(
        ph,
        temp_c,
        Totals(ca, mg, na, anions, strong_charge(eq, anions)),
        free="CO3",
        start=start,
    )


def hardness(calcium: Number, magnesium: Number) -> Number:
    """Total hardness in mg/L as CaCO3 from calcium and magnesium in mg/L.

    Source: Standard Methods 2340 B (2.497 Ca + 4.118 Mg), with the molar masses of
    data/constants.csv.

    Parameters
    ----------
    calcium
        Of the water, mg/L.
    magnesium
        Of the water, mg/L.

    Returns
    -------
    Number
        mg/L as CaCO3.
    """
    return (
        2.0
        * constant("calcium_carbonate_equivalent")
        * (calcium / constant("molar_mass_calcium") + magnesium / constant("molar_mass_magnesium"))
    )


def residual_alkalinity(alkalinity: Number, calcium: Number, magnesium: Number) -> Number:
    """Residual alkalinity in mg/L as CaCO3: alkalinity - Ca/3.5 - Mg/7, all in equivalents.

    Source: Kolbach 1953, Monatsschrift für Brauerei 6:49.

    Parameters
    ----------
    alkalinity
        mg/L as CaCO3; negative after more acid than alkalinity.
    calcium
        Of the water, mg/L.
    magnesium
        Of the water, mg/L.

    Returns
    -------
    Number
        mg/L as CaCO3.
    """
    return (
        alkalinity
        - hardness(calcium, 0.0) / constant("kolbach_calcium")
        - hardness(0.0, magnesium) / constant("kolbach_magnesium")
    )


def ion_balance(ions: Ions, alkalinity: Number, ph: Number) -> Number:
    """Difference of cations and anions in % of their sum, in meq/L; positive where cations are
    more.

    Alkalinity counts as bicarbonate, carbonate and hydroxide less hydrogen ion; the hydrogen ion of
    the pH counts with the cations.

    Source: Standard Methods 1030 E.

    Parameters
    ----------
    ions
        mg/L.
    alkalinity
        Total alkalinity of the source water, mg/L as CaCO3, 0 to 2000.
    ph
        Of the water.

    Returns
    -------
    Number
        %, positive where cations are more.
    """
    hydrogen = 1000.0 * backend(ph).exp(-math.log(10.0) * ph)
    cations = (
        2.0 * ions.calcium / constant("molar_mass_calcium")
        + 2.0 * ions.magnesium / constant("molar_mass_magnesium")
        + ions.sodium / constant("molar_mass_sodium")
        + hydrogen
    )
    anions = (
        ions.chloride / constant("molar_mass_chloride")
        + 2.0 * ions.sulfate / constant("molar_mass_sulfate")
        + alkalinity / constant("calcium_carbonate_equivalent")
        + hydrogen
    )
    return 100.0 * (cations - anions) / (cations + anions)


def sulfate_chloride_ratio(sulfate: Number, chloride: Number) -> Number:
    """mg of sulfate to a mg of chloride.

    Parameters
    ----------
    sulfate
        mg/L.
    chloride
        mg/L, above 0.

    Returns
    -------
    Number
        No unit.

    Raises
    ------
    DomainError
        For water without chloride.
    """
    chloride = require(
        chloride > 0.0,
        "chloride",
        lambda: "0 mg/L leaves no ratio; give the chloride of the liquor",
        chloride,
    )
    return sulfate / chloride
