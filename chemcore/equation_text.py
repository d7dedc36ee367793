"""The text of the equilibrium equations of a set of anion families, written from the species table.

Only what differs from set to set is written: the sums over the species. :mod:`chemcore.speciation`
iterates them.

Names in the text, with ``CO3`` for any family and ``ca`` for any metal:

- ``k`` constants of formation, ``q`` these times their power of the hydrogen ion (where the pH is
  fixed), ``w`` molality of a species where its ligand and its metal have activity 1; ``e``, ``g``
  and ``p`` are on the way to its activity coefficient; ``v`` is ``w`` times its power of the
  hydrogen ion (where the pH is sought);
- ``t_CO3``, ``t_Ca`` totals, ``a_CO3`` activity of the ligand, ``ca`` activity of the metal;
- sums over the forms of a family at ``a_CO3`` = 1, each in parts that stand by a metal
  (``d_CO3_Ca``): ``d_`` of their molalities, ``n_`` of the charge or the protons they carry, ``z_``
  of their molalities times the square of the charge;
- ``m_Ca`` free ion and hydroxide of a metal at ``ca`` = 1, ``oh`` all hydroxide.

One pass of a system with sulfate and a free carbonate begins its turns so::

    a_SO4 = t_SO4 / (d_SO4 + ca * d_SO4_Ca + mg * w20 + na * w21)
    charge = fixed - (w0 + ca * w1 + mg * w2) + a_SO4 * (w17 + ca * w19)
    a_CO3 = charge / (n_CO3 + ca * n_CO3_Ca + mg * n_CO3_Mg + na * w15)
    ca = t_Ca / (m_Ca + a_SO4 * d_SO4_Ca + a_CO3 * d_CO3_Ca)

Where the pH is sought, ``whole_`` and ``carried_`` are the ``d_`` and ``n_`` at the present metals,
``second_``, ``protons_`` and ``pull_`` further sums from which ``taken_`` and ``slope`` follow: the
change of the charge with the natural logarithm of the hydrogen ion, the metals held (what the
buffers take up).

``python -m chemcore.equation_text CO3 SO4 Cl --free CO3`` prints a text.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from chemcore.numeric import LN10
from chemcore.species import METALS, Species, all_species
from chemcore.tables import constant

#: Ionic strengths, mol/kg, outside which activity coefficients stay as they are: below that of any
#: water, and far past the model. On the way to a refusal the free family may be negative, or a
#: brine would run away.
IONIC_STRENGTHS = (1e-8, 1.0)
#: Turns of the metals and the anions, each found from the other, at one set of activity
#: coefficients.
TURNS = 3

_BACK_END = "exp, sqrt, where, maximum, minimum = xp.exp, xp.sqrt, xp.where, xp.maximum, xp.minimum"


def text_at_ph(families: tuple[str, ...], free: str | None, vented: bool) -> str:
    """Text of the equations at a fixed pH.

    Parameters
    ----------
    families
        Anion families of the water, the free one among them.
    free
        The family whose total follows from the balance of charge, or None.
    vented
        Whether carbon dioxide leaves.

    Returns
    -------
    Python text of ``prepare``, which makes ``one_pass`` and ``finish``.
    """
    return _AtPh(families, free, vented).text()


def text_saturated(families: tuple[str, ...]) -> str:
    """Text of the equations at a fixed pH beside a phosphate solid, which gives the activity of
    calcium.

    Parameters
    ----------
    families
        Anion families, "PO4" among them.

    Returns
    -------
    str
        Python text of ``prepare``, which makes ``one_pass`` and ``finish``; the total that is found
        is calcium's.
    """
    return _Saturated(families, None, False).text()


def text_for_ph(families: tuple[str, ...], vented: bool) -> str:
    """Text of the equations where the pH is sought, all totals known: of ``prepare``, which makes
    ``at_mu``.

    Parameters
    ----------
    families
        Anion families, such as ``("CO3", "SO4")``.
    vented
        Whether carbon dioxide leaves.

    Returns
    -------
    str
        Python text of ``prepare``, which makes ``at_mu``.
    """
    return _ForPh(families, None, vented).text()


class _Sum:
    """A sum over species, each times ``factor`` of it, in parts: what stands alone, and what stands
    by each metal.
    """

    def __init__(
        self,
        name: str,
        species: Iterable[Species],
        factor: Callable[[Species], int] = lambda s: 1,
        weight: Callable[[Species], str] | None = None,
    ) -> None:
        weight = weight or _w
        self.parts: dict[str, str] = {}
        self.lines: list[str] = []
        for metal in ("", *METALS):
            members = [s for s in species if s.metal == metal and factor(s)]
            if len(members) == 1 and factor(members[0]) == 1:
                self.parts[metal] = weight(members[0])
            elif members:
                self.parts[metal] = f"{name}_{metal}" if metal else name
                terms = " + ".join(_times(factor(s), weight(s)) for s in members)
                self.lines.append(f"{self.parts[metal]} = {terms}")

    def now(self) -> str:
        """The whole sum at the metals' present activities, once ``lines`` have set its parts."""
        return " + ".join(
            f"{metal.lower()} * {part}" if metal else part for metal, part in self.parts.items()
        )


