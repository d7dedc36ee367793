"""The text of ``solve``: the equilibrium equations at a fixed pH, written from the species table.

Names in the text, with ``CO3`` for any family and ``ca`` for any metal:

- ``k`` constants of formation, ``q`` these times their power of the hydrogen ion, ``w`` molality of a species where its
  ligand and its metal have activity 1; ``e``, ``g`` and ``p`` are on the way to its activity coefficient;
- ``t_CO3``, ``t_Ca`` totals, ``a_CO3`` activity of the ligand, ``ca`` activity of the metal;
- sums over the forms of a family at ``a_CO3`` = 1, each in parts that stand by a metal (``d_CO3_Ca``): ``d_`` of their
  molalities, ``n_`` of the charge or the protons they carry, ``z_`` of their molalities times the square of the charge;
- ``m_Ca`` free ion and hydroxide of a metal at ``ca`` = 1, ``oh`` all hydroxide;
- ``r_`` relative changes in a pass, ``s_`` those of the pass before, ``..._new`` and ``..._last`` results of either.

One pass of a system with sulfate and a free carbonate begins its turns so::

    a_SO4 = t_SO4 / (d_SO4 + ca * d_SO4_Ca + mg * w20 + na * w21)
    charge = fixed - (w0 + ca * w1 + mg * w2) + a_SO4 * (w17 + ca * w19)
    a_CO3 = charge / (n_CO3 + ca * n_CO3_Ca + mg * n_CO3_Mg + na * w15)
    ca = t_Ca / (m_Ca + a_SO4 * d_SO4_Ca + a_CO3 * d_CO3_Ca)
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from chemcore.numeric import LN10
from chemcore.species import METALS, Species, all_species
from chemcore.tables import constant

#: Ionic strengths, mol/kg, outside which activity coefficients stay as they are: below that of any water, and far
#: past the model. On the way to a refusal the free family may be negative, or a brine would run away.
IONIC_STRENGTHS = (1e-8, 1.0)
#: Turns of the metals and the anions, each found from the other, at one set of activity coefficients.
TURNS = 3
#: Estimated relative error of the unknowns (root of the sum of squares) at which the substitution has settled, and
#: relative change at which it has come near enough where rounding keeps it from that.
SETTLED, NEARLY_SETTLED = 2e-13, 1e-9
#: The estimate of the error left after a pass is the last change, times so many times what that pass has gained on the
#: one before it, and no less than TRUSTED_GAIN of the change, lest a chance gain be trusted.
GAIN_WEIGHT, TRUSTED_GAIN = 10.0, 1e-3
#: Changes of the metals count so many times: they are those of the last turn, small beside what is left.
METAL_WEIGHT = 100.0
#: Acceleration begins where the sum of the squares of the relative changes is below this.
NEAR_ENOUGH = 0.01
#: Share of that sum which holds the acceleration down where two passes' changes hardly differ.
DAMPING = 0.05

# After each pass: Anderson's acceleration with one pass of memory (Anderson 1965, J. ACM 12:547). The unknowns go back
# by that share of the last step which, in least squares, makes the relative changes vanish. The share is held down where
# the changes hardly differ, and is none while they are large, so that no unknown leaves the positive numbers. The other
# answers go back by the same share at the end. Sodium, which hardly pairs, follows the others and is not looked at.
_ACCELERATION = f"""\
r_mu = (mu_new - mu) / mu_new
r_ca = (ca - ca_old) / (ca + 1e-30)
r_mg = (mg - mg_old) / (mg + 1e-30)
metals = r_ca * r_ca + r_mg * r_mg
change = r_mu * r_mu + metals
mu, ca_new, mg_new, na_new = mu_new, ca, mg, na
if passed:
    d_mu, d_ca, d_mg = r_mu - s_mu, r_ca - s_ca, r_mg - s_mg
    share = where(change < {NEAR_ENOUGH!r}, (r_mu * d_mu + r_ca * d_ca + r_mg * d_mg) / (
        d_mu * d_mu + d_ca * d_ca + d_mg * d_mg + {DAMPING!r} * change + 1e-40), 0.0)
    mu = maximum(mu_new - share * (mu_new - mu_last), 0.5 * mu_new)
    ca = ca_new - share * (ca_new - ca_last)
    mg = mg_new - share * (mg_new - mg_last)
    na = na_new - share * (na_new - na_last)
    left = (change + {METAL_WEIGHT**2!r} * metals) * (
        {GAIN_WEIGHT**2!r} * change / (change_last + 1e-32) + {TRUSTED_GAIN**2!r})
    if not largest(left) > {SETTLED**2!r}:
        settled = True
        break
