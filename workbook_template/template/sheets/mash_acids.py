"""Acid in the mash, one row a batch of the plan: what Purchasing and Settings count beside the acid of the sparge.

Not a sheet of its own: the lower part of the sheet Mash.
"""

from __future__ import annotations

from workbook_template.template.formula import ref
from workbook_template.template.layout import BATCH_ROWS, cost_of, shelf_row


def last(top: int) -> int:
    """The last row of the table that begins at ``top``."""
    return top + 2 + BATCH_ROWS


def before(top: int) -> int:
    """The sheet's rows above the table's first, counted from 1, where the table begins at ``top``."""
    return top + 3


def write_on(sheet, top: int, workings: int) -> None:
    """Write the table on the sheet Mash, with its workings from this column on."""
    sheet.across(top, 0, 13, "Acid in the mash of each batch of the plan", "section")
    sheet.across(
        top + 1,
        0,
        13,
        "Settings and Purchasing count it. The batch chosen above is worked out there; type its acid in here "
        "before the next one is chosen. An empty row is a mash without acid.",
        "lead",
    )
    head, first, end = top + 2, top + 3, last(top)
    sheet.headers(
        head,
        0,
        ["Batch", "", "", "mL (powder: g)", "Counted, mL (g)", '="Cost, "&Currency'],
        height=32,
    )
    for column, title in ((1, "Acid"), (6, "Remark")):
        sheet.raw.merge_range(head, column, head, column + 1, title, sheet.book.style("header"))
    sheet.headers(
        head, workings, ["Acid counted", "Amount", "Complete", "Cost", "Without an acid"], height=32
    )
    for offset in range(BATCH_ROWS):
        _row(sheet, first + offset, offset + 1, workings)
    sheet.choice((first, 1), (end, 1), "=Shelf_label", "Acid")
    sheet.limits((first, 3), (end, 3), 0, 1e7, "An amount of acid")
    sheet.name_range("Mash_typed_acid", (first, 1), (end, 1))
    sheet.name_range("Mash_typed_amount", (first, 3), (end, 3))
    for column, name in enumerate(("acid", "amount", "complete", "money", "astray"), workings):
        sheet.name_range(f"Mash_plan_{name}", (first, column), (end, column))


def _row(sheet, row: int, number: int, workings: int) -> None:
    at = row + 1
    acid, amount, complete, money, astray = (
        f"{chr(ord('A') + column)}{at}" for column in range(workings, workings + 5)
    )
    above = f"AND(Mash_plan_row={number},Mash_used=1)"
    sheet.formula(
        row, 0, f'=IF(INDEX(Plan_batch,{number})="","",INDEX(Plan_batch,{number}))', "result"
    )
    sheet.raw.merge_range(row, 1, row, 2, "", sheet.book.style("input", "plain"))
    sheet.input(row, 3, None, "ml")
    shelf = shelf_row(acid)
    formulas = {
        acid: f'=IF({above},Mash_shelf_label&"",B{at}&"")',
        amount: f'=IF({acid}="","",IF({above},Mash_amount,IF(D{at}="","Give the mL (g).",D{at})))',
        complete: f'=IF(AND({acid}<>"",ISNUMBER({amount})),1,0)',
        money: f"=IF({complete}=1,IF({shelf}>0,{cost_of(ref(amount), shelf)},"
        f'"Choose an acid that has a label on the sheet Settings."),"")',
        astray: f'=IF({above},0,IF(OR(AND(D{at}<>"",B{at}=""),AND(B{at}<>"",{shelf}=0)),1,0))',
    }
    for column, formula in enumerate(formulas.values(), workings):
        sheet.formula(row, column, formula, "cell")
    for column, cell, number_format in ((4, amount, "ml"), (5, money, "money")):
        sheet.formula(
            row,
            column,
            f'=IF({acid}="","",IF(ISNUMBER({cell}),{cell},"see remark"))',
            "result",
            "right",
            number_format,
        )
    sheet.across(
        row,
        6,
        7,
        (
            f'=IF({above},"from the mash above",IF({astray}=1,"Choose an acid that has a label on the sheet Settings.",IF(ISTEXT({amount}),'
            f'{amount},IF(ISTEXT({money}),{money},""))))'
        ),
        "remark",
        formula=True,
    )
