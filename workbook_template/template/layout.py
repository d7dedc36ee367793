"""The pieces of formula that several sheets share."""

from __future__ import annotations

from collections.abc import Sequence

from workbook_template.template.formula import (
    Formula,
    call,
    count_where,
    is_number,
    name,
    part,
    ref,
    when,
    xl,
)
from workbook_template.template.table import Row

BLEND_WATERS = 3
#: The remark where formulas of ours give errors, as without the functions they do.
SILENT = "The functions give no answer here: see the end of the sheet Start."
NO_WATER = "Choose a water that has a row on the sheet Water."
NO_ACID = "Choose an acid that has a label on the sheet Settings."


def _cell(cell: Formula | str) -> Formula:
    return ref(cell) if isinstance(cell, str) else cell


def looked_up(column: str, row: Formula | str) -> Formula:
    """The cell of a named column in the row with this number."""
    return xl.INDEX(name(column), _cell(row))


def row_of(label: Formula | str, column: str) -> Formula:
    """The number of the row of a named column that has this label, 0 where there is none.

    ``*``, ``?`` and ``~`` of a label are characters like any others.
    """
    cell = _cell(label)
    plain = cell
    for sign in "~*?":
        plain = xl.SUBSTITUTE(plain, sign, f"~{sign}")
    return xl.IFERROR(xl.MATCH(xl.IF(xl.ISTEXT(cell), plain, cell), name(column), 0), 0)


def rows_of(label: Formula | str, column: str) -> Formula:
    """How many rows of a named column have this label, whatever characters it holds."""
    return count_where(name(column) == _cell(label))


#: A day after every day of a plan, and one after that, which ends the latest report of a water.
NO_DAY, FOR_EVER = 5_000_000, 9_000_000


def water_row(label: Formula | str, day: Formula | None = None, prefix: str = "Water") -> Formula:
    """The number of the row of the water's report that held on a day; 0 where there is none.

    Before the first report that one holds; without a day, the latest. No two reports of a water
    hold on one day. ``prefix`` is Source for the waters without the blend.
    """
    cell = _cell(label)
    on = part(NO_DAY) if day is None else xl.IF(is_number(day), day, NO_DAY)
    of_it = name(f"{prefix}_name") == cell
    held = (name(f"{prefix}_from") <= on) * (name(f"{prefix}_until") > on)
    return xl.IF(cell == "", 0, xl.SUMPRODUCT(of_it * held * name(f"{prefix}_number")))


def shelf_row(label: Formula | str) -> Formula:
    """The number of the row of the shelf with this label, 0 where there is none."""
    return row_of(label, "Shelf_label")


def water_ions(row: Formula) -> Formula:
    """The five ions of the water in this row, as the functions take them."""
    return xl.INDEX(name("Water_ions"), row, 0)


def in_use(c: Row, answer: Formula) -> Formula:
    """An answer for a row that is filled in; nothing for the others."""
    return when(c.used == 1, answer)


def dose_end(
    called: str,
    liquor: Sequence[Formula],
    ions: Formula,
    temp: Formula,
    lost: tuple[Formula, Formula] | None = None,
) -> Formula:
    """An end of the dose's interval in mL, whatever share of the gas the tank loses within its
    range.

    Parameters
    ----------
    called
        ACID_DOSE_LOW or ACID_DOSE_HIGH.
    liquor
        Alkalinity, pH, target, litres, acid and strength.
    ions, temp
        The water's ions, and the temperature that its pH was read at.
    lost
        The least and the largest share of the gas; left out, those of the settings.
    """
    errors = (name(f"Error_{of}") for of in ("alkalinity", "ph", "strength", "volume"))
    lost = lost or (name("CO2_lost_from"), name("CO2_lost_to"))
    return call(called, *liquor, *errors, ions, temp, name("CO2_lost"), *lost)


def liquid_strength(measure: Formula | str, strength: Formula | str) -> Formula:
    """The strength that a dose in mL is worked out for: a powder as its solution of 50 %."""
    return xl.IF(_cell(measure) == "g", 50, _cell(strength))


def cost_of(amount: Formula, row: Formula) -> Formula:
    """What an amount of the acid in this row of the shelf costs; words where its pack or its price
    is not given.

    An empty cell that INDEX finds is 0 to LibreOffice's functions, and a price of 0 a cost of 0.
    """
    pack, price = looked_up("Shelf_pack", row), looked_up("Shelf_price", row)
    return xl.IF(
        xl.AND(pack != "", price != ""),
        call("ACID_COST", amount, pack, price),
        "give the pack and its price on the sheet Settings.",
    )


def astray() -> Formula:
    """How many batches take acid that no acid of the shelf can be charged with: every need may be
    short by it.
    """
    return (
        xl.SUM(name("Plan_astray")) + xl.SUM(name("Mashes_astray")) + xl.SUM(name("Grist_astray"))
    )


def stated(argument: str, cell: Formula) -> Formula:
    """A cell for a function; where it is empty a sentence, as Calc hands an empty cell over as
    0.
    """
    return xl.IF(cell == "", f"Check {argument}: the cell is empty", cell)


def celsius(cell: Formula | str) -> Formula:
    """A temperature typed in the unit of the settings, in °C."""
    return xl.IF(name("Temperature_unit") == "°F", (_cell(cell) - 32) / 1.8, _cell(cell))


def from_celsius(value: float) -> Formula:
    """A temperature of °C as it is typed in the unit of the settings."""
    return xl.IF(name("Temperature_unit") == "°F", value * 1.8 + 32, value)


def unknown_acid(acid: Formula | str) -> Formula:
    """Whether an acid is none of the list: a name that was pasted in, which the functions may know
    and the sheets do not.
    """
    return acid_row(acid) == 0


def acid_row(acid: Formula | str) -> Formula:
    """The number of the row of an acid on the sheet Reference, 0 for none of the list."""
    return row_of(acid, "Acids_name")


def of_acid(fact: str, acid: Formula | str) -> Formula:
    """A fact of an acid from the sheet Reference; an error where it is none of the list."""
    return xl.INDEX(name(f"Acids_{fact}"), xl.MATCH(_cell(acid), name("Acids_name"), 0))


def cautions_in(own: Formula) -> Formula:
    """What a cell has from ACID_CAUTIONS; the cautions for any acid where it has none."""
    common = name("Any_cautions")
    return xl.IFERROR(xl.IF(xl.LEFT(own, 6) == "Check ", common, own), common)


def filled(*cells: Formula | str) -> Formula:
    """Whether any of these cells holds something."""
    return xl.COUNTA(*map(_cell, cells)) > 0


def first_problem(*steps: Formula) -> list[tuple[Formula, Formula]]:
    """Cases of :func:`first`: each step that is a text, which is the sentence of a function that
    had no figure.
    """
    return [(xl.ISTEXT(step), step) for step in steps]
