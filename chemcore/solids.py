"""Calcium phosphates and calcite: saturation, and the calcium that stays dissolved.

Log K by temperature are those of the papers in ``data/solids.csv``, each with the spread of what
else is published. Hydroxyapatite is the least soluble, the end state, but forms slowly from treated
water (most such waters are above its limit and yet stay clear); octacalcium phosphate and brushite
can drop within hours once above theirs, amorphous calcium phosphate at once. All were measured at
42 °C and below: a hot answer is an extrapolation, whose spread widens.

Databases disagree on hydroxyapatite by four orders of magnitude (a factor of about 6 in calcium):
its log K is -58.5 after McDowell, Gregory & Brown (1977), not the -54.5 of phreeqc.dat.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from chemcore.acids import Acid
from chemcore.errors import DomainError
from chemcore.numeric import FLOAT, LN10, Number, backend, find_root, require
from chemcore.speciation import Latest, Solution, Totals, solve_at_ph, solve_for_ph, solve_saturated
from chemcore.species import constants_at, log_k
from chemcore.tables import constant, fold, given_or, named_rows, rows
from chemcore.water import Ions, per_kg, per_litre, source_water, with_calcium

#: Lowest and highest calcium, log10 mol/kg, between which a solubility is looked for.
LEAST_CALCIUM, MOST_CALCIUM = -9.0, -1.0
#: Lowest pH at which a tank is looked at, and the steps in which the first crossing is sought.
SCAN_FROM_PH, SCAN_STEPS = 3.0, 32
#: pH between which an amorphous solid was measured: its spread widens below the upper
#: (``below_per_ph`` of data/solids.csv) down to the lower, and no further.
LEAST_ACID_PH, MOST_ACID_PH = 7.4, 5.28
#: Ends of the spread of a solid's log K: the least soluble, the value itself, the most soluble.
LEAST, VALUE, MOST = -1, 0, 1


class Solid(NamedTuple):
    """One row of ``data/solids.csv``: ions released per formula unit, log K coefficients, and the
    spread of log K.

    ``below`` and ``above`` are log units that published values lie from the line in the measured
    range, ``t_min_c`` to ``t_max_c``; ``per_degree`` more for each °C outside it. ``end`` is the
    end of the spread that is asked for.
    """

    name: str
    ca: float
    po4: float
    hpo4: float
    co3: float
    h: float
    oh: float
    coefficients: tuple[float, ...]
    below: float
    above: float
    per_degree: float
    below_per_ph: float
    t_min_c: float
    t_max_c: float
    end: int = VALUE

    @property
    def phosphate(self) -> float:
        """Phosphate per formula unit."""
        return self.po4 + self.hpo4

    @property
    def anions(self) -> dict[str, float]:
        """Anions per formula unit, by the family of their total."""
        return {
            family: count for family, count in (("PO4", self.phosphate), ("CO3", self.co3)) if count
        }


#: Columns of the table that are one figure each.
_FIGURES = (
    *("ca", "po4", "hpo4", "co3", "h", "oh"),
    *("below", "above", "per_degree", "below_per_ph", "t_min_c", "t_max_c"),
)


def solid_names() -> tuple[str, ...]:
    """The solids by the name used on sheets."""
    return tuple(row["solid"] for row in rows("solids"))


@lru_cache(maxsize=64)
def find_solid(name: str) -> Solid:
    """The solid of a mineral name, abbreviation or formula, in any case.

    Parameters
    ----------
    name
        Any spelling in the table, in any case.

    Returns
    -------
    Solid
        Its row of data/solids.csv.

    Raises
    ------
    DomainError
        For any other name.
    """
    row = named_rows("solids", "solid").get(fold(name))
    if row is None:
        raise DomainError(
            "solid", f'"{name}" is not a solid known here; use one of {", ".join(solid_names())}'
        )
    return Solid(
        name=row["solid"],
        coefficients=tuple(float(row[f"a{i}"]) for i in range(1, 7)),
        **{key: float(row[key]) for key in _FIGURES},  # type: ignore[arg-type]  # none is ``end``
    )


def phosphate_names() -> tuple[str, ...]:
    """The solids that hold phosphate."""
    return tuple(name for name in solid_names() if find_solid(name).phosphate)


def require_phosphate(solid: Solid) -> None:
    """Refuse a solid without phosphate, by a DomainError for ``solid``.

    Parameters
    ----------
    solid
        From :func:`chemcore.solids.find_solid`.

    Raises
    ------
    DomainError
        For ``solid``, where it holds none.
    """
    if not solid.phosphate:
        raise DomainError(
            "solid", f"{solid.name} holds no phosphate; use one of {', '.join(phosphate_names())}"
        )


def degrees_outside(solid: Solid, temp_c: Number) -> Number:
    """°C by which a temperature lies outside the range in which the solid was measured.

    Parameters
    ----------
    solid
        From :func:`chemcore.solids.find_solid`.
    temp_c
        °C.

    Returns
    -------
    Number
        °C, 0 within the range.
    """
    xp = backend(temp_c)
    return xp.maximum(xp.maximum(temp_c - solid.t_max_c, solid.t_min_c - temp_c), 0.0)


def extrapolation(solid: Solid, temp_c: Number) -> str:
    """``extrapolated from 37 °C`` for a temperature at which the solid was not measured, else
    nothing.

    Parameters
    ----------
    solid
        From :func:`chemcore.solids.find_solid`.
    temp_c
        °C.

    Returns
    -------
    str
        Words for a cell, or an empty text.
    """
    if not degrees_outside(solid, temp_c):
        return ""
    nearest = solid.t_max_c if temp_c > solid.t_max_c else solid.t_min_c
    return f"extrapolated from {nearest:g} °C"


def solubility_product(solid: Solid, temp_c: Number, ph: Number = LEAST_ACID_PH) -> Number:
    """log10 K of the solid, or the end of its spread that it stands for; activities in mol/kg.

    Source: the papers and the spread of each row of data/solids.csv.

    Parameters
    ----------
    solid
        With ``end`` = :data:`LEAST`, :data:`VALUE` or :data:`MOST`.
    temp_c
        °C.
    ph
        Matters to the lower end of the amorphous solid only.

    Returns
    -------
    Number
        log10 K.
    """
    value = log_k(solid.coefficients, temp_c + constant("zero_celsius"), backend(temp_c))
    if solid.end == VALUE:
        return value
    further = solid.per_degree * degrees_outside(solid, temp_c)
    if solid.end == MOST:
        return value + solid.above + further
    xp = backend(ph)
    acid = xp.minimum(xp.maximum(LEAST_ACID_PH - ph, 0.0), LEAST_ACID_PH - MOST_ACID_PH)
    return value - solid.below - further - solid.below_per_ph * acid


def index_in(solution: Solution, solid: Solid) -> Number:
    """log10 (IAP/K) of a solid in a solved water; minus infinity where an ion of the solid is
    missing.

    Parameters
    ----------
    solution
        Solved, with the solid's anions among its families.
    solid
        From :func:`chemcore.solids.find_solid`.

    Returns
    -------
    Number
        log10, 0 at saturation, above it the solid can form.
    """
    xp = backend(solution.ph, solution.mu, solution.ca)

    def log10(value: Number) -> Number:
        missing = value <= 0.0
        return xp.where(missing, -np.inf, xp.log10(xp.where(missing, 1.0, value)))

    product = solid.ca * log10(solution.ca) - solid.h * solution.ph
    if solid.po4:
        product = product + solid.po4 * log10(solution.activity["PO4"])
    if solid.hpo4:
        product = product + solid.hpo4 * (
            log10(solution.activity["PO4"]) + solution.constants.log_k["HPO4-2"] - solution.ph
        )
    if solid.co3:
        product = product + solid.co3 * log10(solution.activity["CO3"])
    if solid.oh:
        product = product + solid.oh * (solution.constants.log_k["OH-"] + solution.ph)
    return product - solubility_product(solid, solution.temp_c, solution.ph)


def saturation_index(
    solid: Solid,
    ph: Number,
    calcium: Number,
    alkalinity: Number,
    phosphate: Number,
    temp_c: Number = 20.0,
    ions: Ions | None = None,
) -> Number:
    """log10 of the ion activity product over the solubility product: 0 at the limit, above it the
    solid can form.

    Parameters
    ----------
    solid
        From :func:`find_solid`.
    ph
        pH at ``temp_c``.
    calcium, phosphate
        mg/L; phosphate as PO4.
    alkalinity
        Total alkalinity of this water, phosphate's share included, mg/L as CaCO3.
    temp_c
        0 to 100 °C; the log K of the phosphates are extrapolated above 37 °C.
    ions
        The other ions; their calcium entry gives way to ``calcium``.

    Returns
    -------
    Number
        log10 (IAP/K).

    Raises
    ------
    DomainError
        Where calcium, or the phosphate of a phosphate solid, is zero: there is no product then.
    """
    calcium = require(
        calcium > 0.0,
        "calcium",
        lambda: "0 mg/L makes no solid; give the calcium of the water",
        calcium,
    )
    if solid.phosphate:
        phosphate = require(
            phosphate > 0.0,
            "phosphate",
            lambda: f"0 mg/L makes no {solid.name}; give the phosphate, as PO4",
            phosphate,
        )
    return index_in(
        source_water(alkalinity, ph, with_calcium(ions, calcium), temp_c, phosphate), solid
    )


def calcium_solubility(
    ph: Number, phosphate: Number, solid: Solid, temp_c: Number = 20.0, ions: Ions | None = None
) -> Number:
    """Calcium in mg/L that stays dissolved beside a phosphate solid at a held pH and phosphate
    level.

    Infinite where more than about 4 g/L does, which is where the model ends.

    Parameters
    ----------
    ph
        pH at ``temp_c``.
    phosphate
        mg/L as PO4 in solution.
    solid, temp_c
        As in :func:`saturation_index`.
    ions
        Background; its calcium entry is ignored. Left out, 0.01 mol/kg sodium chloride. The calcium
        brings its own chloride; carbonate is left out.

    Returns
    -------
    Number
        mg/L of calcium.

    Raises
    ------
    DomainError
        Without phosphate.
    """
    require_phosphate(solid)
    phosphate = require(
        phosphate > 0.0,
        "phosphate",
        lambda: "without phosphate no calcium phosphate can form; there is no limit",
        phosphate,
    )
    p = per_kg(phosphate, constant("molar_mass_phosphate"))
    mg: Number
    na: Number
    cl: Number
    so4: Number
    if ions is None:
        salt = constant("background_salt")
        mg, na, cl, so4 = 0.0, salt, salt, 0.0
    else:
        mg = per_kg(ions.magnesium, constant("molar_mass_magnesium"))
        na = per_kg(ions.sodium, constant("molar_mass_sodium"))
        cl = per_kg(ions.chloride, constant("molar_mass_chloride"))
        so4 = per_kg(ions.sulfate, constant("molar_mass_sulfate"))

    latest = Latest()

    def index(
        log_calcium: Number,
        ph: Number,
        temp_c: Number,
        p: Number,
        mg: Number,
        na: Number,
        cl: Number,
        so4: Number,
    ) -> Number:
        ca = backend(log_calcium).exp(LN10 * log_calcium)
        totals = Totals(ca, mg, na, {"SO4": so4, "Cl": cl + 2.0 * ca, "PO4": p}, 0.0)
        start = latest.start(log_calcium)
        return index_in(latest.keep(solve_at_ph(ph, temp_c, totals, start=start)), solid)

    values = (ph, temp_c, p, mg, na, cl, so4)
    xp = backend(*values)
    calcium = _saturated(solid, *values)
    found = (calcium > 10.0**LEAST_CALCIUM) & (calcium < 10.0**MOST_CALCIUM)
    if found is True or np.all(found):
        return per_litre(calcium, constant("molar_mass_calcium"))

    def between(*values: Number) -> Number:
        log_calcium = find_root(index, LEAST_CALCIUM, MOST_CALCIUM, values, xp)
        unlimited = (log_calcium != log_calcium) & (index(MOST_CALCIUM, *values) < 0.0)
        return xp.where(unlimited, np.inf, xp.exp(LN10 * log_calcium))

    if xp is FLOAT:
        calcium = between(*values)
    else:
        calcium, left = np.array(calcium), np.flatnonzero(~found)
        calcium[left] = between(*(one[left] for one in np.broadcast_arrays(*values)))
    return per_litre(calcium, constant("molar_mass_calcium"))


def _saturated(
    solid: Solid,
    ph: Number,
    temp_c: Number,
    p: Number,
    mg: Number,
    na: Number,
    cl: Number,
    so4: Number,
) -> Number:
    """Calcium beside the solid, mol/kg, from one solve; NaN where that has not settled.

    The index is zero where the activity of calcium is what that of PO4-3 leaves it.
    """
    logs = constants_at(temp_c).log_k
    others = solid.hpo4 * (logs["HPO4-2"] - ph) + solid.oh * (logs["OH-"] + ph) - solid.h * ph
    saturation = LN10 * (solubility_product(solid, temp_c, ph) - others) / solid.ca
    totals = Totals(1e-3, mg, na, {"SO4": so4, "Cl": cl, "PO4": p}, 0.0)
    return solve_saturated(ph, temp_c, totals, saturation, -solid.phosphate / solid.ca)


def calcium_safe_ph(
    alkalinity: Number,
    ph: Number,
    calcium: Number,
    acid: Acid,
    solid: Solid,
    temp_c: Number = 20.0,
    tank_temp_c: Number | None = None,
    ions: Ions | None = None,
) -> Number:
    """Highest target pH (read at ``temp_c``) at which all the calcium stays dissolved in the hot
    tank.

    The acid that reaches a target brings the phosphate; less acid, a higher pH, brings less of it
    but leaves more HPO4-2. The lowest pH at which the solid reaches saturation at ``tank_temp_c``
    is the answer; closer to the water's own pH so little phosphate is added that saturation may be
    lost again, which is not counted on. The water's own pH is the answer for an acid without
    phosphate, or where no dose reaches saturation.

    Parameters
    ----------
    alkalinity, ph, calcium
        Of the source water: mg/L as CaCO3, pH at ``temp_c``, mg/L.
    acid
        The acid of the dose.
    solid
        From :func:`find_solid`; its ``end`` says which end of the spread of its log K counts.
    temp_c, tank_temp_c
        Of the reading and of the tank, °C; left out, 20 and that of data/constants.csv.
    ions
        The other ions, mg/L; their calcium gives way to ``calcium``.

    Returns
    -------
    Number
        pH at ``temp_c``, not above ``ph``.

    Raises
    ------
    DomainError
        For ``calcium``, where even pH 3 does not keep it dissolved.
    """
    require_phosphate(solid)
    water = source_water(alkalinity, ph, with_calcium(ions, calcium), temp_c)
    xp = backend(water.ph, water.mu, water.totals.ca, temp_c, tank_temp_c, alkalinity)
    if not acid.brings_phosphate:
        return ph + 0.0 * water.mu
    tank = given_or(tank_temp_c, "sparge_tank_temperature")
    totals = water.totals
    families = tuple(totals.anions)
    values = (tank, totals.ca, totals.mg, totals.na, totals.strong, *totals.anions.values())

    def dosed(
        tank_ph: Number,
        tank: Number,
        ca: Number,
        mg: Number,
        na: Number,
        strong: Number,
        *anions: Number,
        start: Solution | None = None,
    ) -> Solution:
        there = Totals(ca, mg, na, dict(zip(families, anions)), strong)
        return solve_at_ph(tank_ph, tank, there, free="PO4", start=start)

    latest = Latest()

    def solved(tank_ph: Number, *values: Number) -> Solution:
        return latest.keep(dosed(tank_ph, *values, start=latest.start(tank_ph)))

    def index(tank_ph: Number, *values: Number) -> Number:
        return index_in(solved(tank_ph, *values), solid)

    top = solve_for_ph(tank, totals, start=water)
    below, above = SCAN_FROM_PH + 0.0 * top, np.nan + 0.0 * top
    slope = above
    last = first = index(below, *values)
    require(
        first < 0.0,
        "calcium",
        lambda: (
            f"{calcium:g} mg/L stays above the limit of {solid.name} at {tank:g} °C at any pH from"
            " 3 up; use an acid without phosphate"
        ),
        first,
    )
    for step in range(1, SCAN_STEPS):
        tank_ph = SCAN_FROM_PH + (top - SCAN_FROM_PH) * (step / SCAN_STEPS)
        now = index(tank_ph, *values)
        fresh = (now >= 0.0) & (above != above)
        slope = xp.where(fresh, (now - last) / (tank_ph - below), slope)
        above = xp.where(fresh, tank_ph, above)
        below, last = (xp.where(above != above, *pair) for pair in ((tank_ph, below), (now, last)))
        if not xp.largest(above != above):
            break
    ends = below, xp.where(above == above, above, below)
    crossing = find_root(index, *ends, values, xp, (below, slope))
    met = (above == above) & (crossing == crossing)
    treated = solved(xp.where(met, crossing, below), *values)
    answer = xp.where(met, solve_for_ph(temp_c, treated.totals), ph)
    return xp.where(first < 0.0, xp.minimum(answer, ph), np.nan)
