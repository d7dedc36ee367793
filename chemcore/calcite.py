"""Calcium carbonate between water and solid: how much falls where the water is above calcite saturation.

The end state, whatever time it takes: cold water can stay above saturation for days, a hot tank does not.
"""

from __future__ import annotations

from chemcore.carbonate import venting
from chemcore.numeric import backend, find_root
from chemcore.solids import find_solid, solubility_product
from chemcore.speciation import Solution, Totals, Venting, solve_at_ph, solve_for_ph
from chemcore.tables import constant
from chemcore.water import Ions, alkalinity_per_litre, source_water

#: Less than any water holds, so that a logarithm of nothing stays a number.
TRACE = 1e-30


def saturation(solution: Solution):
    """log10 of the ion activity product over the solubility product of calcite."""
    xp = backend(solution.ph, solution.ca)
    product = xp.maximum(solution.ca, TRACE) * xp.maximum(solution.activity["CO3"], TRACE)
    return xp.log10(product) - solubility_product(find_solid("calcite"), solution.temp_c)


def without(totals: Totals, fallen) -> Totals:
    """What stays dissolved when ``fallen`` mol/kg of calcium carbonate have left the water."""
    less = totals._replace(ca=totals.ca - fallen, strong=totals.strong - 2.0 * fallen)
    return less.with_anion("CO3", totals.anions["CO3"] - fallen)


def excess(totals: Totals, temp_c, lost: Venting | None = None):
    """mol/kg of calcium carbonate that fall before the water is at saturation; 0 where it is below."""
    families = tuple(totals.anions)
    values = (temp_c, totals.ca, totals.mg, totals.na, totals.strong, *totals.anions.values(), *(lost or ()))
    xp = backend(*values)

    none = 0.0 * totals.ca
    most = xp.minimum(totals.ca, totals.anions["CO3"]) * (1.0 - 1e-9)

    def over(share, most, temp_c, ca, mg, na, strong, *rest):
        left = without(Totals(ca, mg, na, dict(zip(families, rest)), strong), share * most)
        gas = Venting(*rest[len(families):]) if lost else None
        ph = solve_for_ph(temp_c, left, gas)
        return saturation(solve_at_ph(ph, temp_c, left, venting=gas))

    above = over(none, most, *values) > 0.0
    share = find_root(over, none, xp.where(above, 1.0, none), (most, *values), xp)
    return xp.where(above, share * most, none)


def scale(alkalinity, ph, ions: Ions | None = None, temp_c=20.0, tank_temp_c=None, co2_lost=0.0):
    """Calcium carbonate that falls from the untreated water in the hot tank, mg/L as CaCO3.

    Parameters
    ----------
    alkalinity, ph, ions, temp_c
        The water as for :func:`chemcore.water.source_water`.
    tank_temp_c
        Temperature of the hot tank.
    co2_lost
        Share of the carbon dioxide above air equilibrium that leaves the hot tank; more of it, more scale.
    """
    totals = source_water(alkalinity, ph, ions, temp_c).totals
    tank = constant("sparge_tank_temperature") if tank_temp_c is None else tank_temp_c
    return alkalinity_per_litre(2.0 * excess(totals, tank, venting(tank, co2_lost)))
