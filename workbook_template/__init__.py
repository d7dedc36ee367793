"""The workbook a brewer opens, and the command that makes it."""
