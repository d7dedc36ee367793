"""How large a workbook may be: one place for every limit that keeps time and memory bounded.

A mailed workbook is hostile input. Each limit ends in one sentence
(:class:`workbook_template.user_errors.BookError`) and is far above what a brewery's book needs. At
the limits of cells and formulas reading a book takes about 25 s and 400 MB (measured on one core of
2020s make); the evaluation runs in a child process with the limits at the end.
"""

#: Bytes of the file itself.
FILE_BYTES = 100_000_000
#: Parts of the package, bytes of one part and of all parts unpacked (counted while unpacking, not
#: as declared).
PARTS = 5_000
PART_BYTES = 150_000_000
TOTAL_BYTES = 250_000_000
#: A part above RATIO_BYTES that unpacks to more than RATIO times its packed size is a zip bomb;
#: sheets reach about 30.
RATIO = 250
RATIO_BYTES = 20_000_000
#: Depth of XML elements (a sheet needs about 10), and elements of a part other than a sheet's
#: cells.
DEPTH = 200
ELEMENTS = 1_000_000
#: Of a whole book: sheets, cells and rows that are written in the file, formulas, characters of one
#: formula (Excel's own limit is 8,192) and of all.
SHEETS = 1_000
CELLS = 500_000
FORMULAS = 200_000
FORMULA_CHARACTERS = 8_192
ALL_FORMULA_CHARACTERS = 50_000_000
#: Shared texts of a book, and their characters.
TEXTS, TEXT_CHARACTERS = 400_000, 30_000_000
#: Characters of all texts and formulas in cells, each counted as often as it stands in a cell.
VALUE_CHARACTERS = 30_000_000
#: Cells that all array formulas may fill.
ARRAY_CELLS = 100_000
#: Rows and columns of a sheet.
ROWS, COLUMNS = 1_048_576, 16_384
#: Names within names; characters of a text in a cell.
NAME_DEPTH = 16
CELL_CHARACTERS = 32_767
#: Input cells whose values a shared copy remembers, to say on the way back which ones changed.
REMEMBERED_INPUTS = 20_000
#: Bytes of a file of readings; a log has room for 60 rows.
READINGS_BYTES = 1_000_000
#: The evaluation: seconds on the clock and of the processor, and bytes of memory. Windows has no
#: limit of memory or processor time for a child process in Python's standard library, and macOS
#: does not keep the one of memory: there the clock holds, which ends the child process everywhere.
EVALUATION_SECONDS = 300
EVALUATION_BYTES = 3_000_000_000
#: LibreOffice's conversions, seconds.
OFFICE_SECONDS = 180
