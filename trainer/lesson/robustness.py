"""Would the answers still be the same if the flight had begun a little differently?

A prompt whose answer depends on a few feet or a breath of wind has two defensible answers, and
teaches neither.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from trainer.errors import FileError
from trainer.flight.types import Wind
from trainer.lesson.flown import FlownPrompt, fly
from trainer.lesson.question import ALL_FORMS
from trainer.lesson.runner import LessonRunner
from trainer.lesson.spec import Lesson, Start
from trainer.session.session import Session
from trainer.session.situation import SituationError
from trainer.units import wrap_360_deg

Begin = Callable[[Start], Session]
"""Starts a session of the lesson's installation in a situation."""


@dataclass(frozen=True, slots=True)
class Variation:
    """A small change of the start."""

    name: str
    altitude_ft: float = 0.0
    heading_deg: float = 0.0
    airspeed_kt: float = 0.0
    wind_from_deg: float = 0.0
    wind_speed_kt: float = 0.0
    place_nm: float = 0.0
    """North, and east by the same."""


SMALL_VARIATIONS = (
    Variation("higher, faster, more wind", 15.0, 0.0, 1.5, 0.0, 2.0),
    Variation("lower, slower, wind veered, heading to the right", -15.0, 1.0, -1.5, 10.0, 1.0),
)


@dataclass(frozen=True, slots=True)
class Fragile:
    """A prompt, or a whole flight, that comes out differently."""

    variation: str
    number: int
    """The prompt's number; 0: the flight doesn't reach its end at all."""
    line: int
    what: str


def vary(start: Start, by: Variation) -> Start:
    """Return the start changed a little; what the pilot has selected stays."""
    initial = replace(
        start.initial,
        altitude_ft=start.initial.altitude_ft + by.altitude_ft,
        heading_deg=wrap_360_deg(start.initial.heading_deg + by.heading_deg),
        airspeed_kt=start.initial.airspeed_kt + by.airspeed_kt,
        north_nm=start.initial.north_nm + by.place_nm,
        east_nm=start.initial.east_nm + by.place_nm,
    )
    if start.initial.on_ground:
        initial = start.initial
    wind = start.environment.wind
    from_deg = wind.from_deg if wind.speed_kt else start.initial.heading_deg
    wind = Wind(wrap_360_deg(from_deg + by.wind_from_deg), wind.speed_kt + by.wind_speed_kt)
    return replace(start, initial=initial, environment=replace(start.environment, wind=wind))


def fragile_prompts(
    lesson: Lesson, begin: Begin, variations: tuple[Variation, ...] = SMALL_VARIATIONS
) -> tuple[Fragile, ...]:
    """Return the prompts whose answer differs when the start is varied.

    Args:
        lesson: The lesson.
        begin: Starts a session in a situation.
        variations: What to try.

    Raises:
        FileError: The lesson doesn't fly to its end even as written.
    """
    as_written = _flown(lesson, begin, lesson.start)
    found: list[Fragile] = []
    for variation in variations:
        start = vary(lesson.start, variation)
        try:
            varied = _flown(lesson, begin, start)
        except (FileError, SituationError) as error:
            found.append(Fragile(variation.name, 0, lesson.start_line, str(error)))
            continue
        found.extend(
            Fragile(variation.name, a.prompt.number, a.prompt.line, _difference(a, b))
            for a, b in zip(as_written, varied, strict=True)
            if _differ(a, b)
        )
    return tuple(found)


def _flown(lesson: Lesson, begin: Begin, start: Start) -> tuple[FlownPrompt, ...]:
    runner = LessonRunner(lesson, lambda: begin(start))
    runner.forms = ALL_FORMS
    return fly(runner).prompts


def _differ(one: FlownPrompt, other: FlownPrompt) -> bool:
    a, b = one.answer, other.answer
    if one.prompt.form == "choice":
        return a.accepted != b.accepted
    if one.prompt.form == "number":
        assert a.number is not None
        assert b.number is not None
        return abs(a.number - b.number) > a.tolerance
    refused = [any(r.refusal is not None for r in x.records) for x in (a, b)]
    return a.after != b.after or refused[0] != refused[1]


def _difference(one: FlownPrompt, other: FlownPrompt) -> str:
    a, b = one.answer, other.answer
    if one.prompt.form == "choice":
        return f"{', '.join(a.accepted)} becomes {', '.join(b.accepted)}"
    if one.prompt.form == "number":
        return f"{a.number:.0f} becomes {b.number:.0f}"
    return f"{a.after} becomes {b.after}"
