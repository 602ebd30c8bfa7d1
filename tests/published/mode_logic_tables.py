"""Transition tables of a published generic flight guidance model, as data, and their reader.

Written from the tables alone, without looking at any chart: this is the other side of the
comparison. Source of every table: [MOD-01] in SOURCES.md. The published short names are
replaced by plain words: roll, heading, course (navigation), approach (lateral approach);
pitch, vertical_speed, level_change, altitude_hold, altitude_capture and altitude_track (altitude
select, its two active stages), glidepath (vertical approach); go_around on both axes. `+a` means
that altitude select is armed in the result; without it, it isn't. `-` marks a cell that can't
occur, `same` no change.
"""

from __future__ import annotations

from typing import NamedTuple

Cell = tuple[str, str, str]
"""Table, row and column of a cell."""


class State(NamedTuple):
    """A settled state of the model. `cues` are the flight director's."""

    guidance: bool = False
    cues: bool = False
    autopilot: bool = False
    overspeed: bool = False
    lateral: str = "roll"
    vertical: str = "pitch"
    course_armed: bool = False
    approach_armed: bool = False
    glidepath_armed: bool = False
    altitude_armed: bool = False


OFF = State()

SWITCHES = (
    "director", "heading", "course", "approach", "go_around",
    "vertical_speed", "level_change", "altitude_hold", "synchronise", "wheel",
)  # fmt: skip
CAPTURES = (
    "course_capture", "approach_capture", "glidepath_capture", "altitude_capture", "altitude_track",
)  # fmt: skip
CHANGES = ("altitude_changed", "source_changed", "frequency_changed", "transfer")
INPUTS = ("autopilot_engaged", "autopilot_disengaged", "overspeed_begins", "overspeed_ends")
EVENTS = (*SWITCHES, *CAPTURES, *CHANGES, *INPUTS)

# Director shown, autopilot off, no overspeed unless said. Armed flags kept unless the cell says
# otherwise.
LATERAL = """
event                       | roll                   | heading                | course                 | approach                                   | go_around
heading                     | heading                | roll                   | heading                | heading; vertical approach lost            | heading; vertical go-around left
course, cleared             | arm course             | arm course             | -                      | arm course                                 | arm course
course, armed               | disarm course          | disarm course          | -                      | disarm course                              | disarm course
course, active              | -                      | -                      | roll                   | -                                          | -
approach, cleared           | arm approach           | arm approach           | arm approach           | -                                          | arm approach
approach, armed             | disarm approach        | disarm approach        | disarm approach        | -                                          | disarm approach
approach, active            | -                      | -                      | -                      | roll; vertical approach lost               | -
go_around                   | both go-around         | both go-around         | both go-around         | both go-around; vertical approach lost     | same
course_capture, armed       | course; disarm course  | course; disarm course  | -                      | course; disarm course; vertical approach lost | course; disarm course; vertical go-around left
course_capture, not armed   | same                   | same                   | same                   | same                                       | same
approach_capture, armed     | approach captured      | approach captured      | approach captured      | -                                          | approach captured; vertical go-around left
approach_capture, not armed | same                   | same                   | same                   | same                                       | same
source_changed              | arms off               | arms off               | roll; arms off         | roll; arms off; vertical approach lost     | arms off
frequency_changed           | arms off               | arms off               | roll; arms off         | roll; arms off; vertical approach lost     | arms off
synchronise                 | same                   | same                   | same                   | same                                       | roll; vertical go-around left
autopilot_engaged           | same                   | same                   | same                   | same                                       | roll; vertical go-around left
transfer                    | roll; arms off; basic  | roll; arms off; basic  | roll; arms off; basic  | roll; arms off; basic                      | roll; arms off; basic
director                    | off                    | off                    | off                    | off                                        | off
"""  # noqa: E501

