"""The strip designer: edits, checks with repairs, files, and no two annunciations alike."""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, QSize, Qt
from PySide6.QtGui import QFont, QImage
from pytestqt.qtbot import QtBot

from trainer.app import Workspace
from trainer.errors import FileError
from trainer.session.annunciation import CELLS, Annunciation
from trainer.session.strip_design import (
    DEFAULT_DESIGN,
    EMPHASES,
    MARKERS,
    ORIENTATIONS,
    SHAPES,
    StripDesign,
)
from trainer.session.strip_fit import contents_of
from trainer.ui.look.words import StripWords, with_design, words_of_chart
from trainer.ui.strip.demo_flight import DemoFlight
from trainer.ui.strip.design_edit import (
    findings_of,
    moved_onto,
    moved_to,
    nudged,
    place_of,
    repaired,
    with_colour,
    with_word,
)
from trainer.ui.strip.design_fit import NARROWEST_PX, unfit_findings
from trainer.ui.strip.design_page import GOOD_WORDS, DesignPage
from trainer.ui.strip.design_shelf import DesignError, DesignShelf, renamed
from trainer.ui.strip.strip_widget import StripWidget

WORKSPACE = Workspace()
CHART_WORDS = words_of_chart(WORKSPACE.installation("ship_amber").chart)
MINE = renamed(DEFAULT_DESIGN, "Mine")


def all_cells(design: StripDesign) -> list[str]:
    """Return the cells that a design shows, sorted."""
    return sorted(cell for lane in design.lanes for cell in lane)


@given(st.lists(st.tuples(st.sampled_from(CELLS), st.integers(-1, 1), st.integers(-1, 1))))
def test_no_move_loses_or_doubles_a_cell(moves: list[tuple[str, int, int]]) -> None:
    design = DEFAULT_DESIGN
    for cell, along, across in moves:
        design = nudged(design, cell, along, across)
        assert all_cells(design) == sorted(CELLS)
        assert all(design.lanes)


def test_cell_takes_the_place_of_the_one_it_is_dropped_on() -> None:
    design = moved_onto(DEFAULT_DESIGN, "alert", "vertical_active")
    assert place_of(design, "alert") == (2, 0)
    assert moved_onto(design, "alert", "alert") == design


def test_cell_dropped_below_makes_a_lane() -> None:
    design = moved_to(DEFAULT_DESIGN, "alert", len(DEFAULT_DESIGN.lanes), 0)
    assert design.lanes[-1] == ("alert",)
    assert all_cells(design) == sorted(CELLS)


def test_own_word_is_used_and_an_empty_one_goes_back() -> None:
    design = with_word(DEFAULT_DESIGN, "heading_select", " Turn to ")
    own = with_design(CHART_WORDS, design)
    assert own.label("lateral_active", "heading_select") == "Turn to"
    assert with_word(design, "heading_select", " ") == DEFAULT_DESIGN


def test_own_word_that_the_chart_has_already_is_found() -> None:
    design = with_word(DEFAULT_DESIGN, "heading_select", "course")
    (finding,) = findings_of(design, CHART_WORDS)
    assert "both read 'course'" in finding.what


def test_repair_makes_the_finding_go() -> None:
    design = with_colour(MINE, "dark", "title", "#333333")
    (finding,) = findings_of(design, CHART_WORDS)
    assert findings_of(repaired(design, finding), CHART_WORDS) == ()


@pytest.mark.parametrize("ship", WORKSPACE.installations)
def test_default_design_has_nothing_to_repair_in_any_aircraft(qtbot: QtBot, ship: str) -> None:
    words = words_of_chart(WORKSPACE.installation(ship).chart)
    font = QFont()
    font.setPixelSize(13)
    assert findings_of(DEFAULT_DESIGN, words) == ()
    assert unfit_findings(DEFAULT_DESIGN, words, font) == []


def test_word_that_is_cut_is_found(qtbot: QtBot) -> None:
    design = with_word(MINE, "autopilot", "The autopilot does the flying just now")
    (finding,) = unfit_findings(design, CHART_WORDS, QFont())
    assert finding.what.startswith("Engagement: 'The autopilot")


@st.composite
def layouts(draw: st.DrawFn) -> StripDesign:
    """Any layout, shape, marker and size; the default's colours and words."""
    cells = draw(st.permutations(CELLS))
    cuts = sorted(draw(st.sets(st.integers(1, len(CELLS) - 1), min_size=1, max_size=4)))
    edges = [0, *cuts, len(CELLS)]
    return replace(
        MINE,
        orientation=draw(st.sampled_from(ORIENTATIONS)),
        lanes=tuple(tuple(cells[a:b]) for a, b in itertools.pairwise(edges)),
        active_shape=draw(st.sampled_from(SHAPES)),
        armed_shape=draw(st.sampled_from(SHAPES)),
        armed_marker=draw(st.sampled_from(MARKERS)),
        emphasis=draw(st.sampled_from(EMPHASES)),
        scale=draw(st.sampled_from((0.8, 1.0, 1.5, 2.0))),
    )


