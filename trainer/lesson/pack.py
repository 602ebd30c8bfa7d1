"""Lesson packs: lessons in one file, to be passed on, with the aircraft of one's own that they fly.

A pack is a zip with `manifest.json` and the lesson files beside it. Importing checks all of it
(sizes, names, hashes, every aircraft and lesson) before anything is written; then all lessons are
written or none. All of it is data: nothing in a pack is ever run.
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

from trainer.charts.carried import Carried, OwnAircraft
from trainer.charts.spec import ChartSpec
from trainer.document import parse_document
from trainer.errors import MissingFileError, TrainerError
from trainer.lesson.loader import read_lesson
from trainer.lesson.spec import Lesson
from trainer.text_file import MAXIMUM_BYTES, read_bytes, write_whole

FORMAT = "lesson-pack/1"
MANIFEST = "manifest.json"
MAXIMUM_LESSONS = 200
MAXIMUM_INSTALLATIONS = 20
MAXIMUM_PACK_BYTES = 20_000_000
_NAME = re.compile(r"[a-z0-9][a-z0-9_-]{0,80}\.yaml")
_INSTALLATION = re.compile(r"installations/([A-Za-z0-9][A-Za-z0-9_-]{0,80})\.yaml")
_MANIFEST_KEYS = {"format", "title", "lessons", "installations"}
# Only there if an aircraft is: a pack without one reads in programs from before.
_LIST_KEYS = ("lessons", "installations")
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
    aircraft: tuple[Carried, ...] = ()
    """The aircraft that it brings, each flown by a lesson."""

    @property
    def replacing(self) -> tuple[Carried, ...]:
        """The aircraft that would take the place of the user's own."""
        return tuple(one for one in self.aircraft if one.standing == "replaces")