# With vertical approach not armed.
VERTICAL = """
event             | pitch            | vertical_speed   | level_change     | altitude_hold    | altitude_capture | altitude_track   | glidepath      | go_around
vertical_speed    | vertical_speed+a | pitch+a          | vertical_speed+a | vertical_speed+a | vertical_speed+a | vertical_speed+a | same           | vertical_speed+a; lateral roll
level_change      | level_change+a   | level_change+a   | pitch+a          | level_change+a   | level_change+a   | level_change+a   | same           | level_change+a; lateral roll
altitude_hold     | altitude_hold    | altitude_hold    | altitude_hold    | pitch+a          | altitude_hold    | altitude_hold    | same           | altitude_hold; lateral roll
wheel             | same             | same             | pitch+a          | pitch+a          | pitch+a          | pitch+a          | same           | pitch+a; lateral roll
altitude_changed  | same             | same             | same             | same             | pitch+a          | altitude_hold    | same           | same
altitude_capture  | altitude_capture | altitude_capture | altitude_capture | same             | same             | same             | same           | same
altitude_track    | same             | same             | same             | same             | altitude_track   | same             | same           | same
glidepath_capture | same             | same             | same             | same             | same             | same             | same           | same
go_around         | go_around        | go_around        | go_around        | go_around        | go_around        | go_around        | go_around      | same
autopilot_engaged | same             | same             | same             | same             | same             | same             | same           | pitch+a
overspeed_begins  | level_change+a   | level_change+a   | same             | same             | same             | same             | level_change+a | level_change+a; lateral roll
director          | off              | off              | off              | off              | off              | off              | off            | off
"""  # noqa: E501

# What becomes of an armed vertical approach; every other row keeps it.
GLIDEPATH_ARMED = """
event                 | approach is the active lateral mode | another lateral mode
approach              | off                                 | off
source_changed        | off                                 | off
frequency_changed     | off                                 | off
heading               | off                                 | kept
course_capture, armed | off                                 | kept
go_around             | off                                 | kept
transfer              | off                                 | off
glidepath_capture     | glidepath                           | kept
"""

ENGAGEMENT = """
state                         | event                | result
off                           | autopilot_engaged    | autopilot; cues; roll; pitch+a
cues shown, autopilot off     | autopilot_engaged    | autopilot
cues shown, autopilot on      | autopilot_disengaged | autopilot off
cues hidden, autopilot on     | autopilot_disengaged | off
cues shown, autopilot on      | director             | cues hidden
cues hidden, autopilot on     | director             | cues
cues hidden, autopilot on     | mode key             | cues
"""

FROM_OFF = """
event             | result
heading           | cues; heading; pitch+a
course            | cues; roll; arm course; pitch+a
approach          | cues; roll; arm approach; pitch+a
go_around         | cues; both go-around
vertical_speed    | cues; roll; vertical_speed+a
level_change      | cues; roll; level_change+a
altitude_hold     | cues; roll; altitude_hold
wheel             | cues; roll; pitch+a
synchronise       | off
altitude_changed  | off
source_changed    | off
frequency_changed | off
course_capture    | off
approach_capture  | off
glidepath_capture | off
altitude_capture  | off
altitude_track    | off
"""

# Director shown.
OVERSPEED = """
active           | vertical_speed | level_change   | altitude_hold  | wheel          | altitude_changed | go_around | altitude_capture | glidepath_capture | overspeed_ends
level_change     | same           | same           | altitude_hold  | same           | same             | same      | altitude_capture | same              | same
altitude_hold    | same           | level_change+a | level_change+a | level_change+a | same             | same      | same             | same              | same
altitude_capture | same           | level_change+a | altitude_hold  | level_change+a | level_change+a   | same      | same             | same              | same
altitude_track   | same           | level_change+a | altitude_hold  | level_change+a | altitude_hold    | same      | same             | same              | same
"""  # noqa: E501

# Stated as rules beside the tables, not in a cell of them.
STATED = """
rule                                    | result
T04 director key from off               | cues; roll; pitch+a
T05 T26 overspeed begins from off       | cues; roll; level_change+a
T27 director key in overspeed           | same
T25 transfer in overspeed               | level_change+a
I19 overspeed begins, cues hidden       | cues
inferred: transfer from off             | off
"""

MODE_KEYS = (
    "heading", "course", "approach", "go_around", "vertical_speed", "level_change",
    "altitude_hold", "wheel",
)  # fmt: skip

