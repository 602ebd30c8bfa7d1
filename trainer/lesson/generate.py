"""Makes lessons that reach chosen rules, by flying towards whatever hasn't acted yet."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from trainer.errors import TrainerError
from trainer.lesson.ahead import Ahead
from trainer.lesson.generate_words import Words
from trainer.lesson.robustness import fragile_prompts
from trainer.lesson.scene import Scene, load_scenes
from trainer.lesson.search import Action, Flight, Move, Progress, acted, apply, next_move
from trainer.lesson.spec import (
    Condition,
    Do,
    Inject,
    Lesson,
    Predict,
    Say,
    Set,
    Step,
    Wait,
    WaitUntil,
)
from trainer.session.session import STEP_S, Session
from trainer.session.situation import Start

MOST_LESSONS = 25
MOST_PROMPTS = 8
LEAST_PROMPTS = 3
DEPTHS = (2, 2, 3)
"""How far instant actions are tried in each round over the scenes."""
PAUSE_S = 1.5
LEAD_S = 20.0
MOST_COMPETENCIES = 3


@dataclass(frozen=True, slots=True)
class Generated:
    """What generating came to."""

    lessons: tuple[Lesson, ...]
    reached: frozenset[str]
    """Rules and refusals that act in the lessons."""
    missed: frozenset[str]
    """Wanted ones that act in none."""
    is_cancelled: bool = False


def generate(
    installation: str,
    begin: Callable[[Start], Session],
    wanted: frozenset[str],
    *,
    competencies: Mapping[str, str] | None = None,
    seed: int = 1,
    most_lessons: int = MOST_LESSONS,
    progress: Progress | None = None,
) -> Generated:
    """Return lessons in which the wanted rules act.

    Args:
        installation: Id of the installation that the lessons fly.
        begin: Starts a session of it in a situation.
        wanted: Ids of rules and refusals.
        competencies: Of each rule and refusal; a lesson names those whose rules it reaches.
        seed: The same seed gives the same lessons.
        most_lessons: Stop after so many.
        progress: Called now and then; returning False cancels.
    """
    scenes = [scene for scene in load_scenes() if _begun(begin, scene) is not None]
    words = Words(random.Random(seed))  # noqa: S311 - wording, not secrecy
    ahead: Ahead | None = None
    left = wanted
    lessons: list[Lesson] = []
    is_cancelled = False
    rounds = 0
    while left and len(lessons) < most_lessons and rounds < len(DEPTHS) and not is_cancelled:
        depth = DEPTHS[rounds]
        rounds += 1
        for scene in scenes:
            if len(lessons) >= most_lessons or not left:
                break
            session = begin(scene.start)
            ahead = ahead or Ahead(session.logic.machine.kernel)
            script = _Script(scene, session, words, left)
            script.write(depth, ahead)
            if progress is not None and not progress(len(wanted - left), len(wanted)):
                is_cancelled = True
                break
            if script.gain:
                left -= script.gain
                lesson = script.lesson(installation, len(lessons) + 1)
                named = named_competencies(competencies or {}, script.gain)
                lessons.append(_sound(replace(lesson, competencies=named), begin))
    return Generated(tuple(lessons), wanted - left, left, is_cancelled)


def _begun(begin: Callable[[Start], Session], scene: Scene) -> Session | None:
    try:
        return begin(scene.start)
    except TrainerError:
        return None  # modes that aren't fitted in this aircraft


def named_competencies(competencies: Mapping[str, str], gain: frozenset[str]) -> tuple[str, ...]:
    """Return the competencies that a gain serves most, at most three.

    Args:
        competencies: Of each rule and refusal.
        gain: The rules and refusals that act.
    """
    order = list(dict.fromkeys(competencies.values()))
    shares = Counter(competencies[rule] for rule in gain if rule in competencies)
    ordered = sorted(shares, key=lambda name: (-shares[name], order.index(name)))
    return tuple(ordered[:MOST_COMPETENCIES])


def _sound(lesson: Lesson, begin: Callable[[Start], Session]) -> Lesson:
    """Return the lesson without prompts that a little more wind would answer otherwise."""
    lines = tuple(replace(step, line=number) for number, step in enumerate(lesson.steps, 1))
    fragile = {one.line for one in fragile_prompts(replace(lesson, steps=lines), begin)}
    steps = [_plain(step) if step.line in fragile else step for step in lines]
    return replace(lesson, steps=tuple(replace(step, line=0) for step in steps))


def _plain(step: Step) -> Step:
    """Return a step that does what a prompt would, and asks nothing."""
    match step:
        case Predict("after_key", key):
            return Do(key)
        case Predict("after_set"):
            return Set(step.values)
        case Predict("after_fault"):
            return Inject(step.fault)
        case Predict("next_change"):
            return WaitUntil(Condition(change=True), step.horizon_s)
        case Predict("after_time"):
            return Wait(step.horizon_s)
    return step


class _Script:
    """One lesson in the making: the session that flies it and the steps so far."""

    def __init__(
        self, scene: Scene, session: Session, words: Words, wanted: frozenset[str]
    ) -> None:
        self._scene = scene
        self._session = session
        self._words = words
        self._wanted = wanted
        self._began_s = session.t_s
        self.steps: list[Step] = [Say(scene.words)]
        self.gain: frozenset[str] = frozenset()
        self._prompts = 0

    def write(self, depth: int, ahead: Ahead) -> None:
        """Add moves until nothing wanted is near or the lesson is full."""
        while self._prompts < MOST_PROMPTS:
            move = next_move(self._session, self._wanted - self.gain, ahead, depth)
            if move is None:
                break
            self._add(move)
        while self.gain and self._prompts < LEAST_PROMPTS:
            self._ask_what_comes()

    def lesson(self, installation: str, number: int) -> Lesson:
        """Return the lesson."""
        flown_min = (self._session.t_s - self._began_s) / 60.0
        title = self._words.title(self._scene.title)
        return Lesson(
            f"g{number:02}-{self._scene.id.replace('_', '-')}", "", title, installation,
            self._words.objectives(self._session.installation.chart, self.gain), (),
            self._scene.start, tuple(self.steps), round(2.0 + flown_min * 2.0) / 2.0 + 1.0,
            self._scene.words.split(". ")[0].rstrip(".") + ".",
        )  # fmt: skip

    def _add(self, move: Move) -> None:
        last = len(move.actions) - 1
        for place, action in enumerate(move.actions):
            asks = place == last and not move.flights
            self._do(action, asks=asks)
        for flight in move.flights:
            self._fly(flight)
        for action in move.after:
            self._do(action, asks=True)
        self._pause()

    def _do(self, action: Action, *, asks: bool) -> None:
        self._say(self._words.before(action, self._session))
        self.gain |= acted(apply(action, self._session)) & self._wanted
        self.steps.append(_asked(action) if asks else action)
        self._prompts += asks

    def _fly(self, flight: Flight) -> None:
        """Fly on to a change, asking for it a while before; what isn't seen isn't asked for."""
        wait_s = flight.seconds if not flight.is_seen else max(0.0, flight.seconds - LEAD_S)
        wait_s = round(wait_s, 2)
        if wait_s:
            self._wait(wait_s)
        if not flight.is_seen:
            return
        self._say(self._words.flying(self._session))
        for _ in range(round((flight.seconds + LEAD_S) / STEP_S)):
            record = self._session.step(STEP_S)
            self.gain |= acted(record) & self._wanted
            if record is not None and record.has_changed:
                break
        horizon_s = round(flight.seconds - wait_s + LEAD_S)
        self.steps.append(Predict("next_change", horizon_s=float(horizon_s)))
        self._prompts += 1

    def _ask_what_comes(self) -> None:
        self._say(self._words.quiet())
        self._step_for(10.0)
        self.steps.append(Predict("after_time", horizon_s=10.0))
        self._prompts += 1
        self._pause()

    def _say(self, text: str) -> None:
        if isinstance(self.steps[-1], Say):
            self.steps[-1] = Say(f"{self.steps[-1].text} {text}")
        else:
            self.steps.append(Say(text))

    def _pause(self) -> None:
        self._wait(PAUSE_S)

    def _wait(self, seconds: float) -> None:
        last = self.steps[-1]
        if isinstance(last, Wait):
            self.steps[-1] = Wait(round(last.seconds + seconds, 2))
        else:
            self.steps.append(Wait(seconds))
        self._step_for(seconds)

    def _step_for(self, seconds: float) -> None:
        for _ in range(round(seconds / STEP_S)):
            self.gain |= acted(self._session.step(STEP_S)) & self._wanted


def _asked(action: Action) -> Step:
    match action:
        case Do(event):
            return Predict("after_key", event, 0.0)
        case Set(values):
            return Predict("after_set", horizon_s=0.0, values=values)
        case Inject(fault, True):
            return Predict("after_fault", horizon_s=0.0, fault=fault)
    return action
