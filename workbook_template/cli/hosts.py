"""The spreadsheet programs that the command sets up, by the name that the user types."""

from __future__ import annotations

from importlib import import_module
from types import ModuleType

#: Modules with ``install(report)``, ``remove(report)`` and ``status_line()``.
HOSTS = {"calc": "udfs.hosts.calc.calc_manage", "excel": "udfs.hosts.excel.excel_manage"}


def add_arguments(command) -> None:
    """The arguments of a command that works on one host."""
    command.add_argument("host", choices=HOSTS, help="which spreadsheet program")
    add_office(command)


def add_office(command) -> None:
    """The option that says where LibreOffice is."""
    command.add_argument(
        "--office", metavar="PATH", help="where LibreOffice is, if not in a usual place"
    )


def manager(host: str) -> ModuleType:
    """The module that sets up a host."""
    return import_module(HOSTS[host])


def options_for(host: str, options) -> dict:
    """What of the command line a host's functions take."""
    return {"path": options.office} if host == "calc" else {}
