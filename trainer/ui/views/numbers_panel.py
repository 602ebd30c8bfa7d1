"""The numbers of the flight, in words and units."""

from __future__ import annotations

from typing import NamedTuple

from PySide6.QtWidgets import QFrame, QGridLayout, QWidget

from trainer.flight.types import FlightSample
from trainer.ui.look.kit import label
from trainer.ui.practice.controls import compass_words
from trainer.ui.views.plan_geometry import deviation_words
from trainer.ui.views.profile_geometry import glidepath_words

_NAMES = (
    "Altitude",
    "Vertical speed",
    "Airspeed",
    "Heading",
    "Height",
    "Ground speed",
    "Track",
    "Power",
)
"""In the order of the grid, four to a line."""


class Number(NamedTuple):
    """One number as shown."""

    name: str
    value: str
    unit: str


def numbers_of(sample: FlightSample) -> tuple[Number, ...]:
    """Return the numbers of a sample, rounded as a pilot reads them."""
    return (
        Number("Altitude", f"{round(sample.altitude_ft, -1) + 0:.0f}", "ft"),
        Number("Vertical speed", _signed(round(sample.vertical_speed_fpm / 10) * 10), "ft/min"),
        Number("Airspeed", f"{sample.airspeed_kt:.0f}", "kt"),
        Number("Heading", compass_words(sample.heading_deg), "deg"),
        Number("Height", f"{round(sample.height_ft, -1) + 0:.0f}", "ft"),
        Number("Ground speed", f"{sample.ground_speed_kt:.0f}", "kt"),
        Number("Track", compass_words(sample.track_deg), "deg"),
        Number("Power", f"{sample.power_percent:.0f}", "%"),
    )


def deviations_of(sample: FlightSample) -> str:
    """Return course and glidepath in one line of words."""
    course = deviation_words(sample.course_deviation) if sample.course_valid else "no course signal"
    if not sample.glidepath_valid:
        return course.capitalize()
    return f"{course}; {glidepath_words(sample.glidepath_deviation)}".capitalize()


class NumbersPanel(QFrame):
    """A grid of numbers; updates only what changed."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("panel")
        self.setAccessibleName("Numbers")
        grid = QGridLayout(self)
        grid.setContentsMargins(8, 4, 8, 4)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(2)
        self._values = {}
        for place, name in enumerate(_NAMES):
            row, column = divmod(place, 4)
            grid.addWidget(label(name, "quiet"), row * 2, column)
            value = label("—", "number")
            self._values[name] = value
            grid.addWidget(value, row * 2 + 1, column)
            grid.setColumnStretch(column, 1)
        self.deviations = label("", "quiet", wraps=True)
        grid.addWidget(self.deviations, 4, 0, 1, 4)

    def show_sample(self, sample: FlightSample) -> None:
        """Show the numbers of a sample."""
        for number in numbers_of(sample):
            text = f"{number.value} {number.unit}"
            widget = self._values[number.name]
            if widget.text() != text:
                widget.setText(text)
                widget.setAccessibleName(f"{number.name}: {text}")
        self.deviations.setText(deviations_of(sample))


def _signed(value: float) -> str:
    return "0" if value == 0 else f"{value:+.0f}"
