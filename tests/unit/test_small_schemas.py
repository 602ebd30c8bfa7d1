"""The published schemas of small files say what their loaders say, for a file spoiled anywhere."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from ruamel.yaml import YAML

from trainer.charts.flight_profile import load_profile
from trainer.charts.loader import load_chart
from trainer.errors import FileError
from trainer.flight import load_aircraft
from trainer.lesson.competency import load_competencies
from trainer.resources import resource_folder
from trainer.session.strip_design import DEFAULT_DESIGN
from trainer.session.strip_design_file import dump_strip_design, load_strip_design

ROOT = Path(__file__).resolve().parents[2] / "trainer"
CHARTS = resource_folder("statecharts")
CHART = load_chart(CHARTS / "generic.yaml")
Loader = Callable[[Path], object]
FILES: dict[str, tuple[str, Loader, list[str]]] = {
    "flight/aircraft": (
        "aircraft",
        load_aircraft,
        [path.read_text("utf-8") for path in sorted((CHARTS / "aircraft").glob("*.yaml"))],
    ),
    "session/strip_design": (
        "strip design",
        load_strip_design,
        [dump_strip_design(DEFAULT_DESIGN), "{name: Mine, words: {level: Flat}}"],
    ),
    "lesson/competencies": (
        "competencies",
        lambda path: load_competencies(path, CHART),
        [(CHARTS / "competencies.yaml").read_text("utf-8")],
    ),
    "charts/flight_profile": (
        "flight profile",
        lambda path: load_profile(path, CHART),
        [(CHARTS / "flight_profile.yaml").read_text("utf-8")],
    ),
}
WRONG_VALUES: dict[str, Any] = {
    "a number": -1e9, "empty": "", "a truth": True, "a mapping": {"nonsense": 1},
}  # fmt: skip


def validator(name: str) -> jsonschema.Draft202012Validator:
    schema = json.loads((ROOT / f"{name}.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def as_data(text: str) -> Any:
    return YAML(typ="safe", pure=True).load(text)


def is_loaded(load: Loader, data: Any, folder: Path) -> bool:
    path = folder / "file.yaml"
    path.write_text(json.dumps(data, indent=1), "utf-8")  # JSON is YAML too, and soon written
    try:
        load(path)
    except FileError:
        return False
    return True


def spoiled(data: Any) -> Iterator[tuple[str, Any]]:
    """Yield copies of a file in each of which one key is gone, added or has a wrong value."""
    for place in places(data):
        for what in ("gone", "added", *WRONG_VALUES):
            copy = deepcopy(data)
            inner = copy
            for key in place[:-1]:
                inner = inner[key]
            is_text = isinstance(inner[place[-1]], str | list)
            if what == "gone":
                del inner[place[-1]]
            elif what == "added":
                inner["nonsense"] = 1
            elif is_text and what in ("a number", "a truth"):
                continue  # a loader takes a bare number for a word
            else:
                inner[place[-1]] = WRONG_VALUES[what]
            yield f"{'.'.join(map(str, place))} {what}", copy


def places(data: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Yield the way to the first two keys of each mapping and to all of the outermost."""
    keys = list(data)
    for number, key in enumerate(keys):
        if not path or number < 2:
            yield (*path, key)
            if isinstance(data[key], dict):
                yield from places(data[key], (*path, key))


@pytest.mark.parametrize("name", FILES)
def test_what_comes_with_the_program_satisfies_its_schema(name):
    _, _, texts = FILES[name]
    for text in texts:
        validator(name).validate(as_data(text))


@pytest.mark.parametrize("name", FILES)
def test_schema_and_loader_refuse_the_same_spoiled_files(name, tmp_path):
    _, load, texts = FILES[name]
    check = validator(name)
    data = as_data(texts[0])
    assert is_loaded(load, data, tmp_path)
    refused = 0
    for words, copy in spoiled(data):
        accepted = check.is_valid(copy)
        if not accepted:
            refused += 1
            assert not is_loaded(load, copy, tmp_path), f"only the schema refuses: {words}"
        elif not by_chart(words):
            assert is_loaded(load, copy, tmp_path), f"only the loader refuses: {words}"
    assert refused > 20


def by_chart(words: str) -> bool:
    """True for what only the loader can know: names of the chart, and sums."""
    is_competency_gone = re.fullmatch(r"competencies\.\w+ gone", words)
    return (
        bool(is_competency_gone)
        or "added" in words
        or any(part in words for part in (".states", ".events", ".changes", ".ranges", ".signals"))
    )
