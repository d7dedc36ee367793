"""Blends, lime, chalk and scale against USGS PHREEQC (PyPI phreeqc) with its own phreeqc.dat.

Both codes get the same molalities; calcium carbonate is PHREEQC's Calcite. "Open" is CO2(g) at the
partial pressure of outdoor air with none of the gas to give, so that carbon dioxide leaves but is
not taken up.
"""

import math

import phreeqc
import pytest

from chemcore import blend, precipitation, salts
from chemcore.tables import constant, rows
from chemcore.water import Ions, alkalinity_per_kg, alkalinity_per_litre, per_kg
from tests.outside.record import call, near

# Invented waters: alkalinity, pH, ions; from soft to very hard, the last two short of balance as
# reports are.
WATERS = {
    "soft": (25.0, 7.1, Ions(10.0, 2.0, 6.0, 9.0, 8.0)),
    "middling": (120.0, 7.4, Ions(50.0, 8.0, 15.0, 25.0, 40.0)),
    "hard": (280.0, 7.2, Ions(110.0, 18.0, 20.0, 40.0, 70.0)),
    "sulfate": (200.0, 7.6, Ions(250.0, 60.0, 40.0, 50.0, 700.0)),
}
AIR = math.log10(constant("air_carbon_dioxide"))
FORMULA = {row["salt"]: row["formula"].replace(".2H2O", ":2H2O") for row in rows("salts")}


@pytest.fixture(scope="module")
def engine():
    made = phreeqc.Phreeqc()
    made.LoadBuiltInDatabase("phreeqc.dat")
    return made


def run(engine, script):
    """pH, alkalinity (mg/L as CaCO3) and precipitated or dissolved calcite (mol/kg) of the last
    step.
    """
    text = (
        "SELECTED_OUTPUT 1\n-reset false\n-high_precision true\nUSER_PUNCH 1\n"
        "-headings ph alk solid\n"
        '10 PUNCH -LA("H+"), ALK, EQUI_DELTA("Calcite")\n' + script + "\nEND\nDELETE\n-all\nEND\n"
    )
    assert engine.RunString(text) == 0, engine.GetErrorString()
    last = {name: values[-1] for name, values in engine.GetSelectedOutput().items()}
    return last["ph"], alkalinity_per_litre(last["alk"]), last["solid"]


def solution(number, alkalinity, ph, ions, temp=20.0):
    if ions is None:
        ions = Ions(per_litre_calcium(alkalinity), 0.0, 0.0, 0.0, 0.0)
    lines = [
        f"SOLUTION {number}",
        f"temp {temp}",
        "units mol/kgw",
        f"pH {ph}",
        f"Alkalinity {alkalinity_per_kg(alkalinity)!r}",
    ]
    for element, ion, mass in (
        ("Ca", ions.calcium, "calcium"),
        ("Mg", ions.magnesium, "magnesium"),
        ("Na", ions.sodium, "sodium"),
        ("Cl", ions.chloride, "chloride"),
        ("S(6)", ions.sulfate, "sulfate"),
    ):
        lines.append(f"{element} {per_kg(ion, constant(f'molar_mass_{mass}'))!r}")
    return "\n".join(lines)


def per_litre_calcium(alkalinity):
    """Calcium of a calcium bicarbonate water."""
    return (
        alkalinity / constant("calcium_carbonate_equivalent") * constant("molar_mass_calcium") / 2.0
    )


MIXES = [
    (("hard", "soft"), (0.3, 0.7)),
    (("hard", "sulfate"), (0.5, 0.5)),
    (("middling", "soft"), (0.9, 0.1)),
    (("soft", "middling", "hard"), (0.2, 0.3, 0.5)),
]


@pytest.mark.parametrize("names, shares", MIXES)
@pytest.mark.parametrize("temp", [10.0, 20.0])
def test_blend_is_phreeqc_mix(engine, names, shares, temp):
    waters = [WATERS[name] for name in names]
    script = "\n".join(
        solution(i, water[0], water[1], None, temp) for i, water in enumerate(waters, 1)
    )
    script += "\nEND\nMIX 1\n" + "\n".join(f"{i} {part}" for i, part in enumerate(shares, 1))
    ph, alkalinity, _ = run(engine, script)
    assert blend.blended(shares, [water[0] for water in waters]) == near(alkalinity, abs=0.02)
    assert blend.blended_ph(shares, [w[0] for w in waters], [w[1] for w in waters], temp) == near(
        ph, abs=5e-4
    )


@pytest.mark.parametrize("names, shares", MIXES)
def test_what_leaving_the_ions_out_of_a_blend_costs(engine, names, shares):
    """The docstring of BLEND_PH says about 0.02 for common waters."""
    waters = [WATERS[name] for name in names]
    script = "\n".join(solution(i, *water) for i, water in enumerate(waters, 1))
    script += "\nEND\nMIX 1\n" + "\n".join(f"{i} {part}" for i, part in enumerate(shares, 1))
    ph, _, _ = run(engine, script)
    assert blend.blended_ph(shares, [w[0] for w in waters], [w[1] for w in waters]) == near(
        ph, abs=0.02
    )


def phases(chalk, settled, lost):
    lines = ["EQUILIBRIUM_PHASES 1"]
    if chalk or settled:
        lines.append(f"Calcite 0 {chalk!r}" + ("" if settled else " dissolve_only"))
    if lost:
        lines.append(f"CO2(g) {AIR!r} 0")
    return "\n".join(lines) if len(lines) > 1 else ""


