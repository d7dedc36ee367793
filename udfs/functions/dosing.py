"""Functions: how much acid, and what it does to the liquor."""

from __future__ import annotations

from chemcore import dosing, left
from chemcore.numeric import Number
from udfs.arguments import (
    AcidName,
    Alkalinity,
    CO2Lost,
    DoseML,
    IonRange,
    Litres,
    ReadPH,
    SourcePH,
    Strength,
    TankTempC,
    TargetPH,
    TempC,
)
from udfs.catalogue import function

_IN_GRAMS = "use ACID_DOSE_MASS"
_NO_VOLUME = "weigh it, or give the strength of its solution"


@function("Dosing", "mL of acid as bought", liquid=_IN_GRAMS)
def acid_dose(
    alkalinity: Alkalinity,
    ph: SourcePH,
    target_ph: TargetPH,
    litres: Litres,
    acid: AcidName,
    strength: Strength = None,
    ions: IonRange = None,
    temp_c: TempC = 20.0,
    co2_lost: CO2Lost = 0.0,
) -> Number:
    """Volume of acid that takes the liquor to a target pH. Strong acid burns: see ACID_CAUTIONS.

    Full speciation with ion pairs and activity coefficients. Without ions, the alkalinity is taken
    as calcium bicarbonate, and the dose is mostly too high. Over usual waters that costs, in the
    median, in 1 of 20, and at worst: hydrochloric, sulfuric and lactic acid 0.7, 2.5 and 4 %;
    acetic 1.2, 3 and 5 %; malic 1.9, 5 and 8 %; phosphoric 1.6, 8 and 14 %; citric 4, 14 and 23 %.
    So give the ions. Dose in steps and check with a meter.

    References
    ----------
    Charge balance with the constants of USGS phreeqc.dat (Parkhurst & Appelo 2013); phosphate pK2
    from the NIST buffers (Bates 1962); lactic Martin & Tartar 1937; citric Bates & Pinching 1949;
    acetic Harned & Ehlers 1933; malic Eden & Bates 1959.
    """
    return dosing.dose_volume(
        alkalinity, ph, target_ph, litres, acid, strength, ions, temp_c, co2_lost
    )


@function("Dosing", "g of acid as bought")
def acid_dose_mass(
    alkalinity: Alkalinity,
    ph: SourcePH,
    target_ph: TargetPH,
    litres: Litres,
    acid: AcidName,
    strength: Strength = None,
    ions: IonRange = None,
    temp_c: TempC = 20.0,
    co2_lost: CO2Lost = 0.0,
) -> Number:
    """Mass of acid that takes the liquor to a target pH; the one for powders. Strong acid burns:
    see ACID_CAUTIONS.

    Citric acid powder is 100 (anhydrous) or 91.4 (monohydrate). Otherwise as ACID_DOSE.

    References
    ----------
    As ACID_DOSE.
    """
    return dosing.dose_mass(
        alkalinity, ph, target_ph, litres, acid, strength, ions, temp_c, co2_lost
    )


@function("Dosing", "pH", liquid=_NO_VOLUME)
def ph_after_acid(
    alkalinity: Alkalinity,
    ph: SourcePH,
    dose_ml: DoseML,
    litres: Litres,
    acid: AcidName,
    strength: Strength = None,
    ions: IonRange = None,
    temp_c: TempC = 20.0,
    co2_lost: CO2Lost = 0.0,
) -> Number:
    """pH of the liquor after a dose of acid, read on a cooled sample.

    Undoes ACID_DOSE.

    References
    ----------
    As ACID_DOSE, solved for pH (Anderson 1965, J. ACM 12:547; Chandrupatla 1997 where that does not
    settle).
    """
    return dosing.ph_after(alkalinity, ph, dose_ml, litres, acid, strength, ions, temp_c, co2_lost)


@function("Dosing", "mg/L as CaCO3", liquid=_NO_VOLUME)
def alkalinity_after_acid(
    alkalinity: Alkalinity,
    ph: SourcePH,
    dose_ml: DoseML,
    litres: Litres,
    acid: AcidName,
    strength: Strength = None,
    ions: IonRange = None,
    temp_c: TempC = 20.0,
    co2_lost: CO2Lost = 0.0,
) -> Number:
    """Total alkalinity left after a dose of acid, as a titration to pH 4.5 would find it.

    Part of an organic acid's anion is taken up again on the way to pH 4.5 and counts as left.
    Negative where the dose is more than the alkalinity. Carbon dioxide that leaves (co2_lost) does
    not change it.

    References
    ----------
    Standard Methods 2320 B (end point 4.5); equilibria as ACID_DOSE.
    """
    return dosing.alkalinity_after(alkalinity, ph, dose_ml, litres, acid, strength, ions, temp_c)


