"""Several keys pressed one after the other, chosen so that many wrong rules answer differently.

One key exposes a handful of wrong rules at best. After two or three keys, with the strip asked for
only after the last, wrong rules about each of them show at once, and in different strips.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass, field
from math import log2

from trainer.assessment.items.item_maker import Draft, ItemMaker
from trainer.assessment.items.phases import Each, each_untold
from trainer.assessment.items.situations import Flown
from trainer.assessment.wrong_rules.library import Library
from trainer.charts.guard import Configuration
from trainer.charts.kernel import AUTOMATIC, Kernel, Point, Row, UnsettledError, rows_of
from trainer.session.annunciation import Annunciation

LONGEST = 3
"""More keys than this can't be kept in mind as one question."""
_BEAM = 6
_KEPT_OF_A_SITUATION = 8
_SITUATIONS_OF_A_SCENE = 4
_COVERED_OF_A_SCENE = 10
_ONCE_MORE = 0.3
_WORN = 0.8
"""What a wrong rule still counts, each time that a chosen sequence already shows it."""


@dataclass(frozen=True, slots=True)
class _Path:
    keys: tuple[str, ...]
    true: Configuration
    strayed: dict[str, Configuration]
    """Where the beliefs are that are not where the truth is."""


@dataclass(slots=True)
class SequenceSearch:
    """Looks for telling sequences of keys in flown situations of one installation.

    Args:
        library: The misconceptions fitted to the installation.
    """

    library: Library
    _differing: dict[tuple[Configuration, int, str], tuple[Configuration, list[str]]] = field(
        default_factory=dict
    )

    def best(self, flown: Flown) -> list[tuple[str, ...]]:
        """Return the most telling sequences of two keys and more in a situation."""
        chart = self.library.logic.installation.chart
        keys = [event.id for event in chart.events.values() if event.kind == "key"]
        denied = {
            name
            for name, belief in self.library.beliefs.items()
            if not belief.kernel.is_at_rest(flown.configuration, flown.bits)
        }
        beam = [_Path((), flown.configuration, {})]
        found: list[_Path] = []
        for _ in range(LONGEST):
            longer = [
                self._pressed(path, key, flown.bits, denied)
                for path in beam
                for key in keys
                if path.keys[-1:] != (key,)
            ]
            longer.sort(key=lambda path: -self._bits(path))
            beam = longer[:_BEAM]
            found.extend(path for path in beam if len(path.keys) > 1)
        found.sort(key=lambda path: -self._bits(path))
        return [path.keys for path in found[:_KEPT_OF_A_SITUATION]]

    def _pressed(self, path: _Path, key: str, bits: int, denied: set[str]) -> _Path:
        place = (path.true, bits, key)
        known = self._differing.get(place)
        if known is None:
            points = self.library.truth.points(path.true, bits, key)
            known = (points[-1][1], self.library.differing(points))
            self._differing[place] = known
        true, differing = known
        strayed: dict[str, Configuration] = {}
        # In a fixed order: the same seed makes the same bank on every computer.
        for name in dict.fromkeys((*path.strayed, *differing)):
            if name in denied:
                continue
            kernel = self.library.beliefs[name].kernel
            try:
                here = kernel.send_all(path.strayed.get(name, path.true), bits, (key,))
            except UnsettledError:
                continue
            if here != true:
                strayed[name] = here
        return _Path((*path.keys, key), true, strayed)

    def _bits(self, path: _Path) -> float:
        """Information in the final strip if every belief is as likely [bit]; 0.0 without any."""
        show = self.library.logic.annunciation
        true = show(path.true)
        groups = Counter(show(here) for here in path.strayed.values())
        groups[true] += len(self.library.beliefs) - len(path.strayed)
        total = sum(groups.values())
        return -sum(n / total * log2(n / total) for n in sorted(groups.values()) if n)


