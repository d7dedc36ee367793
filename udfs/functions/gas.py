"""Functions: carbon dioxide that has left a dosed tank."""

from __future__ import annotations

from dataclasses import replace
from operator import attrgetter
from typing import Annotated

from chemcore import gas
from chemcore.numeric import Number
from chemcore.tables import constant
from chemcore.uncertainty import Interval
from udfs.arguments import (
    AcidName,
    Alkalinity,
    AlkalinityError,
    DoseML,
    IonRange,
    Litres,
    PHError,
    ReadPH,
    SourcePH,
    Strength,
    StrengthError,
    TempC,
    VolumeError,
    kind,
)
from udfs.catalogue import function, twin

PHRead = Annotated[
    Number, replace(kind(ReadPH), help="pH that the dosed tank reads, cooled sample")
]
PHMixed = Annotated[
    Number,
    replace(kind(ReadPH), help="pH right after dose and mixing, before gas leaves, cooled sample"),
]
PHLater = Annotated[
    Number,
    replace(kind(ReadPH), help="pH of the same tank later, no more acid added, cooled sample"),
]
_WEIGH = "give the strength of its solution"


@function("Dosing", "share, 0 to 1", liquid=_WEIGH)
def co2_lost_from_reading(
    alkalinity: Alkalinity,
    ph: SourcePH,
    dose_ml: DoseML,
    ph_read: PHRead,
    litres: Litres,
    acid: AcidName,
    strength: Strength = None,
    ions: IonRange = None,
    temp_c: TempC = 20.0,
) -> Number:
    """Share of the carbon dioxide above air equilibrium that has left a dosed tank, from the pH
    that it reads.

    The same share as co2_lost elsewhere. Give a titrated alkalinity: one reading cannot tell an
    alkalinity that differs from the report from gas that has left; CO2_LOST_FROM_TWO_READINGS can.
    A reading within 0.1 of what no loss, or all of it, explains counts as 0, or 1; one further
    outside is refused. Air equilibrium is that at temp_c; a tank that vents hot loses a little
    more, which counts as 1.

    References
    ----------
    As PH_AFTER_ACID, solved for the share; Henry's constant of phreeqc.dat, 420 ppm in air.
    """
    return gas.co2_lost_from_reading(
        alkalinity, ph, dose_ml, ph_read, litres, acid, strength, ions, temp_c
    )


@function("Dosing", "share, 0 to 1", liquid=_WEIGH, part=attrgetter("low"))
def co2_lost_from_reading_low(
    alkalinity: Alkalinity,
    ph: SourcePH,
    dose_ml: DoseML,
    ph_read: PHRead,
    litres: Litres,
    acid: AcidName,
    strength: Strength = None,
    alkalinity_error: AlkalinityError = None,
    ph_error: PHError = None,
    strength_error: StrengthError = None,
    volume_error: VolumeError = None,
    ions: IonRange = None,
    temp_c: TempC = 20.0,
) -> Interval:
    """Lower end of the 95 % interval of CO2_LOST_FROM_READING, from the errors of what was
    measured.

    The pH error counts at both readings. Errors are standard errors, independent of each other.

    References
    ----------
    As ACID_DOSE_LOW, cut off at 0 and 1.
    """
    return gas.co2_lost_interval(
        alkalinity,
        ph,
        dose_ml,
        ph_read,
        litres,
        acid,
        strength,
        alkalinity_error,
        ph_error,
        strength_error,
        volume_error,
        ions,
        temp_c,
        constant("error_constants"),
    )


@twin(co2_lost_from_reading_low, attrgetter("high"))
def co2_lost_from_reading_high() -> None:
    """Upper end of the 95 % interval of CO2_LOST_FROM_READING, from the errors of what was
    measured.

    Arguments and errors as in CO2_LOST_FROM_READING_LOW.

    References
    ----------
    As ACID_DOSE_LOW, cut off at 0 and 1.
    """


@function("Dosing", "share, 0 to 1", liquid=_WEIGH)
def co2_lost_from_two_readings(
    ph_before: SourcePH,
    ph_mixed: PHMixed,
    ph_later: PHLater,
    dose_ml: DoseML,
    litres: Litres,
    acid: AcidName,
    strength: Strength = None,
    ions: IonRange = None,
    temp_c: TempC = 20.0,
) -> Number:
    """Share of the excess carbon dioxide that left between two readings of a dosed tank, its
    alkalinity unknown.

    The reading right after mixing, when nothing has left yet, gives the alkalinity
    (ALKALINITY_FROM_DOSE with the same figures); the later one gives the gas. Otherwise as
    CO2_LOST_FROM_READING.

    References
    ----------
    As ALKALINITY_FROM_DOSE and CO2_LOST_FROM_READING.
    """
    return gas.co2_lost_from_two_readings(
        ph_before, ph_mixed, ph_later, dose_ml, litres, acid, strength, ions, temp_c
    )


@function("Dosing", "share, 0 to 1", liquid=_WEIGH, part=attrgetter("low"))
def co2_lost_from_two_readings_low(
    ph_before: SourcePH,
    ph_mixed: PHMixed,
    ph_later: PHLater,
    dose_ml: DoseML,
    litres: Litres,
    acid: AcidName,
    strength: Strength = None,
    ph_error: PHError = None,
    strength_error: StrengthError = None,
    volume_error: VolumeError = None,
    ions: IonRange = None,
    temp_c: TempC = 20.0,
) -> Interval:
    """Lower end of the 95 % interval of CO2_LOST_FROM_TWO_READINGS, from the errors of what was
    measured.

    The pH error counts at each of the three readings.

    References
    ----------
    As ACID_DOSE_LOW, cut off at 0 and 1.
    """
    return gas.co2_lost_from_two_interval(
        ph_before,
        ph_mixed,
        ph_later,
        dose_ml,
        litres,
        acid,
        strength,
        ph_error,
        strength_error,
        volume_error,
        ions,
        temp_c,
        constant("error_constants"),
    )


@twin(co2_lost_from_two_readings_low, attrgetter("high"))
def co2_lost_from_two_readings_high() -> None:
    """Upper end of the 95 % interval of CO2_LOST_FROM_TWO_READINGS, from the errors of what was
    measured.

    The pH error counts at each of the three readings.

    References
    ----------
    As ACID_DOSE_LOW, cut off at 0 and 1.
    """
