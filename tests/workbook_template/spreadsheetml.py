"""What ECMA-376 and Excel ask of the parts that we write, as tables with the clause, and the faults
of a file by them.

"Transitional" here means ECMA-376 Part 1 (the names and the order are the same in Part 4). Limits
are from Microsoft's "Excel specifications and limits" and from the remarks of the clauses. Formulas
are cut into pieces by openpyxl's tokenizer, which is not the code under test.
"""

from __future__ import annotations

import posixpath
import re
from functools import cache
from xml.etree import ElementTree

from openpyxl.formula import Tokenizer
from openpyxl.utils import FORMULAE, coordinate_to_tuple

from udfs import CATALOGUE

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
RELATED = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}"
PACKAGE = "{http://schemas.openxmlformats.org/package/2006/relationships}"
TYPES = "{http://schemas.openxmlformats.org/package/2006/content-types}"

#: Children in their order.
ORDER = {
    # 18.2.27
    "workbook": (
        "fileVersion fileSharing workbookPr workbookProtection bookViews sheets functionGroups"
        " externalReferences definedNames calcPr oleSize customWorkbookViews pivotCaches smartTagPr"
        " smartTagTypes webPublishing fileRecoveryPr webPublishObjects extLst"
    ),
    # 18.3.1.99
    "worksheet": (
        "sheetPr dimension sheetViews sheetFormatPr cols sheetData sheetCalcPr sheetProtection"
        " protectedRanges scenarios autoFilter sortState dataConsolidate customSheetViews"
        " mergeCells phoneticPr conditionalFormatting dataValidations hyperlinks printOptions"
        " pageMargins pageSetup headerFooter rowBreaks colBreaks customProperties cellWatches"
        " ignoredErrors smartTags drawing legacyDrawing legacyDrawingHF picture oleObjects controls"
        " webPublishItems tableParts extLst"
    ),
    "c": "f v is extLst",  # 18.3.1.4
    "dataValidation": "formula1 formula2",  # 18.3.1.32
    "conditionalFormatting": "cfRule extLst",  # 18.3.1.18
    "cfRule": "formula colorScale dataBar iconSet extLst",  # 18.3.1.10
    # 18.8.39
    "styleSheet": (
        "numFmts fonts fills borders cellStyleXfs cellXfs cellStyles dxfs tableStyles colors extLst"
    ),
    "dxf": "font numFmt fill alignment border protection extLst",  # 18.8.14
    "xf": "alignment protection extLst",  # 18.8.45
    "rPr": "",  # 18.4.7: a choice, in any order
}
#: Attributes that an element must have.
REQUIRED = {
    "sheet": ["name", "sheetId", f"{RELATED}id"],  # 18.2.19
    "definedName": ["name"],  # 18.2.5
    "col": ["min", "max"],  # 18.3.1.13
    "mergeCell": ["ref"],  # 18.3.1.55
    "dataValidation": ["sqref"],  # 18.3.1.32
    "cfRule": ["priority"],  # 18.3.1.10
    "numFmt": ["numFmtId", "formatCode"],  # 18.8.30
    "pageMargins": ["left", "right", "top", "bottom", "header", "footer"],  # 18.3.1.62
    "drawing": [f"{RELATED}id"],  # 18.3.1.36
    "sheetView": ["workbookViewId"],  # 18.3.1.87
    "ext": ["uri"],  # 18.2.7
}
CELL_TYPES = {"b", "d", "e", "inlineStr", "n", "s", "str"}  # 18.18.11
ERRORS = {"#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A"}

FORMULA_LETTERS, NESTING, LITERAL_LETTERS, ARGUMENTS = 8192, 64, 255, 255
CELL_LETTERS, SHEET_NAME_LETTERS, HEADER_LETTERS = 32767, 31, 255
#: A validation's formula, a list written out included; the title and the text of its messages.
VALIDATION_LETTERS, TITLE_LETTERS, MESSAGE_LETTERS = 255, 32, 255
ROWS, COLUMNS = 1_048_576, 16_384


def faults(parts: dict[str, bytes], plain_names: bool = True) -> list[str]:
    """What is wrong with the file, each with its part; functions must be native, ours (by plain
    name) or ``_xlfn.``.
    """
    found = [*_package(parts)]
    trees = {
        name: ElementTree.fromstring(data)
        for name, data in parts.items()
        if name.startswith("xl/") and name.endswith(".xml")
    }
    styles = trees["xl/styles.xml"]
    sizes = {
        "s": len(styles.findall(f"{MAIN}cellXfs/{MAIN}xf")),
        "dxfId": len(styles.findall(f"{MAIN}dxfs/{MAIN}dxf")),
        "text": len(trees["xl/sharedStrings.xml"]) if "xl/sharedStrings.xml" in trees else 0,
    }
    for name, tree in trees.items():
        if tree.tag.startswith(MAIN):
            found += [f"{name}: {fault}" for fault in _elements(tree)]
        if tree.tag == f"{MAIN}worksheet":
            found += [f"{name}: {fault}" for fault in _sheet(tree, sizes)]
        if tree.tag == f"{MAIN}workbook":
            found += [f"{name}: {fault}" for fault in _workbook(tree)]
    return found


