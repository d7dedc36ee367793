"""The sheets of the workbook, one a module; each has ``NAME`` and ``write(book)``."""
