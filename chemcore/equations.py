"""Writes the equilibrium equations out as straight-line Python, from the species table.

For a set of anion families ("CO3", "SO4" ...) :func:`equations` makes one function, ``solve``, that finds the
equilibrium at a fixed pH by successive substitution. A pass takes activity coefficients from the ionic strength,
anion activities from their totals (one of them, the ``free`` family, from the charge balance instead), metal
activities from theirs, and gives the new ionic strength. Written out this way one pass takes a few microseconds
for a single cell, and the same text serves arrays. ``tests/chemcore/test_speciation.py`` compares it with a
plain loop over the table.
"""

from __future__ import annotations

from functools import cache

from chemcore.numeric import LN10
from chemcore.species import METAL_CHARGE, METALS, Species, all_species
from chemcore.tables import constant

#: Passes at most; the ionic strengths in mol/kg (below that of any water, far past the model) outside which activity
#: coefficients stay as they are, since on the way to a refusal a total may be negative and a brine run away; and the
#: relative change of all unknowns together at which the substitution has settled.
PASSES, LEAST_STRENGTH, MOST_STRENGTH, SETTLED = 200, 1e-8, 1.0, 1e-13

# After each pass: Anderson's acceleration with one pass of memory (Anderson 1965, J. ACM 12:547). The unknowns move on
# by the share of the last step that makes the change of the relative changes vanish in the least squares; the share
# is held down where that change is all but none, and the step where it would leave the positive numbers.
_ACCELERATION = """\
        r_mu = (mu_new - mu) / mu_new
        r_ca = (ca_new - ca) / (ca_new + 1e-30)
        r_mg = (mg_new - mg) / (mg_new + 1e-30)
        na = na_new
        change = abs(r_mu) + abs(r_ca) + abs(r_mg)
        if not largest(change) > SETTLED:
            return mu_new, ca_new, mg_new, na, charge, total, activities, True
        if passed:
            d_mu, d_ca, d_mg = r_mu - s_mu, r_ca - s_ca, r_mg - s_mg
            share = (r_mu * d_mu + r_ca * d_ca + r_mg * d_mg) / (
                d_mu * d_mu + d_ca * d_ca + d_mg * d_mg + 0.01 * change * change + 1e-40)
            mu = maximum(mu_new - share * (mu_new - mu_last), 0.5 * mu_new)
            ca = maximum(ca_new - share * (ca_new - ca_last), 0.5 * ca_new)
            mg = maximum(mg_new - share * (mg_new - mg_last), 0.5 * mg_new)
        else:
            mu, ca, mg = mu_new, ca_new, mg_new
        s_mu, s_ca, s_mg, mu_last, ca_last, mg_last = r_mu, r_ca, r_mg, mu_new, ca_new, mg_new
    return mu_new, ca_new, mg_new, na, charge, total, activities, change < 1e-9
"""


class Equations:
    """The equations of one set of families with one of them free (or none)."""

    def __init__(self, families: tuple[str, ...], free: str | None, vented: bool):
        self.families = families
        self.free = free
        self.species = tuple(s for s in all_species() if s.family in (*families, "OH", "H", *METALS))
        self.source = _write(self, vented)
        namespace: dict = {"PASSES": PASSES, "SETTLED": SETTLED}
        exec(compile(self.source, f"<equations {'+'.join(families)}>", "exec"), namespace)  # our own text
        self.solve = namespace["solve"]


@cache
def equations(families: tuple[str, ...], free: str | None, vented: bool = False) -> Equations:
    """Equations for these families; ``vented`` adds the loss of carbon dioxide to the air."""
    return Equations(families, free, vented)


