"""Salts for brewing liquor: what a weight of each brings, and what lime and chalk do to pH and
alkalinity.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from chemcore.carbonate import venting
from chemcore.errors import DomainError
from chemcore.numeric import LN10, Number, backend, require
from chemcore.precipitation import excess, without
from chemcore.solids import find_solid
from chemcore.speciation import Totals, solve_at_ph, solve_for_ph
from chemcore.tables import constant, fold, named_rows, rows
from chemcore.units import report_density
from chemcore.water import Ions, alkalinity_per_litre, source_water

#: Most salt in g/L that is answered for: about the ionic strength, 0.5 mol/kg, to which activities
#: are known.
MOST_SALT = 20.0
#: What a dose of salt can be asked for by.
AIMS = (*Ions._fields, "alkalinity")


class Salt(NamedTuple):
    """One row of ``data/salts.csv``: moles of each ion, and equivalents of alkalinity, in a mole of
    the salt.
    """

    name: str
    molar_mass: float
    ions: Ions
    carbonate: float
    alkalinity: float
    default_strength: float

    @property
    def is_chalk(self) -> bool:
        """Whether the salt is calcium carbonate, which calcite saturation keeps from dissolving."""
        return bool(self.ions.calcium and self.carbonate)


def salt_names() -> tuple[str, ...]:
    """The salts by the name used on sheets; the water of crystals is part of it."""
    return tuple(row["salt"] for row in rows("salts"))


@lru_cache(maxsize=64)
def find_salt(name: str) -> Salt:
    """The salt of a trade name, chemical name or formula, in any case.

    A bare "calcium chloride" or "magnesium chloride" is refused: it does not say how much water it
    holds.

    Parameters
    ----------
    name
        Any spelling in the table, in any case.

    Returns
    -------
    Salt
        Its row of data/salts.csv.

    Raises
    ------
    DomainError
        For any other name.
    """
    row = named_rows("salts", "salt").get(fold(name))
    if row is None:
        close = [salt for salt in salt_names() if salt.startswith(f"{fold(name)} ")]
        why = "does not say how much water it holds" if close else "is not a salt known here"
        raise DomainError("salt", f'"{name}" {why}; use one of {", ".join(close or salt_names())}')
    return Salt(
        row["salt"],
        float(row["molar_mass"]),
        Ions(*(float(row[ion]) for ion in Ions._fields)),
        float(row["carbonate"]),
        float(row["alkalinity"]),
        float(row["default_strength"]),
    )


def find_aim(name: str) -> str:
    """One of :data:`AIMS`, from its name or formula in any case.

    Parameters
    ----------
    name
        Any spelling in the table, in any case.

    Returns
    -------
    str
        As in :data:`AIMS`.

    Raises
    ------
    DomainError
        For any other name.
    """
    row = named_rows("aims", "aim").get(fold(name))
    if row is None:
        raise DomainError(
            "ion", f'"{name}" is nothing that a salt is dosed for; use one of {", ".join(AIMS)}'
        )
    return row["aim"]


def moles_per_litre(
    salt: Salt, grams: Number, litres: Number, strength: Number | None = None
) -> Number:
    """mol/L of the salt.

    Parameters
    ----------
    salt
        From :func:`find_salt`.
    grams
        Salt as weighed, g.
    litres
        Liquor to treat, L at 20 °C, above 0.
    strength
        Mass % of the salt in what is weighed; left out, its usual one.

    Returns
    -------
    Number
        mol/L.
    """
    strength = salt.default_strength if strength is None else strength
    return grams * (strength / 100.0) / salt.molar_mass / litres


def _molar_masses() -> Ions:
    return Ions(*(constant(f"molar_mass_{ion}") for ion in Ions._fields))


def ions_added(salt: Salt, grams: Number, litres: Number, strength: Number | None = None) -> Ions:
    """mg/L of each ion that the salt brings once dissolved.

    Parameters
    ----------
    salt
        From :func:`find_salt`.
    grams
        Salt as weighed, g.
    litres
        Liquor to treat, L at 20 °C, above 0.
    strength
        Mass % of the salt in what is weighed; left out, its usual one.

    Returns
    -------
    Ions
        mg/L.
    """
    moles = moles_per_litre(salt, grams, litres, strength)
    return Ions(*(1000.0 * moles * count * mass for count, mass in zip(salt.ions, _molar_masses())))


def alkalinity_added(
    salt: Salt, grams: Number, litres: Number, strength: Number | None = None
) -> Number:
    """mg/L as CaCO3 that the salt brings once dissolved.

    Parameters
    ----------
    salt
        From :func:`find_salt`.
    grams
        Salt as weighed, g.
    litres
        Liquor to treat, L at 20 °C, above 0.
    strength
        Mass % of the salt in what is weighed; left out, its usual one.

    Returns
    -------
    Number
        mg/L as CaCO3.
    """
    return (
        1000.0
        * moles_per_litre(salt, grams, litres, strength)
        * salt.alkalinity
        * constant("calcium_carbonate_equivalent")
    )


def mass_for(
    salt: Salt, aim: str, mg_l: Number, litres: Number, strength: Number | None = None
) -> Number:
    """Grams of the salt that bring ``mg_l`` of an ion, or of alkalinity as CaCO3.

    Parameters
    ----------
    salt
        From :func:`find_salt`.
    aim
        One of :data:`AIMS`.
    mg_l
        Wanted, mg/L; of alkalinity as CaCO3.
    litres
        Liquor to treat, L at 20 °C, above 0.
    strength
        Mass % of the salt in what is weighed; left out, its usual one.

    Returns
    -------
    Number
        g as weighed.

    Raises
    ------
    DomainError
        For an ion that the salt does not hold.
    """
    held = {**salt.ions._asdict(), "alkalinity": salt.alkalinity}
    if not held[aim]:
        brings = ", ".join(name for name in AIMS if held[name])
        raise DomainError("ion", f"{salt.name} brings no {aim}; it brings {brings}")
    if aim == "alkalinity":
        return mg_l / alkalinity_added(salt, 1.0, litres, strength)
    brought: Number = getattr(ions_added(salt, 1.0, litres, strength), aim)
    return mg_l / brought


def salted(totals: Totals, salt: Salt, moles_per_kg: Number) -> Totals:
    """The totals of a water with the salt wholly dissolved in it.

    Parameters
    ----------
    totals
        What is dissolved, mol/kg.
    salt
        From :func:`find_salt`.
    moles_per_kg
        Of the salt, mol/kg.

    Returns
    -------
    Totals
        mol/kg.
    """
    held = salt.ions
    charge = 2.0 * held.calcium + 2.0 * held.magnesium + held.sodium
    more = totals._replace(
        ca=totals.ca + moles_per_kg * held.calcium,
        mg=totals.mg + moles_per_kg * held.magnesium,
        na=totals.na + moles_per_kg * held.sodium,
        strong=totals.strong + moles_per_kg * charge,
    )
    for family, count in (("Cl", held.chloride), ("SO4", held.sulfate), ("CO3", salt.carbonate)):
        if count:
            more = more.with_anion(family, more.anions.get(family, 0.0) + moles_per_kg * count)
    return more


class Treated(NamedTuple):
    """A water after a salt: pH of a cooled sample and alkalinity in mg/L as CaCO3."""

    ph: Number
    alkalinity: Number


class Limed(NamedTuple):
    """A water after a salt, and its saturation index of magnesium hydroxide, which is not let
    fall.
    """

    treated: Treated
    brucite: Number


def limed(
    alkalinity: Number,
    ph: Number,
    salt: Salt,
    grams: Number,
    litres: Number,
    strength: Number | None = None,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
    co2_lost: Number = 0.0,
    settled: Number = 0.0,
) -> Limed:
    """pH and alkalinity after a salt.

    Chalk dissolves no further than calcite saturation; the rest lies on the bottom.

    Parameters
    ----------
    alkalinity, ph, ions, temp_c
        The water as for :func:`chemcore.water.source_water`.
    salt, grams, litres, strength
        The addition.
    co2_lost
        Share of the carbon dioxide above air equilibrium that leaves. None is taken up from the
        air.
    settled
        Share, 0 to 1, of the calcium carbonate above saturation that has fallen: 0 a clear water
        that holds it for now, 1 lime softening let to settle.

    Returns
    -------
    Limed
        pH at ``temp_c``, mg/L as CaCO3, and the index of magnesium hydroxide.

    Raises
    ------
    DomainError
        For more than 20 g/L, or so much lime that the pH would be above 13.
    """
    grams = require(
        grams <= MOST_SALT * litres,
        "grams",
        lambda: f"{grams:g} g in {litres:g} L is more than {MOST_SALT:g} g/L; look at the units",
        grams,
    )
    added = moles_per_litre(salt, grams, litres, strength)
    water = source_water(alkalinity, ph, ions, temp_c).totals
    totals = salted(water, salt, added / report_density())
    lost = venting(temp_c, co2_lost)
    clear = solve_for_ph(temp_c, totals, lost)
    clear = require(
        clear == clear,
        "grams",
        lambda: (
            f"{grams:g} g of {salt.name} in {litres:g} L takes the pH above 13; look at the units"
        ),
        clear,
    )
    calcite, fallen = find_solid("calcite"), 0.0 * clear
    if salt.is_chalk or isinstance(settled, np.ndarray) or settled:
        over = excess(totals, calcite, temp_c, lost)
        xp = backend(over, settled)
        undissolved = xp.minimum(over, added / report_density()) if salt.is_chalk else 0.0
        fallen = xp.maximum(undissolved, settled * over)
    left = without(totals, calcite, fallen)
    treated = solve_for_ph(temp_c, left, lost)
    return Limed(
        Treated(
            treated,
            alkalinity
            + alkalinity_added(salt, grams, litres, strength)
            - alkalinity_per_litre(2.0 * fallen),
        ),
        _brucite_index(treated, temp_c, left),
    )


def after_salt(
    alkalinity: Number,
    ph: Number,
    salt: Salt,
    grams: Number,
    litres: Number,
    strength: Number | None = None,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
    co2_lost: Number = 0.0,
    settled: Number = 0.0,
) -> Treated:
    """:func:`limed` without the index, also where magnesium hydroxide would fall.

    Parameters
    ----------
    alkalinity
        Total alkalinity of the source water, mg/L as CaCO3, 0 to 2000.
    ph
        pH of the source water at ``temp_c``.
    salt
        From :func:`find_salt`.
    grams
        Salt as weighed, g.
    litres
        Liquor to treat, L at 20 °C, above 0.
    strength
        Mass % of the salt in what is weighed; left out, its usual one.
    ions
        Of the source water, mg/L; left out, the alkalinity is taken as calcium bicarbonate.
    temp_c
        Temperature of the pH readings, 0 to 100 °C.
    co2_lost
        Share, 0 to 1, of the carbon dioxide above air equilibrium that leaves.
    settled
        Share, 0 to 1, of the calcium carbonate above saturation that has fallen.

    Returns
    -------
    Treated
        pH at ``temp_c`` and mg/L as CaCO3.

    Raises
    ------
    DomainError
        As :func:`limed`.
    """
    return limed(
        alkalinity, ph, salt, grams, litres, strength, ions, temp_c, co2_lost, settled
    ).treated


def without_brucite(found: Limed, salt: Salt, grams: Number, litres: Number) -> Treated:
    """The answer of :func:`limed`, where magnesium stays dissolved.

    Parameters
    ----------
    found
        From :func:`limed`.
    salt
        From :func:`find_salt`.
    grams
        Salt as weighed, g.
    litres
        Liquor to treat, L at 20 °C, above 0.

    Returns
    -------
    Treated
        pH and mg/L as CaCO3.

    Raises
    ------
    DomainError
        Where a salt has taken the water above saturation with magnesium hydroxide, which is not
        reckoned with.
    """
    ph = require(
        (found.brucite <= 0.0) | (salt.alkalinity == 0.0),
        "grams",
        lambda: (
            f"{grams:g} g of {salt.name} in {litres:g} L takes the water to pH"
            f" {found.treated.ph:.1f}, where its magnesium falls as hydroxide and takes lime with"
            " it, which is not reckoned here; use less"
        ),
        found.treated.ph,
    )
    return Treated(ph, found.treated.alkalinity + 0.0 * ph)


def _brucite_index(ph: Number, temp_c: Number, totals: Totals) -> Number:
    """log10 (IAP/K) of magnesium hydroxide; minus infinity without magnesium.

    Source: log K and enthalpy of minteq.v4.dat, see data/constants.csv.
    """
    magnesium = solve_at_ph(ph, temp_c, totals).mg
    xp = backend(magnesium)
    some = magnesium > 0.0
    kelvin = temp_c + constant("zero_celsius")
    slope = 1000.0 * constant("brucite_delta_h") / (constant("gas_constant") * LN10)
    log_k = constant("brucite_log_k") + slope * (
        1.0 / constant("reference_temperature") - 1.0 / kelvin
    )
    return xp.where(some, xp.log10(xp.where(some, magnesium, 1.0)) + 2.0 * ph - log_k, -np.inf)
