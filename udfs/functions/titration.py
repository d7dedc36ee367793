"""Functions: a titration at the bench."""

from __future__ import annotations

from operator import attrgetter

from chemcore import titration
from chemcore.numeric import Number
from chemcore.odd_reading import OddReading, odd_reading
from udfs.arguments import (
    AcidName,
    CurveTargetPH,
    DoseML,
    EndpointPH,
    IonRange,
    LabelStrength,
    Litres,
    MadeUpML,
    MethodName,
    Normality,
    ReadPH,
    SampleML,
    Strength,
    TitrantML,
    TitrantName,
)
from udfs.catalogue import function, twin
from udfs.reading_columns import MLColumn, PHColumn

_NO_VOLUME = "weigh it, or give the strength of its solution"


@function("Titration", "mg/L as CaCO3")
def titration_alkalinity(
    ml: MLColumn,
    phs: PHColumn,
    sample_ml: SampleML,
    normality: Normality,
    method: MethodName = "Gran",
    endpoint_ph: EndpointPH = None,
) -> Number:
    """Total alkalinity of a sample from its titration with acid.

    Gran: the line past the end point, from four or more readings between pH 4 and 3, the
    bicarbonate still there taken off; needs a strong titrant (hydrochloric, or sulfuric, which
    reads up to 1 % low at 20 mg/L). Inflection: the steepest fall. End point: the volume at pH 4.5
    or the pH given; Standard Methods has 4.9 for about 30 mg/L, 4.6 for 150, 4.3 for
    500. A row without a pH is left out; a pH without its mL, or a text, is named.

    References
    ----------
    Standard Methods 2320 B, A N 50000/mL; Gran 1952, Analyst 77:661; USGS National Field Manual ch.
    A6.6; equivalent mass 50.0435 (IUPAC 2021).
    """
    return titration.alkalinity(ml, phs, sample_ml, normality, method, endpoint_ph)


@function("Titration", "mg/L as CaCO3")
def titration_error(
    ml: MLColumn, phs: PHColumn, sample_ml: SampleML, normality: Normality
) -> Number:
    """Standard error of the alkalinity by Gran's line, from the scatter of the readings about it.

    Errors of titrant strength and sample volume come on top. TITRATION_HALF_WIDTH gives the 95 %
    interval.

    References
    ----------
    Weighted least squares, weights for an equal error of every pH reading; end point by propagation
    through the line.
    """
    return titration.alkalinity_error(ml, phs, sample_ml, normality)


@function("Titration", "mg/L as CaCO3")
def titration_half_width(
    ml: MLColumn, phs: PHColumn, sample_ml: SampleML, normality: Normality
) -> Number:
    """Half the width of the 95 % interval of the alkalinity by Gran's line, from the scatter of the
    readings.

    Not in it: an electrode of wrong slope (95 % reads 5 % low at 20 mg/L, 1.3 at 60, 0.3 at 150;
    ELECTRODE_SLOPE and CORRECTED_PH mend it), gas lost from the sample, and the errors of titrant
    strength and sample volume.

    References
    ----------
    TITRATION_ERROR times Student's t for the number of readings on the line.
    """
    return titration.alkalinity_half_width(ml, phs, sample_ml, normality)


@function("Titration", "row of the range", part=attrgetter("row"))
def titration_odd_reading(
    ml: MLColumn,
    phs: PHColumn,
    sample_ml: SampleML,
    normality: Normality,
    titrant: TitrantName = None,
) -> OddReading:
    """Row of the reading that does not fit the others of a titration, 0 where none stands out.

    Each of seven or more readings against the charge balance fitted to the others; named where it
    is off by more than about 0.1 pH and by more than chance (1 curve in 100 without a slip). It
    finds one slip, at best in a sample that kept its gas; where the others then still miss one
    another by a slip, it names none and asks to titrate again. At the end point, where the pH falls
    most, no harm is seen or done.

    References
    ----------
    Externally studentized residuals, Cook & Weisberg 1982, ch. 2.2 (from memory); charge balance as
    in Dickson, Sabine & Christian 2007, SOP 3b.
    """
    return odd_reading(ml, phs, sample_ml, normality, titrant)