s_mu, s_ca, s_mg, change_last = r_mu, r_ca, r_mg, change
mu_last, ca_last, mg_last, na_last = mu_new, ca_new, mg_new, na_new""".split("\n")


def solve_text(families: tuple[str, ...], free: str | None, vented: bool) -> str:
    """Python text of ``solve`` for these families, the total of one of them ``free`` (or of none)."""
    return _Solve(families, free, vented).text()


class _Sum:
    """A sum over species, each times ``factor`` of it, in parts: what stands alone, and what stands by each metal."""

    def __init__(
        self, name: str, species: Iterable[Species], factor: Callable[[Species], int] = lambda s: 1
    ):
        self.parts: dict[str, str] = {}
        self.lines: list[str] = []
        for metal in ("", *METALS):
            members = [s for s in species if s.metal == metal and factor(s)]
            if len(members) == 1 and factor(members[0]) == 1:
                self.parts[metal] = _w(members[0])
            elif members:
                self.parts[metal] = f"{name}_{metal}" if metal else name
                self.lines.append(
                    f"{self.parts[metal]} = {' + '.join(_times(factor(s), _w(s)) for s in members)}"
                )

    def now(self) -> str:
        """The whole sum at the metals' present activities, once ``lines`` have set its parts."""
        return " + ".join(
            f"{metal.lower()} * {part}" if metal else part for metal, part in self.parts.items()
        )


class _Solve:
    """The parts of the text."""

    def __init__(self, families: tuple[str, ...], free: str | None, vented: bool):
        self.families, self.free, self.vented = families, free, vented
        self.members = {
            f: [s for s in all_species() if s.family == f] for f in (*families, "H", "OH", *METALS)
        }
        self.plain = [
            f for f in families if len(self.members[f]) == 1
        ]  # in no reaction: all of it is the one ion
        self.bound = [f for f in families if f not in self.plain]
        self.loose = {free} | ({"CO3"} if vented else set())  # whose total is not the one given
        self.whole = {f: _Sum(f"d_{f}", self.members[f]) for f in self.bound}
        self.carried = {
            f: _Sum(f"n_{f}", self.members[f], self._charge_carried(f)) for f in self.bound
        }
        self.squares = {
            f: _Sum(f"z_{f}", self.members[f], lambda s: s.charge**2)
            for f in (*self.bound, "H", "OH", *METALS)
        }
        self.alone = _Sum("m", [s for f in ("OH", *METALS) for s in self.members[f]])
        self.hydroxide = _Sum("oh", self.members["OH"])

    def text(self) -> str:
        """All of it."""
        totals = "".join(f"t_{f}, " for f in self.families if f != self.free)
        answers = ["charge", *(["total"] if self.free else []), *(f"a_{f}" for f in self.bound)]
        kept = [f"{name}_last" for name in answers]
        turn = [f"for _ in range({TURNS}):", *_indented(["ca_old, mg_old = ca, mg", *self._turn()])]
        one_pass = [
            *self._at_ionic_strength(),
            *turn,
            *self._outcome(),
            *_ACCELERATION,
            f"{', '.join(kept)} = {', '.join(answers)}",
        ]
        lines = [
            "exp, sqrt, where, maximum, minimum, largest = xp.exp, xp.sqrt, xp.where, xp.maximum, xp.minimum, xp.largest",
            *self._at_ph(),
            "for passed in range(passes):",
            *_indented(one_pass),
            "else:",
            f"    settled = change < {NEARLY_SETTLED**2!r}",
            *(f"{name} = {name} - share * ({name} - {old})" for name, old in zip(answers, kept)),
            *self._plain_activities(),
            f"return mu, ca, mg, na, charge, {'total' if self.free else '0.0'}, "
            f"({''.join(f'a_{f}, ' for f in self.families)}), settled",
        ]
        head = (
            "def solve(k, h, slope_a, slope_b, mu, ca, mg, na, t_Ca, t_Mg, t_Na, strong, "
            f"{totals}air, lost, xp, passes):"
        )
        return "\n".join([head, *_indented(lines), ""])

    def _charge_carried(self, family: str) -> Callable[[Species], int]:
        """Negative charge that a family's pairs and forms take from the balance, the metals counting as free ions.

        Where the family's total stays, so does that of its forms without a proton, which ``fixed`` has; what is carried
        are then the protons, with the other sign.
        """
        ligand = -self.members[family][0].charge
        return (lambda s: ligand - s.h) if family in self.loose else (lambda s: s.h)

    def _at_ph(self) -> list[str]:
        powers = {-1: " / h", 0: "", 1: " * h", 2: " * h2", 3: " * h3"}
        return [
            "h2 = h * h",
            "h3 = h2 * h",
            *(
                f"q{_number(s)} = k[{s.name!r}]{powers[s.h]}"
                for group in self.members.values()
                for s in group
            ),
        ]

    def _at_ionic_strength(self) -> list[str]:
        """Activity coefficients, and the sums in which only the metals still move."""
        lines = _weights(
            [s for f, group in self.members.items() if f not in self.plain for s in group]
        )
        for one in (
            *self.whole.values(),
            *self.carried.values(),
            *self.squares.values(),
            self.alone,
            self.hydroxide,
        ):
            lines += one.lines
        taken = "".join(
            f" - {_times(-self.members[f][0].charge, f't_{f}')}"
            for f in self.families
            if f not in self.loose
        )
        return [*lines, f"fixed = strong + {_w(self.members['H'][0])}{taken}"]

    def _turn(self) -> list[str]:
        """The anions from the metals, the metals from the anions."""
        lines = []
        for family in self.bound:
            if family == self.free:
                continue
            lines.append(f"a_{family} = t_{family} / ({self.whole[family].now()})")
            if family in self.loose:
                dissolved = next(s for s in self.members[family] if s.name == "CO2")
                lines += [
                    f"closed = a_CO3 * {_w(dissolved)}",
                    "a_CO3 = where(closed > air, a_CO3 * (1.0 - lost + lost * air / (closed + 1e-300)), a_CO3)",
                ]
        if self.free in self.bound:
            lines += [self._charge(), f"a_{self.free} = charge / ({self.carried[self.free].now()})"]
        for metal in METALS:
            pairs = "".join(
                f" + a_{f} * {self.whole[f].parts[metal]}"
                for f in self.bound
                if metal in self.whole[f].parts
            )
            lines.append(f"{metal.lower()} = t_{metal} / ({self.alone.parts[metal]}{pairs})")
        return lines

    def _charge(self) -> str:
        """What is left of the charge for the free family."""
        carried = "".join(
            f" {'-' if f in self.loose else '+'} a_{f} * ({self.carried[f].now()})"
            for f in self.bound
            if f != self.free
        )
        return f"charge = fixed - ({self.hydroxide.now()}){carried}"

    def _outcome(self) -> list[str]:
        """Charge, the free family's total and the ionic strength that follow."""
        lines = []
        if self.free not in self.bound:
            lines.append(self._charge())
        if self.free in self.plain:
            lines.append(f"total = t_{self.free} = charge / {-self.members[self.free][0].charge}")
        elif self.free:
            lines.append(f"total = a_{self.free} * ({self.whole[self.free].now()})")
        ions = [self.squares[f].now() for f in ("H", "OH", *METALS)]
        ions += [f"a_{f} * ({self.squares[f].now()})" for f in self.bound]
        ions += [_times(self.members[f][0].charge ** 2, f"t_{f}") for f in self.plain]
        least, most = IONIC_STRENGTHS
        return [*lines, f"mu_new = minimum(maximum(0.5 * ({' + '.join(ions)}), {least}), {most})"]

    def _plain_activities(self) -> list[str]:
        lines = [f"t_{self.free} = total"] if self.free in self.plain else []
        if self.plain:
            lines += _weights([self.members[f][0] for f in self.plain])
        return lines + [f"a_{f} = t_{f} / {_w(self.members[f][0])}" for f in self.plain]


