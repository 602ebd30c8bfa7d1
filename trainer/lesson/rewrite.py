"""Edits of a lesson on the timeline of its flight: steps in, steps out, nothing else touched.

Every edit takes the story of the lesson as it stands and returns new steps; a step that isn't
touched is the same value, with its line, so that its text and comments can stay.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from trainer.charts.spec import ChartSpec
from trainer.lesson.questioning import (
    AFTER_S,
    fits,
    kinds_for,
    lead_of,
    usual_question,
    without_question,
)
from trainer.lesson.spec import Do, Predict, Say, Step, Wait, WaitUntil
from trainer.lesson.story import Moment, Story, situation_at
from trainer.session.session import STEP_S, Session
from trainer.session.situation import Start

TAIL_S = 5.0
"""How much is flown on behind the moment at which a lesson is cut off."""
MOST_QUESTIONS = 8
_NEAR_S = STEP_S / 2.0


@dataclass(frozen=True, slots=True)
class Edit:
    """The steps after an edit, and which of them it was about."""

    steps: tuple[Step, ...]
    at: int
    start: Start | None = None
    """Another start for the lesson; None: its own stays."""
    left: float = 1.0
    """Share of the flight that is left after a cut, from 0 to 1."""


@dataclass(frozen=True, slots=True)
class _Timed:
    step: Step
    began_s: float
    ended_s: float


def moved(story: Story, number: int, by_s: float) -> Edit:
    """Return the steps with one earlier or later; what lies between keeps its moment.

    Args:
        story: The lesson as flown.
        number: Number of the step.
        by_s: How far; never past the ends of the flight, nor into the middle of a question [s].
    """
    step = story.lesson.steps[number]
    at_s = min(max(story.began_s[number] + by_s, 0.0), story.ended_s)
    kept = _timed(story)
    del kept[number]
    return _put(story, kept, at_s, [step], is_late=by_s > 0.0)


def removed(story: Story, number: int) -> Edit:
    """Return the steps without one; a wait or timed question leaves its time to fly."""
    kept = _timed(story)
    gone = kept[number]
    if gone.ended_s - gone.began_s > _NEAR_S:
        kept[number] = replace(gone, step=Wait(_seconds(gone)))
    else:
        del kept[number]
    return Edit(_joined(story, [one.step for one in kept]), max(0, number - 1))


def without_dead_keys(story: Story) -> tuple[Step, ...]:
    """Return the steps without the keys that did nothing at all."""
    dead = set(story.dead_keys)
    kept = [step for number, step in enumerate(story.lesson.steps) if number not in dead]
    return _merged(kept)


def narrated(story: Story, moment: Moment, text: str) -> Edit:
    """Return the steps with narration at a moment: before a question, after anything else.

    At a moment that is narration itself its words are replaced.
    """
    said = Say(" ".join(text.split()))
    steps = story.lesson.steps
    step = steps[moment.step]
    if isinstance(step, Say) and not moment.is_change:
        return _replaced(story, moment.step, [replace(step, text=said.text)])
    if moment.is_change and not isinstance(step, Predict):
        return _put(story, _timed(story), moment.t_s, [said], is_late=True)
    at = moment.step if isinstance(step, Predict) else moment.step + 1
    return Edit(_merged([*steps[:at], said, *steps[at:]]), at)


def cut_after(story: Story, moment: Moment) -> Edit:
    """Return the steps up to a moment, with a few seconds of flight behind it."""
    ends_s = min(moment.t_s + TAIL_S, story.ended_s)
    steps: list[Step] = []
    now_s = 0.0
    for number, one in enumerate(_timed(story)):
        if number > moment.step:
            break
        is_cut = moment.is_change and not isinstance(one.step, Predict)
        if number == moment.step and is_cut:
            steps.append(Wait(round(moment.t_s - one.began_s, 2)))
            now_s = moment.t_s
        else:
            steps.append(one.step)
            now_s = one.ended_s
    if ends_s - now_s > _NEAR_S:
        steps.append(Wait(round(ends_s - now_s, 2)))
    at = min(moment.step, len(steps) - 1)
    return Edit(_merged(steps), at, left=_share(ends_s, story))


def _share(kept_s: float, story: Story) -> float:
    return kept_s / story.ended_s if story.ended_s > 0.0 else 1.0


def cut_before(story: Story, moment: Moment, begin: Callable[[Start], Session]) -> Edit:
    """Return the steps from a moment on, and the situation then as the lesson's start.

    Raises:
        TrainerError: A flight can't begin at that moment.
    """
    start = situation_at(story.lesson, begin, moment.t_s)
    timed = _timed(story)
    here = timed[moment.step]
    steps: list[Step] = [one.step for one in timed[moment.step + 1 :]]
    if not moment.is_change:
        steps.insert(0, here.step)
    elif here.ended_s - moment.t_s > _NEAR_S:
        is_until = isinstance(here.step, WaitUntil)
        steps.insert(0, here.step if is_until else Wait(round(here.ended_s - moment.t_s, 2)))
    return Edit(_joined(story, steps), 0, start, _share(story.ended_s - moment.t_s, story))


def questioned(story: Story, moment: Moment, question: Predict) -> Edit:
    """Return the steps with a question at a moment.

    It takes the place of the key, setting, malfunction, change or question that is there, if it
    is about that; else it is put behind it.
    """
    steps = story.lesson.steps
    step = steps[moment.step]
    if isinstance(step, Predict):
        return _replaced(story, moment.step, [replace(question, line=step.line)])
    if not fits(question.kind, moment, story):
        if moment.is_change:
            return _put(story, _timed(story), moment.t_s, [question], is_late=True)
        return _replaced(story, moment.step, [step, question], at=1)
    if not moment.is_change:
        return _replaced(story, moment.step, [replace(question, line=step.line)])
    return _at_change(story, moment, question)


def asked_throughout(story: Story, chart: ChartSpec, most: int = MOST_QUESTIONS) -> Edit:
    """Return the steps with questions about what changes the strip.

    Changes that come by themselves are asked about before keys; of each key, only the first press.

    Args:
        story: The lesson as flown; its own questions stay and count.
        chart: The chart of its aircraft.
        most: So many questions there are at most.
    """
    has = sum(isinstance(step, Predict) for step in story.lesson.steps)
    found = _worth_asking(story)[: max(0, most - has)]
    chosen = sorted(found, key=lambda one: (one.t_s, one.step))
    edited = story
    for moment in reversed(chosen):
        question = usual_question(kinds_for(moment, story)[0], moment, story, chart)
        steps = questioned(edited, moment, question).steps
        # Steps before the moment keep their numbers and times, and only those are used again.
        edited = replace(edited, lesson=replace(edited.lesson, steps=steps))
    return Edit(edited.lesson.steps, chosen[0].step if chosen else 0)


def _worth_asking(story: Story) -> list[Moment]:
    """Return one moment of each step that can be asked about, the best first."""
    changes: dict[int, Moment] = {}
    keys: dict[str, Moment] = {}
    for moment in story.moments:
        step = story.lesson.steps[moment.step]
        if isinstance(step, Predict) or not moment.shows:
            continue
        if moment.is_change and isinstance(step, Wait | WaitUntil):
            changes.setdefault(moment.step, moment)
        elif isinstance(step, Do):
            keys.setdefault(step.event, moment)
    return [*changes.values(), *keys.values()]


def unquestioned(story: Story, number: int) -> Edit:
    """Return the steps with a question turned back into what it was about."""
    return _replaced(story, number, without_question(story, number))


def _at_change(story: Story, moment: Moment, question: Predict) -> Edit:
    """Put a question some seconds before a change that came during a wait."""
    here = _timed(story)[moment.step]
    is_until = isinstance(here.step, WaitUntil)
    asked_s = lead_of(story, moment)
    parts: list[Step] = []
    if asked_s - here.began_s > _NEAR_S:
        line = 0 if is_until else here.step.line
        parts.append(Wait(round(asked_s - here.began_s, 2), line))
    at = len(parts)
    parts.append(question)
    left_s = here.ended_s - moment.t_s
    if question.kind == "after_time":
        left_s -= AFTER_S
    if left_s > _NEAR_S:
        parts.append(here.step if is_until else Wait(round(left_s, 2)))
    return _replaced(story, moment.step, parts, at)


def _replaced(story: Story, number: int, by: Sequence[Step], at: int = 0) -> Edit:
    steps = story.lesson.steps
    made = _merged([*steps[:number], *by, *steps[number + 1 :]])
    wanted = by[at] if by else None
    place = next((n for n, step in enumerate(made) if step is wanted), max(0, number - 1))
    return Edit(made, place)


def _timed(story: Story) -> list[_Timed]:
    """Return the steps that were flown, with their times."""
    return [
        _Timed(story.lesson.steps[number], began_s, story.ended_at(number))
        for number, began_s in enumerate(story.began_s)
    ]


def _seconds(timed: _Timed) -> float:
    return round(timed.ended_s - timed.began_s, 2)


def _put(story: Story, kept: list[_Timed], at_s: float, new: list[Step], *, is_late: bool) -> Edit:
    """Put steps at a moment among others, which keep theirs; a wait there is split."""
    place = len(kept) if is_late else 0
    parts: list[Step] = [one.step for one in kept]
    for index, one in enumerate(kept):
        if one.began_s + _NEAR_S < at_s < one.ended_s - _NEAR_S:
            before, after = _split(one, at_s, is_late=is_late)
            parts[index : index + 1] = [*before, *new, *after]
            break
    else:
        for index, one in enumerate(kept):
            if is_late and one.began_s > at_s + _NEAR_S:
                place = index
                break
            if not is_late and one.ended_s < at_s + _NEAR_S and _takes_time(one):
                place = index + 1
        parts[place:place] = new
    made = _joined(story, parts)
    return Edit(made, next(n for n, step in enumerate(made) if step is new[-1]))


def _takes_time(one: _Timed) -> bool:
    return one.ended_s - one.began_s > _NEAR_S


def _split(one: _Timed, at_s: float, *, is_late: bool) -> tuple[list[Step], list[Step]]:
    first_s, left_s = round(at_s - one.began_s, 2), round(one.ended_s - at_s, 2)
    match one.step:
        case Wait(_, line):
            return [Wait(first_s, line)], [Wait(left_s)]
        case WaitUntil():
            return [Wait(first_s)], [one.step]
    # Nothing can be put into the middle of a question.
    return ([one.step], []) if is_late else ([], [one.step])


def _joined(story: Story, flown: Sequence[Step]) -> tuple[Step, ...]:
    """Return the steps with those behind the end of a flight that broke off."""
    return _merged([*flown, *story.lesson.steps[len(story.began_s) :]])


def _merged(steps: Sequence[Step]) -> tuple[Step, ...]:
    """Return the steps with waits that follow each other made one."""
    merged: list[Step] = []
    for step in steps:
        last = merged[-1] if merged else None
        if isinstance(last, Wait) and isinstance(step, Wait):
            line = last.line or step.line
            merged[-1] = Wait(round(last.seconds + step.seconds, 2), line)
        else:
            merged.append(step)
    return tuple(merged)
