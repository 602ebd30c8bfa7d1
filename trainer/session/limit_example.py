"""Examples for limits: what the strip or the aircraft does just inside and just outside.

Found by search, three ways: a key pressed a little below and a little above the limit; a flight
that crosses the limit by itself; and, for limits of the guidance, a flight with the value and one
with another, told apart by the largest value met.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product

from trainer.charts.guard import signals_in
from trainer.charts.installation import Installation, LimitValue
from trainer.charts.spec import LimitSpec, RuleSpec
from trainer.flight import AircraftSpec
from trainer.session.choice_example import Search, with_option
from trainer.session.example import Action, Flown, Moment, fly, try_begin
from trainer.session.example_scene import (
    GROUND_FT,
    ExampleScene,
    example_scenes,
    modes_in_order,
    with_modes,
)
from trainer.session.example_words import Example, ExampleStep, side_of, thousands
from trainer.session.faults import RUNAWAYS
from trainer.session.logic import Logic
from trainer.session.option_rules import RuleModes
from trainer.session.session import STEP_S, Session
from trainer.session.situation import SituationError, Start, StartModes

_OFFSETS = {
    "height_ft": 20.0,
    "bank_abs_deg": 1.0,
    "pitch_abs_deg": 1.0,
    "airspeed_kt": 2.0,
    "powered_s": 1.0,
}
"""How far below and above a limit an example flies, by what is measured."""
_SLOWEST_KT = 40.0
"""No example begins slower: the aircraft wouldn't fly."""
_CROSSING_S = 90.0
_WATCH_S = 30.0
_NUDGES = 40
"""A nudge held this long has reached its limit."""
_PLAIN_SCENES = 4
_METRICS = {
    "deg": ("bank_deg", "pitch_up_deg", "pitch_down_deg"),
    "deg/s": ("roll_rate_dps", "pitch_rate_dps"),
    "ft/min": ("reference_fpm",),
    "s": ("mark_s",),
}
_METRIC_WORDS = {
    "bank_deg": "Largest bank",
    "pitch_up_deg": "Highest pitch",
    "pitch_down_deg": "Lowest pitch, nose down",
    "roll_rate_dps": "Fastest roll",
    "pitch_rate_dps": "Fastest change of pitch",
    "reference_fpm": "Vertical speed asked for",
    "mark_s": "Change marked for",
}
_CLOSE = 0.12
"""A largest value this near to the limit, as a fraction of it, is the limit at work."""


@dataclass(frozen=True, slots=True)
class _Measured:
    quantity: str
    signals: tuple[str, ...]


def with_limit(installation: Installation, limit: str, value: float) -> Installation:
    """Return the installation with another value for a limit."""
    old = installation.limits[limit]
    new = LimitValue(limit, value, old.unit, old.label)
    return replace(installation, limits={**installation.limits, limit: new})


def limit_examples(base: Installation, aircraft: AircraftSpec, limit: str) -> Search:
    """Search an example of a limit, in the aircraft as answered.

    Args:
        base: The installation with the answers given so far.
        aircraft: The aircraft that flies.
        limit: The limit.

    Returns:
        One example, or nothing if none was found.
    """
    measured = _measured(base, limit)
    if measured is not None:
        logic = Logic(base)
        searches = [_by_key, _by_crossing, _by_any_key]
        if measured.quantity == "powered_s":
            # Every flight begins with the power on, so none crosses a time since it came on.
            searches.remove(_by_crossing)
        for search in searches:
            found = yield from search(base, aircraft, logic, limit, measured)
            if found:
                return found
    for actions in _actions(base):
        for other, given in _fits(base):
            found = yield from _by_flying(other, aircraft, limit, given, actions)
            if found:
                return found
    return ()


def _fits(base: Installation) -> Iterator[tuple[Installation, str]]:
    """Yield the aircraft as answered, then with another choice of how the guidance flies."""
    yield base, ""
    for option in base.generic.options.values():
        if _has_rules(base, option.id):
            continue
        for choice in option.choices:
            if choice != base.option(option.id):
                given = f"{option.question} {option.choices[choice]}"
                yield with_option(base, option.id, choice), given


def _has_rules(base: Installation, option: str) -> bool:
    parts = [r.needs for r in base.generic.rules.values()]
    parts += [r.needs for r in base.generic.refusals.values()]
    return any(name == option for needs in parts for name, _ in needs)


def _measured(base: Installation, limit: str) -> _Measured | None:
    signals = [
        spec for spec in base.chart.signals.values() if limit in (spec.on.limit, spec.off.limit)
    ]
    if not signals:
        return None
    return _Measured(signals[0].quantity, tuple(spec.id for spec in signals))


def _by_key(
    base: Installation, aircraft: AircraftSpec, logic: Logic, limit: str, measured: _Measured
) -> Search:
    """Search a key that is answered otherwise a little below the limit than a little above."""
    keys = _keys_reading(base, measured.signals)
    return (yield from _key_search(base, aircraft, logic, limit, (measured.quantity, keys)))


