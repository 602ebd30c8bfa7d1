"""Selectors and levers: how a named value reaches the flight, and which event it raises."""

from __future__ import annotations

from dataclasses import dataclass, replace

from trainer.errors import TrainerError
from trainer.flight import FlightModel, Wind
from trainer.units import wrap_360_deg


class SelectionError(TrainerError):
    """A selector that doesn't exist, or a value that it doesn't take."""


@dataclass(frozen=True, slots=True)
class Selector:
    """A selector: its words, range and the event that turning it raises."""

    label: str
    unit: str
    low: float
    high: float
    event: str | None = None


SELECTORS: dict[str, Selector] = {
    "selected_altitude_ft": Selector(
        "Selected altitude", "ft", -1000, 30000, "selected_altitude_changed"
    ),
    "selected_heading_deg": Selector("Selected heading", "deg", 0, 360),
    "selected_course_deg": Selector("Selected course", "deg", 0, 360),
    "power_percent": Selector("Power", "%", 0, 100),
    "wind_from_deg": Selector("Wind from", "deg", 0, 360),
    "wind_speed_kt": Selector("Wind speed", "kt", 0, 80),
    "altimeter_setting_hpa": Selector("Altimeter setting", "hPa", 930, 1070),
    "turbulence_kt": Selector("Turbulence", "kt", 0, 15),
    "stick_bank": Selector("Stick, bank", "", -1, 1),
    "stick_pitch": Selector("Stick, pitch", "", -1, 1),
}

TEXT_SELECTORS = {
    "source": "Navigation source",
    "pilot": "Who flies when the servos are off: attentive or hands",
}


def apply_selection(flight: FlightModel, name: str, value: float | str) -> str | None:
    """Set a selector and return the event that it raises, if any.

    Raises:
        SelectionError: No such selector, or a value outside its range.

    Example:
        >>> from trainer.app import Workspace
        >>> from trainer.flight.types import InitialCondition
        >>> from trainer.session.situation import Start
        >>> start = Start(InitialCondition(3000.0, 90.0, 105.0))
        >>> session = Workspace().begin("ship_amber", start)
        >>> apply_selection(session.flight, "selected_altitude_ft", 5000.0)
        'selected_altitude_changed'
        >>> apply_selection(session.flight, "selected_heading_deg", 120.0)  # raises no event
    """
    if name in TEXT_SELECTORS:
        return _text(flight, name, str(value))
    selector = SELECTORS.get(name)
    if selector is None:
        known = ", ".join([*SELECTORS, *TEXT_SELECTORS])
        raise SelectionError(f"no selector '{name}'; accepted: {known}")
    if isinstance(value, str) or not selector.low <= value <= selector.high:
        raise SelectionError(
            f"{name} {value}; accepted: {selector.low:g} to {selector.high:g} {selector.unit}"
        )
    number = float(value)
    references = flight.references
    if name == "selected_altitude_ft":
        if references.selected_altitude_ft == number:
            return None
        references.selected_altitude_ft = number
    elif name == "selected_heading_deg":
        references.selected_heading_deg = wrap_360_deg(number)
    elif name == "selected_course_deg":
        references.selected_course_deg = wrap_360_deg(number)
    elif name in ("power_percent", "stick_bank", "stick_pitch"):
        setattr(flight.controls, name, number)
    else:
        _scene(flight, name, number)
    return selector.event


def _scene(flight: FlightModel, name: str, number: float) -> None:
    environment = flight.environment
    wind = environment.wind
    if name == "wind_from_deg":
        environment = replace(environment, wind=Wind(number, wind.speed_kt))
    elif name == "wind_speed_kt":
        environment = replace(environment, wind=Wind(wind.from_deg, number))
    elif name == "altimeter_setting_hpa":
        environment = replace(environment, altimeter_setting_hpa=number)
    else:
        environment = replace(environment, turbulence=number)
    flight.set_environment(environment)


def _text(flight: FlightModel, name: str, value: str) -> str | None:
    if name == "pilot":
        if value not in ("attentive", "hands"):
            raise SelectionError(f"pilot '{value}'; accepted: attentive, hands")
        flight.controls.pilot = "hands" if value == "hands" else "attentive"
        return None
    known = list(flight.sources)
    if value not in ("", *known):
        raise SelectionError(f"source '{value}'; accepted: {', '.join(known) or 'none tuned'}")
    if flight.references.source_id == value:
        return None
    flight.references.source_id = value
    flight.references.selected_course_deg = None
    return "navigation_source_changed"
