"""A formula as a tree: calls with their arguments, groups, and the plain pieces between them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from workbook_template.travel.calls import our_name
from workbook_template.travel.ooxml.tokens import Token, tokens

#: Groups within groups that are read; programs take 64.
DEPTH = 100


class Unreadable(ValueError):
    """A formula whose brackets do not pair, or nest too deep."""


@dataclass
class Piece:
    """A token that encloses nothing."""

    token: Token

    @property
    def text(self) -> str:
        """The piece as it stands in the formula."""
        return self.token.text


@dataclass
class Call:
    """A call or a group: what stands before its arguments, the arguments, what stands after them.

    ``ours`` names the catalogue's function, ``number`` the call among all of the book, ``several``
    says whether it gives more than one answer; ``native`` is the name of any other function in
    capitals, nothing for round brackets and braces.
    """

    head: str
    tail: str
    arguments: list[list[Node]] = field(default_factory=list)
    ours: str | None = None
    native: str = ""
    number: int = -1
    several: bool = False


Node = Piece | Call


def parsed(formula: str) -> list[Node]:
    """The nodes of a formula without its ``=``; :class:`Unreadable` where brackets do not pair."""
    pieces = tokens(formula)
    top = Call("", "", [[]])
    open_calls = [top]
    at = 0
    while at < len(pieces):
        token = pieces[at]
        at += 1
        here = open_calls[-1]
        kind = token.kind
        if kind in ("reference", "number", "text"):
            here.arguments[-1].append(Piece(token))
        elif kind == "call":
            head = token.text
            while pieces[at].text != "(":
                head += pieces[at].text
                at += 1
            at += 1
            name = our_name(token)
            native = "" if name else token.core.upper().removeprefix("_XLFN.")
            _descend(open_calls, Call(head + "(", ")", [[]], name, native))
        elif kind == "other" and token.text in "({":
            _descend(open_calls, Call(token.text, ")" if token.text == "(" else "}", [[]]))
        elif kind == "other" and token.text in ")}":
            if token.text != here.tail:
                raise Unreadable(formula)
            open_calls.pop()
        elif kind == "other" and token.text == "," and len(open_calls) > 1:
            here.arguments.append([])
        else:
            here.arguments[-1].append(Piece(token))
    if len(open_calls) > 1:
        raise Unreadable(formula)
    return top.arguments[0]


def _descend(open_calls: list[Call], call: Call) -> None:
    if len(open_calls) > DEPTH:
        raise Unreadable("too deep")
    open_calls[-1].arguments[-1].append(call)
    open_calls.append(call)


def written(nodes: list[Node], instead=None) -> str:
    """The text of nodes; ``instead(call)`` may give another text for a call of ours, or None."""
    out = []
    for node in nodes:
        if isinstance(node, Piece):
            out.append(node.token.text)
            continue
        other = instead(node) if instead and node.ours else None
        if other is None:
            inner = ",".join(
                [
                    token.text if (token := single(argument)) else written(argument, instead)
                    for argument in node.arguments
                ]
            )
            other = f"{node.head}{inner}{node.tail}"
        out.append(other)
    return "".join(out)


#: Functions that the embedded engine works out otherwise for some texts than spreadsheet programs.
_OF_TEXTS = re.compile(r"\b(?:LEFT|RIGHT|TEXT)\s*\(", re.IGNORECASE)


def of_texts(formula: str) -> str:
    """The formula for the engine, where LEFT, RIGHT or TEXT may be handed a truth or a text.

    What LEFT and RIGHT take is made a text first, as a spreadsheet program makes it: ``TRUE``. A
    text that is no number stays what it is in TEXT, which the engine refuses where a word of it
    begins with a digit.
    """
    if not _OF_TEXTS.search(formula):
        return formula
    try:
        nodes = parsed(formula)
    except Unreadable:
        return formula
    for node in reversed(list(every_call(nodes))):  # the inner ones first
        given = node.arguments[0]
        if node.native in ("LEFT", "RIGHT") and solid(given):
            node.arguments[0] = [Call("(", ')&""', [given])]
        elif node.native == "TEXT" and solid(given):
            node.head, node.tail = f"IFERROR({node.head}", f"{node.tail},{written(given)})"
    return written(nodes)


def every_call(nodes: list[Node]) -> Iterator[Call]:
    """The calls and groups among nodes, in the order in which they stand, outer ones first."""
    for node in nodes:
        if isinstance(node, Call):
            yield node
            for argument in node.arguments:
                yield from every_call(argument)


def calls_in(nodes: list[Node]) -> Iterator[Call]:
    """The catalogue's calls among nodes, in the order in which they stand."""
    return (one for one in every_call(nodes) if one.ours)


def pieces_in(nodes: list[Node]) -> Iterator[Piece]:
    """The plain pieces among nodes and within their calls, in order."""
    for node in nodes:
        if isinstance(node, Piece):
            yield node
        else:
            for argument in node.arguments:
                yield from pieces_in(argument)


def single(nodes: list[Node]) -> Token | None:
    """The token of nodes that are one plain piece; None of any others."""
    return nodes[0].token if len(nodes) == 1 and isinstance(nodes[0], Piece) else None


def solid(nodes: list[Node]) -> list[Node]:
    """The nodes without white space."""
    return [node for node in nodes if isinstance(node, Call) or node.text.strip()]