def sequence_drafts(
    flown: list[Flown],
    maker: ItemMaker,
    library: Library,
    most: int,
    seed: int,
    *,
    each: Each[Flown] = each_untold,
) -> list[Draft]:
    """Return drafts of telling sequences, each kind once, the most useful first.

    Args:
        flown: The situations.
        maker: Makes the drafts.
        library: The misconceptions fitted to the installation.
        most: How many are wanted.
        seed: Which situations of a scene are looked at.
        each: Goes through the situations.
    """
    search = SequenceSearch(library)
    by_kind: dict[str, Draft] = {}
    for one in each(_some_of_each_scene(flown, seed)):
        for keys in search.best(one):
            draft = maker.sequence(one, keys)
            if len(draft.item.answers) > 1:
                by_kind.setdefault(draft.item.kind, draft)
    return _spread(list(by_kind.values()), most)


@dataclass(frozen=True, slots=True)
class _Walk:
    keys: tuple[str, ...] = ()
    points: tuple[Point, ...] = ()

    @property
    def rows(self) -> dict[Row, None]:
        """The rows of the chart that its keys meet, in order."""
        met = [point for point in self.points if point[0] != AUTOMATIC]
        return {row: None for point in met for row in rows_of(point)}


def covering_drafts(
    flown: list[Flown],
    maker: ItemMaker,
    truth: Kernel,
    most: int,
    seed: int,
    *,
    each: Each[Flown] = each_untold,
) -> list[Draft]:
    """Return drafts of sequences that together meet every key in every state, each kind once.

    Args:
        flown: The situations.
        maker: Makes the drafts.
        truth: The true chart.
        most: How many are wanted.
        seed: In which order situations are looked at.
        each: Goes through the situations.
    """
    worn: Counter[Row] = Counter()
    found: dict[str, Draft] = {}
    for one in each(_some_of_each_scene(flown, seed + 1, _COVERED_OF_A_SCENE)):
        if len(found) >= most:
            break
        walk = _widest(one, truth, worn)
        draft = maker.sequence(one, walk.keys)
        if draft.item.kind not in found:
            found[draft.item.kind] = draft
            worn.update(list(walk.rows))
    return list(found.values())


def _widest(flown: Flown, truth: Kernel, worn: Counter[Row]) -> _Walk:
    """Return the keys that meet most of what is least met."""
    keys = [event.id for event in truth.chart.events.values() if event.kind == "key"]
    beam = [_Walk()]
    for _ in range(LONGEST):
        longer: list[_Walk] = []
        for walk in beam:
            here = walk.points[-1][1] if walk.points else flown.configuration
            longer.extend(
                _Walk((*walk.keys, key), (*walk.points, *truth.points(here, flown.bits, key)))
                for key in keys
                if key not in walk.keys
            )
        longer.sort(key=lambda walk: -sum(_ONCE_MORE ** worn[row] for row in walk.rows))
        beam = longer[:_BEAM]
    return beam[0]


def _some_of_each_scene(
    flown: list[Flown], seed: int, most: int = _SITUATIONS_OF_A_SCENE
) -> list[Flown]:
    chance = random.Random(f"sequences {seed}")  # noqa: S311 - which situations, not a secret
    mixed = [one for one in flown if not one.situation.presses]
    chance.shuffle(mixed)
    count: Counter[str] = Counter()
    found: list[Flown] = []
    for one in mixed:
        count[one.scene.id] += 1
        if count[one.scene.id] <= most:
            found.append(one)
    return found


def _spread(drafts: list[Draft], most: int) -> list[Draft]:
    """Return drafts that tell much and together show every wrong rule often."""
    worth: dict[str, float] = {}
    chosen: list[Draft] = []
    left = list(drafts)
    while left and len(chosen) < most:
        best = max(left, key=lambda draft: _worth(draft, worth))
        left.remove(best)
        chosen.append(best)
        for name in best.item.answers:
            worth[name] = worth.get(name, 1.0) * _WORN
    return chosen


def _worth(draft: Draft, worth: dict[str, float]) -> float:
    groups: dict[Annunciation, float] = {}
    for name, answer in draft.item.answers.items():
        groups[answer] = groups.get(answer, 0.0) + worth.get(name, 1.0)
    total = 70.0
    return sum(w / total * log2(total / w) for w in sorted(groups.values()))