def _package(parts):
    """Part 2: names, content types (10.1.2.2) and relationships (9.3), whole."""
    types = ElementTree.fromstring(parts["[Content_Types].xml"])
    overrides = [entry.get("PartName") for entry in types.findall(f"{TYPES}Override")]
    defaults = {entry.get("Extension").lower() for entry in types.findall(f"{TYPES}Default")}
    if len({name.lower() for name in overrides}) != len(overrides):
        yield "a part has two content types"
    if len({name.lower() for name in parts}) != len(parts):
        yield "two parts have one name"
    for name in overrides:
        if name.lstrip("/") not in parts:
            yield f"{name} has a content type and is not there"
    for name in parts:
        if name != "[Content_Types].xml" and f"/{name}" not in overrides:
            if name.rpartition(".")[2].lower() not in defaults:
                yield f"{name} has no content type"
            elif name.endswith(".xml"):
                yield f"{name} is typed as any XML"
    reached = set()
    for name, data in parts.items():
        if not name.endswith(".rels"):
            continue
        folder, _, own = name.rpartition("_rels/")
        source = folder + own.removesuffix(".rels")
        if source and source not in parts:
            yield f"{name} belongs to no part"
        identities = set()
        for relation in ElementTree.fromstring(data).findall(f"{PACKAGE}Relationship"):
            if not all(relation.get(key) for key in ("Id", "Type", "Target")):
                yield f"{name}: a relationship lacks its id, type or target"
            if relation.get("Id") in identities:
                yield f"{name}: {relation.get('Id')} stands twice"
            identities.add(relation.get("Id"))
            if relation.get("TargetMode") == "External":
                continue
            target = posixpath.normpath(posixpath.join("/", folder, relation.get("Target")))
            if target.lstrip("/") not in parts:
                yield f"{name}: {relation.get('Target')} is not there"
            reached.add(target.lstrip("/"))
        if source:
            asked = set(re.findall(rb'\sr:(?:id|embed|link)="([^"]*)"', parts[source]))
            for identity in asked - {text.encode() for text in identities}:
                yield f"{source} asks for {identity.decode()}, which {name} does not have"
    for name in parts:
        if not name.endswith((".rels", "[Content_Types].xml")) and name not in reached:
            yield f"nothing leads to {name}"


def _elements(tree):
    """Order of children and required attributes, wherever an element of the tables stands."""
    for element in tree.iter():
        kind = element.tag.removeprefix(MAIN)
        for attribute in REQUIRED.get(kind, ()):
            if element.get(attribute) is None:
                yield f"{kind} has no {attribute}"
        if ORDER.get(kind):
            order = ORDER[kind].split()
            names = [child.tag.removeprefix(MAIN) for child in element if MAIN in child.tag]
            unknown = [name for name in names if name not in order]
            if unknown:
                yield f"{kind} holds {unknown}"
            elif [order.index(name) for name in names] != sorted(map(order.index, names)):
                yield f"the children of {kind} stand out of order: {names}"
            single = [name for name in names if name not in _MANY]
            if len(set(single)) != len(single):
                yield f"{kind} holds a child twice: {single}"


_MANY = {"conditionalFormatting", "cfRule", "formula"}


def _workbook(tree):
    names = [sheet.get("name") for sheet in tree.iter(f"{MAIN}sheet")]
    if len({name.lower() for name in names}) != len(names):
        yield "two sheets have one name"
    for name in names:
        if len(name) > SHEET_NAME_LETTERS or re.search(r"[\[\]:*?/\\]", name):
            yield f"the sheet name {name!r} is not one"
    numbers = [sheet.get("sheetId") for sheet in tree.iter(f"{MAIN}sheet")]
    if len(set(numbers)) != len(numbers):
        yield "two sheets have one number"
    seen = set()
    for name in tree.iter(f"{MAIN}definedName"):
        key = (name.get("name").lower(), name.get("localSheetId"))
        if key in seen:
            yield f"the name {key[0]} stands twice"
        seen.add(key)
        yield from of_formula(name.text or "", name.get("name"))


