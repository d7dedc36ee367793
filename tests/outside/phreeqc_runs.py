"""USGS PHREEQC 3.8.6 (PyPI ``phreeqc``) as an independent solver of the same waters.

The database is phreeqc.dat as shipped. Three things are added to its input where a check needs
them: the organic acids, which it lacks; phosphate's second and third constant above 25 °C, where
its van 't Hoff lines leave the NIST buffers and SUPCRT, with the magnesium pair of PO4-3; and the
solids of chemcore/data/solids.csv. All are written from chemcore's tables, so that these checks
compare the solvers; the constants themselves are checked against their papers elsewhere in this
folder.
"""

from __future__ import annotations

import math
from functools import cache

import phreeqc

from chemcore.acids import acid_names, find_acid
from chemcore.solids import find_solid, solid_names
from chemcore.species import METAL_CHARGE, all_species
from chemcore.tables import constant
from chemcore.water import Ions, alkalinity_per_kg, per_kg

#: Acids whose elements the database has, with their reactant in PHREEQC's notation.
IN_DATABASE = {"phosphoric": "H3PO4", "hydrochloric": "HCl", "sulfuric": "H2SO4"}
#: The others, by the family that stands for their anion.
ADDED = {acid: find_acid(acid).family for acid in acid_names() if acid not in IN_DATABASE}
#: Solids of chemcore that PHREEQC can hold: formula with the water that the reaction sets free, and
#: right side.
SOLIDS = {
    "hydroxyapatite": "Ca5(PO4)3OH = 5 Ca+2 + 3 PO4-3 + OH-",
    "brushite": "CaHPO4 = Ca+2 + HPO4-2",
    "octacalcium phosphate": "Ca4H(PO4)3 = 4 Ca+2 + H+ + 3 PO4-3",
    "calcite": "CaCO3 = Ca+2 + CO3-2",
}


def _added_formula(family: str) -> str:
    """The acid of a family with all its hydrogen, such as ``H3Citrate``."""
    protons = max(s.h for s in all_species() if s.family == family)
    return f"H{protons if protons > 1 else ''}{family}"


#: The reactant of each acid in PHREEQC's notation.
FORMULA = IN_DATABASE | {acid: _added_formula(family) for acid, family in ADDED.items()}


def _name(solid: str) -> str:
    return f"Our_{solid.split()[0]}"


def _ion(name: str, charge: int) -> str:
    return name + (f"{charge:+d}".replace("+1", "+").replace("-1", "-") if charge else "")


def _organic_species() -> str:
    masters, reactions = ["SOLUTION_MASTER_SPECIES"], ["SOLUTION_SPECIES"]
    mass = {family: find_acid(acid).anion_molar_mass for acid, family in ADDED.items()}
    for family in ADDED.values():
        members = {s.name: s for s in all_species() if s.family == family}
        for s in members.values():
            if not s.parent:
                masters.append(f"{family} {s.name} 0 {mass[family]} {mass[family]}")
                reactions += [f"{s.name} = {s.name}", " log_k 0"]
                continue
            metal = f"{_ion(s.metal, METAL_CHARGE[s.metal])} + " if s.metal else ""
            protons = s.h - members[s.parent].h
            protons = f"{protons} H+ + " if protons else ""
            reactions += [
                f"{metal}{protons}{s.parent} = {s.name}",
                f" -analytic {_analytic(s.coefficients)}",
            ]
    return "\n".join([*masters, *reactions, "END"])


def _analytic(coefficients) -> str:
    return " ".join(repr(c) for c in coefficients)


def _our_phosphate() -> str:
    """pK2 and pK3 of phosphoric acid and MgPO4- as in chemcore, in phreeqc.dat's own activity
    coefficients.

    The file builds H2PO4- and its metal pairs on PO4-3 and H3PO4 on H2PO4-: each is built on the
    same parent as in chemcore here.
    """
    known = {s.name: s for s in all_species()}
    lines = ["SOLUTION_SPECIES"]
    for s in known.values():
        if s.family != "PO4" or not s.parent:
            continue
        metal = f"{_ion(s.metal, METAL_CHARGE[s.metal])} + " if s.metal else ""
        protons = s.h - known[s.parent].h
        protons = f"{protons if protons > 1 else ''}H+ + " if protons else ""
        lines += [
            f"{metal}{protons}{s.parent} = {s.name}",
            f" -analytic {_analytic(s.coefficients)}",
        ]
        if s.ion_size is not None:
            lines.append(f" -gamma {s.ion_size} {s.gamma_b or 0}")
    return "\n".join([*lines, "END"])


def _phases() -> str:
    lines = ["PHASES", "Fix_H+", "H+ = H+", " log_k 0"]
    for solid in solid_names():
        if solid in SOLIDS:
            lines += [
                _name(solid),
                SOLIDS[solid],
                f" -analytic {_analytic(find_solid(solid).coefficients)}",
            ]
    return "\n".join([*lines, "END"])


