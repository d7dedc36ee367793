"""The shared texts of a workbook, read in a stream: no element of the part is kept."""

from __future__ import annotations

from workbook_template.travel import bounds
from workbook_template.travel.ooxml.elements import parse, parser, unescaped
from workbook_template.user_errors import BookError


def shared_texts(data: bytes, part: str) -> list[str]:
    """The texts in order, without their looks and without phonetic readings."""
    found: list[str] = []
    pieces: list[str] = []
    path: list[str] = []
    left = bounds.TEXT_CHARACTERS
    made = parser(part)

    def start(name, _):
        if len(path) >= bounds.DEPTH:
            raise BookError(f"{part} nests its elements deeper than {bounds.DEPTH}; it is not read")
        path.append(name.rpartition(" ")[2])

    def end(_):
        if path.pop() == "si":
            found.append(unescaped("".join(pieces)))
            pieces.clear()
            if len(found) > bounds.TEXTS:
                raise BookError(
                    f"{part} has more than {bounds.TEXTS} shared texts, the most that is read"
                )

    def characters(text):
        nonlocal left
        if path and path[-1] == "t" and "rPh" not in path:
            left -= len(text)
            if left < 0:
                raise BookError(
                    f"{part}: the shared texts have more than {bounds.TEXT_CHARACTERS} characters,"
                    " the most that is read"
                )
            pieces.append(text)

    made.StartElementHandler, made.EndElementHandler = start, end
    made.CharacterDataHandler = characters
    parse(made, data, part)
    return found