class _Balances:
    """The parts that both texts share."""

    def __init__(self, families: tuple[str, ...], free: str | None, vented: bool) -> None:
        self.families, self.free, self.vented = families, free, vented
        self.members = {
            f: [s for s in all_species() if s.family == f] for f in (*families, "H", "OH", *METALS)
        }
        self.plain = [
            f for f in families if len(self.members[f]) == 1
        ]  # in no reaction: all of it is the one ion
        self.bound = [f for f in families if f not in self.plain]
        self.loose = {free} | ({"CO3"} if vented else set())  # whose total is not the one given
        self.whole = self._sums("d", self.bound, lambda f: lambda s: 1)
        self.carried = self._sums("n", self.bound, self._charge_carried)
        self.squares = self._sums(
            "z", [*self.bound, "H", "OH", *METALS], lambda f: lambda s: s.charge**2
        )
        both = [s for f in ("OH", *METALS) for s in self.members[f]]
        self.alone = _Sum("m", both, weight=self._weight)
        self.hydroxide = _Sum("oh", self.members["OH"], weight=self._weight)

    def _weight(self, s: Species) -> str:
        """Name of a species' molality at activity 1 of its ligand and its metal."""
        return _w(s)

    def _sums(
        self, name: str, families: list[str], factor: Callable[[str], Callable[[Species], int]]
    ) -> dict[str, _Sum]:
        return {f: _Sum(f"{name}_{f}", self.members[f], factor(f), self._weight) for f in families}

    def _head(self, names: str) -> str:
        totals = "".join(f"t_{f}, " for f in self.families if f != self.free)
        return (
            f"def prepare(k, {names}slope_a, slope_b, t_Ca, t_Mg, t_Na, strong, {totals}"
            "air, lost, xp):"
        )

    def _charge_carried(self, family: str) -> Callable[[Species], int]:
        """Negative charge that a family's pairs and forms take from the balance, the metals
        counting as free ions.

        Where the family's total stays, so does that of its forms without a proton, which ``fixed``
        has; what is carried are then the protons, with the other sign.
        """
        ligand = -self.members[family][0].charge
        return (lambda s: ligand - s.h) if family in self.loose else (lambda s: s.h)

    def _weighed(self) -> list[Species]:
        """Species whose activity coefficient every pass needs."""
        return [s for f, group in self.members.items() if f not in self.plain for s in group]

    def _lines_of(self, *groups: Iterable[_Sum]) -> list[str]:
        return [line for group in groups for one in group for line in one.lines]

    def _taken(self) -> str:
        """Charge of the families whose totals stay, all protons off."""
        return "".join(
            f" - {_times(-self.members[f][0].charge, f't_{f}')}"
            for f in self.families
            if f not in self.loose
        )

    def _anion(self, family: str, whole: str) -> list[str]:
        """Activity of a ligand from its total and the sum of its forms."""
        lines = [f"a_{family} = t_{family} / {whole}"]
        if family in self.loose:
            dissolved = next(s for s in self.members[family] if s.name == "CO2")
            lines += [
                f"closed = a_CO3 * {self._weight(dissolved)}",
                "kept = 1.0 - lost + lost * air / (closed + 1e-300)",
                "a_CO3 = where(closed > air, a_CO3 * kept, a_CO3)",
            ]
        return lines

    def _metals(self) -> list[str]:
        """Activities of the metals from their totals."""
        lines = []
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

    def _ionic_strength(self) -> str:
        """The ionic strength that follows."""
        ions = [self.squares[f].now() for f in ("H", "OH", *METALS)]
        ions += [f"a_{f} * ({self.squares[f].now()})" for f in self.bound]
        ions += [_times(self.members[f][0].charge ** 2, f"t_{f}") for f in self.plain]
        least, most = IONIC_STRENGTHS
        return f"mu_new = minimum(maximum(0.5 * ({' + '.join(ions)}), {least}), {most})"


