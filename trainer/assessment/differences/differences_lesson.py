"""A lesson on the differences, made from flown examples: each question is one that a habit fails.

The answers are computed when the lesson is flown, as in every lesson. After the first question
the same flight goes on as long as a key or two leads to another difference.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

from trainer.assessment.differences.differences import FlownDifference, Group
from trainer.assessment.differences.differences_habit import foreseen_by_habit
from trainer.assessment.differences.differences_play import Ship
from trainer.assessment.items.item import LOOK_S, fly_to
from trainer.charts.compare import Difference
from trainer.charts.installation import Installation
from trainer.charts.shown import shown
from trainer.lesson.answer import Answer, PromptPlay
from trainer.lesson.robustness import SMALL_VARIATIONS, fragile_prompts
from trainer.lesson.spec import Do, Lesson, Predict, Say, Step, Wait
from trainer.session.annunciation import Annunciation, changed_cells
from trainer.session.selectors import SELECTORS
from trainer.session.session import STEP_S, Session

COMPETENCY = "differences_between_ships"
MOST_QUESTIONS = 5
"""Questions in one lesson at most."""
_AFTER_S = 4.0
"""Time to look at what happened [s]."""
_NEW_ALTITUDE_FT = 1000.0
_CELL_WORDS = {
    "engagement": "", "lateral_active": "lateral", "vertical_active": "vertical",
    "alert": "alert", "protection": "protection",
}  # fmt: skip
_REGIONS = {
    "engagement": "engagement", "lateral_active": "lateral", "vertical_active": "vertical",
    "alert": "alert", "protection": "protection",
}  # fmt: skip
"""Cell -> the region that it shows, where there is one."""
_MARGIN_S = 3.0
"""A wait goes on so long beyond the change [s], so that its moment is no matter of luck."""


@dataclass(frozen=True, slots=True)
class _Asked:
    """A question found in a flight: the keys before it, and what a habit makes of it."""

    keys: tuple[str, ...]
    predict: Predict
    group: Group
    foreseen: Answer


def build_lessons(
    groups: Sequence[Group], flown: Sequence[FlownDifference], first: Ship, second: Ship
) -> tuple[Lesson, ...]:
    """Return lessons that ask about every cause that the strip shows, the gravest first.

    Args:
        groups: The differences by cause.
        flown: Their flown examples.
        first: The ship that the member knows.
        second: The ship to be flown.
    """
    writer = _Writer(groups, first, second)
    lessons: list[Lesson] = []
    for group in groups:
        kinds = {id(kind) for kind in group.kinds}
        examples = [one for one in flown if id(one.difference) in kinds and one.is_on_the_strip]
        if group.causes in writer.covered:
            continue
        for one in examples:
            lesson = writer.write(group, one, len(lessons) + 1)
            if lesson is not None:
                lessons.append(lesson)
                break
    return tuple(lessons)


class _Writer:
    def __init__(self, groups: Sequence[Group], first: Ship, second: Ship) -> None:
        self._groups = groups
        self._ships = (first, second)
        self._names = short_titles(*(ship.logic.installation for ship in self._ships))
        self._asked: set[tuple[Annunciation, Predict]] = set()
        self.covered: set[tuple[str, ...]] = set()

    def write(self, group: Group, one: FlownDifference, number: int) -> Lesson | None:
        """Return a lesson that begins with an example, None if the habit doesn't fail there."""
        first, second = self._ships
        session = fly_to(one.situation, second.begin)
        predict = _lasting(one.stimulus)
        foreseen = foreseen_by_habit(first.logic, session, predict)
        if foreseen is None or foreseen.after == _played(session, predict).after:
            return None
        opening = (
            f"You know {self._names[0]}. Today you fly {self._names[1]}. {one.situation.words}"
        )
        steps: list[Step] = [Say(opening)]
        steps.extend(Do(key) for key in one.situation.presses)
        steps.append(Wait(LOOK_S))
        asked: _Asked | None = _Asked((), predict, group, foreseen)
        causes: list[tuple[str, ...]] = []
        lesson: Lesson | None = None
        while asked is not None and len(causes) < MOST_QUESTIONS:
            for key in asked.keys:
                session.press(key)
                _let(session, LOOK_S)
                steps.extend((Do(key), Wait(LOOK_S)))
            self._asked.add((session.annunciation, asked.predict))
            actual = _play(session, asked.predict)
            _let(session, _AFTER_S)
            told = Say(self._told(asked.foreseen, actual))
            ask = replace(asked.predict, line=len(causes) + 1)
            longer = self._lesson(
                number, one, [*steps, ask, told, Wait(_AFTER_S)], [*causes, asked.group.causes]
            )
            if fragile_prompts(longer, second.begin, SMALL_VARIATIONS):
                break
            lesson, steps = longer, list(longer.steps)
            causes.append(asked.group.causes)
            self.covered.add(asked.group.causes)
            asked = self._next(session)
        return lesson

    def _lesson(
        self, number: int, one: FlownDifference, steps: list[Step], causes: list[tuple[str, ...]]
    ) -> Lesson:
        installation = self._ships[1].logic.installation
        part = f", flight {number}" if number > 1 else ""
        return Lesson(
            f"differences-{self._ships[0].name}-{installation.id}-{number}",
            "<differences>",
            f"From {self._names[0]} to {self._names[1]}{part}",
            installation.id,
            (f"Say where {self._names[1]} does otherwise than {self._names[0]}.",),
            (COMPETENCY,),
            one.situation.start,
            tuple(steps),
            minutes=float(max(2, len(causes))),
            summary=f"{len(causes)} things that {self._names[1]} does otherwise.",
        )

    def _told(self, foreseen: Answer, actual: Answer) -> str:
        """Return what the known ship would show otherwise, in words; said after the answer."""
        if foreseen.before == foreseen.after:
            return f"{self._names[0]} would have changed nothing here."
        chart = self._ships[0].logic.installation.chart
        words = change_words(actual.after, foreseen.after, chart.mode_label)[0]
        return f"In {self._names[0]} the strip would now read: {words}."

    def _next(self, session: Session) -> _Asked | None:
        """Return another question that the same flight leads to, with the fewest keys."""
        for keys in self._ways(session):
            fork = session.fork()
            for key in keys:
                if not fork.press(key).has_changed:
                    break
                _let(fork, LOOK_S)
            else:
                found = next(self._questions(fork, keys), None)
                if found is not None:
                    return found
        return None

    def _ways(self, session: Session) -> Iterator[tuple[str, ...]]:
        events = session.installation.chart.events.values()
        keys = [event.id for event in events if event.kind == "key" and event.group != "reference"]
        yield ()
        yield from ((key,) for key in keys)
        yield from product(keys, keys)

    def _questions(self, session: Session, keys: tuple[str, ...]) -> Iterator[_Asked]:
        """Yield questions on causes not asked about yet that can be put in this instant."""
        ship = session.installation
        before = shown(ship.chart, ship.generic, session.configuration)
        for group in self._groups:
            if group.causes in self.covered:
                continue
            for kind in group.kinds:
                predict = _prompt_of(kind, session) if before in kind.befores else None
                if predict is None or (session.annunciation, predict) in self._asked:
                    continue
                foreseen = foreseen_by_habit(self._ships[0].logic, session, predict)
                if foreseen is not None and _is_of(kind, foreseen, _played(session, predict)):
                    yield _Asked(keys, predict, group, foreseen)