@function("Dosing", "mg/L", liquid=_NO_VOLUME)
def bicarbonate_after_acid(
    alkalinity: Alkalinity,
    ph: SourcePH,
    dose_ml: DoseML,
    litres: Litres,
    acid: AcidName,
    strength: Strength = None,
    ions: IonRange = None,
    temp_c: TempC = 20.0,
    co2_lost: CO2Lost = 0.0,
) -> Number:
    """Bicarbonate left after a dose of acid: the part of ALKALINITY_AFTER_ACID that meets the malt.

    At the same pH all acids leave nearly the same. Ion pairs count as bicarbonate.

    References
    ----------
    Equilibria as ACID_DOSE.
    """
    return left.bicarbonate_after(
        alkalinity, ph, dose_ml, litres, acid, strength, ions, temp_c, co2_lost
    )


@function("Dosing", "mg/L as CaCO3", liquid=_NO_VOLUME)
def anion_alkalinity_after_acid(
    alkalinity: Alkalinity,
    ph: SourcePH,
    dose_ml: DoseML,
    litres: Litres,
    acid: AcidName,
    strength: Strength = None,
    ions: IonRange = None,
    temp_c: TempC = 20.0,
    co2_lost: CO2Lost = 0.0,
) -> Number:
    """Part of ALKALINITY_AFTER_ACID that is the acid's own anion, taking up acid from the liquor's
    pH down to 4.5.

    From pH 5.7 a mole of phosphate takes up about 0.06 equivalents, of lactate 0.16, of acetate
    0.5, of citrate 1.0; chloride none, sulfate next to none. It is why lactic acid leaves more
    titrated alkalinity than phosphoric.

    References
    ----------
    Equilibria as ACID_DOSE; Standard Methods 2320 B (end point 4.5).
    """
    return left.anion_alkalinity(
        alkalinity, ph, dose_ml, litres, acid, strength, ions, temp_c, co2_lost
    )


@function("Dosing", "mg/L as CaCO3", liquid=_NO_VOLUME)
def alkalinity_from_dose(
    ph_before: SourcePH,
    ph_after: ReadPH,
    dose_ml: DoseML,
    litres: Litres,
    acid: AcidName,
    strength: Strength = None,
    ions: IonRange = None,
    temp_c: TempC = 20.0,
    co2_lost: CO2Lost = 0.0,
) -> Number:
    """Alkalinity that the water must have had, from a dose that was given and the readings before
    and after it.

    Parameters
    ----------
    ph_before
        pH of the source water before the dose, cooled sample
    ph_after
        pH after the dose and mixing, cooled sample

    References
    ----------
    As ACID_DOSE, solved for the alkalinity.
    """
    return dosing.alkalinity_from_dose(
        ph_before, ph_after, dose_ml, litres, acid, strength, ions, temp_c, co2_lost
    )


@function("Dosing", "mL of acid as bought", liquid=_NO_VOLUME)
def acid_top_up(
    ph_before: SourcePH,
    ph_now: ReadPH,
    target_ph: TargetPH,
    dose_so_far_ml: DoseML,
    litres: Litres,
    acid: AcidName,
    strength: Strength = None,
    ions: IonRange = None,
    temp_c: TempC = 20.0,
    co2_lost: CO2Lost = 0.0,
) -> Number:
    """Acid still to add after a part of the dose and a reading. Strong acid burns: see
    ACID_CAUTIONS.

    The part dose and the reading give the alkalinity the water really had; from that, the whole
    dose. A small first part makes the answer depend strongly on the error of the meter: give half
    or more of the plan first.

    Parameters
    ----------
    ph_before
        pH of the source water before any acid, cooled sample
    ph_now
        pH after the part dose and mixing, cooled sample
    dose_so_far_ml
        Acid as bought that has gone in

    References
    ----------
    As ALKALINITY_FROM_DOSE and ACID_DOSE.
    """
    return dosing.top_up_volume(
        ph_before, ph_now, target_ph, dose_so_far_ml, litres, acid, strength, ions, temp_c, co2_lost
    )


@function("Dosing", "pH at the tank's temperature", liquid=_NO_VOLUME)
def ph_when_hot(
    alkalinity: Alkalinity,
    ph: SourcePH,
    dose_ml: DoseML,
    litres: Litres,
    acid: AcidName,
    strength: Strength = None,
    ions: IonRange = None,
    temp_c: TempC = 20.0,
    tank_temp_c: TankTempC = None,
) -> Number:
    """pH that the dosed liquor has in the hot tank, where a cooled sample reads PH_AFTER_ACID.

    The same water warmed without loss of gas. Targets in this workbook are readings of cooled
    samples; this figure is for the solubility functions, which work at the tank's temperature.

    References
    ----------
    As ACID_DOSE, with the constants at the tank's temperature.
    """
    return dosing.ph_at_temperature(
        alkalinity, ph, dose_ml, litres, acid, strength, ions, temp_c, tank_temp_c
    )
