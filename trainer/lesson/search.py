"""Searches, from a situation, for the next thing to do that makes rules act which haven't yet.

Every step is tried on forks of the real session, so that a rule counts only when the physical
signals really occur. Instant actions (a key, a selector, a malfunction) are searched breadth
first; flying on is tried when it may bring a change.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from trainer.lesson.ahead import Ahead
from trainer.lesson.spec import Do, Inject, Set
from trainer.session.faults import SIMPLE_FAULTS
from trainer.session.record import StepRecord
from trainer.session.session import STEP_S, Session

LONGEST_FLIGHT_S = 110.0
WIDEST = 80
"""Situations kept on each level of the search."""
MOST_FLIGHTS = 3
FLOWN_FALLBACKS = 10
RUNAWAY = "runaway_roll_right"
TURN_DEG = 30.0
"""Heading that a generated lesson turns to: it leads back to the courses of the scenes."""
Action = Do | Set | Inject


@dataclass(frozen=True, slots=True)
class Flight:
    """Flying on until something happens."""

    seconds: float
    is_seen: bool
    """True: the annunciation changes then."""


@dataclass(frozen=True, slots=True)
class Move:
    """What to do next: instant actions, then perhaps flying on to the next change."""

    actions: tuple[Action, ...]
    flights: tuple[Flight, ...]
    """Ways to fly on, one after the other."""
    gain: frozenset[str]
    """Rules and refusals that act for the first time."""
    after: tuple[Action, ...] = ()
    """Instant actions at the very moment of the last change."""


def next_move(
    session: Session, wanted: frozenset[str], ahead: Ahead, depth: int = 2
) -> Move | None:
    """Return the best next move, or None if nothing wanted is near.

    Args:
        session: The session; it isn't touched.
        wanted: Ids of rules and refusals that are still to act.
        ahead: What may come by itself; what can't isn't flown for.
        depth: Longest row of instant actions that is tried.
    """
    flown = _fly((), session, wanted, ahead)
    if flown is not None:
        return flown
    levels = list(_levels(session, wanted, depth))
    found = [move for moves, _ in levels for move in moves]
    if found:
        return max(found, key=_worth)
    flown = _fly_then_act(session, wanted)
    if flown is not None:
        return flown
    likely = [pair for _, nodes in levels for pair in nodes if _may_change(pair[1])]
    for actions, fork in likely[:FLOWN_FALLBACKS]:
        flown = _fly(actions, fork, wanted, ahead)
        if flown is not None:
            return flown
    return None


def _worth(move: Move) -> tuple[float, int]:
    """Return how good a row of instant actions is: much gain, few actions."""
    return len(move.gain) / (0.5 + len(move.actions)), -len(move.actions)


def _may_change(session: Session) -> bool:
    """Return True if flying on may bring a change: something waits, or runs away."""
    shown = session.annunciation
    return bool(
        shown.lateral.armed or shown.vertical.armed
        or session.flight.faults.servo_runaway != "none"
    )  # fmt: skip


def apply(action: Action, session: Session) -> StepRecord | None:
    """Do an instant action."""
    match action:
        case Do(event):
            return session.press(event)
        case Set(((name, value),)):
            return session.select(name, value)
        case Inject(fault, on):
            return session.inject(fault, on)
    return None


def acted(record: StepRecord | None) -> frozenset[str]:
    """Return the ids of the rules and refusals of a record."""
    if record is None:
        return frozenset()
    refusal = {record.refusal.rule_id} if record.refusal is not None else set()
    return frozenset(refusal | {fired.id for fired in record.rules})


def _fly(
    actions: tuple[Action, ...], session: Session, wanted: frozenset[str], ahead: Ahead
) -> Move | None:
    """Fly a fork on, over some changes; None if that brings nothing wanted."""
    if not ahead.rules(session.configuration) & wanted:
        return None
    fork = session.fork()
    began_s = segment_s = fork.t_s
    flights: list[Flight] = []
    while fork.t_s - began_s < LONGEST_FLIGHT_S:
        record = fork.step(STEP_S)
        gain = acted(record) & wanted
        if record is None or not (gain or record.has_changed):
            continue
        flights.append(Flight(fork.t_s - segment_s, record.has_changed))
        segment_s = fork.t_s
        if gain:
            return Move(actions, tuple(flights), gain)
        if len(flights) == MOST_FLIGHTS:
            break
    return None


def _fly_then_act(session: Session, wanted: frozenset[str]) -> Move | None:
    """Fly a fork from change to change, and try one instant action at each."""
    fork = session.fork()
    began_s = segment_s = fork.t_s
    flights: list[Flight] = []
    while fork.t_s - began_s < LONGEST_FLIGHT_S and len(flights) < MOST_FLIGHTS:
        record = fork.step(STEP_S)
        if record is None or not record.has_changed:
            continue
        flights.append(Flight(fork.t_s - segment_s, True))
        segment_s = fork.t_s
        for moves, _ in _levels(fork, wanted, 1):
            if moves:
                best = max(moves, key=_worth)
                return Move((), tuple(flights), best.gain, best.actions)
    return None


def _levels(
    session: Session, wanted: frozenset[str], depth: int
) -> Iterator[tuple[list[Move], list[tuple[tuple[Action, ...], Session]]]]:
    """Yield the gaining moves of each depth, with the situations reached; stop at the first."""
    nodes: list[tuple[tuple[Action, ...], Session]] = [((), session)]
    seen = {_identity(session)}
    for _ in range(depth):
        moves: list[Move] = []
        reached: list[tuple[tuple[Action, ...], Session]] = []
        for actions, node in nodes:
            for action in _actions(node):
                fork = node.fork()
                gain = acted(apply(action, fork)) & wanted
                if gain:
                    moves.append(Move((*actions, action), (), gain))
                identity = _identity(fork)
                if identity not in seen and len(reached) < WIDEST:
                    seen.add(identity)
                    reached.append(((*actions, action), fork))
        yield moves, reached
        if moves:
            return
        nodes = reached


def _identity(session: Session) -> tuple[object, ...]:
    references, faults = session.references, session.flight.faults
    return (
        session.configuration, session.bits, references.source_id,
        references.selected_altitude_ft, faults.servo_runaway,
    )  # fmt: skip


def _actions(session: Session) -> Iterator[Action]:
    """Yield the instant actions that make sense in a situation."""
    for event in session.installation.chart.events.values():
        if event.kind == "key":
            yield Do(event.id)
    references = session.references
    hundreds = round(session.flight.altitude_ft / 100.0) * 100.0
    for selected_ft in (hundreds + 600.0, hundreds - 600.0):
        if selected_ft != references.selected_altitude_ft:
            yield Set((("selected_altitude_ft", selected_ft),))
    for source in session.flight.sources:
        if source != references.source_id:
            yield Set((("source", source),))
    if references.selected_heading_deg != TURN_DEG:
        yield Set((("selected_heading_deg", TURN_DEG),))
    yield from _mishaps(session)


def _mishaps(session: Session) -> Iterator[Action]:
    """Yield the malfunctions that can begin or end."""
    faults = session.flight.faults
    if faults.servo_runaway != "none":
        yield Inject(f"runaway_{faults.servo_runaway}", False)
    elif session.annunciation.engagement == "autopilot":
        yield Inject(RUNAWAY, True)
    for fault in SIMPLE_FAULTS:
        yield Inject(fault, not getattr(faults, fault))


Progress = Callable[[int, int], bool]
"""Called with rules found and rules wanted; False cancels."""