@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(layouts(), st.sampled_from(("light", "dark")))
def test_no_two_annunciations_look_the_same_in_a_design_without_findings(
    qtbot: QtBot, design: StripDesign, scheme: str
) -> None:
    strip = StripWidget(CHART_WORDS)
    qtbot.addWidget(strip)
    strip.set_design(design, getattr(design, scheme))
    strip.resize(QSize(max(NARROWEST_PX, strip.minimumSizeHint().width()), 10))
    strip.resize(strip.width(), strip.sizeHint().height())
    unfit = {
        finding.what.split(":")[0] for finding in unfit_findings(design, CHART_WORDS, strip.font())
    }
    for cell, widget in strip.cells.items():
        if widget.picture.title in unfit:
            continue
        seen: list[QImage] = []
        for value in contents_of(CHART_WORDS, cell):
            strip.show_annunciation(Annunciation().with_cell(cell, value))
            image = widget.grab().toImage()
            is_quiet = value in ("none", "quiet", ())
            assert is_quiet or image not in seen, (cell, value, design)
            seen.append(image)


def test_cells_stay_inside_the_strip_and_apart(qtbot: QtBot) -> None:
    for orientation in ORIENTATIONS:
        strip = StripWidget(CHART_WORDS)
        qtbot.addWidget(strip)
        strip.set_design(replace(MINE, orientation=orientation, scale=2.0), MINE.light)
        strip.resize(strip.minimumSizeHint())
        strip.show()
        boxes = [widget.geometry() for widget in strip.cells.values()]
        assert all(strip.rect().contains(box) for box in boxes)
        assert not any(a.intersects(b) for a in boxes for b in boxes if a is not b)


@pytest.fixture
def shelf(tmp_path: Path) -> DesignShelf:
    """An empty shelf."""
    return DesignShelf(tmp_path)


def test_shelf_keeps_renames_and_removes(shelf: DesignShelf) -> None:
    shelf.keep(MINE)
    shelf.keep(renamed(MINE, "Other"))
    assert [d.name for d in shelf.designs()] == ["Standard strip", "Mine", "Other"]
    shelf.remove("Mine")
    assert shelf.named("Mine") == DEFAULT_DESIGN
    assert shelf.named("Other").name == "Other"
    assert shelf.free_name("Other") == "Other 2"


def test_default_cannot_be_replaced(shelf: DesignShelf) -> None:
    with pytest.raises(DesignError, match="another name"):
        shelf.keep(DEFAULT_DESIGN)


def test_names_that_make_the_same_file_name_are_both_kept(shelf: DesignShelf) -> None:
    shelf.keep(renamed(MINE, "My strip"))
    shelf.keep(renamed(MINE, "My: strip"))
    assert len(shelf.designs()) == 3


def test_spoilt_file_is_named_and_the_others_stay(shelf: DesignShelf, tmp_path: Path) -> None:
    shelf.keep(MINE)
    (tmp_path / "strip-designs" / "bad.yaml").write_text("name: [", encoding="utf-8")
    assert [d.name for d in shelf.designs()] == ["Standard strip", "Mine"]
    assert "bad.yaml:1" in shelf.problems[0]


def test_design_goes_out_and_comes_back_in(shelf: DesignShelf, tmp_path: Path) -> None:
    shelf.hand_on(MINE, tmp_path / "out.yaml")
    shelf.keep(MINE)
    assert shelf.bring_in(tmp_path / "out.yaml") == renamed(MINE, "Mine 2")
    (tmp_path / "no.yaml").write_text("colour: red\n", encoding="utf-8")
    with pytest.raises(FileError):
        shelf.bring_in(tmp_path / "no.yaml")


@pytest.fixture
def page(qtbot: QtBot, shelf: DesignShelf) -> DesignPage:
    """The designer, shown, with a lesson playing."""
    demo = DemoFlight(WORKSPACE.start_lesson(WORKSPACE.lesson(WORKSPACE.lesson_paths[0])))
    widget = DesignPage(shelf, CHART_WORDS, demo)
    qtbot.addWidget(widget)
    widget.resize(1280, 700)
    with qtbot.waitExposed(widget):
        widget.show()
    widget.activateWindow()
    widget.show_designs(DEFAULT_DESIGN.name)
    widget.leave()
    return widget


