"""Examples for the choices of an option: the shortest situation in which they part ways.

Found by search: plain situations, the modes that hold in them, and one action, simplest first,
flown with every choice side by side. Strips that differ at once count first, then strips that
differ later, then flights that differ though the strips read the same.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass, replace
from itertools import combinations, product, zip_longest
from math import ceil

from trainer.charts.installation import Installation, OptionValue
from trainer.charts.spec import ChartSpec
from trainer.charts.specialise import specialise
from trainer.flight import AircraftSpec
from trainer.session.example import Action, Flown, Moment, fly, try_begin
from trainer.session.example_scene import (
    ExampleScene,
    example_scenes,
    modes_in_order,
    with_modes,
)
from trainer.session.example_words import Example, side_of
from trainer.session.logic import Logic
from trainer.session.option_rules import WATCH_S, OptionRules, Tier
from trainer.session.session import Session
from trainer.session.situation import StartModes

_ALTITUDE_FT, _CLIMB_FPM, _PITCH_DEG, _BANK_DEG, _TIME_S = 15.0, 150.0, 1.0, 3.0, 2.0
"""Differences in how the aircraft flies that a trainee would notice."""

MOST_FLIGHTS = 400
"""A minute's flight with every choice takes about a twentieth of a second."""

Search = Generator[None, None, tuple[Example, ...]]
"""A search in slices: it yields now and then, so that a window stays alive, and returns."""


@dataclass(frozen=True, slots=True)
class _Found:
    scene: ExampleScene
    modes: StartModes
    action: Action
    flown: dict[str, Flown]
    tier: Tier


def run_to_end(search: Search) -> tuple[Example, ...]:
    """Return what a search finds."""
    while True:
        try:
            next(search)
        except StopIteration as end:
            result: tuple[Example, ...] = end.value
            return result


def with_option(installation: Installation, option: str, choice: str) -> Installation:
    """Return the installation with another choice for an option."""
    options = {**installation.options, option: OptionValue(option, choice)}
    chart = specialise(installation.generic, {value.id: value.choice for value in options.values()})
    return replace(installation, options=options, chart=chart)


def choice_examples(
    base: Installation, aircraft: AircraftSpec, option: str, most_flights: int = MOST_FLIGHTS
) -> Search:
    """Search examples that tell the choices of an option apart, in the aircraft as answered.

    Where the answers given so far hide the difference, one other answer of the same section or
    the same rules is changed and named in `Example.given`.

    Args:
        base: The installation with the answers given so far.
        aircraft: The aircraft that flies.
        option: The option.
        most_flights: The search gives up after so many flights that are watched for a minute; an
            action that is only looked at once counts a sixtieth of it.

    Returns:
        As few situations as tell all choices apart that can be told apart; empty if none can.
    """
    found = yield from _search(base, aircraft, option, "", most_flights)
    if found:
        return found
    for other, choice in _other_answers(base, option):
        spec = base.generic.options[other]
        given = f"{spec.question} {spec.choices[choice]}"
        tried = with_option(base, other, choice)
        found = yield from _search(tried, aircraft, option, given, most_flights)
        if found:
            return found
    return ()


def _other_answers(base: Installation, option: str) -> Iterator[tuple[str, str]]:
    """Yield other answers: of options in the same rules first, then of the same section."""
    chart = base.generic
    needs = [r.needs for r in chart.rules.values()] + [r.needs for r in chart.refusals.values()]
    beside = {
        name: None for one in needs if any(name == option for name, _ in one) for name, _ in one
    }
    section = chart.options[option].section
    near = {one.id: None for one in chart.options.values() if one.section == section}
    for name in {**beside, **near}:
        if name == option:
            continue
        for choice in chart.options[name].choices:
            if choice != base.option(name):
                yield name, choice


