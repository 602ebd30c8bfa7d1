"""The words of generated lessons: narration, titles and objectives, seeded and never repeated."""

from __future__ import annotations

import random

from trainer.charts.spec import ChartSpec
from trainer.lesson.search import Action
from trainer.lesson.spec import Do, Inject, Set
from trainer.session.faults import FAULTS
from trainer.session.session import Session

_KEY = (
    "Your hand goes to the key {key}.", "Now think of the key {key}.", "You reach for {key}.",
    "Next you want to try {key}.", "{key} is the key that comes to mind.",
)  # fmt: skip
_ALTITUDE = (
    "You turn the altitude selector to {value} ft.", "The radio asks for {value} ft.",
    "You would like to be at {value} ft, and dial it in.",
)  # fmt: skip
_HEADING = ("You turn the heading selector to {value}.", "Heading {value} is asked for.")
_SOURCE = ("You tune {value}.", "Your hand is on the tuner: {value}.", "{value} is tuned next.")
_FAULT = (
    "The instructor has something in mind: {fault}.", "Then it happens: {fault}.",
    "You are told to expect this: {fault}.",
)  # fmt: skip
_MENDED = ("That is over: {fault}, no more.", "The instructor takes it back: {fault}.")
_FLYING = (
    "Fly on, and look at the strip.", "Something is about to happen.", "Let it fly for a while.",
    "Keep an eye on what is waiting.", "You watch the needles.",
)  # fmt: skip
_QUIET = ("Have a look at the strip.", "A quiet moment.", "Nothing is pressed for a while.")
_NUMBERS = ("", " once more", ", a third time", ", a fourth time", ", a fifth time")
OBJECTIVES = 4


class Words:
    """Chooses words; the same seed chooses the same."""

    def __init__(self, chance: random.Random) -> None:
        self._chance = chance
        self._titles: dict[str, int] = {}
        self._last = ""

    def title(self, title: str) -> str:
        """Return a title that no other lesson of the set has."""
        count = self._titles.get(title, 0)
        self._titles[title] = count + 1
        return title + (_NUMBERS[count] if count < len(_NUMBERS) else f", {count + 1}")

    def before(self, action: Action, session: Session) -> str:
        """Return what is said before an action."""
        match action:
            case Do(event):
                return self._pick(_KEY, key=session.installation.chart.events[event].label)
            case Set((("selected_altitude_ft", value),)):
                return self._pick(_ALTITUDE, value=f"{float(value):,.0f}")
            case Set((("selected_heading_deg", value),)):
                return self._pick(_HEADING, value=f"{float(value):03.0f}")
            case Set(((_, value),)):
                return self._pick(_SOURCE, value=session.flight.sources[str(value)].label)
            case Inject(fault, on):
                return self._pick(_FAULT if on else _MENDED, fault=FAULTS[fault].lower())
        return ""

    def flying(self, session: Session) -> str:
        """Return what is said before a change that comes by itself."""
        height = f"{session.flight.altitude_ft / 100.0:.0f}00 ft"
        return f"{self._pick(_FLYING)} You are near {height}."

    def quiet(self) -> str:
        """Return what is said when nothing happens."""
        return self._pick(_QUIET)

    @staticmethod
    def objectives(chart: ChartSpec, rules: frozenset[str]) -> tuple[str, ...]:
        """Return objectives that name the modes that the rules lead to."""
        places: dict[str, None] = {}
        for name in chart.rules:
            rule = chart.rules[name]
            region = chart.regions[rule.region]
            if name in rules and region.kind != "internal":
                places[f"Say when the strip comes to read: {region.states[rule.target].label}."] = (
                    None
                )
        if any(name in chart.refusals for name in rules):
            places["Say which key is refused, and why."] = None
        return tuple(places)[:OBJECTIVES] or ("Say what the strip reads next.",)

    def _pick(self, choices: tuple[str, ...], **values: str) -> str:
        fresh = [choice for choice in choices if choice != self._last]
        self._last = self._chance.choice(fresh)
        return self._last.format(**values)
