"""An item bank in a file, since making one takes long: shipped, kept on the disk, or handed on.

The program's own aircraft have theirs beside the charts. Those of a user's aircraft are kept in the
folder of the user's data, and go with an assignment. A file is only believed if it was written
whole, from these very charts, and, where it wasn't shipped with the program, by this very program:
its key is made of all of that. Anything else counts as no file, and the bank is made again.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import zlib
from collections.abc import Callable, Hashable, Mapping
from contextlib import suppress
from dataclasses import fields, is_dataclass
from functools import cache
from pathlib import Path
from types import NoneType, UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

import trainer
from trainer.assessment.items.bank import Bank
from trainer.assessment.items.item import Item
from trainer.errors import MissingFileError
from trainer.parts import program_version
from trainer.text_file import read_bytes, write_whole

FOLDER = "banks"
LARGEST_BYTES = 50_000_000
"""Of a bank, not compressed; the largest so far has a tenth of that."""
_FORMAT = "bank/2"
_NOT_READ = ("installations", "check_plans.yaml", "flight_profile.yaml")
"""What lies beside the charts and no bank follows from; other installations among it."""
_CODE = ("assessment", "charts", "flight", "lesson", "records", "session")
_TEXTS = "texts"
_Tables = dict[str, list[Any]]
_Way = Callable[[Any], Any]


def bank_path(folder: Path, installation: str) -> Path:
    """Return where the bank of an installation lies: in the user's data, or beside the charts."""
    return folder / FOLDER / f"{installation}.json.gz"


def bank_key(charts: Path, installation: Path) -> str:
    """Return the key of all that a bank follows from, as the user's data hold it.

    Args:
        charts: Folder with charts, misconceptions and aircraft.
        installation: File of the installation.
    """
    return key_of(charts, installation.stem, read_bytes(installation))


def key_of(charts: Path, installation: str, text: bytes) -> str:
    """Return the key of a bank of an installation that needn't be on the disk.

    Args:
        charts: Folder with charts, misconceptions and aircraft.
        installation: Its id.
        text: Its file.
    """
    source = _source_key(charts, installation, text)
    return hashlib.sha256(f"{source} {program_version()} {_code_key()}".encode()).hexdigest()


def shipped_key(charts: Path, installation: Path) -> str:
    """Return the key of a bank that is shipped with the program: of the files that it follows from.

    That the program makes the same bank of them today is for a test to say, not for the key: else
    any change of the code would make another file of it.
    """
    return _source_key(charts, installation.stem, read_bytes(installation))


def _source_key(charts: Path, installation: str, text: bytes) -> str:
    digest = hashlib.sha256(_FORMAT.encode())
    held = {path.relative_to(charts): path for path in charts.rglob("*.yaml")}
    for inner, path in sorted(held.items()):
        if inner.parts[0] not in _NOT_READ:
            digest.update(_plain(path.name, path.read_bytes()))
    digest.update(_plain(installation, text))
    return digest.hexdigest()


def _plain(name: str, data: bytes) -> bytes:
    """Return a file's name and text; line ends are each system's own."""
    return name.encode() + data.replace(b"\r\n", b"\n")


@cache
def _code_key() -> str:
    """Return the key of the program's own text: in a checkout its version says too little."""
    package = Path(trainer.__file__).parent
    digest = hashlib.sha256()
    for part in _CODE:
        for path in sorted((package / part).rglob("*.py")):
            digest.update(_plain(path.name, path.read_bytes()))
    return digest.hexdigest()


def write_bank(path: Path, key: str, bank: Bank) -> None:
    """Keep a bank; if that isn't possible it is made again next time."""
    with suppress(OSError, MissingFileError):
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, packed(key, bank))


def read_bank(path: Path, key: str) -> Bank | None:
    """Return the bank of a file, or None if there is none that can be believed."""
    try:
        return unpacked(path.read_bytes(), key)
    except OSError:
        return None


def packed(key: str, bank: Bank) -> bytes:
    """Return the content of a bank's file; `unpacked` is its inverse.

    Args:
        key: The key of all that the bank follows from.
        bank: The bank.
    """
    writer = _Writer()
    items = [writer.row(item) for item in bank.items]
    body = json.dumps(
        {
            "installation": bank.installation, "unexposed": bank.unexposed,
            "unseen": bank.unseen, "rejected": bank.rejected,
            "tables": writer.tables, "items": items,
        },
        separators=(",", ":"),
    )  # fmt: skip
    head = json.dumps({"key": key, "sha256": hashlib.sha256(body.encode()).hexdigest()})
    return gzip.compress(f"{head}\n{body}".encode(), compresslevel=6, mtime=0)


def unpacked(data: bytes, key: str) -> Bank | None:
    """Return the bank in a file's content, or None if it can't be believed.

    Args:
        data: The content, of whatever origin.
        key: The key that it must have been written with.
    """
    try:
        head, _, body = _inflated(data).decode().partition("\n")
        told = json.loads(head)
        if told["key"] != key or told["sha256"] != hashlib.sha256(body.encode()).hexdigest():
            return None
        held = json.loads(body)
        reader = _Reader(held["tables"])
        items = tuple(reader.item(row) for row in held["items"])
        return Bank(
            held["installation"], items, tuple(held["unexposed"]), int(held["rejected"]),
            tuple(held["unseen"]),
        )  # fmt: skip
    except (EOFError, zlib.error, ValueError, LookupError, TypeError, AttributeError):
        return None


