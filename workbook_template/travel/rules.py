"""Data validations and conditional formats of a sheet, each as one rule with its bounds and the
cells it is for.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from workbook_template.travel.native_functions import normal
from workbook_template.travel.ooxml.addresses import address, block, quoted
from workbook_template.travel.ooxml.elements import Element
from workbook_template.travel.ooxml.stored_book import StoredSheet
from workbook_template.user_errors import BookError

#: A list of choices that is typed into a rule.
_CHOICES = re.compile(r'"[^"]*"')
#: Kinds of validation that compare with one bound or two.
_COMPARING = ("whole", "decimal", "date", "time", "textLength")
_TWO = {"between": "between", "notBetween": "not between"}
_ONE = {"equal": "=", "notEqual": "<>", "lessThan": "<", "greaterThan": ">"}
_ONE |= {"lessThanOrEqual": "<=", "greaterThanOrEqual": ">="}
#: What a conditional format without a formula goes by, and what is meant where the file does not
#: say.
_USUAL = {
    "top10": {"rank": "", "percent": "0", "bottom": "0"},
    "aboveAverage": {"aboveAverage": "1", "equalAverage": "0", "stdDev": ""},
    "timePeriod": {"timePeriod": ""},
}
_TRUTHS = {"true": "1", "false": "0"}
#: Ends of a colour scale, to which a file may give a number that means nothing.
_ENDS = ("min", "max", "autoMin", "autoMax")
#: Areas of a rule that are joined and split alike, however a program wrote them.
_AREAS = 50


class Rule(NamedTuple):
    """What a sheet asks of entries or shows otherwise: ``key`` is the same whichever program saved
    it.

    ``formulas`` are the elements that hold its formulas, ``scale`` those whose ``val`` is one,
    ``said`` is for a reader.
    """

    kind: str
    sheet: str
    area: str
    said: str
    key: str
    formulas: tuple[Element, ...]
    scale: tuple[Element, ...] = ()

    @property
    def where(self) -> str:
        """How findings name it."""
        place = f"{quoted(self.sheet)}!{self.area}" if self.area else self.sheet
        return f"a {self.kind} on {place:.100}"


class _Draft:
    """A rule while its sheet is read."""

    def __init__(self, element: Element, outer: Element):
        self.element, self.outer = element, outer
        self.area = outer.attributes.get("sqref", "")
        self.formulas: list[Element] = []
        self.scale: list[Element] = []


def rules(sheet: StoredSheet) -> list[Rule]:
    """The rules of a sheet; those that differ in their cells alone are one, and other formulas
    outside cells one each.
    """
    found: dict[tuple[str, tuple[str, ...]], list[_Draft]] = {}
    rest: list[Element] = []
    for draft in _drafts(sheet, rest):
        kind, terms = _terms(draft)
        if terms:
            found.setdefault((kind, terms), []).append(draft)
    made = []
    for (kind, terms), drafts in found.items():
        area = _joined(" ".join(draft.area for draft in drafts))
        formulas = tuple(element for draft in drafts for element in draft.formulas)
        scale = tuple(element for draft in drafts for element in draft.scale)
        key = "|".join((kind, *(normal(term) for term in terms), area.replace(" ", ",")))
        made.append(Rule(kind, sheet.name, area, " ".join(terms), key, formulas, scale))
    for element in rest:
        text = element.text.strip()
        made.append(Rule("rule", sheet.name, "", text, normal(text), (element,)))
    return made


def _drafts(sheet: StoredSheet, rest: list[Element]) -> Iterator[_Draft]:
    """The rules as they stand in the file; formulas that belong to none go to ``rest``."""
    cells = sheet.cells
    outer: Element | None = None
    drafts: list[_Draft] = []
    for element in sorted([*cells.rules, *cells.others], key=lambda one: one.start):
        if outer and element.start >= outer.end:
            yield from drafts
            outer, drafts = None, []
        inside = drafts and element.start < drafts[-1].element.end
        if element.name == "dataValidation":
            outer, drafts = element, [_Draft(element, element)]
        elif element.name == "conditionalFormatting":
            outer = element
        elif element.name == "cfRule" and outer:
            drafts.append(_Draft(element, outer))
        elif element.name == "cfvo" and inside:
            drafts[-1].scale.append(element)
        elif element.name == "sqref":
            for draft in drafts:
                draft.area = element.text
        elif inside and element.text.strip():
            drafts[-1].formulas.append(element)
        elif element.text.strip() and element.name != "dimension":
            rest.append(element)
    yield from drafts


def _terms(draft: _Draft) -> tuple[str, tuple[str, ...]]:
    """Kind of a rule, and its condition in words and formulas; nothing for one that asks
    nothing.
    """
    attributes = draft.element.attributes
    texts = [_choices(element.text.strip()) for element in draft.formulas]
    if draft.element.name == "dataValidation":
        kind, words = "data validation", attributes.get("type", "none")
        if words in _COMPARING:
            return kind, (words, *_bounds(attributes.get("operator", "between"), texts))
        return kind, (words, *texts[:1]) if words != "none" else ()
    kind, words = "conditional format", attributes.get("type", "")
    if words == "cellIs":
        return kind, _bounds(attributes.get("operator", ""), texts)
    if texts:
        return kind, ("if", *texts)
    if "ext" in draft.element.path:  # how a bar is drawn, which programs add on their own
        return kind, ()
    said = []
    for name, usual in _USUAL.get(words, {}).items():
        value = attributes.get(name, usual)
        if _TRUTHS.get(value, value) != usual:
            said.append(f"{name} {value}")
    return kind, (words, *said, *map(_point, draft.scale))


def _point(element: Element) -> str:
    """Where a colour, bar or icon of a conditional format begins or ends."""
    kind, value = (element.attributes.get(name, "") for name in ("type", "val"))
    return kind if kind in _ENDS else f"{kind} {value}"


def _bounds(operator: str, texts: list[str]) -> tuple[str, ...]:
    """One bound or two; LibreOffice gives a second one of 0, which does nothing, to what has
    one.
    """
    if operator in _TWO:
        return (_TWO[operator], *texts[:1], "and", *texts[1:2])
    return (_ONE.get(operator, operator), *texts[:1])


def _choices(text: str) -> str:
    """A list of choices without the spaces after its commas, which do nothing."""
    if _CHOICES.fullmatch(text):
        return ",".join(choice.strip() for choice in text.split(","))
    return text


def _joined(areas: str) -> str:
    """Areas as a file writes them, the same for the same cells however they are cut up."""
    pieces = sorted(set(areas.split()))
    try:
        blocks = [block(piece.replace("$", "")) for piece in pieces]
    except BookError:
        return " ".join(pieces)
    if len(blocks) > _AREAS:
        return " ".join(pieces)
    edges = sorted({left for _, left, _, _ in blocks} | {right + 1 for *_, right in blocks})
    strips: list[tuple[int, int, list[tuple[int, int]]]] = []
    for left, after in zip(edges, edges[1:]):
        rows: list[tuple[int, int]] = []
        for top, first, bottom, last in sorted(blocks):
            if first > left or last < left:
                continue
            if rows and top <= rows[-1][1] + 1:
                rows[-1] = (rows[-1][0], max(rows[-1][1], bottom))
            else:
                rows.append((top, bottom))
        if strips and rows and strips[-1][1] == left and strips[-1][2] == rows:
            strips[-1] = (strips[-1][0], after, rows)
        elif rows:
            strips.append((left, after, rows))
    return " ".join(
        address(top, left)
        if (top, left) == (bottom, after - 1)
        else f"{address(top, left)}:{address(bottom, after - 1)}"
        for left, after, rows in strips
        for top, bottom in rows
    )
