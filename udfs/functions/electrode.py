"""Functions: a pH meter checked in two buffers."""

from __future__ import annotations

from typing import Annotated

from chemcore import electrode
from chemcore.numeric import Number
from chemcore.tables import constant
from udfs.arguments import Quantity, ReadPH
from udfs.catalogue import function

ReadInHigh = Annotated[
    Number, Quantity("What the meter reads in the buffer of pH 7", "pH", 5.0, 9.0)
]
ReadInLow = Annotated[
    Number, Quantity("What the meter reads in the buffer of pH 4", "pH", 2.5, 6.0)
]
BufferHigh = Annotated[
    Number | None,
    Quantity(
        f"pH of that buffer at its temperature; left out: {constant('buffer_7'):g}", "pH", 6.0, 8.0
    ),
]
BufferLow = Annotated[
    Number | None,
    Quantity(
        f"pH of that buffer at its temperature; left out: {constant('buffer_4'):g}", "pH", 3.0, 5.0
    ),
]


@function("Titration", "%")
def electrode_slope(
    read_in_high: ReadInHigh,
    read_in_low: ReadInLow,
    buffer_high: BufferHigh = None,
    buffer_low: BufferLow = None,
) -> Number:
    """Slope of a pH electrode in % of what its meter reckons with, from readings in two buffers.

    Outside 85 to 105 % it is refused: clean or change the electrode, and calibrate again.

    References
    ----------
    Straight line through two buffers: IUPAC 2002, Pure Appl. Chem. 74:2169; limits: common
    practice, no source.
    """
    return 100.0 * electrode.slope(read_in_high, read_in_low, buffer_high, buffer_low)


@function("Titration", "pH")
def corrected_ph(
    ph: ReadPH,
    read_in_high: ReadInHigh,
    read_in_low: ReadInLow,
    buffer_high: BufferHigh = None,
    buffer_low: BufferLow = None,
) -> Number:
    """pH that a reading stands for, by the meter's readings in two buffers.

    Correct every reading of a titration so before TITRATION_ALKALINITY: an electrode of 95 % slope
    reads the alkalinity by Gran's line 5 % low at 20 mg/L, 1 % at 60. Better still, calibrate
    again.

    References
    ----------
    As ELECTRODE_SLOPE.
    """
    return electrode.corrected_ph(ph, read_in_high, read_in_low, buffer_high, buffer_low)
