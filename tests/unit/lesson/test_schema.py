"""The published JSON Schema says what the loader says: same keys, same kinds, same verdicts."""

from __future__ import annotations

import json
import re
from pathlib import Path

import jsonschema
import pytest
from ruamel.yaml import YAML

import trainer.lesson
from trainer.errors import FileError
from trainer.lesson.loader import LESSON_KEYS, STEP_KEYS
from trainer.lesson.prompt_reader import PROMPT_KINDS
from trainer.resources import resource_folder
from trainer.session.annunciation import CELLS
from trainer.session.selectors import SELECTORS, TEXT_SELECTORS

SCHEMA = json.loads(
    (Path(trainer.lesson.__file__).parent / "lesson.schema.json").read_text("utf-8")
)
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)
PATHS = sorted(resource_folder("lessons").glob("*.yaml"))


def as_data(text):
    return YAML(typ="safe", pure=True).load(text)


def test_the_schema_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_shipped_lessons_satisfy_the_schema(path):
    VALIDATOR.validate(as_data(path.read_text("utf-8")))


def test_keys_and_kinds_are_the_loaders():
    assert set(SCHEMA["properties"]) == set(LESSON_KEYS)
    steps = SCHEMA["properties"]["steps"]["items"]["oneOf"]
    assert {key for step in steps for key in step["properties"]} == set(STEP_KEYS)
    prompts = next(s for s in steps if "predict" in s["properties"])["properties"]["predict"]
    kinds = [one["properties"]["kind"]["const"] for one in prompts["oneOf"]]
    assert kinds == list(PROMPT_KINDS)
    assert set(SCHEMA["$defs"]["values"]["properties"]) == {*SELECTORS, *TEXT_SELECTORS}
    which = next(
        one for one in prompts["oneOf"] if one["properties"]["kind"]["const"] == "which_key"
    )
    assert set(which["properties"]["shows"]["properties"]) == set(CELLS)


START = SCHEMA["properties"]["start"]["properties"]


@pytest.mark.parametrize(
    ("place", "properties"),
    [
        ("altitude_ft: 3000\n", START),
        ("selected: {altitude_ft: 3000, ", START["selected"]["properties"]),
        ("- {id: quillmoor, ", SCHEMA["$defs"]["source"]["properties"]),
    ],
)
def test_the_loader_accepts_exactly_the_keys_of_the_start(read, text, place, properties):
    # An unknown key makes the loader list all the keys that it knows.
    new = place + ("nonsense: 1, " if place.startswith(("sel", "-")) else "  nonsense: 1\n")
    start = text.index("start:")
    with pytest.raises(FileError) as caught:
        read(text[:start] + text[start:].replace(place, new, 1))
    assert listed_keys(caught.value.problems) == set(properties)


def listed_keys(problems):
    """The keys that the one complaint, about a key `nonsense`, calls accepted."""
    (problem,) = problems
    assert problem.found == "unknown key 'nonsense'"
    return set(re.sub(r"^.*\? \((.*)\)$", r"\1", problem.accepted).split(", "))


STEPS = SCHEMA["properties"]["steps"]["items"]["oneOf"]
PROMPTS = next(s for s in STEPS if "predict" in s["properties"])["properties"]["predict"]["oneOf"]
NEEDED = {
    "key": "director",
    "set": "{selected_altitude_ft: 4000}",
    "inject": "servo",
    "after_s": "5",
    "shows": "{lateral_active: roll_hold}",
    "goal": "{change: true}",
    "goal_words": "something changes",
}


@pytest.mark.parametrize("prompt", PROMPTS, ids=lambda one: one["properties"]["kind"]["const"])
def test_the_reader_accepts_exactly_the_keys_of_a_kind_of_prompt(read, with_steps, prompt):
    kind = prompt["properties"]["kind"]["const"]
    needed = [f"{key}: {NEEDED[key]}" for key in prompt["required"] if key != "kind"]
    written = ", ".join([f"kind: {kind}", *needed])
    read(with_steps(f"  - predict: {{{written}}}\n"))
    with pytest.raises(FileError) as caught:
        read(with_steps(f"  - predict: {{{written}, nonsense: 1}}\n"))
    assert listed_keys(caught.value.problems) == set(prompt["properties"])


def test_where_the_kind_is_unknown_a_key_of_any_kind_is_let_through(read, with_steps):
    every = {key for one in PROMPTS for key in one["properties"]}
    written = "".join(f", {key}: 1" for key in sorted(every - {"kind"}))
    with pytest.raises(FileError) as caught:
        read(with_steps(f"  - predict: {{kind: riddle{written}, nonsense: 1}}\n"))
    wrong, *unknown = caught.value.problems
    assert wrong.found == "'riddle'"
    assert listed_keys(unknown) == every


@pytest.mark.parametrize(
    ("step", "more"),
    [
        ("wait_until: {change: true, nonsense: 1}", {"within_s"}),
        ("predict: {kind: what_to_do, after_s: 5, goal_words: up, goal: {armed: [], nonsense: 1}}",
         set()),
    ],
)  # fmt: skip
def test_the_reader_accepts_exactly_the_keys_of_a_condition(read, with_steps, step, more):
    with pytest.raises(FileError) as caught:
        read(with_steps(f"  - {step}\n"))
    assert (
        listed_keys(caught.value.problems) == set(SCHEMA["$defs"]["condition"]["properties"]) | more
    )


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("altitude_ft: 3000\n", "altitude_ft: high\n"),
        ("heading_deg: 90\n", "heading_deg: 900\n"),
        ("kind: beacon", "kind: lighthouse"),
        ("wait: 2", "wait: -2"),
        ("say: You fly by hand.", "sya: You fly by hand."),
        ("kind: after_key, key: director", "kind: after_key"),
        ("kind: after_key, key: director", "kind: next_change, answer: director"),
        ("set: {selected_altitude_ft: 4000}", "set: {selected_altitude_ft: 99000}"),
        ("set: {selected_altitude_ft: 4000}", "set: {}"),
        ("objectives: [Say what the director key does.]", "objectives: []"),
        ("lesson/1", "lesson/2"),
    ],
)
def test_what_the_schema_refuses_the_loader_refuses_too(read, text, old, new):
    broken = text.replace(old, new)
    assert broken != text
    assert not VALIDATOR.is_valid(as_data(broken))
    with pytest.raises(FileError):
        read(broken)