@pytest.mark.parametrize("water", WATERS)
@pytest.mark.parametrize("lost", [0.0, 1.0], ids=["closed", "open"])
@pytest.mark.parametrize("settled", [0.0, 1.0], ids=["clear", "settled"])
@pytest.mark.parametrize(
    "name, grams",
    [
        ("slaked lime", 20.0),
        ("slaked lime", 150.0),
        ("chalk", 50.0),
        ("chalk", 400.0),
        ("sodium bicarbonate", 100.0),
        ("gypsum", 300.0),
    ],
)
def test_salt_is_phreeqc_reaction(engine, water, lost, settled, name, grams):
    alkalinity, ph, ions = WATERS[water]
    salt = salts.find_salt(name)
    litres = 1000.0
    moles = (
        salts.moles_per_litre(salt, grams, litres) / 0.99820
    )  # density of water at 20 °C, CRC Handbook
    chalk = moles if name == "chalk" else 0.0
    script = solution(1, alkalinity, ph, ions) + "\n" + phases(chalk, settled, lost)
    if not chalk:
        script += f"\nREACTION 1\n{FORMULA[name]} 1\n{moles!r} moles"
    ph_there, alkalinity_there, _ = run(engine, script)
    here = salts.after_salt(alkalinity, ph, salt, grams, litres, None, ions, 20.0, lost, settled)
    # PHREEQC lets the water of the salt dilute (0.03 % at most here), and its file has a pair
    # Mg(SO4)2-2 that data/species.csv leaves out: in the sulfate water 0.5 % of the magnesium and
    # 0.002 in pH.
    wanted_ph = near(ph_there, abs=0.003 if water == "sulfate" else 0.001)
    wanted = near(alkalinity_there, rel=3e-3 if water == "sulfate" else 3e-4, abs=0.06)
    assert here.ph == wanted_ph
    assert here.alkalinity == wanted
    given = (alkalinity, ph, name, grams, litres, None, (tuple(ions),), 20.0, lost, settled)
    answer = call("PH_AFTER_SALT", *given)
    if isinstance(answer, str):  # past brucite: the next but one test
        assert name == "slaked lime" and grams == 150.0
        return
    assert answer == wanted_ph
    assert call("ALKALINITY_AFTER_SALT", *given) == wanted


@pytest.mark.parametrize("water", WATERS)
@pytest.mark.parametrize("lost", [0.0, 1.0], ids=["kept", "lost"])
@pytest.mark.parametrize("tank", [20.0, 60.0, 77.0])
def test_scale_is_phreeqc_calcite_at_tank_temperature(engine, water, lost, tank):
    alkalinity, ph, ions = WATERS[water]
    script = (
        solution(1, alkalinity, ph, ions)
        + f"\nEND\nUSE solution 1\nREACTION_TEMPERATURE 1\n{tank}\n"
        + phases(0.0, 1.0, lost)
    )
    _, _, fallen = run(engine, script)
    there = alkalinity_per_litre(2.0 * fallen)
    assert precipitation.scale(alkalinity, ph, ions, 20.0, tank, lost) == near(there, abs=0.1)


@pytest.mark.parametrize("water", WATERS)
@pytest.mark.parametrize("settled", [0.0, 1.0], ids=["clear", "settled"])
def test_lime_is_refused_where_phreeqc_lets_brucite_fall(water, settled):
    """Brucite of minteq.v4.dat in a PHASES block: its index by PHREEQC, and the refusal from 0
    up.
    """
    made = phreeqc.Phreeqc()
    made.LoadBuiltInDatabase("phreeqc.dat")
    block = (
        "PHASES\nOur_brucite\nMg(OH)2 + 2 H+ = Mg+2 + 2 H2O\n"
        " log_k 16.844\n delta_h -113.996 kJ\nEND"
    )
    assert made.RunString(block) == 0, made.GetErrorString()
    alkalinity, ph, ions = WATERS[water]
    lime, seen = salts.find_salt("slaked lime"), set()
    for grams in (20.0, 60.0, 100.0, 150.0, 200.0, 250.0, 300.0):
        moles = salts.moles_per_litre(lime, grams, 1000.0) / 0.99820
        script = (
            solution(1, alkalinity, ph, ions)
            + "\n"
            + phases(0.0, settled, 0.0)
            + f"\nREACTION 1\n{FORMULA['slaked lime']} 1\n{moles!r} moles"
        )
        text = (
            "SELECTED_OUTPUT 1\n-reset false\n-high_precision true\nUSER_PUNCH 1\n-headings si\n"
            f'10 PUNCH SI("Our_brucite")\n{script}\nEND\nDELETE\n-all\nEND\n'
        )
        assert made.RunString(text) == 0, made.GetErrorString()
        index = made.GetSelectedOutput()["si"][-1]
        here = salts.limed(alkalinity, ph, lime, grams, 1000.0, None, ions, 20.0, 0.0, settled)
        assert here.brucite == near(index, abs=0.02)
        answer = call(
            "PH_AFTER_SALT",
            alkalinity,
            ph,
            "slaked lime",
            grams,
            1000.0,
            None,
            (tuple(ions),),
            20.0,
            0.0,
            settled,
        )
        assert isinstance(answer, str) == (here.brucite > 0.0)
        seen.add(isinstance(answer, str))
    assert seen == {True, False}