class _AtPh(_Balances):
    """The text where the pH is fixed."""

    given = "h, "

    @property
    def total(self) -> str:
        """What the text calls the total that it finds."""
        return "total" if self.free else "0.0"

    def text(self) -> str:
        """All of it."""
        answers = ["charge", self.total, *(f"a_{f}" for f in self.bound)]
        turn = ["ca_old, mg_old = ca, mg", *self._turn()]
        one_pass = [
            *_weights(self._weighed()),
            *self._lines_of(
                self.whole.values(),
                self.carried.values(),
                self.squares.values(),
                (self.alone, self.hydroxide),
            ),
            f"fixed = strong + {_w(self.members['H'][0])}{self._taken()}",
            f"for _ in range({TURNS}):",
            *_indented(turn),
            *self._outcome(),
            "r_ca, r_mg = (ca - ca_old) / (ca + 1e-30), (mg - mg_old) / (mg + 1e-30)",
            f"return mu_new, r_ca, r_mg, 0.0, (ca, mg, na, {', '.join(answers)})",
        ]
        lines = [
            _BACK_END,
            *self._at_ph(),
            "",
            "def one_pass(mu, ca, mg, na):",
            *_indented(one_pass),
            "",
            f"def finish({', '.join(['mu', 'total', *(f'a_{f}' for f in self.bound)])}):",
            *_indented(self._finish()),
            "",
            "return one_pass, finish",
        ]
        return "\n".join([self._head(self.given), *_indented(lines), ""])

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

    def _turn(self) -> list[str]:
        """The anions from the metals, the metals from the anions."""
        lines = [
            line
            for f in self.bound
            if f != self.free
            for line in self._anion(f, f"({self.whole[f].now()})")
        ]
        if self.free in self.bound:
            lines += [self._charge(), f"a_{self.free} = charge / ({self.carried[self.free].now()})"]
        return lines + self._metals()

    def _outcome(self) -> list[str]:
        """Charge, the free family's total and the ionic strength that follow."""
        lines = []
        if self.free not in self.bound:
            lines.append(self._charge())
        if self.free in self.plain:
            lines.append(f"total = t_{self.free} = charge / {-self.members[self.free][0].charge}")
        elif self.free:
            lines.append(f"total = a_{self.free} * ({self.whole[self.free].now()})")
        return [*lines, self._ionic_strength()]

    def _finish(self) -> list[str]:
        """Activities of all families."""
        lines = [f"t_{self.free} = total"] if self.free in self.plain else []
        if self.plain:
            lines += _weights([self.members[f][0] for f in self.plain])
        lines += [f"a_{f} = t_{f} / {_w(self.members[f][0])}" for f in self.plain]
        return [*lines, f"return ({''.join(f'a_{f}, ' for f in self.families)})"]


class _Saturated(_AtPh):
    """The text where the pH is fixed and calcium is what a phosphate solid leaves: its activity is
    a power of PO4's.
    """

    given = "h, saturation, power, "
    total = "total"

    def _metals(self) -> list[str]:
        rest = [line for line in super()._metals() if not line.startswith("ca =")]
        # never above 1, which is far past the model, so that nothing overflows on the way to a
        # refusal
        return [*rest, "ca = exp(minimum(saturation + power * log(a_PO4), 0.0))"]

    def _at_ph(self) -> list[str]:
        return ["log = xp.log", *super()._at_ph()]

    def _outcome(self) -> list[str]:
        whole = "".join(
            f" + a_{f} * {self.whole[f].parts['Ca']}"
            for f in self.bound
            if "Ca" in self.whole[f].parts
        )
        return [
            f"total = ca * ({self.alone.parts['Ca']}{whole})",
            "charge = 0.0",
            self._ionic_strength(),
        ]

    def _ionic_strength(self) -> str:
        """With an anion of charge one for each charge of the calcium."""
        return super()._ionic_strength().replace("0.5 * (", "0.5 * (2.0 * total + ", 1)


