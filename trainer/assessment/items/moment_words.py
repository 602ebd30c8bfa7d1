"""What a member is told of a flight at the moment of a question, made from the flight itself.

A scene's own words are about its beginning; with modes in place the aircraft flies on from there,
and what is told must fit the numbers and pictures beside it.
"""

from __future__ import annotations

from trainer.charts.installation import Installation
from trainer.flight.types import FlightSample, NavigationSource
from trainer.session.session import Session
from trainer.units import FT_PER_NM, M_PER_FT, M_PER_NM

_LEVEL_FPM = 75.0
"""Slower than this an aircraft is called level [ft/min]."""
_AT_FT = 25.0
"""Nearer than this it is at its altitude, or on the path [ft]."""
_NEAR_FT = 150.0
"""Nearer than this it is told how far it is from the selected altitude [ft]."""
_LOW_FT = 800.0
"""Below this the height above the ground is told [ft]."""
_ON_COURSE = 0.1
"""Nearer than this fraction of full scale it is on the course."""
_CLOSING_MPS = 10.0
"""A course that comes nearer faster than this is flown towards [m/s]."""
_EDGE = 0.98
"""Farther out than this fraction of its range a station may soon be lost."""
_NEAR_LIMIT_KT = 5.0
_BANK_DEG = 10.0
_PITCH_DEG = 11.5
_IDLE_PERCENT = 60.0
"""With less power than this no climb is to be expected soon [%]."""


def moment_words(session: Session) -> str:
    """Return where the aircraft is and what it does, in one or two sentences.

    Args:
        session: The flight at the moment of the question; it isn't touched.

    Example:
        >>> from trainer.app import Workspace
        >>> from trainer.assessment.items.scene import scenes
        >>> workspace = Workspace()
        >>> scene = scenes(workspace.installation("ship_amber"))[2]
        >>> moment_words(workspace.begin("ship_amber", scene.start))
        'Climbing at 500 ft/min through 3,200 ft; 4,000 ft is selected.'
    """
    now = session.flight.sample()
    flown, selected = _flown(now, session)
    flown = ", ".join([flown, *_unusual(now, session)]) + selected
    source = session.flight.sources.get(session.references.source_id)
    where = "" if source is None else _where(session, now, source)
    return f"{flown}. {where}".strip()


def _flown(now: FlightSample, session: Session) -> tuple[str, str]:
    """Return what it does, and the selected altitude as far as that isn't told with it."""
    rate_fpm = round(now.vertical_speed_fpm / 50.0) * 50
    altitude = _feet(now.altitude_ft)
    selected_ft = session.references.selected_altitude_ft
    off_ft = now.altitude_ft - selected_ft
    selected = f"{selected_ft:,.0f} ft"
    is_level = abs(now.vertical_speed_fpm) < _LEVEL_FPM
    how = "Climbing" if rate_fpm > 0 else "Descending"
    motion = "Level at" if is_level else f"{how} at {abs(rate_fpm):,} ft/min through"
    if abs(off_ft) <= _AT_FT and is_level:
        return f"Level at the selected altitude of {selected}", ""
    words = f"{motion} {altitude}"
    if abs(off_ft) <= _NEAR_FT:
        side = "above" if off_ft > 0.0 else "below"
        return f"{words}, {_feet(abs(off_ft))} {side} the selected {selected}", ""
    return words, f"; {selected} is selected"


def _unusual(now: FlightSample, session: Session) -> list[str]:
    """Return what a pilot would notice beyond the climb: height, airspeed, attitude, power."""
    told = []
    if now.height_ft < _LOW_FT:
        told.append(f"{_feet(now.height_ft)} above the ground")
    slow_kt, fast_kt = _speeds_kt(session.installation)
    if now.airspeed_kt < slow_kt + _NEAR_LIMIT_KT:
        told.append(f"slow, {now.airspeed_kt:.0f} kt")
    elif now.airspeed_kt > fast_kt - _NEAR_LIMIT_KT:
        told.append(f"fast, {now.airspeed_kt:.0f} kt")
    if abs(now.bank_deg) >= _BANK_DEG:
        told.append(f"in a bank of {abs(now.bank_deg):.0f} degrees")
    if abs(now.pitch_deg) >= _PITCH_DEG:
        side = "up" if now.pitch_deg > 0.0 else "down"
        told.append(f"the nose {abs(now.pitch_deg):.0f} degrees {side}")
    going_around = session.annunciation.vertical.active == "go_around"
    if going_around and now.power_percent < _IDLE_PERCENT:
        told.append(f"the power still at {now.power_percent:.0f} %")
    return told


def _speeds_kt(fit: Installation) -> tuple[float, float]:
    low = ("underspeed_kt", "minimum_engagement_airspeed_kt")
    high = ("overspeed_kt", "maximum_engagement_airspeed_kt")
    return (
        min(fit.limits[name].value for name in low if name in fit.limits),
        max(fit.limits[name].value for name in high if name in fit.limits),
    )


def _where(session: Session, now: FlightSample, source: NavigationSource) -> str:
    """Return where the aircraft is on or beside the course and path of the source in use."""
    nav = session.flight.navigation()
    name = _course_name(source, is_behind=nav.along_m > 0.0)
    course = _course(session, now, name)
    if source.range_nm and now.distance_nm > _EDGE * source.range_nm:
        course += ", at the edge of its range"
    if not nav.glidepath_valid:
        has_none = source.kind == "approach" and source.glidepath_deg is None
        return f"{course}{', which has no glidepath' if has_none else ''}."
    off_ft = nav.glidepath_error_m / M_PER_FT
    if abs(off_ft) <= _AT_FT:
        return f"{course}, on the glidepath."
    side = "above" if off_ft > 0.0 else "below"
    return f"{course}, {_feet(abs(off_ft))} {side} the glidepath."


def _course(session: Session, now: FlightSample, name: str) -> str:
    nav = session.flight.navigation()
    if nav.valid and abs(nav.deviation) <= _ON_COURSE:
        return f"On {name}"
    side = "right" if nav.cross_m > 0.0 else "left"
    off_nm = abs(nav.cross_m) / M_PER_NM
    off = f"{off_nm:.1f} miles" if off_nm >= 0.1 else f"{off_nm * FT_PER_NM:,.0f} ft"
    words = f"{off} {side} of {name}"
    if nav.cross_m * nav.cross_rate_mps < 0.0 and abs(nav.cross_rate_mps) > _CLOSING_MPS:
        return f"{words}, heading {round(now.heading_deg) % 360 or 360:03d} towards it"
    return words


def _course_name(source: NavigationSource, *, is_behind: bool) -> str:
    """Return a source's course in words; its own name drops the word that is said already."""
    if source.kind == "approach":
        place = source.label.removeprefix("Approach ").removeprefix("Course ")
        return f"the approach course of {place}"
    return f"the course {'from' if is_behind else 'to'} {source.label}"


def _feet(value_ft: float) -> str:
    return f"{round(value_ft / 10.0) * 10:,} ft"