def shown_findings(page: DesignPage) -> list[str]:
    """Return the words of the checks."""
    widgets = [page.findings.itemAt(i).widget() for i in range(page.findings.count())]
    return [widget.text() for widget in widgets]


def test_change_to_the_default_makes_a_copy_that_is_kept(
    page: DesignPage, shelf: DesignShelf
) -> None:
    page.options.pickers["armed_marker"].setCurrentIndex(2)
    assert page.design.name == "My strip"
    assert shelf.named("My strip").armed_marker == "bar"
    assert shelf.named(DEFAULT_DESIGN.name) == DEFAULT_DESIGN


def test_finding_is_shown_and_its_button_repairs_it(qtbot: QtBot, page: DesignPage) -> None:
    assert shown_findings(page) == [GOOD_WORDS]
    page.options.set_colour("light", "title", "#DDDDDD")
    words, button = shown_findings(page)
    assert "at least 4.5" in words
    assert button == "Repair title (light)"
    page.findings.itemAt(1).widget().click()
    assert shown_findings(page) == [GOOD_WORDS]


def test_cell_is_dragged_with_the_mouse(qtbot: QtBot, page: DesignPage) -> None:
    strip = page.previews["light"]
    cell, target = strip.cells["alert"], strip.cells["vertical_armed"]
    grip = QPoint(20, 10)
    goal = cell.mapFrom(strip, target.geometry().center())
    qtbot.mousePress(cell, Qt.MouseButton.LeftButton, pos=grip)
    qtbot.mouseMove(cell, goal)
    goal = cell.mapFrom(strip, target.geometry().center())
    qtbot.mouseRelease(cell, Qt.MouseButton.LeftButton, pos=goal)
    assert place_of(page.design, "alert")[0] == 2


def test_cell_is_moved_with_the_keyboard(qtbot: QtBot, page: DesignPage) -> None:
    cell = page.previews["dark"].cells["engagement"]
    cell.setFocus()
    qtbot.keyClick(cell, Qt.Key.Key_Right, Qt.KeyboardModifier.ControlModifier)
    assert place_of(page.design, "engagement") == (0, 1)
    qtbot.keyClick(cell, Qt.Key.Key_Down, Qt.KeyboardModifier.ControlModifier)
    assert place_of(page.design, "engagement") == (1, 1)


def test_word_is_typed_into_the_table(page: DesignPage) -> None:
    table = page.options.words
    row = next(r for r in range(table.rowCount()) if table.item(r, 0).text() == "Heading")
    table.item(row, 1).setText("Turn to")
    assert page.design.words["heading_select"] == "Turn to"


def test_preview_plays_a_lesson_over_and_over(page: DesignPage) -> None:
    seen = set()
    for _ in range(900):
        page.advance(1.0)
        seen.add(page.previews["light"].cells["vertical_active"].picture.chips)
    assert len(seen) >= 4


def test_copy_rename_delete(qtbot: QtBot, page: DesignPage, shelf: DesignShelf) -> None:
    page.acts["Copy"].click()
    assert page.design.name == "Copy of Standard strip"
    page.name.setText("Mine")
    page.name.editingFinished.emit()
    assert [d.name for d in shelf.designs()] == ["Standard strip", "Mine"]
    page.acts["Delete"].click()
    assert [d.name for d in shelf.designs()] == ["Standard strip"]
    assert page.design == DEFAULT_DESIGN


def test_design_in_hand_is_offered_for_use(qtbot: QtBot, page: DesignPage) -> None:
    with qtbot.waitSignal(page.chosen) as signal:
        page.acts["Use this one"].click()
    assert signal.args == [DEFAULT_DESIGN]


def test_import_of_a_bad_file_is_said(qtbot: QtBot, page: DesignPage, tmp_path: Path) -> None:
    bad = tmp_path / "bad.yaml"
    bad.write_text("name: x\nscale: 9\n", encoding="utf-8")
    with qtbot.waitSignal(page.failed) as signal:
        page.bring_in(bad)
    assert "bad.yaml:2" in signal.args[0]


def test_words_of_a_design_reach_the_cells(qtbot: QtBot) -> None:
    design = with_word(MINE, "pitch_hold", "Nose")
    words: StripWords = with_design(CHART_WORDS, design)
    strip = StripWidget(words)
    qtbot.addWidget(strip)
    strip.show_annunciation(Annunciation().with_cell("vertical_active", "pitch_hold"))
    assert strip.cells["vertical_active"].accessibleName() == "Vertical active: Nose"
