"""Lesson packs: lessons in one file, to be passed on.

A pack is a zip with `manifest.json` and the lesson files beside it. Importing checks all of it
(sizes, names, hashes, every lesson) before anything is written; then all lessons are written or
none. Lessons are data: nothing in a pack is ever run.
"""

from __future__ import annotations

import hashlib
import io
import json
import re
import zipfile
import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from trainer.charts.spec import ChartSpec
from trainer.document import parse_document
from trainer.errors import MissingFileError, TrainerError
from trainer.lesson.loader import read_lesson
from trainer.lesson.spec import Lesson
from trainer.text_file import MAXIMUM_BYTES, read_bytes

FORMAT = "lesson-pack/1"
MANIFEST = "manifest.json"
MAXIMUM_LESSONS = 200
MAXIMUM_PACK_BYTES = 20_000_000
_NAME = re.compile(r"[a-z0-9][a-z0-9_-]{0,80}\.yaml")
_MANIFEST_KEYS = {"format", "title", "lessons"}
_ENTRY_KEYS = {"file", "sha256", "bytes"}
# By these zipfile tells damage, encryption and methods that it doesn't know.
_DAMAGE = (
    zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, ValueError,
)  # fmt: skip
# The same bytes for the same lessons: a zip without times of day.
_NO_TIME = (1980, 1, 1, 0, 0, 0)


class PackError(TrainerError):
    """A pack that isn't accepted; nothing has been written."""


@dataclass(frozen=True, slots=True)
class Pack:
    """A checked pack."""

    title: str
    texts: Mapping[str, str]
    """File name -> text of the lesson."""
    lessons: tuple[Lesson, ...]


def write_pack(title: str, lessons: Iterable[Path], target: Path) -> None:
    """Write a pack of lesson files.

    Raises:
        PackError: A file's name isn't accepted, or two have the same.
        MissingFileError: A lesson can't be read, or the pack can't be written.
    """
    texts: dict[str, bytes] = {}
    for path in lessons:
        if not _NAME.fullmatch(path.name):
            raise PackError(f"'{path.name}'; accepted: lower-case letters, digits, - _ and .yaml")
        if path.name in texts:
            raise PackError(f"'{path.name}' twice; accepted: each name once")
        texts[path.name] = read_bytes(path)
    try:
        target.write_bytes(pack_bytes(title, texts))
    except OSError as error:
        raise MissingFileError(target, f"can't be written ({error.strerror})") from error


def pack_bytes(title: str, texts: Mapping[str, bytes]) -> bytes:
    """Return the bytes of a pack; equal for equal content.

    Example:
        >>> pack_bytes("First steps", {"a.yaml": b"format: lesson/1"})[:2]  # a zip
        b'PK'
    """
    entries = [
        {"file": name, "sha256": hashlib.sha256(texts[name]).hexdigest(), "bytes": len(texts[name])}
        for name in sorted(texts)
    ]
    manifest = {"format": FORMAT, "title": title, "lessons": entries}
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        parts = {MANIFEST: json.dumps(manifest, indent=1).encode()} | dict(sorted(texts.items()))
        for name, data in parts.items():
            archive.writestr(zipfile.ZipInfo(name, _NO_TIME), data, zipfile.ZIP_DEFLATED)
    return stream.getvalue()


def read_pack(path: Path, charts: dict[str, ChartSpec]) -> Pack:
    """Return a pack after checking everything in it.

    Args:
        path: The pack.
        charts: Specialised chart of each installation, by installation id.

    Raises:
        PackError: The pack isn't accepted; the message says why.
        FileError: A lesson in it isn't accepted.
        MissingFileError: The file can't be read.
    """
    data = read_bytes(path, MAXIMUM_PACK_BYTES, "a lesson pack")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            title, texts = _unpack(archive, path)
    except _DAMAGE as error:
        raise PackError(f"{path}: no lesson pack ({error}); accepted: a zip made here") from error
    lessons = tuple(
        read_lesson(parse_document(text, f"{path}!{name}"), Path(name).stem, charts)
        for name, text in texts.items()
    )
    return Pack(title, texts, lessons)


