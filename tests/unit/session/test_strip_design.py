"""Strip designs: the default is readable, faults are found with a repair, files keep everything."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import FileError, MissingFileError
from trainer.session.annunciation import CELLS
from trainer.session.contrast import contrast_ratio
from trainer.session.strip_design import (
    DEFAULT_DESIGN,
    EMPHASES,
    MARKERS,
    ORIENTATIONS,
    SHAPES,
    StripColours,
    StripDesign,
    check_design,
    colour_names,
    nearest_readable,
)
from trainer.session.strip_design_file import (
    dump_strip_design,
    load_strip_design,
    parse_strip_design,
)

COLOURS = st.integers(0, 0xFFFFFF).map(lambda number: f"#{number:06X}")
WORDS = st.text("abcdefghijklmnopqrstuvwxyz äé-'#:", min_size=1, max_size=20).map(str.strip)


@st.composite
def designs(draw: st.DrawFn) -> StripDesign:
    """Any valid design."""
    cells = draw(st.permutations(CELLS))
    cut = draw(st.integers(1, len(cells) - 1))
    sets = [
        StripColours(**{name: draw(COLOURS) for name in colour_names()}) for _ in ("light", "dark")
    ]
    return StripDesign(
        name=draw(WORDS.filter(bool)),
        orientation=draw(st.sampled_from(ORIENTATIONS)),
        lanes=(tuple(cells[:cut]), tuple(cells[cut:])),
        words=draw(st.dictionaries(st.sampled_from(("roll_hold", "level")), WORDS.filter(bool))),
        light=sets[0],
        dark=sets[1],
        active_shape=draw(st.sampled_from(SHAPES)),
        armed_shape=draw(st.sampled_from(SHAPES)),
        armed_marker=draw(st.sampled_from(MARKERS)),
        emphasis=draw(st.sampled_from(EMPHASES)),
        scale=draw(st.sampled_from((0.8, 1.0, 1.25, 2.0))),
    )


@given(designs())
def test_design_is_the_same_after_writing_and_reading(design: StripDesign) -> None:
    assert parse_strip_design(dump_strip_design(design)) == design


def test_default_design_has_no_findings() -> None:
    assert check_design(DEFAULT_DESIGN) == ()


def test_default_design_shows_every_cell_once() -> None:
    shown = [cell for lane in DEFAULT_DESIGN.lanes for cell in lane]
    assert sorted(shown) == sorted(CELLS)


def test_poor_contrast_is_found_with_a_repair_that_mends_it() -> None:
    weak = replace(DEFAULT_DESIGN.light, title="#949494")
    (finding,) = check_design(replace(DEFAULT_DESIGN, light=weak))
    assert "3.03" in finding.what
    assert finding.scheme == "light"
    repaired = replace(weak, title=finding.repair.split()[-1])
    assert check_design(replace(DEFAULT_DESIGN, light=repaired)) == ()


def test_fills_alike_without_red_cones_are_found() -> None:
    # A red and a green of like lightness: common practice as the pair to avoid.
    muddled = replace(DEFAULT_DESIGN.light, active_fill="#3A7A00", alert_fill="#A04A00")
    found = check_design(replace(DEFAULT_DESIGN, light=muddled))
    assert any("look alike" in finding.what for finding in found)


def test_one_word_for_two_states_is_found() -> None:
    doubled = replace(DEFAULT_DESIGN, words={"roll_hold": "Hold", "pitch_hold": "hold"})
    (finding,) = check_design(doubled)
    assert "pitch_hold" in finding.what


@given(COLOURS, COLOURS, st.sampled_from((3.0, 4.5)))
def test_nearest_readable_always_reaches_the_least_contrast(
    colour: str, ground: str, least: float
) -> None:
    assert contrast_ratio(nearest_readable(colour, ground, least), ground) >= least


@pytest.mark.parametrize(
    ("text", "line", "found", "accepted"),
    [
        ("name: Mine\ncolour: red\n", 2, "found key 'colour'", "orientation"),
        ("name: Mine\norientation: diagonal\n", 2, "diagonal", "rows or columns"),
        ("name: Mine\nscale: 9\n", 2, "scale: found 9", "0.8 to 2"),
        ("name: Mine\nscale: true\n", 2, "scale: found True", "a number"),
        ("name: Mine\nlight:\n  ground: '#12'\n", 3, "ground: found '#12'", "#RRGGBB"),
        ("name: Mine\nlight:\n  grund: '#123456'\n", 3, "found key 'grund'", "ground"),
        ("name: Mine\nlanes:\n  - [engagement]\n", 2, "no lane shows lateral_active", "once"),
        ("name: Mine\nlanes:\n  - [engagement, engagement]\n", 3, "shown twice", "once"),
        ("name: Mine\nlanes:\n  - [speed]\n", 3, "found 'speed'", "engagement"),
        ("name: Mine\nlanes:\n  - alert\n", 3, "found 'alert'", "a list of cells"),
        ("name: Mine\nlanes: all\n", 2, "found 'all'", "a list of lanes"),
        ("name: Mine\nwords: long\n", 2, "words: found 'long'", "a mapping"),
        ("name: Mine\nwords:\n  roll_hold: ''\n", 3, "roll_hold: found ''", "a word"),
        ("orientation: rows\n", 1, "no name", "the design's name"),
        ("name: [\n", 2, "", "YAML"),
        ("- name\n", 1, "no mapping", "key: value lines"),
        ("", 1, "no mapping", "key: value lines"),
    ],
)
def test_faulty_file_names_line_found_and_accepted(
    text: str, line: int, found: str, accepted: str
) -> None:
    with pytest.raises(FileError) as caught:
        parse_strip_design(text, "mine.yaml")
    problem = next(p for p in caught.value.problems if found in p.found)
    assert (problem.path, problem.line) == ("mine.yaml", line)
    assert accepted in problem.accepted


def test_every_problem_is_listed_at_once() -> None:
    with pytest.raises(FileError) as caught:
        parse_strip_design("name: Mine\nscale: 9\norientation: up\n")
    assert [problem.line for problem in caught.value.problems] == [2, 3]


def test_keys_left_out_keep_the_default() -> None:
    design = parse_strip_design("name: Mine\nlight:\n  title: '#000000'\n")
    assert design == replace(
        DEFAULT_DESIGN, name="Mine", light=replace(DEFAULT_DESIGN.light, title="#000000")
    )


def test_absent_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(MissingFileError, match=r"absent\.yaml"):
        load_strip_design(tmp_path / "absent.yaml")
