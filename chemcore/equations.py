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
#: Times that the metals are found from the anions, and these from them, at one set of activity coefficients.
METAL_PASSES = 3
#: Relative error of the unknowns (root of the sum of squares) at which the substitution has settled, and relative
#: change at which it has come near enough where rounding keeps it from that.
SETTLED, NEARLY_SETTLED = 2e-13, 1e-9
#: What is left of an error after a pass counts as the last change, times so many times what that pass has gained on the
#: one before it, and as no less than TRUSTED_GAIN of the change, lest a chance gain be trusted.
GAIN_WEIGHT, TRUSTED_GAIN = 10.0, 1e-4
#: Changes of the metals count so many times: they are those of the last of the METAL_PASSES, small beside what is left.
METAL_WEIGHT = 100.0

# After each pass: Anderson's acceleration with one pass of memory (Anderson 1965, J. ACM 12:547). The unknowns go back
# by that share of the last step which, in least squares, makes the relative changes vanish. The share is held down where
# the changes hardly differ, and is none while they are large, so that no unknown leaves the positive numbers. The other
# answers go back by the same share at the end.
_ACCELERATION = f"""\
        r_mu = (mu_new - mu) / mu_new
        r_ca = (ca_new - ca_old) / (ca_new + 1e-30)
        r_mg = (mg_new - mg_old) / (mg_new + 1e-30)
        metals = r_ca * r_ca + r_mg * r_mg
        change = r_mu * r_mu + metals
        if passed:
            d_mu, d_ca, d_mg = r_mu - s_mu, r_ca - s_ca, r_mg - s_mg
            share = where(change < 0.01, (r_mu * d_mu + r_ca * d_ca + r_mg * d_mg) / (
                d_mu * d_mu + d_ca * d_ca + d_mg * d_mg + 0.05 * change + 1e-40), 0.0)
            mu = maximum(mu_new - share * (mu_new - mu_last), 0.5 * mu_new)
            ca = ca_new - share * (ca_new - ca_last)
            mg = mg_new - share * (mg_new - mg_last)
            na = na_new - share * (na_new - na_last)
            left = (change + {METAL_WEIGHT**2!r} * metals) * (
                {GAIN_WEIGHT**2!r} * change / (change_last + 1e-32) + {TRUSTED_GAIN**2!r})
            if not largest(left) > {SETTLED**2!r}:
                settled = True
                break
        else:
            mu, ca, mg, na = mu_new, ca_new, mg_new, na_new
        s_mu, s_ca, s_mg, change_last = r_mu, r_ca, r_mg, change
        mu_last, ca_last, mg_last, na_last = mu_new, ca_new, mg_new, na_new"""


class Equations:
    """The equations of a set of families with one of them free (or none), of which the set need not speak."""

    def __init__(self, families: tuple[str, ...], free: str | None, vented: bool):
        self.families = tuple(dict.fromkeys([*families, *([free] if free else [])]))
        self.free = free
        self.fixed = tuple(f for f in self.families if f != free)
        self.species = tuple(s for s in all_species() if s.family in (*self.families, "OH", "H", *METALS))
        self.source = _write(self, vented)
        namespace: dict = {}
        exec(compile(self.source, f"<equations {'+'.join(self.families)}>", "exec"), namespace)  # our own text
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

    # at this ionic strength: activity coefficients, and the sums in which only the metals still move
    reacting = [s for s in system.species if s.family not in plain]
    lines = _weights(reacting, index)
    water = [s for s in system.species if s.family == "OH"]
    protons = weight(_find(system, "H+"))
    hydroxide = _Moving("oh", water, weight)
    whole = {f: _Moving(f"d_{f}", members[f], weight) for f in bound}
    # The charge of an anion whose total stays is that of all of it without a proton, less the protons it holds.
    open_ended = [f for f in bound if f == free or (f == "CO3" and vented)]
    carried = {f: _Moving(f"n_{f}", members[f], weight, lambda s, f=f: -members[f][0].charge - s.h if f in open_ended else s.h)
               for f in bound}
    for one in (hydroxide, *whole.values(), *carried.values()):
        lines += one.fixed
    taken = "".join(f" - {_times(-members[f][0].charge, f't_{f}')}" for f in system.families
                    if f != free and f not in open_ended)
    lines.append(f"fixed = strong + {protons}{taken}")
    for metal in METALS:
        alone = [weight(_find(system, metal)), *(weight(s) for s in water if s.metal == metal)]
        lines.append(f"m_{metal} = {' + '.join(alone)}")

    # the anions from the metals, the metals from the anions
    inner = []
    for family in [f for f in bound if f != free]:
        inner.append(f"a_{family} = t_{family} / ({whole[family].now()})")
        if family in open_ended:
            inner += [
                f"closed = a_CO3 * {weight(_find(system, 'CO2'))}",
                "a_CO3 = where(closed > air, a_CO3 * (1.0 - lost + lost * air / (closed + 1e-300)), a_CO3)",
            ]
    charge = f"charge = fixed - ({hydroxide.now()})" + "".join(
        f" {'-' if f in open_ended else '+'} a_{f} * ({carried[f].now()})" for f in bound if f != free)
    if free in bound:
        inner += [charge, f"a_{free} = charge / ({carried[free].now()})"]
    for metal in METALS:
        pairs = "".join(f" + a_{f} * {whole[f].parts[metal]}" for f in bound if metal in whole[f].parts)
        inner.append(f"{metal.lower()} = t_{metal} / (m_{metal}{pairs})")
    lines += [f"for _ in range({METAL_PASSES}):", "    ca_old, mg_old = ca, mg", *("    " + line for line in inner)]

    # what follows from them
    answers = ["charge", *(f"a_{f}" for f in bound)]
    if free not in bound:
        lines.append(charge)
    if free:
        answers.append("total")
        lines.append(f"total = a_{free} * ({whole[free].now()})" if free in bound
                     else f"total = t_{free} = charge / {-members[free][0].charge}")

    def squared(s: Species) -> int:
        return s.charge**2

    ions = [protons, _sum(water, weight, squared)]
    ions += [_times(METAL_CHARGE[m] ** 2, f"{weight(_find(system, m))} * {m.lower()}")
             for m in METALS]
    ions += [f"({_sum(members[f], weight, squared)}) * a_{f}" for f in bound]
    ions += [_times(squared(members[f][0]), f"t_{f}") for f in plain]
    least, most = IONIC_STRENGTHS
    lines.append(f"mu_new = minimum(maximum(0.5 * ({' + '.join(ions)}), {least}), {most})")
    lines.append("ca_new, mg_new, na_new = ca, mg, na")

    kept = [f"{name}_last" for name in answers]
    text += ["    for passed in range(passes):", *("        " + line for line in lines), _ACCELERATION,
             f"        {', '.join(kept)} = {', '.join(answers)}",
             "    else:", f"        settled = change < {NEARLY_SETTLED**2!r}"]
    last = [f"{name} = {name} - share * ({name} - {old})" for name, old in zip(answers, kept)]
    if plain:
        last += _weights([members[f][0] for f in plain], index)
    if free in plain:
        last.append(f"t_{free} = total")
    last += [f"a_{f} = t_{f} / {weight(members[f][0])}" for f in plain]
    activities = "".join(f"a_{f}, " for f in system.families)
    last.append(f"return mu, ca, mg, na, charge, {'total' if free else '0.0'}, ({activities}), settled")
    return "\n".join([*text, *("    " + line for line in last), ""])


