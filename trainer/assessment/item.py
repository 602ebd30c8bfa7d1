"""One question of the bank: a situation that can be flown, what happens next, and all answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal

from trainer.errors import TrainerError
from trainer.lesson.answer import PromptPlay
from trainer.lesson.spec import Do, Lesson, Predict, Say, Step, Wait
from trainer.session.annunciation import Annunciation
from trainer.session.session import STEP_S, Session
from trainer.session.situation import SituationError, Start

LOOK_S = 1.0
"""A situation must last this long before the question is put [s]."""

Begin = Callable[[Start], Session]
Band = Literal["plain", "middle", "hard"]


class ItemError(TrainerError):
    """An item whose situation doesn't come about, or doesn't lead to the item's answer."""


@dataclass(frozen=True, slots=True)
class Stimulus:
    """What happens after the situation: a key, a selector turned, or only time."""

    kind: Literal["key", "set", "wait"]
    key: str = ""
    """For a key: the event; for a selector: the event that turning it raises."""
    name: str = ""
    value: float | str = 0.0
    wait_s: float = 0.0

    @property
    def id(self) -> str:
        """The key, the selector, or `wait`."""
        return self.key if self.kind == "key" else self.name or "wait"


@dataclass(frozen=True, slots=True)
class FlownSituation:
    """A start, and keys pressed before the question, so that exactly this strip is shown."""

    id: str
    words: str
    start: Start
    presses: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Item:
    """A question with its computed answers.

    Attributes:
        answers: Misconception id -> answer, only where it differs from the true one.
        kind: Items of one kind are the same question about the logic in another situation.
        competency: The competency that it speaks for.
        rules: Rules and refusals behind the true answer.
        critical: Group of which one item must be right in a check whatever the rest; or empty.
    """

    id: str
    situation: FlownSituation
    stimulus: Stimulus
    before: Annunciation
    true: Annunciation
    answers: Mapping[str, Annunciation]
    rules: tuple[str, ...]
    kind: str
    competency: str
    band: Band
    critical: str = ""
    pair_answers: Mapping[tuple[str, str], Annunciation] = field(default_factory=dict)
    """Answers under two misconceptions at once that both differ here, ids in order."""
    partition: tuple[tuple[str, ...], ...] = field(default=())
    """Groups of misconceptions that answer alike (and wrongly)."""

    @property
    def is_critical(self) -> bool:
        """True if it belongs to a critical group."""
        return bool(self.critical)

    @property
    def nothing_changes(self) -> bool:
        """True if the right answer is: nothing changes."""
        return self.before == self.true

    def answer_of(self, misconception: str) -> Annunciation:
        """Return the answer under one misconception."""
        return self.answers.get(misconception, self.true)


def fly_to(situation: FlownSituation, begin: Begin) -> Session:
    """Return a session at the moment of the question.

    Raises:
        ItemError: The situation doesn't hold.
    """
    try:
        session = begin(situation.start)
    except SituationError as error:
        raise ItemError(f"{situation.id}: {error}") from error
    for event in situation.presses:
        session.press(event)
    shown = session.annunciation
    for _ in range(round(LOOK_S / STEP_S)):
        session.step()
    if session.annunciation != shown:
        raise ItemError(f"{situation.id}: the strip changes before the question can be put")
    return session


def play(stimulus: Stimulus, session: Session) -> Annunciation:
    """Let the stimulus happen for real and return the annunciation that it leads to."""
    if stimulus.kind == "set":
        session.select(stimulus.name, stimulus.value)
        return session.annunciation
    prompt = PromptPlay(predict_of(stimulus), session)
    while not prompt.is_over:
        prompt.step()
    return prompt.answer.after


def predict_of(stimulus: Stimulus) -> Predict:
    """Return the lesson step that asks for what follows a key or a wait.

    Raises:
        ItemError: A selector turned has no such step.
    """
    if stimulus.kind == "set":
        raise ItemError("a lesson can't ask for what follows a selector")
    if stimulus.kind == "key":
        return Predict("after_key", stimulus.key, 0.0)
    return Predict("next_change", "", stimulus.wait_s)


def verify(item: Item, begin: Begin) -> None:
    """Fly an item and compare: the strip before and after must be the item's.

    Raises:
        ItemError: It can't be flown as it says.
    """
    session = fly_to(item.situation, begin)
    if session.annunciation != item.before:
        raise ItemError(f"{item.id}: the situation shows another strip")
    if play(item.stimulus, session) != item.true:
        raise ItemError(f"{item.id}: the flight leads to another strip")


def lesson_of(item: Item, installation: str) -> Lesson:
    """Return an item about a key or a wait as a lesson of one prompt, for the window.

    Raises:
        ItemError: The item is about a selector, which no prompt can turn.
    """
    steps: list[Step] = [Say(item.situation.words)]
    steps.extend(Do(event) for event in item.situation.presses)
    steps.extend([Wait(LOOK_S), predict_of(item.stimulus)])
    return Lesson(
        item.id, "<item bank>", item.situation.words, installation, (item.situation.words,),
        (item.competency,), item.situation.start, tuple(steps),
    )  # fmt: skip
