"""What falls where a solid comes down to saturation, and what that leaves in the water.

The end state, whatever time it takes: cold water can stay above calcite saturation for days, a hot
tank does not; hydroxyapatite may never get there.
"""

from __future__ import annotations

from typing import NamedTuple

from chemcore.acids import Acid
from chemcore.carbonate import venting
from chemcore.dosing import dosed_totals, ph_found
from chemcore.numeric import Number, backend, find_root
from chemcore.solids import Solid, find_solid, index_in, require_phosphate
from chemcore.speciation import Totals, Venting, solve_at_ph, solve_for_ph
from chemcore.tables import constant, given_or
from chemcore.water import Ions, alkalinity_per_litre, per_litre, source_water, with_calcium


def without(totals: Totals, solid: Solid, fallen: Number) -> Totals:
    """What stays dissolved when ``fallen`` mol/kg of the solid have left the water.

    The solid is uncharged: it takes its calcium's charge out of the metals, whose charge ``strong``
    holds.

    Parameters
    ----------
    totals
        What is dissolved, mol/kg.
    solid
        From :func:`chemcore.solids.find_solid`.
    fallen
        mol/kg of the solid.

    Returns
    -------
    Totals
        mol/kg.
    """
    left = totals._replace(
        ca=totals.ca - solid.ca * fallen, strong=totals.strong - 2.0 * solid.ca * fallen
    )
    for family, count in solid.anions.items():
        left = left.with_anion(family, left.anions.get(family, 0.0) - count * fallen)
    return left


def excess(totals: Totals, solid: Solid, temp_c: Number, lost: Venting | None = None) -> Number:
    """mol/kg of the solid that fall before the water is at saturation; 0 where it is below, or an
    ion is missing.

    What the solid takes along moves the pH, which ends the fall sooner than at a held pH.

    Parameters
    ----------
    totals
        What is dissolved, mol/kg.
    solid
        From :func:`chemcore.solids.find_solid`.
    temp_c
        Of the water, 0 to 100 °C.
    lost
        Loss of carbon dioxide; None for a closed tank.

    Returns
    -------
    Number
        mol/kg of the solid, 0 or more.
    """
    none = 0.0 * totals.ca
    if not solid.anions.keys() <= totals.anions.keys():
        return none
    families = tuple(totals.anions)
    values = (
        temp_c,
        totals.ca,
        totals.mg,
        totals.na,
        totals.strong,
        *totals.anions.values(),
        *(lost or ()),
    )
    xp = backend(*values)
    most = totals.ca / solid.ca
    for family, count in solid.anions.items():
        most = xp.minimum(most, totals.anions[family] / count)
    most = most * (1.0 - 1e-9)

    def over(
        share: Number,
        most: Number,
        temp_c: Number,
        ca: Number,
        mg: Number,
        na: Number,
        strong: Number,
        *rest: Number,
    ) -> Number:
        left = without(Totals(ca, mg, na, dict(zip(families, rest)), strong), solid, share * most)
        gas = Venting(*rest[len(families) :]) if lost else None
        ph = solve_for_ph(temp_c, left, gas)
        return index_in(solve_at_ph(ph, temp_c, left, venting=gas), solid)

    now = over(none, most, *values)
    share = find_root(over, none, xp.where(now > 0.0, 1.0, 0.0), (most, *values), xp)
    return xp.where(now <= 0.0, 0.0, share * most)


def scale(
    alkalinity: Number,
    ph: Number,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
    tank_temp_c: Number | None = None,
    co2_lost: Number = 0.0,
) -> Number:
    """Calcium carbonate that falls from the untreated water in the hot tank, mg/L as CaCO3.

    Parameters
    ----------
    alkalinity, ph, ions, temp_c
        The water as for :func:`chemcore.water.source_water`.
    tank_temp_c
        Temperature of the hot tank.
    co2_lost
        Share of the carbon dioxide above air equilibrium that leaves the hot tank; more of it, more
        scale.

    Returns
    -------
    Number
        mg/L as CaCO3, 0 or more.

    Raises
    ------
    DomainError
        As :func:`chemcore.water.source_water`.
    """
    totals = source_water(alkalinity, ph, ions, temp_c).totals
    tank = given_or(tank_temp_c, "sparge_tank_temperature")
    return alkalinity_per_litre(
        2.0 * excess(totals, find_solid("calcite"), tank, venting(tank, co2_lost))
    )


class Precipitated(NamedTuple):
    """What a solid that came down to equilibrium leaves: calcium in mg/L, and the pH of the cooled
    water.
    """

    calcium: Number
    ph: Number


def precipitated(
    alkalinity: Number,
    ph: Number,
    dose_ml: Number,
    litres: Number,
    calcium: Number,
    acid: Acid,
    strength: Number | None,
    solid: Solid,
    temp_c: Number = 20.0,
    tank_temp_c: Number | None = None,
    ions: Ions | None = None,
) -> Precipitated:
    """Calcium left, and the pH, where a phosphate does come down to equilibrium in the hot, closed
    tank.

    Parameters
    ----------
    alkalinity
        Total alkalinity of the source water, mg/L as CaCO3, 0 to 2000.
    ph
        pH of the source water at ``temp_c``.
    dose_ml
        Acid as bought that goes in, mL at 20 °C, 0 or more.
    litres
        Liquor to treat, L at 20 °C, above 0.
    calcium
        Of the source water, mg/L.
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.
    solid
        From :func:`chemcore.solids.find_solid`.
    temp_c
        Temperature of the pH readings, 0 to 100 °C.
    tank_temp_c
        Temperature of the hot tank, 0 to 100 °C; left out, that of data/constants.csv.
    ions
        The other ions, mg/L; their calcium gives way to ``calcium``.

    Returns
    -------
    Precipitated
        mg/L, and pH at ``temp_c``.

    Raises
    ------
    DomainError
        As :func:`chemcore.dosing.ph_after`, and for a solid without phosphate.
    """
    require_phosphate(solid)
    water = source_water(alkalinity, ph, with_calcium(ions, calcium), temp_c)
    totals = dosed_totals(water, dose_ml, litres, acid, strength)
    fallen = excess(totals, solid, given_or(tank_temp_c, "sparge_tank_temperature"))
    left = without(totals, solid, fallen)
    cooled = ph_found(solve_for_ph(temp_c, left), dose_ml, litres)
    return Precipitated(per_litre(left.ca, constant("molar_mass_calcium")) + 0.0 * cooled, cooled)
