"""Functions: pH of the mash, and the acid for it."""

from __future__ import annotations

from dataclasses import replace
from operator import attrgetter
from typing import Annotated, Any

from chemcore import mash
from chemcore.errors import DomainError
from chemcore.mash import HIGHEST_MASH_PH, Malt, MashRange
from chemcore.numeric import Number
from chemcore.tables import constant, given_or
from chemcore.water import Ions
from udfs.arguments import (
    AcidName,
    Block,
    DoseML,
    IonRange,
    LacticPercent,
    MashAlkalinity,
    MashLitres,
    MashTargetPH,
    Quantity,
    Strength,
    kind,
)
from udfs.blocks import BlockColumn, table
from udfs.catalogue import function, twin

_COLUMNS = (
    BlockColumn("weight", Quantity("", "kg", 0.0, 1e6)),
    BlockColumn("pH in demineralised water", Quantity("", "pH", 2.5, HIGHEST_MASH_PH)),
    BlockColumn("buffering", Quantity("", "mEq/(kg·pH)", 1.0, 200.0)),
)
_rows = table(_COLUMNS)


def _grist(name: str, block: tuple[Any, ...]) -> tuple[Malt, ...]:
    malts = tuple(Malt(*row) for row in _rows(name, block) if row is not None)
    if not any(malt.kg for malt in malts):
        raise DomainError(name, "there is no malt in it; give the kg of each")
    return malts


Grist = Annotated[
    tuple[Malt, ...],
    Block(
        "Range with a row for each malt: kg, its mash pH in demineralised water, buffering in"
        " mEq/(kg·pH)",
        _grist,
    ),
]

MashIons = Annotated[
    Ions,
    replace(
        kind(IonRange),
        help=(
            "Ions of the mash liquor, one range of five cells: calcium, magnesium, sodium,"
            " chloride, sulfate"
        ),
    ),
]
MashAcidML = Annotated[
    Number, replace(kind(DoseML), help="Acid as bought that goes into the mash; left out: 0")
]
MashAcid = Annotated[Any, replace(kind(AcidName), help="Acid of the dose; left out: lactic")]

MaltPHError = Annotated[
    Number | None,
    Quantity(
        "How far the malts' pH may be off: 0 where measured, left out "
        f"{constant('mash_malt_ph_error'):g} for typical figures",
        "pH",
        0.0,
        1.0,
    ),
]

BufferingError = Annotated[
    Number | None,
    Quantity(
        "How far the malts' buffering may be off: about 10 where titrated (MALT_BUFFER_ERROR),"
        f" left out all that is published, {constant('mash_buffering_least'):g} to"
        f" {constant('mash_buffering_most'):g} mEq/(kg·pH)",
        "%",
        0.0,
        90.0,
    ),
]

_WEIGH = "give the strength of its solution"


@function("Mash", "pH", liquid=_WEIGH)
def mash_ph(
    grist: Grist,
    litres: MashLitres,
    alkalinity: MashAlkalinity,
    ions: MashIons,
    acid_ml: MashAcidML = 0.0,
    acid: MashAcid = "lactic",
    strength: Strength = None,
) -> Number:
    """pH of the mash, cooled sample, as predicted: MASH_PH_LOWEST and MASH_PH_HIGHEST say how far
    it may be off.

    About 0.1 from measurement with the malts' own figures, more with typical ones. Buffers of the
    malts against the liquor's residual alkalinity and the acid; the alkalinity counts whole, as
    carbon dioxide leaves a hot mash. Against the one published calcium series found (Taylor 1990)
    it is 0.17 to 0.20 too high from 100 mg/L calcium up.

    References
    ----------
    Charge balance with linear malt buffering; Kolbach 1953, Monatsschrift für Brauerei 6:49 (3.5
    for calcium, 7 for magnesium; from memory); acids as ACID_EQUIVALENTS.
    """
    return mash.mash_ph(grist, litres, alkalinity, ions, acid_ml, acid, strength)


@function("Mash", "pH", liquid=_WEIGH, part=attrgetter("low"))
def mash_ph_lowest(
    grist: Grist,
    litres: MashLitres,
    alkalinity: MashAlkalinity,
    ions: MashIons,
    acid_ml: MashAcidML = 0.0,
    acid: MashAcid = "lactic",
    strength: Strength = None,
    malt_ph_error: MaltPHError = None,
    buffering_error: BufferingError = None,
) -> MashRange:
    """Lower end of where the measured mash pH is to be expected, 19 times in 20.

    Four errors, taken through the model together: 0.1 of the prediction itself; 0.25 of the malts'
    pH (malt_ph_error, 0 where measured); their buffering, anything from 21 to 63 mEq/(kg·pH)
    (buffering_error, 10 % or so where titrated); calcium and magnesium counting from nothing to
    three times what Kolbach has. 2.5 % of the mashes drawn over all of it lie lower.

    References
    ----------
    The errors and their sources: mash_ in chemcore/data/constants.csv.
    """
    return mash.mash_ph_range(
        grist,
        litres,
        alkalinity,
        ions,
        acid_ml,
        acid,
        strength,
        given_or(malt_ph_error, "mash_malt_ph_error"),
        buffering_error,
    )


@twin(mash_ph_lowest, attrgetter("high"))
def mash_ph_highest() -> None:
    """Upper end of where the measured mash pH is to be expected, 19 times in 20.

    Errors as MASH_PH_LOWEST; not as far above MASH_PH as that is below.

    References
    ----------
    As MASH_PH_LOWEST.
    """


@function("Mash", "mL of acid as bought", liquid=_WEIGH)
def mash_acid_dose(
    grist: Grist,
    litres: MashLitres,
    alkalinity: MashAlkalinity,
    ions: MashIons,
    target_ph: MashTargetPH,
    acid: AcidName,
    strength: Strength = None,
) -> Number:
    """Volume of acid that takes the mash to a target pH. Strong acid burns: see ACID_CAUTIONS.

    As sure as MASH_PH is: give half, measure a cooled sample, then the rest.

    References
    ----------
    As MASH_PH, which it undoes.
    """
    return mash.mash_acid_dose(grist, litres, alkalinity, ions, target_ph, acid, strength)


@function("Mash", "kg of acidulated malt")
def acid_malt_mass(
    grist: Grist,
    litres: MashLitres,
    alkalinity: MashAlkalinity,
    ions: MashIons,
    target_ph: MashTargetPH,
    lactic_percent: LacticPercent,
) -> Number:
    """Acidulated malt, on top of the grist, that takes the mash to a target pH.

    Its lactic acid counts; the malt that carries it buffers like the mean of the grist. The trade's
    rule of 1 % of the grist for 0.1 pH takes a malt of 4.6 % lactic acid by this reckoning; malts
    differ, so ask the maltster.

    References
    ----------
    As MASH_PH; lactic acid as ACID_EQUIVALENTS.
    """
    return mash.acid_malt_mass(grist, litres, alkalinity, ions, target_ph, lactic_percent)
