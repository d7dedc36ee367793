"""Functions: how far off a dose may be."""

from __future__ import annotations

from operator import attrgetter

from chemcore import uncertainty
from chemcore.tables import constant
from chemcore.uncertainty import Interval
from udfs.arguments import (
    AcidName,
    Alkalinity,
    AlkalinityError,
    CO2Lost,
    CO2LostFrom,
    CO2LostTo,
    CurveTargetPH,
    IonRange,
    Litres,
    Normality,
    PHError,
    SampleML,
    SourcePH,
    Strength,
    StrengthError,
    TargetPH,
    TempC,
    TitrantError,
    TitrantName,
    VolumeError,
)
from udfs.catalogue import function, twin
from udfs.reading_columns import MLColumn, PHColumn

_IN_GRAMS = "these limits are in mL; give the strength of its solution"


@function("Dosing", "mL of acid as bought", liquid=_IN_GRAMS, part=attrgetter("low"))
def acid_dose_low(
    alkalinity: Alkalinity,
    ph: SourcePH,
    target_ph: TargetPH,
    litres: Litres,
    acid: AcidName,
    strength: Strength = None,
    alkalinity_error: AlkalinityError = None,
    ph_error: PHError = None,
    strength_error: StrengthError = None,
    volume_error: VolumeError = None,
    ions: IonRange = None,
    temp_c: TempC = 20.0,
    co2_lost: CO2Lost = 0.0,
    co2_lost_from: CO2LostFrom = None,
    co2_lost_to: CO2LostTo = None,
) -> Interval:
    """Lower end of the 95 % interval of ACID_DOSE, from the errors of what was measured. See
    ACID_CAUTIONS.

    The pH error counts twice: at the source water's reading and at the target's. Errors are
    standard errors (two out of three readings lie within one), independent of each other. The
    constants of the model add 0.5 %, so that the interval is never within 1 % of the dose. With
    co2_lost_from and co2_lost_to the share lost may be anywhere between them.

    References
    ----------
    Each input moved to its own 95 % limits through the model, changes combined in quadrature (Zou &
    Donner 2008, Statist. Med. 27:1693, from memory); default errors: common practice, no source;
    constants: spread of PHREEQC's databases; a range of the share lost: evenly spread, folded with
    the other errors.
    """
    return uncertainty.dose_interval(
        alkalinity,
        ph,
        target_ph,
        litres,
        acid,
        strength,
        alkalinity_error,
        ph_error,
        strength_error,
        volume_error,
        ions,
        temp_c,
        co2_lost,
        co2_lost_from,
        co2_lost_to,
        constant("error_constants"),
    )


@twin(acid_dose_low, attrgetter("high"))
def acid_dose_high() -> None:
    """Upper end of the 95 % interval of ACID_DOSE, from the errors of what was measured. See
    ACID_CAUTIONS.

    Arguments and errors as in ACID_DOSE_LOW.

    References
    ----------
    As ACID_DOSE_LOW.
    """


@function("Titration", "mL of acid as bought", liquid=_IN_GRAMS, part=attrgetter("low"))
def titration_dose_low(
    ml: MLColumn,
    phs: PHColumn,
    sample_ml: SampleML,
    titrant_normality: Normality,
    target_ph: CurveTargetPH,
    litres: Litres,
    acid: AcidName,
    strength: Strength = None,
    titrant: TitrantName = None,
    titrant_error: TitrantError = None,
    ph_error: PHError = None,
    strength_error: StrengthError = None,
    volume_error: VolumeError = None,
    ions: IonRange = None,
) -> Interval:
    """Lower end of the 95 % interval of TITRATION_DOSE, from the errors of what was measured. See
    ACID_CAUTIONS.

    The pH error counts twice: on the curve and at the target's reading in the tank.

    References
    ----------
    As ACID_DOSE_LOW.
    """
    return uncertainty.curve_dose_interval(
        ml,
        phs,
        sample_ml,
        titrant_normality,
        target_ph,
        litres,
        acid,
        strength,
        titrant,
        titrant_error,
        ph_error,
        strength_error,
        volume_error,
        ions,
        constant("error_constants"),
    )


@twin(titration_dose_low, attrgetter("high"))
def titration_dose_high() -> None:
    """Upper end of the 95 % interval of TITRATION_DOSE, from the errors of what was measured. See
    ACID_CAUTIONS.

    The pH error counts twice: on the curve and at the target's reading in the tank.

    References
    ----------
    As ACID_DOSE_LOW.
    """
