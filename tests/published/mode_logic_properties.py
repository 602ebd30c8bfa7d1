"""Properties that the published model has: of its settled states, and of its transitions.

Each is written from its published sentence and knows nothing of a chart. Source: [MOD-01] in
SOURCES.md; the ids are the numbers there. I01 concerns the start, I20 and I21 the way of running;
they are tested where the chart is run.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from tests.published.mode_logic_explorer import Transition
from tests.published.mode_logic_tables import CAPTURES, OFF, State

ALTITUDE_SELECT = ("altitude_capture", "altitude_track")
VERTICAL_KEYS = ("vertical_speed", "level_change", "altitude_hold")
TURNS_ON = (
    "heading", "course", "approach", "go_around", "vertical_speed", "level_change",
    "altitude_hold", "wheel", "director", "autopilot_engaged", "overspeed_begins",
)  # fmt: skip
SOURCE = ("source_changed", "frequency_changed")


@dataclass(frozen=True, slots=True)
class StateProperty:
    """Holds in every settled state."""

    id: str
    sentence: str
    holds: Callable[[State], bool]


@dataclass(frozen=True, slots=True)
class TransitionProperty:
    """Holds for every transition to which it applies. `count`: how many there are, if published."""

    id: str
    sentence: str
    applies: Callable[[Transition], bool]
    holds: Callable[[Transition], bool]
    count: int | None = None


def modes(state: State) -> tuple[object, ...]:
    """Return every mode, active and armed."""
    return state[4:]


def active(state: State) -> tuple[str, str]:
    """Return the active modes of both axes."""
    return state.lateral, state.vertical


def arms(state: State) -> tuple[bool, bool, bool]:
    """Return the armed course, approach and glidepath."""
    return state.course_armed, state.approach_armed, state.glidepath_armed


def approach_selected(state: State) -> bool:
    """True if the lateral approach is armed or active."""
    return state.approach_armed or state.lateral == "approach"


def glidepath_selected(state: State) -> bool:
    """True if the vertical approach is armed or active."""
    return state.glidepath_armed or state.vertical == "glidepath"


def altitude_selected(state: State) -> bool:
    """True if altitude select is armed or active."""
    return state.altitude_armed or state.vertical in ALTITUDE_SELECT


STATE_PROPERTIES = (
    StateProperty("I02", "guidance is on exactly if cues are shown or the autopilot is engaged",
                  lambda s: s.guidance == (s.cues or s.autopilot)),
    StateProperty("I03", "autopilot engaged: guidance on", lambda s: s.guidance or not s.autopilot),
    StateProperty("I04", "cues shown: guidance on", lambda s: s.guidance or not s.cues),
    StateProperty("I09", "no mode is armed and active together",
                  lambda s: not (s.course_armed and s.lateral == "course")
                  and not (s.approach_armed and s.lateral == "approach")
                  and not (s.glidepath_armed and s.vertical == "glidepath")
                  and not (s.altitude_armed and s.vertical in ALTITUDE_SELECT)),
    StateProperty("I10", "guidance off: basic modes, nothing armed",
                  lambda s: s.guidance or modes(s) == modes(OFF)),
    StateProperty("I13", "glidepath active: lateral approach active",
                  lambda s: s.vertical != "glidepath" or s.lateral == "approach"),
    StateProperty("I14", "vertical approach armed or active: lateral approach armed or active",
                  lambda s: not glidepath_selected(s) or approach_selected(s)),
    StateProperty("I15", "go-around is active on both axes or on neither",
                  lambda s: (s.lateral == "go_around") == (s.vertical == "go_around")),
    StateProperty("I16", "guidance on: altitude select armed or active exactly if none of altitude "
                  "hold, glidepath and go-around is active",
                  lambda s: not s.guidance or altitude_selected(s)
                  == (s.vertical not in ("altitude_hold", "glidepath", "go_around"))),
    StateProperty("I17", "overspeed: level change, altitude hold, altitude select or pitch",
                  lambda s: not s.overspeed or s.vertical
                  in ("level_change", "altitude_hold", "pitch", *ALTITUDE_SELECT)),
    StateProperty("I18", "overspeed: never pitch in a settled state",
                  lambda s: not s.overspeed or s.vertical
                  in ("level_change", "altitude_hold", *ALTITUDE_SELECT)),
    StateProperty("I19", "overspeed: cues shown", lambda s: s.cues or not s.overspeed),
)  # fmt: skip


def _arming(t: Transition, mode: str) -> bool:
    """T08, T09: the key arms, disarms or leaves the mode."""
    was_armed = t.source.course_armed if mode == "course" else t.source.approach_armed
    is_armed = t.target.course_armed if mode == "course" else t.target.approach_armed
    if t.source.lateral == mode:
        return t.target.lateral == "roll" and not is_armed
    return is_armed != was_armed and active(t.target) == active(t.source)


def _captures(t: Transition) -> bool:
    """T10: a condition is met that the state is waiting for."""
    s = t.source
    return {
        "course_capture": s.course_armed,
        "approach_capture": s.approach_armed,
        "glidepath_capture": s.glidepath_armed and s.lateral == "approach" and not s.overspeed,
        "altitude_capture": s.altitude_armed,
        "altitude_track": s.vertical == "altitude_capture",
    }.get(t.event, False)


def _captured(t: Transition) -> bool:
    mode = {"glidepath_capture": "glidepath", "course_capture": "course",
            "approach_capture": "approach"}.get(t.event, t.event)  # fmt: skip
    return mode in active(t.first) and mode in active(t.target)


def _director(t: Transition) -> bool:
    """T04."""
    if t.source.cues and t.source.overspeed:
        return t.target == t.source
    flips = t.target.cues != t.source.cues
    return flips and t.target.guidance == (t.target.cues or t.source.autopilot)


def _glidepath_left(t: Transition) -> bool:
    return t.source.vertical == "glidepath" != t.target.vertical


GLIDEPATH_LEFT_BY = frozenset(
    {"approach", "heading", "course_capture", *SOURCE, "go_around", "overspeed_begins", "transfer",
     "director", "autopilot_disengaged"}
)  # fmt: skip


def _glidepath_cause(t: Transition) -> bool:
    """T14: one of the causes; the last two only if guidance goes off."""
    off = t.event in ("director", "autopilot_disengaged")
    return t.event in GLIDEPATH_LEFT_BY and (not off or not t.target.guidance)


def _refused_in_overspeed(t: Transition) -> bool:
    """T27 applies."""
    kept = t.event in ("level_change", "wheel") and t.source.vertical == "level_change"
    refused = t.event in ("vertical_speed", "go_around", "glidepath_capture", "director")
    return t.source.overspeed and (kept or refused)


def _own_axis_only(t: Transition) -> bool:
    """T29 applies: a key of one axis, outside the modes that bind both."""
    if not t.source.guidance:
        return False
    if t.event in ("heading", "course", "course_capture"):
        return t.source.vertical not in ("glidepath", "go_around")
    return t.event in (*VERTICAL_KEYS, "wheel") and t.source.lateral != "go_around"


def _other_axis_kept(t: Transition) -> bool:
    if t.event in ("heading", "course", "course_capture"):
        return t.target.vertical == t.source.vertical
    return t.target.lateral == t.source.lateral


def _transferred(t: Transition) -> bool:
    """T25."""
    vertical = "level_change" if t.source.overspeed else "pitch"
    return modes(t.target) == ("roll", vertical, False, False, False, True)


def _source_dropped(t: Transition) -> bool:
    """T21."""
    kept = t.source.lateral if t.source.lateral in ("roll", "heading", "go_around") else "roll"
    dropped = not any(arms(t.target)) and t.target.vertical != "glidepath"
    return t.target.lateral == kept and dropped


def _same_modes(t: Transition) -> bool:
    return modes(t.target) == modes(t.source)


def _wheel(t: Transition) -> bool:
    """T19."""
    speed = t.source.vertical == "vertical_speed"
    return t.target.vertical == ("vertical_speed" if speed else "pitch")


P = TransitionProperty
TRANSITION_PROPERTIES = (
    P("T01", "engaging the autopilot shows the cues",
      lambda t: t.event == "autopilot_engaged", lambda t: t.target.cues),
    P("T02", "disengaging with cues shown changes no mode",
      lambda t: t.event == "autopilot_disengaged" and t.source.cues, _same_modes),
    P("T03", "disengaging with cues hidden clears everything",
      lambda t: t.event == "autopilot_disengaged" and not t.source.cues,
      lambda t: t.target == OFF),
    P("T04", "director key", lambda t: t.event == "director", _director),
    P("T05", "keys, autopilot and overspeed bring guidance on",
      lambda t: not t.source.guidance and t.event in TURNS_ON, lambda t: t.target.guidance, 11),
    P("T06", "go-around from off: cues and both axes",
      lambda t: not t.source.guidance and t.event == "go_around",
      lambda t: t.target.cues and active(t.target) == ("go_around", "go_around"), 1),
    P("T07", "heading key", lambda t: t.event == "heading",
      lambda t: t.target.lateral == ("roll" if t.source.lateral == "heading" else "heading")),
    P("T08", "course key", lambda t: t.event == "course", lambda t: _arming(t, "course")),
    P("T09", "approach key, both axes", lambda t: t.event == "approach",
      lambda t: _arming(t, "approach")
      and t.target.glidepath_armed == t.target.approach_armed != approach_selected(t.source)
      and t.target.vertical != "glidepath"),
    P("T10", "a capture clears the mode before it in the same step", _captures, _captured),
    P("T11", "course capture while armed: course active",
      lambda t: t.event == "course_capture" and t.source.course_armed,
      lambda t: t.target.lateral == "course"),
    P("T12", "vertical keys on the glidepath change no mode",
      lambda t: t.event in VERTICAL_KEYS and t.source.vertical == "glidepath", _same_modes, 18),
    P("T13", "the wheel on the glidepath does nothing",
      lambda t: t.event == "wheel" and t.source.vertical == "glidepath",
      lambda t: t.target == t.source, 6),
    P("T14", "the glidepath is left only by the listed causes", _glidepath_left, _glidepath_cause),
    P("T15", "altitude hold key in altitude select",
      lambda t: t.event == "altitude_hold" and t.source.vertical in ALTITUDE_SELECT,
      lambda t: t.target.vertical == "altitude_hold" and not t.target.altitude_armed),
    P("T16", "selected altitude changed in capture",
      lambda t: t.event == "altitude_changed" and t.source.vertical == "altitude_capture",
      lambda t: t.target.altitude_armed
      and t.target.vertical == ("level_change" if t.source.overspeed else "pitch")),
    P("T17", "selected altitude changed in track",
      lambda t: t.event == "altitude_changed" and t.source.vertical == "altitude_track",
      lambda t: t.target.vertical == "altitude_hold" and not t.target.altitude_armed),
    P("T18", "selected altitude changed in altitude hold does nothing",
      lambda t: t.event == "altitude_changed" and t.source.vertical == "altitude_hold",
      lambda t: t.target == t.source),
    P("T19", "wheel without overspeed",
      lambda t: t.event == "wheel" and not t.source.overspeed and t.source.vertical
      in ("altitude_hold", "level_change", *ALTITUDE_SELECT, "go_around", "vertical_speed"),
      _wheel),
    P("T20", "a vertical key a second time, without overspeed",
      lambda t: t.event in VERTICAL_KEYS and t.source.vertical == t.event
      and not t.source.overspeed,
      lambda t: t.target.vertical == "pitch" and t.target.altitude_armed),
    P("T21", "source or frequency changed", lambda t: t.event in SOURCE, _source_dropped, 766),
    P("T22", "engaging and synchronising end go-around",
      lambda t: t.event in ("autopilot_engaged", "synchronise")
      and t.source.lateral == "go_around",
      lambda t: active(t.target) == ("roll", "pitch"), 16),
    P("T23", "heading and vertical keys end go-around on both axes",
      lambda t: t.event in ("heading", *VERTICAL_KEYS, "wheel") and t.source.lateral == "go_around",
      lambda t: "go_around" not in active(t.target)),
    P("T24", "go-around again changes no mode",
      lambda t: t.event == "go_around" and t.source.lateral == "go_around", _same_modes, 12),
    P("T25", "transfer of the pilot flying",
      lambda t: t.event == "transfer" and t.source.guidance, _transferred),
    P("T26", "overspeed begins", lambda t: t.event == "overspeed_begins",
      lambda t: t.target.vertical == (
          t.source.vertical if t.source.vertical in ("altitude_hold", *ALTITUDE_SELECT)
          else "level_change")),
    P("T27", "refused in overspeed", _refused_in_overspeed, lambda t: t.target == t.source),
    P("T28", "overspeed ending changes no mode",
      lambda t: t.event == "overspeed_ends", _same_modes),
    P("T29", "keys of one axis keep the other", _own_axis_only, _other_axis_kept, 2572),
    P("T30", "synchronising outside go-around does nothing",
      lambda t: t.event == "synchronise" and t.source.lateral != "go_around",
      lambda t: t.target == t.source),
)  # fmt: skip


def uncommanded(event: str) -> bool:
    """True for what no hand of the pilots does: the published count of indirect changes.

    The published text says "non-switch event". Its count of 988 comes out if the two inputs of
    the autopilot, the selected altitude and the transfer count as commanded; with them it is 1580.
    """
    return event in (*CAPTURES, *SOURCE, "overspeed_begins", "overspeed_ends")


def count(items: Iterable[bool]) -> int:
    """Return how many are true."""
    return sum(items)
