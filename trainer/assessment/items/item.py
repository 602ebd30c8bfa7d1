"""One question of the bank: a situation that can be flown, what happens next, and all answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal

from trainer.charts.kernel import AUTOMATIC
from trainer.errors import TrainerError
from trainer.lesson.answer import PromptPlay
from trainer.lesson.spec import Do, Lesson, Predict, Say, Step, Wait
from trainer.session.annunciation import Annunciation
from trainer.session.faults import fault_words
from trainer.session.selectors import SELECTORS, TEXT_SELECTORS
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
    """What happens next: a key or several, a selector turned, a malfunction, or only time."""

    kind: Literal["key", "set", "fault", "wait"]
    key: str = ""
    """For a key: the event; for a selector: the event that turning it raises."""
    name: str = ""
    """The selector, or the malfunction."""
    value: float | str = 0.0
    wait_s: float = 0.0
    then: tuple[str, ...] = ()
    """For a key: further keys pressed at once after it; only the strip after the last is asked."""

    @property
    def keys(self) -> tuple[str, ...]:
        """The events that it sends, in order; none for a wait or a malfunction."""
        return (self.key, *self.then) if self.key else ()

    @property
    def events(self) -> tuple[str, ...]:
        """What the logic goes by: the keys, or `automatic` if signals alone change."""
        return self.keys or (AUTOMATIC,)

    @property
    def id(self) -> str:
        """The keys, the selector, the malfunction, or `wait`."""
        if self.kind == "fault":
            return f"fault_{self.name}"
        return "+".join(self.keys) if self.kind == "key" else self.name or "wait"

    @property
    def words(self) -> str:
        """What happens, for people to read.

        Example:
            >>> Stimulus("key", "go_around").words, Stimulus("fault", name="servo").words
            ('key go around', 'servo fault')
            >>> Stimulus("set", "selected_altitude_changed", "selected_altitude_ft", 5000.0).words
            'selected altitude set to 5,000 ft'
        """
        match self.kind:
            case "key":
                keys = ", then ".join(self.keys).replace("_", " ")
                return f"key {keys}"
            case "set":
                return _turned_words(self.name, self.value)
            case "fault":
                return fault_words(self.name).lower()
            case "wait":
                return "nothing is pressed"


def _turned_words(name: str, value: float | str) -> str:
    if isinstance(value, str):
        return f"{TEXT_SELECTORS[name]} set to {value.replace('_', ' ')}".lower()
    selector = SELECTORS[name]
    return f"{selector.label.lower()} set to {value:,.0f} {selector.unit}"


@dataclass(frozen=True, slots=True)
class FlownSituation:
    """A start, and keys pressed before the question, so that exactly this strip is shown.

    `words` tell of the moment of the question, as `moment_words` makes them.
    """

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
    automatic: Mapping[str, Annunciation] = field(default_factory=dict)
    """Answers under wrong rules made from the chart itself, where they differ from the true one."""
    topics: tuple[str, ...] = ()
    """What its answer is about: events, each with the regions, and with their states, whose change
    or rest by it shows in the answer."""

    @property
    def is_critical(self) -> bool:
        """True if it belongs to a critical group."""
        return bool(self.critical)

    @property
    def nothing_changes(self) -> bool:
        """True if the right answer is: nothing changes."""
        return self.before == self.true

    @property
    def is_sequence(self) -> bool:
        """True if several keys are pressed before the strip is asked for."""
        return bool(self.stimulus.then)

    def answer_of(self, misconception: str) -> Annunciation:
        """Return the answer under one misconception."""
        return self.answers.get(misconception, self.true)


def partition_of(answers: Mapping[str, Annunciation]) -> tuple[tuple[str, ...], ...]:
    """Return the groups of wrong rules that answer alike, in order."""
    groups: dict[Annunciation, list[str]] = {}
    for name, answer in answers.items():
        groups.setdefault(answer, []).append(name)
    return tuple(sorted(tuple(sorted(group)) for group in groups.values()))


def fly_to(situation: FlownSituation, begin: Begin) -> Session:
    """Return a session at the moment of the question.

    Raises:
        ItemError: The situation doesn't hold.
    """
    try:
        session = begin(situation.start)
    except SituationError as error:
        raise ItemError(f"{situation.id}: {error}") from error
    lead_to_question(situation, session)
    return session


def lead_to_question(situation: FlownSituation, session: Session) -> None:
    """Fly a session from a situation's start to the moment of the question.

    The moment is: the keys of the situation pressed at its start, then a second to look. It is
    that of the lesson that a member flies (`lesson_of`), so answers are computed here and nowhere
    else.

    Args:
        situation: The situation.
        session: Begun in its start.

    Raises:
        ItemError: The strip changes while it is looked at.
    """
    for event in situation.presses:
        session.press(event)
    shown = session.annunciation
    for _ in range(round(LOOK_S / STEP_S)):
        session.step()
    if session.annunciation != shown:
        raise ItemError(f"{situation.id}: the strip changes before the question can be put")


def play(stimulus: Stimulus, session: Session) -> Annunciation:
    """Let the stimulus happen for real and return the annunciation that it leads to."""
    prompt = PromptPlay(predict_of(stimulus), session)
    while not prompt.is_over:
        prompt.step()
    return prompt.answer.after


def predict_of(stimulus: Stimulus) -> Predict:
    """Return the lesson step that asks for what follows a stimulus."""
    if stimulus.kind == "set":
        return Predict("after_set", "", 0.0, values=((stimulus.name, stimulus.value),))
    if stimulus.kind == "key":
        return Predict("after_key", stimulus.key, 0.0, then=stimulus.then)
    if stimulus.kind == "fault":
        return Predict("after_fault", "", 0.0, fault=stimulus.name)
    return Predict("next_change", "", stimulus.wait_s)


def verify(item: Item, begin: Begin) -> None:
    """Fly an item and compare: the strip before and after must be the item's.

    Raises:
        ItemError: It can't be flown as it says.
    """
    session = fly_to(item.situation, begin)
    if session.annunciation != item.before:
        raise ItemError(f"{item.id}: the situation shows another strip")
    slowly = session.fork()
    if play(item.stimulus, session) != item.true:
        raise ItemError(f"{item.id}: the flight leads to another strip")
    if play_slowly(item.stimulus, slowly) != item.true:
        raise ItemError(f"{item.id}: the strip depends on how fast the keys are pressed")


def play_slowly(stimulus: Stimulus, session: Session) -> Annunciation:
    """Let a stimulus happen with a second's flight between its keys, as a hand would press them."""
    if not stimulus.then:
        return play(stimulus, session)
    for key in stimulus.keys[:-1]:
        session.press(key)
        for _ in range(round(LOOK_S / STEP_S)):
            session.step()
    session.press(stimulus.keys[-1])
    return session.annunciation


def lesson_of(item: Item, installation: str) -> Lesson:
    """Return an item as a lesson of one prompt, for the window."""
    steps: list[Step] = [Say(item.situation.words)]
    steps.extend(Do(event) for event in item.situation.presses)
    steps.extend([Wait(LOOK_S), predict_of(item.stimulus)])
    return Lesson(
        item.id, "<item bank>", item.situation.words, installation, (item.situation.words,),
        (item.competency,), item.situation.start, tuple(steps),
    )  # fmt: skip
