"""Whether a package hangs together: every relationship, content type and reference leads
somewhere.
"""

import re
from urllib.parse import unquote
from xml.etree import ElementTree

from workbook_template.travel.ooxml.package import relations_of, resolve

_RELATIONS = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}"


def faults(parts: dict[str, bytes]) -> list[str]:
    """What is wrong with the parts of a package, by name; an empty list where it is whole."""
    found = []
    names = {name.lower() for name in parts}  # ECMA-376 part 2, 6.2.2.3: without regard to case
    types = ElementTree.fromstring(parts["[Content_Types].xml"])
    overrides = {e.get("PartName").lower() for e in types if e.tag.endswith("Override")}
    defaults = {e.get("Extension").lower() for e in types if e.tag.endswith("Default")}
    found += [
        f"a type for {name}, not there" for name in overrides if name[1:].lower() not in names
    ]
    for part in parts:
        extension = part.rpartition(".")[2].lower()
        if part != "[Content_Types].xml" and "/" + part.lower() not in overrides:
            if extension not in defaults:
                found.append(f"{part} has no content type")
    for part, data in parts.items():
        if part.endswith(".rels"):
            source = re.sub(r"(^|/)_rels/([^/]*)\.rels$", r"\1\2", part)
            if source and source.lower() not in names:
                found.append(f"{part} belongs to no part")
            for relation in ElementTree.fromstring(data):
                if relation.get("TargetMode") != "External":
                    target = resolve(source, relation.get("Target"))
                    if unquote(target).lower() not in names:
                        found.append(f"{part}: {target} is not there")
        elif part.endswith(".xml") and part != "[Content_Types].xml":
            rels = parts.get(relations_of(part))
            known = {e.get("Id") for e in ElementTree.fromstring(rels)} if rels else set()
            for element in ElementTree.fromstring(data).iter():
                for name, value in element.attrib.items():
                    if name.startswith(_RELATIONS) and value and value not in known:
                        found.append(f"{part}: {element.tag} asks for {value}, not there")
    return found