class _Moving:
    """A sum over species, each times ``factor`` of it, whose parts with a metal move with that metal."""

    def __init__(self, name: str, members, weight, factor=lambda s: 1):
        self.parts: dict[str, str] = {}
        self.fixed: list[str] = []
        for metal in ("", *METALS):
            terms = " + ".join(_times(factor(s), weight(s)) for s in members if s.metal == metal and factor(s))
            if terms:
                self.parts[metal] = f"{name}_{metal}" if metal else name
                self.fixed.append(f"{self.parts[metal]} = {terms}")

    def now(self) -> str:
        """The whole sum; ``parts`` has what stands by each metal (and by none), ``fixed`` the lines that set it."""
        return " + ".join(f"{metal.lower()} * {part}" if metal else part for metal, part in self.parts.items())


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


def _weights(species, index: dict[str, int]) -> list[str]:
    """Lines that set ``w``, which is ``q`` over the activity coefficient, for each species.

    In the text, ``x`` and ``y`` are the Debye-Hückel slopes A (times ln 10) and B, times the root of the ionic strength.
    Species that share a coefficient stand together, so that few arrays are in use at once.
    """
    davies, salting = constant("davies_linear"), constant("neutral_salting")
    lines = ["root = sqrt(mu)", "x = slope_a * root", "y = slope_b * root"]

    def share(members, inverse_gamma: str) -> None:
        lines.extend(f"w{index[s.name]} = q{index[s.name]} * {inverse_gamma}" for s in members)

    sizes = dict.fromkeys(s.ion_size for s in species if s.charge)
    for size in sizes:
        ions = [s for s in species if s.charge and s.ion_size == size]
        lines.append(f"e = x / (1.0 + {size} * y)" if size else f"e = x / (1.0 + root) - {davies} * slope_a * mu")
        for s in ions:
            if s.gamma_b:
                share([s], f"exp({_times(s.charge**2, 'e')} + {-s.gamma_b * LN10!r} * mu)")
        if not all(s.gamma_b for s in ions):
            lines.append("g = exp(e)")
        for charge in (1, 2, 3):
            members = [s for s in ions if abs(s.charge) == charge and not s.gamma_b]
            if members and charge > 1:  # to the power of the charge, twice: its square stands in the exponent
                lines += [f"p = {' * '.join('g' * charge)}", f"p = {' * '.join('p' * charge)}"]
            share(members, "g" if charge == 1 else "p")
    linear = {s.name: salting if s.gamma_b is None else s.gamma_b for s in species if not s.charge}
    for term in dict.fromkeys(linear.values()):
        lines.append(f"g = exp({-term * LN10!r} * mu)")
        share([s for s in species if linear.get(s.name) == term], "g")
    return lines
