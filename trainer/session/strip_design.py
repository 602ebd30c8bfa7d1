"""How a strip looks: its lanes, words, colours and shapes, as a value without Qt.

A trainee makes designs of their own (`strip_design_file` reads them); `check_design` says what is
hard to read in one and what would mend it. The windows paint a design, they decide nothing here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from types import MappingProxyType
from typing import Literal

from trainer.session.annunciation import CELLS
from trainer.session.contrast import (
    COLOUR_VISIONS,
    GRAPHIC_MINIMUM,
    OKABE_ITO,
    TEXT_MINIMUM,
    as_seen_with,
    colour_difference,
    contrast_ratio,
)

Orientation = Literal["rows", "columns"]
Shape = Literal["rounded", "square", "pill", "cut"]
Marker = Literal["ring", "triangle", "bar", "dashes"]
Emphasis = Literal["border", "border_and_mark"]
ORIENTATIONS: tuple[Orientation, ...] = ("rows", "columns")
SHAPES: tuple[Shape, ...] = ("rounded", "square", "pill", "cut")
MARKERS: tuple[Marker, ...] = ("ring", "triangle", "bar", "dashes")
EMPHASES: tuple[Emphasis, ...] = ("border", "border_and_mark")
SCALE_RANGE = (0.8, 2.0)
DEFAULT_LANES = (
    ("engagement", "alert", "protection"),
    ("lateral_active", "lateral_armed"),
    ("vertical_active", "vertical_armed"),
)

_LEAST_DIFFERENCE = 10.0
"""Least CIELAB difference of two fills that mean different things. Chosen for teaching."""


@dataclass(frozen=True, slots=True)
class StripColours:
    """The colours of a strip by meaning, each `#RRGGBB`."""

    ground: str
    """Behind everything."""
    title: str
    """Small words that name the cells."""
    active_fill: str
    active_ink: str
    armed_outline: str
    armed_ink: str
    alert_fill: str
    alert_ink: str
    changed: str
    """Border of a cell that changed without the pilot's command."""
    empty: str
    """The word or dash of an empty cell."""


LIGHT_COLOURS = StripColours(
    ground="#FFFFFF",
    title="#4A5058",
    active_fill=OKABE_ITO["blue"],
    active_ink="#FFFFFF",
    armed_outline=OKABE_ITO["blue"],
    armed_ink="#12161A",
    alert_fill=OKABE_ITO["vermillion"],
    alert_ink="#000000",
    changed=OKABE_ITO["reddish_purple"],
    empty="#6A7078",
)
DARK_COLOURS = StripColours(
    ground="#0C0F12",
    title="#AEB6BF",
    active_fill=OKABE_ITO["sky_blue"],
    active_ink="#000000",
    armed_outline=OKABE_ITO["sky_blue"],
    armed_ink="#F2F4F6",
    alert_fill=OKABE_ITO["vermillion"],
    alert_ink="#000000",
    changed=OKABE_ITO["yellow"],
    empty="#8D959E",
)


@dataclass(frozen=True, slots=True)
class StripDesign:
    """One strip design."""

    name: str = "Standard strip"
    orientation: Orientation = "rows"
    """rows: each lane runs across; columns: each lane runs down."""
    lanes: tuple[tuple[str, ...], ...] = DEFAULT_LANES
    """Cell names lane by lane; every cell of `annunciation.CELLS` exactly once."""
    words: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    """State id -> the trainee's own word for it; the chart's word where none is given."""
    light: StripColours = LIGHT_COLOURS
    dark: StripColours = DARK_COLOURS
    active_shape: Shape = "rounded"
    armed_shape: Shape = "rounded"
    armed_marker: Marker = "ring"
    emphasis: Emphasis = "border_and_mark"
    scale: float = 1.0
    """Size of the words, 0.8 to 2.0."""


@dataclass(frozen=True, slots=True)
class DesignFinding:
    """One thing that is hard to read in a design, with a repair."""

    what: str
    """A sentence naming the colours, the figure and the least that is accepted."""
    repair: str
    scheme: str
    """light, dark or both."""
    colour: str = ""
    """The colour that the repair changes; empty: it can't be made by itself."""
    mended: str = ""
    """Its new value, `#RRGGBB`."""


DEFAULT_DESIGN = StripDesign()

