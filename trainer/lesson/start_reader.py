"""Reads the `start` of a lesson or a practice situation: flight, scene, selectors, modes."""

from __future__ import annotations

from typing import Any

from trainer.document import Mapping, near
from trainer.flight.types import (
    Environment,
    Hill,
    InitialCondition,
    NavigationSource,
    Wind,
    WindLayer,
)
from trainer.session.faults import FAULTS, SELECTOR_FAULTS, STUCK
from trainer.session.situation import Selected, Start, StartModes

# Keys that are read only where they are written, so that `finish` wouldn't name them.
_OPTIONAL_START = ("pitch_deg", "power_percent")
_OPTIONAL_SOURCE = ("glidepath_deg", "final_fix_nm")
_ONLY_FOR = {
    "full_scale_deg": "beacon",
    "full_scale_nm": "satellite_course",
    "final_fix_nm": "satellite_course",
    "vectors_to_final": "satellite_course",
    "glidepath_range_nm": "approach",
}
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
        vertical_speed_fpm=entry.number("vertical_speed_fpm", 0.0, -8000, 8000),
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
        turbulence_seed=int(entry.number("turbulence_seed", 1, 0, 1_000_000)),
        wind_layers=_wind_layers(entry),
        hills=tuple(_hill(one) for one in entry.entries("hills", default=())),
        variation_deg=_variation_deg(entry),
    )
    own = tuple(read_source(one) for one in entry.entries("navigation", default=()))
    sources = (*common, *own)
    selected = _selected(entry, sources)
    modes = _modes(entry)
    faults = _faults(entry)
    entry.finish(_OPTIONAL_START)
    return Start(initial, environment, modes, selected, sources, faults)


def _faults(entry: Mapping) -> tuple[str, ...]:
    """Return the malfunctions in force; whether a key is fitted is seen when it is flown."""
    faults = entry.texts("faults", ())
    known = (*FAULTS, *SELECTOR_FAULTS)
    for fault in faults:
        if fault not in known and not fault.startswith(STUCK):
            entry.problem(f"'{fault}'", near(fault, [*known, f"{STUCK}KEY"]), key="faults")
    return faults


def _wind(entry: Mapping) -> Wind:
    inner = entry.mapping("wind", None)
    if inner is None:
        return Wind()
    wind = Wind(inner.number("from_deg", low=0, high=360), inner.number("speed_kt", low=0, high=80))
    inner.finish()
    return wind


def _wind_layers(entry: Mapping) -> tuple[WindLayer, ...]:
    layers: list[WindLayer] = []
    for one in entry.entries("wind_layers", default=()):
        altitude_ft = one.number("altitude_ft", low=-1000, high=30000)
        wind = Wind(one.number("from_deg", low=0, high=360), one.number("speed_kt", low=0, high=80))
        one.finish()
        if layers and altitude_ft <= layers[-1].altitude_ft:
            one.problem(f"a layer at {altitude_ft:g} ft after a higher one", "lowest layer first")
        layers.append(WindLayer(altitude_ft, wind))
    return tuple(layers)


def _hill(entry: Mapping) -> Hill:
    hill = Hill(
        entry.number("north_nm", low=-200, high=200),
        entry.number("east_nm", low=-200, high=200),
        entry.number("radius_nm", low=0.1, high=50),
        entry.number("height_ft", low=0, high=15000),
    )
    entry.finish()
    return hill


def _variation_deg(entry: Mapping) -> float:
    """Return the variation that is written, or that of the place and year written instead."""
    written = entry.number("variation_deg", 0.0, -180, 180)
    place = entry.mapping("place", None)
    if place is None:
        return written
    # The magnetic model is only needed by scenes that name a place.
    from trainer.flight.magnetic import variation_deg  # noqa: PLC0415

    latitude_deg = place.number("latitude_deg", low=-90, high=90)
    longitude_deg = place.number("longitude_deg", low=-180, high=180)
    year = place.number("year", low=2015, high=2029.99)
    place.finish()
    if entry.has("variation_deg"):
        entry.problem("'place' beside 'variation_deg'", "one of the two", key="place")
    return variation_deg(latitude_deg, longitude_deg, year)


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
        full_scale_deg=entry.number("full_scale_deg", 12.0, 1, 20),
        full_scale_nm=entry.number("full_scale_nm", 1.0, 0.1, 5),
        final_fix_nm=entry.number("final_fix_nm", 5.0, 1, 20)
        if entry.has("final_fix_nm")
        else None,
        vectors_to_final=entry.boolean("vectors_to_final", False),
        glidepath_range_nm=entry.number("glidepath_range_nm", 10.0, 1, 30),
    )
    _check_scale(entry, kind)
    entry.finish(_OPTIONAL_SOURCE)
    return source


def _check_scale(entry: Mapping, kind: str) -> None:
    for key, needed in _ONLY_FOR.items():
        if entry.has(key) and kind != needed:
            entry.problem(f"'{key}' on a {kind}", f"kind: {needed}", key=key)


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
        vertical_speed_fpm=number("vertical_speed_fpm", -8000, 8000),
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
