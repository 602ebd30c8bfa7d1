"""Which wrong rules a lesson would catch: whoever holds one answers some question wrongly.

Each question is answered as somebody would who holds the rule, in the question's own form: the
same situation is flown with the patched chart. No answer is typed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from trainer.assessment.answers.distractors import answers_by_belief
from trainer.assessment.wrong_rules.belief import Belief
from trainer.assessment.wrong_rules.library import Library
from trainer.charts.kernel import UnsettledError
from trainer.errors import FileError
from trainer.lesson.answer import Answer
from trainer.lesson.coverage import Coverage, Item
from trainer.lesson.question import ALL_FORMS, FORMS, compute_answer, pose
from trainer.lesson.runner import LessonRunner
from trainer.lesson.spec import Predict
from trainer.session.session import Session

KIND = "misconception"
_LEAP_S = 1.0
LONG_S = 5.0
"""Beyond this every key tried under every wrong rule takes too long: what to do for a goal is then
told by the strip that the right key leads to. Who foresees another one wouldn't choose it."""


def catches(
    runner: LessonRunner, library: Library, goes_on: Callable[[], bool] = lambda: True
) -> dict[str, tuple[int, ...]]:
    """Fly a lesson and return the wrong rules that it catches, with the numbers of the questions.

    Args:
        runner: A run of the lesson at its start.
        library: The misconceptions fitted to the installation that it flies.
        goes_on: Asked before every question; False ends the flight there.

    Raises:
        FileError: A wait of the lesson was not over in its time.
    """
    runner.forms = ALL_FORMS
    found: dict[str, list[int]] = {}
    while runner.phase != "finished":
        if runner.phase == "asking":
            if not goes_on():
                break
            assert runner.asked is not None
            assert runner.playing is not None
            for name in caught_by(runner.asked, runner.playing, runner.session, library):
                found.setdefault(name, []).append(len(runner.played) + 1)
            runner.commit()
        elif runner.phase == "explained":
            runner.proceed()
        else:
            runner.advance(_LEAP_S)
    return {name: tuple(numbers) for name, numbers in found.items()}


def caught_by(
    asked: Predict, playing: Predict, session: Session, library: Library
) -> tuple[str, ...]:
    """Return the wrong rules under which a question is answered wrongly.

    Args:
        asked: The question.
        playing: The strip prompt that it plays as.
        session: The session at its moment; it isn't touched.
        library: The misconceptions fitted to the session's installation.
    """
    true, answers = answers_by_belief(playing, session, library)
    differing = [name for name, answer in answers.items() if answer != true]
    is_long = asked.kind == "what_to_do" and asked.horizon_s > LONG_S
    if FORMS[asked.kind] == "strip" or is_long:
        return tuple(differing)
    right = compute_answer(asked, session)
    # What comes by itself differs only where the strip does; a key may be refused unseen.
    candidates = differing if asked.kind in ("first_capture", "level_off") else list(answers)
    return tuple(
        name for name in candidates if _is_wrong(asked, right, session, library.beliefs[name])
    )


def with_misconceptions(
    coverage: Coverage, library: Library, caught: Mapping[str, Mapping[str, tuple[int, ...]]]
) -> Coverage:
    """Return a coverage that counts wrong rules too.

    Args:
        coverage: What lessons exercise of an installation.
        library: The misconceptions fitted to it.
        caught: Lesson id -> what `catches` found in it.
    """
    items = tuple(
        Item(KIND, name, tuple(lesson for lesson, found in caught.items() if name in found))
        for name in library.beliefs
    )
    return replace(coverage, items=(*coverage.items, *items))


def _is_wrong(asked: Predict, right: Answer, session: Session, belief: Belief) -> bool:
    """True if somebody with this belief answers otherwise, or knows no answer at all."""
    if not belief.kernel.is_at_rest(session.configuration, session.bits):
        return False  # what is shown overrules the belief
    fork = session.fork()
    fork.logic = belief.logic
    try:
        if asked.kind in ("which_key", "what_to_do"):
            return not set(pose(asked, fork, "").right) <= set(right.accepted)
        believed = compute_answer(asked, fork)
    except FileError:
        return True
    except UnsettledError:
        return False  # under it the logic never comes to rest, so it foresees nothing
    if right.number is not None and believed.number is not None:
        return abs(believed.number - right.number) > right.tolerance
    return believed.accepted != right.accepted
