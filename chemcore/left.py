"""What still takes up acid in a dosed liquor: its bicarbonate, and the anion of the acid itself.

The titrated alkalinity is both together. Phosphoric acid leaves less of it than lactic acid at the
same pH, because part of the lactate takes up acid again on the way down to pH 4.5; of bicarbonate,
which is what meets the malt, both leave nearly the same.
"""

from __future__ import annotations

from chemcore.acids import Acid
from chemcore.carbonate import bicarbonate_of, venting
from chemcore.dosing import dosed_totals, ph_found
from chemcore.numeric import Number, backend
from chemcore.speciation import Solution, molalities, solve_at_ph, solve_for_ph
from chemcore.species import all_species
from chemcore.tables import constant
from chemcore.water import Ions, alkalinity_per_litre, source_water


def _dosed(
    alkalinity: Number,
    ph: Number,
    dose_ml: Number,
    litres: Number,
    acid: Acid,
    strength: Number | None,
    ions: Ions | None,
    temp_c: Number,
    co2_lost: Number,
) -> Solution:
    """The dosed liquor, its gas gone as far as ``co2_lost`` says, solved at the pH that results."""
    water = source_water(alkalinity, ph, ions, temp_c)
    dosed = dosed_totals(water, dose_ml, litres, acid, strength)
    lost = venting(temp_c, co2_lost)
    read = ph_found(solve_for_ph(temp_c, dosed, lost), dose_ml, litres)
    liquor = solve_at_ph(read, temp_c, dosed, venting=lost, start=water)
    if lost is None:
        return liquor
    found = molalities(liquor)
    carbonate = sum(found[s.name] for s in all_species() if s.family == "CO3")
    return liquor._replace(totals=dosed.with_anion("CO3", carbonate))


def bicarbonate_after(
    alkalinity: Number,
    ph: Number,
    dose_ml: Number,
    litres: Number,
    acid: Acid,
    strength: Number | None = None,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
    co2_lost: Number = 0.0,
) -> Number:
    """Bicarbonate left in the liquor after a dose, ion pairs included.

    Parameters
    ----------
    alkalinity
        Of the source water, mg/L as CaCO3.
    ph
        Of the source water at ``temp_c``.
    dose_ml, strength
        mL at 20 °C of the acid as bought, and its mass %.
    litres
        Liquor, L at 20 °C.
    acid
        From :func:`chemcore.acids.find_acid`.
    ions
        mg/L; left out, calcium bicarbonate water.
    temp_c
        Temperature of the pH readings, 0 to 100 °C.
    co2_lost
        Share, 0 to 1, of the carbon dioxide above air equilibrium that has left.

    Returns
    -------
    mg/L of HCO3.

    Raises
    ------
    DomainError
        As :func:`chemcore.dosing.ph_after`.
    """
    return bicarbonate_of(
        _dosed(alkalinity, ph, dose_ml, litres, acid, strength, ions, temp_c, co2_lost)
    )


def anion_alkalinity(
    alkalinity: Number,
    ph: Number,
    dose_ml: Number,
    litres: Number,
    acid: Acid,
    strength: Number | None = None,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
    co2_lost: Number = 0.0,
) -> Number:
    """Acid that the dosed acid's own anion takes up from the liquor's pH down to pH 4.5, the end of
    a titration.

    Of the family (as all phosphate), what was in the water before counts too.

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
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.
    ions
        Of the source water, mg/L; left out, the alkalinity is taken as calcium bicarbonate.
    temp_c
        Temperature of the pH readings, 0 to 100 °C.
    co2_lost
        Share, 0 to 1, of the carbon dioxide above air equilibrium that leaves.

    Returns
    -------
    mg/L as CaCO3; 0 for hydrochloric acid, and where the liquor is at pH 4.5 or below.

    Raises
    ------
    DomainError
        As :func:`chemcore.dosing.ph_after`.
    """
    liquor = _dosed(alkalinity, ph, dose_ml, litres, acid, strength, ions, temp_c, co2_lost)
    end = solve_at_ph(constant("endpoint_ph"), temp_c, liquor.totals, start=liquor)
    taken = _protons(end, acid) - _protons(liquor, acid)
    size = backend(taken).maximum(taken, -taken)
    return alkalinity_per_litre(0.5 * (taken + size))


def _protons(solution: Solution, acid: Acid) -> Number:
    """mol/kg of hydrogen ions that the acid's anion holds, ion pairs included."""
    found = molalities(solution)
    return sum(
        (s.h * found[s.name] for s in all_species() if s.family == acid.family),
        0.0 * solution.mu,
    )
