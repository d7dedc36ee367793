"""Excel on Windows, through xlwings: the formulas in an add-in of Excel's own kind that asks Python
for the answers.
"""
