"""Strip designs as YAML files: read with the place of every fault, written so they read back.

Nothing in a file is guessed at or dropped: an unknown key, a cell shown twice or a colour that is
none is a `FileError` naming file, line, what was found and what is accepted.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq
from ruamel.yaml.error import MarkedYAMLError, YAMLError

from trainer.document import parse_document
from trainer.errors import FileError, FileProblem
from trainer.session.annunciation import CELLS
from trainer.session.contrast import is_colour
from trainer.session.strip_design import (
    DARK_COLOURS,
    DEFAULT_LANES,
    EMPHASES,
    LIGHT_COLOURS,
    MARKERS,
    ORIENTATIONS,
    SCALE_RANGE,
    SHAPES,
    StripColours,
    StripDesign,
    colour_names,
    missing_cells,
)
from trainer.text_file import read_text

_CHOICES: dict[str, tuple[str, ...]] = {
    "orientation": ORIENTATIONS,
    "active_shape": SHAPES,
    "armed_shape": SHAPES,
    "armed_marker": MARKERS,
    "emphasis": EMPHASES,
}
DESIGN_KEYS = (
    "name",
    "orientation",
    "lanes",
    "words",
    "light",
    "dark",
    "active_shape",
    "armed_shape",
    "armed_marker",
    "emphasis",
    "scale",
)
_WORD_LENGTH = 40


def load_strip_design(path: Path) -> StripDesign:
    """Return the strip design of a YAML file; keys left out keep the default's.

    Raises:
        MissingFileError: If the file can't be read.
        FileError: If the file isn't a valid design; every problem is listed.
    """
    return parse_strip_design(read_text(path, accepted="a YAML text file"), str(path))


def parse_strip_design(text: str, path: str = "design.yaml") -> StripDesign:
    """Return the strip design of YAML text; `path` only serves the messages.

    Raises:
        FileError: If the text isn't a valid design.

    Example:
        >>> parse_strip_design("{name: Tall, orientation: columns}").orientation
        'columns'
    """
    reader = _Reader(path)
    parse_document(text, path)  # refuses what is too large, too deep, or holds aliases
    data = _parse(text, path)
    if not isinstance(data, CommentedMap):
        raise FileError([FileProblem(path, 1, 1, f"found {_kind(data)}", "a mapping with name")])
    design = reader.design(data)
    if reader.problems:
        raise FileError(sorted(reader.problems, key=lambda p: (p.line, p.column)))
    return design


def dump_strip_design(design: StripDesign) -> str:
    """Return the design as YAML text that `parse_strip_design` reads back to an equal value.

    Example:
        >>> design = parse_strip_design("{name: Tall, scale: 1.25}")
        >>> parse_strip_design(dump_strip_design(design)) == design
        True
    """
    data: dict[str, Any] = {key: getattr(design, key) for key in DESIGN_KEYS}
    data["lanes"] = [list(lane) for lane in design.lanes]
    data["words"] = dict(design.words)
    for scheme in ("light", "dark"):
        data[scheme] = {name: getattr(data[scheme], name) for name in colour_names()}
    stream = io.StringIO()
    yaml = YAML(typ="safe")
    yaml.default_flow_style = False
    yaml.sort_base_mapping_type_on_output = False  # type: ignore[assignment]
    yaml.allow_unicode = True
    yaml.dump(data, stream)
    return stream.getvalue()


def _parse(text: str, path: str) -> Any:
    try:
        return YAML(typ="rt").load(text)
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        found = str(error.problem or error.context or "text that isn't YAML")
        raise FileError([FileProblem(path, line, column, found, "YAML 1.2")]) from error
    except (YAMLError, ValueError, TypeError, AttributeError, OverflowError) as error:
        # What the library makes of odd tags and of numbers without end.
        found = f"found {str(error)[:200]}"
        raise FileError([FileProblem(path, 1, 1, found, "YAML 1.2 with plain values")]) from error


@dataclass(slots=True)
class _Reader:
    """Reads one file, collecting what is wrong instead of stopping at the first."""

    path: str
    problems: list[FileProblem] = field(default_factory=list)

    def design(self, data: CommentedMap) -> StripDesign:
        self._refuse_unknown(data, DESIGN_KEYS)
        if "name" not in data:
            self._add(1, 1, "no name", "name: the design's name")
        values: dict[str, Any] = {}
        for key in data:
            if key in _CHOICES:
                values[key] = self._choice(data, key, _CHOICES[key])
        values["name"] = self._text(data, "name", 60)
        values["scale"] = self._scale(data)
        values["lanes"] = self._lanes(data)
        values["words"] = MappingProxyType(self._words(data))
        values["light"] = self._colours(data, "light", LIGHT_COLOURS)
        values["dark"] = self._colours(data, "dark", DARK_COLOURS)
        return StripDesign(**values) if not self.problems else StripDesign()

    def _choice(self, data: CommentedMap, key: str, accepted: tuple[str, ...]) -> str:
        if data[key] not in accepted:
            self._wrong(data, key, " or ".join(accepted))
            return accepted[0]
        return str(data[key])

    def _text(self, data: CommentedMap, key: Any, longest: int) -> str:
        value = data.get(key, "?")
        if not isinstance(value, str) or not value.strip() or len(value) > longest:
            self._wrong(data, key, f"a word or words, at most {longest} characters")
            return "?"
        return str(value).strip()

    def _scale(self, data: CommentedMap) -> float:
        low, high = SCALE_RANGE
        value = data.get("scale", 1.0)
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            self._wrong(data, "scale", f"a number from {low:g} to {high:g}")
            return 1.0
        if not low <= value <= high:
            self._wrong(data, "scale", f"a number from {low:g} to {high:g}")
        return float(value)

    def _lanes(self, data: CommentedMap) -> tuple[tuple[str, ...], ...]:
        lanes = data.get("lanes", None)
        if "lanes" not in data:
            return DEFAULT_LANES
        if not isinstance(lanes, CommentedSeq) or not lanes:
            self._wrong(data, "lanes", "a list of lanes, each a list of cells")
            return DEFAULT_LANES
        seen: set[str] = set()
        for row, lane in enumerate(lanes):
            line, column = lanes.lc.item(row)
            if not isinstance(lane, CommentedSeq) or not lane:
                self._add(line + 1, column + 1, f"found {_kind(lane)}", "a list of cells")
                return DEFAULT_LANES
            for place, cell in enumerate(lane):
                self._cell(lane, place, cell, seen)
        absent = missing_cells(tuple(tuple(map(str, lane)) for lane in lanes))
        if absent:
            line, column = data.lc.key("lanes")
            self._add(line + 1, column + 1, f"no lane shows {', '.join(absent)}", "every cell once")
        return tuple(tuple(str(cell) for cell in lane) for lane in lanes)

    def _cell(self, lane: CommentedSeq, place: int, cell: Any, seen: set[str]) -> None:
        line, column = lane.lc.item(place)
        if cell not in CELLS:
            self._add(line + 1, column + 1, f"found {cell!r}", ", ".join(CELLS))
        elif cell in seen:
            self._add(line + 1, column + 1, f"{cell} is shown twice", "every cell once")
        seen.add(str(cell))

    def _words(self, data: CommentedMap) -> dict[str, str]:
        words = self._mapping(data, "words", "a mapping from a state's id to a word")
        return {str(state): self._text(words, state, _WORD_LENGTH) for state in words}

    def _colours(self, data: CommentedMap, scheme: str, default: StripColours) -> StripColours:
        given = self._mapping(data, scheme, "a mapping from a colour's name to #RRGGBB")
        self._refuse_unknown(given, colour_names())
        values = {name: getattr(default, name) for name in colour_names()}
        for name in given:
            if name not in values:
                continue
            if not is_colour(given[name]):
                self._wrong(given, name, "'#RRGGBB' in quotes, such as '#0072B2'")
            values[name] = str(given[name])
        return StripColours(**values)

    def _mapping(self, data: CommentedMap, key: str, accepted: str) -> CommentedMap:
        value = data.get(key)
        if isinstance(value, CommentedMap):
            return value
        if value is not None and value != {}:
            self._wrong(data, key, accepted)
        return CommentedMap()

    def _refuse_unknown(self, data: CommentedMap, accepted: tuple[str, ...]) -> None:
        for key in data:
            if key not in accepted:
                line, column = data.lc.key(key)
                self._add(line + 1, column + 1, f"found key {key!r}", ", ".join(accepted))

    def _wrong(self, data: CommentedMap, key: Any, accepted: str) -> None:
        place: Callable[[Any], tuple[int, int]] = data.lc.value
        line, column = place(key) if key in data else (0, 0)
        self._add(line + 1, column + 1, f"{key}: found {data.get(key)!r}", accepted)

    def _add(self, line: int, column: int, found: str, accepted: str) -> None:
        self.problems.append(FileProblem(self.path, line, column, found, accepted))


def _kind(value: Any) -> str:
    if value is None:
        return "nothing"
    return {CommentedMap: "a mapping", CommentedSeq: "a list"}.get(type(value), repr(value))
