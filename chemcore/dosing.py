"""How much acid: dose to a pH, pH after a dose, what is left, and what a dose tells about the
water.

Every function takes the source water as alkalinity and pH (with or without its ions) and an acid as
bought. The acid's own water is left out of the balance (below 0.1 % of the liquor for the strengths
sold). By default no carbon dioxide leaves; ``co2_lost`` from 0 to 1 lets that share of what is
above air equilibrium at the resulting pH escape, 1 being a tank open to air until nothing more
leaves.
"""

from __future__ import annotations

from chemcore.acids import Acid, mass_of_moles, moles_of_volume, volume_of_moles
from chemcore.carbonate import venting
from chemcore.errors import DomainError
from chemcore.numeric import Number, backend, find_root, require
from chemcore.speciation import (
    MODEL_IONIC_STRENGTH,
    Latest,
    Solution,
    Totals,
    solve_at_ph,
    solve_for_ph,
)
from chemcore.tables import constant, given_or
from chemcore.units import report_density
from chemcore.water import (
    HIGHEST_ALKALINITY,
    Ions,
    alkalinity_per_litre,
    shortfall,
    source_water,
    speciated,
)

#: Most acid, mol/kg, that is answered for: the model has no volume change on mixing, and no liquor
#: takes so much.
MOST_ACID = 1.0


def dosed_to_ph(water: Solution, target_ph: Number, acid: Acid, co2_lost: Number = 0.0) -> Solution:
    """The source water taken to ``target_ph`` with an acid, at the water's own temperature.

    Parameters
    ----------
    water
        The source water, from :func:`chemcore.water.source_water`.
    target_ph
        At the temperature of ``water``, 1 to 13.
    acid
        From :func:`chemcore.acids.find_acid`.
    co2_lost
        Share, 0 to 1, of the carbon dioxide above air equilibrium that leaves.

    Returns
    -------
    Solution
        Solved at ``target_ph``, with the acid among its totals.

    Raises
    ------
    DomainError
        For ``target_ph``, where it takes more than 1 mol/kg of acid or an ionic strength of 0.5
        mol/kg.
    """
    treated = solve_at_ph(
        target_ph,
        water.temp_c,
        water.totals,
        free=acid.family,
        venting=venting(water.temp_c, co2_lost),
        start=water,
    )
    mu = require(
        (treated.mu <= MODEL_IONIC_STRENGTH) & (acid_added(water, treated, acid) <= MOST_ACID),
        "target_ph",
        lambda: (
            f"pH {target_ph:g} would take more {acid.name} acid than the model reaches"
            f" ({MOST_ACID:g} mol/kg, or an ionic strength of {MODEL_IONIC_STRENGTH:g}); ask for a"
            " higher pH"
        ),
        treated.mu,
    )
    return treated if mu is treated.mu else treated._replace(mu=mu)


def acid_added(water: Solution, treated: Solution, acid: Acid) -> Number:
    """mol of acid per kg of water between a source water and the treated one.

    Parameters
    ----------
    water
        The source water, from :func:`chemcore.water.source_water`.
    treated
        From :func:`dosed_to_ph` with that water and acid.
    acid
        From :func:`chemcore.acids.find_acid`.

    Returns
    -------
    Number
        mol/kg; negative where ``treated`` holds less.
    """
    return treated.totals.anions[acid.family] - water.totals.anions.get(acid.family, 0.0)


def moles_to_ph(
    alkalinity: Number,
    ph: Number,
    target_ph: Number,
    acid: Acid,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
    co2_lost: Number = 0.0,
) -> Number:
    """mol of acid per litre (at 20 °C) that takes the water to ``target_ph``.

    Parameters
    ----------
    alkalinity
        Total alkalinity of the source water, mg/L as CaCO3, 0 to 2000.
    ph
        pH of the source water at ``temp_c``.
    target_ph
        pH to reach at ``temp_c``, 1 to 13 and not above that of the water.
    acid
        From :func:`chemcore.acids.find_acid`.
    ions
        Of the source water, mg/L; left out, the alkalinity is taken as calcium bicarbonate.
    temp_c
        Temperature of the pH readings, 0 to 100 °C.
    co2_lost
        Share, 0 to 1, of the carbon dioxide above air equilibrium that leaves.

    Returns
    -------
    Number
        mol/L, 0 or more.

    Raises
    ------
    DomainError
        For ``target_ph`` above ``ph``, or beyond the model; for ``ph`` that does not go with the
        alkalinity.
    """
    target_ph = require(
        target_ph <= ph,
        "target_ph",
        lambda: f"{target_ph:g} is above the water's pH {ph:g}; acid only lowers pH",
        target_ph,
    )
    water = source_water(alkalinity, ph, ions, temp_c)
    treated = dosed_to_ph(water, target_ph, acid, co2_lost)
    moles = acid_added(water, treated, acid) + 0.0 * treated.mu
    return backend(moles).maximum(moles, 0.0) * report_density()


