"""Finds for each kind of difference the shortest flight that shows it in both ships.

Starts are tried in which the strips that come before the difference can be shown; both ships
begin the same flight, and every key, selector or wait is tried on forks of both. What is then
seen is matched with the kinds of the product search. Nothing is taken from the search but where
to look: a difference counts as flown only if both flights show it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from trainer.assessment.differences.differences import FlownDifference
from trainer.assessment.differences.differences_play import Played, Ship, play_stimulus
from trainer.assessment.differences.differences_scenes import between_limits, scenes_for_both
from trainer.assessment.items.item import FlownSituation, ItemError, fly_to
from trainer.assessment.items.moment_words import moment_words
from trainer.assessment.items.scene import Scene
from trainer.charts.causes import Attribution, Parting
from trainer.charts.compare import Comparison, Difference
from trainer.charts.guard import Configuration
from trainer.charts.joint import SECOND, join
from trainer.charts.kernel import AUTOMATIC
from trainer.charts.shown import Shown, shown
from trainer.lesson.spec import Predict
from trainer.session.selectors import SELECTORS
from trainer.session.session import STEP_S, Session
from trainer.session.situation import StartModes

MOST_WAITS = 4
"""Waits flown for one kind in one scene at most, in each round."""
_STARTS, _STARTS_OF_A_VARIANT = 480, 60
"""Starts tried for one kind at most, waits counting more.

A variant is another kind with something more besides.
"""
SETTLED_S = 2.0
"""A difference that comes by itself must last so long [s]; ships don't turn in quite alike."""
_NEW_ALTITUDES_FT = (1000.0, -1000.0)
_COST_OF_A_WAIT = 4
Likeliness = Callable[[Shown, str], float]
"""How often a strip is met by an event in ordinary flying."""
Key = tuple[tuple[str, ...], str, tuple[tuple[str, str, str], ...], str, str]
"""Causes, event, contrast and both refusals: what tells a kind from all others."""
Progress = Callable[[int, int], None]
"""Called with the scenes done and their number."""


@dataclass(frozen=True, slots=True)
class _Pair:
    """Both ships in the same flight, their strips alike."""

    scene: Scene
    situation: FlownSituation
    first: Session
    second: Session


def fly_differences(
    found: Comparison,
    first: Ship,
    second: Ship,
    likely: Likeliness,
    *,
    progress: Progress | None = None,
    examples: int = 1,
) -> tuple[FlownDifference, ...]:
    """Return flown examples of every kind of difference for which one was found.

    Args:
        found: The product search over the same two ships.
        first: The ship that is known.
        second: The other.
        likely: How often a strip is met by an event; likelier ones are tried first.
        progress: Called after each scene.
        examples: How many of each kind are looked for, in different situations.
    """
    return _Search(found, (first, second), likely, examples).run(progress)


@dataclass(frozen=True, slots=True)
class _Candidate:
    """Modes to begin in, and how likely their strip is in ordinary flying."""

    modes: StartModes
    likeliness: float


@dataclass(frozen=True, slots=True)
class _Round:
    """One scene with the likeliest modes of each kind, at most so many.

    Attributes:
        presses: One key is pressed first.
        only_limits: Only for kinds that a limit causes.
    """

    scene: Scene
    most: int
    presses: bool = False
    only_limits: bool = False