def _search(
    base: Installation, aircraft: AircraftSpec, option: str, given: str, most_flights: int
) -> Search:
    choices = base.generic.options[option].choices
    logics = {choice: Logic(with_option(base, option, choice)) for choice in choices}
    apart = set(combinations(choices, 2))
    found: list[_Found] = []
    subject = OptionRules(base.generic, option)
    if subject.is_out_of_reach(_fitted(logics)):
        return ()
    spent_s = 0.0
    for candidate in _in_tiers(base, aircraft, logics, subject):
        if candidate is None:
            yield
            continue
        spent_s += max(candidate.action.watch_s, 1.0)
        told = {pair for pair in apart if _differ(candidate, pair)}
        if told:
            found.append(candidate)
            apart -= told
        if not apart or spent_s > most_flights * WATCH_S:
            break
    pairs = set(combinations(choices, 2))
    kept = [_shortened(one, aircraft, logics, pairs) for one in _fewest(found, pairs)]
    return tuple(_example(one, logics, option, given, subject.rule_ids) for one in kept)


def _in_tiers(
    base: Installation, aircraft: AircraftSpec, logics: dict[str, Logic], subject: OptionRules
) -> Iterator[_Found | None]:
    """Yield what was flown, tier by tier; what was watched is looked at twice, not flown twice."""
    watched: list[_Found] = []
    for tier in subject.tiers:
        if tier == "flight" and watched:
            yield from (replace(one, tier="flight") for one in watched)
            continue
        for candidate in _candidates(base, aircraft, logics, subject, tier):
            if tier == "later" and candidate is not None:
                watched.append(candidate)
            yield candidate


def _candidates(
    base: Installation,
    aircraft: AircraftSpec,
    logics: dict[str, Logic],
    subject: OptionRules,
    tier: Tier,
) -> Iterator[_Found | None]:
    """Yield what was flown, simplest first; None now and then."""
    fitted = _fitted(logics)
    actions = [one for one in subject.actions(tier) if one.kind == "wait" or one.name in fitted]
    all_modes = [one for one in _modes(base.generic, logics, tier) if subject.may_act_in(one, tier)]
    # Watching takes long, so doing nothing is tried everywhere before any key is.
    everywhere = [one for one in actions if _is_in_all(one, logics)]
    rounds = [everywhere, actions] if tier == "strip" else [actions[:1], actions[1:]]
    for tried, scene in product([one for one in rounds if one], example_scenes(base)):
        seen: set[tuple[str, ...]] = set()
        for modes in all_modes:
            aspect = subject.aspect(modes)
            if tier != "strip" and aspect in seen:
                continue
            sessions = _begin_all(logics, aircraft, scene, modes)
            yield None
            if sessions is None:
                continue
            seen.add(aspect)
            for action in tried:
                flown = {choice: fly(one, action) for choice, one in sessions.items()}
                yield _Found(scene, modes, action, flown, tier)
                yield None


def _fitted(logics: dict[str, Logic]) -> set[str]:
    return {event for one in logics.values() for event in one.installation.chart.events}


def _is_in_all(action: Action, logics: dict[str, Logic]) -> bool:
    return all(action.name in logic.installation.chart.events for logic in logics.values())


def _modes(generic: ChartSpec, logics: dict[str, Logic], tier: Tier) -> list[StartModes]:
    charts = [logic.installation.chart for logic in logics.values()]
    both = [
        modes
        for modes in modes_in_order(generic)
        if all(
            modes.lateral in chart.regions["lateral"].states
            and modes.vertical in chart.regions["vertical"].states
            for chart in charts
        )
    ]
    # Flying on takes long; what shows only then shows with the autopilot engaged.
    return both if tier == "strip" else [modes for modes in both if modes.engagement == "autopilot"]


def _begin_all(
    logics: dict[str, Logic], aircraft: AircraftSpec, scene: ExampleScene, modes: StartModes
) -> dict[str, Session] | None:
    sessions: dict[str, Session] = {}
    first: Session | None = None
    for choice, logic in logics.items():
        session = try_begin(logic, aircraft, with_modes(scene, modes))
        if session is None or session.annunciation.alert != "quiet":
            return None
        first = first or session
        if session.annunciation != first.annunciation:
            return None
        sessions[choice] = session
    return sessions


