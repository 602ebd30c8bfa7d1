"""What an edit of an installation changes, told before it is saved.

Pure functions: the aircraft page and the board call them with the installation as it is and as it
would be. Situations come from the product search, lessons and items from flying them again.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from trainer.assessment.differences import Group, Weight, group_by_cause
from trainer.assessment.differences_play import Ship
from trainer.assessment.item import Item, ItemError, verify
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
    """All that an edit changes."""

    groups: tuple[Group, ...]
    comparison: Comparison
    lessons: tuple[AffectedLesson, ...]
    items: tuple[str, ...]
    rules: tuple[str, ...]
    competencies: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """What changes, in one sentence."""
        kinds = sum(len(group.kinds) for group in self.groups)
        if not kinds and not self.comparison.values:
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
    lessons: Iterable[Lesson] = (),
    items: Iterable[Item] = (),
    competencies: Mapping[str, Competency] | None = None,
    weight: Weight = lambda _: 0.0,
) -> Impact:
    """Return what an edit changes.

    Args:
        found: The comparison of the installation before and after the edit.
        ships: The ship before and after.
        lessons: Lessons of this installation.
        items: Items of its bank, as they were before.
        competencies: By id; for those whose rules change, readiness must be shown again.
        weight: How often a difference is met, for the order.
    """
    before, after = ships
    rules = changed_rules(before.logic.installation, after.logic.installation)
    known = competencies or {}
    return Impact(
        group_by_cause(found, (), weight),
        found,
        tuple(one for lesson in lessons if (one := affected_lesson(lesson, before, after))),
        affected_items(items, after),
        rules,
        tuple(name for name, one in known.items() if not set(rules).isdisjoint(one.rules)),
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


def _rules(ship: Installation) -> dict[str, RuleSpec | RefusalSpec]:
    return {**ship.chart.rules, **ship.chart.refusals}


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


def affected_items(items: Iterable[Item], after: Ship) -> tuple[str, ...]:
    """Return the ids of the items that don't fly any more as they say."""
    found = []
    for item in items:
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
