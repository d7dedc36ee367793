"""The acids: names, strengths, densities, and what a volume of each holds."""

from __future__ import annotations

from functools import cache, lru_cache
from typing import Any, NamedTuple

import numpy as np

from chemcore.errors import DomainError
from chemcore.monotone import MonotoneCurve
from chemcore.numeric import Number, require
from chemcore.speciation import Totals, molalities, solve_at_ph
from chemcore.species import all_species
from chemcore.tables import constant, fold, named_rows, number, rows


class Acid(NamedTuple):
    """One acid of ``data/acids.csv``: masses in g/mol, strengths in mass %.

    ``family`` is that of its anion in ``data/species.csv``, ``anion`` the anion's name on sheets.
    ``taste`` is what is said of its taste; ``tasted_from`` is the level in mg/L from which its
    anion is tasted, None where none is known.
    """

    name: str
    title: str
    molar_mass: float
    protons: int
    family: str
    anion: str
    anion_molar_mass: float
    default_strength: float
    min_strength: float
    max_strength: float
    solubility_strength: float
    powder_strength: float
    taste: str
    taste_source: str
    tasted_from: float | None
    tasted_source: str

    @property
    def brings_phosphate(self) -> bool:
        """Whether its anion is phosphate, which calcium may fall with."""
        return self.family == "PO4"


def acid_names() -> tuple[str, ...]:
    """The acids by the name used on sheets."""
    return tuple(row["acid"] for row in rows("acids"))


@lru_cache(maxsize=256)
def find_acid(name: str) -> Acid:
    """The acid of a trade name, chemical name or formula, in any case.

    Parameters
    ----------
    name
        Any spelling in the table, in any case.

    Returns
    -------
    Acid
        The acid's row of data/acids.csv.

    Raises
    ------
    DomainError
        For any other name.
    """
    row = named_rows("acids", "acid").get(fold(name))
    if row is None:
        raise DomainError(
            "acid", f'"{name}" is not an acid known here; use one of {", ".join(acid_names())}'
        )
    return Acid(
        row["acid"],
        row["title"],
        float(row["molar_mass"]),
        int(row["protons"]),
        row["family"],
        row["anion"],
        float(row["anion_molar_mass"]),
        float(row["default_strength"]),
        float(row["min_strength"]),
        float(row["max_strength"]),
        number(row["solubility_strength"], 100.0),
        number(row["powder_strength"], 200.0),
        row["taste"],
        row["taste_source"],
        float(row["anion_tasted_from_mg_l"]) if row["anion_tasted_from_mg_l"] else None,
        row["tasted_source"],
    )


def is_powder(acid: Acid, strength: Number) -> Any:
    """Whether this acid at this strength is a powder (citric acid from 90 % up), dosed by mass.

    Parameters
    ----------
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass %.

    Returns
    -------
    Any
        True or false, for each element of an array.
    """
    return strength >= acid.powder_strength


def checked_strength(acid: Acid, strength: Number | None) -> Number:
    """Strength in mass %, the acid's usual one where none is given.

    Parameters
    ----------
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.

    Returns
    -------
    Number
        Mass %; NaN for the elements of an array that will not do.

    Raises
    ------
    DomainError
        For a strength at which the acid does not exist, or is not in the density table.
    """
    if strength is None:
        return acid.default_strength
    if isinstance(strength, float) and (
        acid.min_strength <= strength <= min(acid.max_strength, acid.solubility_strength)
    ):
        return strength  # most strengths; what follows is for arrays, powders and refusals
    sold = (strength >= acid.min_strength) & (strength <= acid.max_strength)
    sold = sold & ((strength <= acid.solubility_strength) | (strength >= acid.powder_strength))
    return require(
        sold,
        "strength",
        lambda: (
            f"{strength:g} % is outside the range of {acid.name} acid, "
            f"{_strength_range(acid)} mass %; read it off the label"
        ),
        strength,
    )


def _strength_range(acid: Acid) -> str:
    if acid.powder_strength > acid.max_strength:
        return f"{acid.min_strength:g} to {acid.max_strength:g}"
    return (
        f"{acid.min_strength:g} to {acid.solubility_strength:g} dissolved or"
        f" {acid.powder_strength:g} to {acid.max_strength:g} as powder"
    )


def density(acid: Acid, strength: Number | None) -> Number:
    """Density of the acid as bought in kg/L at 20 °C, by mass %.

    Shape-preserving cubic interpolation (Fritsch & Carlson 1980) of the handbook points in
    data/density.csv.

    Parameters
    ----------
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.

    Returns
    -------
    Number
        kg/L at 20 °C.

    Raises
    ------
    DomainError
        For a powder, which has no volume to dose by.
    """
    if isinstance(strength, np.ndarray):
        return _density(acid, strength)
    return _density_of_float(acid.name, strength)


@lru_cache(maxsize=1024)
def _density_of_float(name: str, strength: float | None) -> float:
    return float(_density(find_acid(name), strength))


