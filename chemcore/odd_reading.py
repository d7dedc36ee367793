"""The reading of a titration that does not fit the others: a slip of the pen, found before the
figure is believed.

Every reading of a carbonate water with a strong acid obeys one charge balance, which is linear in
three unknowns: alkalinity, carbonate and the scale of the pH meter (Dickson, Sabine & Christian
2007, SOP 3b fit the same balance). Each reading is compared with the line through the others, left
out itself.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from chemcore.acids import Acid, protons_released
from chemcore.errors import DomainError
from chemcore.numeric import FLOAT, Array, Column
from chemcore.readings import pairs, require_rising
from chemcore.species import all_species, constants_at, log_gamma
from chemcore.tables import constant

#: Fewest readings that tell an odd one: three unknowns, the reading itself, and three to judge the
#: scatter by.
FEWEST = 7
#: What a reading may be off without being a slip, in pH and as a share of all the titrant: choices
#: of this project.
METER, BURETTE = 0.02, 0.002
#: How many times that it must be off, and in how many curves of a hundred without a slip one may be
#: named.
SLIP, FALSE_ALARM = 5.0, 0.01
#: Difference of pH over which slopes are taken.
_STEP = 1e-4


class OddReading(NamedTuple):
    """``row`` is the place in the columns, from 1, or 0 for none; ``off`` how far its pH lies above
    the others' curve.
    """

    row: int
    off: float


def odd_reading(
    ml: Column, phs: Column, sample_ml: float, normality: float, titrant: Acid | None = None
) -> OddReading:
    """The reading that lies furthest from the curve through the others, if that is more than chance
    and more than scatter.

    Leave-one-out (externally studentized) residuals of a weighted straight fit against Student's t,
    for as many readings as there are (Bonferroni): Cook & Weisberg 1982, Residuals and Influence in
    Regression, ch. 2.2.

    Parameters
    ----------
    ml, phs, sample_ml, normality
        As in :func:`chemcore.titration.gran_line`.
    titrant
        The titrant's acid, ``normality`` being counted down to pH 4.5; left out, a strong one.

    Returns
    -------
    OddReading
        Row 0, and 0 pH, where no reading stands out.

    Raises
    ------
    DomainError
        For columns of unlike length, a pH without its volume, volumes that do not rise, or fewer
        than seven readings. A pH that rises is no reason: it is what a slip looks like. Also where,
        without the reading that would be named, another is still off by as much as a slip: the
        readings do not fit.
    """
    from scipy.optimize import brentq
    from scipy.special import stdtrit  # on first use: importing scipy takes long

    volumes, ph, rows = pairs(ml, phs, "type the total of titrant at that reading")
    require_rising("ml", "mL", volumes, rows)
    count = len(rows)
    if count < FEWEST:
        raise DomainError(
            "phs", f"{count} readings are too few to tell an odd one; it takes {FEWEST}"
        )
    volume = sample_ml + volumes
    given = normality * volumes * _released(titrant, ph)
    terms = _terms(ph, volume, sample_ml)
    more = normality * volumes * _released(titrant, ph + _STEP) - given
    steeper = _terms(ph + _STEP, volume, sample_ml) - terms
    per_ml = normality * BURETTE * volumes[-1]
    every = _leave_one_out(terms, given, steeper, more, per_ml)
    ratio = np.abs(every.residuals) / every.errors
    worst = int(np.argmax(ratio))
    freedom = count - 1 - terms.shape[1]
    least = -float(stdtrit(freedom, FALSE_ALARM / (2.0 * count)))
    if not (ratio[worst] > least and abs(every.unseen[worst]) > SLIP):
        return OddReading(0, 0.0)
    rest = np.arange(count) != worst
    others = _leave_one_out(terms[rest], given[rest], steeper[rest], more[rest], per_ml)
    if np.abs(others.unseen).max() > SLIP:
        raise DomainError(
            "phs",
            "the readings do not fit one another, and none of them alone is to blame; titrate"
            " again",
        )

    def short(at: float) -> float:
        """What was given less what the others' balance takes down to this pH."""
        one = np.array([at])
        taken = _terms(one, volume[worst], sample_ml) @ others.fitted
        return float((normality * volumes[worst] * _released(titrant, one) - taken)[0])

    ends = float(ph[rest].min()) - 1.0, float(ph[rest].max()) + 1.0
    if short(ends[0]) * short(ends[1]) > 0.0:  # off the scale: the slope at the reading has to do
        per_ph = float(steeper[worst] @ others.fitted - more[worst]) / _STEP
        return OddReading(int(rows[worst]), -short(float(ph[worst])) / per_ph)
    return OddReading(int(rows[worst]), float(ph[worst]) - brentq(short, *ends))


def _released(titrant: Acid | None, ph: Array) -> Array:
    """Hydrogen ions that the titrant gives off at a pH, as a share of those that its normality
    counts.
    """
    if titrant is None:
        return np.ones_like(ph)
    each = np.array([protons_released(titrant, float(one)) for one in ph])
    return each / protons_released(titrant, constant("endpoint_ph"))


def _terms(ph: Array, volume: Any, sample_ml: float) -> Array:
    """What alkalinity, carbonate and free hydrogen ions each contribute to the acid that was given,
    mmol per unit.
    """
    at = constants_at(constant("report_temperature"))
    salt = constant("nominal_ionic_strength")
    gamma = {
        one.name: 10.0 ** log_gamma(one, salt, at.slope_a, at.slope_b, FLOAT)
        for one in all_species()
        if one.name in ("HCO3-", "CO3-2", "OH-", "H+")
    }
    hydrogen = 10.0**-ph
    carbonate = gamma["HCO3-"] / gamma["CO3-2"] / at.k["HCO3-"] / hydrogen  # for each bicarbonate
    bicarbonate = at.k["HCO3-"] / at.k["CO2"] / gamma["HCO3-"] / hydrogen  # for each dissolved gas
    charge = (1.0 + 2.0 * carbonate) / (1.0 + carbonate + 1.0 / bicarbonate)
    free = hydrogen - at.k["OH-"] / hydrogen
    return np.column_stack((np.full_like(ph, sample_ml), -sample_ml * charge, volume * free))


class _Fit(NamedTuple):
    """Figures of the balance; residuals, residuals from the fit without each row, and the
    residuals' errors by the others.

    The last three in units of what a reading may be off without being a slip.
    """

    fitted: Array
    residuals: Array
    unseen: Array
    errors: Array


def _leave_one_out(terms: Array, given: Array, steeper: Array, more: Array, per_ml: float) -> _Fit:
    """The weighted fit; ``steeper`` and ``more`` are what ``_STEP`` adds to terms and acid,
    ``per_ml`` the burette's share.
    """
    allowed = np.ones(len(given))
    for _ in range(3):  # what a pH is worth in acid depends on the fit
        fitted = np.linalg.pinv(terms / allowed[:, None]) @ (given / allowed)
        per_ph = (steeper @ fitted - more) / _STEP
        allowed = np.maximum(np.hypot(per_ph * METER, per_ml), 1e-12)
    scaled, values = terms / allowed[:, None], given / allowed
    inverse = np.linalg.pinv(scaled)
    fitted = inverse @ values
    residuals = values - scaled @ fitted
    own = np.maximum(1.0 - np.einsum("ij,ji->i", scaled, inverse), 1e-9)
    freedom = len(values) - 1 - terms.shape[1]
    others = np.maximum(residuals @ residuals - residuals**2 / own, 0.0) / freedom
    return _Fit(fitted, residuals, residuals / own, np.sqrt(np.maximum(others, 1e-18) * own))