def _write(system: Equations, vented: bool) -> str:
    index = {s.name: i for i, s in enumerate(all_species())}
    totals = [f"t_{f}, " for f in system.families if f != system.free]
    head = [
        f"def solve(k, h, slope_a, slope_b, mu, ca, mg, na, t_Ca, t_Mg, t_Na, strong, {''.join(totals)}air, lost, xp):",
        "    exp, sqrt, where, maximum, minimum, largest = xp.exp, xp.sqrt, xp.where, xp.maximum, xp.minimum, xp.largest",
        "    h2 = h * h",
        "    h3 = h2 * h",
    ]
    powers = {-1: "{k} / h", 0: "{k}", 1: "{k} * h", 2: "{k} * h2", 3: "{k} * h3"}
    head += [f"    q{index[s.name]} = " + powers[s.h].format(k=f"k[{index[s.name]}]") for s in system.species]
    head += ["    for passed in range(PASSES):"]
    lines = ["    root = sqrt(mu)", "    x = slope_a * root", "    y = slope_b * root"]
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
        lines.append(f"    n_{family} = {_sum(members, weight, lambda s, z=ligand: -z - s.h)}")
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
    balance = " - ".join(["strong + protons - hydroxide", *(f"n_{f} * a_{f}" for f in fixed)])
    lines.append(f"    charge = {balance}")
    if system.free:
        lines.append(f"    a_{system.free} = charge / n_{system.free}")
    for metal in METALS:
        parts = [weight(_ion(system, metal))] + [weight(s) for s in water if s.metal == metal]
        for family in system.families:
            pairs = [weight(s) for s in system.species if s.family == family and s.metal == metal]
            if pairs:
                parts.append(f"a_{family} * {_bracketed(pairs)}")
        lines.append(f"    {metal.lower()}_new = t_{metal} / ({' + '.join(parts)})")
    charges = [_times(METAL_CHARGE[m] ** 2, f"{weight(_ion(system, m))} * {m.lower()}_new") for m in METALS]
    charges += [f"z_{f} * a_{f}" for f in system.families]
    ions = f"protons + {_sum(water, weight, lambda s: s.charge**2)} + {' + '.join(charges)}"
    lines.append(f"    mu_new = minimum(maximum(0.5 * ({ions}), {LEAST_STRENGTH}), {MOST_STRENGTH})")
    lines.append(f"    total = a_{system.free} * d_{system.free}" if system.free else "    total = 0.0")
    lines.append(f"    activities = ({''.join(f'a_{f}, ' for f in system.families)})")
    return "\n".join([*head, *("    " + line for line in lines), _ACCELERATION])


def _find(system: Equations, name: str) -> Species:
    return next(s for s in system.species if s.name == name)


def _ion(system: Equations, metal: str) -> Species:
    """The free ion of a metal: the one species of its own family."""
    return next(s for s in system.species if s.family == metal)


def _sum(members, weight, factor) -> str:
    """``w1 + ca * (w2 + ...)``: members grouped by their metal, each times ``factor`` of its species."""
    groups = []
    for metal in ("", *METALS):
        terms = [_times(factor(s), weight(s)) for s in members if s.metal == metal and factor(s) != 0]
        if terms:
            groups.append(f"{metal.lower()} * {_bracketed(terms)}" if metal else " + ".join(terms))
    return " + ".join(groups) if groups else "0.0"


def _times(number: int, text: str) -> str:
    """A product in floats, which Python multiplies faster than a float with an int."""
    return text if number == 1 else f"{number:.1f} * {text}"


def _bracketed(terms: list[str]) -> str:
    return terms[0] if len(terms) == 1 else f"({' + '.join(terms)})"


def _inverse_gammas(species) -> tuple[dict[str, str], list[str]]:
    """A line for each distinct activity coefficient (as 1/gamma), and each species' variable.

    In the text, ``x`` and ``y`` are the Debye-Hückel slopes A (times ln 10) and B, times the root of the ionic strength.
    """
    davies, salting = constant("davies_linear"), constant("neutral_salting")
    variable: dict[str, str] = {}
    lines: list[str] = []

    def named(text: str) -> str:
        if text not in variable:
            variable[text] = f"g{len(variable)}"
            lines.append(f"    {variable[text]} = {text}")
        return variable[text]

    def coefficient(s: Species) -> str:
        if not s.charge:
            linear = s.gamma_b if s.gamma_b is not None else salting
            return named(f"exp({-linear * LN10!r} * mu)")
        if s.gamma_b:
            return named(f"exp({_times(s.charge**2, 'x')} / (1.0 + {s.ion_size} * y) + {-s.gamma_b * LN10!r} * mu)")
        size = f"x / (1.0 + {s.ion_size} * y)" if s.ion_size else f"x / (1.0 + root) - {davies} * slope_a * mu"
        found = named(f"exp({size})")
        if abs(s.charge) > 1:
            for _ in range(2):  # to the power of the charge, twice: its square stands in the exponent
                found = named(" * ".join([found] * abs(s.charge)))
        return found

    return {s.name: coefficient(s) for s in species}, lines
