"""A short check on the differences, for members who are ready on the ship they know.

Each item has one wrong answer that counts as a misconception: what the known ship would read.
Items on which the habit errs come first, one of each cause, then a second of each; a few on which
both ships agree come last, so that `it is always otherwise` is no way to pass.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from trainer.assessment.diagnosis.diagnosis import Declared
from trainer.assessment.differences.differences import FlownDifference, Group
from trainer.assessment.differences.differences_habit import foreseen_by_habit
from trainer.assessment.differences.differences_play import Ship
from trainer.assessment.items.item import Item, ItemError, Stimulus, fly_to, play
from trainer.assessment.items.item_subject import band_of, competency_of, critical_group
from trainer.lesson.answer import PromptPlay
from trainer.lesson.spec import Predict
from trainer.session.annunciation import Annunciation
from trainer.session.selectors import SELECTORS

ITEMS_OF_A_HABIT = 2
AGREEING_ITEMS = 3
DECLARED = Declared()
_PRIOR = 0.5
"""Before the first answer a habit is as likely carried over as not."""


def habit_of(causes: Iterable[str]) -> str:
    """Return the id of the habit that some settings of the known ship make.

    Example:
        >>> habit_of(["option:go_around_autopilot"])
        'habit:go_around_autopilot'
    """
    return "habit:" + "+".join(cause.split(":", 1)[1] for cause in causes)


@dataclass(frozen=True, slots=True)
class DifferencesCheck:
    """The check from one ship to another.

    Attributes:
        first: Installation that the member knows.
        second: Installation that the member is to fly.
        items: In the order in which they are asked.
        untested: Habits that no strip can show wrong, or that no flight was found for.
    """

    first: str
    second: str
    items: tuple[Item, ...]
    untested: tuple[str, ...]

    @property
    def habits(self) -> tuple[str, ...]:
        """Habits that the items can expose, in order of their first item."""
        return tuple(dict.fromkeys(name for item in self.items for name in item.answers))


@dataclass(frozen=True, slots=True)
class HabitFinding:
    """What the answers say of one habit."""

    habit: str
    probability: float
    fitting: tuple[str, ...]
    """Ids of the items answered as the known ship would."""

    def is_carried(self, declared: Declared = DECLARED) -> bool:
        """True if it is carried over with certainty."""
        return self.probability >= declared.certainty


def build_check(
    groups: Sequence[Group],
    flown: Sequence[FlownDifference],
    first: Ship,
    second: Ship,
    items_of_a_habit: int = ITEMS_OF_A_HABIT,
) -> DifferencesCheck:
    """Return the check.

    Args:
        groups: The differences by cause, the gravest first.
        flown: Their flown examples, several of a kind if there are.
        first: The ship that the member knows.
        second: The ship that the check is about.
        items_of_a_habit: Items about each cause, if so many can be flown.
    """
    by_habit: dict[str, list[Item]] = {}
    untested = []
    for group in groups:
        habit = habit_of(group.causes)
        kinds = {id(kind): place for place, kind in enumerate(group.kinds)}
        examples = [one for one in flown if id(one.difference) in kinds and one.is_on_the_strip]
        examples.sort(key=lambda one: kinds[id(one.difference)])
        made = list(_distinct(_spread(examples), habit, first, second, items_of_a_habit))
        if made:
            by_habit[habit] = made
        else:
            untested.append(habit)
    turns = [
        made[turn]
        for turn in range(items_of_a_habit)
        for made in by_habit.values()
        if turn < len(made)
    ]
    agreeing = _agreeing(turns, first, second)
    return DifferencesCheck(first.name, second.name, (*turns, *agreeing), tuple(untested))


def _spread(examples: list[FlownDifference]) -> list[FlownDifference]:
    """Return examples of different kinds first, then second ones of the same kind."""
    seen: dict[int, int] = {}
    ranked = []
    for place, one in enumerate(examples):
        rank = seen[id(one.difference)] = seen.get(id(one.difference), -1) + 1
        ranked.append((rank, place, one))
    return [one for _, _, one in sorted(ranked, key=lambda entry: entry[:2])]


def _distinct(
    examples: Iterable[FlownDifference], habit: str, first: Ship, second: Ship, most: int
) -> Iterator[Item]:
    seen: set[tuple[Annunciation, str]] = set()
    for one in examples:
        if len(seen) >= most:
            return
        item = _item(one.situation.id, one, habit, first, second)
        if item is not None and (item.before, item.stimulus.id) not in seen:
            seen.add((item.before, item.stimulus.id))
            yield item


def _stimulus(predict: Predict) -> Stimulus:
    if predict.kind == "after_key":
        return Stimulus("key", predict.key)
    if predict.kind == "after_set":
        name, value = predict.values[0]
        selector = SELECTORS.get(name)
        event = (selector.event if selector else None) or "navigation_source_changed"
        return Stimulus("set", event, name, value)
    return Stimulus("wait", wait_s=predict.horizon_s)


def _asked(stimulus: Stimulus) -> Predict:
    """Return the prompt that plays a stimulus, on whatever logic."""
    if stimulus.kind == "key":
        return Predict("after_key", stimulus.key, 0.0)
    if stimulus.kind == "set":
        return Predict("after_set", "", 0.0, values=((stimulus.name, stimulus.value),))
    return Predict("next_change", "", stimulus.wait_s)


def _item(name: str, one: FlownDifference, habit: str, first: Ship, second: Ship) -> Item | None:
    """Return the item of an example, or None if the habit answers it rightly all the same."""
    stimulus = _stimulus(one.stimulus)
    session = fly_to(one.situation, second.begin)
    foreseen = foreseen_by_habit(first.logic, session, _asked(stimulus))
    before, fork = session.annunciation, session.fork()
    prompt = PromptPlay(_asked(stimulus), fork)
    while not prompt.is_over:
        prompt.step()
    true = prompt.answer.after
    if foreseen is None or foreseen.after == true:
        return None
    item = Item(
        f"{name}/{stimulus.id}", one.situation, stimulus, before, true,
        {habit: foreseen.after}, prompt.answer.rule_ids, f"{habit}/{stimulus.id}", "", "plain",
        partition=((habit,),),
    )  # fmt: skip
    chart = second.logic.installation.chart
    # Where this ship does nothing, the question is about what the known one does there.
    subject = item if item.rules else replace(item, rules=foreseen.rule_ids)
    known = chart if item.rules else first.logic.installation.chart
    return replace(
        item, competency=competency_of(subject, known), band=band_of(item),
        critical=critical_group(item, chart),
    )  # fmt: skip


def _agreeing(items: Sequence[Item], first: Ship, second: Ship) -> list[Item]:
    """Return items in the same situations on which both ships do the same, and do something."""
    found: dict[str, Item] = {}
    chart = second.logic.installation.chart
    keys = [event.id for event in chart.events.values() if event.kind == "key"]
    for item in items:
        for key in keys:
            if len(found) >= AGREEING_ITEMS or key in found:
                continue
            agreed = _agreed(item, Stimulus("key", key), first, second)
            if agreed is not None:
                found[key] = agreed
                break
    return list(found.values())


def _agreed(item: Item, stimulus: Stimulus, first: Ship, second: Ship) -> Item | None:
    try:
        session = fly_to(item.situation, second.begin)
    except ItemError:
        return None
    foreseen = foreseen_by_habit(first.logic, session, _asked(stimulus))
    fork = session.fork()
    true = play(stimulus, fork)
    if foreseen is None or foreseen.after != true or true == item.before:
        return None
    rules = tuple(fired.id for record in fork.trace.records for fired in record.rules)
    made = replace(
        item, id=f"{item.situation.id}/{stimulus.id}", stimulus=stimulus, true=true, answers={},
        rules=rules, kind=f"agrees/{stimulus.id}", partition=(),
    )  # fmt: skip
    chart = second.logic.installation.chart
    return replace(
        made, competency=competency_of(made, chart), band=band_of(made),
        critical=critical_group(made, chart),
    )  # fmt: skip


def judge(
    check: DifferencesCheck,
    answers: Sequence[Annunciation],
    declared: Declared = DECLARED,
) -> tuple[HabitFinding, ...]:
    """Return what the answers say of each habit, by Bayes' rule from even odds.

    Args:
        check: The check.
        answers: One for each of the first items, in order.
        declared: Noise, and over how many strips a slip spreads.
    """
    hit, slip = 1.0 - declared.noise, declared.noise / declared.alternatives
    odds = dict.fromkeys(check.habits, _PRIOR / (1.0 - _PRIOR))
    fitting: dict[str, list[str]] = {name: [] for name in odds}
    for item, answer in zip(check.items, answers, strict=False):
        for name, wrong in item.answers.items():
            carried = hit if answer == wrong else slip
            sound = hit if answer == item.true else slip
            odds[name] *= carried / sound
            if answer == wrong:
                fitting[name].append(item.id)
    return tuple(
        HabitFinding(name, value / (1.0 + value), tuple(fitting[name]))
        for name, value in odds.items()
    )
