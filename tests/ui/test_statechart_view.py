"""The statechart's picture: zoom, move, words under the mouse, the live states, the file."""

from __future__ import annotations

import shutil
from pathlib import Path
from xml.etree import ElementTree

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QColor, QImage
from pytestqt.qtbot import QtBot

from trainer.app import Workspace
from trainer.charts.diagram import lay_out
from trainer.charts.diagram_svg import INK, shade_of
from trainer.session.contrast import contrast_ratio
from trainer.session.situation import StartModes
from trainer.ui.look.theme import DARK, LIGHT, THEMES, Theme
from trainer.ui.practice.situations import SITUATIONS
from trainer.ui.views.statechart_paint import StatechartPainter
from trainer.ui.views.statechart_view import StatechartView
from trainer.ui.views.statechart_window import StatechartWindow
from trainer.ui.window.main_window import MainWindow

WORKSPACE = Workspace()
AMBER = WORKSPACE.installation("ship_amber")


@pytest.fixture
def view(qtbot: QtBot) -> StatechartView:
    made = StatechartView()
    qtbot.addWidget(made)
    made.resize(1264, 690)
    session = WORKSPACE.begin("ship_amber", SITUATIONS[3].start)
    made.show_diagram(lay_out(AMBER.chart, session.configuration, AMBER.title))
    made.show()
    return made


def flying(modes: StartModes | None = None) -> object:
    assert modes is None
    return WORKSPACE.begin("ship_amber", SITUATIONS[3].start)


def test_whole_picture_is_seen_at_first_and_readable(view: StatechartView) -> None:
    for box in view.diagram.boxes:
        place = view.place_of(box.region, box.state)
        assert view.rect().contains(place.toPoint())
    # 11 px is the window's own smallest type; the picture's notes are 11 and its words 12 or more.
    assert 12 * view.scale >= 10.0


def test_wheel_zooms_where_the_mouse_is(view: StatechartView, qtbot: QtBot) -> None:
    place = view.place_of("vertical", "glidepath")
    before = view.scale
    view.zoom_by(1.25**3, place)
    assert view.scale == pytest.approx(before * 1.25**3)
    after = view.place_of("vertical", "glidepath")
    assert (after - place).manhattanLength() < 2.0


def test_keys_zoom_move_and_show_all_again(view: StatechartView, qtbot: QtBot) -> None:
    fit = view.scale
    for _ in range(3):
        qtbot.keyClick(view, Qt.Key.Key_Plus)
    assert view.scale > 1.9 * fit
    before = view.place_of("lateral", "go_around")
    qtbot.keyClick(view, Qt.Key.Key_Right)
    assert view.place_of("lateral", "go_around").x() < before.x()
    qtbot.keyClick(view, Qt.Key.Key_0)
    assert view.scale == pytest.approx(fit)
    qtbot.keyClick(view, Qt.Key.Key_Minus)
    assert view.scale == pytest.approx(fit), "never smaller than the whole"


def test_drag_moves_and_the_picture_stays_in_the_window(view: StatechartView, qtbot: QtBot) -> None:
    view.zoom_by(2.0)
    before = view.place_of("vertical", "altitude_hold")
    start = QPoint(600, 300)
    qtbot.mousePress(view, Qt.MouseButton.LeftButton, pos=start)
    qtbot.mouseMove(view, start + QPoint(-80, -40))
    view._grabbed = None
    qtbot.mouseRelease(view, Qt.MouseButton.LeftButton, pos=start + QPoint(-80, -40))
    moved = view.place_of("vertical", "altitude_hold") - before
    assert moved.x() == pytest.approx(-80, abs=2)
    view.move_by(1e6, 1e6)
    size = view.diagram.width_px * view.scale
    right = view.place_of("alert", "below_minimum_use_height").x()
    assert 0 < right < view.width()
    assert size > view.width()


def test_words_under_the_mouse_are_the_rules_reasons(view: StatechartView) -> None:
    tip = view.tip_at(view.place_of("vertical", "altitude_hold"))
    assert "altitude hold" in tip.splitlines()[0].lower()
    assert any(rule.because in tip for rule in AMBER.chart.rules.values())
    assert view.tip_at(QPointF(1.0, 1.0)) == ""
    assert {arrow.tip for arrow in view.diagram.arrows} - {""}


def test_arrow_is_found_near_its_line(view: StatechartView) -> None:
    arrow = next(one for one in view.diagram.arrows if not one.from_many)
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = arrow.points
    middle = QPointF((ax + 3 * bx + 3 * cx + dx) / 8, (ay + 3 * by + 3 * cy + dy) / 8)
    place = middle * view.scale + view._offset()
    assert view.tip_at(place) != ""


def test_screen_reader_hears_the_active_states(view: StatechartView) -> None:
    words = view.accessibleDescription()
    assert "Active now" in words
    assert "heading" in words


def colour_of(image: QImage, place: QPointF) -> QColor:
    return image.pixelColor(round(place.x()), round(place.y()))


@pytest.mark.parametrize("theme", THEMES.values(), ids=lambda theme: theme.appearance)
def test_active_state_is_filled_in_every_theme(view: StatechartView, theme: Theme) -> None:
    view.set_theme(theme)
    image = view.grab().toImage()
    for region, state, fill in (
        ("engagement", "autopilot", theme.accent),
        ("engagement", "director", theme.field),
    ):
        box = view.diagram.box(region, state)
        corner = QPointF(box.x_px + box.width_px - 12, box.y_px + box.height_px - 6)
        place = corner * view.scale + view._offset()
        assert colour_of(image, place).name().upper() == fill.upper()