def dose_volume(
    alkalinity: Number,
    ph: Number,
    target_ph: Number,
    litres: Number,
    acid: Acid,
    strength: Number | None = None,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
    co2_lost: Number = 0.0,
) -> Number:
    """mL at 20 °C of the acid as bought that takes ``litres`` of the water to ``target_ph``.

    Parameters
    ----------
    alkalinity
        Total alkalinity of the source water, mg/L as CaCO3, 0 to 2000.
    ph
        pH of the source water at ``temp_c``.
    target_ph
        pH to reach at ``temp_c``, 1 to 13 and not above that of the water.
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
    Number
        mL at 20 °C of the acid as bought.

    Raises
    ------
    DomainError
        As :func:`moles_to_ph` and :func:`chemcore.acids.density`.
    """
    moles = litres * moles_to_ph(alkalinity, ph, target_ph, acid, ions, temp_c, co2_lost)
    return volume_of_moles(moles, acid, strength)


def dose_mass(
    alkalinity: Number,
    ph: Number,
    target_ph: Number,
    litres: Number,
    acid: Acid,
    strength: Number | None = None,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
    co2_lost: Number = 0.0,
) -> Number:
    """Grams of the acid as bought that take ``litres`` of the water to ``target_ph``.

    Parameters
    ----------
    alkalinity
        Total alkalinity of the source water, mg/L as CaCO3, 0 to 2000.
    ph
        pH of the source water at ``temp_c``.
    target_ph
        pH to reach at ``temp_c``, 1 to 13 and not above that of the water.
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
    Number
        g of the acid as bought.

    Raises
    ------
    DomainError
        As :func:`moles_to_ph` and :func:`chemcore.acids.checked_strength`.
    """
    moles = litres * moles_to_ph(alkalinity, ph, target_ph, acid, ions, temp_c, co2_lost)
    return mass_of_moles(moles, acid, strength)


def dosed_totals(
    water: Solution, dose_ml: Number, litres: Number, acid: Acid, strength: Number | None
) -> Totals:
    """What is dissolved after ``dose_ml`` of the acid in ``litres`` of the water.

    Parameters
    ----------
    water
        The source water, from :func:`chemcore.water.source_water`.
    dose_ml
        Acid as bought that goes in, mL at 20 °C, 0 or more.
    litres
        Liquor to treat, L at 20 °C, above 0.
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.

    Returns
    -------
    Totals
        mol/kg.

    Raises
    ------
    DomainError
        For a dose of more than 1 mol/kg.
    """
    added = moles_of_volume(dose_ml, acid, strength) / (litres * report_density())
    added = require(added <= MOST_ACID, "dose_ml", lambda: _far_past(dose_ml, litres), added)
    return water.totals.with_anion(acid.family, water.totals.anions.get(acid.family, 0.0) + added)


