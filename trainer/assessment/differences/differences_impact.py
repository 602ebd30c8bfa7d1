"""What an edit of an installation changes, told before it is saved.

Pure functions: the aircraft page and the board call them with the installation as it is and as it
would be. Situations come from the product search, lessons and items from flying them again.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass

from trainer.assessment.differences.differences import Group, Weight, group_by_cause
from trainer.assessment.differences.differences_play import Ship
from trainer.assessment.items.item import Item, ItemError, verify
from trainer.assessment.items.item_subject import competencies_resting_on
from trainer.charts.compare import Comparison
from trainer.charts.guard import signals_in
from trainer.charts.installation import Installation
from trainer.charts.joint import split_signals
from trainer.charts.spec import RefusalSpec, RuleSpec
from trainer.errors import TrainerError
from trainer.lesson.competency import Competency
from trainer.lesson.flown import FlownPrompt, fly
from trainer.lesson.question import ALL_FORMS
from trainer.lesson.runner import LessonRunner
from trainer.lesson.spec import Lesson

Progress = Callable[[str], None]
"""Told in words how far it is; it may raise, to end the work."""
_ITEMS_AT_ONCE = 50


@dataclass(frozen=True, slots=True)
class AffectedLesson:
    """A lesson that the edit touches.

    Attributes:
        lesson: Its id.
        prompts: Numbers of the prompts whose right answer changes.
        problem: Why it can't be flown any more, or an empty text.
    """

    lesson: str
    prompts: tuple[int, ...]
    problem: str = ""


@dataclass(frozen=True, slots=True)
class Impact:
    """All that an edit changes.

    Attributes:
        lessons: Those whose right answers change, or that don't fly any more.
        items: Ids of the items of the bank that don't hold any more.
        rules: Rules and refusals that act otherwise.
        competencies: Ids of those for which readiness must be shown again.
        has_other_aircraft: Another aircraft flies than before.
    """

    groups: tuple[Group, ...]
    comparison: Comparison
    lessons: tuple[AffectedLesson, ...]
    items: tuple[str, ...]
    rules: tuple[str, ...]
    competencies: tuple[str, ...]
    has_other_aircraft: bool = False

    @property
    def kinds(self) -> int:
        """How many kinds of situation change."""
        return sum(len(group.kinds) for group in self.groups)

    @property
    def sentence(self) -> str:
        """What changes, in one sentence."""
        kinds = self.kinds
        if not kinds and not self.comparison.values and not self.has_other_aircraft:
            return "This changes nothing."
        parts = [
            _counted(len(self.lessons), "lesson"), _counted(len(self.items), "item"),
            _counted(len(self.competencies), "competency", "competencies"),
        ]  # fmt: skip
        what = _counted(kinds, "kind of situation", "kinds of situation")
        if not kinds:
            what = "no situation on the strip, only how it flies"
        return f"This changes {what}; it affects {', '.join(parts)}."


def edit_impact(
    found: Comparison,
    ships: tuple[Ship, Ship],
    *,
    lessons: Collection[Lesson] = (),
    items: Collection[Item] = (),
    competencies: Mapping[str, Competency] | None = None,
    weight: Weight = lambda _: 0.0,
    progress: Progress = lambda _: None,
) -> Impact:
    """Return what an edit changes.

    Args:
        found: The comparison of the installation before and after the edit.
        ships: The ship before and after.
        lessons: Lessons of this installation.
        items: Items of its bank, as they were before.
        competencies: By id; for those whose rules change, readiness must be shown again.
        weight: How often a difference is met, for the order.
        progress: Told after each lesson, and now and then between items.
    """
    before, after = ships
    old, new = before.logic.installation, after.logic.installation
    rules = changed_rules(old, new)
    known = competencies or {}
    touched = []
    for number, lesson in enumerate(lessons, 1):
        progress(f"Flying lessons again: {number} of {len(lessons)}")
        touched.append(affected_lesson(lesson, before, after))
    return Impact(
        group_by_cause(found, (), weight),
        found,
        tuple(one for one in touched if one is not None),
        affected_items(items, after, progress),
        rules,
        _competencies_resting_on(rules, old, new, known),
        old.aircraft != new.aircraft,
    )


def changed_rules(before: Installation, after: Installation) -> tuple[str, ...]:
    """Return the rules and refusals that an edit adds, takes away or makes act otherwise."""
    split = set(split_signals(before, after))
    old, new = (_rules(ship) for ship in (before, after))
    changed = [
        name
        for name in {**old, **new}
        if old.get(name) != new.get(name) or signals_in(new[name].guard) & split
    ]
    return tuple(changed)


def _competencies_resting_on(
    rules: Collection[str], old: Installation, new: Installation, known: Iterable[str]
) -> tuple[str, ...]:
    """Return which competencies answers about some rules count for, before an edit or after it."""
    found = {
        competency
        for both in (_rules(old), _rules(new))
        for name in rules
        if name in both
        for competency in competencies_resting_on(both[name])
    }
    return tuple(name for name in known if name in found)


def _rules(ship: Installation) -> dict[str, RuleSpec | RefusalSpec]:
    return ship.chart.rules_and_refusals


def affected_lesson(lesson: Lesson, before: Ship, after: Ship) -> AffectedLesson | None:
    """Return how an edit touches a lesson, None if every answer stays."""
    if lesson.installation != before.name:
        return None
    try:
        old = _prompts(lesson, before)
    except TrainerError:
        return None
    try:
        new = _prompts(lesson, after)
    except TrainerError as error:
        return AffectedLesson(lesson.id, (), str(error))
    changed = tuple(
        one.prompt.number for one, other in zip(old, new, strict=True) if _differs(one, other)
    )
    return AffectedLesson(lesson.id, changed) if changed else None


def affected_items(
    items: Collection[Item], after: Ship, progress: Progress = lambda _: None
) -> tuple[str, ...]:
    """Return the ids of the items that don't fly any more as they say."""
    found = []
    for number, item in enumerate(items):
        if number % _ITEMS_AT_ONCE == 0:
            progress(f"Flying items again: {number} of {len(items)}")
        try:
            verify(item, after.begin)
        except ItemError:
            found.append(item.id)
    return tuple(found)


def _prompts(lesson: Lesson, ship: Ship) -> tuple[FlownPrompt, ...]:
    runner = LessonRunner(lesson, lambda: ship.begin(lesson.start))
    runner.forms = ALL_FORMS
    return fly(runner).prompts


def _differs(one: FlownPrompt, other: FlownPrompt) -> bool:
    """True if what is right differs: strip, refusal, choice, or a number beyond its tolerance."""
    old, new = one.answer, other.answer
    if one.prompt.form == "choice":
        return old.accepted != new.accepted
    if old.number is not None and new.number is not None:
        return abs(old.number - new.number) > old.tolerance
    refusals = [
        [r.refusal.rule_id for r in answer.records if r.refusal is not None]
        for answer in (old, new)
    ]
    return old.after != new.after or refusals[0] != refusals[1]


def _counted(count: int, word: str, plural: str = "") -> str:
    return f"{count} {word if count == 1 else plural or word + 's'}"
