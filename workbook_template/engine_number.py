"""The calculation engine that a workbook names as the one that worked it out, as Excel compares it
with its own.

[MS-XLS] RecalcId and [MS-XLSB] 2.4.315: where a book's number is below that of the Excel that opens
it, Excel works out every formula again right after loading; without the add-in the functions then
show ``#NAME?``. [MS-XLSX] 2.4.82 (CT_CalcFeatures): from number 179016 on Excel does so too where
the book does not list one of the features of its calculation. So a live book whose figures are
fresh carries the number and the features of a current Excel.
"""

from __future__ import annotations

import re
from typing import NamedTuple
from xml.parsers import expat

#: The number of Excel 2019 and later, Microsoft 365 included.
NUMBER = 191029
#: The features that a current Excel lists.
FEATURES = tuple(
    f"microsoft.com:{name}"
    for name in ("RD", "Single", "FV", "CNMTM", "LET_WF", "LAMBDA_WF", "ARRAYTEXT_WF")
)
#: The extension of the workbook part that holds them.
EXTENSION = "{B58B0392-4F1F-4190-BB64-5DF3571DCE5F}"
NAMESPACE = "http://schemas.microsoft.com/office/spreadsheetml/2018/calcfeatures"
#: What may follow ``calcPr`` in the workbook part (ECMA-376 Part 1, 18.2.27).
_AFTER = {
    "oleSize",
    "customWorkbookViews",
    "pivotCaches",
    "smartTagPr",
    "smartTagTypes",
    "webPublishing",
    "fileRecoveryPr",
    "webPublishObjects",
    "extLst",
}
_NUMBER = re.compile(rb"\scalcId\s*=\s*(?:\"\s*(\d*)[^\"]*\"|'\s*(\d*)[^']*')")
_REQUESTS = re.compile(rb"\s(?:fullCalcOnLoad|forceFullCalc)\s*=\s*(?:\"[^\"]*\"|'[^']*')")
_REQUESTED = re.compile(rb"\s(?:fullCalcOnLoad|forceFullCalc)\s*=\s*[\"'](?:1|true)[\"']")
_TAG = re.compile(rb"<(?:[^>\"']|\"[^\"]*\"|'[^']*')*>")


class _DocumentType(Exception):
    """A document type declaration, which no workbook needs and whose entities are not read."""


class _Element(NamedTuple):
    """An element with its places in the bytes: name as written, depth, attributes, start tag,
    content's end, end.
    """

    tag: str
    depth: int
    attributes: dict[str, str]
    start: int
    inner: int
    close: int

    @property
    def name(self) -> str:
        return self.tag.rpartition(":")[2]

    @property
    def prefix(self) -> str:
        return self.tag.removesuffix(self.name)


def current(workbook: bytes) -> bytes:
    """The workbook part with the number and the features of a current Excel, and without a request
    to recalculate.

    A newer number and further features stay; a part that has all of it, and one that is no
    well-formed XML in UTF-8 or declares a document type, comes back as it is.
    """
    if b"\0" in workbook:  # not in UTF-8
        return workbook
    try:
        _elements(workbook, 1)
    except (expat.ExpatError, ValueError, _DocumentType):
        return workbook
    edits = [*_number(workbook), *_features(workbook)]
    for start, end, new in sorted(edits, reverse=True):
        workbook = workbook[:start] + new + workbook[end:]
    return workbook


def mark(package, part: str) -> None:
    """:func:`current` for a package of parts by name; nothing is assigned where nothing differs."""
    data = current(package[part])
    if data != package[part]:
        package[part] = data


def mark_unless_asked(package, part: str) -> None:
    """:func:`mark`, where the file does not ask to be worked out: such a file keeps asking, nobody
    has done so since.
    """
    if not _REQUESTED.search(package[part]):
        mark(package, part)


def _number(data: bytes) -> list[tuple[int, int, bytes]]:
    """Edits that put the number right."""
    top = _elements(data, 2)
    for element in top:
        if element.depth == 1 and element.name == "calcPr":
            tag = data[element.start : element.inner]
            found = _NUMBER.search(tag)
            number = int((found[1] or found[2] or b"0")[:9]) if found else 0
            new = _REQUESTS.sub(b"", tag)
            if number < NUMBER:
                new = _NUMBER.sub(b"", new)
                head = b"<" + element.tag.encode()
                new = head + f' calcId="{NUMBER}"'.encode() + new[len(head) :]
            return [(element.start, element.inner, new)] if new != tag else []
    root = top[-1]
    later = [element.start for element in top if element.depth == 1 and element.name in _AFTER]
    place = min(later, default=root.close)
    return [(place, place, f'<{root.prefix}calcPr calcId="{NUMBER}"/>'.encode())]


def _features(data: bytes) -> list[tuple[int, int, bytes]]:
    """Edits that list the features which are not listed yet."""
    found = _elements(data, 5)
    root = found[-1]
    listed = {e.attributes.get("name") for e in found if (e.depth, e.name) == (4, "feature")}
    missing = [name for name in FEATURES if name not in listed]
    lists = [element for element in found if (element.depth, element.name) == (3, "calcFeatures")]
    if not missing:
        return []
    if lists:
        prefix = lists[0].prefix
        return [_put(data, lists[0], "".join(_feature(prefix, name) for name in missing))]
    features = "".join(_feature("xcalcf:", name) for name in missing)
    prefix = root.prefix
    extension = (
        f'<{prefix}ext uri="{EXTENSION}" xmlns:xcalcf="{NAMESPACE}">'
        f"<xcalcf:calcFeatures>{features}</xcalcf:calcFeatures></{prefix}ext>"
    )
    for element in found:
        if (element.depth, element.name) == (1, "extLst"):
            return [_put(data, element, extension)]
    list_ = f"<{prefix}extLst>{extension}</{prefix}extLst>"
    return [(root.close, root.close, list_.encode())]


def _feature(prefix: str, name: str) -> str:
    return f'<{prefix}feature name="{name}"/>'


def _put(data: bytes, element: _Element, new: str) -> tuple[int, int, bytes]:
    """An edit that adds to the end of an element's content."""
    tag = data[element.start : element.inner]
    if not tag.endswith(b"/>"):
        return element.close, element.close, new.encode()
    return (
        element.start,
        element.inner,
        tag[:-2].rstrip() + b">" + new.encode() + f"</{element.tag}>".encode(),
    )


def _elements(data: bytes, depth: int) -> list[_Element]:
    """The elements above a depth, in the order of their end tags, so that the root is last."""
    parser = expat.ParserCreate("utf-8")  # places count in bytes; every program writes UTF-8
    stack: list[tuple] = []
    found: list[_Element] = []

    def start(tag, attributes):
        begin = parser.CurrentByteIndex
        stack.append((tag, attributes, begin))

    def end(tag):
        _, attributes, begin = stack.pop()
        if len(stack) >= depth:
            return
        opened = _TAG.match(data, begin)
        if opened is None:
            raise ValueError("places do not count in bytes: the part is not in UTF-8")
        inner = opened.end()
        close = inner if data[inner - 2 : inner] == b"/>" else parser.CurrentByteIndex
        found.append(_Element(tag, len(stack), attributes, begin, inner, close))

    def refuse(*_):
        raise _DocumentType

    parser.StartDoctypeDeclHandler = refuse
    parser.StartElementHandler, parser.EndElementHandler = start, end
    parser.Parse(data, True)
    return found
