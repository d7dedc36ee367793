"""How many rows each table has, and the pieces of formula that several sheets share."""

from __future__ import annotations

WATER_ROWS = 6
BLEND_WATERS = 3
SHELF_ROWS = 8
BATCH_ROWS = 40
#: The remark where formulas of ours give errors, as without the functions they do.
SILENT = "The functions give no answer here: see the end of the sheet Start."


def looked_up(name: str, row: str) -> str:
    """The cell of a named column in the row with this number."""
    return f"INDEX({name},{row})"


def shelf_row(label: str) -> str:
    """The number of the row of the shelf with this label, 0 where there is none."""
    return f"IFERROR(MATCH({label},Shelf_label,0),0)"


def liquid_strength(measure: str, strength: str) -> str:
    """The strength that a dose in mL is worked out for: a powder as its solution of 50 %."""
    return f'IF({measure}="g",50,{strength})'


def celsius(cell: str) -> str:
    """A temperature typed in the unit of the settings, in °C."""
    return f'IF(Temperature_unit="°F",({cell}-32)/1.8,{cell})'


def from_celsius(value: float) -> str:
    """A temperature of °C as it is typed in the unit of the settings."""
    return f'IF(Temperature_unit="°F",{value * 1.8 + 32:g},{value:g})'


def unknown_acid(acid: str) -> str:
    """Whether an acid is none of the list: a name that was pasted in, which the functions may know and the sheets do not."""
    return f"IFERROR(MATCH({acid},Name_of_acid,0),0)=0"


def cautions_of(acid: str, strength: str) -> str:
    """The cautions for an acid; those for any acid where it, or the function, gives none."""
    own = f"ACID_CAUTIONS({acid},{strength})"
    return f'IFERROR(IF(LEFT({own},6)="Check ",Any_cautions,{own}),Any_cautions)'


def filled(*cells: str) -> str:
    """Whether any of these cells holds something."""
    return f"COUNTA({','.join(cells)})>0"
