"""Reads a `predict` step and the conditions of a lesson: every name is resolved here."""

from __future__ import annotations

from typing import Any, get_args

from trainer.charts.spec import ChartSpec
from trainer.charts.vocabulary import NUMBER_QUANTITIES
from trainer.document import Mapping, near
from trainer.lesson.spec import HIDEABLE, Condition, Predict, PromptKind
from trainer.session.annunciation import CELLS
from trainer.session.faults import FAULTS, SELECTOR_FAULTS, STUCK
from trainer.session.selectors import SELECTORS, TEXT_SELECTORS

ALTITUDE_QUANTITY = "altitude_ft"
PROMPT_KINDS: tuple[PromptKind, ...] = get_args(PromptKind)
PROMPT_KEYS = (
    "kind", "key", "then", "after_s", "within_s", "question", "set", "inject", "shows", "goal",
    "goal_words", "hide",
)  # fmt: skip
"""All keys of all kinds: what is let through where the kind itself can't be read."""
CONDITION_KEYS = ("change", "active", "armed", "engagement", "alert", "signal", "above", "below")
_KEYED = ("after_key", "is_allowed")
_TIMED = ("after_time", "what_to_do")


class PromptReader:
    """Knows the names that the lesson's installation and scene have."""

    def __init__(self, chart: ChartSpec, sources: list[str]) -> None:
        self._chart = chart
        self._sources = sources
        self.keys = [e.id for e in chart.events.values() if e.kind == "key"]
        self._modes = sorted(
            {s for r in chart.regions.values() if r.kind == "active" for s in r.states}
        )
        self._armed = sorted({r.arms for r in chart.regions.values() if r.arms})
        self._signals = list(chart.signals)
        self._contents = _cell_contents(chart)

    def predict(self, entry: Mapping, line: int) -> Predict:
        """Return the prompt of a `predict` mapping."""
        kind: Any = entry.text("kind", choices=PROMPT_KINDS)
        if kind not in PROMPT_KINDS:
            # Which keys belong to it is not known, so a key of any kind is let through.
            for odd in (name for name in entry if name not in PROMPT_KEYS):
                entry.problem(f"unknown key '{odd}'", near(odd, PROMPT_KEYS), key=odd)
            return Predict("next_change", line=line)
        key = entry.text("key", choices=self.keys) if kind in _KEYED else ""
        then = entry.texts("then", (), choices=self.keys) if kind == "after_key" else ()
        horizon_s = 0.0
        if kind in _TIMED:
            horizon_s = entry.number("after_s", low=0.1, high=1800)
        elif kind not in (*_KEYED, "after_set", "after_fault", "which_key"):
            horizon_s = entry.number("within_s", 120.0, 1, 1800)
        values = self.values(entry) if kind == "after_set" else ()
        fault = self.fault(entry, "inject") if kind == "after_fault" else ""
        shows = self._shows(entry) if kind == "which_key" else ()
        goal, goal_words = self._goal(entry) if kind == "what_to_do" else (None, "")
        question = entry.text("question", "")
        hide = entry.texts("hide", (), choices=HIDEABLE)
        entry.finish()
        return Predict(
            kind,
            key,
            horizon_s,
            " ".join(question.split()),
            line,
            shows,
            values,
            fault,
            goal,
            goal_words,
            then,
            hide,
        )

    def _goal(self, entry: Mapping) -> tuple[Condition | None, str]:
        words = " ".join(entry.text("goal_words").split())
        inner = entry.mapping("goal")
        return None if inner is None else self.condition(inner), words

    def values(self, entry: Mapping) -> tuple[tuple[str, float | str], ...]:
        """Return the selectors of a `set` mapping with their values."""
        inner = entry.mapping("set")
        before = len(entry.document.problems)
        values: list[tuple[str, float | str]] = []
        for name in inner.keys() if inner else ():
            assert inner is not None
            if name in SELECTORS:
                selector = SELECTORS[name]
                values.append((name, inner.number(name, low=selector.low, high=selector.high)))
            elif name == "source":
                values.append((name, inner.text(name, choices=self._sources)))
            elif name in TEXT_SELECTORS:
                values.append((name, inner.text(name, choices=("attentive", "hands"))))
            else:
                inner.scalar(name)
                accepted = near(name, [*SELECTORS, *TEXT_SELECTORS])
                inner.problem(f"'{name}' can't be set", accepted, key=name)
        if inner is not None and not values and _is_clean(inner, before):
            inner.problem("nothing to set", "at least one selector", key=None)
        return tuple(values)

    def fault(self, entry: Mapping, key: str) -> str:
        """Return the malfunction that a key of a mapping names."""
        keys = [f"{STUCK}{name}" for name in self.keys]
        return entry.text(key, choices=[*FAULTS, *keys, *SELECTOR_FAULTS])

    def condition(self, entry: Mapping) -> Condition:
        """Return the condition of a mapping; keys that the caller hasn't read are refused."""
        before = len(entry.document.problems)
        signal = None
        if entry.has("signal"):
            signal = entry.text("signal", "", choices=self._signals)
        condition = Condition(
            change=entry.boolean("change", False),
            active=entry.texts("active", (), choices=self._modes),
            armed=entry.texts("armed", (), choices=self._armed),
            engagement=self._state(entry, "engagement"),
            alert=self._state(entry, "alert"),
            signal=signal or None,
            above=self._bounds(entry, "above"),
            below=self._bounds(entry, "below"),
        )
        entry.finish(CONDITION_KEYS)
        if condition == Condition() and _is_clean(entry, before):
            entry.problem("nothing to wait for", "change: true, active, armed, above, below, ...")
        return condition

    def _state(self, entry: Mapping, region: str) -> str | None:
        if not entry.has(region):
            return None
        return entry.text(region, choices=self._chart.regions[region].states)

    def _bounds(self, entry: Mapping, key: str) -> tuple[tuple[str, float], ...]:
        bounds = entry.mapping(key, None)
        found = []
        for name in bounds.keys() if bounds else ():
            assert bounds is not None
            found.append((name, bounds.number(name)))
            if name not in (*NUMBER_QUANTITIES, ALTITUDE_QUANTITY):
                accepted = near(name, [ALTITUDE_QUANTITY, *NUMBER_QUANTITIES])
                bounds.problem(f"'{name}' can't be compared", accepted, key=name)
        return tuple(found)

    def _shows(self, entry: Mapping) -> tuple[tuple[str, str | tuple[str, ...]], ...]:
        inner = entry.mapping("shows")
        if inner is None:
            return ()
        before = len(inner.document.problems)
        found: list[tuple[str, str | tuple[str, ...]]] = []
        for name in CELLS:
            if not inner.has(name):
                continue
            choices = self._contents[name]
            if name.endswith("_armed"):
                found.append((name, tuple(sorted(inner.texts(name, choices=choices)))))
            else:
                found.append((name, inner.text(name, choices=choices)))
        inner.finish(CELLS)
        if not found and _is_clean(inner, before):
            inner.problem("no cell of the strip", "at least one of " + ", ".join(CELLS))
        return tuple(found)


def _is_clean(entry: Mapping, before: int) -> bool:
    """True if reading found no problem: a misspelt word is told once, not as a missing one too."""
    return len(entry.document.problems) == before


def _cell_contents(chart: ChartSpec) -> dict[str, list[str]]:
    contents: dict[str, list[str]] = {name: [] for name in CELLS}
    for region in chart.regions.values():
        states = region.states.values()
        if region.kind in ("engagement", "alert", "protection"):
            contents[region.kind].extend(state.id for state in states)
        elif region.kind == "active":
            contents[f"{region.axis}_active"].extend(state.id for state in states)
        elif region.kind == "armed":
            contents[f"{region.axis}_armed"].append(region.arms)
        contents["engagement"].extend(s.shown_as for s in states if s.shown_as)
    return contents
