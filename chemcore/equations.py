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

#: Ionic strengths, mol/kg, outside which activity coefficients stay as they are: below that of any water, and far
#: past the model. On the way to a refusal the free family may be negative, or a brine would run away.
IONIC_STRENGTHS = (1e-8, 1.0)
#: Relative change of the unknowns (root of the sum of squares) at which the substitution has settled; and at which it
#: has come near enough where rounding keeps it from that.
SETTLED, NEARLY_SETTLED = 2e-13, 1e-9

# After each pass: Anderson's acceleration with one pass of memory (Anderson 1965, J. ACM 12:547). The unknowns go back
# by that share of the last step which, in least squares, makes the relative changes vanish. The share is held down where
# the changes hardly differ, and is none while they are large, so that no unknown leaves the positive numbers.
_ACCELERATION = f"""\
        r_mu = (mu_new - mu) / mu_new
        r_ca = (ca_new - ca) / (ca_new + 1e-30)
        r_mg = (mg_new - mg) / (mg_new + 1e-30)
        na = na_new
        change = r_mu * r_mu + r_ca * r_ca + r_mg * r_mg
        if not largest(change) > {SETTLED**2!r}:
            settled = True
            break
        if passed:
            d_mu, d_ca, d_mg = r_mu - s_mu, r_ca - s_ca, r_mg - s_mg
            share = where(change < 0.01, (r_mu * d_mu + r_ca * d_ca + r_mg * d_mg) / (
                d_mu * d_mu + d_ca * d_ca + d_mg * d_mg + 0.05 * change + 1e-40), 0.0)
            mu = maximum(mu_new - share * (mu_new - mu_last), 0.5 * mu_new)
            ca = ca_new - share * (ca_new - ca_last)
            mg = mg_new - share * (mg_new - mg_last)
        else:
            mu, ca, mg = mu_new, ca_new, mg_new
        s_mu, s_ca, s_mg, mu_last, ca_last, mg_last = r_mu, r_ca, r_mg, mu_new, ca_new, mg_new
    else:
        settled = change < {NEARLY_SETTLED**2!r}"""


class Equations:
    """The equations of one set of families with one of them free (or none)."""

    def __init__(self, families: tuple[str, ...], free: str | None, vented: bool):
        self.families = families
        self.free = free
        self.species = tuple(s for s in all_species() if s.family in (*families, "OH", "H", *METALS))
        self.source = _write(self, vented)
        namespace: dict = {}
        exec(compile(self.source, f"<equations {'+'.join(families)}>", "exec"), namespace)  # our own text
        self.solve = namespace["solve"]


@cache
def equations(families: tuple[str, ...], free: str | None, vented: bool = False) -> Equations:
    """Equations for these families; ``vented`` adds the loss of carbon dioxide to the air."""
    return Equations(families, free, vented)


