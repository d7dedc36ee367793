"""What the worker answers: JSON from :func:`udfs.call`, and what is wrong between extension and
package.
"""

from __future__ import annotations

import json
import time
from pathlib import Path
from typing import Any

import chemcore
from udfs import CATALOGUE, ERRORS, call
from udfs.functions import about

_MEND = "run `spargesheet install calc`, then restart LibreOffice"


class Answers:
    """Answers for one extension.

    Parameters
    ----------
    settings
        What :func:`udfs.hosts.calc.extension.settings` wrote when the extension was made.
    host
        Name and version of the office, for ADDIN_STATUS.
    """

    def __init__(self, settings: dict[str, Any], host: str):
        about.HOST = host
        about.NOTE = ""
        if settings["version"] != chemcore.__version__:
            about.NOTE = (
                f"the extension in LibreOffice is of version {settings['version']}: {_MEND}"
            )
        self.changed = {
            name: (
                f"Check add-in: {name} is not the same in spargesheet {chemcore.__version__} as in"
                f" the extension of version {settings['version']}; {_MEND}"
            )
            for name, arguments in settings["functions"].items()
            if arguments != argument_names(name)
        }
        self.stamp = _stamp()
        self.next_look = 0.0

    def answer(self, request: bytes) -> bytes:
        """The JSON that answers a request."""
        name, cells = json.loads(request)
        value = self.changed.get(name) or call(name, *cells)
        if type(value) is float:  # the usual case; JSON writes a float in the same way, only slower
            return b"%r" % value
        return json.dumps(_encoded(value), allow_nan=False).encode()

    def outdated(self) -> bool:
        """Whether the package was upgraded or removed since it was loaded; looks once a second."""
        now = time.monotonic()
        if now < self.next_look:
            return False
        self.next_look = now + 1.0
        return _stamp() != self.stamp


def argument_names(name: str) -> list[str] | None:
    """Names of a function's arguments, or None where there is no such function."""
    entry = CATALOGUE.get(name)
    return None if entry is None else [argument.name for argument in entry.arguments]


def _stamp() -> tuple[Any, ...] | None:
    """What changes when the package is installed anew."""
    try:
        found = Path(chemcore.__file__).stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size


def _encoded(value: Any) -> Any:
    if isinstance(value, tuple):
        return [[_encoded(cell) for cell in row] for row in value]
    if isinstance(value, str) and value in ERRORS:
        return {"error": value}
    return value