@pytest.mark.parametrize("theme", THEMES.values(), ids=lambda theme: theme.appearance)
def test_what_is_drawn_can_be_seen(theme: Theme) -> None:
    # [DSP-02] text 4.5:1, [DSP-03] graphics 3:1.
    assert contrast_ratio(theme.accent_ink, theme.accent) >= 4.5
    assert contrast_ratio(theme.ink, theme.field) >= 4.5
    assert contrast_ratio(theme.quiet_ink, theme.field) >= 4.5
    for stroke in (theme.ink, theme.accent, theme.cue, theme.wrong, theme.edge):
        assert contrast_ratio(stroke, theme.panel) >= 3.0


def test_window_follows_what_flies(qtbot: QtBot) -> None:
    session = flying()
    window = StatechartWindow(lambda: session)
    qtbot.addWidget(window)
    window.set_theme(DARK)
    window.show_installation(AMBER)
    assert window.view.diagram.box("vertical", "altitude_hold").is_active
    session.press("vertical_speed")
    window.look()
    assert window.view.diagram.box("vertical", "vertical_speed").is_active
    assert not window.view.diagram.box("vertical", "altitude_hold").is_active
    assert "placeholders" in window.state.text()
    window.close()
    assert not window._timer.isActive()


def test_window_without_a_flight_shows_the_aircraft_at_rest(qtbot: QtBot) -> None:
    window = StatechartWindow(lambda: None)
    qtbot.addWidget(window)
    window.show_installation(WORKSPACE.installation("ship_slate"))
    assert not any(box.is_active for box in window.view.diagram.boxes)
    assert "Nothing flies." in window.state.text()
    assert window.windowTitle().startswith("Statechart: Ship Slate")


def test_unchanged_states_are_not_laid_out_again(qtbot: QtBot) -> None:
    session = flying()
    window = StatechartWindow(lambda: session)
    qtbot.addWidget(window)
    window.show_installation(AMBER)
    before = window.view.diagram
    for _ in range(3):
        session.step()
        window.look()
    assert window.view.diagram is before


def test_picture_is_saved_as_svg(qtbot: QtBot, tmp_path: Path) -> None:
    window = StatechartWindow(flying)
    qtbot.addWidget(window)
    window.show_installation(AMBER)
    window.write_svg(tmp_path / "amber.svg")
    root = ElementTree.parse(tmp_path / "amber.svg").getroot()
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    drawn = {group.get("id") for group in root.iter("{http://www.w3.org/2000/svg}g")}
    states = {f"{r.id}.{s}" for r in AMBER.chart.regions.values() for s in r.states}
    assert states <= drawn
    window.write_svg(tmp_path / "none" / "amber.svg")
    assert "not written" in window.state.text()


def test_key_opens_it_from_the_main_window(qtbot: QtBot, tmp_path: Path) -> None:
    window = MainWindow(tmp_path, lambda: Workspace(user=tmp_path))
    qtbot.addWidget(window)
    with qtbot.waitActive(window):
        window.show()
        window.activateWindow()
    window.load()
    window.show_free()
    window.desk.free.list.setCurrentRow(3)
    window.desk.free.start.click()
    window.driver.stop_clock()
    qtbot.keyClick(window, Qt.Key.Key_K, Qt.KeyboardModifier.ControlModifier)
    chart = window.desk.aircraft.window
    assert chart.isVisible()
    assert chart.view.diagram.is_live
    assert window.practice is not None, "the flight goes on"
    assert chart.view.theme in (LIGHT, DARK)
    window.close()
    assert not chart.isVisible()


@pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES)
def test_coverage_is_told_by_number_hatching_and_ground(
    qtbot: QtBot, theme: Theme, tmp_path: Path
) -> None:
    # A few of the lessons only: all of them leave nothing out.
    for path in WORKSPACE.lesson_paths[29:33]:
        shutil.copy(path, tmp_path)
    few = Workspace(lessons=tmp_path)
    window = StatechartWindow(lambda: None, few.coverage)
    qtbot.addWidget(window)
    window.set_theme(theme)
    window.show_installation(WORKSPACE.installation("ship_slate"))
    qtbot.mouseClick(window.lessons, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: window.view.diagram.is_counted, timeout=60_000)
    coverage = few.coverage("ship_slate")
    counts = {f"{box.region}.{box.state}": box.count for box in window.view.diagram.boxes}
    assert counts == {item.id: len(item.lessons) for item in coverage.of("state")}
    assert any(count == 0 for count in counts.values())
    unused = [arrow for arrow in window.view.diagram.arrows if arrow.count == 0]
    missing = {item.id for item in coverage.missing if item.kind == "rule"}
    assert unused
    assert all(set(arrow.rules) <= missing for arrow in unused)
    painter = StatechartPainter(None, theme, window.font())
    for count in (1, 3, 8):
        ground = painter._ground(count).color().name()
        assert contrast_ratio(theme.ink, ground) >= 4.5  # [DSP-02]
        assert contrast_ratio(INK, shade_of(count)) >= 4.5
    assert "43 states" in window.state.text()
    qtbot.mouseClick(window.lessons, Qt.MouseButton.LeftButton)
    assert not window.view.diagram.is_counted
    window.close()
