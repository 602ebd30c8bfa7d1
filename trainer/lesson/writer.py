"""Lesson -> YAML text, in the order and layout in which a person would write it.

What `loader` reads back equals what was written, but for line numbers (a test holds it).
"""

from __future__ import annotations

import io
from dataclasses import fields
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq

from trainer.flight.types import Environment, NavigationSource, Wind
from trainer.lesson.loader import FORMAT
from trainer.lesson.spec import (
    Condition,
    Do,
    Inject,
    Lesson,
    Predict,
    Say,
    Selected,
    Set,
    Start,
    StartModes,
    Step,
    Wait,
    WaitUntil,
)

_INITIAL_KEYS = (
    "vertical_speed_fpm", "bank_deg", "pitch_deg", "north_nm", "east_nm", "power_percent",
    "on_ground",
)  # fmt: skip
_INITIAL_DEFAULTS: dict[str, Any] = dict.fromkeys(_INITIAL_KEYS, 0.0) | {
    "pitch_deg": None, "power_percent": None, "on_ground": False,
}  # fmt: skip
_ENVIRONMENT_KEYS = {
    "altimeter_setting_hpa": ("altimeter_setting_hpa", 1013.25),
    "isa_deviation_k": ("isa_deviation_c", 0.0),
    "ground_elevation_ft": ("ground_elevation_ft", 0.0),
    "turbulence": ("turbulence_kt", 0.0),
    "turbulence_seed": ("turbulence_seed", 1),
    "variation_deg": ("variation_deg", 0.0),
}
_SOURCE_DEFAULTS: dict[str, Any] = {
    "north_nm": 0.0, "east_nm": 0.0, "elevation_ft": 0.0, "glidepath_deg": None, "range_nm": 60.0,
    "full_scale_deg": 12.0, "full_scale_nm": 1.0, "final_fix_nm": None, "vectors_to_final": False,
    "glidepath_range_nm": 10.0,
}  # fmt: skip
WIDTH = 160


def write_lesson(lesson: Lesson) -> str:
    """Return the lesson as YAML text."""
    top: dict[str, Any] = {"format": FORMAT, "title": lesson.title}
    if lesson.summary:
        top["summary"] = lesson.summary
    top["installation"] = lesson.installation
    top["objectives"] = list(lesson.objectives)
    if lesson.competencies:
        top["competencies"] = _flow(lesson.competencies)
    if lesson.prerequisites:
        top["prerequisites"] = _flow(lesson.prerequisites)
    top["minutes"] = _number(lesson.minutes)
    top["start"] = _start(lesson.start)
    top["steps"] = [_step(step) for step in lesson.steps]
    yaml = YAML()
    yaml.width = WIDTH
    yaml.indent(mapping=2, sequence=4, offset=2)
    stream = io.StringIO()
    yaml.dump(top, stream)
    return stream.getvalue()


def _flow(values: Any) -> Any:
    """Return a list or mapping that is written on one line."""
    if isinstance(values, dict):
        inner = CommentedMap(values)
        inner.fa.set_flow_style()
        return inner
    sequence = CommentedSeq(values)
    sequence.fa.set_flow_style()
    return sequence


def _number(value: Any) -> Any:
    """Return whole numbers as such, so that nobody reads 3000.0 ft; other values as they are."""
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return int(value)
    return value


def _start(start: Start) -> dict[str, Any]:
    initial = start.initial
    data: dict[str, Any] = {
        name: _number(getattr(initial, name))
        for name in ("altitude_ft", "heading_deg", "airspeed_kt")
    }
    for name in _INITIAL_KEYS:
        value = getattr(initial, name)
        if value != _INITIAL_DEFAULTS[name]:
            data[name] = _number(value)
    data |= _environment(start.environment)
    if start.sources:
        data["navigation"] = [_source(source) for source in start.sources]
    if start.selected != Selected():
        data["selected"] = _flow(_changed(start.selected, Selected()))
    if start.modes != StartModes():
        data["modes"] = _flow(_changed(start.modes, StartModes()))
    if start.faults:
        data["faults"] = _flow(start.faults)
    return data


def _environment(environment: Environment) -> dict[str, Any]:
    data: dict[str, Any] = {}
    for field, (key, default) in _ENVIRONMENT_KEYS.items():
        value = getattr(environment, field)
        if value != default:
            data[key] = _number(value)
    wind = environment.wind
    if wind != Wind():
        data["wind"] = _flow({"from_deg": _number(wind.from_deg),
                              "speed_kt": _number(wind.speed_kt)})  # fmt: skip
    if environment.wind_layers:
        data["wind_layers"] = [
            _values(
                (
                    ("altitude_ft", layer.altitude_ft),
                    ("from_deg", layer.wind.from_deg),
                    ("speed_kt", layer.wind.speed_kt),
                )
            )
            for layer in environment.wind_layers
        ]
    if environment.hills:
        names = [field.name for field in fields(environment.hills[0])]
        data["hills"] = [
            _values(tuple((name, getattr(hill, name)) for name in names))
            for hill in environment.hills
        ]
    return data


def _source(source: NavigationSource) -> Any:
    data: dict[str, Any] = {
        "id": source.id, "kind": source.kind, "label": source.label,
        "course_deg": _number(source.course_deg),
    }  # fmt: skip
    for name, default in _SOURCE_DEFAULTS.items():
        if getattr(source, name) != default:
            data[name] = _number(getattr(source, name))
    return _flow(data)


def _changed(value: Any, default: Any) -> dict[str, Any]:
    """Return the fields of a value that differ from the default's."""
    data = {}
    for field in fields(value):
        here = getattr(value, field.name)
        if here != getattr(default, field.name):
            data[field.name] = _flow(here) if isinstance(here, tuple) else _number(here)
    return data


def _values(pairs: tuple[tuple[str, Any], ...]) -> Any:
    return _flow({name: _number(value) for name, value in pairs})


def _condition(condition: Condition) -> dict[str, Any]:
    data = _changed(condition, Condition())
    for key in ("above", "below"):
        if key in data:
            data[key] = _values(getattr(condition, key))
    return data


def _step(step: Step) -> dict[str, Any]:
    match step:
        case Say(text):
            return {"say": text}
        case Do(event):
            return {"do": event}
        case Set(values):
            return {"set": _values(values)}
        case Wait(seconds):
            return {"wait": _number(seconds)}
        case WaitUntil(condition, within_s):
            inner = {**_condition(condition), "within_s": _number(within_s)}
            return {"wait_until": _flow(inner)}
        case Inject(fault, on):
            return {"inject" if on else "clear": fault}
        case Predict():
            return {"predict": _flow(_predict(step))}


def _predict(step: Predict) -> dict[str, Any]:
    data: dict[str, Any] = {"kind": step.kind}
    if step.key:
        data["key"] = step.key
    if step.then:
        data["then"] = _flow(step.then)
    if step.kind in ("after_time", "what_to_do"):
        data["after_s"] = _number(step.horizon_s)
    elif step.horizon_s:
        data["within_s"] = _number(step.horizon_s)
    if step.values:
        data["set"] = _values(step.values)
    if step.fault:
        data["inject"] = step.fault
    if step.shows:
        data["shows"] = _flow({
            name: content if isinstance(content, str) else _flow(content)
            for name, content in step.shows
        })  # fmt: skip
    if step.goal is not None:
        data["goal"] = _flow(_condition(step.goal))
        data["goal_words"] = step.goal_words
    data |= {"hide": _flow(step.hide)} if step.hide else {}
    data |= {"question": step.question} if step.question else {}
    return data
