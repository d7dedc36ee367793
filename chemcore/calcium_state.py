"""Which of four states the calcium of a dosed, hot tank is in."""

from __future__ import annotations

from typing import NamedTuple

from chemcore.acids import Acid
from chemcore.carbonate import venting
from chemcore.dosing import dosed_totals, ph_found
from chemcore.numeric import Number
from chemcore.solids import Solid, extrapolation, find_solid, index_in
from chemcore.speciation import Solution, Totals, solve_at_ph, solve_for_ph
from chemcore.tables import given_or, rows
from chemcore.water import Ions, source_water, with_calcium

#: Solids whose limits part the states, from the least soluble: each state is above one of its
#: solids at least.
LIMITS = (
    ("hydroxyapatite",),
    ("octacalcium phosphate", "brushite"),
    ("amorphous calcium phosphate",),
)


def after_loss(
    totals: Totals, temp_c: Number, co2_lost: Number, dose_ml: Number, litres: Number
) -> Totals:
    """What is dissolved once that share of the excess carbon dioxide has left, counted on a sample
    at ``temp_c``.

    Parameters
    ----------
    totals
        Of the dosed water, mol/kg.
    temp_c
        °C.
    co2_lost
        Share, 0 to 1, of what is above air equilibrium.
    dose_ml, litres
        For the refusal of a dose that takes the water past pH 1.

    Returns
    -------
    Totals
        What is left, mol/kg.

    Raises
    ------
    DomainError
        As :func:`chemcore.dosing.ph_found`.
    """
    lost = venting(temp_c, co2_lost)
    if lost is None:
        return totals
    ph = ph_found(solve_for_ph(temp_c, totals, lost), dose_ml, litres)
    return solve_at_ph(ph, temp_c, totals, free="CO3").totals


def hot_tank(
    alkalinity: Number,
    ph: Number,
    calcium: Number,
    dose_ml: Number,
    litres: Number,
    acid: Acid,
    strength: Number | None = None,
    temp_c: Number = 20.0,
    tank_temp_c: Number | None = None,
    ions: Ions | None = None,
    co2_lost: Number = 0.0,
) -> Solution:
    """The dosed water at the tank's temperature, solved.

    Parameters
    ----------
    alkalinity, ph, calcium
        Of the source water: mg/L as CaCO3, pH at ``temp_c``, mg/L.
    dose_ml, litres, acid, strength
        mL at 20 °C of the acid as bought of that mass %, in litres at 20 °C.
    temp_c, tank_temp_c
        Of the reading and of the tank, °C; left out, 20 and that of data/constants.csv.
    ions
        The other ions, mg/L; their calcium gives way to ``calcium``.
    co2_lost
        Share of the excess carbon dioxide that has left.

    Returns
    -------
    Solution
        Solved at the temperature and the pH of the tank.

    Raises
    ------
    DomainError
        As :func:`chemcore.dosing.ph_after`.
    """
    water = source_water(alkalinity, ph, with_calcium(ions, calcium), temp_c)
    tank = given_or(tank_temp_c, "sparge_tank_temperature")
    dosed = dosed_totals(water, dose_ml, litres, acid, strength)
    left = after_loss(dosed, temp_c, co2_lost, dose_ml, litres)
    return solve_at_ph(ph_found(solve_for_ph(tank, left), dose_ml, litres), tank, left)


class CalciumState(NamedTuple):
    """The number of a state, from 0, and the solid that decides it."""

    number: int
    solid: Solid


def calcium_state(tank: Solution) -> CalciumState:
    """The highest state whose limit a solved, single water is above; below every limit,
    hydroxyapatite decides.

    Parameters
    ----------
    tank
        From :func:`hot_tank`.

    Returns
    -------
    CalciumState
        0 to 3, and the solid that decides it.
    """
    found = CalciumState(0, find_solid(LIMITS[0][0]))
    if "PO4" not in tank.totals.anions:
        return found
    for number, names in enumerate(LIMITS, start=1):
        index, name = max((index_in(tank, find_solid(name)), name) for name in names)
        if index > 0.0:
            found = CalciumState(number, find_solid(name))
    return found


def words(state: CalciumState, temp_c: Number) -> str:
    """The state in words, and from where its limit is extrapolated to this temperature in °C.

    Sources of the words: row by row in data/calcium_states.csv.

    Parameters
    ----------
    state
        From :func:`calcium_state`.
    temp_c
        Of the tank, °C.

    Returns
    -------
    str
        One line for a cell.
    """
    row = next(row for row in rows("calcium_states") if int(row["state"]) == state.number)
    far = extrapolation(state.solid, temp_c)
    return f"{row['words']} ({far})" if far else row["words"]
