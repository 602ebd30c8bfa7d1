"""What changes for a member who knows one ship and is to fly another: one page, as a value.

Every sentence about what a ship does rests on a flight that the row keeps: what it says is read
off that flight's strips. What is called seamless was compared in full and found the same.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from trainer.assessment.differences.differences import (
    FlownDifference,
    FlownSide,
    Group,
    marked_cause_words,
)
from trainer.assessment.differences.differences_lesson import change_words, short_titles
from trainer.charts.compare import Comparison
from trainer.charts.installation import Installation
from trainer.charts.kernel import AUTOMATIC
from trainer.charts.provenance import NOT_FOR_USE, values_words
from trainer.lesson.spec import Predict
from trainer.records.board import counted
from trainer.report.page import CAUTION, footer_words
from trainer.report.wording import cell_words
from trainer.session.annunciation import Annunciation

MOST_ROWS = 10
"""Differences with strips that one page has room for; further ones get a line."""
_MINI_CELLS = ("engagement", "lateral", "vertical")


@dataclass(frozen=True, slots=True)
class MiniCell:
    """One cell of a small strip: what is active, what is armed, and whether the ships part here."""

    active: str
    armed: str
    differs: bool = False


@dataclass(frozen=True, slots=True)
class MiniStrip:
    """A strip small enough that three stand side by side."""

    title: str
    cells: tuple[MiniCell, ...]
    alert: str
    """Alert and speed protection in words; empty if there is neither."""
    alert_differs: bool = False


@dataclass(frozen=True, slots=True)
class BriefedDifference:
    """One cause with the flight that shows it.

    Attributes:
        heading: What differs, as a question or a limit's name.
        choices: What holds in the first ship and in the second.
        sentence: What was flown, and what both ships did.
        often: How often it is met, in words.
        strips: Before, after in the first ship, after in the second.
        trace: Where the sentence comes from: the start and the rules that fired.
        flown: The flight itself.
    """

    heading: str
    choices: tuple[str, str]
    sentence: str
    often: str
    strips: tuple[MiniStrip, ...]
    trace: str
    flown: FlownDifference


@dataclass(frozen=True, slots=True)
class Briefing:
    """The page.

    Attributes:
        further: Differences without strips here: too many for the page, or no flight found.
        values: What reads alike but differs in how it flies or what is fitted.
        seamless: What was shown to be the same; empty if nothing was.
        proof: How much was compared.
    """

    title: str
    subtitle: str
    names: tuple[str, str]
    rows: tuple[BriefedDifference, ...]
    further: tuple[str, ...]
    values: tuple[str, ...]
    seamless: str
    proof: str
    made_utc: str
    program_version: str
    unsigned: str = ""
    """How many values of each ship no instructor has signed; empty: all are."""
    caution: str = CAUTION

    @property
    def footer(self) -> str:
        """What stands at the foot of the page."""
        return footer_words(self.made_utc, self.program_version)

    def to_json(self) -> dict[str, Any]:
        """Return the page as JSON values, for the typesetter."""
        rows = [
            {
                "heading": row.heading, "choices": list(row.choices), "sentence": row.sentence,
                "often": row.often, "trace": row.trace,
                "strips": [asdict(strip) for strip in row.strips],
            }
            for row in self.rows
        ]  # fmt: skip
        return {
            "title": self.title, "subtitle": self.subtitle, "names": list(self.names),
            "rows": rows, "further": list(self.further), "values": list(self.values),
            "seamless": self.seamless, "proof": self.proof, "caution": self.caution,
            "footer": self.footer, "unsigned": self.unsigned,
        }  # fmt: skip


def build_briefing(
    found: Comparison,
    groups: Sequence[Group],
    ships: tuple[Installation, Installation],
    *,
    made_utc: str,
    program_version: str,
) -> Briefing:
    """Return the briefing.

    Args:
        found: The product search.
        groups: Its differences by cause, the gravest first, with their flights.
        ships: The ship that is known and the other.
        made_utc: This moment, from the caller's clock.
        program_version: For the footer.
    """
    writer = _Writer(ships)
    shown = [group for group in groups if group.flown][:MOST_ROWS]
    further = writer.lines(shown, [group for group in groups if group not in shown])
    told = {cause for group in groups for cause in group.causes}
    values = tuple(
        writer.value(value.cause) for value in found.values if not writer.is_told(value.cause, told)
    )
    return Briefing(
        f"From {writer.names[0]} to {writer.names[1]}",
        f"What changes for a member who knows {ships[0].title}, in {ships[1].title}",
        writer.names,
        tuple(writer.row(group) for group in shown),
        further,
        values,
        writer.seamless(found),
        writer.proof(found, groups),
        made_utc,
        program_version,
        _unsigned(ships),
    )


def _unsigned(ships: tuple[Installation, Installation]) -> str:
    """Return how many values of each ship aren't signed; empty if all are."""
    counts = [words for words in map(values_words, ships) if words]
    return f"{'; '.join(counts)}. Each is marked: {NOT_FOR_USE}." if counts else ""


