"""What to say wherever a dose is shown: hazard class by strength, and the usual cautions."""

from __future__ import annotations

from chemcore.acids import Acid, checked_strength
from chemcore.numeric import Number
from chemcore.tables import rows


def hazard(acid: Acid, strength: Number | None = None) -> dict[str, str]:
    """The row of ``data/hazards.csv`` for an acid at a strength: signal word, classes, statements,
    source.

    Source: Regulation (EC) No 1272/2008 (CLP), which carries the UN GHS into European law; the row
    says where each figure was read, and which are from memory.

    Parameters
    ----------
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.

    Returns
    -------
    dict[str, str]
        Columns of the row by name.

    Raises
    ------
    DomainError
        As :func:`chemcore.acids.checked_strength`.
    """
    strength = checked_strength(acid, strength)
    return [
        row
        for row in rows("hazards")
        if row["acid"] == acid.name and float(row["from_percent"]) <= strength
    ][-1]


def cautions(acid: Acid | None = None) -> tuple[str, ...]:
    """The usual cautions, those for one acid among them, in the order in which to read them.

    Parameters
    ----------
    acid
        From :func:`chemcore.acids.find_acid`; left out, only the cautions for all.

    Returns
    -------
    tuple[str, ...]
        One sentence or more each.
    """
    return tuple(
        row["text"]
        for row in rows("cautions")
        if row["applies_to"] == "all" or (acid and row["applies_to"] == acid.name)
    )


def handling_text(acid: Acid, strength: Number | None = None) -> str:
    """Hazard class and cautions of one acid at a strength, as one paragraph.

    Parameters
    ----------
    acid
        From :func:`chemcore.acids.find_acid`.
    strength
        Mass % of the acid as bought, within its range; left out, its usual strength.

    Returns
    -------
    str
        For a cell or a sheet.

    Raises
    ------
    DomainError
        As :func:`chemcore.acids.checked_strength`.
    """
    row = hazard(acid, strength)
    name = f"{acid.title} {checked_strength(acid, strength):g} %"
    if row["classes"] == "none":
        first = f"{name}: {row['statements']}."
    else:
        first = f"{name}: {row['signal_word']}. {row['classes']} (GHS/CLP): {row['statements']}."
    return " ".join([first, *cautions(acid)])
