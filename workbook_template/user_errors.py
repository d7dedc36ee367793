"""What can go wrong for a user, said in one sentence."""


class CommandError(Exception):
    """What went wrong, in one line for the user; the command ends with exit code 2."""


class BookError(Exception):
    """One clear sentence about a workbook that cannot be read, evaluated or written."""
