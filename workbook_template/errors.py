"""The one exception of the commands."""


class CommandError(Exception):
    """What went wrong, in one line for the user; the command ends with exit code 2."""