def _prompt_of(kind: Difference, session: Session) -> Predict | None:
    """Return the prompt that asks for a kind's event at once, None if none does."""
    event = session.installation.chart.events.get(kind.event)
    if event is not None and event.kind == "key":
        return Predict("after_key", kind.event, 0.0)
    if kind.event == SELECTORS["selected_altitude_ft"].event:
        value = session.references.selected_altitude_ft + _NEW_ALTITUDE_FT
        return Predict("after_set", "", 0.0, values=(("selected_altitude_ft", value),))
    return None


def _is_of(kind: Difference, foreseen: Answer, actual: Answer) -> bool:
    """True if what the habit foresees and what is differ as the kind does, on the strip."""
    if foreseen.after == actual.after:
        return False
    refusals = tuple(
        next((r.refusal.rule_id for r in one.records if r.refusal is not None), "")
        for one in (foreseen, actual)
    )
    if refusals != (kind.first.refusal, kind.second.refusal):
        return False
    contrast = {region: (mine, theirs) for region, mine, theirs in kind.contrast}
    return refusals[0] != refusals[1] or all(
        contrast.get(region, (foreseen.after.cell(cell),) * 2)
        == (foreseen.after.cell(cell), actual.after.cell(cell))
        for cell, region in _REGIONS.items()
    )


def _lasting(predict: Predict) -> Predict:
    """Return the prompt of an example; a wait asks for the next change and lasts longer."""
    if predict.kind != "after_time":
        return predict
    return Predict("next_change", "", round(predict.horizon_s + _MARGIN_S))


def _played(session: Session, predict: Predict) -> Answer:
    return _play(session.fork(), predict)


def _play(session: Session, predict: Predict) -> Answer:
    play = PromptPlay(predict, session)
    while not play.is_over:
        play.step()
    return play.answer


def _let(session: Session, seconds: float) -> None:
    for _ in range(round(seconds / STEP_S)):
        session.step()


def short_titles(first: Installation, second: Installation) -> tuple[str, str]:
    """Return what the ships are called in running text: the part of their titles that differs.

    `Ship Amber, stage one` and `Ship Slate, the sister ship` are Ship Amber and Ship Slate;
    `Ship Amber, stage one` and `Ship Amber, stage two` are Stage one and Stage two.
    """
    parts = [[part.strip() for part in one.title.split(",", 1)] for one in (first, second)]
    if parts[0][0] != parts[1][0]:
        return parts[0][0], parts[1][0]
    tails = [part[1][:1].upper() + part[1][1:] if len(part) > 1 else "" for part in parts]
    if all(tails) and tails[0] != tails[1]:
        return tails[0], tails[1]
    return first.title, second.title


def change_words(
    before: Annunciation, after: Annunciation, label: Callable[[str], str]
) -> list[str]:
    """Return what changes on a strip, cell by cell, in the chart's words."""
    words: list[str] = []
    for cell in changed_cells(before, after):
        content = after.cell(cell)
        if not isinstance(content, str):
            old = before.cell(cell)
            words += [f"{label(mode)} armed" for mode in content if mode not in old]
            words += [f"{label(mode)} no longer armed" for mode in old if mode not in content]
        else:
            name = _CELL_WORDS[cell]
            is_quiet = content in ("none", "quiet")
            words.append(f"no {name}" if is_quiet else _with_axis(name, label(content)))
    return words


def _with_axis(axis: str, mode: str) -> str:
    return mode if not axis or axis in mode else f"{axis} {mode}"
