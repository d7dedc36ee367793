"""The four states of the calcium on the sheets: which one a text of CALCIUM_STATE tells of, and its
few words.
"""

from __future__ import annotations

from chemcore.tables import rows
from workbook_template.template.formula import Formula, first, joined, when, xl

#: What each state is called where room is short, from the one below every limit upward.
SHORT = ("stays", "slow scale", "can drop", "drops at once")
#: The states from which calcium is lost from the liquor, and not only as scale over weeks.
DROPS = 2
#: Decimals of the pH up to which calcium stays: the published limits are no closer.
DECIMALS = 1


def _words() -> list[str]:
    found = {int(row["state"]): row["words"] for row in rows("calcium_states")}
    return [found[number] for number in range(len(SHORT))]


def level(said: Formula) -> Formula:
    """The number of the state, from 0, that a cell with a text of CALCIUM_STATE tells of; -1 for
    anything else.
    """
    begins = [(xl.LEFT(said, len(words)) == words, number) for number, words in enumerate(_words())]
    return xl.IFERROR(first(*begins, -1), -1)


def short(mixed: Formula, opened: Formula) -> Formula:
    """The state in few words, right after mixing and, where it is another, once gas has left."""
    return joined(
        xl.CHOOSE(mixed + 1, *SHORT),
        when(opened > mixed, joined("; gas lost: ", xl.CHOOSE(opened + 1, *SHORT))),
    )


def down(ph: Formula) -> Formula:
    """A pH up to which calcium stays, never rounded up."""
    return xl.FIXED(xl.ROUNDDOWN(ph, DECIMALS), DECIMALS, True)


def with_range(ph: Formula, low: Formula, high: Formula) -> Formula:
    """A pH up to which calcium stays, with its range by the published limits; the range is never
    drawn too narrow.
    """
    most = xl.FIXED(xl.ROUNDUP(high, DECIMALS), DECIMALS, True)
    return joined(down(ph), " (", down(low), " to ", most, ")")
