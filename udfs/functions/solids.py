"""Functions: whether the calcium stays in solution."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from operator import attrgetter
from typing import Annotated, Any

from chemcore import calcium_state as states
from chemcore import precipitation, solids
from chemcore.numeric import Number
from chemcore.precipitation import Precipitated
from chemcore.tables import given_or
from chemcore.water import Ions
from udfs.arguments import (
    AcidName,
    Alkalinity,
    Calcium,
    CO2Lost,
    DoseML,
    IonRange,
    Litres,
    Phosphate,
    ReadPH,
    SolidName,
    SourcePH,
    Strength,
    TankTempC,
    TempC,
    kind,
)
from udfs.catalogue import function, twin

OtherIons = Annotated[
    Ions | None,
    replace(
        kind(IonRange),
        help=(
            "One range of five cells: calcium (gives way to the argument), magnesium, sodium,"
            " chloride, sulfate"
        ),
    ),
]
_PHOSPHATE = replace(kind(SolidName), choices=solids.phosphate_names())
LeastSolid = Annotated[
    Any, replace(_PHOSPHATE, help="Solid that may form; left out: hydroxyapatite")
]
PromptSolid = Annotated[
    Any, replace(_PHOSPHATE, help="Solid that may form; left out: octacalcium phosphate")
]

_WEIGH = "give the strength of its solution"
NO_LIMIT = "no limit in practice"


def _at(end: int) -> Callable[..., Any]:
    """Of CALCIUM_SAFE_PH and its two ends: the one at this end of the solid's spread."""
    return lambda safe_ph: safe_ph(end)


@function("Calcium", "log10(IAP/K)")
def saturation_index(
    solid: SolidName,
    ph: ReadPH,
    calcium: Calcium,
    alkalinity: Alkalinity,
    phosphate: Phosphate,
    temp_c: TempC = 20.0,
    ions: OtherIons = None,
) -> Number:
    """Saturation index of a solid: below 0 it cannot form, above 0 it can (whether it does is a
    matter of time).

    Parameters
    ----------
    ph
        pH at temp_c
    alkalinity
        Total alkalinity of this liquor, as it is now
    temp_c
        Temperature of the liquor; left out: 20

    References
    ----------
    McDowell et al. 1977 (hydroxyapatite, -58.5); Gregory et al. 1970 (brushite); Tung et al. 1988
    (octacalcium phosphate); phreeqc.dat (calcite); row by row in chemcore/data/solids.csv.
    Phosphates are extrapolated above 37 °C.
    """
    return solids.saturation_index(solid, ph, calcium, alkalinity, phosphate, temp_c, ions)


@function("Calcium", "mg/L", words=NO_LIMIT)
def calcium_solubility(
    ph: ReadPH,
    phosphate: Phosphate,
    solid: LeastSolid = "hydroxyapatite",
    temp_c: TempC = 20.0,
    ions: IonRange = None,
) -> str | Number:
    """Calcium that stays dissolved at a pH and a phosphate level. Hydroxyapatite is the
    thermodynamic limit.

    The model ends at about 4 g/L; where more stays dissolved, the answer is a text.
    Common practice (no source) says about 4 mg/L at pH 6 and 400 mg/L at pH 5.5, 100 to 1. No one
    solid, temperature and phosphate level gives both: from 95 to 475 mg/L phosphate and 20 to 77 °C
    one solid's two limits stand 3 to 13 to 1. 4 at pH 6 needs hydroxyapatite and heat (77 °C at 60
    mg/L phosphate, 49 °C at 204), where pH 5.5 then gives 19 to 20. 400 at pH 5.5 is brushite (372
    mg/L phosphate at 20 °C, 208 at 77 °C) or octacalcium phosphate (340 and 150), which at pH 6
    then give 94 to 105 and 68 to 77.

    Parameters
    ----------
    ph
        pH at temp_c
    temp_c
        Temperature of the liquor; left out: 20
    ions
        Background, one range of five cells; its calcium is ignored; left out: 0.01 mol/kg sodium
        chloride

    References
    ----------
    As SATURATION_INDEX, solved for calcium at an index of 0. Databases differ on hydroxyapatite:
    phreeqc.dat's -54.5 would give about 6 times this calcium.
    """
    limit = solids.calcium_solubility(ph, phosphate, solid, temp_c, ions)
    return NO_LIMIT if isinstance(limit, float) and limit == math.inf else limit


