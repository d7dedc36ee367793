"""Parts and what points to them: adding and removing one with its relationship and content type."""

from __future__ import annotations

from xml.sax.saxutils import quoteattr

from workbook_template.travel.ooxml.elements import elements, spliced, tag_name
from workbook_template.travel.ooxml.package import Package, relations_of, resolve

TYPES = "[Content_Types].xml"
RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_MAIN = "application/vnd.openxmlformats-officedocument.spreadsheetml"
WORKSHEET_TYPE = f"{_MAIN}.worksheet+xml"
WORKBOOK_TYPE = f"{_MAIN}.sheet.main+xml"


def remove_part(package: Package, part: str, source: str) -> list[str]:
    """Take out a part, its own relationships, and the relationship by which ``source`` points to
    it; the ids of these.
    """
    identities = []
    name = relations_of(source)
    cuts = []
    for element in elements(package[name], name):
        if (
            element.name == "Relationship"
            and element.attributes.get("TargetMode") != "External"
            and resolve(source, element.attributes.get("Target", "")) == part
        ):
            identities.append(element.attributes.get("Id", ""))
            cuts.append((element.start, element.end, b""))
    package[name] = spliced(package[name], cuts)
    package.remove(part)
    if relations_of(part) in package:
        package.remove(relations_of(part))
    cuts = [
        (element.start, element.end, b"")
        for element in elements(package[TYPES], TYPES)
        if element.name == "Override"
        and element.attributes.get("PartName", "").lstrip("/").lower() == part.lower()
    ]
    package[TYPES] = spliced(package[TYPES], cuts)
    return identities


def add_part(
    package: Package, part: str, data: bytes, content_type: str, source: str, kind: str
) -> str:
    """Add a part that ``source`` points to; the id of the relationship."""
    package[part] = data
    types = elements(package[TYPES], TYPES)
    _append(
        package,
        TYPES,
        types,
        f"Override PartName={quoteattr('/' + part)} ContentType={quoteattr(content_type)}",
    )
    name = relations_of(source)
    found = elements(package[name], name)
    taken = {element.attributes.get("Id") for element in found}
    identity = next(
        f"rId{number}" for number in range(1, len(taken) + 2) if f"rId{number}" not in taken
    )
    _append(
        package,
        name,
        found,
        f'Relationship Id="{identity}" Type="{RELATIONS}/{kind}" Target={quoteattr("/" + part)}',
    )
    return identity


def set_type(package: Package, part: str, content_type: str) -> None:
    """Another content type for a part."""
    edits = []
    for element in elements(package[TYPES], TYPES):
        if (
            element.name == "Override"
            and element.attributes.get("PartName", "").lstrip("/").lower() == part.lower()
        ):
            prefix = tag_name(package[TYPES], element.start).decode()
            edits.append(
                (
                    element.start,
                    element.end,
                    f"<{prefix} PartName={quoteattr('/' + part)} "
                    f"ContentType={quoteattr(content_type)}/>".encode(),
                )
            )
    package[TYPES] = spliced(package[TYPES], edits)


def _append(package: Package, name: str, found: list, tag: str) -> None:
    """One more element at the end of a part's only list."""
    data = package[name]
    top = found[-1]
    prefix, colon, _ = tag_name(data, top.start).decode().rpartition(":")
    new = f"<{prefix}{colon}{tag}/>".encode()
    if top.close == top.inner and data[top.inner - 2 : top.inner] == b"/>":
        head = (
            data[top.start : top.inner - 2] + b">" + new + b"</" + tag_name(data, top.start) + b">"
        )
        package[name] = spliced(data, [(top.start, top.end, head)])
    else:
        package[name] = spliced(data, [(top.close, top.close, new)])