@cache
def engine(our_phosphate: bool) -> phreeqc.Phreeqc:
    """PHREEQC with phreeqc.dat and the additions."""
    one = phreeqc.Phreeqc()
    assert one.LoadBuiltInDatabase("phreeqc.dat") == 0, one.GetErrorString()
    for text in (_organic_species(), _phases(), *([_our_phosphate()] if our_phosphate else [])):
        assert one.RunString(text) == 0, one.GetErrorString()
    return one


def engine_at(temp_c: float) -> phreeqc.Phreeqc:
    """phreeqc.dat as shipped up to 25 °C; above, with phosphate's constants as in chemcore."""
    return engine(temp_c > 25.0)


def solution(alkalinity, ph, ions: Ions, temp_c) -> str:
    """Input of a water in mmol/kg of water."""
    amounts = {
        "Ca": per_kg(ions.calcium, constant("molar_mass_calcium")),
        "Mg": per_kg(ions.magnesium, constant("molar_mass_magnesium")),
        "Na": per_kg(ions.sodium, constant("molar_mass_sodium")),
        "Cl": per_kg(ions.chloride, constant("molar_mass_chloride")),
        "S(6)": per_kg(ions.sulfate, constant("molar_mass_sulfate")),
        "Alkalinity": alkalinity_per_kg(alkalinity),
    }
    lines = [f" {name} {1000.0 * amount!r}" for name, amount in amounts.items()]
    return "\n".join(["SOLUTION 1", " units mmol/kgw", f" temp {temp_c!r}", f" pH {ph!r}", *lines])


def run(one: phreeqc.Phreeqc, script: str, punch: str) -> list[float]:
    """The values that ``punch`` gives at the end of a script."""
    names = [f"v{i}" for i in range(len(punch.split(", ")))]
    text = (
        "SELECTED_OUTPUT 1\n -reset false\n -high_precision true\nUSER_PUNCH 1\n"
        f" -headings {' '.join(names)}\n"
        f"10 PUNCH {punch}\nEND\n{script}\nEND\nDELETE\n -all\nEND\n"
    )
    assert one.RunString(text) == 0, one.GetErrorString()
    columns = one.GetSelectedOutput()
    return [columns[name][-1] for name in names]


def dose_to_ph(
    alkalinity, ph, target_ph, acid: str, ions: Ions, temp_c, air: float | None = None
) -> float:
    """mol of acid per kg of water to a pH; with ``air``, carbon dioxide above that pressure (atm)
    leaves.
    """
    phases = f"EQUILIBRIUM_PHASES 1\nFix_H+ {-target_ph!r} {FORMULA[acid]} 1.0"
    if air:
        phases += f"\nCO2(g) {math.log10(air)!r} 0"
    (left,) = run(
        engine_at(temp_c), solution(alkalinity, ph, ions, temp_c) + "\n" + phases, 'EQUI("Fix_H+")'
    )
    return 1.0 - left


def after_dose(alkalinity, ph, moles_per_kg, acid: str, ions: Ions, temp_c) -> tuple[float, float]:
    """pH and alkalinity (eq/kg) after a dose."""
    script = (
        f"{solution(alkalinity, ph, ions, temp_c)}\n"
        f"REACTION 1\n{FORMULA[acid]} 1\n{moles_per_kg!r} moles"
    )
    return tuple(run(engine_at(temp_c), script, '-LA("H+"), ALK'))


def hot_tank(
    alkalinity, ph, moles_per_kg, acid: str, ions: Ions, temp_c, tank_c, solid: str, forms: bool
) -> tuple[float, float, float, float]:
    """A dosed water warmed: saturation index, pH when hot, calcium (mol/kg) left, and pH when
    cooled again.
    """
    name = _name(solid)
    one = engine(True)
    steps = [
        f"{solution(alkalinity, ph, ions, temp_c)}\nREACTION 1\n{FORMULA[acid]} 1\n"
        f"{moles_per_kg!r} moles\n"
        "SAVE solution 1\nEND",
        f"USE solution 1\nREACTION_TEMPERATURE 1\n{tank_c!r}",
    ]
    if forms:
        steps[-1] += f"\nEQUILIBRIUM_PHASES 1\n{name} 0 0"
    hot = "\n".join(steps)
    index, ph_hot, calcium = run(one, hot, f'SI("{name}"), -LA("H+"), TOT("Ca")')
    (cooled,) = run(
        one,
        f"{hot}\nSAVE solution 1\nEND\nUSE solution 1\nREACTION_TEMPERATURE 1\n{temp_c!r}",
        '-LA("H+")',
    )
    return index, ph_hot, calcium, cooled


def saturation(ph, calcium_per_kg, phosphate_per_kg, salt_per_kg, solid: str, temp_c) -> float:
    """Saturation index of a solid in a sodium chloride background, the calcium with its own
    chloride.
    """
    chloride = salt_per_kg + 2.0 * calcium_per_kg
    script = (
        f"SOLUTION 1\n units mol/kgw\n temp {temp_c!r}\n pH {ph!r}\n Ca {calcium_per_kg!r}\n"
        f" P {phosphate_per_kg!r}\n"
        f" Na {salt_per_kg!r}\n Cl {chloride!r}"
    )
    return run(engine(True), script, f'SI("{_name(solid)}")')[0]
