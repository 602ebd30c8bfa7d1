"""The item bank of an installation, computed from its explored and flown situations.

For every situation and everything that can happen next: the true answer, the answer under each
misconception, and so the groups of misconceptions that the item tells apart. Of each kind of
item (same event, same groups) a few situations are kept, so that no member sees one twice and
parallel forms can be drawn.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from trainer.assessment.items.item import Begin, FlownSituation, Item
from trainer.assessment.items.item_maker import Draft, ItemMaker, Mark
from trainer.assessment.items.moment_words import moment_words
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
    """The items kept so far: a few of each kind, and more of what else would hardly be asked."""

    def __init__(self, most_of_a_kind: int) -> None:
        self.items: list[Item] = []
        self._most_of_a_kind = most_of_a_kind
        self._kinds: Counter[str] = Counter()
        self._marks: Counter[Mark] = Counter()
        self._rules: Counter[str] = Counter()
        self._situations: dict[str, FlownSituation] = {}

    def wants(self, draft: Draft) -> bool:
        return (
            self._kinds[draft.item.kind] < self._most_of_a_kind
            or any(self._marks[mark] < LEAST_OF_A_MARK for mark in draft.marks)
            or any(self._rules[name] < LEAST_OF_A_RULE for name in draft.item.answers)
        )

    def take(self, item: Item, draft: Draft) -> None:
        self.items.append(replace(item, situation=self._told(draft.flown)))
        self._kinds[draft.item.kind] += 1
        self._marks.update(draft.marks)
        self._rules.update(item.answers.keys())

    def _told(self, flown: Flown) -> FlownSituation:
        """Return a situation with words about the moment of the question, not about the start."""
        name = flown.situation.id
        if name not in self._situations:
            words = moment_words(flown.session)
            self._situations[name] = replace(flown.situation, words=words)
        return self._situations[name]


def build_bank(
    library: Library,
    begin: Begin,
    flights: tuple[Scene, ...] | None = None,
    *,
    seed: int = 1,
    most_of_a_kind: int = MOST_OF_A_KIND,
    sequences: int = SEQUENCES,
    watch: Callable[[], None] = lambda: None,
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
        watch: Called before each wait and each item is flown; what it raises ends the work.
    """
    logic = library.logic
    flights = scenes(logic.installation) if flights is None else flights
    flown = flown_situations(logic, flights, begin, library.truth, seed)
    maker = ItemMaker(library, unlisted_rules(library), _usual_bits(flown))
    drafts = _drafts(flown, maker, library, sequences, seed, watch=watch)
    kept = _Kept(most_of_a_kind)
    rejected = 0
    for draft in drafts:
        if not kept.wants(draft):
            continue
        watch()
        item = maker.flown(draft)
        if item is None:
            rejected += 1
        else:
            kept.take(item, draft)
    items = _numbered(kept.items)
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
    watch: Callable[[], None],
) -> list[Draft]:
    """Return drafts of all items, those of several keys last."""
    drafts = [draft for one in flown for draft in maker.instant(one)]
    for one in _waiting(flown):
        watch()
        waited = maker.waiting(one)
        drafts.extend(() if waited is None else (waited,))
    chance = random.Random(seed)  # noqa: S311 - which situations are kept, not a secret
    chance.shuffle(drafts)
    drafts.extend(sequence_drafts(flown, maker, library, sequences, seed))
    drafts.extend(covering_drafts(flown, maker, library.truth, 2 * sequences, seed))
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