def _by_any_key(
    base: Installation, aircraft: AircraftSpec, logic: Logic, limit: str, measured: _Measured
) -> Search:
    """Search as `_by_key`, over keys whose rules don't read the limit but follow from it."""
    keys = [event.id for event in base.chart.events.values() if event.kind == "key"]
    return (yield from _key_search(base, aircraft, logic, limit, (measured.quantity, keys)))


def _key_search(
    base: Installation,
    aircraft: AircraftSpec,
    logic: Logic,
    limit: str,
    tried: tuple[str, list[str]],
) -> Search:
    quantity, keys = tried
    value = base.limit(limit).value
    offset = _OFFSETS.get(quantity, 0.0)
    for scene in example_scenes(base) if keys else ():
        for modes in modes_in_order(base.chart):
            yield
            start = with_modes(scene, modes)
            moments = [_moment_at(base, start, (quantity, value + step))
                       for step in (-offset, offset)]  # fmt: skip
            below, above = (_begin_at(logic, aircraft, one) for one in moments)
            if below is None or above is None or below.annunciation != above.annunciation:
                continue
            for key in keys:
                action = Action("press", key)
                flown = [fly(below, action), fly(above, action)]
                if (flown[0].after, flown[0].refusal) != (flown[1].after, flown[1].refusal):
                    unit = base.limit(limit).unit
                    titles = [f"{value + step:g} {unit}" for step in (-offset, offset)]
                    shown = _Shown(scene.words, action, flown, [one for one in moments if one])
                    return (_two(base, limit, titles, shown),)
    return ()


def _keys_reading(base: Installation, signals: tuple[str, ...]) -> list[str]:
    """Return the keys whose rules or refusals read the signals of the limit."""
    parts = [(r.events, r.guard) for r in base.chart.rules.values()]
    parts += [(r.events, r.guard) for r in base.chart.refusals.values()]
    read = {name for events, guard in parts if signals_in(guard) & set(signals) for name in events}
    return [e.id for e in base.chart.events.values() if e.kind == "key" and e.id in read]


def _moment_at(base: Installation, start: Start, wanted: tuple[str, float]) -> Moment | None:
    """Return the start changed so that a quantity has a value; None if it can't be flown."""
    quantity, value = wanted
    if value < (_SLOWEST_KT if quantity == "airspeed_kt" else 0.0):
        return None
    initial = start.initial
    match quantity:
        case "height_ft":
            initial = replace(initial, altitude_ft=GROUND_FT + value)
        case "bank_abs_deg":
            initial = replace(initial, bank_deg=value)
        case "pitch_abs_deg":
            initial = replace(initial, pitch_deg=value)
        case "airspeed_kt":
            initial = replace(initial, airspeed_kt=value)
        case "powered_s":
            if start.modes.engagement != "no_guidance":
                return None
            return Moment(base, replace(start, modes=StartModes(system="testing")), value)
    return Moment(base, replace(start, initial=initial))


def _begin_at(logic: Logic, aircraft: AircraftSpec, moment: Moment | None) -> Session | None:
    if moment is None:
        return None
    try:
        return moment.begin(logic, aircraft)
    except SituationError:
        return None


def _by_crossing(
    base: Installation, aircraft: AircraftSpec, logic: Logic, limit: str, measured: _Measured
) -> Search:
    """Search a flight that crosses the limit, and the strip that changes with it."""
    mask = logic.machine.bits(measured.signals)
    where = RuleModes(base.chart, _rules_reading(base, measured.signals))
    for action in [Action(), *(Action("fault", name) for name in RUNAWAYS)]:
        for scene in example_scenes(base):
            seen: set[tuple[str, ...]] = set()
            for modes in modes_in_order(base.chart):
                yield
                aspect = where.aspect(modes)
                if aspect in seen or not where.may_act_in(modes):
                    continue
                session = try_begin(logic, aircraft, with_modes(scene, modes))
                if session is None or session.annunciation.alert != "quiet":
                    continue
                seen.add(aspect)
                before_s = _crossing_s(session, action, mask)
                if before_s is None:
                    continue
                times = (before_s - STEP_S, before_s)
                flown = [fly(session, replace(action, watch_s=at_s)) for at_s in times]
                titles = ["just before", "at the limit"]
                moment = Moment(base, with_modes(scene, modes))
                shown = _Shown(scene.words, action, flown, [moment, moment])
                return (_two(base, limit, titles, shown, times),)
    return ()


def _rules_reading(base: Installation, signals: tuple[str, ...]) -> list[RuleSpec]:
    return [
        rule
        for rule in base.chart.rules.values()
        if not rule.events and signals_in(rule.guard) & set(signals)
    ]