_PAIRS = (
    ("active_ink", "active_fill", TEXT_MINIMUM),
    ("armed_ink", "ground", TEXT_MINIMUM),
    ("alert_ink", "alert_fill", TEXT_MINIMUM),
    ("title", "ground", TEXT_MINIMUM),
    ("empty", "ground", TEXT_MINIMUM),
    ("active_fill", "ground", GRAPHIC_MINIMUM),
    ("armed_outline", "ground", GRAPHIC_MINIMUM),
    ("alert_fill", "ground", GRAPHIC_MINIMUM),
    ("changed", "ground", GRAPHIC_MINIMUM),
)


def colour_names() -> tuple[str, ...]:
    """Return the names of a strip's colours, in the order of a design file.

    Example:
        >>> colour_names()[:3]
        ('ground', 'title', 'active_fill')
    """
    return tuple(item.name for item in fields(StripColours))


def contrast_pairs(colours: StripColours) -> tuple[tuple[str, str, float, float], ...]:
    """Return (upper, lower, contrast, least accepted) for each pair that must be told apart.

    Source:
        [DSP-02] text, [DSP-03] shapes.
    """
    return tuple(
        (upper, lower, contrast_ratio(getattr(colours, upper), getattr(colours, lower)), least)
        for upper, lower, least in _PAIRS
    )


def check_design(design: StripDesign) -> tuple[DesignFinding, ...]:
    """Return what is hard to read or ambiguous in a design; empty for a good one."""
    findings = list(_check_words(design))
    for scheme, colours in (("light", design.light), ("dark", design.dark)):
        findings.extend(_check_contrast(scheme, colours))
        findings.extend(_check_colour_vision(scheme, colours))
    return tuple(findings)


def missing_cells(lanes: tuple[tuple[str, ...], ...]) -> tuple[str, ...]:
    """Return the cells that no lane shows, in reading order."""
    shown = {cell for lane in lanes for cell in lane}
    return tuple(cell for cell in CELLS if cell not in shown)


def nearest_readable(colour: str, ground: str, least: float) -> str:
    """Return the colour nearest to `colour`, darker or lighter, with enough contrast to `ground`.

    Black or white always gives at least 4.58, so a result exists for every `least` used here.
    """
    candidates = []
    for target in ("#000000", "#FFFFFF"):
        for step in range(1, 101):
            mixed = _mix(colour, target, step / 100)
            if contrast_ratio(mixed, ground) >= least:
                candidates.append((step, mixed))
                break
    return min(candidates)[1]


def _check_contrast(scheme: str, colours: StripColours) -> list[DesignFinding]:
    findings = []
    for upper, lower, ratio, least in contrast_pairs(colours):
        if ratio >= least:
            continue
        mended = nearest_readable(getattr(colours, upper), getattr(colours, lower), least)
        findings.append(
            DesignFinding(
                f"{upper} {getattr(colours, upper)} on {lower} {getattr(colours, lower)} has"
                f" contrast {ratio:.2f}; at least {least:g} is needed",
                f"set {upper} to {mended}",
                scheme,
                upper,
                mended,
            )
        )
    return findings


def _check_colour_vision(scheme: str, colours: StripColours) -> list[DesignFinding]:
    findings = []
    for vision in COLOUR_VISIONS:
        active = as_seen_with(colours.active_fill, vision)
        alert = as_seen_with(colours.alert_fill, vision)
        if colour_difference(active, alert) < _LEAST_DIFFERENCE:
            findings.append(
                DesignFinding(
                    f"active_fill {colours.active_fill} and alert_fill {colours.alert_fill} look"
                    f" alike with {vision}",
                    "choose two that differ in lightness, such as"
                    f" {OKABE_ITO['blue']} and {OKABE_ITO['orange']}",
                    scheme,
                )
            )
    return findings


def _check_words(design: StripDesign) -> list[DesignFinding]:
    findings = []
    seen: dict[str, str] = {}
    for state, word in design.words.items():
        folded = word.strip().casefold()
        if folded in seen:
            findings.append(
                DesignFinding(
                    f"the word {word!r} stands for {seen[folded]} and for {state}",
                    f"give {state} a word of its own",
                    "both",
                )
            )
        seen.setdefault(folded, state)
    return findings


def _mix(colour: str, target: str, share: float) -> str:
    parts = (
        round(int(colour[i : i + 2], 16) * (1 - share) + int(target[i : i + 2], 16) * share)
        for i in (1, 3, 5)
    )
    return "#" + "".join(f"{part:02X}" for part in parts)
