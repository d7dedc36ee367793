"""The last runnings: when to stop collecting wort."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from chemcore.errors import DomainError
from chemcore.numeric import Array, Column, Number
from chemcore.readings import present, require_rising, side_by_side


class Cutoff(NamedTuple):
    """Litres run off at the first limit (or so far, where there was none), and which limit in
    words.
    """

    litres: float
    reason: str


def cutoff(
    litres: Column, phs: Column, platos: Column, max_ph: Number, min_plato: Number
) -> Cutoff:
    """Litres run off when the pH of the runnings first reaches ``max_ph`` or their gravity
    ``min_plato``.

    NaN stands where a reading was missed. Each limit is looked for among the readings of its own
    kind, with a straight line between neighbours; a later reading on the good side again changes
    nothing. Where no limit is reached, the litres of the last reading.

    Parameters
    ----------
    litres
        Wort run off at each reading, L; NaN where missed.
    phs
        pH of the runnings, cooled; NaN where missed.
    platos
        Gravity of the runnings, °P; NaN where missed.
    max_ph
        Highest pH wanted.
    min_plato
        Lowest gravity wanted, °P.

    Returns
    -------
    Cutoff
        L, and the limit that was reached.

    Raises
    ------
    DomainError
        For columns of unlike length, a reading without its litres, litres that do not rise, or no
        reading.
    """
    litres, ph, plato = side_by_side(litres=litres, phs=phs, platos=platos)
    read = ~np.isnan(ph) | ~np.isnan(plato)
    for row in np.flatnonzero(np.isnan(litres) & read) + 1:
        raise DomainError(
            "litres", f"row {row} has a reading but no litres; type the total run off by then"
        )
    if not read.any():
        raise DomainError("phs", "there is no reading of pH or gravity yet; type the first one")
    require_rising("litres", "L", litres[read], np.flatnonzero(read) + 1)
    highest, lowest = f"{max_ph:g}", f"{min_plato:g} °P"
    found = [
        crossing
        for crossing in (
            _crossing(
                litres, ph, max_ph, f"pH rose to {highest}", f"pH was already {highest} or higher"
            ),
            _crossing(
                litres,
                -plato,
                -min_plato,
                f"gravity fell to {lowest}",
                f"gravity was already {lowest} or lower",
            ),
        )
        if crossing
    ]
    if not found:
        last = float(litres[read][-1])
        return Cutoff(last, f"no limit reached by {last:.4g} L")
    first = min(crossing.litres for crossing in found)
    words = " and ".join(crossing.reason for crossing in found if crossing.litres == first)
    return Cutoff(first, f"{words} at {first:.4g} L")


def _crossing(
    litres: Array, values: Array, limit: Number, reached: str, already: str
) -> Cutoff | None:
    """Litres at which the values that were read first reach the limit from below, with the words
    for that, or nothing.
    """
    kept = present(litres, values)
    litres, values = litres[kept], values[kept]
    over = np.flatnonzero(values >= limit)
    if not over.size:
        return None
    i = over[0]
    if i == 0:
        return Cutoff(float(litres[0]), reached if values[0] == limit else already)
    share = (limit - values[i - 1]) / (values[i] - values[i - 1])
    return Cutoff(float(litres[i - 1] + share * (litres[i] - litres[i - 1])), reached)