class _ForPh(_Balances):
    """The text where the pH is sought."""

    def __init__(self, families: tuple[str, ...], free: None, vented: bool) -> None:
        super().__init__(families, free, vented)
        self.protons = self._sums(
            "protons", [f for f in self.bound if f in self.loose], lambda f: lambda s: s.h
        )
        self.second = self._sums(
            "second", [f for f in self.bound if f not in self.loose], lambda f: lambda s: s.h * s.h
        )
        self.pull = self._sums(
            "pull",
            [f for f in self.bound if f in self.loose],
            lambda f: lambda s: s.h * (-self.members[f][0].charge - s.h),
        )

    def _weight(self, s: Species) -> str:
        return f"v{_number(s)}" if s.h else _w(s)

    def text(self) -> str:
        """All of it."""
        powers = {-1: " / h", 1: " * h", 2: " * h2", 3: " * h3"}
        moving = [s for s in self._weighed() if s.h]
        steady = [s for s in self._weighed() if not s.h]
        hydrogen = self._weight(self.members["H"][0])
        turn = [
            "h2 = h * h",
            "h3 = h2 * h",
            *(f"v{_number(s)} = {_w(s)}{powers[s.h]}" for s in moving),
            *self._lines_of(
                self.whole.values(),
                self.carried.values(),
                (self.alone, self.hydroxide),
                self.protons.values(),
                self.second.values(),
                self.pull.values(),
            ),
            f"oh = {self.hydroxide.now()}",
            *(line for f in self.bound for line in self._family(f)),
            f"charge = strong + {hydrogen}{self._taken()} - oh{self._carried()}",
            f"slope = {hydrogen} + oh{''.join(f' + taken_{f}' for f in self.bound)}",
            "mu_new = None",
            "if last:",
            *_indented([*self._lines_of(self.squares.values()), self._ionic_strength()]),
            *self._metals(),
            "return charge, slope, mu_new, ca, mg, na",
        ]
        at_mu = [
            *_weights([*moving, *steady]),
            "",
            "def turn(h, ca, mg, na, last):",
            *_indented(turn),
            "",
            "return turn",
        ]
        lines = [
            _BACK_END,
            *(f"q{_number(s)} = k[{s.name!r}]" for s in self._weighed()),
            "",
            "def at_mu(mu):",
            *_indented(at_mu),
            "",
            "return at_mu",
        ]
        return "\n".join([self._head(""), *_indented(lines), ""])

    def _carried(self) -> str:
        return "".join(
            f" {'-' if f in self.loose else '+'} a_{f} * carried_{f}" for f in self.bound
        )

    def _family(self, family: str) -> list[str]:
        """Activity of a ligand, the charge its forms carry, and what of it the slope takes."""
        lines = [
            f"whole_{family} = {self.whole[family].now()}",
            f"carried_{family} = {self.carried[family].now()}",
            *self._anion(family, f"whole_{family}"),
        ]
        if family not in self.loose:
            second = f"{self.second[family].now()}"
            square = f"carried_{family} * carried_{family} / whole_{family}"
            return [*lines, f"taken_{family} = a_{family} * ({second} - {square})"]
        return [  # what is left falls with the square of the hydrogen ion where air rules
            *lines,
            "share = where(closed > air, (1.0 - lost) / kept, 1.0)",
            (
                f"falls = share * ({self.protons[family].now()}) / whole_{family}"
                " + 2.0 * (1.0 - share)"
            ),
            (
                f"taken_{family} = a_{family}"
                f" * (falls * carried_{family} - ({self.pull[family].now()}))"
            ),
        ]


def _weights(species: list[Species]) -> list[str]:
    """Lines that set ``w``, which is ``q`` over the activity coefficient, for each species.

    In the text, ``x`` and ``y`` are the Debye-Hückel slopes A (times ln 10) and B, times the root
    of the ionic strength. Species that share a coefficient stand together, so that few arrays are
    in use at once.
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
    return ["    " + line if line else "" for line in lines]


def _main() -> None:
    """Print the text of one set of families."""
    import argparse

    parser = argparse.ArgumentParser(description="The equations of a set of anion families.")
    parser.add_argument("families", nargs="+", help="such as CO3 SO4 Cl")
    parser.add_argument("--free", help="family that closes the balance of charge")
    parser.add_argument("--vented", action="store_true", help="carbon dioxide leaves")
    parser.add_argument("--for-ph", action="store_true", help="where the pH is sought")
    given = parser.parse_args()
    families = tuple(given.families)
    if given.for_ph:
        print(text_for_ph(families, given.vented))
    else:
        print(text_at_ph(families, given.free, given.vented))


if __name__ == "__main__":
    _main()
