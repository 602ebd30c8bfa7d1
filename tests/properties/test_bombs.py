"""Files made to do harm: each is refused at once, with its name, and nothing is written.

Alias bombs, nesting, numbers without end, names that lead elsewhere, pipes and devices, archives
that grow, guards that would take for ever. None may cost more than a few seconds or megabytes.
"""

from __future__ import annotations

import io
import json
import os
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.helpers.hunt import problem_with, time_limit
from tests.helpers.loader_targets import TARGETS, signed, workspace
from tests.unit.charts.small_chart import SMALL
from trainer.charts.loader import load_chart
from trainer.document import MAXIMUM_DEPTH
from trainer.errors import FileError, MissingFileError, TrainerError
from trainer.lesson.pack import MANIFEST, install_pack, pack_bytes
from trainer.text_file import MAXIMUM_BYTES, read_text
from trainer.ui.lesson.user_lessons import UserLessons
from trainer.ui.window.preferences import Preferences, load_preferences

MOST_S = 20.0
"""Processor time; most take a hundredth."""
LAUGHS = "a0: &a0 [x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]\n" for n in range(1, 10)
)
MERGES = "base: &b {x: 1}\n" + "".join(f"k{n}:\n  <<: *b\n" for n in range(300))
DEEP = 2 * MAXIMUM_DEPTH

YAML_BOMBS: dict[str, str] = {
    "aliases that multiply": LAUGHS,
    "aliases in a design": "name: x\nwords: &w {a: b}\nlight: *w\n",
    "merged keys": MERGES,
    "an alias to itself": "a: &a [*a]\n",
    "a few levels too many, in lists": "a: " + "[" * DEEP + "]" * DEEP,
    "ten thousand levels of lists": "a: " + "[" * 400_000,
    "ten thousand levels of mappings": "{a: " * 100_000,
    "deep by indentation": "".join(" " * n + "a:\n" for n in range(800)),
    "deep by dashes": "a:\n" + "- " * 5000 + "x",
    "keys of keys": "? " * 5000 + "x",
    "a number of many digits": f"altitude_ft: {'9' * 50_000}",
    "a fraction of many digits": f"altitude_ft: 0.{'9' * 50_000}",
    "an exponent without end": "altitude_ft: 1e99999999",
    "a sexagesimal": "altitude_ft: " + ":".join(["59"] * 5000),
    "no number": "altitude_ft: .nan\nheading_deg: .inf\n",
    "a very long key": f"{'k' * 200_000}: 1",
    "very many keys": "".join(f"k{n}: {n}\n" for n in range(4_000)),
    "very many list entries": "steps: [" + "x, " * 12_000 + "]",
    "very many anchors": "".join(f"k{n}: &a{n} {n}\n" for n in range(2_500)),
    "very many quotes": "a: " + "'" * 100_000,
    "very many tags": "a: " + "!!x " * 50_000,
    "python objects": "a: !!python/object/apply:os.system ['touch /tmp/x']",
    "an odd tag": "name: !!binary '===='",
    "a date that is none": "name: 2026-99-99",
    "control characters": "name: \x07bell",
    "no character": "name: \x00",
    "documents in a row": "---\n" * 100_000,
    "directives in a row": "%TAG ! x\n" * 20_000,
    "one line without end": "a: " + "b " * 100_000,
    "too large": "#" * (MAXIMUM_BYTES + 1),
}
YAML_TARGETS = sorted(
    name for name, target in TARGETS.items() if target.file_name.endswith(".yaml")
)


@pytest.mark.parametrize("bomb", YAML_BOMBS)
def test_a_yaml_bomb_is_refused_by_every_loader(bomb: str, tmp_path: Path) -> None:
    data = YAML_BOMBS[bomb].encode()
    for name in YAML_TARGETS if len(data) < 20_000 else ("lesson", "strip_design"):
        path = tmp_path / TARGETS[name].file_name
        path.write_bytes(data)
        with time_limit(MOST_S), pytest.raises(TrainerError) as refused:
            TARGETS[name].load(path)
        words = str(refused.value)
        assert path.name in words, name
        assert len(words) < 50_000, name
        if isinstance(refused.value, FileError):
            assert all(one.line >= 1 for one in refused.value.problems)
        assert [one.name for one in tmp_path.iterdir()] == [path.name]
        path.unlink()


