"""Whatever a lesson file or a pack holds: a lesson, or a plain refusal; never another error."""

from __future__ import annotations

import contextlib
import io
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from trainer.app import Workspace
from trainer.document import parse_document
from trainer.errors import TrainerError
from trainer.lesson.flown import fly
from trainer.lesson.loader import read_lesson
from trainer.lesson.pack import install_pack, pack_bytes, read_pack
from trainer.lesson.prompt_reader import PROMPT_KINDS
from trainer.lesson.runner import LessonRunner
from trainer.lesson.spec import HIDEABLE
from trainer.lesson.writer import write_lesson
from trainer.resources import resource_folder
from trainer.session.selectors import SELECTORS

WORKSPACE = Workspace()
TEXTS = [path.read_text("utf-8") for path in sorted(resource_folder("lessons").glob("*.yaml"))]
RARE = ["then", "hide", "faults", "plan", "numbers", "strip", "stuck:director", "stuck:nothing",
        "slips:selected_altitude_ft", "runaway_roll_left", "servo"]  # fmt: skip
"""What no shipped lesson may happen to say."""
WORDS = sorted({word.strip("{}[],:") for text in TEXTS for word in text.split()} | set(RARE))
LESSONS = {"one.yaml": TEXTS[0].encode(), "two.yaml": TEXTS[1].encode()}
PACK = pack_bytes("A pack", LESSONS)
FEW = settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
MANY = settings(max_examples=1500, deadline=None, suppress_health_check=list(HealthCheck))

scalars = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=20),
    st.sampled_from(WORDS),
)  # fmt: skip
trees = st.recursive(
    scalars,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4), st.dictionaries(st.sampled_from(WORDS), inner, max_size=5)
    ),
    max_leaves=20,
)


def load(text):
    with contextlib.suppress(TrainerError):
        return read_lesson(parse_document(text, "fuzz.yaml"), "fuzz", WORKSPACE.charts)
    return None


@st.composite
def edited(draw):
    """A shipped lesson with a few words or lines changed, moved or dropped."""
    lines = draw(st.sampled_from(TEXTS)).splitlines()
    for _ in range(draw(st.integers(1, 4))):
        place = draw(st.integers(0, len(lines) - 1))
        match draw(st.integers(0, 4)):
            case 0:
                del lines[place]
            case 1:
                lines.insert(place, lines[draw(st.integers(0, len(lines) - 1))])
            case 2:
                word = draw(st.sampled_from(WORDS))
                parts = lines[place].split(" ")
                parts[draw(st.integers(0, len(parts) - 1))] = word
                lines[place] = " ".join(parts)
            case 3:
                lines[place] = " " * draw(st.integers(0, 8)) + lines[place].strip()
            case _:
                lines[place] += draw(st.text(max_size=8))
        if not lines:
            return ""
    return "\n".join(lines) + "\n"


def dumped(tree):
    stream = io.StringIO()
    YAML().dump(tree, stream)
    return stream.getvalue()


def test_an_edited_lesson_loads_or_is_refused():
    loaded = []

    @FEW
    @given(edited())
    def edit(text):
        loaded.append(load(text) is not None)

    edit()
    # Edits that all spoil a file, or none, would say little.
    assert 0.1 < sum(loaded) / len(loaded) < 0.9


@FEW
@given(trees)
def test_any_yaml_loads_or_is_refused(tree):
    load(dumped(tree))


@FEW
@given(st.sampled_from(TEXTS), st.lists(trees, max_size=3), st.sampled_from(PROMPT_KINDS), trees)
def test_any_steps_load_or_are_refused(text, steps, kind, tree):
    head = text[: text.index("steps:")]
    predict = {"predict": {"kind": kind, **(tree if isinstance(tree, dict) else {})}}
    load(head + dumped({"steps": [*steps, predict]}))


few_words = st.lists(st.one_of(st.sampled_from([*RARE, *HIDEABLE]), scalars), max_size=4)


@FEW
@given(st.one_of(few_words, scalars), st.one_of(few_words, scalars), st.one_of(few_words, scalars))
def test_further_keys_hidden_parts_and_faults_load_or_are_refused(then, hide, faults):
    head = TEXTS[0][: TEXTS[0].index("steps:")]
    head = head.replace("start:\n", "start:\n" + indented(dumped({"faults": faults})), 1)
    asked = {"kind": "after_key", "key": "director", "then": then, "hide": hide}
    lesson = load(head + dumped({"steps": [{"predict": asked}]}))
    if lesson is not None:
        assert set(lesson.steps[0].hide) <= set(HIDEABLE)
        again = load(write_lesson(lesson))
        assert replace(again.steps[0], line=0) == replace(lesson.steps[0], line=0)
        assert again.start == lesson.start
        run_for(lesson, 5.0)


