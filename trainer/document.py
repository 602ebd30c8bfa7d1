"""Reading YAML that people write: every value with its line, unknown keys refused, all faults told.

Owns the one way a data file is read. It knows nothing of charts or lessons. YAML 1.2, so `on`
and `off` stay words. Aliases are refused (a small file can't grow without bound), and so are
duplicate keys, files over `MAXIMUM_BYTES` and nesting deeper than `MAXIMUM_DEPTH`.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

from ruamel.yaml.error import MarkedYAMLError, YAMLError

from trainer import text_file
from trainer.errors import FileError, FileProblem
from trainer.kept_nodes import kept_or_parsed
from trainer.text_file import MAXIMUM_BYTES
from trainer.yaml_fault import syntax_problem
from trainer.yaml_node import Node, compose

MAXIMUM_DEPTH = 30
LONGEST_FOUND = 300
"""Characters of what was found that are told."""
_LONGEST_NAME = 60
_BRACKETS = re.compile(r"[\[\]{}]")
_MOST_OPEN = 200
"""More than can be meant, even where brackets stand in quoted text and never close."""
_MOST_REMEMBERED = 150
_LONGEST_REMEMBERED = 100_000
"""Texts, and characters of each, whose nodes are kept: a list of lessons is read again and again,
and parsing it takes a second."""
_MISSING: Any = object()


class Document:
    """One file being read; gathers problems so that all are told at once.

    Example:
        >>> top = parse_document("altitude_ft: high", "flight.yaml")
        >>> number = top.number("altitude_ft")
        >>> top.document.problems[0].line, top.document.problems[0].found
        (1, "'high' for 'altitude_ft'")
    """

    def __init__(self, path: str) -> None:
        self.path = path
        self.problems: list[FileProblem] = []

    def add(self, node: Node, found: str, accepted: str = "") -> None:
        """Note a problem at a node of the file."""
        if len(found) > LONGEST_FOUND:
            found = f"{found[:LONGEST_FOUND]}..."
        self.problems.append(FileProblem(self.path, node.line, node.column, found, accepted))

    def raise_if_problems(self) -> None:
        """Raise FileError if anything was noted."""
        if self.problems:
            raise FileError(sorted(self.problems, key=lambda p: (p.line, p.column)))


def read_document(path: Path) -> Mapping:
    """Return the top mapping of a YAML file.

    Raises:
        MissingFileError: The file is absent, unreadable, too large or not UTF-8.
        FileError: The file isn't YAML, isn't a mapping, or uses what is refused.

    Example:
        >>> from trainer.resources import resource_folder
        >>> read_document(resource_folder("statecharts") / "generic.yaml").text("id")
        'generic'
    """
    return parse_document(read_text(path), str(path), is_file=True)


def read_text(path: Path) -> str:
    """Return the text of a file.

    Raises:
        MissingFileError: The file is absent, unreadable, too large or not UTF-8.

    Example:
        >>> from trainer.resources import resource_folder
        >>> read_text(resource_folder("statecharts") / "generic.yaml").splitlines()[0][:40]
        '# The generic mode-logic chart: regions,'
    """
    return text_file.read_text(path, accepted="a YAML file")


def parse_document(text: str, path: str = "<text>", *, is_file: bool = False) -> Mapping:
    """Return the top mapping of YAML text; errors as `read_document`.

    Args:
        text: The text.
        path: Where it stands, for messages.
        is_file: It is all of a file: what the parser says of it is kept between starts.

    Example:
        >>> top = parse_document("altitude_ft: 3000")
        >>> top.number("altitude_ft")
        3000.0
    """
    document = Document(path)
    if len(text) > MAXIMUM_BYTES:
        most = f"at most {MAXIMUM_BYTES}"
        raise FileError([FileProblem(path, 1, 1, f"{len(text)} characters", most)])
    _refuse_open_brackets(text, path)
    try:
        read = _remembered if len(text) <= _LONGEST_REMEMBERED else _nodes
        node = read(text, is_file)
    except MarkedYAMLError as error:
        raise FileError([syntax_problem(error, path)]) from error
    except (YAMLError, RecursionError, ValueError) as error:
        what = "nested too deeply" if isinstance(error, RecursionError) else str(error)
        line = text.count("\n", 0, getattr(error, "position", 0) or 0) + 1
        raise FileError([FileProblem(path, line, 1, what, "YAML 1.2")]) from error
    if node is None or node.id != "mapping":
        raise FileError([FileProblem(path, 1, 1, "no mapping at the top", "key: value lines")])
    _refuse_aliases(node, document, set(), 0)
    document.raise_if_problems()
    return Mapping(node, document)


def _nodes(text: str, is_file: bool) -> Node | None:
    return kept_or_parsed(text, compose) if is_file else compose(text)


_remembered = lru_cache(maxsize=_MOST_REMEMBERED)(_nodes)
"""The nodes of a text read not long ago; nobody writes to nodes, so they are shared."""


def _refuse_open_brackets(text: str, path: str) -> None:
    """Refuse nesting in brackets before it is parsed: the parser takes ever longer with depth."""
    depth = 0
    for found in _BRACKETS.finditer(text):
        depth += 1 if found.group() in "[{" else -1
        if depth > _MOST_OPEN:
            line = text.count("\n", 0, found.start()) + 1
            most = f"at most {MAXIMUM_DEPTH} levels"
            raise FileError([FileProblem(path, line, 1, "nested too deeply", most)])


def _refuse_aliases(node: Node, document: Document, seen: set[int], depth: int) -> None:
    if depth > MAXIMUM_DEPTH:
        document.add(node, "nested too deeply", f"at most {MAXIMUM_DEPTH} levels")
        return
    if node.id == "scalar":
        return
    if id(node) in seen:
        document.add(node, "an alias (*name)", "the value written out")
        return
    seen.add(id(node))
    children = node.value if node.id == "sequence" else [v for pair in node.value for v in pair]
    for child in children:
        _refuse_aliases(child, document, seen, depth + 1)


def near(name: str, accepted: Iterable[str], most: int = 40) -> str:
    """Return the accepted names, the nearest first if one is near.

    Args:
        name: What was found.
        accepted: All that would have been accepted.
        most: So many of them are listed.

    Example:
        >>> near("heding", ["heading", "course"])
        'heading? (heading, course)'
    """
    names = list(accepted)
    close = difflib.get_close_matches(name[:_LONGEST_NAME], names, n=1)
    listed = ", ".join(names[:most]) + (", ..." if len(names) > most else "")
    return f"{close[0]}? ({listed})" if close else listed


def scalar_value(node: Node) -> Any:
    """Return the Python value of a scalar node: str, int, float, bool or None.

    Example:
        >>> scalar_value(parse_document("light: on").node.value[0][1])  # no boolean
        'on'
    """
    kind, text = node.kind, str(node.value)
    try:
        if kind == "int":
            return int(text.replace("_", ""), 0) if text.strip("+-").startswith("0x") else int(text)
        if kind == "float":
            return float(text.replace("_", "").replace(".inf", "inf").replace(".nan", "nan"))
    except ValueError:
        return text
    if kind == "bool":
        return text.lower() == "true"
    if kind == "null":
        return None
    return text


class Mapping:
    """A mapping of the file. Reading a key marks it as known; `finish` refuses the rest.

    Example:
        >>> top = parse_document("{bank: 20, bnk: 3}")
        >>> top.number("bank", low=0, high=60)
        20.0
        >>> top.finish()
        >>> [problem.found for problem in top.document.problems]
        ["unknown key 'bnk'"]
    """

    def __init__(self, node: Node, document: Document) -> None:
        self.node = node
        self.document = document
        self._pairs: dict[str, Node] = {}
        self._keys: dict[str, Node] = {}
        self._read: set[str] = set()
        for key_node, value_node in node.value:
            key = str(key_node.value) if key_node.id == "scalar" else "?"
            if key in self._pairs:
                document.add(key_node, f"key '{key}' twice", "each key once")
                continue
            self._pairs[key] = value_node
            self._keys[key] = key_node

    @property
    def line(self) -> int:
        """Line on which the mapping begins, from 1."""
        return self.node.line

    def keys(self) -> tuple[str, ...]:
        """Return all keys in file order."""
        return tuple(self._pairs)

    def __iter__(self) -> Iterator[str]:
        return iter(self._pairs)

    def has(self, key: str) -> bool:
        """True if the key is written in the file."""
        return key in self._pairs

    def problem(self, found: str, accepted: str = "", *, key: str | None = None) -> None:
        """Note a problem at the value of `key`, or at the mapping."""
        node = self._pairs.get(key, self.node) if key else self.node
        self.document.add(node, found, accepted)

    def finish(self, accepted: Sequence[str] = ()) -> None:
        """Refuse every key that nobody has read."""
        known = sorted(self._read | set(accepted))
        for key, node in self._keys.items():
            if key not in self._read:
                self.document.add(node, f"unknown key '{key}'", near(key, known))

    def _take(self, key: str, default: Any) -> Node | None:
        self._read.add(key)
        node = self._pairs.get(key)
        if node is None and default is _MISSING:
            self.document.add(self.node, f"'{key}' is missing", f"a line '{key}: ...'")
        return node

    def scalar(self, key: str, default: Any = _MISSING) -> Any:
        """Return a scalar of any type."""
        node = self._take(key, default)
        if node is None:
            return None if default is _MISSING else default
        if node.id != "scalar":
            self.document.add(node, f"'{key}' is a {node.id}", "a single value")
            return None if default is _MISSING else default
        return scalar_value(node)

    def text(self, key: str, default: Any = _MISSING, choices: Iterable[str] | None = None) -> str:
        """Return a text; with `choices`, one of them."""
        value = self.scalar(key, default)
        if value is None or (key not in self._pairs):
            return "" if value is None else str(value)
        text = str(value).strip() if not isinstance(value, bool) else str(value).lower()
        if choices is not None:
            allowed = list(choices)
            if text not in allowed:
                self.problem(f"'{text}'", near(text, allowed), key=key)
        elif not text:
            self.problem(f"'{key}' is empty", "some text", key=key)
        return text

    def number(
        self,
        key: str,
        default: Any = _MISSING,
        low: float = -math.inf,
        high: float = math.inf,
    ) -> float:
        """Return a finite number within [low, high]."""
        value = self.scalar(key, default)
        if key not in self._pairs:
            return 0.0 if value is None else value
        bounds = f"a number from {low:g} to {high:g}" if high < math.inf else "a number"
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.problem(f"'{value}' for '{key}'", bounds, key=key)
            return 0.0
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number) or not low <= number <= high:
            self.problem(f"{number:g} for '{key}'", bounds, key=key)
            return min(max(low if low > -math.inf else 0.0, 0.0), high)
        return number

    def boolean(self, key: str, default: Any = _MISSING) -> bool:
        """Return true or false."""
        value = self.scalar(key, default)
        if key in self._pairs and not isinstance(value, bool):
            self.problem(f"'{value}' for '{key}'", "true or false", key=key)
        return bool(value)

    def texts(
        self, key: str, default: Any = _MISSING, choices: Iterable[str] | None = None
    ) -> tuple[str, ...]:
        """Return a list of texts; a single text counts as a list of one."""
        node = self._take(key, default)
        if node is None:
            return () if default is _MISSING else tuple(default)
        nodes = node.value if node.id == "sequence" else [node]
        allowed = None if choices is None else list(choices)
        found: list[str] = []
        for item in nodes:
            if item.id != "scalar":
                self.document.add(item, f"a {item.id} in '{key}'", "a list of words")
                continue
            text = str(scalar_value(item))
            if allowed is not None and text not in allowed:
                self.document.add(item, f"'{text}'", near(text, allowed))
            found.append(text)
        return tuple(found)

    def mapping(self, key: str, default: Any = _MISSING) -> Mapping | None:
        """Return a nested mapping, or None."""
        node = self._take(key, default)
        if node is None:
            return None
        if node.id != "mapping":
            self.document.add(node, f"'{key}' is a {node.id}", "a mapping (key: value lines)")
            return None
        return Mapping(node, self.document)

    def entries(self, key: str, default: Any = _MISSING) -> tuple[Mapping, ...]:
        """Return a list of mappings."""
        return tuple(entry for entry in self.items(key, default) if isinstance(entry, Mapping))

    def items(self, key: str, default: Any = _MISSING) -> tuple[Mapping | str, ...]:
        """Return a list whose entries are texts or mappings."""
        node = self._take(key, default)
        if node is None:
            return ()
        if node.id != "sequence":
            self.document.add(node, f"'{key}' is a {node.id}", "a list (- ... lines)")
            return ()
        found: list[Mapping | str] = []
        for item in node.value:
            if item.id == "mapping":
                found.append(Mapping(item, self.document))
            elif item.id == "scalar":
                found.append(str(scalar_value(item)))
            else:
                self.document.add(item, f"a list in '{key}'", "a word or a mapping")
        return tuple(found)

    def children(self) -> tuple[tuple[str, Mapping], ...]:
        """Return (key, mapping) of every entry, for sections keyed by id."""
        found = []
        for key in self.keys():
            child = self.mapping(key)
            if child is not None:
                found.append((key, child))
        return tuple(found)