def write_pack(
    title: str,
    lessons: Iterable[Path],
    target: Path,
    installations: Mapping[str, str] | None = None,
) -> None:
    """Write a pack of lesson files.

    Args:
        title: Title of the pack.
        lessons: The lesson files.
        target: The pack.
        installations: Id -> file as text, of the aircraft that the lessons fly; an empty text, for
            an aircraft of the program, isn't packed.

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
    own = {name: text.encode() for name, text in (installations or {}).items() if text}
    write_whole(target, pack_bytes(title, texts, own))


def pack_bytes(
    title: str, texts: Mapping[str, bytes], installations: Mapping[str, bytes] | None = None
) -> bytes:
    """Return the bytes of a pack; equal for equal content.

    Args:
        title: Title of the pack.
        texts: File name -> lesson.
        installations: Id -> installation file.

    Example:
        >>> pack_bytes("First steps", {"a.yaml": b"format: lesson/1"})[:2]  # a zip
        b'PK'
    """
    own = {f"installations/{name}.yaml": data for name, data in (installations or {}).items()}
    manifest: dict[str, Any] = {"format": FORMAT, "title": title, "lessons": _entries(texts)}
    if own:
        manifest["installations"] = _entries(own)
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        parts = {MANIFEST: json.dumps(manifest, indent=1).encode()}
        parts |= dict(sorted(texts.items())) | dict(sorted(own.items()))
        for name, data in parts.items():
            archive.writestr(zipfile.ZipInfo(name, _NO_TIME), data, zipfile.ZIP_DEFLATED)
    return stream.getvalue()


def _entries(files: Mapping[str, bytes]) -> list[dict[str, Any]]:
    return [
        {"file": name, "sha256": hashlib.sha256(files[name]).hexdigest(), "bytes": len(files[name])}
        for name in sorted(files)
    ]


def read_pack(path: Path, charts: dict[str, ChartSpec], own: OwnAircraft | None = None) -> Pack:
    """Return a pack after checking everything in it.

    Args:
        path: The pack.
        charts: Specialised chart of each installation, by installation id.
        own: Where an aircraft that it brings is put; None: a pack with one is refused.

    Raises:
        PackError: The pack isn't accepted; the message says why.
        CarriedError: An aircraft in it can't be taken.
        FileError: A lesson or an aircraft in it isn't accepted.
        MissingFileError: The file can't be read.
    """
    data = read_bytes(path, MAXIMUM_PACK_BYTES, "a lesson pack")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            title, texts, installations = _unpack(archive, path)
    except _DAMAGE as error:
        raise PackError(f"{path}: no lesson pack ({error}); accepted: a zip made here") from error
    if installations and own is None:
        raise PackError(f"{path}: brings aircraft, and there is nowhere to put them")
    aircraft = tuple(
        own.look(name, text, str(path)) for name, text in installations.items() if own is not None
    )
    charts = charts | {one.installation.id: one.installation.chart for one in aircraft}
    lessons = tuple(_lesson(path, name, text, charts) for name, text in texts.items())
    unused = set(installations) - {one.installation for one in lessons}
    if unused:
        names = ", ".join(sorted(unused))
        raise PackError(f"{path}: no lesson flies {names}; accepted: aircraft of its lessons")
    return Pack(title, texts, lessons, aircraft)


def _lesson(path: Path, name: str, text: str, charts: dict[str, ChartSpec]) -> Lesson:
    where = f"{path}!{name}"
    flown = parse_document(text, where).text("installation", "")
    if flown and flown not in charts:
        raise PackError(
            f"{where}: flies '{flown}', which is neither on this computer nor in the pack; ask"
            f" for a pack made anew, which brings it, or put the file {flown}.yaml of whoever made"
            " it into the folder 'installations' of your data folder"
        )
    return read_lesson(parse_document(text, where), Path(name).stem, charts)


def install_pack(
    path: Path,
    folder: Path,
    charts: dict[str, ChartSpec],
    own: OwnAircraft | None = None,
    *,
    may_replace: bool = False,
) -> Pack:
    """Check a pack, put its aircraft among the user's own, and write its lessons; all, or none.

    Args:
        path: The pack.
        folder: Folder for the lessons.
        charts: Specialised chart of each installation, by installation id.
        own: Where its aircraft are put; None: a pack with one is refused.
        may_replace: An aircraft may take the place of one of the user's, which is kept.

    Raises:
        PackError: The pack isn't accepted, a lesson of the same name is there already with other
            content, or an aircraft would replace one and may not.
        CarriedError: An aircraft in it can't be taken.
        FileError: A lesson or an aircraft in it isn't accepted.
        MissingFileError: The pack can't be read, or a folder can't be written.
    """
    pack = read_pack(path, charts, own)
    if pack.replacing and not may_replace:
        raise PackError(f"{path}: {'; '.join(one.words for one in pack.replacing)}: not allowed")
    for name, text in pack.texts.items():
        there = folder / name
        if there.exists() and read_bytes(there) != text.encode():
            raise PackError(f"{there} is there already and differs; accepted: a name of its own")
    for one in pack.aircraft:
        one.put()  # first: a lesson without its aircraft can't be flown, the reverse does no harm
    _write_lessons(pack, folder)
    return pack


def _write_lessons(pack: Pack, folder: Path) -> None:
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


def _unpack(archive: zipfile.ZipFile, path: Path) -> tuple[str, dict[str, str], dict[str, str]]:
    """Return title, lessons by file name, and installations by id."""
    names = _checked_names(archive.infolist(), path)
    title, entries = _manifest(_read(archive, MANIFEST, path), path)
    if sorted(entries) != sorted(set(names) - {MANIFEST}):
        raise PackError(f"{path}: manifest and files differ; accepted: exactly the listed files")
    texts: dict[str, str] = {}
    installations: dict[str, str] = {}
    for name, entry in entries.items():
        data = _read(archive, name, path)
        digest = hashlib.sha256(data).hexdigest()
        if len(data) != entry["bytes"] or digest != entry["sha256"]:
            raise PackError(f"{path}: {name} isn't what the manifest says; accepted: its hash")
        if found := _INSTALLATION.fullmatch(name):
            installations[found[1]] = data.decode("utf-8")
        else:
            texts[name] = data.decode("utf-8")
    return title, texts, installations


def _checked_names(infos: list[zipfile.ZipInfo], path: Path) -> list[str]:
    names = [info.filename for info in infos]
    aircraft = sum(name.startswith("installations/") for name in names)
    if aircraft > MAXIMUM_INSTALLATIONS:
        most = f"at most {MAXIMUM_INSTALLATIONS} aircraft"
        raise PackError(f"{path}: {aircraft} aircraft; accepted: {most}")
    if len(infos) - aircraft > MAXIMUM_LESSONS + 1:
        raise PackError(f"{path}: {len(infos)} files; accepted: at most {MAXIMUM_LESSONS} lessons")
    if len(set(names)) != len(names):
        raise PackError(f"{path}: a name twice; accepted: each name once")
    for info in infos:
        forms = (_NAME, _INSTALLATION)
        if info.filename != MANIFEST and not any(one.fullmatch(info.filename) for one in forms):
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
    given = {"installations": [], **manifest} if isinstance(manifest, dict) else {}
    if set(given) != _MANIFEST_KEYS:
        raise PackError(f"{where}: other keys; accepted: {', '.join(sorted(_MANIFEST_KEYS))}")
    title, lists = manifest["title"], [given[key] for key in _LIST_KEYS]
    if manifest["format"] != FORMAT:
        raise PackError(f"{where}: format {manifest['format']!r:.60}; accepted: {FORMAT}")
    if not isinstance(title, str) or not all(isinstance(one, list) for one in lists):
        raise PackError(f"{where}: title or lessons; accepted: a text and a list")
    found: dict[str, dict[str, Any]] = {}
    for entry in (entry for entries in lists for entry in entries):
        if not isinstance(entry, dict) or set(entry) != _ENTRY_KEYS:
            raise PackError(f"{where}: a lesson's keys; accepted: {', '.join(sorted(_ENTRY_KEYS))}")
        if not isinstance(entry["file"], str) or entry["file"] in found:
            raise PackError(f"{where}: a lesson's file; accepted: each name once")
        found[entry["file"]] = entry
    return title, found