def _sheet(tree, sizes):
    row = 0
    for line in tree.iter(f"{MAIN}row"):
        number = int(line.get("r", row + 1))
        if not row < number <= ROWS:
            yield f"row {number} stands after row {row}"
        row, column = number, 0
        for cell in line.findall(f"{MAIN}c"):
            at, last = coordinate_to_tuple(cell.get("r"))
            if at != row or not column < last <= COLUMNS:
                yield f"{cell.get('r')} stands out of order"
            column = last
            yield from _cell(cell, sizes)
    for validation in tree.iter(f"{MAIN}dataValidation"):
        where = f"the validation of {validation.get('sqref')}"
        for formula in validation:
            text = formula.text or ""
            if len(text) > VALIDATION_LETTERS:
                yield f"{where} has a formula of {len(text)} characters"
            yield from of_formula(text, where)
        for key, most in (
            ("errorTitle", TITLE_LETTERS),
            ("promptTitle", TITLE_LETTERS),
            ("error", MESSAGE_LETTERS),
            ("prompt", MESSAGE_LETTERS),
        ):
            if len(validation.get(key, "")) > most:
                yield f"{where}: its {key} is longer than {most} characters"
    priorities = []
    for rule in tree.iter(f"{MAIN}cfRule"):
        priorities.append(rule.get("priority"))
        if int(rule.get("dxfId", 0)) >= max(sizes["dxfId"], 1):
            yield f"a conditional format asks for style {rule.get('dxfId')}"
        texts = rule.findall(f"{MAIN}formula")
        if len(texts) > 3:  # 18.3.1.10
            yield "a conditional format has more than 3 formulas"
        for formula in texts:
            where = f"the conditional format {rule.get('priority')}"
            yield from of_formula(formula.text, where)
            if re.search(r"[{}]|\[", re.sub(r'"[^"]*"', "", formula.text)):
                yield (
                    f"{where} uses an array constant or another workbook, which Excel refuses there"
                )
    if len(set(priorities)) != len(priorities):
        yield "two conditional formats have one priority"
    for text in tree.iter(f"{MAIN}oddFooter"):
        if len(text.text or "") > HEADER_LETTERS:
            yield "the footer is too long"
    merged = [cell.get("ref") for cell in tree.iter(f"{MAIN}mergeCell")]
    if len(set(merged)) != len(merged):
        yield "cells are merged twice"


def _cell(cell, sizes):
    where, kind = cell.get("r"), cell.get("t", "n")
    value, formula = cell.findtext(f"{MAIN}v"), cell.find(f"{MAIN}f")
    if kind not in CELL_TYPES:
        yield f"{where} is of type {kind}"
    if int(cell.get("s", 0)) >= sizes["s"]:
        yield f"{where} has style {cell.get('s')}, which is not there"
    if kind == "s" and not 0 <= int(value) < sizes["text"]:
        yield f"{where} asks for the shared text {value}"
    if kind == "n" and value is not None:
        try:
            float(value)
        except ValueError:
            yield f"{where} is a number and holds {value!r}"
    if kind == "e" and value not in ERRORS:
        yield f"{where} is an error and holds {value!r}"
    if kind == "b" and value not in ("0", "1"):
        yield f"{where} is a truth value and holds {value!r}"
    if kind == "inlineStr" and cell.find(f"{MAIN}is") is None:
        yield f"{where} is an inline text without one"
    if value is not None and len(value) > CELL_LETTERS:
        yield f"{where} holds {len(value)} characters"
    if formula is not None:
        if value is None:
            yield f"{where} has a formula and no value"
        if formula.get("t") in ("array", "dataTable") and not formula.get("ref"):  # 18.3.1.40
            yield f"{where} has an array formula without its range"
        yield from of_formula(formula.text or "", where)


@cache
def _of_formula(text):
    """Faults of a formula, apart from where it stands."""
    found = []
    if len(text) > FORMULA_LETTERS:
        found.append(f"a formula of {len(text)} characters")
    depth = deepest = 0
    commas = []
    for token in Tokenizer(f"={text}").items:
        if token.type == "FUNC" and token.subtype == "OPEN":
            depth += 1
            commas.append(0)
            deepest = max(deepest, depth)
            name = token.value[:-1].upper()
            native = name in FORMULAE or name.startswith("_XLFN.")
            if not native and name not in CATALOGUE:
                found.append(f"the function {name} is not of Excel 2010 and not ours")
        elif token.type == "FUNC":
            depth -= 1
            if commas.pop() >= ARGUMENTS:
                found.append("a call with too many arguments")
        elif token.type == "SEP" and commas:
            commas[-1] += 1
        elif token.type == "OPERAND" and token.subtype == "TEXT":
            if len(token.value[1:-1].replace('""', '"')) > LITERAL_LETTERS:
                found.append(f"a text of {len(token.value)} characters in a formula")
    if depth:
        found.append("brackets that do not match")
    if deepest > NESTING:
        found.append(f"calls nested {deepest} deep")
    return tuple(found)


def of_formula(text, where):
    """Faults of a formula: length, nesting, arguments, texts, functions."""
    return [f"{where}: {fault}" for fault in _of_formula(text)]
