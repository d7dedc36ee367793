"""Writes the equilibrium equations out as straight-line Python, from the species table.

For a set of anion families ("CO3", "SO4" ...) :func:`equations` makes one function, ``step``, that carries
out one pass of successive substitution at fixed pH: activity coefficients from the ionic strength, anion
activities from their totals (one of them, the ``free`` family, from the charge balance instead), metal
activities from theirs, and the new ionic strength. Written out this way one pass takes a few microseconds
for a single cell, and the same text serves arrays. ``tests/chemcore/test_speciation.py`` compares it with a
plain loop over the table.
"""

from __future__ import annotations

from functools import cache

from chemcore.numeric import LN10
from chemcore.species import METAL_CHARGE, METALS, Species, all_species
from chemcore.tables import constant

#: Ionic strengths, mol/kg, outside which activity coefficients stay as they are: below that of any water, and far
#: past the model. On the way to a refusal the free family may be negative, or a brine would run away.
IONIC_STRENGTHS = (1e-8, 1.0)


class Equations:
    """The equations of one set of families with one of them free (or none)."""

    def __init__(self, families: tuple[str, ...], free: str | None, vented: bool):
        self.families = families
        self.free = free
        self.species = tuple(s for s in all_species() if s.family in (*families, "OH", "H", *METALS))
        self.names = tuple(s.name for s in self.species)
        self.source = _write(self, vented)
        namespace: dict = {}
        exec(compile(self.source, f"<equations {'+'.join(families)}>", "exec"), namespace)  # our own text
        self.factors = namespace["factors"]
        self.step = namespace["step"]


@cache
def equations(families: tuple[str, ...], free: str | None, vented: bool = False) -> Equations:
    """Equations for these families; ``vented`` adds the loss of carbon dioxide to the air."""
    return Equations(families, free, vented)


def _write(system: Equations, vented: bool) -> str:
    index = {s.name: i for i, s in enumerate(system.species)}
    lines = ["def factors(k, h):", "    h2 = h * h", "    h3 = h2 * h"]
    powers = {-1: "k[{i}] / h", 0: "k[{i}]", 1: "k[{i}] * h", 2: "k[{i}] * h2", 3: "k[{i}] * h3"}
    terms = [powers[s.h].format(i=i) for i, s in enumerate(system.species)]
    lines += [f"    return ({', '.join(terms)},)", ""]

    totals = [f"t_{f}, " for f in system.families if f != system.free]
    lines += [
        f"def step(q, slope_a, slope_b, mu, ca, mg, na, t_Ca, t_Mg, t_Na, strong, {''.join(totals)}"
        "air, lost, exp, sqrt, where, minimum, maximum):",
        f"    {', '.join(f'q{i}' for i in range(len(system.species)))}, = q",
        "    root = sqrt(mu)",
    ]
    coefficient, gamma_lines = _inverse_gammas(system.species)
    lines += gamma_lines

    def weight(s: Species) -> str:
        return f"w{index[s.name]}"

    for s in system.species:
        lines.append(f"    {weight(s)} = q{index[s.name]} * {coefficient[s.name]}")

    water = [s for s in system.species if s.family == "OH"]
    proton = next(s for s in system.species if s.family == "H")
    lines.append(f"    protons = {weight(proton)}")
    lines.append(f"    hydroxide = {_sum(water, weight, lambda s: 1)}")
    for family in system.families:
        members = [s for s in system.species if s.family == family]
        ligand = members[0].charge
        lines.append(f"    d_{family} = {_sum(members, weight, lambda s: 1)}")
        lines.append(f"    e_{family} = {_sum(members, weight, lambda s, z=ligand: z + s.h)}")
        lines.append(f"    z_{family} = {_sum(members, weight, lambda s: s.charge**2)}")
    for family in system.families:
        if family == system.free:
            continue
        lines.append(f"    a_{family} = t_{family} / d_{family}")
        if family == "CO3" and vented:
            lines += [
                f"    closed = a_CO3 * {weight(_find(system, 'CO2'))}",
                "    a_CO3 = where(closed > air, a_CO3 * (1.0 - lost + lost * air / (closed + 1e-300)), a_CO3)",
            ]
    fixed = [f for f in system.families if f != system.free]
    balance = " + ".join(["strong + protons - hydroxide", *(f"e_{f} * a_{f}" for f in fixed)])
    lines.append(f"    charge = {balance}")
    if system.free:
        lines.append(f"    a_{system.free} = -charge / e_{system.free}")
    for metal in METALS:
        parts = [weight(_ion(system, metal))] + [weight(s) for s in water if s.metal == metal]
        for family in system.families:
            pairs = [weight(s) for s in system.species if s.family == family and s.metal == metal]
            if pairs:
                parts.append(f"a_{family} * ({' + '.join(pairs)})")
        lines.append(f"    {metal.lower()}_new = t_{metal} / ({' + '.join(parts)})")
    charges = [f"{METAL_CHARGE[m] ** 2} * {weight(_ion(system, m))} * {m.lower()}_new" for m in METALS]
    charges += [f"z_{f} * a_{f}" for f in system.families]
    ions = f"protons + {_sum(water, weight, lambda s: s.charge**2)} + {' + '.join(charges)}"
    least, most = IONIC_STRENGTHS
    lines.append(f"    mu_new = minimum(maximum(0.5 * ({ions}), {least}), {most})")
    activities = ", ".join(f"a_{f}" for f in system.families)
    free_total = f"a_{system.free} * d_{system.free}" if system.free else "0.0"
    lines.append(f"    return mu_new, ca_new, mg_new, na_new, charge, {free_total}, ({activities},)")
    return "\n".join(lines) + "\n"


def _find(system: Equations, name: str) -> Species:
    return next(s for s in system.species if s.name == name)


def _ion(system: Equations, metal: str) -> Species:
    """The free ion of a metal: the one species of its own family."""
    return next(s for s in system.species if s.family == metal)


def _sum(members, weight, factor) -> str:
    """``w1 + ca * (w2 + ...)``: members grouped by their metal, each times ``factor`` of its species."""
    groups = []
    for metal in ("", *METALS):
        terms = [f"{factor(s)} * {weight(s)}" if factor(s) != 1 else weight(s)
                 for s in members if s.metal == metal and factor(s) != 0]
        if terms:
            joined = " + ".join(terms)
            groups.append(f"{metal.lower()} * ({joined})" if metal else joined)
    return " + ".join(groups) if groups else "0.0"


def _inverse_gammas(species) -> tuple[dict[str, str], list[str]]:
    """A line for each distinct activity coefficient (as 1/gamma), and each species' variable."""
    davies, salting = constant("davies_linear"), constant("neutral_salting")
    variable: dict[tuple, str] = {}
    lines: list[str] = []
    chosen: dict[str, str] = {}
    for s in species:
        z2 = s.charge**2
        if s.ion_size is not None and z2:
            key = (s.ion_size, s.gamma_b, z2)
            text = f"exp(slope_a * {z2} * root / (1.0 + slope_b * {s.ion_size} * root)"
            text += f" - {s.gamma_b * LN10!r} * mu)" if s.gamma_b else ")"
        elif z2:
            key = ("davies", z2)
            text = f"exp(slope_a * {z2} * (root / (1.0 + root) - {davies} * mu))"
        else:
            linear = s.gamma_b if s.gamma_b is not None else salting
            key = ("neutral", linear)
            text = f"exp({-linear * LN10!r} * mu)"
        if key not in variable:
            variable[key] = f"g{len(variable)}"
            lines.append(f"    {variable[key]} = {text}")
        chosen[s.name] = variable[key]
    return chosen, lines
