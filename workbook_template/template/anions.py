"""What the sheets say of the acids and their anions, from the table of the acids."""

from __future__ import annotations

from chemcore.acids import acid_names, find_acid
from workbook_template.template.formula import Formula, Part, any_of, part

PRACTICE = "common practice, no source"

ACIDS = tuple(map(find_acid, acid_names()))
#: The ions of a water report that an acid brings too.
OF_WATER = ("chloride", "sulfate")
#: What to do about an anion of the water that is tasted.
LESS_OF_WATER = "use less of its salts or acid, or blend the water"


def shown_anion(name: str) -> str:
    """An anion as the sheets name it."""
    return f"{name} as PO4" if name == "phosphate" else name


#: The anions in the order of the sheets: those of the water first.
ANIONS = tuple(dict.fromkeys((*OF_WATER, *(shown_anion(acid.anion) for acid in ACIDS))))
#: The acids whose anion has a level from which it is tasted, by the anion, in the order of the
#: sheets.
TASTED = {
    anion: acid
    for anion in ANIONS
    for acid in ACIDS
    if shown_anion(acid.anion) == anion and acid.tasted_from is not None
}


def taste_name(anion: str) -> str:
    """Name of the setting from which an anion is tasted."""
    return f"{anion.capitalize()}_taste"


def less_of(anion: str) -> str:
    """What to do about an anion that is tasted."""
    if anion in OF_WATER:
        return LESS_OF_WATER
    return f"use less {TASTED[anion].name}, or split with phosphoric"


def brings_phosphate(acid: Formula) -> Formula:
    """Whether the acid that a cell names brings phosphate."""
    conditions: list[Part] = [acid == name for name in _phosphates()]
    return part(conditions[0]) if len(conditions) == 1 else any_of(*conditions)


def _phosphates() -> list[str]:
    return [acid.name for acid in ACIDS if acid.brings_phosphate]
