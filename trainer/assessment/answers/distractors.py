"""Wrong answers to a prompt that somebody would give who holds a wrong rule.

Each is computed by flying the same situation with the patched chart; none is typed.
"""

from __future__ import annotations

from dataclasses import dataclass

from trainer.assessment.wrong_rules.library import Library
from trainer.assessment.wrong_rules.misconception import Misconception
from trainer.charts.kernel import AUTOMATIC, Point
from trainer.lesson.answer import PromptPlay
from trainer.lesson.question import Prompt
from trainer.lesson.spec import Predict
from trainer.session.annunciation import Annunciation
from trainer.session.session import Session

INSTANT = ("after_key", "after_set", "after_fault")
"""Kinds of prompt that are over at once."""


@dataclass(frozen=True, slots=True)
class Distractor:
    """A wrong answer and the wrong rules that lead to it."""

    answer: Annunciation
    misconceptions: tuple[Misconception, ...]


def predict_of(prompt: Prompt) -> Predict:
    """Return the step that plays a prompt of one of the three strip kinds."""
    return Predict(prompt.kind, prompt.key, prompt.horizon_s, then=prompt.then)


def answers_by_belief(
    predict: Predict, session: Session, library: Library
) -> tuple[Annunciation, dict[str, Annunciation]]:
    """Return the true answer to a strip prompt and the answer under each misconception.

    Args:
        predict: A prompt of a strip kind.
        session: The session at its moment; it isn't touched.
        library: The misconceptions fitted to the session's installation.
    """
    true, points = _fly_truth(predict, session, library)
    differing = set(library.differing(points))
    answers: dict[str, Annunciation] = {}
    for name, belief in library.beliefs.items():
        # Where there is nothing to fly, looking costs more than playing.
        if predict.kind not in INSTANT and name not in differing:
            answers[name] = true
        else:
            foreseen = belief.foresees(predict, session)
            answers[name] = true if foreseen is None else foreseen
    return true, answers


def distractors(predict: Predict, session: Session, library: Library) -> tuple[Distractor, ...]:
    """Return the wrong answers that the library foresees, the most often held first.

    Args:
        predict: A prompt of a strip kind.
        session: The session at its moment; it isn't touched.
        library: The misconceptions fitted to the session's installation.
    """
    true, answers = answers_by_belief(predict, session, library)
    groups: dict[Annunciation, list[Misconception]] = {}
    for name, answer in answers.items():
        if answer != true:
            groups.setdefault(answer, []).append(library.beliefs[name].parts[0])
    ordered = sorted(groups.items(), key=lambda pair: -len(pair[1]))
    return tuple(Distractor(answer, tuple(held)) for answer, held in ordered)


def _fly_truth(
    predict: Predict, session: Session, library: Library
) -> tuple[Annunciation, list[Point]]:
    """Return the true answer and the microsteps of the chart on the way."""
    fork = session.fork()
    points: list[Point] = []
    configuration, bits = fork.configuration, fork.bits
    play = PromptPlay(predict, fork)
    while not play.is_over:
        play.step()
        if fork.bits != bits:
            bits = fork.bits
            for here in {configuration, fork.configuration}:
                points.extend(library.truth.points(here, bits, AUTOMATIC))
            configuration = fork.configuration
    return play.answer.after, points
