"""The process that answers Calc's formulas: a numbered JSON line in, a framed JSON line out.

The component starts it as ``python worker.py SETTINGS HOST TOKEN``; it ends with its input, so with
the office. A request is ``NUMBER [name, [cell, ...]]``, where a cell is a number, a text, true or
false, null (empty) or a list of rows. Its answer is ``TOKEN NUMBER LENGTH ANSWER``: the token that
the component made up for this process, the request's number, the bytes of the answer, and the
answer, which is such a cell, or ``{"error": code}`` in place of an error value. Frame 0 comes by
itself at the start: an empty text where all is well, or else what is wrong. So no line that
something else writes (a wrapper script, ``sitecustomize``, a C library) is taken for an answer, nor
one answer for another. Floats pass through JSON exactly, whatever the versions of Python.
"""

import os
import sys

#: Requests and answers have descriptors of their own from the first line on: 0 is empty for
#: whatever is loaded later, and 1 is where errors go.
_REQUESTS, _ANSWERS = -1, -1
if __name__ == "__main__":
    _REQUESTS, _ANSWERS = os.dup(0), os.dup(1)
    _empty = os.open(os.devnull, os.O_RDWR)
    os.dup2(_empty, 0)
    try:
        os.dup2(2, 1)
    except OSError:  # nothing is open as 2
        os.dup2(_empty, 1)
        os.dup2(_empty, 2)
    os.close(_empty)

import json  # noqa: E402
from pathlib import Path  # noqa: E402

_OLD = "the extension in LibreOffice is older than its Python's spargesheet"


def main(settings_file: str, host: str, token: str = "") -> None:
    """Answer until the input ends, or until the package on disk is another than the one that
    answers.
    """
    requests, answers = os.fdopen(_REQUESTS, "rb"), os.fdopen(_ANSWERS, "wb")
    if not token:  # the first line of an extension of before the frames
        answers.write(json.dumps(_OLD).encode() + b"\n")
        answers.flush()
        return
    mark = token.encode()
    try:
        from udfs.hosts.calc.answers import Answers

        settings = json.loads(Path(settings_file).read_text(encoding="utf-8"))
        source, problem = Answers(settings, host), ""
    except Exception as error:
        source, problem = None, f"{type(error).__name__} in its Python {sys.executable} ({error})"
    answers.write(b"\n" + framed(mark, b"0", json.dumps(problem).encode()))
    answers.flush()
    if source is None:
        return
    for line in requests:
        if source.outdated():
            return
        number, _, request = line.partition(b" ")
        answers.write(framed(mark, number, source.answer(request)))
        answers.flush()


def framed(token: bytes, number: bytes, answer: bytes) -> bytes:
    """One line that only this process can have written, for one request."""
    return b"%b %b %d %b\n" % (token, number, len(answer), answer)


if __name__ == "__main__":
    sys.path[0] = str(Path(__file__).resolve().parents[3])
    main(*sys.argv[1:])
