"""Which controls there are and which key works each: from the chart, without Qt."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from trainer.charts.spec import ChartSpec
from trainer.ui.look.words import capitalised

GROUP_TITLES = {
    "engagement": "Engage and disconnect",
    "lateral": "Turn and course",
    "vertical": "Climb, descend, level",
    "both": "Recover and go around",
    "reference": "Nudge the reference",
}
"""In the order in which the groups are shown."""
PREFERRED_KEYS = {
    "director": "D",
    "autopilot": "A",
    "disconnect": "X",
    "manual_trim": "T",
    "hand_steering_pressed": "Z",
    "heading_select": "H",
    "course_track": "C",
    "approach": "P",
    "back_course": "B",
    "vertical_speed": "V",
    "airspeed_hold": "S",
    "altitude_hold": "E",
    "altitude_arm": "M",
    "level_recovery": "L",
    "go_around": "G",
    "reference_up": "PgUp",
    "reference_down": "PgDown",
}
SPARE_KEYS = tuple("FIJKOQRUWY") + tuple("1234567890")
_HELD = {"hand_steering_pressed": "hand_steering_released"}


@dataclass(frozen=True, slots=True)
class Control:
    """A key or button of the aircraft, as a word."""

    event: str
    label: str
    group: str
    key: str
    release_event: str = ""
    """Event when it is let go; empty for a control that is only pressed."""


@dataclass(frozen=True, slots=True)
class Selector:
    """Something turned to a value."""

    name: str
    """Name in `Session.select`."""
    label: str
    unit: str
    step: float
    big_step: float
    low: float
    high: float
    down_key: str
    up_key: str
    wraps: bool = False


SELECTORS = (
    Selector("selected_altitude_ft", "Altitude", "ft", 100, 1000, 0, 20000, "[", "]"),
    Selector("selected_heading_deg", "Heading", "deg", 1, 10, 0, 360, ",", ".", wraps=True),
    Selector("selected_course_deg", "Course", "deg", 1, 10, 0, 360, ";", "'", wraps=True),
    Selector("power_percent", "Power", "%", 5, 20, 0, 100, "Ctrl+Down", "Ctrl+Up"),
)

RESERVED = frozenset(
    {"N", "Esc", "Return", "Enter", "Tab", "Backtab", "Space"}
    | {f"F{number}" for number in range(1, 13)}
    | {selector.down_key for selector in SELECTORS}
    | {selector.up_key for selector in SELECTORS}
)
"""Keys of the window itself."""


def belongs_to_window(key: str) -> bool:
    """True for a key that no control of the aircraft can have."""
    return key in RESERVED or "+" in key.rstrip("+")


def controls_of(chart: ChartSpec, keys: Mapping[str, str] | None = None) -> tuple[Control, ...]:
    """Return the aircraft's controls in the order shown, each with a keyboard key of its own.

    Args:
        chart: The specialised chart: only what is fitted.
        keys: The user's own keys by event; the others get the usual one or a spare one.
    """
    events = [
        spec
        for spec in chart.events.values()
        if spec.kind == "key" and spec.id not in _HELD.values()
    ]
    assigned = assign_keys([spec.id for spec in events], keys or {})
    order = tuple(GROUP_TITLES)
    events.sort(key=lambda spec: order.index(spec.group))
    return tuple(
        Control(
            spec.id,
            capitalised(spec.label.removesuffix(" pressed")),
            spec.group,
            assigned[spec.id],
            _HELD.get(spec.id, ""),
        )
        for spec in events
    )


def assign_keys(events: Iterable[str], chosen: Mapping[str, str]) -> dict[str, str]:
    """Return a keyboard key for each event, no key twice: the user's, the usual, a spare one.

    Example:
        >>> assign_keys(["director", "lamp_test"], {"director": "Q"})
        {'director': 'Q', 'lamp_test': 'F'}
    """
    names = list(events)
    taken: dict[str, str] = {}
    for source in (chosen, PREFERRED_KEYS):
        for event in names:
            key = source.get(event, "")
            is_free = bool(key) and key not in taken.values() and not belongs_to_window(key)
            if event not in taken and is_free:
                taken[event] = key
    spare = (key for key in SPARE_KEYS if key not in taken.values())
    for event in names:
        if event not in taken:
            taken[event] = next(spare, "")
    return {event: taken[event] for event in names}


def turned(selector: Selector, value: float, clicks: int, *, is_big: bool = False) -> float:
    """Return a selector's value after some clicks, kept in range or wrapped round.

    A big step lands on a multiple of itself.
    """
    step = selector.big_step if is_big else selector.step
    moved = value + clicks * step
    if is_big:
        moved = round(moved / step) * step
    if selector.wraps:
        span = selector.high - selector.low
        return selector.low + (moved - selector.low) % span
    return max(selector.low, min(selector.high, moved))


def value_words(selector: Selector, value: float | None) -> str:
    """Return a selector's value as shown; a dash where none applies."""
    if value is None:
        return "—"
    if selector.unit == "deg":
        return compass_words(value)
    return f"{value:.0f} {selector.unit}"


def compass_words(angle_deg: float) -> str:
    """Return a direction in three digits; north is 360 (common practice).

    Example:
        >>> compass_words(4.6), compass_words(359.8)
        ('005', '360')
    """
    return f"{round(angle_deg) % 360 or 360:03d}"


def reference_words(vertical: str, references: Mapping[str, float]) -> str:
    """Return the reference that the nudge keys change in a vertical mode, in words."""
    match vertical:
        case "vertical_speed":
            return f"Vertical speed {references['vertical_speed_fpm']:+.0f} ft/min"
        case "airspeed_hold":
            return f"Airspeed {references['airspeed_kt']:.0f} kt"
        case "pitch_hold":
            return f"Pitch {references['pitch_deg']:+.1f} deg"
        case "altitude_hold":
            return f"Held altitude {references['held_altitude_ft']:.0f} ft"
    return "No reference in this mode"