def _inflated(data: bytes) -> bytes:
    """Return what was compressed, if it is whole and of a size that a bank can have."""
    stream = zlib.decompressobj(wbits=16 + zlib.MAX_WBITS)
    inflated = stream.decompress(data, LARGEST_BYTES)
    if not stream.eof:
        raise EOFError("cut short, or too large")
    return inflated


class _Writer:
    """Values as JSON, led by the types of the fields.

    What comes up again and again, texts and values of several fields, is written once in a table.
    """

    def __init__(self) -> None:
        self.tables: _Tables = {_TEXTS: []}
        self._texts: dict[str, int] = {}
        self._places: dict[str, int] = {}
        self._by_object: dict[int, int] = {}

    def row(self, value: Any) -> list[Any]:
        """Return the fields of a value."""
        kind: type = type(value)
        return [self._coded(hint, getattr(value, name)) for name, hint in _hints(kind).items()]

    def _coded(self, hint: Any, value: Any) -> Any:
        kind, parts = _kind(hint)
        match kind:
            case "text":
                return self._text(value)
            case "value":
                return self._shared(value)
            case "several":
                return [self._coded(parts[0], one) for one in value]
            case "unordered":
                return sorted(self._coded(parts[0], one) for one in value)
            case "each":
                return [self._coded(*pair) for pair in zip(parts, value, strict=True)]
            case "mapping":
                key, held = parts
                return [[self._coded(key, k), self._coded(held, v)] for k, v in value.items()]
            case "optional" if value is not None:
                return self._coded(parts[0], value)
        return value

    def _text(self, text: str) -> int:
        place = self._texts.setdefault(text, len(self._texts))
        if place == len(self.tables[_TEXTS]):
            self.tables[_TEXTS].append(text)
        return place

    def _shared(self, value: Any) -> int:
        place = self._by_object.get(id(value))
        if place is None:
            row = self.row(value)
            table = self.tables.setdefault(type(value).__name__, [])
            # As text, so that equal numbers of other types are told apart: 1.0 from 1 and True.
            mark = f"{type(value).__name__} {row}"
            place = self._places.setdefault(mark, len(table))
            if place == len(table):
                table.append(row)
            self._by_object[id(value)] = place
        return place


class _Reader:
    """The inverse of `_Writer`; how a type is read is worked out once."""

    def __init__(self, tables: _Tables) -> None:
        self._tables = tables
        self._known: dict[type, dict[int, Any]] = {}
        self._ways: dict[Any, _Way] = {}

    def item(self, row: list[Any]) -> Item:
        """Return an item."""
        return Item(**self._fields(Item, row))

    def _fields(self, kind: type, row: list[Any]) -> dict[str, Any]:
        return {
            name: self._way(hint)(value)
            for (name, hint), value in zip(_hints(kind).items(), row, strict=True)
        }

    def _way(self, hint: Any) -> _Way:
        way = self._ways.get(hint)
        if way is None:
            way = self._ways[hint] = self._new_way(hint)
        return way

    def _new_way(self, hint: Any) -> _Way:
        kind, parts = _kind(hint)
        if kind == "text":
            return self._tables[_TEXTS].__getitem__
        if kind == "value":
            return lambda place: self._shared(hint, place)
        ways = [self._way(part) for part in parts]
        match kind:
            case "several":
                return lambda values: tuple(map(ways[0], values))
            case "unordered":
                return lambda values: frozenset(map(ways[0], values))
            case "each":
                return lambda values: tuple(w(v) for w, v in zip(ways, values, strict=True))
            case "mapping":
                key, held = ways
                return lambda pairs: {key(k): held(v) for k, v in pairs}
            case "optional":
                return lambda value: None if value is None else ways[0](value)
        return lambda value: value

    def _shared(self, kind: type, place: int) -> Any:
        known = self._known.setdefault(kind, {})
        if place not in known:
            known[place] = kind(**self._fields(kind, self._tables[kind.__name__][place]))
        return known[place]


@cache
def _kind(hint: Hashable) -> tuple[str, tuple[Any, ...]]:
    """Return how values of a type are written, and the types of their parts."""
    origin, parts = get_origin(hint), get_args(hint)
    if hint is str:
        return "text", ()
    if isinstance(hint, type) and is_dataclass(hint):
        return "value", ()
    if origin is tuple:
        return ("several", parts[:1]) if parts[-1] is Ellipsis else ("each", parts)
    if origin is frozenset:
        return "unordered", parts
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return "mapping", parts
    if origin in (Union, UnionType):
        other = tuple(part for part in parts if part is not NoneType)
        return ("optional", other) if len(other) == 1 else ("plain", ())
    return "plain", ()


@cache
def _hints(kind: type) -> dict[str, Any]:
    hints = get_type_hints(kind)
    return {field.name: hints[field.name] for field in fields(kind)}