@function("Calcium", "pH", part=_at(solids.VALUE))
def calcium_safe_ph(
    alkalinity: Alkalinity,
    ph: SourcePH,
    calcium: Calcium,
    litres: Litres,
    acid: AcidName,
    strength: Strength = None,
    solid: PromptSolid = "octacalcium phosphate",
    temp_c: TempC = 20.0,
    tank_temp_c: TankTempC = None,
    ions: OtherIons = None,
) -> Callable[[int], Number]:
    """Highest target pH at which all the calcium stays dissolved in the hot tank after the acid
    that reaches it.

    Octacalcium phosphate is the least soluble that forms promptly; hydroxyapatite forms slowly. An
    acid without phosphate answers with the water's own pH. Litres and strength do not change the
    answer; they stand for a row's uniform formula.

    References
    ----------
    As SATURATION_INDEX at the tank's temperature and ACID_DOSE.
    """

    def safe_ph(end: int) -> Number:
        return solids.calcium_safe_ph(
            alkalinity, ph, calcium, acid, solid._replace(end=end), temp_c, tank_temp_c, ions
        )

    return safe_ph


@twin(calcium_safe_ph, _at(solids.LEAST))
def calcium_safe_ph_low() -> None:
    """Lower end of CALCIUM_SAFE_PH by the spread of the published solubility products.

    Where the solid is as little soluble as published anywhere, and 0.006 to 0.04 log units less for
    each °C outside the temperatures at which it was measured (all at 42 °C or below).

    References
    ----------
    As CALCIUM_SAFE_PH; the spread solid by solid, with its sources, in chemcore/data/solids.csv.
    """


@twin(calcium_safe_ph, _at(solids.MOST))
def calcium_safe_ph_high() -> None:
    """Upper end of CALCIUM_SAFE_PH by the spread of the published solubility products.

    Where the solid is as soluble as published, as CALCIUM_SAFE_PH_LOW at the other end; the -46.9
    of older databases for octacalcium phosphate is left out. The water's own pH where no dose then
    reaches saturation.

    References
    ----------
    As CALCIUM_SAFE_PH; the spread solid by solid, with its sources, in chemcore/data/solids.csv.
    """


@function("Calcium", liquid=_WEIGH)
def calcium_state(
    alkalinity: Alkalinity,
    ph: SourcePH,
    calcium: Calcium,
    dose_ml: DoseML,
    litres: Litres,
    acid: AcidName,
    strength: Strength = None,
    temp_c: TempC = 20.0,
    tank_temp_c: TankTempC = None,
    ions: OtherIons = None,
    co2_lost: CO2Lost = 0.0,
) -> str:
    """Whether the calcium of the dosed, hot tank stays: one of four states in words.

    Below every limit; above hydroxyapatite only; above octacalcium phosphate or brushite; above
    amorphous calcium phosphate. It says from which temperature the limit is extrapolated. The
    limits have a spread: CALCIUM_SAFE_PH_LOW and CALCIUM_SAFE_PH_HIGH.

    References
    ----------
    As SATURATION_INDEX at the tank's temperature and PH_AFTER_ACID; the words:
    chemcore/data/calcium_states.csv.
    """
    tank = states.hot_tank(
        alkalinity,
        ph,
        calcium,
        dose_ml,
        litres,
        acid,
        strength,
        temp_c,
        tank_temp_c,
        ions,
        co2_lost,
    )
    return states.words(
        states.calcium_state(tank), given_or(tank_temp_c, "sparge_tank_temperature")
    )


@function("Calcium", "mg/L", liquid=_WEIGH, part=attrgetter("calcium"))
def calcium_left(
    alkalinity: Alkalinity,
    ph: SourcePH,
    calcium: Calcium,
    dose_ml: DoseML,
    litres: Litres,
    acid: AcidName,
    strength: Strength = None,
    solid: PromptSolid = "octacalcium phosphate",
    temp_c: TempC = 20.0,
    tank_temp_c: TankTempC = None,
    ions: OtherIons = None,
) -> Precipitated:
    """Calcium left in solution where the solid does come down to equilibrium in the hot tank.

    The end state, whatever time it takes; all the calcium where the solid cannot form.
    PH_AFTER_PRECIPITATE gives the pH.

    References
    ----------
    As SATURATION_INDEX and ACID_DOSE, closed tank.
    """
    return precipitation.precipitated(
        alkalinity, ph, dose_ml, litres, calcium, acid, strength, solid, temp_c, tank_temp_c, ions
    )


@twin(calcium_left, attrgetter("ph"), unit="pH")
def ph_after_precipitate() -> None:
    """pH of a cooled sample where the solid did come down to equilibrium in the hot tank; it sets
    acid free.

    References
    ----------
    As CALCIUM_LEFT.
    """
