"""Plan, profile, attitude and numbers: where things lie, what is said, and that they paint."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

from trainer.flight.types import FlightSample, NavigationSource
from trainer.ui.look.theme import DARK
from trainer.ui.views.attitude_view import AttitudeView, attitude_words, cue_offset
from trainer.ui.views.numbers_panel import NumbersPanel, deviations_of, numbers_of
from trainer.ui.views.plan_geometry import (
    RANGES_NM,
    PlanFrame,
    deviation_words,
    fitting_range_nm,
    plan_words,
)
from trainer.ui.views.plan_view import PlanView
from trainer.ui.views.profile_geometry import fitting_frame, glidepath_altitude_ft, profile_words
from trainer.ui.views.profile_view import ProfileView
from trainer.ui.views.surroundings import TRACK_LENGTH, Surroundings, Track, nice_step, thinned

BEACON = NavigationSource("north", "beacon", "North beacon", 360.0, north_nm=12.0)
RUNWAY = NavigationSource(
    "runway", "approach", "Runway 09", 90.0, east_nm=20.0, elevation_ft=400.0, glidepath_deg=3.0
)


@pytest.fixture
def scene(sample: FlightSample) -> Surroundings:
    """A climb towards a beacon, with a track behind."""
    track = Track()
    for second in range(60):
        track.add(
            replace(sample, t_s=float(second), east_nm=second / 40, altitude_ft=2700 + 8 * second),
            "captured" if second == 30 else "",
        )
    return Surroundings(
        replace(sample, t_s=60.0),
        track.points,
        (BEACON, RUNWAY),
        "north",
        selected_heading_deg=120.0,
        selected_altitude_ft=4000.0,
    )


def test_plan_is_north_up_and_east_right() -> None:
    frame = PlanFrame(0.0, 0.0, 5.0, 400.0, 200.0)
    assert frame.point(0.0, 0.0) == (200.0, 100.0)
    assert frame.point(5.0, 0.0) == (200.0, 0.0)
    assert frame.point(0.0, 5.0) == (300.0, 100.0)
    assert frame.along(0.0, 0.0, 90.0, 5.0) == pytest.approx((300.0, 100.0))


def test_names_on_the_plan_stand_apart_below_its_title(qtbot: QtBot, scene: Surroundings) -> None:
    view = PlanView()
    qtbot.addWidget(view)
    crowd = [
        replace(BEACON, id=f"near_{n}", label=f"Beacon {n}", north_nm=11.0 + n / 2, east_nm=n / 4)
        for n in range(6)
    ]
    for height in (108, 240, 400):
        view.resize(240, height)
        view.show_scene(replace(scene, sources=(BEACON, *crowd)))
        view.grab()
        named = view._named
        assert named
        assert all(box.top() >= 20 and box.bottom() <= height for box in named)
        pairs = [(a, b) for a in named for b in named if a is not b]
        assert not any(a.intersects(b) for a, b in pairs)
        assert all(box.left() >= 0 and box.right() <= 240 for box in named)


def test_a_name_gives_way_to_another_and_is_still_there(qtbot: QtBot, scene: Surroundings) -> None:
    view = PlanView()
    qtbot.addWidget(view)
    view.resize(400, 300)
    near = replace(BEACON, id="near", kind="satellite_course", label="Course near it")
    for east_nm in (0.0, 0.3, -0.3):
        sources = (BEACON, replace(near, east_nm=BEACON.east_nm + east_nm))
        view.show_scene(replace(scene, sources=sources))
        view.grab()
        assert len(view._named) == 2


def test_a_long_name_on_the_plan_stands_whole_or_not_at_all(
    qtbot: QtBot, scene: Surroundings
) -> None:
    view = PlanView()
    qtbot.addWidget(view)
    label = "Satellite course of the other side of the valley"
    shown = []
    for width in (120, 300, 900):
        view.resize(width, 300)
        view.show_scene(replace(scene, sources=(replace(BEACON, label=label),)))
        view.grab()
        needed = QFontMetrics(view.small_font()).horizontalAdvance(label)
        assert all(box.left() >= 0 and box.right() <= width for box in view._named)
        assert all(box.width() >= needed for box in view._named)
        shown.append(bool(view._named))
    assert shown[0] is False
    assert shown[-1] is True


def test_plan_keeps_the_source_in_view(scene: Surroundings) -> None:
    for away_nm in (0.2, 1.5, 7.0, 15.0, 30.0):
        near = replace(BEACON, north_nm=scene.sample.north_nm + away_nm, east_nm=2.0)
        shown = replace(scene, sources=(near,))
        assert fitting_range_nm(shown, 5.0) >= away_nm
        assert fitting_range_nm(shown, 5.0) in RANGES_NM


def test_plan_range_does_not_flicker(scene: Surroundings) -> None:
    border = replace(BEACON, north_nm=scene.sample.north_nm + 4.3, east_nm=2.0)
    shown = replace(scene, sources=(border,))
    assert fitting_range_nm(shown, 5.0) == 5.0
    assert fitting_range_nm(shown, 10.0) == 10.0


def test_plan_says_what_it_shows(scene: Surroundings) -> None:
    assert plan_words(scene) == (
        "Plan view: heading 092, track 095; North beacon, course 360, 8.0 miles,"
        " 0.40 of full scale right of course"
    )
    assert "no navigation source" in plan_words(replace(scene, source_id=""))
    lost = replace(scene, sample=replace(scene.sample, course_valid=False))
    assert "no signal" in plan_words(lost)


def test_approach_course_is_not_the_pilots(scene: Surroundings) -> None:
    on_approach = replace(scene, source_id="runway", course_deg=45.0)
    assert on_approach.active_course_deg == 90.0
    assert replace(scene, course_deg=45.0).active_course_deg == 45.0


def test_glidepath_is_drawn_at_its_angle(scene: Surroundings) -> None:
    # common practice: 3 degrees is about 318 ft a nautical mile (tan 3 deg x 6076.1 ft).
    shown = replace(scene, source_id="runway")
    per_nm = glidepath_altitude_ft(shown, -5.0) - glidepath_altitude_ft(shown, -4.0)
    assert per_nm == pytest.approx(math.tan(math.radians(3.0)) * 6076.115, abs=0.01)
    assert glidepath_altitude_ft(shown, 0.0) == 400.0


@pytest.mark.parametrize("source", ["", "north", "runway"])
def test_profile_shows_aircraft_and_selected_altitude(scene: Surroundings, source: str) -> None:
    shown = replace(scene, source_id=source)
    frame = fitting_frame(shown, shown.track, 300.0, 150.0)
    for altitude_ft in (shown.sample.altitude_ft, shown.selected_altitude_ft):
        assert 0.0 <= frame.point(frame.left_nm, altitude_ft)[1] <= 150.0
    assert frame.left_nm < frame.right_nm


def test_profile_says_what_it_shows(scene: Surroundings) -> None:
    assert profile_words(scene) == (
        "Profile view: altitude 3200 feet, selected altitude 800 feet above"
    )


@pytest.mark.parametrize("source", ["", "north", "runway"])
def test_views_paint_in_both_themes(qtbot: QtBot, scene: Surroundings, source: str) -> None:
    for view in (PlanView(), ProfileView()):
        qtbot.addWidget(view)
        view.resize(320, 200)
        empty = view.grab().toImage()
        view.show_scene(replace(scene, source_id=source))
        light = view.grab().toImage()
        view.set_theme(DARK)
        assert len({empty.cacheKey(), light.cacheKey(), view.grab().toImage().cacheKey()}) == 3
        assert light != empty
        assert view.grab().toImage() != light
        assert view.accessibleDescription()


def test_track_keeps_a_point_a_second_every_mark_and_no_more_than_its_length(
    sample: FlightSample,
) -> None:
    track = Track()
    for step in range(40):
        track.add(replace(sample, t_s=step * 0.25), "changed" if step == 2 else "")
    assert [point.t_s for point in track.points][:3] == [0.0, 0.5, 1.5]
    for second in range(100, 100 + TRACK_LENGTH + 50):
        track.add(replace(sample, t_s=float(second)))
    assert len(track.points) == TRACK_LENGTH
    track.clear()
    assert track.points == ()


def test_thinned_track_keeps_marks_and_the_end(scene: Surroundings) -> None:
    few = thinned(scene.track, 10)
    assert len(few) <= 13
    assert few[-1] == scene.track[-1]
    assert [point.mark for point in few if point.mark] == ["captured"]


@pytest.mark.parametrize(
    ("span", "most", "step"), [(900.0, 5, 200.0), (10.0, 10, 1.0), (0.3, 4, 0.1), (4000, 4, 1000)]
)
def test_axis_steps_are_round(span: float, most: int, step: float) -> None:
    assert nice_step(span, most) == pytest.approx(step)


def test_ring_lies_where_guidance_wants_the_aircraft() -> None:
    assert cue_offset(0.0, 0.0, 0.0, 0.0) == (0.0, 0.0)
    right, up = cue_offset(0.0, 5.0, 20.0, 2.0)
    assert right > 0 > up  # asked: bank right, nose lower
    assert cue_offset(0.0, 0.0, 90.0, -90.0) == (0.85, -0.85)


@pytest.mark.parametrize("up_deg", [0.0, 2.0, 4.0, 6.0])
def test_the_dot_stays_whole_where_the_ring_crosses_it(qtbot: QtBot, up_deg: float) -> None:
    view = AttitudeView()
    qtbot.addWidget(view)
    view.show_attitude(0.0, 0.0, (0.0, up_deg))
    picture = view.grab().toImage()
    middle = picture.rect().center()
    dot = {
        picture.pixelColor(middle.x() + x, middle.y() + y).name()
        for x in range(-3, 4)
        for y in range(-3, 4)
        if x * x + y * y <= 9
    }
    assert dot == {view.theme.aircraft.lower()}


def test_attitude_is_said_in_words(qtbot: QtBot) -> None:
    view = AttitudeView()
    qtbot.addWidget(view)
    plain = view.grab().toImage()
    view.show_attitude(12.0, -3.0, (20.0, 2.0))
    assert view.grab().toImage() != plain
    assert view.accessibleDescription() == (
        "bank 12 right, pitch 3 down, guidance asks bank 20, pitch 2"
    )
    assert attitude_words(0.2, 0.1, None) == "wings level, pitch level, no guidance"


def test_numbers_are_rounded_as_read(qtbot: QtBot, sample: FlightSample) -> None:
    shown = {n.name: n.value for n in numbers_of(replace(sample, heading_deg=359.7))}
    assert shown["Heading"] == "360"
    assert shown["Vertical speed"] == "+510"
    panel = NumbersPanel()
    qtbot.addWidget(panel)
    panel.show_sample(sample)
    read = [child.accessibleName() for child in panel.findChildren(QLabel)]
    assert "Altitude: 3200 ft" in read
    assert "Airspeed: 98 kt" in read


def test_deviations_are_said_with_their_side(sample: FlightSample) -> None:
    assert deviation_words(-1.2) == "full scale or more left of course"
    assert deviation_words(0.001) == "on course"
    both = replace(sample, glidepath_valid=True, glidepath_deviation=-0.5)
    assert deviations_of(both) == (
        "0.40 of full scale right of course; 0.50 of full scale below the glidepath"
    )
    assert deviations_of(replace(sample, course_valid=False)) == "No course signal"