def _weights(species: list[Species]) -> list[str]:
    """Lines that set ``w``, which is ``q`` over the activity coefficient, for each species.

    In the text, ``x`` and ``y`` are the Debye-Hückel slopes A (times ln 10) and B, times the root of the ionic strength.
    Species that share a coefficient stand together, so that few arrays are in use at once.
    """
    davies, salting = constant("davies_linear"), constant("neutral_salting")
    lines = ["root = sqrt(mu)", "x = slope_a * root", "y = slope_b * root"]

    def share(members: Iterable[Species], inverse_gamma: str) -> None:
        lines.extend(f"{_w(s)} = q{_number(s)} * {inverse_gamma}" for s in members)

    for size in dict.fromkeys(s.ion_size for s in species if s.charge):
        ions = [s for s in species if s.charge and s.ion_size == size]
        exponent = (
            f"x / (1.0 + {size} * y)" if size else f"x / (1.0 + root) - {davies} * slope_a * mu"
        )
        linear = [s for s in ions if s.gamma_b]
        if linear:
            lines.append(f"e = {exponent}")
            exponent = "e"
        for s in linear:
            share([s], f"exp({_times(s.charge**2, 'e')} + {-(s.gamma_b or 0.0) * LN10!r} * mu)")
        if len(linear) < len(ions):
            lines.append(f"g = exp({exponent})")
        for charge in (1, 2, 3):
            members = [s for s in ions if abs(s.charge) == charge and not s.gamma_b]
            if (
                members and charge > 1
            ):  # to the power of the charge, twice: its square stands in the exponent
                lines += [f"p = {' * '.join('g' * charge)}", f"p = {' * '.join('p' * charge)}"]
            share(members, "g" if charge == 1 else "p")
    neutral = {s: salting if s.gamma_b is None else s.gamma_b for s in species if not s.charge}
    last = None
    for term in sorted(set(neutral.values())):
        lines.append(
            "g = g * g" if term == 2.0 * (last or 0.0) else f"g = exp({-term * LN10!r} * mu)"
        )
        share((s for s, its in neutral.items() if its == term), "g")
        last = term
    return lines


def _number(s: Species) -> int:
    return all_species().index(s)


def _w(s: Species) -> str:
    return f"w{_number(s)}"


def _times(number: int, text: str) -> str:
    """A product in floats, which Python multiplies faster than a float with an int."""
    return text if number == 1 else f"{number:.1f} * {text}"


def _indented(lines: Iterable[str]) -> list[str]:
    return ["    " + line for line in lines]
