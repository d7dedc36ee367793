"""The process that answers Calc's formulas: a JSON line in, a JSON line out.

The component starts it as ``python worker.py SETTINGS HOST``; it ends with its input, so with the office. The first line
that it writes is an empty text where all is well, or else what is wrong. Then a request is ``[name, [cell, ...]]``, where
a cell is a number, a text, true or false, null (empty) or a list of rows; an answer is such a cell, or
``{"error": code}`` in place of an error value. Floats pass through JSON exactly, whatever the versions of Python.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path


def main(settings_file: str, host: str) -> None:
    """Answer until the input ends, or until the package on disk is another than the one that answers."""
    answers = sys.stdout.buffer
    sys.stdout = sys.stderr  # what a library prints must not stand between the answers
    try:
        from udfs.hosts.calc.answers import Answers

        settings = json.loads(Path(settings_file).read_text(encoding="utf-8"))
        source, problem = Answers(settings, host), ""
    except Exception as error:
        source, problem = None, f"{type(error).__name__} in its Python {sys.executable} ({error})"
    answers.write(json.dumps(problem).encode() + b"\n")
    answers.flush()
    if source is None:
        return
    for request in sys.stdin.buffer:
        if source.outdated():
            return
        answers.write(source.answer(request))
        answers.flush()


if __name__ == "__main__":
    sys.path[0] = str(Path(__file__).resolve().parents[3])
    main(*sys.argv[1:])
