"""Any valid design shows every annunciation that the aircraft can reach, whole and unmistakable.

A strip is painted cell by cell and a cell's picture depends on its own content only, so two
annunciations look alike only if every cell looks alike; the long test compares whole strips too.
"""

from __future__ import annotations

import itertools
from functools import lru_cache
from types import MappingProxyType

import pytest
from hypothesis import HealthCheck, assume, event, given, settings
from hypothesis import strategies as st
from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QImage, QPainter
from pytestqt.qtbot import QtBot

from trainer.app import Workspace
from trainer.charts.explore import explore
from trainer.session.annunciation import CELLS, Annunciation
from trainer.session.strip_content import CellPicture, chips_of
from trainer.session.strip_design import (
    DEFAULT_DESIGN,
    EMPHASES,
    MARKERS,
    ORIENTATIONS,
    SCALE_RANGE,
    SHAPES,
    StripColours,
    StripDesign,
    check_design,
    colour_names,
)
from trainer.session.strip_design_file import dump_strip_design, parse_strip_design
from trainer.session.strip_drawing import Area, Outline, Style, Words, draw_cell
from trainer.session.strip_fit import contents_of
from trainer.session.strip_layout import strip_boxes
from trainer.session.strip_words import QUIET_STATES, StripWords, seen, with_design, words_of_chart
from trainer.ui.strip.design_edit import repaired
from trainer.ui.strip.design_fit import NARROWEST_PX
from trainer.ui.strip.strip_paint import Look, measure_with, paint_cell
from trainer.ui.strip.strip_widget import StripWidget

WORKSPACE = Workspace()
WORDS = {
    name: words_of_chart(WORKSPACE.installation(name).chart) for name in WORKSPACE.installations
}
STATES = sorted({c.id for words in WORDS.values() for cell in words.cells.values() for c in cell})
FAULTLESS_IN = 12
"""Repairs after which a design has nothing left that mends itself."""
_SIGNS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789 -/.:+()äéßøñ"
_MARGIN = 40


@st.composite
def colours(draw: st.DrawFn) -> StripColours:
    """Any colours at all."""
    one = st.integers(0, 0xFFFFFF).map(lambda number: f"#{number:06X}")
    return StripColours(**{name: draw(one) for name in colour_names()})


@st.composite
def designs(draw: st.DrawFn) -> StripDesign:
    """Any design that a file can hold, its colours mended as the designer mends them."""
    cells = draw(st.permutations(CELLS))
    cuts = sorted(draw(st.sets(st.integers(1, len(CELLS) - 1), max_size=len(CELLS) - 1)))
    edges = [0, *cuts, len(CELLS)]
    word = st.text(_SIGNS, min_size=1, max_size=40).filter(lambda text: bool(text.strip()))
    design = StripDesign(
        name="Any",
        orientation=draw(st.sampled_from(ORIENTATIONS)),
        lanes=tuple(tuple(cells[a:b]) for a, b in itertools.pairwise(edges)),
        words=MappingProxyType(
            draw(st.dictionaries(st.sampled_from(STATES), word.map(str.strip), max_size=12))
        ),
        light=draw(st.one_of(st.just(DEFAULT_DESIGN.light), colours())),
        dark=DEFAULT_DESIGN.dark,
        active_shape=draw(st.sampled_from(SHAPES)),
        armed_shape=draw(st.sampled_from(SHAPES)),
        armed_marker=draw(st.sampled_from(MARKERS)),
        emphasis=draw(st.sampled_from(EMPHASES)),
        scale=draw(st.floats(*SCALE_RANGE)),
    )
    for _ in range(FAULTLESS_IN):
        mended = [finding for finding in check_design(design) if finding.colour]
        design = repaired(design, mended[0]) if mended else design
    assume(not [one for one in check_design(design) if one.scheme != "both"])
    return design


@lru_cache(maxsize=4)
def reachable(name: str) -> tuple[Annunciation, ...]:
    """Return every annunciation that an installation can reach."""
    logic = WORKSPACE.logic(name)
    settled = explore(logic.machine.kernel).settled
    return tuple(dict.fromkeys(logic.annunciation(one) for one in settled))


def painted(cell: Area, picture: CellPicture, look: Look) -> QImage:
    """Return a cell painted on a sheet larger than the cell, as shades of grey."""
    size = QSize(round(cell.width) + 2 * _MARGIN, round(cell.height) + 2 * _MARGIN)
    image = QImage(size, QImage.Format.Format_RGB32)
    image.fill(look.colours.ground)
    painter = QPainter(image)
    paint_cell(painter, QRectF(_MARGIN, _MARGIN, cell.width, cell.height), picture, look)
    painter.end()
    return image.convertToFormat(QImage.Format.Format_Grayscale8)


def overflow(image: QImage) -> bool:
    """Return whether anything is painted outside the cell."""
    inner = image.copy()
    painter = QPainter(inner)
    cell = image.rect().adjusted(_MARGIN, _MARGIN, -_MARGIN, -_MARGIN)
    painter.fillRect(cell, image.pixelColor(0, 0))
    painter.end()
    blank = QImage(image.size(), image.format())
    blank.fill(image.pixelColor(0, 0))
    return inner != blank


