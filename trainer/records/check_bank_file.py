"""An item bank on the disk, since computing one takes the better part of a minute.

The file is only believed if it was written whole, by this very program, from these very charts:
its key is made of all of that. Anything else counts as no file, and the bank is computed again.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import os
import zlib
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import fields, is_dataclass
from functools import cache
from pathlib import Path
from types import NoneType, UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

import trainer
from trainer.assessment.items.bank import Bank
from trainer.assessment.items.item import Item
from trainer.parts import program_version

FOLDER = "banks"
_FORMAT = "bank/1"
_CODE = ("assessment", "charts", "flight", "lesson", "records", "session")
_Tables = dict[str, list[list[Any]]]


def bank_path(folder: Path, installation: str) -> Path:
    """Return where the bank of an installation lies in the folder of the user's data."""
    return folder / FOLDER / f"{installation}.json.gz"


def bank_key(charts: Path, installation: Path) -> str:
    """Return the key of all that a bank follows from.

    Args:
        charts: Folder with charts, misconceptions and aircraft.
        installation: File of the installation.
    """
    digest = hashlib.sha256(f"{_FORMAT} {program_version()} {_code_key()}".encode())
    for path in [*sorted(charts.rglob("*.yaml")), installation]:
        digest.update(path.name.encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()


@cache
def _code_key() -> str:
    """Return the key of the program's own text: in a checkout its version says too little."""
    package = Path(trainer.__file__).parent
    digest = hashlib.sha256()
    for part in _CODE:
        for path in sorted((package / part).rglob("*.py")):
            digest.update(path.name.encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()


def write_bank(path: Path, key: str, bank: Bank) -> None:
    """Keep a bank; if that isn't possible it is computed again next time."""
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
    draft = path.with_name(f"{path.name}.{os.getpid()}.tmp")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        draft.write_bytes(gzip.compress(f"{head}\n{body}".encode(), compresslevel=4, mtime=0))
        draft.replace(path)
    except OSError:
        with suppress(OSError):
            draft.unlink(missing_ok=True)


def read_bank(path: Path, key: str) -> Bank | None:
    """Return the bank of a file, or None if there is none that can be believed."""
    try:
        head, _, body = gzip.decompress(path.read_bytes()).decode().partition("\n")
        told = json.loads(head)
        if told["key"] != key or told["sha256"] != hashlib.sha256(body.encode()).hexdigest():
            return None
        data = json.loads(body)
        reader = _Reader(data["tables"])
        items = tuple(reader.item(row) for row in data["items"])
        return Bank(
            data["installation"], items, tuple(data["unexposed"]), int(data["rejected"]),
            tuple(data["unseen"]),
        )  # fmt: skip
    except (OSError, EOFError, zlib.error, ValueError, LookupError, TypeError, AttributeError):
        return None


class _Writer:
    """Values as JSON; what comes up again and again, above all strips, is written once."""

    def __init__(self) -> None:
        self.tables: _Tables = {}
        self._place: dict[Any, int] = {}

    def row(self, one: Any) -> list[Any]:
        """Return the fields of a value."""
        return [self._value(getattr(one, field.name)) for field in fields(one)]

    def _value(self, value: Any) -> Any:
        if is_dataclass(value):
            return self._shared(value)
        if isinstance(value, Mapping):
            return [[self._value(k), self._value(v)] for k, v in value.items()]
        if isinstance(value, frozenset):
            return sorted(value)
        if isinstance(value, tuple):
            return [self._value(one) for one in value]
        return value

    def _shared(self, value: Any) -> int:
        # Equal numbers of other types are told apart: 1.0 isn't written as 1 or True.
        mark = (type(value), repr(value))
        if mark not in self._place:
            table = self.tables.setdefault(type(value).__name__, [])
            row = self.row(value)
            self._place[mark] = len(table)
            table.append(row)
        return self._place[mark]


class _Reader:
    """The inverse of `_Writer`, led by the types of the fields."""

    def __init__(self, tables: _Tables) -> None:
        self._tables = tables
        self._known: dict[tuple[type, int], Any] = {}

    def item(self, row: list[Any]) -> Item:
        """Return an item."""
        return Item(**self._fields(Item, row))

    def _fields(self, kind: type, row: list[Any]) -> dict[str, Any]:
        hints = _hints(kind)
        return {
            name: self._value(hint, value)
            for (name, hint), value in zip(hints.items(), row, strict=True)
        }

    def _value(self, hint: Any, value: Any) -> Any:
        if isinstance(hint, type) and is_dataclass(hint):
            return self._shared(hint, value)
        arguments = get_args(hint)
        match get_origin(hint):
            case origin if origin is tuple:
                return tuple(self._value(h, v) for h, v in _typed(arguments, value))
            case origin if origin is frozenset:
                return frozenset(value)
            case origin if isinstance(origin, type) and issubclass(origin, Mapping):
                return {self._value(arguments[0], k): self._value(arguments[1], v)
                        for k, v in value}  # fmt: skip
            case origin if origin in (Union, UnionType) and value is not None:
                return self._value(next(a for a in arguments if a is not NoneType), value)
        return value

    def _shared(self, kind: type, place: int) -> Any:
        if (kind, place) not in self._known:
            row = self._tables[kind.__name__][place]
            self._known[kind, place] = kind(**self._fields(kind, row))
        return self._known[kind, place]


def _typed(arguments: tuple[Any, ...], values: list[Any]) -> Iterable[tuple[Any, Any]]:
    if len(arguments) == 2 and arguments[1] is Ellipsis:
        return ((arguments[0], value) for value in values)
    return zip(arguments, values, strict=True)


@cache
def _hints(kind: type) -> dict[str, Any]:
    hints = get_type_hints(kind)
    return {field.name: hints[field.name] for field in fields(kind)}
