"""The VBA of the add-in that xlwings ships, what its text computes, and Windows' reading of a
command line.

No VBA runs here: the few statements that build the command are put into Python's words, one for
one, and any other statement fails the test.
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import xlwings

ADDIN = Path(xlwings.__file__).with_name("quickstart_addin.xlam")


@cache
def shipped(module: str = "xlwings") -> tuple[str, ...]:
    """The lines of a module of the installed xlwings' add-in."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # oletools uses old names of pyparsing
        from oletools.olevba import VBA_Parser
    parser = VBA_Parser(str(ADDIN))
    try:
        for _, _, name, code in parser.extract_macros():
            if name == f"{module}.bas":
                return tuple(re.split(r"\r?\n", code))
    finally:
        parser.close()
    raise AssertionError(f"{ADDIN.name} has no module {module}")


def applied(lines: Sequence[str], changes: dict[int, str]) -> list[str]:
    """The lines with some of them changed."""
    return [changes.get(number, line) for number, line in enumerate(lines, 1)]


def procedure(lines: Sequence[str], head: str) -> list[str]:
    """The statements of a procedure, joined over line ends, without comments and empty lines."""
    first = next(n for n, line in enumerate(lines) if line.startswith(head))
    last = next(n for n in range(first, len(lines)) if lines[n].startswith("End "))
    text = "\n".join(lines[first + 1 : last]).replace(" _\n", " ")
    return [line for line in map(str.strip, text.split("\n")) if line and not line.startswith("'")]


_TEXT = re.compile(r'"((?:[^"]|"")*)"')


def expression(vba: str) -> str:
    """A VBA expression of texts in Python's words."""
    texts: list[str] = []

    def kept(match):
        texts.append(match[1].replace('""', '"'))
        return f"\0{len(texts) - 1}\0"

    bare = _TEXT.sub(kept, vba)
    bare = bare.replace("<>", "!=").replace("&", "+")
    bare = re.sub(r"(?<![!=])=(?!=)", "==", bare)
    bare = re.sub(r"\bAnd\b", "and", re.sub(r"\bOr\b", "or", bare))
    return re.sub("\0(\\d+)\0", lambda match: repr(texts[int(match[1])]), bare)


def run(statements: list[str], names: dict) -> dict:
    """What the variables are after some statements: assignments, ``If`` blocks and ``#If`` for
    Excel.
    """
    names = {
        "Chr": chr,
        "Replace": lambda text, old, new: text.replace(old, new),
        "App": "Microsoft Excel",
        "True": True,
        "False": False,
        **names,
    }
    open_blocks: list[list[bool]] = []  # of each: whether it runs now, whether a branch has run
    for line in statements:
        if line.startswith("Dim "):
            continue
        if match := re.fullmatch(r"#?(If|ElseIf) (.*) Then", line):
            if match[1] == "If":
                open_blocks.append([False, False])
            block = open_blocks[-1]
            outside = all(entry[0] for entry in open_blocks[:-1])
            block[0] = outside and not block[1] and bool(eval(expression(match[2]), names))
            block[1] |= block[0]
        elif re.fullmatch(r"#?Else", line):
            open_blocks[-1][0] = not open_blocks[-1][1]
        elif re.fullmatch(r"#?End If", line):
            open_blocks.pop()
        elif match := re.fullmatch(r"(\w+) = (.*)", line):
            if all(entry[0] for entry in open_blocks):
                names[match[1]] = eval(expression(match[2]), names)
        else:
            raise AssertionError(f"not read here: {line}")
    assert not open_blocks
    return names


def command_line(lines: Sequence[str], settings: dict[str, str], active: str, this: str) -> str:
    """What ``XLPyCommand`` makes of the add-in's settings."""

    class Named:
        def __init__(self, name):
            self.FullName = name

    def get_config(key, default=""):
        return settings.get(key, default)

    found = run(
        procedure(lines, "Function XLPyCommand()"),
        {"GetConfig": get_config, "ActiveWorkbook": Named(active), "ThisWorkbook": Named(this)},
    )
    return found["XLPyCommand"]


def with_macros(command: str, clsid: str) -> str:
    """The command after the bridge has put its macros in (``Config::Preprocess`` of xlwings'
    config.cpp).
    """
    while (start := command.find("$(")) >= 0:
        stop = command.index(")", start)
        if command[start + 2 : stop] != "CLSID":
            raise KeyError(command[start + 2 : stop])
        command = command[:start] + clsid + command[stop + 1 :]
    return command


def arguments(command: str) -> list[str]:
    """The arguments of a command line by the documented rules of Windows (CommandLineToArgvW,
    "Parsing C++ command-line arguments"): the program's name up to the next quotation mark,
    backslashes special only before a quotation mark.
    """
    if command.startswith('"'):
        name, _, rest = command[1:].partition('"')
    else:
        name, _, rest = command.partition(" ")
    found, text, quoted, begun = [name], "", False, False
    at = 0
    while at < len(rest):
        letter = rest[at]
        if letter == "\\":
            stop = at
            while stop < len(rest) and rest[stop] == "\\":
                stop += 1
            count, at = stop - at, stop
            begun = True
            if at < len(rest) and rest[at] == '"':
                text += "\\" * (count // 2)
                if count % 2:
                    text += '"'
                    at += 1
            else:
                text += "\\" * count
            continue
        if letter == '"':
            if quoted and rest[at + 1 : at + 2] == '"':
                text += '"'
                at += 1
            else:
                quoted = not quoted
            begun = True
        elif letter in " \t" and not quoted:
            if begun:
                found.append(text)
            text, begun = "", False
        else:
            text, begun = text + letter, True
        at += 1
    return found + [text] if begun else found