# The text says that any mode key brings hidden cues back, and T13 that the wheel on the glidepath
# does nothing at all. The published count of ignored presses (859) further needs one of pitch and
# vertical speed to leave them hidden. It can't be pitch: from there the wheel brings guidance on
# (T05).
WHEEL_LEAVES_CUES = frozenset({"glidepath", "vertical_speed"})


def read(text: str) -> dict[str, dict[str, str]]:
    """Return row -> column -> cell of one of the tables above."""
    header, *rows = [[part.strip() for part in line.split("|")] for line in text.split("\n")[1:-1]]
    table: dict[str, dict[str, str]] = {}
    for name, *cells in rows:
        assert len(cells) == len(header) - 1, name
        table.setdefault(name, {}).update(zip(header[1:], cells, strict=True))
    return table


def read_engagement() -> dict[tuple[str, str], str]:
    """Return (state, event) -> result of the engagement table."""
    lines = [[part.strip() for part in line.split("|")] for line in ENGAGEMENT.split("\n")[2:-1]]
    return {(state, event): result for state, event, result in lines}


TABLES = {
    "lateral": read(LATERAL),
    "vertical": read(VERTICAL),
    "glidepath armed": read(GLIDEPATH_ARMED),
    "from off": read(FROM_OFF),
    "overspeed": read(OVERSPEED),
    "stated": read(STATED),
}
ENGAGEMENT_CELLS = read_engagement()
OVERSPEED_EVENTS = frozenset(TABLES["overspeed"]["level_change"])


def all_cells() -> frozenset[Cell]:
    """Return every cell that can occur."""
    found = {
        (name, row, column)
        for name, table in TABLES.items()
        for row, cells in table.items()
        for column, text in cells.items()
        if text != "-"
    }
    return frozenset(found | {("engagement", *key) for key in ENGAGEMENT_CELLS})


def possible(state: State, event: str) -> bool:
    """Return True if the event can happen: inputs change only from their other value."""
    return {
        "autopilot_engaged": not state.autopilot,
        "autopilot_disengaged": state.autopilot,
        "overspeed_begins": not state.overspeed,
        "overspeed_ends": state.overspeed,
    }.get(event, True)


class Reader:
    """Applies the cells for one state and event, noting which ones it used."""

    def __init__(self, state: State) -> None:
        self.before = state
        self.state = state
        self.used: list[Cell] = []

    def cell(self, table: str, row: str, column: str) -> str:
        """Note a cell and return its text."""
        self.used.append((table, row, column))
        if table == "engagement":
            return ENGAGEMENT_CELLS[row, column]
        return TABLES[table][row][column]

    def apply(self, text: str) -> None:
        """Change the state as a cell says."""
        for phrase in (part.strip() for part in text.split(";")):
            self.state = self._after(phrase)

    def _after(self, phrase: str) -> State:
        state = self.state
        if phrase == "same":
            return state
        if phrase == "off":
            return OFF._replace(overspeed=state.overspeed)
        if phrase in _PHRASES:
            return state._replace(**_PHRASES[phrase])
        if phrase == "vertical approach lost":
            left = state._replace(glidepath_armed=False)
            return left._replace(**_BASIC) if state.vertical == "glidepath" else left
        if phrase == "vertical go-around left":
            assert self.before.vertical == "go_around"
            return state._replace(**_BASIC)
        vertical = phrase.removesuffix("+a")
        assert vertical in _VERTICAL_MODES, phrase
        return state._replace(vertical=vertical, altitude_armed=phrase.endswith("+a"))


_BASIC = {"vertical": "pitch", "altitude_armed": True}
_VERTICAL_MODES = frozenset(TABLES["vertical"]["wheel"])
_PHRASES: dict[str, dict[str, bool | str]] = {
    "roll": {"lateral": "roll"},
    "lateral roll": {"lateral": "roll"},
    "heading": {"lateral": "heading"},
    "course": {"lateral": "course"},
    "approach captured": {"lateral": "approach", "approach_armed": False},
    "both go-around": {"lateral": "go_around", "vertical": "go_around", "altitude_armed": False},
    "arm course": {"course_armed": True},
    "disarm course": {"course_armed": False},
    "arm approach": {"approach_armed": True, "glidepath_armed": True},
    "disarm approach": {"approach_armed": False, "glidepath_armed": False},
    "arms off": {"course_armed": False, "approach_armed": False, "glidepath_armed": False},
    "basic": {"vertical": "pitch", "altitude_armed": True},
    "cues": {"cues": True, "guidance": True},
    "cues hidden": {"cues": False},
    "autopilot": {"autopilot": True, "cues": True, "guidance": True},
    "autopilot off": {"autopilot": False},
}


