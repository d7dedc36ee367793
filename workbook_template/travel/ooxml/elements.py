"""Elements of an XML part with their places in the bytes, so that an edit can leave all else alone.

expat with no entities: a document type declaration is refused, so neither entity expansion nor an
outside file can be asked for. Places are byte offsets, which needs UTF-8 (all spreadsheet programs
write it).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple
from xml.parsers import expat
from xml.sax.saxutils import escape, quoteattr

from workbook_template.travel import bounds
from workbook_template.user_errors import BookError

_TAG = re.compile(rb"<(?:[^>\"']|\"[^\"]*\"|'[^']*')*>")
_UNWRITABLE = re.compile("[\x00-\x08\x0b-\x1f\ud800-\udfff\ufffe\uffff]")
_UNUSUAL = re.compile("_x|" + _UNWRITABLE.pattern)
_TAG_NAME = re.compile(rb"</?([^\s/>]+)")


class Element(NamedTuple):
    """One element: local name, attributes (local names, but ``r:id`` for relationships), text and
    its places.
    """

    name: str
    attributes: dict[str, str]
    path: tuple[str, ...]
    text: str
    start: int
    inner: int
    close: int
    end: int


def parser(part: str):
    """An expat parser that knows namespaces and refuses document type declarations."""
    made = expat.ParserCreate("utf-8", namespace_separator=" ")
    made.buffer_text = True
    made.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)

    def refuse(*_):
        raise BookError(
            f"{part} has a document type declaration (DOCTYPE), which no workbook needs; it is not"
            " read"
        )

    made.StartDoctypeDeclHandler = refuse
    made.EntityDeclHandler = refuse
    return made


def parse(made, data: bytes, part: str, pieces: Iterable[bytes] = ()) -> None:
    """Run a parser over a part, or over pieces of it; one sentence where the XML is broken."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\0" in data[:4]:
        raise BookError(
            f"{part} is not in UTF-8, as all spreadsheet programs write it; save the book again"
        )
    try:
        for piece in pieces or (data,):
            made.Parse(piece, False)
        made.Parse(b"", True)
    except (expat.ExpatError, UnicodeDecodeError, ValueError) as error:
        raise BookError(f"{part} is damaged: not well-formed XML in UTF-8 ({error})") from None


def tag_end(data: bytes, start: int) -> int:
    """Offset after the tag that starts at ``start``."""
    tag = _TAG.match(data, start)
    assert tag  # where a parser found one
    return tag.end()


def tag_name(data: bytes, start: int) -> bytes:
    """Name of a tag as written, with its prefix."""
    tag = _TAG_NAME.match(data, start)
    assert tag  # where a parser found one
    return tag[1]


def local_attributes(attributes: dict[str, str]) -> dict[str, str]:
    """Attributes by local name; those of the relationships namespace as ``r:id``."""
    return {
        ("r:" if "elationships" in key else "") + key.rpartition(" ")[2]: value
        for key, value in attributes.items()
    }


def elements(data: bytes, part: str) -> list[Element]:
    """All elements of a small part, in the order of their end tags."""
    found: list[Element] = []
    stack: list[list] = []
    made = parser(part)

    def start(name, attributes):
        if len(stack) >= bounds.DEPTH:
            raise BookError(f"{part} nests its elements deeper than {bounds.DEPTH}; it is not read")
        begin = made.CurrentByteIndex
        stack.append([name.rpartition(" ")[2], attributes, begin, tag_end(data, begin), []])

    def end(_):
        close = made.CurrentByteIndex
        name, attributes, begin, inner, text = stack.pop()
        if data[inner - 2 : inner] == b"/>":
            close = stop = inner
        else:
            stop = tag_end(data, close)
        if len(found) >= bounds.ELEMENTS:
            raise BookError(
                f"{part} has more than {bounds.ELEMENTS} elements, the most that is read"
            )
        path = tuple(entry[0] for entry in stack)
        found.append(
            Element(
                name, local_attributes(attributes), path, "".join(text), begin, inner, close, stop
            )
        )

    def characters(text):
        if stack:
            stack[-1][4].append(text)

    made.StartElementHandler, made.EndElementHandler, made.CharacterDataHandler = (
        start,
        end,
        characters,
    )
    parse(made, data, part)
    return found


def spliced(data: bytes, edits: list[tuple[int, int, bytes]]) -> bytes:
    """The bytes with pieces replaced; edits are (start, end, new), those at one place in the order
    given.
    """
    out, at = [], 0
    for start, end, new in sorted(edits, key=lambda edit: edit[:2]):
        out += [data[at:start], new]
        at = end
    out.append(data[at:])
    return b"".join(out)


def without_attributes(tag: bytes, *names: str) -> bytes:
    """A start tag without some attributes."""
    return _attributes(names).sub(b"", tag)


@lru_cache(maxsize=64)
def _attributes(names: tuple[str, ...]) -> re.Pattern[bytes]:
    any_of = "|".join(map(re.escape, names)).encode()
    return re.compile(rb"\s(?:" + any_of + rb")\s*=\s*(?:\"[^\"]*\"|'[^']*')")


def with_attribute(tag: bytes, name: str, value: str) -> bytes:
    """A start tag with an attribute added or replaced."""
    tag = without_attributes(tag, name)
    stop = len(tag) - (2 if tag.endswith(b"/>") else 1)
    return tag[:stop].rstrip() + f" {name}={quoteattr(value)}".encode() + tag[stop:]


def escaped(text: str) -> bytes:
    """Text for the content of an element; characters that XML cannot hold in the form of ECMA-376
    (``_x0007_``).
    """
    if _UNUSUAL.search(text):
        text = re.sub(r"_(?=x[0-9A-Fa-f]{4}_)", "_x005F_", text)
        text = _UNWRITABLE.sub(lambda match: f"_x{ord(match.group()):04X}_", text)
    return escape(text).encode()


def unescaped(text: str) -> str:
    """Text of a cell with ``_x0007_`` turned back into the character it stands for."""
    if "_x" not in text:
        return text
    return re.sub(r"_x([0-9A-Fa-f]{4})_", lambda m: chr(int(m.group(1), 16)), text)
