"""The published JSON Schemas and the loaders accept and refuse the same files."""

import io
import json
from copy import deepcopy
from pathlib import Path

import jsonschema
import pytest
from ruamel.yaml import YAML

import trainer.charts
from trainer.charts.installation import read_installation
from trainer.charts.loader import read_chart
from trainer.document import parse_document
from trainer.errors import FileError
from trainer.resources import resource_folder

FOLDER = Path(trainer.charts.__file__).parent
CHARTS = resource_folder("statecharts")
CHART = CHARTS / "generic.yaml"
INSTALLATIONS = sorted((CHARTS / "installations").glob("*.yaml"))


def plain(path: Path):
    return YAML(typ="safe", pure=True).load(path.read_text("utf-8"))


SMALL_CHART = """
format: chart/1
id: small
title: A small chart
competencies: [logic]
options:
  level: {section: 5, question: Is it fitted?, choices: {yes_: Yes., no_: No.}, default: yes_}
limits:
  bank_deg: {label: Bank limit, unit: deg, default: 30, low: 5, high: 60}
events:
  go: {label: Go, kind: key, group: lateral}
signals:
  steep: {label: bank is steep, quantity: bank_abs_deg, true_above: {limit: bank_deg}, false_below: 20}
regions:
  lateral:
    label: Lateral
    kind: active
    axis: lateral
    initial: none
    states:
      none: {label: none}
      roll_hold: {label: roll hold}
conditions:
  calm: {label: bank is not steep, when: [not steep]}
refusals:
  - {id: too_steep, section: 1, competency: logic, on: go, when: [steep], reason: Steep, because: It is steep., because_if: [{when: [steep], says: Steep it is.}], source: common practice}
rules:
  - {id: begin, section: 1, competency: logic, critical: disconnect, region: lateral, on: go, from: none, to: roll_hold, when: [calm], because: The key begins., because_if: [{on: go, in: {lateral: [none]}, says: It began.}], source: common practice}
invariants:
  - {id: fine, sentence: It is fine., if: [steep], then: [{in: {lateral: [none, roll_hold]}}], source: common practice}
"""  # noqa: E501 - a table reads best on long lines


def small():
    return YAML(typ="safe", pure=True).load(SMALL_CHART)


def validator(name: str) -> jsonschema.Draft202012Validator:
    schema = json.loads((FOLDER / name).read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def text_of(data) -> str:
    stream = io.StringIO()
    YAML(typ="safe", pure=True).dump(data, stream)
    return stream.getvalue()


def loader_accepts(data) -> bool:
    top = parse_document(text_of(data))
    try:
        if data.get("format") == "installation/1":
            read_installation(top, CHARTS)
        else:
            read_chart(top)
    except FileError:
        return False
    return True


def test_the_shipped_files_satisfy_their_schemas():
    validator("chart.schema.json").validate(plain(CHART))
    for path in INSTALLATIONS:
        validator("installation.schema.json").validate(plain(path))


# One place of each kind of mapping in the chart, as a path of keys.
PLACES = [
    (),
    ("options", "level"),
    ("limits", "bank_deg"),
    ("events", "go"),
    ("signals", "steep"),
    ("signals", "steep", "true_above"),
    ("regions", "lateral"),
    ("regions", "lateral", "states", "roll_hold"),
    ("conditions", "calm"),
    ("refusals", 0),
    ("rules", 0),
    ("refusals", 0, "because_if", 0),
    ("rules", 0, "because_if", 0),
    ("invariants", 0),
]


def test_the_small_chart_is_accepted_by_both():
    validator("chart.schema.json").validate(small())
    assert loader_accepts(small())


def at(data, path):
    for key in path:
        data = data[key]
    return data


@pytest.mark.parametrize("path", PLACES, ids=str)
def test_an_unknown_key_is_refused_by_both(path):
    data = small()
    at(data, path)["surprise"] = "x"
    assert not validator("chart.schema.json").is_valid(data)
    assert not loader_accepts(data)


def cases_of_missing_keys():
    schema = json.loads((FOLDER / "chart.schema.json").read_text("utf-8"))
    for name in schema["required"]:
        yield (), name
    for section in ("options", "limits", "events", "signals", "regions"):
        entry = next(iter(small()[section]))
        for name in schema["properties"][section]["additionalProperties"]["required"]:
            yield (section, entry), name
    for section in ("refusals", "rules", "invariants"):
        for name in schema["properties"][section]["items"]["required"]:
            yield (section, 0), name


@pytest.mark.parametrize(("path", "name"), list(cases_of_missing_keys()), ids=str)
def test_a_key_that_the_schema_requires_the_loader_requires_too(path, name):
    data = small()
    del at(data, path)[name]
    assert not validator("chart.schema.json").is_valid(data)
    assert not loader_accepts(data)


@pytest.mark.parametrize(
    "change",
    [
        {"surprise": 1},
        {"limits": {"bank_limit_deg": {"value": 20, "surprise": 1}}},
        {"limits": {"bank_limit_deg": {"state": "entered"}}},
        {"options": {"back_course": {"state": "placeholder"}}},
        {"limits": {"bank_limit_deg": "steep"}},
        {"options": {"back_course": {"choice": "fitted", "state": "certain"}}},
    ],
)
def test_an_installation_refused_by_the_schema_is_refused_by_the_loader(change):
    data = plain(INSTALLATIONS[0])
    data.update(deepcopy(change))
    assert not validator("installation.schema.json").is_valid(data)
    assert not loader_accepts(data)