def _density(acid: Acid, strength: Number | None) -> Number:
    strength = checked_strength(acid, strength)
    curve = _curve(acid.name)
    found: Number = curve(
        require(
            strength < acid.powder_strength,
            "acid",
            lambda: (
                f"{acid.name} acid of {strength:g} % is a powder: it is weighed, not measured in mL"
            ),
            strength,
        )
    )
    return found


@cache
def _curve(name: str) -> MonotoneCurve:
    points = [
        (float(row["mass_percent"]), float(row["density"]))
        for row in rows("density")
        if row["acid"] == name and row["use"] == "table"
    ]
    return MonotoneCurve(*zip(*sorted(points)))


def mass_of_moles(moles: Number, acid: Acid, strength: Number | None) -> Number:
    """Grams of the acid as bought that hold ``moles``.

    Parameters
    ----------
    moles
        Of the acid, mol.
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.

    Returns
    -------
    Number
        g as bought.

    Raises
    ------
    DomainError
        As :func:`checked_strength`.
    """
    return moles * acid.molar_mass / (checked_strength(acid, strength) / 100.0)


def volume_of_moles(moles: Number, acid: Acid, strength: Number | None) -> Number:
    """mL at 20 °C of the acid as bought that hold ``moles``.

    Parameters
    ----------
    moles
        Of the acid, mol.
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.

    Returns
    -------
    Number
        mL at 20 °C as bought.

    Raises
    ------
    DomainError
        As :func:`density`.
    """
    return mass_of_moles(moles, acid, strength) / density(acid, strength)


def mass_of_volume(volume_ml: Number, acid: Acid, strength: Number | None) -> Number:
    """Grams of ``volume_ml`` of the acid as bought.

    Parameters
    ----------
    volume_ml
        Of the acid as bought, mL at 20 °C.
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.

    Returns
    -------
    Number
        g as bought.

    Raises
    ------
    DomainError
        As :func:`density`.
    """
    return volume_ml * density(acid, strength)


def moles_of_volume(volume_ml: Number, acid: Acid, strength: Number | None) -> Number:
    """Moles in ``volume_ml`` of the acid as bought.

    Parameters
    ----------
    volume_ml
        Of the acid as bought, mL at 20 °C.
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.

    Returns
    -------
    Number
        mol of the acid.

    Raises
    ------
    DomainError
        As :func:`density`.
    """
    return moles_of_mass(mass_of_volume(volume_ml, acid, strength), acid, strength)


def moles_of_mass(grams: Number, acid: Acid, strength: Number | None) -> Number:
    """Moles in ``grams`` of the acid as bought.

    Parameters
    ----------
    grams
        Of the acid as bought, g.
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.

    Returns
    -------
    Number
        mol of the acid.

    Raises
    ------
    DomainError
        As :func:`checked_strength`.
    """
    return grams * (checked_strength(acid, strength) / 100.0) / acid.molar_mass


def protons_released(acid: Acid, ph: Number) -> Number:
    """Mean number of hydrogen ions that one molecule has given off at this pH.

    At 20 °C and an ionic strength of 0.005 mol/kg (a treated brewing water), ion pairs left out.

    Parameters
    ----------
    acid
        From :func:`chemcore.acids.find_acid`.
    ph
        At 20 °C, 1 to 13.

    Returns
    -------
    Number
        mol of hydrogen ions to a mol of acid, 0 to the protons that it has.
    """
    trace = 1e-9
    salt = constant("nominal_ionic_strength")
    anions: dict[str, Number] = {"Cl": salt}
    if acid.family != "Cl":
        anions[acid.family] = trace
    found = molalities(
        solve_at_ph(ph, constant("report_temperature"), Totals(0.0, 0.0, salt, anions, 0.0))
    )
    members = [s for s in all_species() if s.family == acid.family and not s.metal]
    total = sum(found[s.name] for s in members)
    released: Number = sum((acid.protons - s.h) * found[s.name] for s in members) / total
    return released


def equivalents_per_litre(acid: Acid, strength: Number | None, ph: Number) -> Number:
    """Equivalents of acid that one litre as bought releases on the way down to this pH, eq/L.

    Parameters
    ----------
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.
    ph
        At 20 °C, 1 to 13.

    Returns
    -------
    Number
        eq/L of the acid as bought.

    Raises
    ------
    DomainError
        As :func:`density`.
    """
    return moles_of_volume(1000.0, acid, strength) * protons_released(acid, ph)


def equivalents_per_kg(acid: Acid, strength: Number | None, ph: Number) -> Number:
    """Equivalents of acid that one kilogram as bought releases on the way down to this pH, eq/kg.

    Parameters
    ----------
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.
    ph
        At 20 °C, 1 to 13.

    Returns
    -------
    Number
        eq/kg of the acid as bought.

    Raises
    ------
    DomainError
        As :func:`checked_strength`.
    """
    return moles_of_mass(1000.0, acid, strength) * protons_released(acid, ph)
