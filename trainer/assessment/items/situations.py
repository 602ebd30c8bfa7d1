"""Every situation that can be flown: scenes with the modes that hold in them.

The honest criterion: the modes can be come by with what is tuned in the scene and as near to
course, path and altitude as it is, the simulator begins the flight in them, the logic leaves them
alone, and the strip is still the same a second later.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from trainer.assessment.items.item import (
    Begin,
    FlownSituation,
    ItemError,
    fly_to,
    lead_to_question,
)
from trainer.assessment.items.normal_flight import explore_with, held_in
from trainer.assessment.items.phases import Each, each_untold
from trainer.assessment.items.scene import Scene
from trainer.charts.explore import Exploration
from trainer.charts.guard import Configuration
from trainer.charts.kernel import Kernel
from trainer.charts.spec import ChartSpec
from trainer.session.logic import Logic
from trainer.session.session import Session
from trainer.session.situation import SituationError, StartModes

MOST_OF_A_SCENE = 40
"""Situations kept of one scene at most, the rest would add little but time."""
MOST_TRIED_OF_A_SCENE = 160
"""Modes tried in one scene at most: in some, few of those that rest can be come by."""
MOST_AFTER_A_KEY = 4
"""Situations one key further that are kept of each scene."""
_SHUFFLE_KEYS = 4.0
"""How far chance may move a situation in the order of how many keys lead to it."""
_CAPTURED = frozenset({"altitude_capture", "glidepath"})
_MODE_REGIONS = ("engagement", "lateral", "vertical")


@dataclass(frozen=True, slots=True)
class Flown:
    """A situation with the session that has flown to it; fork it, don't use it up.

    Attributes:
        begun: The session at its start, before any key.
    """

    scene: Scene
    situation: FlownSituation
    session: Session
    begun: Session

    @property
    def configuration(self) -> Configuration:
        """The settled configuration at the question."""
        return self.session.configuration

    @property
    def bits(self) -> int:
        """The signals at the question."""
        return self.session.bits


def flown_situations(
    logic: Logic,
    scenes: tuple[Scene, ...],
    begin: Begin,
    truth: Kernel,
    seed: int = 1,
    *,
    each: Each[Scene] = each_untold,
) -> list[Flown]:
    """Return flown situations of every scene, each strip with each set of signals once.

    Where something comes by itself, the flight counts as well: the same signals may lead to
    another change.

    Args:
        logic: The installation's logic.
        scenes: The flights.
        begin: Starts a session of the installation.
        truth: The installation's chart, compiled.
        seed: Which modes are tried where there are many.
        each: Goes through the scenes.
    """
    chart = logic.installation.chart
    chance = random.Random(seed)  # noqa: S311 - which situations are tried, not a secret
    plain = {scene.id: fly_to(_situation(scene, StartModes()), begin) for scene in scenes}
    ways = _Ways(logic, [plain[scene.id].bits for scene in scenes if scene.is_calm])
    known: set[tuple[Configuration, int, str]] = set()
    found: list[Flown] = []
    for scene in each(scenes):
        explored, bits = ways.into(scene, plain[scene.id]), plain[scene.id].bits
        natural = [c for c in explored.settled if _is_natural(c, chart)]
        resting = [c for c in natural if _may_rest(c, bits, truth, chart)]
        # Modes that few keys lead to come up more often in the air, so they are preferred; and what
        # has been captured, since few scenes allow it.
        resting.sort(key=lambda c: _rarity(c, explored) + chance.uniform(0.0, _SHUFFLE_KEYS))
        most = len(found) + MOST_OF_A_SCENE
        for configuration in resting[:MOST_TRIED_OF_A_SCENE]:
            if len(found) == most:
                break
            flown = _try(scene, modes_of(configuration, chart), begin)
            if flown is None or not _is_reached(flown, explored, chart):
                continue
            flight = scene.id if scene.wait_s > 0.0 else ""
            key = (flown.configuration, flown.bits, flight)
            if key not in known:
                known.add(key)
                found.append(flown)
    return [*found, *_after_one_key(found, logic, known)]


class _Ways:
    """The ways into flights of one installation; flights that are alike are explored once.

    Args:
        logic: The installation's logic.
        calm: The signals of its calm scenes.
    """

    def __init__(self, logic: Logic, calm: list[int]) -> None:
        self._chart = logic.installation.chart
        self._constants = _constants(logic, calm)
        self._known: dict[tuple[tuple[str, bool], ...], Exploration] = {}

    def into(self, scene: Scene, session: Session) -> Exploration:
        """Return what can be come by on the way into a scene.

        Args:
            scene: The flight.
            session: Begun in it, at the moment of the question, in whatever modes.
        """
        held = held_in(session, is_first_climb=scene.is_first_climb)
        constants = {**self._constants, **held}
        key = tuple(sorted(constants.items()))
        if key not in self._known:
            self._known[key] = explore_with(self._chart, constants)
        return self._known[key]


def _situation(scene: Scene, modes: StartModes) -> FlownSituation:
    name = [modes.engagement, modes.lateral, modes.vertical, *modes.armed]
    return FlownSituation(f"{scene.id}/{'+'.join(name)}", scene.words, scene.with_modes(modes))


def _constants(logic: Logic, valuations: list[int]) -> dict[str, bool]:
    always = never = -1 if valuations else 0
    for bits in valuations:
        always &= bits
        never &= ~bits
    return {
        name: bool(always >> bit & 1)
        for name, bit in logic.machine.signal_bit.items()
        if (always | never) >> bit & 1
    }


def _is_natural(configuration: Configuration, chart: ChartSpec) -> bool:
    """True if a start can be in it: only modes are set, and the system is ready."""
    for region, state in zip(chart.regions.values(), configuration, strict=True):
        if region.id == "system":
            if state != "ready":
                return False
        elif region.id not in _MODE_REGIONS and region.kind != "armed" and state != region.initial:
            return False
    return True


def modes_of(configuration: Configuration, chart: ChartSpec) -> StartModes:
    """Return the modes that a start needs to be in a configuration."""
    states = dict(zip(chart.regions, configuration, strict=True))
    armed = tuple(
        region.arms
        for region in chart.regions.values()
        if region.kind == "armed" and states[region.id] != region.initial
    )
    return StartModes(states["engagement"], states["lateral"], states["vertical"], armed)


def _rarity(configuration: Configuration, explored: Exploration) -> float:
    is_captured = not _CAPTURED.isdisjoint(configuration)
    return len(explored.path(configuration)) - (_SHUFFLE_KEYS if is_captured else 0.0)


def _may_rest(configuration: Configuration, bits: int, truth: Kernel, chart: ChartSpec) -> bool:
    """True if the modes may last: at most an alert or a protection comes with the scene."""
    # A capture's own signal depends on the mode, so only trying shows whether it holds.
    if "altitude_capture" in configuration:
        return True
    settled = truth.settle(configuration, bits).configuration
    return all(
        here == there or region.kind in ("alert", "protection")
        for region, here, there in zip(chart.regions.values(), configuration, settled, strict=True)
    )


def _try(scene: Scene, modes: StartModes, begin: Begin) -> Flown | None:
    situation = _situation(scene, modes)
    try:
        begun = begin(situation.start)
    except SituationError:
        return None
    return _led(scene, situation, begun)


def _led(scene: Scene, situation: FlownSituation, begun: Session) -> Flown | None:
    """Return a situation flown from its start, or None if the strip changes before the question."""
    session = begun.fork()
    try:
        lead_to_question(situation, session)
    except ItemError:
        return None
    return Flown(scene, situation, session, begun)


def _is_reached(flown: Flown, explored: Exploration, chart: ChartSpec) -> bool:
    """True if the modes, without the alerts that the scene brings, are among those explored."""
    states = list(flown.configuration)
    for index, region in enumerate(chart.regions.values()):
        if region.kind in ("alert", "protection"):
            states[index] = region.initial
    return tuple(states) in explored.settled


def _after_one_key(
    found: list[Flown], logic: Logic, known: set[tuple[Configuration, int, str]]
) -> Iterator[Flown]:
    """Yield situations that no start can be in, one key further: an alert, a hidden cue."""
    chart = logic.installation.chart
    keys = [event.id for event in chart.events.values() if event.kind == "key"]
    count: Counter[tuple[str, str]] = Counter()
    for flown in found:
        if not flown.scene.is_calm:
            continue
        for key in keys:
            if count[flown.scene.id, key] >= MOST_AFTER_A_KEY:
                continue
            fork = flown.begun.fork()
            fork.press(key)
            if _is_natural(fork.configuration, chart):
                continue
            start = flown.situation
            situation = FlownSituation(f"{start.id}/{key}", start.words, start.start, (key,))
            further = _led(flown.scene, situation, flown.begun)
            if further is None:
                continue
            place = (further.configuration, further.bits, "")
            if _is_natural(further.configuration, chart) or place in known:
                continue
            known.add(place)
            count[flown.scene.id, key] += 1
            yield further