def expected(state: State, event: str) -> tuple[State, tuple[Cell, ...]]:
    """Return the state after the event as the tables have it, and the cells that say so."""
    reader = Reader(state)
    if event in ("overspeed_begins", "overspeed_ends"):
        reader.state = state._replace(overspeed=event == "overspeed_begins")
    if state.guidance:
        _engagement(reader, event)
        if reader.state.guidance and event != "director":
            _modes(reader, event)
    else:
        _from_off(reader, event)
    return reader.state, tuple(reader.used)


def _from_off(reader: Reader, event: str) -> None:
    stated = {
        "director": "T04 director key from off",
        "overspeed_begins": "T05 T26 overspeed begins from off",
        "transfer": "inferred: transfer from off",
    }
    if event == "autopilot_engaged":
        reader.apply(reader.cell("engagement", "off", event))
    elif event in stated:
        reader.apply(reader.cell("stated", stated[event], "result"))
    else:
        reader.apply(reader.cell("from off", event, "result"))


def _engagement(reader: Reader, event: str) -> None:
    state = reader.before
    cues, autopilot = "shown" if state.cues else "hidden", "on" if state.autopilot else "off"
    row = f"cues {cues}, autopilot {autopilot}"
    if event == "director" and state.overspeed:
        reader.apply(reader.cell("stated", "T27 director key in overspeed", "result"))
    elif event == "director" and not state.autopilot:
        reader.apply(reader.cell("lateral", event, state.lateral))
        reader.apply(reader.cell("vertical", event, state.vertical))
    elif (row, event) in ENGAGEMENT_CELLS:
        reader.apply(reader.cell("engagement", row, event))
    elif not state.cues and event == "overspeed_begins":
        reader.apply(reader.cell("stated", "I19 overspeed begins, cues hidden", "result"))
    elif not state.cues and _shows_cues(state, event):
        reader.apply(reader.cell("engagement", row, "mode key"))


def _shows_cues(state: State, event: str) -> bool:
    if event == "wheel":
        return state.vertical not in WHEEL_LEAVES_CUES
    return event in MODE_KEYS


def _modes(reader: Reader, event: str) -> None:
    state = reader.before
    if state.overspeed and event in OVERSPEED_EVENTS:
        reader.apply(reader.cell("overspeed", state.vertical, event))
        return
    row = _lateral_row(state, event)
    if row in TABLES["lateral"]:
        reader.apply(reader.cell("lateral", row, state.lateral))
    if event in TABLES["vertical"]:
        reader.apply(reader.cell("vertical", event, state.vertical))
    if event == "transfer" and state.overspeed:
        reader.apply(reader.cell("stated", "T25 transfer in overspeed", "result"))
    if state.glidepath_armed:
        _glidepath_armed(reader, event if event == "approach" else row)


def _lateral_row(state: State, event: str) -> str:
    mode = event.removesuffix("_capture")
    if mode not in ("course", "approach"):
        return event
    armed = state.course_armed if mode == "course" else state.approach_armed
    if event != mode:
        return f"{event}, {'armed' if armed else 'not armed'}"
    if state.lateral == mode:
        return f"{event}, active"
    return f"{event}, {'armed' if armed else 'cleared'}"


def _glidepath_armed(reader: Reader, row: str) -> None:
    """The armed vertical approach has a table of its own; it decides, whatever stands above."""
    armed = True
    if row in TABLES["glidepath armed"]:
        active = reader.before.lateral == "approach"
        column = "approach is the active lateral mode" if active else "another lateral mode"
        text = reader.cell("glidepath armed", row, column)
        armed = text == "kept"
        if text == "glidepath":
            reader.apply("glidepath")
    reader.state = reader.state._replace(glidepath_armed=armed)
