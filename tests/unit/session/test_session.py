"""A session: what a key does, what comes by itself, what is marked, what a fork leaves alone."""

import pytest

from tests.helpers.situations import cruise, fly, intercept, off
from trainer.charts.kernel import UnknownEventError
from trainer.session.annunciation import Annunciation
from trainer.session.selectors import SelectionError
from trainer.session.situation import SituationError, Start, StartModes


def test_guidance_begins_with_the_defaults_of_both_axes():
    session = off()
    record = session.press("director")
    assert record.before == Annunciation()
    shown = record.after
    assert (shown.engagement, shown.lateral.active, shown.vertical.active) == (
        "director", "roll_hold", "pitch_hold",
    )  # fmt: skip


def test_a_key_that_no_rule_answers_does_nothing():
    session = cruise()
    record = session.press("reference_up")
    assert record.is_empty
    assert not record.has_changed


def test_an_event_that_is_not_fitted_is_an_error_that_names_the_fitted_ones():
    with pytest.raises(UnknownEventError, match=r"back_course.*heading_select"):
        cruise().press("back_course")


def test_engaging_below_the_minimum_height_is_refused_with_the_reason():
    session = off(altitude_ft=500)
    record = session.press("autopilot")
    assert record.refusal is not None
    assert "minimum engagement height" in record.refusal.reason
    assert record.after.engagement == "no_guidance"


@pytest.mark.parametrize(("altitude_ft", "engages"), [(799, False), (801, True)])
def test_the_minimum_engagement_height_is_the_installations(altitude_ft, engages):
    session = off(altitude_ft=altitude_ft)
    assert (session.press("autopilot").refusal is None) is engages


def test_the_sister_ship_has_its_own_minimum_engagement_height():
    assert off("ship_slate", altitude_ft=900).press("autopilot").refusal is not None


def test_an_armed_approach_captures_course_first_and_then_the_glidepath():
    session = intercept()
    session.press("approach")
    assert session.annunciation.lateral.armed == ("approach_course",)
    assert session.annunciation.vertical.armed == ("glidepath",)
    records = [record for record in fly(session, 400) if record.has_changed]
    assert [record.rules[0].id for record in records[:2]] == [
        "approach_captured", "glidepath_captured",
    ]  # fmt: skip
    assert records[0].by == "automatic"


def test_a_capture_is_marked_for_ten_seconds_and_a_key_is_not():
    session = intercept()
    session.press("approach")
    assert session.marks == {}
    while not session.step():
        pass
    assert session.marks["lateral_active"] == pytest.approx(10.0)
    fly(session, 9.9)
    assert "lateral_active" in session.marks
    fly(session, 0.2)
    assert "lateral_active" not in session.marks


def test_what_a_key_does_to_the_other_axis_is_marked_as_come_with_it():
    session = intercept()
    session.press("approach")
    while session.annunciation.vertical.active != "glidepath":
        session.step()
    fly(session, 15)
    record = session.press("heading_select")
    assert record.after.vertical.active == "pitch_hold"
    assert session.marks == {}
    assert session.along == {"vertical_active": pytest.approx(10.0)}
    assert session.fork().along == session.along
    fly(session, 10.1)
    assert session.along == {}


def test_default_modes_come_with_the_director_and_not_by_themselves():
    session = off()
    session.press("director")
    assert session.marks == {}
    assert set(session.along) == {"lateral_active", "vertical_active"}
    session.press("heading_select")
    assert set(session.along) == {"vertical_active"}


def test_a_fork_runs_ahead_and_leaves_the_original_alone():
    session = intercept()
    session.press("approach")
    before = (session.t_s, session.configuration, session.flight.sample())
    fork = session.fork()
    fly(fork, 200)
    fork.select("selected_heading_deg", 180)
    assert fork.annunciation != session.annunciation
    assert before == (session.t_s, session.configuration, session.flight.sample())
    assert list(session.trace.records) != []
    assert session.flight.references.selected_heading_deg == 45


def test_what_a_fork_foresees_marks_no_cell_of_the_original():
    """A mark that ran ahead would show on the strip which cell is about to change."""
    session = intercept()
    session.press("approach")
    fork = session.fork()
    while "lateral_active" not in fork.marks:
        fork.step()
    assert session.marks == {}
    fork.press("heading_select")
    assert fork.along
    along = dict(session.along)
    fork.clear_marks()
    assert session.along == along


def test_what_a_fork_forgets_stays_marked_in_the_original():
    session = intercept()
    session.press("approach")
    while "lateral_active" not in session.marks:
        session.step()
    marks, along = session.marks, session.along
    session.fork().clear_marks()
    assert (session.marks, session.along) == (marks, along)


def test_a_lost_signal_reverts_with_a_caution():
    session = intercept()
    session.press("approach")
    while session.annunciation.lateral.active != "approach_course":
        session.step()
    record = session.inject("navigation")
    assert record is not None
    assert record.by == "reversion"
    assert record.after.lateral.active == "roll_hold"
    assert record.after.alert == "signal_lost"


def test_a_servo_fault_disconnects_and_alerts_differently_from_the_quick_disconnect():
    by_fault, by_hand = cruise(), cruise()
    by_fault.inject("servo")
    by_hand.press("disconnect")
    assert by_fault.annunciation.alert == "automatic_disconnect_sounding"
    assert by_hand.annunciation.alert == "disconnect_sounding"
    assert by_fault.annunciation.engagement == by_hand.annunciation.engagement == "director"


def test_a_stuck_key_does_not_reach_the_logic():
    session = cruise()
    session.inject("stuck:course_track")
    session.inject("stuck:vertical_speed")
    assert session.press("vertical_speed").is_empty
    session.inject("stuck:vertical_speed", on=False)
    assert session.press("vertical_speed").has_changed


def test_power_lost_takes_all_guidance_and_the_system_tests_itself_again():
    session = cruise()
    session.inject("electrical")
    assert session.annunciation.engagement == "no_guidance"
    session.inject("electrical", on=False)
    assert session.press("director").refusal is not None
    fly(session, 21)
    assert session.press("director").refusal is None


@pytest.mark.parametrize(
    ("name", "value"),
    [("selected_altitude_ft", 1e9), ("flaps", 1), ("source", "nowhere"), ("power_percent", "x")],
)
def test_a_wrong_selection_is_an_error_that_says_what_is_accepted(name, value):
    with pytest.raises(SelectionError, match="accepted"):
        cruise().select(name, value)


def test_a_start_that_the_logic_leaves_at_once_is_refused():
    from tests.helpers.situations import workspace

    start = Start(modes=StartModes("director", "course_track", "pitch_hold"))
    with pytest.raises(SituationError, match="doesn't hold"):
        workspace().begin("ship_amber", start)


def test_a_change_of_the_selected_altitude_during_capture_differs_between_the_sister_ships():
    shown = {}
    for ship in ("ship_amber", "ship_slate"):
        session = cruise(ship)
        session.select("selected_altitude_ft", 4000)
        session.select("power_percent", 100)
        session.press("vertical_speed")
        for _ in range(5):
            session.press("reference_up")
        while session.annunciation.vertical.active != "altitude_capture":
            session.step()
        session.select("selected_altitude_ft", 5000)
        shown[ship] = session.annunciation.vertical.active
    assert shown == {"ship_amber": "pitch_hold", "ship_slate": "altitude_capture"}
