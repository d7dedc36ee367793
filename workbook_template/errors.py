"""What a workbook can have wrong, said in one sentence."""


class BookError(Exception):
    """One clear sentence about a workbook that cannot be read, evaluated or written."""
