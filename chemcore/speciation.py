"""Solves the equilibria of one water: ion pairs, activity coefficients and charge balance.

The same code serves a single water (floats) and a column of waters (arrays of one length).
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any, NamedTuple

import numpy as np

from chemcore.equations import equations, equations_for_ph, equations_saturated
from chemcore.iteration import Beginning, beginning, iterate, passes_for_ph
from chemcore.numeric import FLOAT, LN10, Mathematics, Number, backend, find_root
from chemcore.species import METALS, Constants, all_species, constants_at, log_gamma
from chemcore.tables import rows

#: Passes at most of the substitution; it needs two.
PASSES = 200
#: Passes at most where the pH is sought; it needs five. What has not settled then is found between
#: two ends.
PASSES_FOR_PH = 40
#: pH at which the search begins where no water like it is known.
FIRST_PH = 6.0
#: Ionic strength in mol/kg up to which the Davies equation is used here (Stumm & Morgan 1996, Table
#: 3.3).
MODEL_IONIC_STRENGTH = 0.5
LOWEST_PH, HIGHEST_PH = 1.0, 13.0

#: Charge of the fully deprotonated ligand plus the protons of its form at the alkalinity end point:
#: how far a family's total moves the strong-ion charge away from the alkalinity (Stumm & Morgan
#: 1996, ch. 4.4). Those of the acids' anions stand in ``data/acids.csv``.
ZERO_LEVEL = {"CO3": 0, **{row["family"]: int(row["zero_level"]) for row in rows("acids")}}


class Totals(NamedTuple):
    """What is dissolved, in mol per kg of water; ``strong`` is the charge that no reaction in
    solution changes.

    ``strong`` is the charge of the metals, with whatever the report's ions fail to balance:
    alkalinity minus the sum of ZERO_LEVEL times each family's total. It stays the same when an
    uncharged acid is added and when carbon dioxide leaves; a solid takes its metals' charge along.
    """

    ca: Number
    mg: Number
    na: Number
    anions: dict[str, Number]
    strong: Number

    def with_anion(self, family: str, total: Number) -> Totals:
        """The same water with another total of one anion family."""
        return Totals(self.ca, self.mg, self.na, {**self.anions, family: total}, self.strong)


class Solution(NamedTuple):
    """A solved water: activities on the molal scale, ionic strength in mol/kg, totals with all
    families.
    """

    ph: Number
    temp_c: Number
    mu: Number
    ca: Number
    mg: Number
    na: Number
    activity: dict[str, Number]
    totals: Totals
    charge: Number
    constants: Constants


class Venting(NamedTuple):
    """Loss of carbon dioxide: its molality in equilibrium with air, and the share of the excess
    that leaves.
    """

    air: Number
    lost: Number


class Latest:
    """The last solution of a search, from which its next solve sets out (speed only).

    Rows of a column that have not settled keep what they had; rows that a search drops are told by
    their number, since it only ever drops rows.
    """

    def __init__(self) -> None:
        self._last: Solution | None = None

    def start(self, like: Number) -> Solution | None:
        """The last solution, where it is one for the rows of ``like``."""
        last = self._last
        if last is None or type(like) is type(last.mu) is float:
            return last
        return last if np.shape(last.mu) == np.shape(like) else None

    def keep(self, now: Solution) -> Solution:
        """The solution itself, kept as far as it has settled."""
        last, settled = self.start(now.mu), now.mu == now.mu
        if settled is True or np.all(settled):
            self._last = now
        elif last is not None and isinstance(settled, np.ndarray):
            self._last = now._replace(
                mu=np.where(settled, now.mu, last.mu),
                ca=np.where(settled, now.ca, last.ca),
                mg=np.where(settled, now.mg, last.mg),
                na=np.where(settled, now.na, last.na),
            )
        return now


def strong_charge(alkalinity: Number, anions: dict[str, Number]) -> Number:
    """Charge of the strong ions (eq/kg) that belongs to an alkalinity (eq/kg) and these anion
    totals.

    Parameters
    ----------
    alkalinity
        eq/kg.
    anions
        Totals by family, mol/kg.

    Returns
    -------
    Number
        eq/kg.
    """
    total = alkalinity
    for family, amount in anions.items():
        if ZERO_LEVEL[family]:
            total = total - ZERO_LEVEL[family] * amount
    return total


@cache
def _divalent(families: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(family for family in families if ZERO_LEVEL[family] == -2)


def solve_at_ph(
    ph: Number,
    temp_c: Number,
    totals: Totals,
    free: str | None = None,
    venting: Venting | None = None,
    start: Solution | None = None,
) -> Solution:
    """Equilibrium at a fixed pH.

    Parameters
    ----------
    ph, temp_c
        pH and its temperature in °C.
    totals
        The water; the total of the ``free`` family, if named, is left out.
    free
        The anion family whose total follows from the charge balance ("CO3" where the alkalinity is
        known; the acid's own family where a dose is asked). Without it the answer carries the
        charge left over.
    venting
        Loss of carbon dioxide, where there is one.
    start
        A solved water like this one, from which the substitution sets out (speed only).

    Returns
    -------
    Solution
        With NaN for ionic strength, charge and free total where the substitution did not settle.
    """
    system = equations(tuple(totals.anions), free, venting is not None)
    fixed = [totals.anions[f] for f in system.fixed]
    constants = constants_at(temp_c)
    xp = backend(
        ph, temp_c, totals.ca, totals.mg, totals.na, totals.strong, *fixed, *(venting or ())
    )
    air, lost = venting or (0.0, 0.0)
    hydrogen = xp.exp(-LN10 * ph)
    if start is not None:
        mu, ca, mg, na = start.mu, start.ca, start.mg, start.na
    else:
        mu, ca, mg, na = _first_guess(totals, system.fixed, hydrogen, constants, xp)
    given = (
        constants.k,
        hydrogen,
        LN10 * constants.slope_a,
        constants.slope_b,
        totals.ca,
        totals.mg,
        totals.na,
        totals.strong,
        *fixed,
        air,
        lost,
        xp,
    )
    one_pass, finish = system.prepare(*given)

    mu, found, settled = iterate(one_pass, mu, (ca, mg, na), xp, PASSES)
    ca, mg, na, charge, free_total, *bound = found
    activities = finish(mu, free_total, *bound)
    if settled is not True:
        mu, charge, free_total = (
            xp.where(settled, value, math.nan) for value in (mu, charge, free_total)
        )
    if free:
        totals = totals.with_anion(free, free_total)
    return Solution(
        ph,
        temp_c,
        mu,
        ca,
        mg,
        na,
        dict(zip(system.families, activities)),
        totals,
        charge,
        constants,
    )


def _first_guess(
    totals: Totals, fixed: tuple[str, ...], hydrogen: Number, constants: Constants, xp: Mathematics
) -> tuple[Number, Number, Number, Number]:
    """Ionic strength and activities of the metals from which to set out: as if sulfate made the
    only pairs.
    """
    metals = totals.ca + totals.mg
    divalent: Number = 0.0
    for family in _divalent(fixed):
        divalent = divalent + totals.anions[family]
    strong = xp.maximum(totals.strong, -totals.strong)
    mu = 1e-6 + 2.0 * metals + 0.5 * totals.na + hydrogen + 0.5 * strong + divalent
    root = xp.sqrt(mu)
    # of an ion of charge two and a usual size
    gamma = xp.exp(-4.0 * LN10 * constants.slope_a * root / (1.0 + 1.5 * root))
    pairing = constants.k["CaSO4"] * gamma * gamma
    paired = pairing * divalent / (1.0 + pairing * (metals + divalent))
    free = gamma * (1.0 - paired)
    mu = xp.maximum(mu - 4.0 * paired * metals, 0.5 * mu)
    return mu, free * totals.ca, free * totals.mg, 0.9 * totals.na


def solve_for_ph(
    temp_c: Number, totals: Totals, venting: Venting | None = None, start: Solution | None = None
) -> Number:
    """The pH at which the charges of a water of known totals balance.

    Parameters
    ----------
    temp_c
        Temperature of that pH, °C.
    totals
        The water, all its families among them.
    venting
        Loss of carbon dioxide: a share of the excess at the pH that results, so that this undoes
        :func:`solve_at_ph`.
    start
        A solved water like this one (speed only).

    Returns
    -------
    pH from 1 to 13; NaN outside.
    """
    families = tuple(totals.anions)
    system = equations_for_ph(families, venting is not None)
    constants = constants_at(temp_c)
    known = (totals.ca, totals.mg, totals.na, totals.strong, *totals.anions.values())
    xp = backend(temp_c, *known, *(venting or ()))
    given = (
        constants.k,
        LN10 * constants.slope_a,
        constants.slope_b,
        *known,
        *(venting or (0.0, 0.0)),
        xp,
    )
    at_mu = system.prepare(*given)
    if start is not None:
        begin = Beginning(start.mu, start.ca, start.mg, start.na, -LN10 * start.ph)
    else:
        begin = Beginning(*_first_guess(totals, families, 0.0, constants, xp), -LN10 * FIRST_PH)
    mu, *unknowns = beginning(at_mu(begin.mu), begin, xp)

    _, (_, _, _, log_h), settled = iterate(
        passes_for_ph(at_mu, xp), mu, unknowns, xp, PASSES_FOR_PH
    )
    ph = log_h / -LN10
    if settled is not True and not np.all(settled):
        ph = _bracketed_ph(ph, settled, temp_c, totals, venting, xp)
    return xp.where((ph >= LOWEST_PH) & (ph <= HIGHEST_PH), ph, math.nan)


def solve_saturated(
    ph: Number, temp_c: Number, totals: Totals, saturation: Number, power: float
) -> Number:
    """Calcium that a phosphate solid leaves dissolved at a fixed pH, where an ion of charge one
    comes with each charge.

    Parameters
    ----------
    ph, temp_c
        pH and its temperature in °C.
    totals
        The water without that calcium and its ions; its calcium is a guess (speed only).
    saturation, power
        The natural logarithm of calcium's activity is ``saturation`` plus ``power`` times that of
        PO4-3.

    Returns
    -------
    Number
        mol/kg; NaN where the substitution did not settle.
    """
    families = tuple(totals.anions)
    system, constants = equations_saturated(families), constants_at(temp_c)
    known = (totals.ca, totals.mg, totals.na, 0.0, *totals.anions.values())
    xp = backend(ph, temp_c, saturation, *known)
    hydrogen = xp.exp(-LN10 * ph)
    mu, *metals = _first_guess(totals, families, hydrogen, constants, xp)
    given = (
        constants.k,
        hydrogen,
        saturation,
        power,
        LN10 * constants.slope_a,
        constants.slope_b,
        *known,
        0.0,
        0.0,
        xp,
    )

    _, found, settled = iterate(system.prepare(*given)[0], mu, metals, xp, PASSES_FOR_PH)
    return found[4] if settled is True else xp.where(settled, found[4], math.nan)


def _bracketed_ph(
    ph: Number,
    settled: Any,
    temp_c: Number,
    totals: Totals,
    venting: Venting | None,
    xp: Mathematics,
) -> Number:
    """``ph`` where that is ``settled``, else the root of the charge over whole solves at a fixed
    pH.
    """
    families = tuple(totals.anions)
    values = (
        temp_c,
        totals.ca,
        totals.mg,
        totals.na,
        totals.strong,
        *totals.anions.values(),
        *(venting or ()),
    )

    def charge(
        ph: Number,
        temp_c: Number,
        ca: Number,
        mg: Number,
        na: Number,
        strong: Number,
        *rest: Number,
    ) -> Number:
        anions = dict(zip(families, rest))
        lost = Venting(*rest[len(families) :]) if venting else None
        return solve_at_ph(ph, temp_c, Totals(ca, mg, na, anions, strong), venting=lost).charge

    if xp is FLOAT:
        return find_root(charge, LOWEST_PH, HIGHEST_PH, values)
    ph, settled, *values = np.broadcast_arrays(ph, settled, *values)  # type: ignore[assignment]
    ph, left = ph.copy(), ~settled
    ph[left] = find_root(charge, LOWEST_PH, HIGHEST_PH, [one[left] for one in values], xp)
    return ph


def molalities(solution: Solution) -> dict[str, Number]:
    """Molality of every species, one by one from the table (the plain form of the written-out
    equations).

    Parameters
    ----------
    solution
        Solved water.

    Returns
    -------
    dict[str, Number]
        mol/kg by the name of the species.
    """
    activity = {"Ca": solution.ca, "Mg": solution.mg, "Na": solution.na, **solution.activity}
    xp = backend(solution.ph, solution.mu, *activity.values())
    found = {}
    for s in all_species():
        if s.family not in ("H", "OH", *METALS, *solution.activity):
            continue
        amount = 10.0 ** (
            solution.constants.log_k[s.name]
            - s.h * solution.ph
            - log_gamma(s, solution.mu, solution.constants.slope_a, solution.constants.slope_b, xp)
        )
        if s.metal:
            amount = amount * activity[s.metal]
        if s.family in solution.activity:
            amount = amount * activity[s.family]
        found[s.name] = amount
    return found
