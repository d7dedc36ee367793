"""What each spreadsheet program needs to call :func:`udfs.call`."""
