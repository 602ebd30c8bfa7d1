"""The nodes of a parsed YAML text: what stands where, before anybody says what it means.

Smaller than the parser's own nodes, and with a plain form (nested lists) in which they are kept.
"""

from __future__ import annotations

from typing import Any, Literal

from ruamel.yaml import YAML

NodeId = Literal["scalar", "sequence", "mapping"]
Plain = list[Any]


class Node:
    """One value of the text. Nobody writes to it: texts read again share their nodes.

    Attributes:
        id: Which of the three it is.
        kind: Of a scalar, what YAML takes it for: `str`, `int`, `float`, `bool`, `null`...
        value: A scalar's text; a sequence's nodes; a mapping's pairs of nodes.
        line: Where it begins, from 1.
        column: Likewise.
    """

    __slots__ = ("column", "id", "kind", "line", "value")

    def __init__(self, id: NodeId, kind: str, value: Any, line: int, column: int) -> None:  # noqa: A002
        self.id = id
        self.kind = kind
        self.value = value
        self.line = line
        self.column = column


def compose(text: str) -> Node | None:
    """Return the top node of a YAML 1.2 text; None if there is nothing in it.

    An alias gives the very node that it names, which may contain itself.

    Raises:
        YAMLError: It is no YAML.
        RecursionError: It is nested too deeply.
        ValueError: As the parser does for some texts that are no YAML.

    Example:
        >>> compose("{bank: 20}").value[0][1].kind
        'int'
    """
    top = YAML(typ="safe", pure=True).compose(text)
    return None if top is None else _converted(top, {})


def _converted(parsed: Any, known: dict[int, Node]) -> Node:
    if id(parsed) in known:
        return known[id(parsed)]
    mark = parsed.start_mark
    kind = str(parsed.tag).rsplit(":", 1)[-1]
    node = Node(parsed.id, kind, parsed.value, mark.line + 1, mark.column + 1)
    known[id(parsed)] = node  # before what is in it: that may be an alias of this
    if parsed.id == "sequence":
        node.value = [_converted(item, known) for item in parsed.value]
    elif parsed.id == "mapping":
        node.value = [(_converted(k, known), _converted(v, known)) for k, v in parsed.value]
    return node


def plain_form(node: Node) -> Plain:
    """Return a node as nested lists of texts and whole numbers.

    Raises:
        ValueError: It has an alias, which no nested list can say.

    Example:
        >>> plain_form(compose("{bank: 20}"))
        [1, 1, [[1, 2, 'str', 'bank']], [[1, 8, 'int', '20']]]
    """
    return _plain_form(node, set())


def _plain_form(node: Node, seen: set[int]) -> Plain:
    if node.id == "scalar":
        return [node.line, node.column, node.kind, node.value]
    if id(node) in seen:
        raise ValueError("an alias")
    seen.add(id(node))
    if node.id == "sequence":
        return [node.line, node.column, [_plain_form(item, seen) for item in node.value]]
    keys = [_plain_form(key, seen) for key, _ in node.value]
    return [node.line, node.column, keys, [_plain_form(value, seen) for _, value in node.value]]


def from_plain_form(plain: Plain) -> Node:
    """Return the node of nested lists.

    Raises:
        ValueError, TypeError: They are no plain form.

    Example:
        >>> node = from_plain_form([1, 1, [[1, 2, "str", "bank"]], [[1, 8, "int", "20"]]])
        >>> node.id, node.value[0][1].value
        ('mapping', '20')
    """
    line, column, *rest = plain
    if len(rest) == 1:
        return Node("sequence", "seq", [from_plain_form(item) for item in rest[0]], line, column)
    first, second = rest
    if isinstance(first, str):
        return Node("scalar", first, second, line, column)
    keys, values = map(from_plain_form, first), map(from_plain_form, second)
    return Node("mapping", "map", list(zip(keys, values, strict=True)), line, column)