@twin(titration_odd_reading, attrgetter("off"), "pH")
def titration_odd_by() -> None:
    """How far the reading of TITRATION_ODD_READING lies above the curve through the others, below
    it negative; 0 for none.

    References
    ----------
    As TITRATION_ODD_READING.
    """


@function("Titration", "mL")
def end_point_ml(
    ml: MLColumn,
    phs: PHColumn,
    sample_ml: SampleML,
    normality: Normality,
    method: MethodName = "Gran",
    endpoint_ph: EndpointPH = None,
) -> Number:
    """Titrant used at the end point of a titration.

    References
    ----------
    As TITRATION_ALKALINITY.
    """
    return titration.end_point_ml(ml, phs, sample_ml, normality, method, endpoint_ph)


@function("Titration", "µmol")
def gran_value(at_ml: TitrantML, ph: ReadPH, sample_ml: SampleML) -> Number:
    """Gran's function of one reading, for a chart: past the end point it rises in a straight line.

    Parameters
    ----------
    ph
        pH at that reading

    References
    ----------
    Gran 1952, Analyst 77:661: (sample + titrant) times 10^-pH.
    """
    return titration.gran_value(at_ml, ph, sample_ml)


@function("Titration", "µmol")
def gran_line(
    ml: MLColumn, phs: PHColumn, sample_ml: SampleML, normality: Normality, at_ml: TitrantML
) -> Number:
    """Height of the fitted Gran line at a volume of titrant, for a chart; it is 0 at END_POINT_ML.

    The bicarbonate still there is taken off, so readings near pH 4 stand a little above the line.

    Parameters
    ----------
    at_ml
        Titrant at which the line is read

    References
    ----------
    As TITRATION_ALKALINITY.
    """
    line = titration.gran_line(ml, phs, sample_ml, normality)
    return 1000.0 * (line.slope * at_ml + line.intercept)


@function("Titration", "pH")
def titration_ph(ml: MLColumn, phs: PHColumn, at_ml: TitrantML) -> Number:
    """pH on the smooth curve through the readings of a titration.

    Parameters
    ----------
    at_ml
        Titrant at which the curve is read

    References
    ----------
    Shape-preserving cubic interpolation, Fritsch & Carlson 1980, SIAM J. Numer. Anal. 17:238.
    """
    return titration.ph_at_ml(ml, phs, at_ml)


@function("Titration", "mL of acid as bought", liquid=_NO_VOLUME)
def titration_dose(
    ml: MLColumn,
    phs: PHColumn,
    sample_ml: SampleML,
    titrant_normality: Normality,
    target_ph: CurveTargetPH,
    litres: Litres,
    acid: AcidName,
    strength: Strength = None,
    titrant: TitrantName = None,
    ions: IonRange = None,
) -> Number:
    """Volume of acid for the tank from the measured curve alone. Strong acid burns: see
    ACID_CAUTIONS.

    The equivalents that the sample took down to the target, over those that the tank's acid
    releases there. Where the titrant was the tank's acid diluted, give its DILUTE_NORMALITY and
    name it as titrant: its chemistry then cancels. Stir gently: carbon dioxide lost from the sample
    raises the answer. Dose in steps and check with a meter.

    Parameters
    ----------
    ions
        One range of five cells: calcium, magnesium, sodium, chloride, sulfate; left out: calcium
        bicarbonate water

    References
    ----------
    Equivalents as ACID_DOSE's speciation has them; shape-preserving cubic interpolation, Fritsch &
    Carlson 1980.
    """
    return titration.curve_dose(
        ml, phs, sample_ml, titrant_normality, target_ph, litres, acid, strength, titrant, ions
    )


@function("Titration", "eq/L", liquid="give the strength of its solution")
def dilute_normality(
    acid: AcidName, strength: LabelStrength, ml_acid: DoseML, ml_total: MadeUpML
) -> Number:
    """Normality of the tank's acid diluted for a titration. Add acid to water, never water to acid.

    Counted down to pH 4.5, the end of an alkalinity titration; other functions ask for the
    titrant's name and count on from there. Weak acids (phosphoric, lactic, citric, acetic) bend
    Gran's line: use the method end point.

    Parameters
    ----------
    ml_acid
        Acid as bought that was diluted

    References
    ----------
    As ACID_EQUIVALENTS at pH 4.5; Standard Methods 2320 B (end point).
    """
    return titration.diluted_normality(acid, strength, ml_acid, ml_total)
