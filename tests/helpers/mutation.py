"""Spoils files for fuzzing: byte by byte, word by word, and by their structure.

Structure-aware changes take a document as a tree, change the tree, and write it as JSON, which is
YAML too; marks that JSON can't hold (`.nan`, thousands of digits) are put in as they are.
"""

from __future__ import annotations

import copy
import io
import json
import random
import zipfile
from collections.abc import Callable
from functools import lru_cache
from typing import Any

from ruamel.yaml import YAML

Mutator = Callable[[random.Random, bytes, list[bytes]], bytes]
"""Given chance, a file and the other files of its kind: the file spoilt."""

_BARE = "@bare:"
_LARGEST_TREE = 150_000
"""A longer file is spoilt by its bytes: reading it as a tree would take all the time there is."""
ODD: tuple[Any, ...] = (
    "", " ", 0, -1, 1, 2**31, 2**63, 10**400, 0.1, -0.0, 1e-320, 1e308, -1e308, True, False, None,
    f"{_BARE}.nan", f"{_BARE}.inf", f"{_BARE}-.inf", f"{_BARE}{'9' * 5000}", f"{_BARE}1e999",
    f"{_BARE}0x{'f' * 400}", f"{_BARE}0o17", f"{_BARE}1_000", f"{_BARE}~", f"{_BARE}<<",
    f"{_BARE}2026-01-01", f"{_BARE}2026-99-99T99:99:99Z", f"{_BARE}=", f"{_BARE}!!binary x",
    f"{_BARE}!!python/name:os.system x", f"{_BARE}!!set {{a}}", f"{_BARE}!!omap [a: 1]",
    f"{_BARE}!!int x", f"{_BARE}!!float x", f"{_BARE}!!timestamp x", f"{_BARE}!odd [1]",
    f"{_BARE}&a [*a]", f"{_BARE}*a", f"{_BARE}? x", "on", "off", "null", "true", "not ", "not not",
    "\u0000", "\ud800", "\u202e", "\ufeff", "é\u0301", "🙂" * 50, "x" * 10_000, "\n" * 50, "%s%n",
    "../../../etc/passwd", "/etc/passwd", "..", ".", "~", "CON", "a/b\\c", "file:///etc/passwd",
    [], {}, [[]], [None], {"": ""}, [1, [2, [3, [4]]]], {"a": {"b": {"c": {}}}},
)  # fmt: skip
_WORDS = (
    b"&a ", b"*a", b"!!binary ", b"!!python/object:os.system ", b"<<: *a\n", b"%YAML 1.1\n---\n",
    b"\n---\n", b"\n...\n", b"\t", b"? ", b": ", b"- ", b"|\n", b">\n", b"\x00", b"\xef\xbb\xbf",
    b"\xff\xfe", b"[" * 40, b"{" * 40, b"'", b'"', b"#", b"- - - - - ", b"\r", b"\x85", b"\\",
    b"null", b"true", b"1e999", b".nan", b"-1", b"999999999999", b"\xed\xa0\x80", b"@", b"`",
)  # fmt: skip


def spoil_bytes(chance: random.Random, data: bytes, others: list[bytes]) -> bytes:
    """Return the bytes with one small change anywhere."""
    at = chance.randrange(len(data) + 1)
    length = chance.choice((1, 2, 4, 16, 100))
    match chance.randrange(7):
        case 0:
            return data[:at] + bytes([chance.randrange(256)]) + data[at + 1 :]
        case 1:
            return data[:at] + data[at + length :]
        case 2:
            return data[:at] + chance.choice(_WORDS) + data[at:]
        case 3:
            other = chance.choice(others)
            cut = chance.randrange(len(other) + 1)
            return data[:at] + other[cut : cut + length * 4] + data[at:]
        case 4:
            return data[:at]
        case 5:
            return data[:at] + data[at : at + length] * chance.choice((2, 3, 50)) + data[at:]
        case _:
            return data[:at] + chance.randbytes(length) + data[at + length :]


def spoil_lines(chance: random.Random, data: bytes, others: list[bytes]) -> bytes:
    """Return text with lines moved, dropped, doubled, indented, or taken from another file."""
    lines = data.split(b"\n")
    place = chance.randrange(len(lines))
    match chance.randrange(5):
        case 0:
            del lines[place]
        case 1:
            lines.insert(place, chance.choice(lines))
        case 2:
            lines[place] = b" " * chance.randrange(10) + lines[place].strip()
        case 3:
            lines.insert(place, chance.choice(chance.choice(others).split(b"\n")))
        case _:
            words = lines[place].split(b" ")
            words[chance.randrange(len(words))] = chance.choice(
                chance.choice(others).split() or [b"x"]
            )
            lines[place] = b" ".join(words)
    return b"\n".join(lines)


@lru_cache(maxsize=1000)
def _tree_of(data: bytes) -> Any:
    try:
        return json.loads(data)
    except (ValueError, RecursionError):
        pass
    if b"&" in data:  # a tree may hold itself by an alias
        return None
    try:
        return YAML(typ="safe", pure=True).load(data.decode("utf-8"))
    except Exception:  # whatever a spoilt file makes of the library: it has no tree
        return None