JSON_BOMBS = {
    "nested lists": "[" * 100_000,
    "nested objects": '{"a":' * 100_000,
    "a whole number without end": '{"width_px": ' + "9" * 100_000 + "}",
    "a large number": json.dumps({"width_px": 10**300, "volume_percent": -(10**300)}),
    "no numbers": '{"width_px": NaN, "volume_percent": Infinity}',
    "half a character": '{"member": "\\ud800", "keys": {"\\udfff": "\\ud800"}}',
    "control characters": '{"member": "\\u0000\\u0007", "last_lesson": "a\\nb"}',
    "a long name": json.dumps({"member": "x" * 100_000}),
    "a list for an object": '{"keys": ["director"]}',
    "keys of the window": '{"keys": {"director": "Esc", "autopilot": "F1", "approach": "Ctrl+Q"}}',
}


@pytest.mark.parametrize("bomb", JSON_BOMBS)
def test_a_json_bomb_never_keeps_the_program_from_starting(bomb: str, tmp_path: Path) -> None:
    for name in ("preferences", "lesson_draft", "aircraft_draft"):
        target = TARGETS[name]
        path = tmp_path / name / target.file_name
        path.parent.mkdir()
        path.write_text(JSON_BOMBS[bomb], "utf-8")
        with time_limit(MOST_S):
            target.load(path)
    found = load_preferences(tmp_path / "preferences")
    assert found.member == Preferences().member
    assert 0 <= found.width_px <= 20_000
    assert 0 <= found.volume_percent <= 100


@pytest.mark.parametrize("bomb", JSON_BOMBS)
def test_a_json_bomb_is_refused_as_an_exchange_file(bomb: str, tmp_path: Path) -> None:
    for kind, name in (("member_card", "card"), ("assignment", "assignment")):
        for data in (JSON_BOMBS[bomb].encode(), signed(kind, JSON_BOMBS[bomb])):
            path = tmp_path / TARGETS[name].file_name
            path.write_bytes(data)
            with time_limit(MOST_S), pytest.raises(TrainerError) as refused:
                TARGETS[name].load(path)
            assert len(str(refused.value)) < 2_000


def test_a_line_of_answers_that_is_a_bomb_is_told_with_its_line(tmp_path: Path) -> None:
    target = TARGETS["answers"]
    for number, bomb in enumerate(JSON_BOMBS.values()):
        path = tmp_path / f"{number}.jsonl"
        path.write_text("\n\n" + bomb, "utf-8")
        with time_limit(MOST_S), pytest.raises(FileError) as refused:
            target.load(path)
        assert [one.line for one in refused.value.problems] == [3]


def chart_with(conditions: str, rules: str = "") -> str:
    head, _, tail = SMALL.partition("rules:\n")
    known = "conditions:\n" if "conditions:" not in head else ""
    return f"{head}{known}{conditions}rules:\n{rules}{tail}"


def condition(name: str, when: str) -> str:
    return f"  {name}: {{label: x, when: [{when}]}}\n"


GUARD_BOMBS = {
    "conditions that double": condition("c0", "high, fast")
    + "".join(condition(f"c{n}", f"c{n - 1}, c{n - 1}") for n in range(1, 60)),
    "ways that multiply": condition("w", ", ".join(["{any: [high, fast]}"] * 40)),
    "denied ways that multiply": condition("w", "{not: [{any: [{all: [high, fast]}, {all: [high, "
    + "fast]}]}]}, " + ", ".join(["not any_two"] * 1)).replace("not any_two", "high")
    + "".join(condition(f"d{n}", "{not: [" + ", ".join(["{all: [high, fast]}"] * 3)
    + "]}, {not: [{any: [" + ", ".join(["{all: [high, fast]}"] * 30) + "]}]}") for n in range(1)),
}  # fmt: skip


@pytest.mark.parametrize("bomb", GUARD_BOMBS)
def test_a_guard_without_end_is_refused_with_its_line(bomb: str, tmp_path: Path) -> None:
    path = tmp_path / "small.yaml"
    path.write_text(chart_with(GUARD_BOMBS[bomb]), "utf-8")
    with time_limit(MOST_S), pytest.raises(FileError) as refused:
        load_chart(path)
    assert any("at most 200 parts" in one.accepted for one in refused.value.problems)


def test_a_chain_of_a_thousand_rules_is_no_bomb(tmp_path: Path) -> None:
    rule = (
        "  - {{id: chain.r{0}, region: mode, on: press, from: none, to: held, because: x, source:"
        " common practice, section: 1{1}}}\n"
    )
    names = [f", before: [chain.r{n}]" for n in range(1, 900)] + [""]
    rules = "".join(rule.format(n, name) for n, name in enumerate(names))
    path = tmp_path / "small.yaml"
    path.write_text(chart_with("", rules), "utf-8")
    with time_limit(3 * MOST_S):
        outcome = problem_with(TARGETS["chart"], path.read_bytes())
    assert outcome == ""


