"""A pH meter that has aged: its readings in two buffers, and what its other readings are worth.

A glass electrode's voltage is a straight line against pH (IUPAC 2002, Pure Appl. Chem. 74:2169).
Calibrated once and then aged, it has another slope and another zero; readings in two buffers give
both back.
"""

from __future__ import annotations

from chemcore.numeric import Number, require
from chemcore.tables import given_or

#: Slopes, as a share of what the meter was calibrated to, that an electrode in use may have (common
#: practice, no source).
LOWEST_SLOPE, HIGHEST_SLOPE = 0.85, 1.05


def slope(
    read_in_high: Number,
    read_in_low: Number,
    buffer_high: Number | None = None,
    buffer_low: Number | None = None,
) -> Number:
    """Slope of the electrode as a share of the one that the meter reckons with, from readings in
    two buffers.

    Parameters
    ----------
    read_in_high, read_in_low
        What the meter reads in the buffer near pH 7, and in that near pH 4.
    buffer_high, buffer_low
        pH of the buffers at the temperature of the readings; left out, those of data/constants.csv.

    Returns
    -------
    Number
        Share, 0.85 to 1.05.

    Raises
    ------
    DomainError
        For buffers less than one pH apart, or a slope outside 0.85 to 1.05.
    """
    high, low = given_or(buffer_high, "buffer_7"), given_or(buffer_low, "buffer_4")
    apart = require(
        high - low >= 1.0,
        "buffer_low",
        lambda: (
            f"pH {low:g} is not a pH or more below the other buffer, {high:g}; use buffers near pH"
            " 7 and 4"
        ),
        high - low,
    )
    found = (read_in_high - read_in_low) / apart
    return require(
        (found >= LOWEST_SLOPE) & (found <= HIGHEST_SLOPE),
        "read_in_low",
        lambda: (
            f"the readings {read_in_high:g} and {read_in_low:g} make a slope of {100.0 * found:.0f}"
            f" %, outside {100.0 * LOWEST_SLOPE:g} to {100.0 * HIGHEST_SLOPE:g} %: clean or change"
            " the electrode, or the buffers, and calibrate again"
        ),
        found,
    )


def corrected_ph(
    ph_read: Number,
    read_in_high: Number,
    read_in_low: Number,
    buffer_high: Number | None = None,
    buffer_low: Number | None = None,
) -> Number:
    """pH that a reading stands for, by the straight line through the two buffers.

    Parameters
    ----------
    ph_read
        What the meter reads in the water.
    read_in_high
        What the meter reads in the buffer near pH 7.
    read_in_low
        What it reads in the buffer near pH 4.
    buffer_high
        pH of the buffer near 7; left out, that of data/constants.csv.
    buffer_low
        pH of the buffer near 4; left out, that of data/constants.csv.

    Returns
    -------
    Number
        pH at the temperature of the reading.

    Raises
    ------
    DomainError
        As :func:`slope`.
    """
    high = given_or(buffer_high, "buffer_7")
    return high + (ph_read - read_in_high) / slope(
        read_in_high, read_in_low, buffer_high, buffer_low
    )
