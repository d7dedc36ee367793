"""What each spreadsheet program needs to call :func:`udfs.call`."""


class HostError(Exception):
    """What keeps a host from being set up or worked, in one line for the user."""
