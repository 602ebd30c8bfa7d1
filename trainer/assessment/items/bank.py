"""The item bank of an installation, computed from its explored and flown situations.

For every situation and everything that can happen next: the true answer, the answer under each
misconception, and so the groups of misconceptions that the item tells apart. Of each kind of
item (same event, same groups) a few situations are kept, so that no member sees one twice and
parallel forms can be drawn.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

from trainer.assessment.items.item import Begin, FlownSituation, Item
from trainer.assessment.items.item_maker import Draft, ItemMaker, Mark, flown_rules
from trainer.assessment.items.moment_words import moment_words
from trainer.assessment.items.phases import Phases, Watch
from trainer.assessment.items.scene import Scene, scenes
from trainer.assessment.items.sequences import covering_drafts, sequence_drafts
from trainer.assessment.items.situations import Flown, flown_situations
from trainer.assessment.wrong_rules.library import Library
from trainer.assessment.wrong_rules.mutants import unlisted_rules

MOST_OF_A_KIND = 8
SEQUENCES = 160
LEAST_OF_A_RULE = 12
"""Items that show a listed wrong rule are kept up to this number, however alike they are."""
LEAST_OF_A_MARK = 3
"""The same for a row of the chart with its outcome, and for a wrong rule made from the chart."""
LONGEST_WAITS = 24
"""Situations of one scene in which a wait is flown at most."""
_WEIGHTS = {
    "situations": 15.0, "instants": 16.0, "waits": 16.0, "telling": 8.0, "covering": 4.0,
    "choice": 4.0, "answers": 37.0,
}  # fmt: skip
"""What share of the time each phase takes, in the order of the phases [%]; measured."""


@dataclass(slots=True)
class Bank:
    """The items of one installation.

    Attributes:
        exposed: Misconceptions that some item tells from the truth.
        unexposed: Those that no item does; they can't be diagnosed here.
        rejected: Items computed from the logic whose flight came out otherwise.
        unseen: Those that no strip ever does: proved, so they are left out of the library.
    """

    installation: str
    items: tuple[Item, ...]
    unexposed: tuple[str, ...] = ()
    rejected: int = 0
    unseen: tuple[str, ...] = ()

    @property
    def exposed(self) -> tuple[str, ...]:
        """Misconceptions that some item exposes, in order of their first item."""
        return tuple(dict.fromkeys(name for item in self.items for name in item.answers))

    @property
    def kinds(self) -> dict[str, list[Item]]:
        """Items by kind."""
        found: dict[str, list[Item]] = {}
        for item in self.items:
            found.setdefault(item.kind, []).append(item)
        return found

    def item(self, name: str) -> Item:
        """Return an item by id; KeyError if there is none."""
        for item in self.items:
            if item.id == name:
                return item
        raise KeyError(name)


class _Kept:
    """The drafts kept so far: a few of each kind, and more of what else would hardly be asked."""

    def __init__(self, most_of_a_kind: int) -> None:
        self.drafts: list[Draft] = []
        self._most_of_a_kind = most_of_a_kind
        self._kinds: Counter[str] = Counter()
        self._marks: Counter[Mark] = Counter()
        self._rules: Counter[str] = Counter()

    def wants(self, draft: Draft) -> bool:
        return (
            self._kinds[draft.item.kind] < self._most_of_a_kind
            or any(self._marks[mark] < LEAST_OF_A_MARK for mark in draft.marks)
            or any(self._rules[name] < LEAST_OF_A_RULE for name in draft.item.answers)
        )

    def take(self, draft: Draft) -> None:
        self.drafts.append(draft)
        self._kinds[draft.item.kind] += 1
        self._marks.update(draft.marks)
        self._rules.update(draft.item.answers.keys())


class _Told:
    """Situations whose words are about the moment of the question, not about the start."""

    def __init__(self) -> None:
        self._situations: dict[str, FlownSituation] = {}

    def item(self, item: Item, draft: Draft) -> Item:
        """Return an item that tells of its moment."""
        flown = draft.flown
        name = flown.situation.id
        if name not in self._situations:
            words = moment_words(flown.session)
            self._situations[name] = replace(flown.situation, words=words)
        return replace(item, situation=self._situations[name])


def build_bank(
    library: Library,
    begin: Begin,
    flights: tuple[Scene, ...] | None = None,
    *,
    seed: int = 1,
    most_of_a_kind: int = MOST_OF_A_KIND,
    sequences: int = SEQUENCES,
    watch: Watch = lambda _: None,
) -> Bank:
    """Return the item bank of an installation.

    Args:
        library: The misconceptions fitted to the installation.
        begin: Starts a session of the installation.
        flights: The scenes; None: all.
        seed: Which situations of a kind are kept.
        most_of_a_kind: How many items of one kind are kept.
        sequences: How many items of several keys are made, of those that tell listed rules apart
            and of those that meet every key in every state.
        watch: Told what part of the work is done; what it raises ends the work.
    """
    phases = Phases(watch, _WEIGHTS)
    logic = library.logic
    flights = scenes(logic.installation) if flights is None else flights
    flown = flown_situations(
        logic, flights, begin, library.truth, seed, each=phases.each("situations")
    )
    maker = ItemMaker(library, unlisted_rules(library), _usual_bits(flown))
    drafts = _drafts(flown, maker, library, sequences, seed, phases=phases)
    kept = _Kept(most_of_a_kind)
    rejected = 0
    for draft in phases.each("choice")(drafts):
        if not kept.wants(draft):
            continue
        rules = flown_rules(draft)
        if rules is None:
            rejected += 1
        else:
            kept.take(replace(draft, rules=rules))
    told = _Told()
    items = _numbered(
        told.item(maker.item(draft), draft) for draft in phases.each("answers")(kept.drafts)
    )
    exposed = {name for item in items for name in item.answers}
    unexposed = tuple(name for name in library.beliefs if name not in exposed)
    return Bank(logic.installation.id, items, unexposed, rejected)


def _drafts(
    flown: list[Flown],
    maker: ItemMaker,
    library: Library,
    sequences: int,
    seed: int,
    *,
    phases: Phases,
) -> list[Draft]:
    """Return drafts of all items, those of several keys last."""
    drafts = [draft for one in phases.each("instants")(flown) for draft in maker.instant(one)]
    for one in phases.each("waits")(_waiting(flown)):
        waited = maker.waiting(one)
        drafts.extend(() if waited is None else (waited,))
    chance = random.Random(seed)  # noqa: S311 - which situations are kept, not a secret
    chance.shuffle(drafts)
    telling, covering = phases.each("telling"), phases.each("covering")
    drafts.extend(sequence_drafts(flown, maker, library, sequences, seed, each=telling))
    drafts.extend(covering_drafts(flown, maker, library.truth, 2 * sequences, seed, each=covering))
    return drafts


def _usual_bits(flown: list[Flown]) -> int:
    """Return the signals as they are in most situations."""
    count = Counter(
        bit for one in flown for bit in range(one.bits.bit_length()) if one.bits >> bit & 1
    )
    return sum(1 << bit for bit, times in count.items() if 2 * times > len(flown))


def _numbered(items: Iterable[Item]) -> tuple[Item, ...]:
    """Return the items in a fixed order, kinds named by their first item."""
    ordered = sorted(items, key=lambda item: item.id)
    names: dict[str, str] = {}
    for item in ordered:
        names.setdefault(item.kind, item.id)
    return tuple(replace(item, kind=names[item.kind]) for item in ordered)


def _waiting(flown: list[Flown]) -> list[Flown]:
    """Return the situations in which a wait is flown: the fullest strips of each scene."""
    by_scene: dict[str, list[Flown]] = {}
    for one in flown:
        if one.scene.wait_s > 0.0 and not one.situation.presses:
            by_scene.setdefault(one.scene.id, []).append(one)
    found: list[Flown] = []
    for group in by_scene.values():
        group.sort(key=lambda one: -_fullness(one))
        found.extend(group[:LONGEST_WAITS])
    return found


def _fullness(one: Flown) -> int:
    shown = one.session.annunciation
    is_followed = shown.lateral.active in ("course_track", "approach_course", "back_course")
    return (
        2 * len(shown.lateral.armed) + 2 * len(shown.vertical.armed)
        + 2 * (shown.engagement == "autopilot")
        + 2 * (shown.vertical.active in ("altitude_capture", "glidepath"))
        + 2 * is_followed
    )  # fmt: skip