def _write(system: Equations, vented: bool) -> str:
    index = {s.name: i for i, s in enumerate(all_species())}
    free, members = system.free, {f: [s for s in system.species if s.family == f] for f in system.families}
    plain = [f for f in system.families if len(members[f]) == 1]  # takes part in no reaction: all of it is the one ion
    bound = [f for f in system.families if f not in plain]

    def weight(s: Species) -> str:
        return f"w{index[s.name]}"

    totals = [f"t_{f}, " for f in system.families if f != free]
    text = [
        f"def solve(k, h, slope_a, slope_b, mu, ca, mg, na, t_Ca, t_Mg, t_Na, strong, {''.join(totals)}"
        "air, lost, xp, passes):",
        "    exp, sqrt, where, maximum, minimum, largest = xp.exp, xp.sqrt, xp.where, xp.maximum, xp.minimum, xp.largest",
        "    h2 = h * h",
        "    h3 = h2 * h",
    ]
    powers = {-1: " / h", 0: "", 1: " * h", 2: " * h2", 3: " * h3"}
    text += [f"    q{index[s.name]} = k[{s.name!r}]{powers[s.h]}" for s in system.species]

    reacting = [s for s in system.species if s.family not in plain]
    coefficient, lines = _inverse_gammas(reacting)
    lines = ["root = sqrt(mu)", "x = slope_a * root", "y = slope_b * root", *lines]
    lines += [f"{weight(s)} = q{index[s.name]} * {coefficient[s.name]}" for s in reacting]
    water = [s for s in system.species if s.family == "OH"]
    protons = weight(_find(system, "H+"))
    charges = [f"strong + {protons} - ({_sum(water, weight)})"]
    charges += [f" - {_times(-members[f][0].charge, f't_{f}')}" for f in plain if f != free]
    for family in bound:
        forms = sorted({s.h for s in members[family]})
        lines += [f"f{h}_{family} = {_sum([s for s in members[family] if s.h == h], weight)}" for h in forms]
        lines.append(f"d_{family} = {' + '.join(f'f{h}_{family}' for h in forms)}")
        ligand = -members[family][0].charge
        lines.append(f"n_{family} = {' + '.join(_times(ligand - h, f'f{h}_{family}') for h in forms if h != ligand)}")
        if family == free:
            continue
        lines.append(f"a_{family} = t_{family} / d_{family}")
        if family == "CO3" and vented:
            lines += [
                f"closed = a_CO3 * {weight(_find(system, 'CO2'))}",
                "a_CO3 = where(closed > air, a_CO3 * (1.0 - lost + lost * air / (closed + 1e-300)), a_CO3)",
            ]
        charges.append(f" - n_{family} * a_{family}")
    lines.append(f"charge = {''.join(charges)}")
    if free in plain:
        lines += [f"t_{free} = charge / {-members[free][0].charge}", f"total = t_{free}"]
    elif free:
        lines += [f"a_{free} = charge / n_{free}", f"total = a_{free} * d_{free}"]
    else:
        lines.append("total = 0.0")
    for metal in METALS:
        parts = [weight(_find(system, metal))] + [weight(s) for s in water if s.metal == metal]
        for family in bound:
            pairs = [weight(s) for s in members[family] if s.metal == metal]
            if pairs:
                parts.append(f"a_{family} * {_bracketed(pairs)}")
        lines.append(f"{metal.lower()}_new = t_{metal} / ({' + '.join(parts)})")

    def squared(s: Species) -> int:
        return s.charge**2

    ions = [protons, _sum(water, weight, squared)]
    ions += [_times(METAL_CHARGE[m] ** 2, f"{weight(_find(system, m))} * {m.lower()}_new") for m in METALS]
    ions += [f"({_sum(members[f], weight, squared)}) * a_{f}" for f in bound]
    ions += [_times(squared(members[f][0]), f"t_{f}") for f in plain]
    least, most = IONIC_STRENGTHS
    lines.append(f"mu_new = minimum(maximum(0.5 * ({' + '.join(ions)}), {least}), {most})")

    text += ["    for passed in range(passes):", *("        " + line for line in lines), _ACCELERATION]
    coefficient, last = _inverse_gammas([members[f][0] for f in plain])
    last += [f"a_{f} = t_{f} / (q{index[members[f][0].name]} * {coefficient[members[f][0].name]})" for f in plain]
    activities = "".join(f"a_{f}, " for f in system.families)
    last.append(f"return mu_new, ca_new, mg_new, na, charge, total, ({activities}), settled")
    return "\n".join([*text, *("    " + line for line in last), ""])


def _find(system: Equations, name: str) -> Species:
    """A species by its name, or the free ion of a metal, which is the one species of its own family."""
    return next(s for s in system.species if name in (s.name, s.family))


def _sum(members, weight, factor=lambda s: 1) -> str:
    """``w1 + ca * (w2 + ...)``: members grouped by their metal, each times ``factor`` of its species."""
    groups = []
    for metal in ("", *METALS):
        terms = [_times(factor(s), weight(s)) for s in members if s.metal == metal and factor(s) != 0]
        if terms:
            groups.append(f"{metal.lower()} * {_bracketed(terms)}" if metal else " + ".join(terms))
    return " + ".join(groups)


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
            lines.append(f"{variable[text]} = {text}")
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