class _Search:
    def __init__(
        self, found: Comparison, ships: tuple[Ship, Ship], likely: Likeliness, examples: int
    ) -> None:
        self._examples = examples
        self._ships = ships
        installations = ships[0].logic.installation, ships[1].logic.installation
        self._installations = installations
        self._joint = join(*installations)
        self._attribution = Attribution(*installations, self._joint)
        self._kinds = {key_of(one): one for one in found.differences}
        self._open = dict.fromkeys(self._kinds)
        self._by_before: dict[Shown, list[Key]] = {}
        for key, kind in self._kinds.items():
            for before in kind.befores:
                self._by_before.setdefault(before, []).append(key)
        self._only_limits = False
        self._left = {key: self._budget(key) for key in self._kinds}
        self._flown: dict[Key, list[FlownDifference]] = {key: [] for key in self._kinds}
        self._keys = [
            event.id
            for event in installations[0].chart.events.values()
            if event.kind == "key" and event.id in installations[1].chart.events
        ]
        self._candidates = self._all_candidates(likely)

    def _budget(self, key: Key) -> int:
        causes, event, contrast, *refusals = key
        is_variant = any(
            other[:2] == (causes, event) and other[3:] == tuple(refusals)
            and set(other[2]) < set(contrast)
            for other in self._kinds
        )  # fmt: skip
        return _STARTS_OF_A_VARIANT if is_variant else _STARTS

    def run(self, progress: Progress | None) -> tuple[FlownDifference, ...]:
        every = scenes_for_both(*self._installations)
        between = between_limits(*self._installations)
        rounds = [_Round(scene, 8, only_limits=True) for scene in between]
        rounds += [_Round(scene, 8) for scene in every]
        rounds += [_Round(scene, 2, presses=True) for scene in every if scene.is_calm]
        rounds += [_Round(scene, 30) for scene in every]
        for number, one in enumerate(rounds, 1):
            if self._open:
                self._fly_scene(one)
            if progress is not None:
                progress(number, len(rounds))
        return tuple(one for examples in self._flown.values() for one in examples)

    def _all_candidates(self, likely: Likeliness) -> dict[Key, list[_Candidate]]:
        """Return for each kind the modes in which a start can be before it, likeliest first."""
        found: dict[Key, list[_Candidate]] = {key: [] for key in self._kinds}
        for before, keys in self._by_before.items():
            modes = _modes(before, self._ships[0])
            if modes is not None:
                for key in keys:
                    likeliness = likely(before, self._kinds[key].event)
                    found[key].append(_Candidate(modes, likeliness))
        for one in found.values():
            one.sort(key=lambda c: (-c.likeliness, len(c.modes.armed), str(c.modes)))
        return found

    def _fly_scene(self, this: _Round) -> None:
        self._only_limits = this.only_limits
        tried: set[StartModes] = set()
        for kind in list(self._open):
            if this.only_limits and not _is_of_a_limit(kind):
                continue
            is_wait = self._kinds[kind].event == AUTOMATIC and this.scene.wait_s > 0.0
            waits = MOST_WAITS if is_wait else 0
            for one in self._candidates[kind][: this.most]:
                if kind not in self._open:
                    break
                if (one.modes in tried and not waits) or self._left[kind] <= 0:
                    continue
                tried.add(one.modes)
                self._left[kind] -= 1 if waits <= 0 else _COST_OF_A_WAIT
                pair = self._begin(this.scene, one.modes)
                if pair is None:
                    continue
                waits -= self._try_all(pair, may_wait=waits > 0)
                for key in self._keys if this.presses else ():
                    further = self._after(pair, key)
                    if further is not None:
                        waits -= self._try_all(further, may_wait=waits > 0)

    def _begin(self, scene: Scene, modes: StartModes) -> _Pair | None:
        name = "+".join((modes.engagement, modes.lateral, modes.vertical, *modes.armed))
        situation = FlownSituation(f"{scene.id}/{name}", scene.words, scene.with_modes(modes))
        try:
            sessions = [fly_to(situation, ship.begin) for ship in self._ships]
        except ItemError:
            return None
        if sessions[0].annunciation != sessions[1].annunciation:
            return None
        situation = replace(situation, words=moment_words(sessions[0]))
        return _Pair(scene, situation, sessions[0], sessions[1])

    def _after(self, pair: _Pair, key: str) -> _Pair | None:
        """Return the pair one key further, if the strips are alike and come before a difference."""
        first, second = pair.first.fork(), pair.second.fork()
        for session in (first, second):
            session.press(key)
        if (
            first.annunciation == pair.first.annunciation
            or first.annunciation != second.annunciation
            or not self._open_after(self._shown(first))
            or _modes(self._shown(first), self._ships[0]) is not None
        ):
            return None
        start = pair.situation
        situation = replace(start, id=f"{start.id}/{key}", presses=(key,))
        try:
            sessions = [fly_to(situation, ship.begin) for ship in self._ships]
        except ItemError:
            return None
        if sessions[0].annunciation != sessions[1].annunciation:
            return None
        situation = replace(situation, words=moment_words(sessions[0]))
        return _Pair(pair.scene, situation, sessions[0], sessions[1])

    def _shown(self, session: Session) -> Shown:
        ship = session.installation
        return shown(ship.chart, ship.generic, session.configuration)

    def _open_after(self, before: Shown) -> list[Key]:
        """Return the kinds still open that can follow a strip."""
        return [key for key in self._by_before.get(before, ()) if key in self._open]

    def _try_all(self, pair: _Pair, *, may_wait: bool) -> int:
        """Try everything that an open kind may follow; return the number of waits flown."""
        events = {self._kinds[key].event for key in self._open_after(self._shown(pair.first))}
        for stimulus, event in self._stimuli(pair):
            if event in events:
                self._try(pair, stimulus, event)
        if not may_wait or not any(self._kinds[key].event == AUTOMATIC for key in self._open):
            return 0
        self._wait(pair)
        return 1

    def _stimuli(self, pair: _Pair) -> Iterator[tuple[Predict, str]]:
        for key in self._keys:
            yield Predict("after_key", key, 0.0), key
        references = pair.first.references
        event = SELECTORS["selected_altitude_ft"].event or ""
        for step_ft in _NEW_ALTITUDES_FT:
            value = references.selected_altitude_ft + step_ft
            yield Predict("after_set", "", 0.0, values=(("selected_altitude_ft", value),)), event
        for name in pair.first.flight.sources:
            if references.source_id and name != references.source_id:
                yield (
                    Predict("after_set", "", 0.0, values=(("source", name),)),
                    ("navigation_source_changed"),
                )

    def _wait(self, pair: _Pair) -> None:
        """Let both fly on until their strips part and stay apart, and match what came first."""
        first, second = pair.first.fork(), pair.second.fork()
        before, resting = self._shown(first), second.configuration
        apart_s, bits, steps = 0.0, 0, 0
        while apart_s < SETTLED_S and steps * STEP_S < pair.scene.wait_s:
            first.step()
            second.step()
            steps += 1
            if first.annunciation != second.annunciation:
                if apart_s == 0.0:
                    bits = self._joint_bits(first.bits, second.bits)
                apart_s += STEP_S
            elif apart_s > 0.0 or second.configuration != resting:
                before, resting, apart_s = self._shown(first), second.configuration, 0.0
        if apart_s < SETTLED_S or not self._open_after(before):
            return
        wait = Predict("after_time", "", round(steps * STEP_S, 2))
        played = [play_stimulus(session, wait) for session in (pair.first, pair.second)]
        key = self._kind_of(AUTOMATIC, resting, bits, played)
        if key is not None and (_is_of_a_limit(key) or not self._only_limits):
            self._keep(key, pair, wait, played)

    def _try(self, pair: _Pair, stimulus: Predict, event: str) -> None:
        played = [play_stimulus(session, stimulus) for session in (pair.first, pair.second)]
        sides = [one.side for one in played]
        if (sides[0].after, sides[0].refusal_id) == (sides[1].after, sides[1].refusal_id):
            return
        bits = self._joint_bits(played[0].bits, played[1].bits)
        key = self._kind_of(event, pair.second.configuration, bits, played)
        if key is not None and (_is_of_a_limit(key) or not self._only_limits):
            self._keep(key, pair, stimulus, played)

    def _keep(self, key: Key, pair: _Pair, stimulus: Predict, played: list[Played]) -> None:
        made = FlownDifference(
            self._kinds[key], pair.situation, stimulus, pair.first.annunciation,
            played[0].side, played[1].side,
        )  # fmt: skip
        known = self._flown[key]
        if all(one.before != made.before or one.stimulus != stimulus for one in known):
            known.append(made)
        if len(known) >= self._examples:
            del self._open[key]

    def _kind_of(
        self, event: str, configuration: Configuration, bits: int, played: list[Played]
    ) -> Key | None:
        """Return the open kind that was flown, its causes found by trying on this flight."""
        after = [self._shown(one.session) for one in played]
        refusals = played[0].side.refusal_id, played[1].side.refusal_id
        contrast = tuple(
            (region, mine, theirs)
            for (region, mine), (_, theirs) in zip(*after, strict=True)
            if mine != theirs and refusals[0] == refusals[1]
        )
        alike = [key for key in self._open if key[1:] == (event, contrast, *refusals)]
        if not alike:
            return None
        wanted = (after[0] if refusals[0] == refusals[1] else None, refusals[0])
        (causes,) = self._attribution.causes((Parting(event, configuration, bits, wanted),))
        # In the air two limits on one quantity are passed together, so one more may be involved.
        alike = [key for key in alike if set(key[0]) <= set(causes)]
        return max(alike, key=lambda key: len(key[0]), default=None)

    def _joint_bits(self, mine: int, theirs: int) -> int:
        bit = self._joint.first.signal_bit
        for name in self._joint.split:
            mine |= (theirs >> bit[name] & 1) << bit[name + SECOND]
        return mine


def key_of(one: Difference) -> Key:
    """Return what tells a kind of difference from all others."""
    return (one.causes, one.event, one.contrast, one.first.refusal, one.second.refusal)


def _is_of_a_limit(key: Key) -> bool:
    return any(cause.startswith("limit:") for cause in key[0])


def _modes(before: Shown, ship: Ship) -> StartModes | None:
    """Return the modes with which a start shows this strip, None if no start can."""
    chart = ship.logic.installation.chart
    states = dict(before)
    for name, state in before:
        region = chart.regions.get(name)
        if region is None or region.kind in ("alert", "protection", "internal"):
            if region is not None and state != region.initial:
                return None
        elif state not in region.states:
            return None
    armed = tuple(
        region.arms
        for region in chart.regions.values()
        if region.kind == "armed" and states[region.id] != region.initial
    )
    return StartModes(states["engagement"], states["lateral"], states["vertical"], armed)
