"""Lesson packs: the round trip, and everything that is refused, with nothing written."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile

import pytest

from trainer.app import Workspace
from trainer.charts.carried import CarriedError, OwnAircraft
from trainer.errors import FileError, MissingFileError
from trainer.lesson.pack import (
    MANIFEST,
    PackError,
    install_pack,
    pack_bytes,
    read_pack,
    write_pack,
)


@pytest.fixture
def lessons(tmp_path, text):
    folder = tmp_path / "mine"
    folder.mkdir()
    for name in ("one", "two"):
        (folder / f"{name}.yaml").write_text(text.replace("A short one", name), "utf-8")
    return sorted(folder.glob("*.yaml"))


@pytest.fixture
def pack(tmp_path, lessons):
    path = tmp_path / "club.pack"
    write_pack("Club lessons", lessons, path)
    return path


def rebuilt(pack, change):
    """Write the pack anew after a change of its parts (name -> bytes, in order)."""
    with zipfile.ZipFile(pack) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    change(parts)
    with zipfile.ZipFile(pack, "w") as archive:
        for name, data in parts.items():
            archive.writestr(name, data)


def relisted(parts):
    """Make the manifest fit the parts again."""
    manifest = json.loads(parts[MANIFEST])
    manifest["lessons"] = [
        {"file": name, "sha256": hashlib.sha256(data).hexdigest(), "bytes": len(data)}
        for name, data in parts.items()
        if name != MANIFEST
    ]
    parts[MANIFEST] = json.dumps(manifest).encode()


def test_a_pack_is_written_read_and_installed(tmp_path, pack, lessons, workspace):
    read = read_pack(pack, workspace.charts)
    assert read.title == "Club lessons"
    assert [lesson.id for lesson in read.lessons] == ["one", "two"]
    target = tmp_path / "new" / "lessons"
    install_pack(pack, target, workspace.charts)
    assert sorted(p.name for p in target.iterdir()) == ["one.yaml", "two.yaml"]
    for path in lessons:
        assert (target / path.name).read_bytes() == path.read_bytes()
    # A second time nothing differs, so nothing is refused.
    install_pack(pack, target, workspace.charts)


def test_the_same_lessons_make_the_same_bytes(lessons):
    texts = {path.name: path.read_bytes() for path in lessons}
    assert pack_bytes("A", texts) == pack_bytes("A", dict(reversed(list(texts.items()))))


def test_a_lesson_that_is_there_already_and_differs_stops_all(tmp_path, pack, workspace):
    target = tmp_path / "there"
    target.mkdir()
    (target / "two.yaml").write_text("my own", "utf-8")
    with pytest.raises(PackError, match="is there already and differs"):
        install_pack(pack, target, workspace.charts)
    assert [p.name for p in target.iterdir()] == ["two.yaml"]
    assert (target / "two.yaml").read_text("utf-8") == "my own"


def changed_lesson(parts):
    parts["one.yaml"] += b"# changed\n"


def climbing_name(parts):
    parts["../evil.yaml"] = parts.pop("one.yaml")
    relisted(parts)


def absolute_name(parts):
    parts["/evil.yaml"] = parts.pop("one.yaml")
    relisted(parts)


def program_inside(parts):
    parts["run.py"] = b"print(1)"
    relisted(parts)


def unlisted_file(parts):
    parts["three.yaml"] = parts["one.yaml"]


def no_manifest(parts):
    del parts[MANIFEST]


def manifest_no_json(parts):
    parts[MANIFEST] = b"{"


def manifest_other_keys(parts):
    parts[MANIFEST] = b"{}"


def manifest_other_format(parts):
    parts[MANIFEST] = parts[MANIFEST].replace(b"lesson-pack/1", b"lesson-pack/7")


def too_many(parts):
    for number in range(205):
        parts[f"l{number}.yaml"] = b"x"
    relisted(parts)


def too_large(parts):
    parts["one.yaml"] = b" " * 1_000_001
    relisted(parts)


def not_text(parts):
    parts["one.yaml"] = b"\xff\xfe"
    relisted(parts)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (changed_lesson, "isn't what the manifest says"),
        (climbing_name, "file name '../evil.yaml'"),
        (absolute_name, "file name '/evil.yaml'"),
        (program_inside, "file name 'run.py'"),
        (unlisted_file, "manifest and files differ"),
        (no_manifest, "no manifest.json"),
        (manifest_no_json, "no JSON"),
        (manifest_other_keys, "other keys"),
        (manifest_other_format, "accepted: lesson-pack/1"),
        (too_many, "accepted: at most 200 lessons"),
        (too_large, "has 1000001 bytes"),
        (not_text, "no lesson pack"),
    ],
)
def test_what_is_refused_writes_nothing(tmp_path, pack, workspace, change, words):
    rebuilt(pack, change)
    target = tmp_path / "target"
    with pytest.raises(PackError, match=words):
        install_pack(pack, target, workspace.charts)
    assert not target.exists()
    assert not (tmp_path / "evil.yaml").exists()


def test_a_broken_lesson_in_a_pack_is_told_with_its_place(tmp_path, pack, workspace):
    def broken(parts):
        parts["two.yaml"] = parts["two.yaml"].replace(b"key: director", b"key: directer")
        relisted(parts)

    rebuilt(pack, broken)
    target = tmp_path / "target"
    with pytest.raises(FileError, match=r"club.pack!two.yaml:15:\d+: 'directer'"):
        install_pack(pack, target, workspace.charts)
    assert not target.exists()


def test_no_zip_and_no_file_are_told(tmp_path, workspace):
    path = tmp_path / "no.pack"
    with pytest.raises(MissingFileError):
        read_pack(path, workspace.charts)
    path.write_bytes(b"hello")
    with pytest.raises(PackError, match="no lesson pack"):
        read_pack(path, workspace.charts)


def test_a_zip_that_grows_without_bound_is_refused_early(tmp_path, pack, workspace):
    # 60 files of 400 kB of blanks pack to a few kB each.
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for number in range(60):
            archive.writestr(f"l{number}.yaml", b" " * 400_000)
    pack.write_bytes(stream.getvalue())
    with pytest.raises(PackError, match="too large unpacked"):
        read_pack(pack, workspace.charts)


def test_names_are_checked_when_packing(tmp_path, text):
    path = tmp_path / "My Lesson.yaml"
    path.write_text(text, "utf-8")
    with pytest.raises(PackError, match=r"'My Lesson\.yaml'"):
        write_pack("x", [path], tmp_path / "x.pack")
    assert not (tmp_path / "x.pack").exists()


PLOVER = (
    "format: installation/1\nid: ship_plover\ntitle: Ship Plover\nchart: generic\n"
    "aircraft: light_single\noptions: {}\nlimits: {}\n"
)
INSIDE = "installations/ship_plover.yaml"


@pytest.fixture
def own(tmp_path, workspace):
    return OwnAircraft(workspace.charts_folder, tmp_path / "data" / "installations")


@pytest.fixture
def plover_pack(tmp_path, text):
    """A pack of a lesson in an aircraft that no program brings, with that aircraft."""
    lesson = tmp_path / "over-there.yaml"
    lesson.write_text(text.replace("ship_amber", "ship_plover"), "utf-8")
    assert "ship_plover" in lesson.read_text("utf-8")
    path = tmp_path / "plover.pack"
    write_pack("Plover", [lesson], path, {"ship_plover": PLOVER, "ship_amber": ""})
    return path


def test_a_pack_brings_the_aircraft_that_its_lessons_fly(tmp_path, plover_pack, workspace, own):
    target = tmp_path / "target"
    pack = install_pack(plover_pack, target, workspace.charts, own)
    assert [(one.installation.id, one.standing) for one in pack.aircraft] == [
        ("ship_plover", "new")
    ]
    assert (own.folder / "ship_plover.yaml").read_text("utf-8") == PLOVER
    assert (target / "over-there.yaml").exists()
    assert pack.lessons[0].installation == "ship_plover"


def test_a_pack_replaces_an_aircraft_only_if_it_may(tmp_path, plover_pack, workspace, own):
    mine = PLOVER.replace("Ship Plover", "Mine")
    own.folder.mkdir(parents=True)
    (own.folder / "ship_plover.yaml").write_text(mine, "utf-8")
    target = tmp_path / "target"
    with pytest.raises(PackError, match="takes the place of your own"):
        install_pack(plover_pack, target, workspace.charts, own)
    assert not target.exists()
    assert (own.folder / "ship_plover.yaml").read_text("utf-8") == mine
    install_pack(plover_pack, target, workspace.charts, own, may_replace=True)
    assert (own.folder / "ship_plover.yaml").read_text("utf-8") == PLOVER
    assert (own.folder / "replaced" / "ship_plover-1.yaml").read_text("utf-8") == mine


def test_a_pack_of_program_aircraft_reads_in_a_program_from_before(pack):
    with zipfile.ZipFile(pack) as archive:
        assert set(json.loads(archive.read(MANIFEST))) == {"format", "title", "lessons"}


def listed(parts):
    """Make the manifest fit the parts again, aircraft and lessons each in their list."""
    manifest = json.loads(parts[MANIFEST])
    for key in ("lessons", "installations"):
        manifest[key] = [
            {"file": name, "sha256": hashlib.sha256(data).hexdigest(), "bytes": len(data)}
            for name, data in parts.items()
            if name != MANIFEST and name.startswith("installations/") == (key == "installations")
        ]
    parts[MANIFEST] = json.dumps(manifest).encode()


def edited_aircraft(parts):
    parts[INSIDE] += b"# changed\n"


def climbing_aircraft(parts):
    parts["installations/../../evil.yaml"] = parts.pop(INSIDE)
    listed(parts)


def other_id(parts):
    parts["installations/ship_plover2.yaml"] = parts[INSIDE]
    listed(parts)


def no_aircraft(parts):
    parts[INSIDE] = parts["over-there.yaml"]
    listed(parts)


def ship_of_the_program(parts):
    parts["installations/ship_amber.yaml"] = parts[INSIDE].replace(b"ship_plover", b"ship_amber")
    listed(parts)


def flown_by_none(parts):
    parts["installations/other.yaml"] = parts[INSIDE].replace(b"ship_plover", b"other")
    listed(parts)


def left_out(parts):
    del parts[INSIDE]
    listed(parts)


def many_aircraft(parts):
    for number in range(21):
        parts[f"installations/a{number}.yaml"] = parts[INSIDE]
    listed(parts)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (edited_aircraft, "isn't what the manifest says"),
        (climbing_aircraft, "file name 'installations/../../evil.yaml'"),
        (other_id, "accepted: 'ship_plover2'"),
        (no_aircraft, "installation/1"),
        (ship_of_the_program, "is an aircraft of this program"),
        (flown_by_none, "no lesson flies other"),
        (left_out, "neither on this computer nor in the pack"),
        (many_aircraft, "accepted: at most 20 aircraft"),
    ],
)
def test_an_aircraft_that_is_refused_writes_nothing(tmp_path, plover_pack, own, change, words):
    rebuilt(plover_pack, change)
    with pytest.raises((PackError, CarriedError, FileError), match=words):
        install_pack(plover_pack, tmp_path / "target", Workspace().charts, own)
    assert not (tmp_path / "target").exists()
    assert not own.folder.exists()
    assert list(tmp_path.rglob("evil.yaml")) == []


def test_a_pack_with_an_aircraft_needs_a_place_for_it(plover_pack, workspace):
    with pytest.raises(PackError, match="nowhere to put"):
        read_pack(plover_pack, workspace.charts)