def install_pack(path: Path, folder: Path, charts: dict[str, ChartSpec]) -> Pack:
    """Check a pack and write its lessons into a folder; all of them, or none.

    Raises:
        PackError: The pack isn't accepted, or a lesson of the same name is there already with
            other content.
        FileError: A lesson in it isn't accepted.
        MissingFileError: The pack can't be read, or the folder can't be written.
    """
    pack = read_pack(path, charts)
    for name, text in pack.texts.items():
        there = folder / name
        if there.exists() and read_bytes(there) != text.encode():
            raise PackError(f"{there} is there already and differs; accepted: a name of its own")
    written: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in pack.texts.items():
            if not (folder / name).exists():
                # 'x' follows no link: one that leads nowhere must not be written through.
                with (folder / name).open("xb") as stream:
                    written.append(folder / name)
                    stream.write(text.encode())
    except OSError as error:
        for one in written:
            one.unlink(missing_ok=True)
        raise MissingFileError(folder, f"can't be written ({error.strerror})") from error
    return pack


def _unpack(archive: zipfile.ZipFile, path: Path) -> tuple[str, dict[str, str]]:
    names = _checked_names(archive.infolist(), path)
    title, entries = _manifest(_read(archive, MANIFEST, path), path)
    if sorted(entries) != sorted(set(names) - {MANIFEST}):
        raise PackError(f"{path}: manifest and files differ; accepted: exactly the listed files")
    texts = {}
    for name, entry in entries.items():
        data = _read(archive, name, path)
        digest = hashlib.sha256(data).hexdigest()
        if len(data) != entry["bytes"] or digest != entry["sha256"]:
            raise PackError(f"{path}: {name} isn't what the manifest says; accepted: its hash")
        texts[name] = data.decode("utf-8")
    return title, texts


def _checked_names(infos: list[zipfile.ZipInfo], path: Path) -> list[str]:
    names = [info.filename for info in infos]
    if len(infos) > MAXIMUM_LESSONS + 1:
        raise PackError(f"{path}: {len(infos)} files; accepted: at most {MAXIMUM_LESSONS} lessons")
    if len(set(names)) != len(names):
        raise PackError(f"{path}: a name twice; accepted: each name once")
    for info in infos:
        if info.filename != MANIFEST and not _NAME.fullmatch(info.filename):
            raise PackError(f"{path}: file name '{info.filename}'; accepted: a plain NAME.yaml")
        if info.file_size > MAXIMUM_BYTES:
            raise PackError(f"{path}: {info.filename} has {info.file_size} bytes; accepted: at "
                            f"most {MAXIMUM_BYTES}")  # fmt: skip
    if sum(info.file_size for info in infos) > MAXIMUM_PACK_BYTES:
        raise PackError(f"{path}: too large unpacked; accepted: {MAXIMUM_PACK_BYTES} bytes")
    if MANIFEST not in names:
        raise PackError(f"{path}: no {MANIFEST}; accepted: a zip with one")
    return names


def _read(archive: zipfile.ZipFile, name: str, path: Path) -> bytes:
    """Return one file's bytes without trusting the size that the zip states."""
    with archive.open(name) as stream:
        data = stream.read(MAXIMUM_BYTES + 1)
    if len(data) > MAXIMUM_BYTES:
        raise PackError(f"{path}: {name} is too large; accepted: at most {MAXIMUM_BYTES} bytes")
    return data


def _manifest(data: bytes, path: Path) -> tuple[str, dict[str, dict[str, Any]]]:
    where = f"{path}!{MANIFEST}"
    try:
        manifest = json.loads(data)
    except (ValueError, RecursionError) as error:
        raise PackError(f"{where}: no JSON ({error}); accepted: a manifest") from error
    if not isinstance(manifest, dict) or set(manifest) != _MANIFEST_KEYS:
        raise PackError(f"{where}: other keys; accepted: {', '.join(sorted(_MANIFEST_KEYS))}")
    title, entries = manifest["title"], manifest["lessons"]
    if manifest["format"] != FORMAT:
        raise PackError(f"{where}: format {manifest['format']!r:.60}; accepted: {FORMAT}")
    if not isinstance(title, str) or not isinstance(entries, list):
        raise PackError(f"{where}: title or lessons; accepted: a text and a list")
    found: dict[str, dict[str, Any]] = {}
    for entry in entries:
        if not isinstance(entry, dict) or set(entry) != _ENTRY_KEYS:
            raise PackError(f"{where}: a lesson's keys; accepted: {', '.join(sorted(_ENTRY_KEYS))}")
        if not isinstance(entry["file"], str) or entry["file"] in found:
            raise PackError(f"{where}: a lesson's file; accepted: each name once")
        found[entry["file"]] = entry
    return title, found
