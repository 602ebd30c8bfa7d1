"""The strip: no two annunciations look the same, changes are marked, and it can be read out."""

from __future__ import annotations

import itertools

import pytest
from PySide6.QtGui import QImage
from pytestqt.qtbot import QtBot

from trainer.session.annunciation import CELLS, Annunciation, AxisAnnunciation
from trainer.session.strip_content import is_pulse_on
from trainer.session.strip_design import DEFAULT_DESIGN
from trainer.ui.look.words import StripWords
from trainer.ui.strip.strip_widget import StripWidget


@pytest.fixture
def strip(qtbot: QtBot, words: StripWords) -> StripWidget:
    """A shown strip."""
    widget = StripWidget(words)
    qtbot.addWidget(widget)
    widget.resize(560, widget.sizeHint().height())
    widget.show()
    return widget


def picture(strip: StripWidget) -> QImage:
    """Return what the strip looks like."""
    return strip.grab().toImage()


def test_cells_can_be_read_out(strip: StripWidget, climbing: Annunciation) -> None:
    along = frozenset({"vertical_armed"})
    strip.show_annunciation(climbing, frozenset({"vertical_active"}), along=along)
    spoken = {cell: widget.accessibleName() for cell, widget in strip.cells.items()}
    assert spoken["lateral_active"] == "Lateral active: Heading select"
    assert spoken["lateral_armed"] == "Lateral armed: Course track"
    assert spoken["vertical_active"] == "Vertical active: Vertical speed, changed by itself"
    assert spoken["vertical_armed"].endswith(", came with the key")
    assert spoken["alert"] == "Alert: Nothing"


def test_single_changes_all_look_different(
    strip: StripWidget, words: StripWords, climbing: Annunciation
) -> None:
    seen: list[tuple[Annunciation, QImage]] = []
    for cell in CELLS:
        for choice in words.cells[cell]:
            value = (choice.id,) if cell.endswith("_armed") else choice.id
            annunciation = climbing.with_cell(cell, value)
            strip.show_annunciation(annunciation)
            seen.append((annunciation, picture(strip)))
    for place, (first, first_picture) in enumerate(seen):
        for second, second_picture in seen[place + 1 :]:
            assert (first == second) == (first_picture == second_picture), (first, second)


def test_armed_and_active_differ_in_shape_not_only_in_colour(
    strip: StripWidget, words: StripWords
) -> None:
    one = Annunciation(lateral=AxisAnnunciation("course_track", ()))
    other = Annunciation(lateral=AxisAnnunciation("none", ("course_track",)))
    shares = []
    for annunciation, cell in ((one, "lateral_active"), (other, "lateral_armed")):
        strip.show_annunciation(annunciation)
        image = strip.cells[cell].grab().toImage()
        image = image.convertToFormat(QImage.Format.Format_Grayscale8)
        inside = range(16, 60)  # within the chip, whatever its word
        dark = sum(image.pixelColor(x, y).lightness() < 140 for x in inside for y in range(22, 38))
        shares.append(dark / (len(inside) * 16))
    # Filled against outlined, without any hue.
    assert shares[0] > 0.6
    assert shares[1] < 0.4


def test_uncommanded_change_is_marked_and_the_mark_goes(
    strip: StripWidget, climbing: Annunciation
) -> None:
    strip.set_still(True)
    strip.show_annunciation(climbing)
    plain = picture(strip)
    strip.show_annunciation(climbing, frozenset({"lateral_active"}))
    assert picture(strip) != plain
    strip.show_annunciation(climbing)
    assert picture(strip) == plain


def test_pulse_stays_below_two_flashes_a_second() -> None:
    # [DSP-04] not more than three flashes in any one second; ours: at most two.
    shown = [is_pulse_on(step / 100, is_still=False) for step in range(1000)]
    rises = [i for i in range(1, 1000) if shown[i] and not shown[i - 1]]
    assert all(later - sooner >= 50 for sooner, later in itertools.pairwise(rises))
    assert all(is_pulse_on(step / 100, is_still=True) for step in range(1000))


def test_dark_colours_are_used(strip: StripWidget, climbing: Annunciation) -> None:
    strip.show_annunciation(climbing)
    light = picture(strip)
    strip.set_design(DEFAULT_DESIGN, DEFAULT_DESIGN.dark)
    assert picture(strip) != light