def _differ(found: _Found, pair: tuple[str, str]) -> bool:
    one, other = found.flown[pair[0]], found.flown[pair[1]]
    return _COMPARE[found.tier](one, other)


def _strip_differs(one: Flown, other: Flown) -> bool:
    if one.is_missing != other.is_missing:
        present = other if one.is_missing else one
        return present.after != present.before
    return (one.after, one.refusal) != (other.after, other.refusal)


def _later_differs(one: Flown, other: Flown) -> bool:
    mine = [change.record.after for change in one.changes]
    theirs = [change.record.after for change in other.changes]
    return _strip_differs(one, other) or mine != theirs


def _flight_differs(one: Flown, other: Flown) -> bool:
    a, b = one.after_sample, other.after_sample
    if _later_differs(one, other):
        return True
    if any(abs(x.t_s - y.t_s) > _TIME_S for x, y in zip(one.changes, other.changes, strict=True)):
        return True
    return (
        abs(a.altitude_ft - b.altitude_ft) > _ALTITUDE_FT
        or abs(a.vertical_speed_fpm - b.vertical_speed_fpm) > _CLIMB_FPM
        or abs(a.pitch_deg - b.pitch_deg) > _PITCH_DEG
        or abs(a.bank_deg - b.bank_deg) > _BANK_DEG
    )


_COMPARE: dict[Tier, Callable[[Flown, Flown], bool]] = {
    "strip": _strip_differs,
    "later": _later_differs,
    "flight": _flight_differs,
}


def _fewest(found: list[_Found], pairs: set[tuple[str, str]]) -> list[_Found]:
    """Leave out a situation whose differences the others show too."""
    kept = list(found)
    for one in found:
        rest = [other for other in kept if other is not one]
        shown = {pair for pair in pairs if any(_differ(other, pair) for other in rest)}
        needed = {pair for pair in pairs if _differ(one, pair)}
        if rest and needed <= shown:
            kept = rest
    return kept


def _shortened(
    found: _Found, aircraft: AircraftSpec, logics: dict[str, Logic], pairs: set[tuple[str, str]]
) -> _Found:
    """Watch only until the strips have parted, so that nothing beside the point is told."""
    if found.tier != "later":
        return found
    told = [_parting_s(found.flown[a], found.flown[b]) for a, b in pairs]
    watch_s = max((one for one in told if one < WATCH_S), default=WATCH_S)
    sessions = _begin_all(logics, aircraft, found.scene, found.modes)
    if sessions is None:
        return found
    action = replace(found.action, watch_s=float(ceil(watch_s) + 1))
    flown = {choice: fly(session, action) for choice, session in sessions.items()}
    return replace(found, action=action, flown=flown)


def _parting_s(one: Flown, other: Flown) -> float:
    """Return when two flights' strips part [s]; a watch's length if they don't."""
    if _strip_differs(replace(one, after=one.at_once), replace(other, after=other.at_once)):
        return 0.0
    for mine, theirs in zip_longest(one.changes, other.changes):
        if mine is None or theirs is None or mine.record.after != theirs.record.after:
            return min(change.t_s for change in (mine, theirs) if change is not None)
    return WATCH_S


def _example(
    found: _Found, logics: dict[str, Logic], option: str, given: str, rule_ids: frozenset[str]
) -> Example:
    ships = {choice: logic.installation for choice, logic in logics.items()}
    generic = next(iter(ships.values())).generic
    choices, start = generic.options[option].choices, with_modes(found.scene, found.modes)
    return Example(
        option,
        tuple(
            side_of(
                choice, choices[choice], found.scene.words, moment=Moment(ships[choice], start),
                action=found.action, flown=flown, chart=generic, rule_ids=rule_ids,
                with_numbers=found.tier == "flight",
            )
            for choice, flown in found.flown.items()
        ),
        given,
    )  # fmt: skip