def ph_after(
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
    """pH at ``temp_c`` after ``dose_ml`` of the acid in ``litres`` of the water.

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
    Number
        pH at ``temp_c``, 1 to 13.

    Raises
    ------
    DomainError
        For a dose of more than 1 mol/kg, or so large that the pH would be below 1.
    """
    water = source_water(alkalinity, ph, ions, temp_c)
    dosed = dosed_totals(water, dose_ml, litres, acid, strength)
    found = solve_for_ph(temp_c, dosed, venting(temp_c, co2_lost), start=water)
    return ph_found(found, dose_ml, litres)


def _far_past(dose: Number, litres: Number, unit: str = "mL") -> str:
    return (
        f"{dose:g} {unit} in {litres:g} L is far past any pH of brewing liquor; look at the units"
    )


def ph_found(found: Number, dose_ml: Number, litres: Number) -> Number:
    """The pH that a search found, or the refusal of a dose that takes the liquor past pH 1.

    Parameters
    ----------
    found
        From :func:`chemcore.speciation.solve_for_ph`.
    dose_ml
        For the refusal, mL.
    litres
        For the refusal, L.

    Returns
    -------
    Number
        ``found``, where it is a number.

    Raises
    ------
    DomainError
        For ``dose_ml``, where it is none.
    """
    return require(found == found, "dose_ml", lambda: _far_past(dose_ml, litres), found)


def alkalinity_after(
    alkalinity: Number,
    ph: Number,
    dose_ml: Number,
    litres: Number,
    acid: Acid,
    strength: Number | None = None,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
) -> Number:
    """Alkalinity left after a dose, mg/L as CaCO3: what a titration to pH 4.5 finds less than
    before.

    An inorganic acid takes its equivalents; of an organic acid, the part that its anion takes up
    again on the way down to pH 4.5 counts as left, as in the titration. Carbon dioxide that leaves
    does not change it. Negative where the dose is more than the alkalinity. Source: Standard
    Methods 2320 B (end point).

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

    Returns
    -------
    Number
        mg/L as CaCO3.

    Raises
    ------
    DomainError
        As :func:`ph_after`.
    """
    water = source_water(alkalinity, ph, ions, temp_c)
    dosed = dosed_totals(water, dose_ml, litres, acid, strength)
    end = constant("endpoint_ph")
    taken = (
        solve_at_ph(end, temp_c, water.totals, start=water).charge
        - solve_at_ph(end, temp_c, dosed, start=water).charge
    )
    return alkalinity - alkalinity_per_litre(taken)


def alkalinity_from_dose(
    ph_before: Number,
    ph_after_dose: Number,
    dose_ml: Number,
    litres: Number,
    acid: Acid,
    strength: Number | None = None,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
    co2_lost: Number = 0.0,
) -> Number:
    """The alkalinity, mg/L as CaCO3, that a water had if this dose moved its pH so.

    Parameters
    ----------
    ph_before
        pH of the source water before any acid, at ``temp_c``.
    ph_after_dose
        pH after the dose at ``temp_c``, below ``ph_before``.
    dose_ml
        Acid as bought that went in, mL at 20 °C.
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
    Number
        mg/L as CaCO3, 0 to 5000.

    Raises
    ------
    DomainError
        For ``ph_after`` above ``ph_before``, or a dose that no alkalinity from 0 to 5000 mg/L
        explains.
    """
    ph_after_dose = require(
        ph_after_dose < ph_before,
        "ph_after",
        lambda: (
            f"{ph_after_dose:g} is not below the pH before the dose, {ph_before:g}; acid only"
            " lowers pH"
        ),
        ph_after_dose,
    )
    wanted = moles_of_volume(dose_ml, acid, strength) / litres

    xp = backend(ph_before, ph_after_dose, temp_c, co2_lost, wanted, *(ions or ()))
    source, dosed = Latest(), Latest()

    def excess(
        alkalinity: Number,
        ph0: Number,
        ph1: Number,
        temp: Number,
        lost: Number,
        wanted: Number,
        *ion_values: Number,
    ) -> Number:
        before = Ions(*ion_values) if ion_values else None
        start = source.start(alkalinity)
        water = source.keep(speciated(alkalinity, ph0, before, temp, start=start))
        treated = dosed.keep(
            solve_at_ph(
                ph1,
                temp,
                water.totals,
                free=acid.family,
                venting=venting(temp, lost),
                start=dosed.start(alkalinity) or water,
            )
        )
        return acid_added(water, treated, acid) * report_density() - wanted

    values = (ph_before, ph_after_dose, temp_c, co2_lost, wanted, *(ions or ()))
    # about an equivalent of alkalinity for a mole of acid
    near = xp.minimum(50000.0 * wanted, HIGHEST_ALKALINITY), 1.0 / 50000.0
    found = find_root(excess, 0.0, HIGHEST_ALKALINITY, values, xp, near)
    water = speciated(found, ph_before, ions, temp_c)
    found = require(
        (found == found) & shortfall(water)[1],
        "dose_ml",
        lambda: (
            f"no alkalinity from 0 to {HIGHEST_ALKALINITY:g} mg/L explains {dose_ml:g} mL in"
            f" {litres:g} L taking the pH from {ph_before:g} to {ph_after_dose:g}; look at dose,"
            " volume and readings"
        ),
        found,
    )
    return found


def top_up_volume(
    ph_before: Number,
    ph_now: Number,
    target_ph: Number,
    dose_so_far_ml: Number,
    litres: Number,
    acid: Acid,
    strength: Number | None = None,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
    co2_lost: Number = 0.0,
) -> Number:
    """mL still to add: the part dose and the reading give the alkalinity, the alkalinity gives the
    whole dose.

    Parameters
    ----------
    ph_before
        pH of the source water before any acid, at ``temp_c``.
    ph_now
        pH after the part dose at ``temp_c``, below ``ph_before``.
    target_ph
        pH to reach at ``temp_c``, not above ``ph_now``.
    dose_so_far_ml
        Acid as bought that went in, mL at 20 °C.
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
    Number
        mL at 20 °C of the acid as bought, 0 or more.

    Raises
    ------
    DomainError
        For ``target_ph`` above ``ph_now``, and as :func:`alkalinity_from_dose`.
    """
    target_ph = require(
        target_ph <= ph_now,
        "target_ph",
        lambda: (
            f"{target_ph:g} is above the pH now, {ph_now:g}: the water is there already; add no"
            " more acid"
        ),
        target_ph,
    )
    try:
        alkalinity = alkalinity_from_dose(
            ph_before, ph_now, dose_so_far_ml, litres, acid, strength, ions, temp_c, co2_lost
        )
    except DomainError as error:
        names = {"ph_after": "ph_now", "dose_ml": "dose_so_far_ml"}
        raise DomainError(names.get(error.argument, error.argument), error.reason) from None
    whole = dose_volume(
        alkalinity, ph_before, target_ph, litres, acid, strength, ions, temp_c, co2_lost
    )
    return backend(whole).maximum(whole - dose_so_far_ml, 0.0)


def anion_added(moles: Number, litres: Number, acid: Acid, argument: str, dose: Number) -> Number:
    """mg/L of the acid's anion, counted fully deprotonated (phosphate as PO4), in the liquor.

    Parameters
    ----------
    moles, litres
        Of the acid in the dose, and of the liquor.
    acid
        The acid.
    argument, dose
        Name of the dose for the refusal, ``dose_ml`` or ``dose_g``, and the dose.

    Returns
    -------
    Number
        mg/L of the anion.

    Raises
    ------
    DomainError
        For a dose of more than 1 mol/kg, as in :func:`ph_after`.
    """
    moles_per_litre = moles / litres
    allowed = require(
        moles_per_litre <= MOST_ACID * report_density(),
        argument,
        lambda: _far_past(dose, litres, "g" if argument == "dose_g" else "mL"),
        moles_per_litre,
    )
    return 1000.0 * acid.anion_molar_mass * allowed


def ph_at_temperature(
    alkalinity: Number,
    ph: Number,
    dose_ml: Number,
    litres: Number,
    acid: Acid,
    strength: Number | None = None,
    ions: Ions | None = None,
    temp_c: Number = 20.0,
    tank_temp_c: Number | None = None,
) -> Number:
    """pH that the dosed water has at ``tank_temp_c``: the same water as at ``temp_c``, warmed, no
    gas lost.

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
        Temperature of ``ph``, 0 to 100 °C.
    tank_temp_c
        Temperature of the hot tank, 0 to 100 °C; left out, that of data/constants.csv.

    Returns
    -------
    Number
        pH at ``tank_temp_c``.

    Raises
    ------
    DomainError
        As :func:`ph_after`.
    """
    water = source_water(alkalinity, ph, ions, temp_c)
    tank = given_or(tank_temp_c, "sparge_tank_temperature")
    dosed = dosed_totals(water, dose_ml, litres, acid, strength)
    return ph_found(solve_for_ph(tank, dosed, start=water), dose_ml, litres)