def _crossing_s(session: Session, action: Action, mask: int) -> float | None:
    """Return when a signal of the limit and the strip change together, or None."""
    fork = session.fork()
    if action.kind == "fault":
        fork.inject(action.name)
    for _ in range(round(_CROSSING_S / STEP_S)):
        bits = fork.bits & mask
        record = fork.step()
        if fork.bits & mask != bits:
            is_cause = record is not None and record.has_changed
            return fork.t_s - session.t_s if is_cause else None
    return None


@dataclass(frozen=True, slots=True)
class _Shown:
    """Two flights of one situation, and where each begins."""

    words: str
    action: Action
    flown: list[Flown]
    moments: list[Moment]


def _two(
    base: Installation,
    limit: str,
    titles: list[str],
    shown: _Shown,
    watched_s: tuple[float, ...] = (0.0, 0.0),
) -> Example:
    sides = [
        side_of(
            title, title, shown.words, moment=moment, action=replace(shown.action, watch_s=at_s),
            flown=one, chart=base.generic,
        )
        for title, one, at_s, moment in zip(
            titles, shown.flown, watched_s, shown.moments, strict=True
        )
    ]  # fmt: skip
    return Example(limit, tuple(sides))


def _by_flying(
    base: Installation,
    aircraft: AircraftSpec,
    limit: str,
    given: str,
    actions: tuple[Action, ...],
) -> Search:
    """Search a flight whose largest value is the limit, and follows it when it is changed."""
    spec = base.generic.limits[limit]
    value = base.limit(limit).value
    other = other_value(spec, value)
    logics = (Logic(base), Logic(with_limit(base, limit, other)))
    for scene, modes, action in _flights(base, actions):
        yield
        sessions = [try_begin(logic, aircraft, with_modes(scene, modes)) for logic in logics]
        if sessions[0] is None or sessions[1] is None:
            continue
        flown = [fly(one, action) for one in sessions if one is not None]
        metric = _telling(spec, (value, other), flown)
        if metric is None:
            continue
        sides = []
        start = with_modes(scene, modes)
        for one, at, logic in zip(flown, (value, other), logics, strict=True):
            title = f"{at:g} {spec.unit}"
            side = side_of(
                title, title, scene.words, moment=Moment(logic.installation, start),
                action=action, flown=one, chart=base.generic,
            )  # fmt: skip
            line = f"{_metric_words(metric, one)} {side.steps[2].line}"
            last = ExampleStep(line, one.after, one.marks)
            sides.append(replace(side, steps=(*side.steps[:2], last)))
        return (Example(limit, tuple(sides), given),)
    return ()


def _actions(base: Installation) -> tuple[tuple[Action, ...], ...]:
    """Return what to try, in rounds: nothing, a nudge held, every key once."""
    keys = [event for event in base.chart.events.values() if event.kind == "key"]
    nudges = [event.id for event in keys if event.group == "reference"]
    return (
        (Action(watch_s=_WATCH_S),),
        tuple(Action("press", name, _NUDGES, _WATCH_S) for name in nudges),
        tuple(Action("press", event.id, 1, _WATCH_S) for event in keys),
    )


def _flights(
    base: Installation, actions: tuple[Action, ...]
) -> Iterator[tuple[ExampleScene, StartModes, Action]]:
    """Yield flights to try, each vertical mode once in each of the plainest situations."""
    modes = [
        one for one in modes_in_order(base.chart) if one.engagement == "autopilot" and not one.armed
    ]
    for action, scene in product(actions, example_scenes(base)[:_PLAIN_SCENES]):
        seen: set[str] = set()
        for one in modes:
            if one.vertical not in seen:
                seen.add(one.vertical)
                yield scene, one, action


def other_value(spec: LimitSpec, value: float) -> float:
    """Return a plainly different value inside the limit's range, to compare with."""
    lower, higher = value * 0.6, value * 1.5
    return lower if lower >= spec.low else min(higher, spec.high)


def _telling(spec: LimitSpec, values: tuple[float, float], flown: list[Flown]) -> str | None:
    """Return the largest value that is the limit in both flights, or plainly follows it."""
    for metric in _METRICS.get(spec.unit, ()):
        met = [one.metrics.get(metric, 0.0) for one in flown]
        if all(abs(a - b) <= _CLOSE * b for a, b in zip(met, values, strict=True)):
            return metric
    if spec.unit == "g":
        starts = [one.changes[0].altitude_ft if one.changes else 0.0 for one in flown]
        if all(starts) and abs(starts[0] - starts[1]) > 5.0:
            return "first_change_ft"
    return None


def _metric_words(metric: str, flown: Flown) -> str:
    if metric == "first_change_ft":
        return f"The level-off begins at {thousands(flown.changes[0].altitude_ft)} ft."
    digits = 0 if metric.endswith("_fpm") else 1
    unit = {"deg": "deg", "dps": "deg/s", "fpm": "ft/min", "s": "s"}[metric.rsplit("_", 1)[1]]
    return f"{_METRIC_WORDS[metric]}: {flown.metrics[metric]:,.{digits}f} {unit}."