def assert_whole(cell: Area, picture: CellPicture, style: Style) -> None:
    """Every word of the cell is written out, and lies inside the cell and its own chip."""
    figures = draw_cell(cell, picture, style)
    inside = cell.inset(0, 0, 0, 0)
    for figure in figures:
        if isinstance(figure, Outline):
            assert figure.area.x >= inside.x - 0.5, figure
            assert figure.area.x + figure.area.width <= inside.x + inside.width + 0.5, figure
            assert figure.area.y + figure.area.height <= inside.y + inside.height + 0.5, figure
        elif isinstance(figure, Words):
            width = style.measure(figure.text, figure.size_px, figure.is_bold)
            assert width <= figure.area.width + 0.5, (figure, width)
            assert figure.size_px * 0.9 <= figure.area.height + 4.0, figure
    text = "".join(f.text for f in figures if isinstance(f, Words)).replace(" ", "")
    chips = picture.chips
    for choice in ([chip.label for chip in chips], [chip.short for chip in chips]):
        if "".join(choice).replace(" ", "") in text:
            return
    raise AssertionError((text, chips))


def check(design: StripDesign, words: StripWords, width_px: int, look: Look) -> None:
    """Assert that all a strip can show is whole, and that no two contents of a cell look alike."""
    own = with_design(words, design)
    strip = StripWidget(own)
    strip.set_design(design, design.light)
    strip.resize(width_px, 10)
    strip.show()
    style = Style(design, design.light, measure_with(look.font))
    for cell in CELLS:
        box = strip.cells[cell].geometry()
        assert strip.rect().contains(box)
        area = Area(_MARGIN, _MARGIN, box.width(), box.height())
        images: list[QImage] = []
        read: set[str] = set()
        for value in contents_of(own, cell):
            if value in QUIET_STATES:
                continue
            picture = CellPicture(strip.cells[cell].picture.title, chips_of(cell, value, own))
            assert_whole(area, picture, style)
            image = painted(area, picture, look)
            assert not overflow(image), (cell, value)
            assert image not in images, (cell, value)
            images.append(image)
            words_read = seen(own.content(cell, value))
            assert words_read not in read, (cell, value)
            read.add(words_read)
    boxes = [strip.cells[cell].geometry() for cell in CELLS]
    assert not any(a.intersects(b) for a, b in itertools.combinations(boxes, 2))


def check_marked(design: StripDesign, words: StripWords, look: Look, width_px: int) -> None:
    """Assert that a cell that changed by itself, and a verdict, are told apart from a quiet one."""
    style = Style(design, design.light, measure_with(look.font))
    own = with_design(words, design)
    for cell, box in strip_boxes(design, width_px).items():
        area = Area(_MARGIN, _MARGIN, box.width, box.height)
        title = StripWidget(own).cells[cell].picture.title
        pictures = [
            CellPicture(title),
            CellPicture(title, is_unset=True),
            CellPicture(title, is_changed=True),
            CellPicture(title, is_changed=True, is_pulse_on=False),
            CellPicture(title, is_along=True),
            CellPicture(title, verdict="right"),
            CellPicture(title, verdict="wrong"),
        ]
        images = [painted(area, picture, look) for picture in pictures]
        for (one, first), (two, second) in itertools.combinations(enumerate(images), 2):
            assert first != second, (cell, pictures[one], pictures[two])
        for picture, image in zip(pictures, images, strict=True):
            assert not overflow(image), (cell, picture)
            for figure in draw_cell(area, picture, style):
                if isinstance(figure, Words):
                    width = style.measure(figure.text, figure.size_px, figure.is_bold)
                    assert width <= figure.area.width + 0.5, (cell, figure)


def run(design: StripDesign, ship: str, width_px: int) -> None:
    """Check one design in one aircraft in one width."""
    assert parse_strip_design(dump_strip_design(design)) == design
    strip = StripWidget(StripWords({}))
    look = Look(design, design.light, strip.font())
    check(design, WORDS[ship], width_px, look)
    check_marked(design, WORDS[ship], look, width_px)
    event(f"{design.orientation}, {len(design.lanes)} lanes")


WIDTHS = st.one_of(st.just(NARROWEST_PX), st.integers(NARROWEST_PX, 1200))
SHIPS = st.sampled_from(sorted(WORDS))


@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(designs(), SHIPS, WIDTHS)
def test_any_design_shows_everything_whole_and_unmistakable(
    qtbot: QtBot, design: StripDesign, ship: str, width_px: int
) -> None:
    run(design, ship, width_px)


@pytest.mark.long
@settings(
    max_examples=400, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(designs(), SHIPS, WIDTHS)
def test_hundreds_of_designs_show_everything_whole_and_unmistakable(
    qtbot: QtBot, design: StripDesign, ship: str, width_px: int
) -> None:
    run(design, ship, width_px)


@pytest.mark.long
@pytest.mark.parametrize("ship", sorted(WORDS))
def test_all_reachable_annunciations_look_different_as_whole_strips(
    qtbot: QtBot, ship: str
) -> None:
    shown = reachable(ship)
    contents = {cell: set(contents_of(WORDS[ship], cell)) for cell in CELLS}
    assert all(one.cell(cell) in contents[cell] for one in shown for cell in CELLS)
    strip = StripWidget(WORDS[ship])
    qtbot.addWidget(strip)
    strip.resize(NARROWEST_PX, 10)
    pictures: dict[bytes, Annunciation] = {}
    for one in shown:
        strip.show_annunciation(one)
        image = strip.grab().toImage().convertToFormat(QImage.Format.Format_Grayscale8)
        key = bytes(image.constBits())
        assert key not in pictures, (one, pictures[key])
        pictures[key] = one