def indented(text):
    return "".join(f"  {line}\n" for line in text.splitlines())


@pytest.mark.long
@MANY
@given(edited())
def test_many_edited_lessons_load_or_are_refused(text):
    load(text)


def run_for(lesson, seconds):
    """Fly a lesson, but not for longer than some time; refusals are told as such."""
    runner = LessonRunner(lesson, lambda: WORKSPACE.begin(lesson.installation, lesson.start))
    with contextlib.suppress(TrainerError):
        while runner.phase != "finished" and runner.session.t_s < seconds:
            if runner.phase == "asking":
                runner.commit()
            elif runner.phase == "explained":
                runner.proceed()
            else:
                runner.advance(1.0)


@pytest.mark.long
@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(edited())
def test_whatever_loads_also_flies_or_is_refused(text):
    lesson = load(text)
    if lesson is not None:
        with contextlib.suppress(TrainerError):
            run_for(lesson, 300.0)


keys = st.sampled_from([
    e.id for e in WORKSPACE.charts["ship_amber"].events.values() if e.kind == "key"
])  # fmt: skip
sets = st.sampled_from(sorted(SELECTORS)).flatmap(
    lambda name: st.floats(SELECTORS[name].low, SELECTORS[name].high).map(
        lambda value: {"set": {name: round(value, 2)}}
    )
)
plain_steps = st.one_of(
    keys.map(lambda key: {"do": key}), sets,
    st.floats(0, 5).map(lambda seconds: {"wait": round(seconds, 2)}),
    st.text("abc .,:#", min_size=1).filter(str.strip).map(lambda words: {"say": words}),
    keys.map(lambda key: {"predict": {"kind": "after_key", "key": key}}),
    st.tuples(keys, st.lists(keys, min_size=1, max_size=3), st.sets(st.sampled_from(HIDEABLE))).map(
        lambda parts: {
            "predict": {
                "kind": "after_key", "key": parts[0], "then": parts[1], "hide": sorted(parts[2])
            }
        }
    ),
)  # fmt: skip


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.lists(plain_steps, min_size=1, max_size=12))
def test_any_order_of_steps_flies_and_is_written_back_the_same(steps):
    head = TEXTS[0][: TEXTS[0].index("steps:")]
    lesson = load(head + dumped({"steps": steps}))
    assert lesson is not None
    again = load(write_lesson(lesson))
    assert [type(step) for step in again.steps] == [type(step) for step in lesson.steps]
    first, second = (
        fly(LessonRunner(one, lambda: WORKSPACE.begin("ship_amber", lesson.start)))
        for one in (lesson, again)
    )
    assert first.records == second.records


def refused_or_read(data, tmp_path):
    path = tmp_path / "fuzz.pack"
    path.write_bytes(data)
    target = tmp_path / "target"
    try:
        pack = install_pack(path, target, WORKSPACE.charts)
    except TrainerError:
        assert not target.exists()
        return
    assert {p.name for p in target.iterdir()} == set(pack.texts)
    for name in pack.texts:
        (target / name).unlink()
    target.rmdir()


@FEW
@given(st.binary(max_size=300))
def test_any_bytes_are_no_pack(tmp_path_factory, data):
    refused_or_read(data, tmp_path_factory.mktemp("pack"))


@FEW
@given(st.lists(st.tuples(st.integers(0, len(PACK) - 1), st.integers(0, 255)), max_size=6))
def test_a_damaged_pack_is_refused_or_whole(tmp_path_factory, changes):
    data = bytearray(PACK)
    for place, value in changes:
        data[place] = value
    refused_or_read(bytes(data), tmp_path_factory.mktemp("pack"))


@FEW
@given(st.integers(0, len(PACK)))
def test_a_pack_cut_short_is_refused(tmp_path_factory, length):
    refused_or_read(PACK[:length], tmp_path_factory.mktemp("pack"))


@FEW
@given(trees)
def test_any_manifest_is_read_or_refused(tmp_path_factory, tree):
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("manifest.json", dumped(tree))
        archive.writestr("one.yaml", LESSONS["one.yaml"])
    refused_or_read(stream.getvalue(), tmp_path_factory.mktemp("pack"))


def test_the_undamaged_pack_is_read(tmp_path: Path):
    path = tmp_path / "good.pack"
    path.write_bytes(PACK)
    assert len(read_pack(path, WORKSPACE.charts).lessons) == 2
