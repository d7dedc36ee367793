"""Carbon dioxide that has left a dosed tank, from readings of its pH.

A closed tank keeps the carbon dioxide that the acid sets free; from an open one it leaves, and the
pH climbs. The share lost is counted as everywhere in chemcore: of what is above air equilibrium at
the pH that was read.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from chemcore.acids import Acid, checked_strength
from chemcore.carbonate import carbon_dioxide_of_air
from chemcore.dosing import alkalinity_from_dose, dosed_totals
from chemcore.errors import DomainError
from chemcore.numeric import Number, backend, require
from chemcore.speciation import molalities, solve_at_ph
from chemcore.tables import constant, given_or
from chemcore.uncertainty import Z95, Interval, interval_95
from chemcore.water import Ions, source_water


def share_explaining(
    alkalinity: Number,
    ph: Number,
    dose_ml: Number,
    ph_read: Number,
    litres: Number,
    acid: Acid,
    strength: Number | None = None,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
) -> Number:
    """Share that explains a reading, also where it is below 0 or above 1; NaN without carbon
    dioxide to lose.

    At the pH read, the charge balance tells how much carbonate is left; what has gone is the
    difference to what the water held, and its share is that of the dissolved gas above air
    equilibrium.

    Parameters
    ----------
    alkalinity
        Total alkalinity of the source water, mg/L as CaCO3, 0 to 2000.
    ph
        pH of the source water at ``temp_c``.
    dose_ml
        Acid as bought that goes in, mL at 20 °C, 0 or more.
    ph_read
        pH that the dosed tank reads, at ``temp_c``.
    litres
        Liquor to treat, L at 20 °C, above 0.
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.
    ions
        Of the source water, mg/L; left out, the alkalinity is taken as calcium bicarbonate.
    temp_c
        Temperature of the pH readings, 0 to 100 °C.

    Returns
    -------
    Number
        Share of what is above air equilibrium; 0 none, 1 all of it.

    Raises
    ------
    DomainError
        As :func:`chemcore.dosing.dosed_totals` and :func:`chemcore.water.source_water`.
    """
    return _explained(alkalinity, ph, dose_ml, ph_read, litres, acid, strength, ions, temp_c).share


class _Explained(NamedTuple):
    """What a reading says: the share lost, and the carbonate left, mol/kg."""

    share: Number
    left: Number


def _explained(
    alkalinity: Number,
    ph: Number,
    dose_ml: Number,
    ph_read: Number,
    litres: Number,
    acid: Acid,
    strength: Number | None,
    ions: Ions | None,
    temp_c: Number,
) -> _Explained:
    water = source_water(alkalinity, ph, ions, temp_c)
    dosed = dosed_totals(water, dose_ml, litres, acid, strength)
    read = solve_at_ph(ph_read, temp_c, dosed, free="CO3", start=water)
    held, left = dosed.anions["CO3"], read.totals.anions["CO3"]
    as_gas = molalities(read)["CO2"] / left
    above_air = as_gas * held - carbon_dioxide_of_air(temp_c)
    xp = backend(above_air)
    some = above_air > 0.0
    share = xp.where(some, as_gas * (held - left) / xp.where(some, above_air, 1.0), np.nan)
    return _Explained(share, left)


def _meter() -> float:
    """How far a reading of a good meter may be from the truth."""
    return Z95 * constant("error_ph")


def co2_lost_from_reading(
    alkalinity: Number,
    ph: Number,
    dose_ml: Number,
    ph_read: Number,
    litres: Number,
    acid: Acid,
    strength: Number | None = None,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
) -> Number:
    """Share of the excess carbon dioxide that has left, 0 to 1, from the pH that a dosed tank
    reads.

    A reading that lies outside what gas explains by no more than the 95 % limit of a meter
    (``error_ph`` of data/constants.csv) counts as that end. So does one between air equilibrium at
    ``temp_c`` and no carbonate at all count as 1: hot water in equilibrium with air keeps less than
    cold.

    Parameters
    ----------
    alkalinity
        Of the water before the dose, mg/L as CaCO3. An error of it is taken for gas: a titrated one
        is wanted.
    ph, ph_read
        Before the dose, and now; cooled samples at ``temp_c``.
    dose_ml
        Acid as bought that goes in, mL at 20 °C, 0 or more.
    litres
        Liquor to treat, L at 20 °C, above 0.
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.
    ions
        Of the source water, mg/L; left out, the alkalinity is taken as calcium bicarbonate.
    temp_c
        Temperature of the pH readings, 0 to 100 °C.

    Returns
    -------
    Number
        Share, 0 to 1.

    Raises
    ------
    DomainError
        For ``ph_read`` that no share explains, or at which the water holds no excess gas.
    """

    def explained(read: Number) -> _Explained:
        return _explained(alkalinity, ph, dose_ml, read, litres, acid, strength, ions, temp_c)

    return _within(explained, ph_read, "ph_read")


def _within(explained: Callable[[Number], _Explained], ph_read: Number, argument: str) -> Number:
    """The share that explains ``ph_read`` as 0 to 1, or the refusal of a reading that no share
    explains.
    """
    found, left = explained(ph_read)
    xp = backend(found)
    require(
        found == found,
        argument,
        lambda: (
            f"at pH {ph_read:g} this water holds no more carbon dioxide than air gives it, so that"
            " none leaves; look at the alkalinity, the dose and the reading again"
        ),
        found,
    )
    not_below = (found >= 0.0) | (explained(ph_read + _meter()).share >= 0.0)
    not_above = (left >= 0.0) | (explained(ph_read - _meter()).left >= 0.0)
    found = require(
        not_below,
        argument,
        lambda: (
            f"pH {ph_read:g} is lower than this dose takes the water with all its carbon dioxide"
            " kept; gas does not explain it: look at the alkalinity, the dose, the volume and the"
            " meter again"
        ),
        found,
    )
    found = require(
        not_above,
        argument,
        lambda: (
            f"pH {ph_read:g} is higher than this dose leaves the water with all its carbon dioxide"
            " gone; gas does not explain it: look at the alkalinity, the dose, the volume and the"
            " meter again"
        ),
        found,
    )
    return xp.where(found == found, xp.minimum(xp.maximum(found, 0.0), 1.0), np.nan)


def co2_lost_interval(
    alkalinity: Number,
    ph: Number,
    dose_ml: Number,
    ph_read: Number,
    litres: Number,
    acid: Acid,
    strength: Number | None = None,
    alkalinity_error: Number | None = None,
    ph_error: Number | None = None,
    strength_error: Number | None = None,
    volume_error: Number | None = None,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
    constants_error: Number = 0.0,
) -> Interval:
    """95 % interval of :func:`co2_lost_from_reading`, cut off at 0 and 1.

    Standard errors as for :func:`chemcore.uncertainty.dose_interval`; ``ph_error`` counts at both
    readings.

    Parameters
    ----------
    alkalinity
        Total alkalinity of the source water, mg/L as CaCO3, 0 to 2000.
    ph
        pH of the source water at ``temp_c``.
    dose_ml
        Acid as bought that goes in, mL at 20 °C, 0 or more.
    ph_read
        pH that the dosed tank reads, at ``temp_c``.
    litres
        Liquor to treat, L at 20 °C, above 0.
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.
    alkalinity_error
        Standard error of the alkalinity, mg/L as CaCO3; left out, that of data/constants.csv.
    ph_error
        Standard error of each reading, pH; left out, that of data/constants.csv.
    strength_error
        Standard error of the strength, mass %; left out, that of data/constants.csv.
    volume_error
        Standard error of the volume, % of it; left out, that of data/constants.csv.
    ions
        Of the source water, mg/L; left out, the alkalinity is taken as calcium bicarbonate.
    temp_c
        Temperature of the pH readings, 0 to 100 °C.
    constants_error
        Standard error of the equilibrium constants, % of the dose.

    Returns
    -------
    Interval
        Shares, 0 to 1.

    Raises
    ------
    DomainError
        As :func:`co2_lost_from_reading`.
    """
    strength = checked_strength(acid, strength)
    ph_error = given_or(ph_error, "error_ph")
    best = co2_lost_from_reading(
        alkalinity, ph, dose_ml, ph_read, litres, acid, strength, ions, temp_c
    )

    def share(
        alkalinity: Number,
        ph: Number,
        ph_read: Number,
        litres: Number,
        strength: Number | None,
        constants: Number,
    ) -> Number:
        at_least_0 = backend(alkalinity).maximum(alkalinity, 0.0)
        return share_explaining(
            at_least_0, ph, dose_ml / constants, ph_read, litres, acid, strength, ions, temp_c
        )

    return _cut(
        best,
        interval_95(
            share,
            (alkalinity, ph, ph_read, litres, strength, 1.0),
            (
                given_or(alkalinity_error, "error_alkalinity"),
                ph_error,
                ph_error,
                litres * given_or(volume_error, "error_volume") / 100.0,
                given_or(strength_error, "error_strength"),
                constants_error / 100.0,
            ),
            least=-np.inf,
        ),
    )


def _cut(best: Number, found: Interval) -> Interval:
    """The interval between 0 and 1, never leaving out the best answer; NaN where there is none."""
    xp = backend(best, found.low)
    return Interval(
        xp.minimum(xp.maximum(found.low, 0.0), best) + 0.0 * best,
        xp.maximum(xp.minimum(found.high, 1.0), best) + 0.0 * best,
    )


def _from_two(
    ph_before: Number,
    ph_mixed: Number,
    dose_ml: Number,
    litres: Number,
    acid: Acid,
    strength: Number | None,
    ions: Ions | None,
    temp_c: Number,
) -> Callable[[Number], _Explained]:
    """What explains a later reading, as a function of it, the alkalinity being that of the
    first.
    """
    alkalinity = alkalinity_from_dose(
        ph_before, ph_mixed, dose_ml, litres, acid, strength, ions, temp_c
    )

    def explained(ph_later: Number) -> _Explained:
        return _explained(
            alkalinity, ph_before, dose_ml, ph_later, litres, acid, strength, ions, temp_c
        )

    return explained


def co2_lost_from_two_readings(
    ph_before: Number,
    ph_mixed: Number,
    ph_later: Number,
    dose_ml: Number,
    litres: Number,
    acid: Acid,
    strength: Number | None = None,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
) -> Number:
    """Share of the excess carbon dioxide that left between mixing and a later reading, the
    alkalinity unknown.

    One reading cannot tell alkalinity from gas. Two can, if nothing has left yet at the first: that
    one gives the alkalinity (:func:`chemcore.dosing.alkalinity_from_dose`), the later one the gas.

    Parameters
    ----------
    ph_before
        pH of the source water before any acid, at ``temp_c``.
    ph_mixed
        pH as soon as the dose is mixed in, at ``temp_c``.
    ph_later
        pH now, at ``temp_c``.
    dose_ml
        Acid as bought that goes in, mL at 20 °C, 0 or more.
    litres
        Liquor to treat, L at 20 °C, above 0.
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.
    ions
        Of the source water, mg/L; left out, the alkalinity is taken as calcium bicarbonate.
    temp_c
        Temperature of the pH readings, 0 to 100 °C.

    Returns
    -------
    Number
        Share, 0 to 1.

    Raises
    ------
    DomainError
        As :func:`chemcore.dosing.alkalinity_from_dose` for ``ph_mixed`` and ``dose_ml``, and for a
        ``ph_later`` that no share explains.
    """
    try:
        explained = _from_two(ph_before, ph_mixed, dose_ml, litres, acid, strength, ions, temp_c)
    except DomainError as error:
        raise DomainError(
            "ph_mixed" if error.argument == "ph_after" else error.argument, error.reason
        ) from None
    return _within(explained, ph_later, "ph_later")


def co2_lost_from_two_interval(
    ph_before: Number,
    ph_mixed: Number,
    ph_later: Number,
    dose_ml: Number,
    litres: Number,
    acid: Acid,
    strength: Number | None = None,
    ph_error: Number | None = None,
    strength_error: Number | None = None,
    volume_error: Number | None = None,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
    constants_error: Number = 0.0,
) -> Interval:
    """95 % interval of :func:`co2_lost_from_two_readings`, cut off at 0 and 1; ``ph_error`` counts
    at all three.

    ``constants_error`` in % of the dose, as for :func:`chemcore.uncertainty.dose_interval`, counts
    at both uses of it.

    Parameters
    ----------
    ph_before
        pH of the source water before any acid, at ``temp_c``.
    ph_mixed
        pH as soon as the dose is mixed in, at ``temp_c``.
    ph_later
        pH now, at ``temp_c``.
    dose_ml
        Acid as bought that goes in, mL at 20 °C, 0 or more.
    litres
        Liquor to treat, L at 20 °C, above 0.
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.
    ph_error
        Standard error of each reading, pH; left out, that of data/constants.csv.
    strength_error
        Standard error of the strength, mass %; left out, that of data/constants.csv.
    volume_error
        Standard error of the volume, % of it; left out, that of data/constants.csv.
    ions
        Of the source water, mg/L; left out, the alkalinity is taken as calcium bicarbonate.
    temp_c
        Temperature of the pH readings, 0 to 100 °C.
    constants_error
        Standard error of the equilibrium constants, % of the dose.

    Returns
    -------
    Interval
        Shares, 0 to 1.

    Raises
    ------
    DomainError
        As :func:`co2_lost_from_two_readings`.
    """
    strength = checked_strength(acid, strength)
    ph_error = given_or(ph_error, "error_ph")
    best = co2_lost_from_two_readings(
        ph_before, ph_mixed, ph_later, dose_ml, litres, acid, strength, ions, temp_c
    )

    def share(
        ph_before: Number,
        ph_mixed: Number,
        ph_later: Number,
        litres: Number,
        strength: Number | None,
        constants: Number,
    ) -> Number:
        dose = dose_ml / constants
        return _from_two(ph_before, ph_mixed, dose, litres, acid, strength, ions, temp_c)(
            ph_later
        ).share

    return _cut(
        best,
        interval_95(
            share,
            (ph_before, ph_mixed, ph_later, litres, strength, 1.0),
            (
                ph_error,
                ph_error,
                ph_error,
                litres * given_or(volume_error, "error_volume") / 100.0,
                given_or(strength_error, "error_strength"),
                constants_error / 100.0,
            ),
            least=-np.inf,
        ),
    )