@pytest.mark.skipif(sys.platform == "win32", reason="needs pipes and devices")
@pytest.mark.parametrize("make", [
    os.mkfifo, lambda path: path.mkdir(),
    lambda path: path.symlink_to("/dev/zero"), lambda path: path.symlink_to("/dev/stdin"),
    lambda path: path.symlink_to(path), lambda path: path.symlink_to(path.parent),
    lambda path: path.symlink_to("/nowhere/at/all"),
])  # fmt: skip
def test_what_is_no_plain_file_is_refused_without_waiting(
    make: Callable[[Path], None], tmp_path: Path
) -> None:
    for name, target in TARGETS.items():
        if "book" in name or "draft" in name:
            continue
        path = tmp_path / name / target.file_name
        path.parent.mkdir()
        make(path)
        with time_limit(MOST_S):
            if target.never_refuses:
                target.load(path)
                continue
            with pytest.raises(TrainerError) as refused:
                target.load(path)
        assert path.name in str(refused.value)


def test_a_link_to_a_plain_file_is_read(tmp_path: Path) -> None:
    real = workspace().lesson_paths[0]
    link = tmp_path / "01-linked.yaml"
    link.symlink_to(real)
    assert read_text(link) == real.read_text("utf-8")


LESSON = workspace().lesson_paths[0].read_bytes()


def zip_of(parts: dict[str, bytes], manifest: dict[str, object] | None = None) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        if manifest is not None:
            archive.writestr(MANIFEST, json.dumps(manifest))
        for name, data in parts.items():
            archive.writestr(name, data)
    return stream.getvalue()


def lying_zip() -> bytes:
    """An archive whose directory states a small size for a file that grows to 200 MB."""
    data = bytearray(zip_of({"one.yaml": b"a" * 200_000_000}, {}))
    at = data.rindex(b"PK\x01\x02", 0, data.rindex(b"PK\x05\x06"))
    data[at + 24 : at + 28] = (1000).to_bytes(4, "little")
    return bytes(data)


ODD_NAMES = ("../x.yaml", "/tmp/x.yaml", "..\\x.yaml", "C:x.yaml", "a/../../x.yaml",
             "x.yaml\x00.py",
             "con.yaml/", "é.yaml", ".yaml", "-" * 300 + ".yaml", "x.YAML", "x.py")  # fmt: skip
PACK_BOMBS: dict[str, Callable[[], bytes]] = {
    **{
        f"name {name!r:.20}": lambda name=name: pack_bytes("x", {name: LESSON})
        for name in ODD_NAMES
    },
    "a file that grows": lambda: zip_of({"one.yaml": b" " * 50_000_000}, {}),
    "a size that lies": lying_zip,
    "very many files": lambda: zip_of({f"l{n}.yaml": b"" for n in range(5000)}, {}),
    "a lesson that is an alias bomb": lambda: pack_bytes("x", {"one.yaml": LAUGHS.encode()}),
    "a manifest without end": lambda: zip_of({MANIFEST: b"[" * 400_000, "one.yaml": LESSON}),
    "no UTF-8": lambda: pack_bytes("x", {"one.yaml": b"title: \xff"}),
}


@pytest.mark.parametrize("bomb", PACK_BOMBS)
def test_a_pack_bomb_is_refused_and_nothing_is_written(bomb: str, tmp_path: Path) -> None:
    path = tmp_path / "bomb.pack"
    path.write_bytes(PACK_BOMBS[bomb]())
    with time_limit(MOST_S), pytest.raises(TrainerError) as refused:
        install_pack(path, tmp_path / "taken", workspace().charts)
    assert "bomb.pack" in str(refused.value)
    assert [one.name for one in tmp_path.iterdir()] == ["bomb.pack"]


def test_a_pack_does_not_write_through_a_link(tmp_path: Path) -> None:
    path, folder, outside = tmp_path / "good.pack", tmp_path / "taken", tmp_path / "outside.yaml"
    path.write_bytes(pack_bytes("x", {"a-lesson.yaml": LESSON, "one.yaml": LESSON}))
    folder.mkdir()
    (folder / "one.yaml").symlink_to(outside)
    with pytest.raises(MissingFileError, match="can't be written"):
        install_pack(path, folder, workspace().charts)
    assert not outside.exists()
    assert [one.name for one in folder.iterdir()] == ["one.yaml"]


def test_a_lesson_is_saved_only_among_the_users_lessons(tmp_path: Path) -> None:
    lessons = UserLessons(tmp_path)
    for title in ("../../x", "/etc/passwd", "CON", "..", "a\x00b", "x" * 5000, "\ud800"):
        path = lessons.save(lessons.free_stem(title), "format: lesson/1\n")
        assert path.parent == lessons.folder
        assert path.resolve().is_relative_to(tmp_path.resolve())
