"""A path of the exploration written as a lesson, so that what it found can be flown and seen.

Signals that the script can cause become steps of it (a fault, a selector); others are waited
for, and the narration says so.
"""

from __future__ import annotations

import io
from typing import Any

from ruamel.yaml import YAML

from trainer.charts.explore import Edge, Violation
from trainer.charts.machine import AUTOMATIC

# Signals that an instructor can bring about: signal -> (fault, value of the signal while it lasts).
_FAULTS = {
    "servo_ok": "servo",
    "attitude_valid": "attitude",
    "electrical_ok": "electrical",
    "course_signal_valid": "navigation",
    "glidepath_signal_valid": "glidepath",
}
_WAIT_S = 600.0


def lesson_from_path(installation: str, violation: Violation) -> str:
    """Return a lesson's text that follows the path and asks what comes at its end."""
    steps: list[dict[str, Any]] = [{"say": f"This shows where a rule fails. {_words(violation)}"}]
    names = violation.all_signals
    for edge in violation.path:
        steps.extend(_steps(edge, names))
    steps.append({"predict": {"kind": "after_time", "after_s": 5}})
    lesson = {
        "format": "lesson/1",
        "title": f"Violation of {violation.invariant.id}",
        "installation": installation,
        "objectives": [violation.invariant.sentence],
        "start": {
            "altitude_ft": 3000,
            "heading_deg": 0,
            "airspeed_kt": 105,
            "modes": {"system": "testing"},
            "selected": {"source": "approach"},
            "navigation": [
                {
                    "id": "approach",
                    "kind": "approach",
                    "label": "Esterwick approach",
                    "course_deg": 0,
                    "north_nm": 10,
                    "glidepath_deg": 3,
                }
            ],
        },
        "steps": steps,
    }
    stream = io.StringIO()
    YAML().dump(lesson, stream)
    return stream.getvalue()


def _words(violation: Violation) -> str:
    signals = ", ".join(violation.signals) or "none"
    return f"{violation.invariant.sentence} Signals true at the end: {signals}."


def _steps(edge: Edge, names: tuple[str, ...]) -> list[dict[str, Any]]:
    steps: list[dict[str, Any]] = []
    true, false = edge.cube
    for bit, name in enumerate(names):
        fault = _FAULTS.get(name)
        if fault is not None and (true | false) >> bit & 1:
            steps.append({"inject" if false >> bit & 1 else "clear": fault})
        elif true >> bit & 1:
            steps.append({"wait_until": {"signal": name, "within_s": _WAIT_S}})
    if edge.event != AUTOMATIC:
        steps.append(_SELECTED.get(edge.event, {"do": edge.event}))
    return steps


_SELECTED: dict[str, dict[str, Any]] = {
    "selected_altitude_changed": {"set": {"selected_altitude_ft": 4500}},
    "navigation_source_changed": {"set": {"source": ""}},
    "station_changed": {"set": {"source": ""}},
}