def _spots(tree: Any) -> list[tuple[Any, Any]]:
    """Return (container, key) of every value in a tree."""
    found: list[tuple[Any, Any]] = []
    waiting = [tree]
    while waiting and len(found) < 5000:
        node = waiting.pop()
        pairs = node.items() if isinstance(node, dict) else enumerate(node)
        for key, value in pairs:
            found.append((node, key))
            if isinstance(value, dict | list) and value:
                waiting.append(value)
    return found


def change_tree(chance: random.Random, tree: Any, others: list[Any]) -> Any:
    """Change one value, key or branch of a tree in place; return the tree."""
    spots = _spots(tree) if isinstance(tree, dict | list) else []
    if not spots:
        return chance.choice(ODD)
    node, key = chance.choice(spots)
    match chance.randrange(7):
        case 0 | 1:
            node[key] = copy.deepcopy(chance.choice(ODD))
        case 2:
            del node[key]
        case 3:
            there = _spots(chance.choice(others) or tree)
            owner, place = chance.choice(there or spots)
            node[key] = copy.deepcopy(owner[place])
        case 4 if isinstance(node, dict):
            name = chance.choice([str(chance.choice(ODD))[:200], str(chance.choice(spots)[1])])
            node[name] = node.pop(key)
        case 5:
            value = node[key]
            for _ in range(chance.choice((1, 2, 40))):
                value = [value] if chance.random() < 0.5 else {"a": value}
            node[key] = value
        case _:
            if isinstance(node, list) and len(spots) < 2000:
                node.extend(copy.deepcopy(node[key]) for _ in range(chance.choice((1, 30))))
            elif isinstance(node[key], float) and abs(node[key]) < 1e300:
                node[key] *= chance.choice((-1, 0, 10, 1e6, 1e-6))
    return tree


def spoil_tree(chance: random.Random, data: bytes, others: list[bytes]) -> bytes:
    """Return a YAML or JSON file changed by its structure, or by its bytes if it has none."""
    tree = copy.deepcopy(_tree_of(data)) if len(data) < _LARGEST_TREE else None
    if not isinstance(tree, dict | list):
        return spoil_bytes(chance, data, others)
    trees = [one for one in map(_tree_of, others) if isinstance(one, dict | list)]
    try:
        return write_tree(change_tree(chance, tree, trees or [tree]))
    except (ValueError, RecursionError):  # a tree that holds itself, or is too deep to be written
        return spoil_bytes(chance, data, others)


def write_tree(tree: Any) -> bytes:
    """Return a tree as JSON with its bare marks as they are."""
    text = json.dumps(tree, indent=1, ensure_ascii=False, default=str, skipkeys=True)
    parts = text.split(f'"{_BARE}')
    out = [parts[0]]
    for part in parts[1:]:
        bare, quote, rest = part.partition('"')
        out.append(bare + rest if quote else part)
    return "".join(out).encode("utf-8", "surrogatepass")


def spoil_text(chance: random.Random, data: bytes, others: list[bytes]) -> bytes:
    """Return a text file spoilt one to five times, mostly by its structure."""
    data = data or b"a: 1\n"
    for _ in range(chance.choice((1, 1, 1, 2, 3, 5))):
        spoil = chance.choice((spoil_tree, spoil_tree, spoil_tree, spoil_lines, spoil_bytes))
        data = spoil(chance, data, others) or b"a: 1\n"
    return data[:400_000]


def spoil_binary(chance: random.Random, data: bytes, others: list[bytes]) -> bytes:
    """Return a binary file with a few bytes changed, most of them where its tables are."""
    changed = bytearray(data)
    for _ in range(chance.choice((1, 2, 4, 16, 200))):
        reach = len(changed) if chance.random() < 0.6 else min(len(changed), 200)
        changed[chance.randrange(reach)] = chance.choice((0, 1, 127, 255, chance.randrange(256)))
    data = bytes(changed)
    return spoil_bytes(chance, data, others) if chance.random() < 0.2 else data


def spoil_zip(chance: random.Random, data: bytes, others: list[bytes]) -> bytes:
    """Return an archive with a file, a name or the manifest spoilt, or with bytes spoilt."""
    if chance.random() < 0.3:
        return spoil_binary(chance, data, others)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = {name: archive.read(name) for name in archive.namelist()}
    except Exception:  # a spoilt archive
        return spoil_binary(chance, data, others)
    name = chance.choice(sorted(parts) or ["x.yaml"])
    match chance.randrange(4):
        case 0:
            odd = chance.choice(
                ("../x.yaml", "/x.yaml", "a/b.yaml", "X.YAML", "x.yaml\x00", "é.yaml")
            )
            parts[odd] = parts.pop(name, b"")
        case 1:
            parts.pop(name, None)
        case _:
            parts[name] = spoil_text(chance, parts.get(name, b""), list(parts.values()) or [b""])
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for one, content in parts.items():
            archive.writestr(one, content)
    return stream.getvalue()
