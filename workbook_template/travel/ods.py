"""What an OpenDocument file holds that runs by itself, read from the file before LibreOffice opens
it.

OpenDocument 1.3 (OASIS, 2021), part 3: macros of a document stand in ``office:scripts`` or in the
package's folders Basic and Scripts, and ``script:event-listener`` starts one on an event such as
the document's loading.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from pathlib import Path
from xml.parsers import expat

from workbook_template.travel import bounds
from workbook_template.travel.ooxml.elements import parse, parser
from workbook_template.user_errors import BookError

_LISTENERS = ("event-listener", "event")
#: Parts of which the content is read.
_PARTS = ("content.xml", "styles.xml", "settings.xml")


def scripts(path: Path) -> list[tuple[str, str]]:
    """(part, sentence) of each thing that can run; BookError where the file cannot be read within
    the bounds.
    """
    try:
        if path.stat().st_size > bounds.FILE_BYTES:
            raise BookError(
                f"{path.name} is larger than {bounds.FILE_BYTES // 1_000_000} MB, the most that is"
                " read"
            )
        data = path.read_bytes()
    except OSError as error:
        raise BookError(f"{path} cannot be read: {error.strerror or error}") from None
    if path.suffix.lower() == ".fods":
        return _listeners(data, path.name)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as file:
            names = file.namelist()
            if len(names) > bounds.PARTS:
                raise BookError(
                    f"{path.name} has {len(names)} parts; at most {bounds.PARTS} are read"
                )
            found = [
                (
                    name,
                    (
                        "is a macro of the document, which can do anything that you can do on this"
                        " computer"
                    ),
                )
                for name in names
                if _is_macro(name)
            ]
            for name in _PARTS:
                if name in names:
                    found += _listeners(_part(file, name, path.name), name)
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError):
        raise BookError(f"{path.name} is damaged: it is not a whole .ods file") from None
    return found


def _is_macro(name: str) -> bool:
    """Whether a part is a module; the lists of the libraries, which LibreOffice always writes, are
    none.
    """
    folder, _, last = name.replace("\\", "/").rpartition("/")
    top = folder.partition("/")[0].lower()
    if not last or top not in ("basic", "scripts"):
        return False
    return top == "scripts" or not last.lower().startswith(("script-lc.", "script-lb.", "dialog-l"))


def _part(file: zipfile.ZipFile, name: str, title: str) -> bytes:
    with file.open(name) as part:
        data = part.read(bounds.PART_BYTES + 1)
    if len(data) > bounds.PART_BYTES:
        raise BookError(
            f"{title} unpacks to more than {bounds.PART_BYTES // 1_000_000} MB in one part, the"
            " most that is read"
        )
    return data


def _listeners(data: bytes, part: str) -> list[tuple[str, str]]:
    """Events that start something, and macros in the text itself."""
    found: list[tuple[str, str]] = []

    def start(name: str, attributes: dict[str, str]) -> None:
        space, _, local = name.rpartition(" ")
        plain = {key.rpartition(" ")[2]: value for key, value in attributes.items()}
        if local in _LISTENERS and "script" in space or local == "event-listener":
            event = plain.get("event-name", "an event")
            found.append(
                (
                    part,
                    (
                        f"starts a macro by itself on {event[:60]}:"
                        f" {plain.get('href', 'its own')[:120]}"
                    ),
                )
            )
        elif local == "script" and "office" in space:
            found.append((part, "holds a macro in its text"))

    made: expat.XMLParserType = parser(part)
    made.StartElementHandler = start
    parse(made, data, part)
    return list(dict.fromkeys(found))
