"""A titration at the bench: the alkalinity it finds, and the tank's dose from the measured curve
alone.

A curve is two columns, total mL of titrant so far and pH, with NaN where a reading was missed; a
pair counts when both are there.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from chemcore.acids import Acid, equivalents_per_litre, protons_released, volume_of_moles
from chemcore.errors import DomainError
from chemcore.monotone import MonotoneCurve
from chemcore.numeric import FLOAT, Array, Column, Number, require
from chemcore.readings import pairs, require_rising
from chemcore.speciation import molalities, solve_at_ph
from chemcore.species import all_species, constants_at, log_gamma
from chemcore.tables import constant, fold, given_or
from chemcore.units import report_density
from chemcore.water import Ions, dissolved_ions, speciated

METHODS = ("Gran", "inflection", "end point")
FEWEST_READINGS = 3
#: A meter may drift up by this much between two readings; more is a slip of the pen, for acid only
#: lowers pH.
LARGEST_RISE = 0.1
#: Readings on the Gran line: past the end point, and not so acid that the electrode and activities
#: drift.
GRAN_PH = (3.0, 4.0)
FEWEST_ON_LINE = 4
#: Lowest pH of a first reading that still tells how much carbonate the sample held.
LOWEST_FIRST_PH = 5.0
#: pH between which the steepest fall is the end point of the alkalinity.
INFLECTION_PH = (3.5, 6.0)


class Curve(NamedTuple):
    """The pairs of a titration curve that have both readings."""

    ml: np.ndarray
    ph: np.ndarray


class GranLine(NamedTuple):
    """``slope`` (mol/L) times mL plus ``intercept`` (mmol), and where it is zero, with standard
    error, in mL.
    """

    slope: float
    intercept: float
    end_ml: float
    end_ml_error: float
    readings: int

    @property
    def half_width_ml(self) -> float:
        """Half the width of the 95 % interval of ``end_ml``: its standard error times Student's
        t.
        """
        from scipy.special import stdtrit

        return self.end_ml_error * float(stdtrit(self.readings - 2, 0.975))


def find_method(name: str) -> str:
    """The method of a name in any case: Gran, inflection or end point.

    Parameters
    ----------
    name
        Any spelling in the table, in any case.

    Returns
    -------
    str
        One of :data:`METHODS`.

    Raises
    ------
    DomainError
        For any other name.
    """
    found = {fold(method): method for method in METHODS}.get(
        fold(name).replace("endpoint", "end point")
    )
    if found is None:
        raise DomainError(
            "method", f'"{name}" is not a method known here; use one of {", ".join(METHODS)}'
        )
    return found


def curve(ml: Column, phs: Column) -> Curve:
    """The readings of a titration, checked.

    Parameters
    ----------
    ml
        Titrant so far at each reading, mL; NaN where missed.
    phs
        pH of each; NaN where missed.

    Returns
    -------
    The pairs that have both.

    Raises
    ------
    DomainError
        For columns of unlike length, a pH without its volume, volumes that do not rise, a pH that
        rises, or fewer than three readings.
    """
    ml, ph, rows = pairs(ml, phs, "type the total of titrant at that reading")
    if len(ml) < FEWEST_READINGS:
        raise DomainError("phs", f"{len(ml)} readings are no curve; give {FEWEST_READINGS} or more")
    require_rising("ml", "mL", ml, rows)
    for i in np.flatnonzero(np.diff(ph) > LARGEST_RISE):
        raise DomainError(
            "phs",
            f"row {rows[i + 1]} has pH {ph[i + 1]:g}, above the {ph[i]:g} of row {rows[i]}; acid"
            " only lowers pH",
        )
    return Curve(ml, ph)


def ml_at_ph(ml: Column, phs: Column, ph: float, argument: str = "endpoint_ph") -> float:
    """mL of titrant at which the measured curve first reaches ``ph``, between readings by a smooth
    curve.

    Parameters
    ----------
    ml, phs
        As in :func:`curve`.
    ph
        pH to look for.
    argument
        Name under which the refusal speaks of ``ph``.

    Returns
    -------
    float
        mL of titrant.

    Raises
    ------
    DomainError
        For ``argument``, where the curve begins below that pH or ends above it.
    """
    readings = curve(ml, phs)
    if ph > readings.ph[0]:
        raise DomainError(
            argument,
            f"{ph:g} is above the first reading, pH {readings.ph[0]:g}; acid only lowers pH",
        )
    if ph < readings.ph.min():
        raise DomainError(
            argument, f"the curve ends at pH {readings.ph.min():g}, above {ph:g}; titrate further"
        )
    return MonotoneCurve(*readings).first_at(ph)


def ph_at_ml(ml: Column, phs: Column, at_ml: Number) -> float:
    """pH on the smooth curve through the readings, at ``at_ml`` mL of titrant.

    Source: shape-preserving cubics, Fritsch & Carlson 1980, SIAM J. Numer. Anal. 17:238.

    Parameters
    ----------
    ml
        Titrant so far at each reading, mL; NaN where missed.
    phs
        pH of each reading; NaN where missed.
    at_ml
        Titrant so far, mL, within the readings.

    Returns
    -------
    float
        pH.

    Raises
    ------
    DomainError
        For a volume outside the readings.
    """
    readings = curve(ml, phs)
    if not readings.ml[0] <= at_ml <= readings.ml[-1]:
        raise DomainError(
            "at_ml",
            f"{at_ml:g} mL is outside the curve, {readings.ml[0]:g} to {readings.ml[-1]:g} mL",
        )
    return float(MonotoneCurve(*readings)(at_ml))


def gran_value(ml: Number, ph: Number, sample_ml: Number) -> Number:
    """Gran's function (sample + titrant) 10^-pH in µmol: past the end point it rises in a straight
    line.

    Source: Gran 1952, Analyst 77:661.

    Parameters
    ----------
    ml, sample_ml
        Titrant so far and sample, mL.
    ph
        Reading at that volume.

    Returns
    -------
    Number
        µmol.
    """
    return 1000.0 * (sample_ml + ml) * 10.0 ** (-ph)


def gran_line(ml: Column, phs: Column, sample_ml: float, normality: float) -> GranLine:
    """The straight line of Gran's function past the end point.

    Readings from pH 3 to 4, weighted for an error of the meter that is the same at every pH. What
    bicarbonate is still there at these pH is taken off first, all carbon dioxide being kept in the
    sample; how much that is follows from the first reading and the alkalinity, in turns. A curve
    that begins below pH 5 is taken to have none. An error of the meter's zero changes the slope but
    not the end point; one of its slope moves the end point, by -5 % at 20, -1.3 % at 60 and -0.3 %
    at 150 mg/L for a slope of 95 % (:mod:`chemcore.electrode` corrects for it).

    Source: Gran 1952, Analyst 77:661; Stumm & Morgan 1996, ch. 4.4 (with the bicarbonate).

    Parameters
    ----------
    ml, phs
        As in :func:`curve`.
    sample_ml
        Sample, mL.
    normality
        Of the titrant, eq/L.

    Returns
    -------
    GranLine
        Slope, intercept, end point and how well it is known.

    Raises
    ------
    DomainError
        For fewer than four readings on the line, or a line that does not cross zero at a positive
        volume.
    """
    readings = curve(ml, phs)
    past = (readings.ph >= GRAN_PH[0]) & (readings.ph <= GRAN_PH[1])
    if past.sum() < FEWEST_ON_LINE:
        raise DomainError(
            "phs",
            f"Gran's line runs from pH {GRAN_PH[1]:g} down to {GRAN_PH[0]:g}, and {FEWEST_ON_LINE}"
            f" readings are needed there; this curve has {past.sum()}: go on to below pH"
            f" {GRAN_PH[1]:g} in small steps, or use another method",
        )
    volume, ph = sample_ml + readings.ml[past], readings.ph[past]
    hydrogen = 10.0 ** (-ph)
    bicarbonate = np.zeros_like(hydrogen)
    end_ml = np.nan
    for _ in range(20):
        points = volume * (hydrogen - bicarbonate)
        weights = 1.0 / (volume * (hydrogen + bicarbonate))
        (slope, intercept), covariance = np.polyfit(
            readings.ml[past], points, 1, w=weights, cov=True
        )
        before, end_ml = end_ml, -intercept / slope
        if not slope > 0.0 or not end_ml > 0.0:
            raise DomainError(
                "phs",
                "past the end point Gran's line does not rise from a positive volume; the water has"
                " no alkalinity, or readings and volumes do not belong together",
            )
        if abs(end_ml - before) < 1e-10 * end_ml:
            break
        bicarbonate = _bicarbonate_left(readings, sample_ml, normality, end_ml, hydrogen, volume)
    by_slope, by_intercept = intercept / slope**2, -1.0 / slope
    variance = (
        by_slope**2 * covariance[0, 0]
        + 2.0 * by_slope * by_intercept * covariance[0, 1]
        + by_intercept**2 * covariance[1, 1]
    )
    return GranLine(
        float(slope), float(intercept), float(end_ml), float(np.sqrt(variance)), int(past.sum())
    )


def _bicarbonate_left(
    readings: Curve,
    sample_ml: float,
    normality: float,
    end_ml: float,
    hydrogen: Array,
    volume: Array,
) -> Array:
    """Bicarbonate at the readings on the line, on the scale of the pH (times its activity
    coefficient), mol/L.
    """
    if readings.ph[0] < LOWEST_FIRST_PH:
        return np.zeros_like(hydrogen)
    first = sample_ml + readings.ml[0]
    alkalinity = alkalinity_of(end_ml - readings.ml[0], first, normality)
    water = speciated(alkalinity, float(readings.ph[0]), None, constant("report_temperature"))
    carbonate = max(water.totals.anions["CO3"], 0.0) * report_density() * first / volume
    constants = constants_at(constant("report_temperature"))
    k1 = constants.k["HCO3-"] / constants.k["CO2"]
    ion = next(s for s in all_species() if s.name == "HCO3-")
    gamma = 10.0 ** log_gamma(
        ion, constant("nominal_ionic_strength"), constants.slope_a, constants.slope_b, FLOAT
    )
    left: Array = k1 / hydrogen * carbonate / (1.0 + k1 / (gamma * hydrogen))
    return left


def inflection_ml(ml: Column, phs: Column) -> float:
    """mL at the steepest fall of pH between 6 and 3.5: the middle of that pair of readings, or of
    several alike.

    Source: incremental equivalence, USGS National Field Manual, ch. A6.6.

    Parameters
    ----------
    ml
        Titrant so far at each reading, mL; NaN where missed.
    phs
        pH of each reading; NaN where missed.

    Returns
    -------
    float
        mL of titrant.

    Raises
    ------
    DomainError
        Where the curve ends there, so that it is not known whether it would have fallen more
        steeply.
    """
    readings = curve(ml, phs)
    fall = -np.diff(readings.ph) / np.diff(readings.ml)
    middle_ph = 0.5 * (readings.ph[1:] + readings.ph[:-1])
    middle_ml = 0.5 * (readings.ml[1:] + readings.ml[:-1])
    near = (middle_ph >= INFLECTION_PH[0]) & (middle_ph <= INFLECTION_PH[1])
    steepest = near & np.isclose(fall, fall[near].max(initial=0.0), rtol=1e-9)
    if not steepest.any() or steepest[-1]:
        raise DomainError(
            "phs",
            f"the curve has not passed its steepest fall between pH {INFLECTION_PH[1]:g} and "
            f"{INFLECTION_PH[0]:g}; titrate further",
        )
    places = middle_ml[steepest]
    return float(0.5 * (places[0] + places[-1]))


def end_point_ml(
    ml: Column,
    phs: Column,
    sample_ml: float,
    normality: float,
    method: str = "Gran",
    endpoint_ph: Number | None = None,
) -> float:
    """mL of titrant at the end point by one of :data:`METHODS`.

    Parameters
    ----------
    ml, phs, sample_ml, normality
        As in :func:`gran_line`.
    method
        One of :data:`METHODS`.
    endpoint_ph
        The fixed end point; left out, pH 4.5 (Standard Methods 2320 B).

    Returns
    -------
    float
        mL of titrant.

    Raises
    ------
    DomainError
        As :func:`gran_line`, :func:`inflection_ml` or :func:`ml_at_ph`.
    """
    if method == "Gran":
        return gran_line(ml, phs, sample_ml, normality).end_ml
    if method == "inflection":
        return inflection_ml(ml, phs)
    return ml_at_ph(ml, phs, float(given_or(endpoint_ph, "endpoint_ph")))


def alkalinity_of(titrant_ml: float, sample_ml: float, normality: float) -> float:
    """mg/L as CaCO3 of a sample that took so much titrant.

    Source: Standard Methods 2320 B, A N 50000/mL of sample, with the equivalent mass of
    data/constants.csv.

    Parameters
    ----------
    titrant_ml, sample_ml
        mL.
    normality
        Of the titrant, eq/L.

    Returns
    -------
    float
        mg/L as CaCO3.
    """
    return titrant_ml * normality / sample_ml * 1000.0 * constant("calcium_carbonate_equivalent")


def alkalinity(
    ml: Column,
    phs: Column,
    sample_ml: float,
    normality: float,
    method: str = "Gran",
    endpoint_ph: Number | None = None,
) -> float:
    """Total alkalinity in mg/L as CaCO3 of the sample.

    Parameters
    ----------
    ml
        Titrant so far at each reading, mL; NaN where missed.
    phs
        pH of each reading; NaN where missed.
    sample_ml
        Sample, mL.
    normality
        Of the titrant, eq/L.
    method
        One of :data:`METHODS`.
    endpoint_ph
        The fixed end point; left out, pH 4.5.

    Returns
    -------
    float
        mg/L as CaCO3.

    Raises
    ------
    DomainError
        As :func:`end_point_ml`.
    """
    return alkalinity_of(
        end_point_ml(ml, phs, sample_ml, normality, method, endpoint_ph), sample_ml, normality
    )


def alkalinity_error(ml: Column, phs: Column, sample_ml: float, normality: float) -> float:
    """Standard error in mg/L as CaCO3 of the alkalinity by Gran's line, from the scatter of the
    readings about it.

    Parameters
    ----------
    ml
        Titrant so far at each reading, mL; NaN where missed.
    phs
        pH of each reading; NaN where missed.
    sample_ml
        Sample, mL.
    normality
        Of the titrant, eq/L.

    Returns
    -------
    float
        mg/L as CaCO3.

    Raises
    ------
    DomainError
        As :func:`gran_line`.
    """
    return alkalinity_of(
        gran_line(ml, phs, sample_ml, normality).end_ml_error, sample_ml, normality
    )


def alkalinity_half_width(ml: Column, phs: Column, sample_ml: float, normality: float) -> float:
    """Half the width of the 95 % interval of the alkalinity by Gran's line, mg/L as CaCO3.

    Of the scatter of the readings alone: an electrode whose slope is off, gas lost from the sample
    before the end point's readings, and the errors of titrant and sample volume are not in it.

    Parameters
    ----------
    ml
        Titrant so far at each reading, mL; NaN where missed.
    phs
        pH of each reading; NaN where missed.
    sample_ml
        Sample, mL.
    normality
        Of the titrant, eq/L.

    Returns
    -------
    float
        mg/L as CaCO3.

    Raises
    ------
    DomainError
        As :func:`gran_line`.
    """
    return alkalinity_of(
        gran_line(ml, phs, sample_ml, normality).half_width_ml, sample_ml, normality
    )


def curve_dose(
    ml: Column,
    phs: Column,
    sample_ml: float,
    titrant_normality: float,
    target_ph: float,
    litres: Number,
    acid: Acid,
    strength: Number | None = None,
    titrant: Acid | None = None,
    ions: Ions | None = None,
) -> Number:
    """mL at 20 °C of the acid as bought that takes ``litres`` to ``target_ph``, from the measured
    curve alone.

    The equivalents that a litre of the sample took on the way to the target, over those that a mole
    of the tank's acid releases there. Where the titrant was that acid itself, diluted, its
    chemistry cancels and the volumes alone count.

    Parameters
    ----------
    ml
        Titrant so far at each reading, mL; NaN where missed.
    phs
        pH of each reading; NaN where missed.
    sample_ml
        Sample, mL.
    titrant_normality
        eq/L; of a weak titrant as :func:`diluted_normality` counts it.
    target_ph
        pH to reach, within the curve.
    litres
        Liquor to treat, L at 20 °C, above 0.
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.
    titrant
        The titrant's acid; left out, a strong one.
    ions
        mg/L, for the ion pairs that let an acid release more; left out, calcium to the alkalinity,
        as far as the curve shows it.

    Returns
    -------
    Number
        mL at 20 °C of the acid as bought.

    Raises
    ------
    DomainError
        As :func:`ml_at_ph` for ``target_ph``.
    """
    if ions is None:
        ions = calcium_for(ml, phs, sample_ml, titrant_normality)
    taken = ml_at_ph(ml, phs, target_ph, "target_ph") * titrant_normality / sample_ml
    return dose_of_equivalents(taken, target_ph, litres, acid, strength, titrant, ions)


def dose_of_equivalents(
    taken: float,
    target_ph: float,
    litres: Number,
    acid: Acid,
    strength: Number | None,
    titrant: Acid | None,
    ions: Ions,
) -> Number:
    """mL of the tank's acid for ``litres`` of a water of which a litre took these eq of titrant
    down to the target.

    Parameters
    ----------
    taken
        eq of titrant that a litre took down to the target.
    target_ph
        pH to reach at 20 °C.
    litres
        Liquor to treat, L at 20 °C, above 0.
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.
    titrant
        The titrant's acid; None for a strong one.
    ions
        mg/L, for the ion pairs.

    Returns
    -------
    Number
        mL at 20 °C of the acid as bought.

    Raises
    ------
    DomainError
        As :func:`chemcore.acids.density`.
    """
    if titrant is None:
        moles = _moles_releasing(taken, acid, target_ph, ions)
    else:
        moles = taken / float(protons_released(titrant, constant("endpoint_ph")))
        if titrant != acid:
            taken = moles * _released(titrant, target_ph, moles, ions)
            moles = _moles_releasing(taken, acid, target_ph, ions)
    return volume_of_moles(litres * moles, acid, strength)


def calcium_for(ml: Column, phs: Column, sample_ml: float, normality: float) -> Ions:
    """Ions of a calcium bicarbonate water: calcium, mg/L, to the acid taken down to pH 4.5 or the
    end of the curve.

    Parameters
    ----------
    ml
        Titrant so far at each reading, mL; NaN where missed.
    phs
        pH of each reading; NaN where missed.
    sample_ml
        Sample, mL.
    normality
        Of the titrant, eq/L.

    Returns
    -------
    Ions
        mg/L.

    Raises
    ------
    DomainError
        As :func:`curve`.
    """
    readings, end = curve(ml, phs), constant("endpoint_ph")
    taken = (
        ml_at_ph(ml, phs, end)
        if readings.ph.min() <= end <= readings.ph[0]
        else float(readings.ml[-1])
    )
    return Ions(
        500.0 * taken * normality / sample_ml * constant("molar_mass_calcium"), 0.0, 0.0, 0.0, 0.0
    )


def _moles_releasing(equivalents: float, acid: Acid, ph: float, ions: Ions) -> float:
    """mol of acid in a litre that release these eq at this pH, which depends a little on how much
    there is.
    """
    moles = equivalents / float(protons_released(acid, ph))
    for _ in range(50):
        before, moles = moles, equivalents / _released(acid, ph, moles, ions)
        if not abs(moles - before) > 1e-12 * moles:
            break
    return moles


def _released(acid: Acid, ph: float, moles: float, ions: Ions) -> float:
    """Hydrogen ions that a molecule has given off, ion pairs included, at ``moles`` a litre."""
    if not moles > 0.0:
        return float(protons_released(acid, ph))
    totals = dissolved_ions(ions)
    family = totals.anions.get(acid.family, 0.0) + moles / report_density()
    found = molalities(
        solve_at_ph(ph, constant("report_temperature"), totals.with_anion(acid.family, family))
    )
    members = [s for s in all_species() if s.family == acid.family]
    total = sum(found[s.name] for s in members)
    return float(sum((acid.protons - s.h) * found[s.name] for s in members) / total)


def diluted_normality(
    acid: Acid, strength: Number | None, ml_acid: Number, ml_total: Number
) -> Number:
    """eq/L of the tank's acid made up to ``ml_total`` with demineralised water, counted down to pH
    4.5.

    4.5 is the end of an alkalinity titration (Standard Methods 2320 B).

    Parameters
    ----------
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.
    ml_acid
        Acid as bought, mL at 20 °C.
    ml_total
        Made up to, mL, not less than ``ml_acid``.

    Returns
    -------
    Number
        eq/L.

    Raises
    ------
    DomainError
        For ``ml_total`` less than the acid in it.
    """
    ml_total = require(
        ml_total >= ml_acid,
        "ml_total",
        lambda: f"{ml_total:g} mL is less than the {ml_acid:g} mL of acid in it",
        ml_total,
    )
    return equivalents_per_litre(acid, strength, constant("endpoint_ph")) * ml_acid / ml_total
