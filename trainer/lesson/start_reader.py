"""Reads the `start` of a lesson or a practice situation: flight, scene, selectors, modes."""

from __future__ import annotations

from typing import Any

from trainer.document import Mapping
from trainer.flight.types import (
    Environment,
    InitialCondition,
    NavigationSource,
    Wind,
)
from trainer.session.situation import Selected, Start, StartModes

# Keys that are read only where they are written, so that `finish` wouldn't name them.
_OPTIONAL_START = ("pitch_deg", "power_percent")
_OPTIONAL_SOURCE = ("glidepath_deg",)
_SELECTED = (
    "altitude_ft", "heading_deg", "course_deg", "source", "vertical_speed_fpm", "airspeed_kt",
)  # fmt: skip


def read_start(entry: Mapping, common: tuple[NavigationSource, ...] = ()) -> Start:
    """Return the situation written in a `start` section; problems go to its document.

    Args:
        entry: The section.
        common: Navigation sources that the situation has besides its own.
    """
    initial = InitialCondition(
        altitude_ft=entry.number("altitude_ft", low=-1000, high=25000),
        heading_deg=entry.number("heading_deg", low=0, high=360),
        airspeed_kt=entry.number("airspeed_kt", low=0, high=250),
        vertical_speed_fpm=entry.number("vertical_speed_fpm", 0.0, -3000, 3000),
        bank_deg=entry.number("bank_deg", 0.0, -80, 80),
        pitch_deg=entry.number("pitch_deg", 0.0, -45, 45) if entry.has("pitch_deg") else None,
        north_nm=entry.number("north_nm", 0.0, -200, 200),
        east_nm=entry.number("east_nm", 0.0, -200, 200),
        power_percent=(
            entry.number("power_percent", 0.0, 0, 100) if entry.has("power_percent") else None
        ),
        on_ground=entry.boolean("on_ground", False),
    )
    environment = Environment(
        wind=_wind(entry),
        altimeter_setting_hpa=entry.number("altimeter_setting_hpa", 1013.25, 930, 1070),
        isa_deviation_k=entry.number("isa_deviation_c", 0.0, -60, 60),
        ground_elevation_ft=entry.number("ground_elevation_ft", 0.0, -1000, 15000),
        turbulence=entry.number("turbulence_kt", 0.0, 0, 15),
    )
    own = tuple(read_source(one) for one in entry.entries("navigation", default=()))
    sources = (*common, *own)
    selected = _selected(entry, sources)
    modes = _modes(entry)
    entry.finish(_OPTIONAL_START)
    return Start(initial, environment, modes, selected, sources)


def _wind(entry: Mapping) -> Wind:
    inner = entry.mapping("wind", None)
    if inner is None:
        return Wind()
    wind = Wind(inner.number("from_deg", low=0, high=360), inner.number("speed_kt", low=0, high=80))
    inner.finish()
    return wind


def read_source(entry: Mapping) -> NavigationSource:
    """Return the navigation source of an entry; problems go to its document."""
    kind: Any = entry.text("kind", choices=("beacon", "satellite_course", "approach"))
    has_path = entry.has("glidepath_deg")
    if has_path and kind != "approach":
        entry.problem("a glidepath on a source that is no approach", "kind: approach")
    source = NavigationSource(
        id=entry.text("id"),
        kind=kind,
        label=entry.text("label"),
        course_deg=entry.number("course_deg", low=0, high=360),
        north_nm=entry.number("north_nm", 0.0, -200, 200),
        east_nm=entry.number("east_nm", 0.0, -200, 200),
        elevation_ft=entry.number("elevation_ft", 0.0, -1000, 15000),
        glidepath_deg=entry.number("glidepath_deg", 3.0, 2, 6) if has_path else None,
        range_nm=entry.number("range_nm", 60.0, 1, 300),
    )
    entry.finish(_OPTIONAL_SOURCE)
    return source


def _selected(entry: Mapping, sources: tuple[NavigationSource, ...]) -> Selected:
    inner = entry.mapping("selected", None)
    if inner is None:
        return Selected()

    def number(key: str, low: float, high: float) -> float | None:
        return inner.number(key, low=low, high=high) if inner.has(key) else None

    selected = Selected(
        altitude_ft=number("altitude_ft", -1000, 30000),
        heading_deg=number("heading_deg", 0, 360),
        course_deg=number("course_deg", 0, 360),
        source=inner.text("source", "", choices=[s.id for s in sources])
        if inner.has("source")
        else "",
        vertical_speed_fpm=number("vertical_speed_fpm", -3000, 3000),
        airspeed_kt=number("airspeed_kt", 40, 250),
    )
    inner.finish(_SELECTED)
    return selected


def _modes(entry: Mapping) -> StartModes:
    inner = entry.mapping("modes", None)
    if inner is None:
        return StartModes()
    modes = StartModes(
        engagement=inner.text("engagement", "no_guidance"),
        lateral=inner.text("lateral", "none"),
        vertical=inner.text("vertical", "none"),
        armed=inner.texts("armed", ()),
        system=inner.text("system", "ready", choices=("ready", "testing")),
    )
    inner.finish()
    return modes