class _Writer:
    """Words for one pair of ships."""

    def __init__(self, ships: tuple[Installation, Installation]) -> None:
        self._ships = ships
        self.names = short_titles(*ships)
        self._label: Callable[[str], str] = ships[0].generic.mode_label
        self._labels = {
            state: self._label(state)
            for region in ships[0].generic.regions.values()
            for one in region.states.values()
            for state in (one.id, one.shown_as, region.arms)
            if state
        }

    def row(self, group: Group) -> BriefedDifference:
        """Return the row of a cause, by its gravest flown example."""
        one = group.flown[0]
        heading, mine, theirs = marked_cause_words(group.causes[0], *self._ships)
        for cause in group.causes[1:]:
            more = marked_cause_words(cause, *self._ships)
            mine, theirs = f"{mine} {more[0]}: {more[1]}", f"{theirs} {more[0]}: {more[2]}"
        return BriefedDifference(
            heading, (mine, theirs), self.sentence(one), _often(group.per_hundred_flights),
            self._strips(one), self._trace(one), one,
        )  # fmt: skip

    def sentence(self, one: FlownDifference) -> str:
        """Return what was flown and what both ships did, read off the flight."""
        sides = [
            f"{name} {self._did(one.before, side)}"
            for name, side in zip(self.names, (one.first, one.second), strict=True)
        ]
        pressed = "".join(f" After the key {self._key(key)}:" for key in one.situation.presses)
        return f"{one.situation.words}{pressed} {self._action(one.stimulus)}: {'; '.join(sides)}."

    def _did(self, before: Annunciation, side: FlownSide) -> str:
        if side.refusal:
            return f"refuses it ({side.refusal[0].lower()}{side.refusal[1:].rstrip('.')})"
        changes = change_words(before, side.after, self._label)
        return "reads " + ", ".join(changes) if changes else "changes nothing"

    def _action(self, stimulus: Predict) -> str:
        if stimulus.kind == "after_key":
            return f"Press {self._key(stimulus.key)}"
        if stimulus.kind == "after_set":
            name, value = stimulus.values[0]
            is_altitude = name == "selected_altitude_ft"
            return f"Select {value:,.0f} ft" if is_altitude else "Change the navigation source"
        return f"Wait {stimulus.horizon_s:.0f} seconds"

    def _key(self, event: str) -> str:
        return self._ships[0].generic.events[event].label

    def _strips(self, one: FlownDifference) -> tuple[MiniStrip, ...]:
        sides = (one.first.after, one.second.after)
        return (
            self._strip("Before, in both", one.before, one.before),
            self._strip(self.names[0], sides[0], sides[1]),
            self._strip(self.names[1], sides[1], sides[0]),
        )

    def _strip(self, title: str, shown: Annunciation, other: Annunciation) -> MiniStrip:
        cells = []
        for name in _MINI_CELLS:
            parts = [name] if name == "engagement" else [f"{name}_active", f"{name}_armed"]
            words = [cell_words(shown, part, self._labels) for part in parts]
            armed = words[1] if len(words) > 1 and words[1] != "–" else ""
            differs = any(shown.cell(part) != other.cell(part) for part in parts)
            cells.append(MiniCell(words[0], armed, differs))
        extra = [cell_words(shown, part, self._labels) for part in ("alert", "protection")]
        differs = (shown.alert, shown.protection) != (other.alert, other.protection)
        return MiniStrip(title, tuple(cells), ", ".join(w for w in extra if w != "–"), differs)

    def _trace(self, one: FlownDifference) -> str:
        sides = [
            f"{name} {' > '.join(side.rules) or 'no rule'}"
            for name, side in zip(self.names, (one.first, one.second), strict=True)
        ]
        return f"Flown: {one.situation.id}; {'; '.join(sides)}"

    def lines(self, shown: Sequence[Group], further: Sequence[Group]) -> tuple[str, ...]:
        """Return a line for each cause without a row; what is told above goes by its number."""
        numbers: dict[str, str] = {}
        for number, group in enumerate(shown, 1):
            for cause in group.causes:
                numbers.setdefault(cause, str(number))
        lines = []
        for group in further:
            lines.append(self._line(group, numbers))
            for cause in group.causes:
                # Told once: a later line names it by what it is, without what holds where.
                numbers.setdefault(cause, "")
        return tuple(lines)

    def _line(self, group: Group, numbers: Mapping[str, str]) -> str:
        parts = [self.value(cause) for cause in group.causes if cause not in numbers]
        named = [self._heading(cause) for cause in group.causes if numbers.get(cause) == ""]
        above = sorted({int(number) for cause in group.causes if (number := numbers.get(cause))})
        if above:
            named.append(f"{', '.join(map(str, above))} above")
        if named:
            parts.append(f"{'With' if parts else 'At once'}: {'; '.join(named)}.")
        kinds = f"{counted(len(group.kinds), 'kind')} of situation"
        tail = "" if group.flown else ", found in the logic; no flight was found that shows it"
        return f"{' '.join(parts)} ({kinds}{tail})"

    def _heading(self, cause: str) -> str:
        return marked_cause_words(cause, *self._ships)[0].rstrip("?")

    def value(self, cause: str) -> str:
        """Return a setting that differs without another reading of the strip."""
        heading, mine, theirs = marked_cause_words(cause, *self._ships)
        mark = "" if heading.endswith("?") else "."
        sides = f"{self.names[0]}: {_inner(mine)}; {self.names[1]}: {_inner(theirs)}."
        return f"{heading}{mark} {sides}"

    def is_told(self, cause: str, told: set[str]) -> bool:
        """True if a cause is told already, or is only the key of a mode that an option fits."""
        kind, name = cause.split(":", 1)
        needs = self._ships[0].generic.events[name].needs if kind == "fitted" else ()
        return cause in told or any(
            self._ships[0].option(option) != self._ships[1].option(option) for option, _ in needs
        )

    def seamless(self, found: Comparison) -> str:
        """Return what does the same in both, in every situation compared; empty if nothing."""
        if not found.is_complete:
            return ""
        other = {one.event for one in found.differences} | set(found.unseen)
        both = self._ships[1].chart.events
        same = [
            event.label for event in self._ships[0].chart.events.values()
            if event.id in both and event.id not in other
        ]  # fmt: skip
        if not other:
            return (
                "Seamless on the strip: every key, every selector and every change that comes by "
                "itself reads the same."
            )
        if not same:
            return ""
        tail = "" if AUTOMATIC in other else ", and every change that comes by itself"
        return (
            "Seamless on the strip, each compared in every situation in which both strips read "
            f"the same: {', '.join(same)}{tail}."
        )

    def proof(self, found: Comparison, groups: Sequence[Group]) -> str:
        """Return how much was compared and found."""
        count = len(found.differences)
        what = (
            "None of them differs." if not count else
            f"{count} kinds of situation differ, from {len(groups)} causes."
        )  # fmt: skip
        how = "all" if found.is_complete else "not all"
        return (
            f"Compared: {found.states:,} pairs of states and {found.transitions:,} transitions, "
            f"{how} that can be reached. {what}"
        )


def _inner(text: str) -> str:
    return text.rstrip(".")


def _often(per_hundred_flights: float) -> str:
    """Return how often in words; the profile's numbers are too rough for figures."""
    if per_hundred_flights >= 100.0:
        return "met on every flight"
    if per_hundred_flights >= 10.0:
        return "met on one flight in ten or more"
    if per_hundred_flights >= 1.0:
        return "met on one flight in a hundred or more"
    return "rarely met"
