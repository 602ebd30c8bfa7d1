"""The debrief: the timeline says what happened and why, and any moment can be flown on from."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pyqtgraph as pg
import pytest
from pytestqt.qtbot import QtBot

from trainer.app import Workspace
from trainer.assessment.answers.prediction import Prediction
from trainer.report.render_html import render_html
from trainer.report.render_pdf import render_pdf
from trainer.report.render_text import render_text
from trainer.session.annunciation import Annunciation
from trainer.session.session import Session
from trainer.session.strip_design import DEFAULT_DESIGN
from trainer.ui.debrief.debrief_page import DebriefPage
from trainer.ui.debrief.debrief_plots import LEAST_RANGE
from trainer.ui.debrief.timeline import CURVES, Timeline, build_timeline, csv_text
from trainer.ui.lesson.practice import Practice
from trainer.ui.look.theme import DARK
from trainer.ui.look.words import words_of_chart
from trainer.ui.practice.flight_log import SNAPSHOT_EVERY_S, FlightLog
from trainer.ui.practice.free_flight import FreeFlight
from trainer.ui.practice.situations import SITUATIONS
from trainer.ui.writing.timeline_report import timeline_report

WORKSPACE = Workspace()


def begin() -> Session:
    """Return a session in cruise."""
    return WORKSPACE.begin("ship_amber", SITUATIONS[0].start)


@pytest.fixture(scope="module")
def flown() -> Practice:
    """A minute of flight with keys, a refusal, a call and a capture."""
    practice = Practice(FreeFlight(begin), lambda _: None)
    practice.proceed()

    def fly(seconds: float) -> None:
        for _ in range(round(seconds / 0.2)):
            practice.tick(0.2)

    fly(3)
    practice.flyer.drill_rate = 1
    practice.press("director")
    practice.answer(Prediction(Annunciation(), "sure"))
    practice.proceed()
    practice.flyer.drill_rate = 0
    fly(2)
    practice.press("autopilot")
    practice.press("heading_select")
    practice.select("selected_heading_deg", 60.0)
    practice.select("selected_altitude_ft", 4300.0)
    practice.press("vertical_speed")
    for _ in range(5):
        practice.press("reference_up")
    fly(50)
    practice.select("source", "")
    practice.press("course_track")
    fly(3)
    return practice


@pytest.fixture(scope="module")
def timeline(flown: Practice) -> Timeline:
    """Its timeline."""
    words = words_of_chart(flown.session.installation.chart)
    return build_timeline(flown.session, flown.log.calls, words)


def test_every_kind_of_mark_is_there_with_a_reason(timeline: Timeline) -> None:
    kinds = {mark.kind for mark in timeline.marks}
    assert {"key", "automatic", "refused", "wrong"} <= kinds
    assert all(mark.reasons for mark in timeline.marks)
    assert [m.t_s for m in timeline.marks] == sorted(m.t_s for m in timeline.marks)


def test_run_of_the_same_key_is_one_mark(timeline: Timeline) -> None:
    assert [m.label for m in timeline.marks if m.label.startswith("Up")] == ["Up, 5 times"]


def test_strip_of_any_moment_is_the_one_that_was_shown(timeline: Timeline, flown: Practice) -> None:
    assert timeline.annunciation_at(0.0) == Annunciation()
    assert timeline.annunciation_at(timeline.end_s) == flown.session.annunciation
    for record in flown.session.trace.records:
        assert timeline.annunciation_at(record.t_s - 0.01) != record.after or not record.has_changed


def test_report_draws_the_strips_in_the_design_in_use(timeline: Timeline) -> None:
    words = words_of_chart(WORKSPACE.installation("ship_amber").chart)
    design = replace(
        DEFAULT_DESIGN, name="Mine", words={"heading_select": "Turn to"}, active_shape="cut"
    )
    report = timeline_report(
        timeline, words, design, made_utc="2026-03-10T12:00:00Z", program_version="0.1.0"
    )
    html, text = render_html(report), render_text(report)
    assert html.count("<svg") >= sum(mark.before != mark.after for mark in timeline.marks)
    assert ">Turn to<" in html
    assert "Heading<" not in html
    assert "Lateral active: Turn to" in text
    assert "Called:" in text
    assert "(not so)" in text
    assert "Calls right 0 of 1" in " ".join(text.split())
    for mark in timeline.marks:
        assert mark.label in text
    assert render_pdf(report).startswith(b"%PDF")


def test_steady_flight_is_drawn_steady_and_in_plain_numbers(
    qtbot: QtBot, timeline: Timeline
) -> None:
    page = DebriefPage()
    qtbot.addWidget(page)
    page.show_timeline(timeline, words_of_chart(WORKSPACE.installation("ship_amber").chart))
    plots = [item for item in page.plots.canvas.ci.items if isinstance(item, pg.PlotItem)]
    names = [name for name, _title, _unit in CURVES if name != "course_deviation"]
    for plot, name in zip(plots, names, strict=False):
        low, high = plot.viewRange()[1]
        assert high - low >= LEAST_RANGE[name]
        axis = plot.getAxis("left")
        axis.updateAutoSIPrefix()
        assert axis.autoSIPrefixScale == 1.0
        assert "x0.0" not in axis.labelString()


def test_call_shows_what_was_called_beside_what_it_read(qtbot: QtBot, timeline: Timeline) -> None:
    page = DebriefPage()
    qtbot.addWidget(page)
    page.show_timeline(timeline, words_of_chart(WORKSPACE.installation("ship_amber").chart))
    row = next(n for n, mark in enumerate(timeline.marks) if mark.verdicts)
    page.marks.setCurrentRow(row)
    assert not page.called.isHidden()
    assert page.called.annunciation == timeline.marks[row].before
    spoken = [cell.accessibleName() for cell in page.called.cells.values()]
    assert any(words.endswith(", wrong") for words in spoken)
    page.marks.setCurrentRow(len(timeline.marks) - 1)
    assert page.called.isHidden()


@pytest.mark.parametrize("ending", ["pdf", "html"])
def test_report_is_exported(qtbot: QtBot, timeline: Timeline, tmp_path: Path, ending: str) -> None:
    page = DebriefPage()
    qtbot.addWidget(page)
    page.show_timeline(timeline, words_of_chart(WORKSPACE.installation("ship_amber").chart))
    page.export(tmp_path / f"debrief.{ending}")
    assert (tmp_path / f"debrief.{ending}").stat().st_size > 2000
    said: list[str] = []
    page.failed.connect(said.append)
    page.export(tmp_path / "nowhere" / f"debrief.{ending}")
    assert "choose another folder" in said[0]


def test_bands_follow_each_other_without_gap_or_overlap(timeline: Timeline) -> None:
    vertical = [band for band in timeline.bands if band.cell == "vertical_active"]
    assert [band.label for band in vertical][:3] == [
        "Pitch hold",
        "Vertical speed",
        "Altitude capture",
    ]
    for sooner, later in pairwise(vertical):
        assert sooner.end_s == later.start_s
    assert vertical[-1].end_s == timeline.end_s


def test_heading_curve_has_no_wall_at_north(timeline: Timeline) -> None:
    _, values = timeline.curve("heading_deg")
    steps = [abs(b - a) for a, b in pairwise(values)]
    assert max(steps) < 30.0


def test_csv_has_a_line_a_sample_with_the_strip(timeline: Timeline, flown: Practice) -> None:
    lines = list(csv.DictReader(io.StringIO(csv_text(timeline))))
    assert len(lines) == len(timeline.samples)
    assert lines[0]["engagement"] == "no_guidance"
    assert lines[-1]["engagement"] == "autopilot"
    assert float(lines[-1]["altitude_ft"]) == pytest.approx(
        timeline.samples[-1].altitude_ft, abs=0.001
    )


@pytest.mark.parametrize("share", [0.0, 0.07, 0.2, 0.55, 0.9, 1.0])
def test_any_moment_comes_back_exactly_as_it_was(flown: Practice, share: float) -> None:
    end_s = flown.session.t_s
    wanted_s = round(end_s * share / 0.05) * 0.05
    gone_back = flown.log.session_at(flown.session, wanted_s)
    assert gone_back.t_s == pytest.approx(wanted_s, abs=0.026)
    sample = gone_back.flight.sample()
    nearest = min(flown.session.trace.samples, key=lambda s: abs(s.t_s - sample.t_s))
    assert abs(nearest.altitude_ft - sample.altitude_ft) < 15.0
    replayed = gone_back.fork()
    for record in flown.session.trace.records:
        if record.t_s > gone_back.t_s:
            break
        assert record in gone_back.trace.records
    assert replayed.annunciation == gone_back.annunciation


def test_flying_on_without_a_key_repeats_what_was_flown() -> None:
    practice = Practice(FreeFlight(begin), lambda _: None)
    practice.proceed()
    for event in ("director", "autopilot", "heading_select", "vertical_speed"):
        practice.press(event)
    for _ in range(100):
        practice.tick(0.2)
    end = practice.session.flight.sample()
    back = practice.log.session_at(practice.session, 7.3)
    while back.t_s < end.t_s - 0.025:
        back.step()
    assert back.flight.sample() == end


def test_going_back_leaves_the_flight_as_it_is(flown: Practice) -> None:
    before = flown.session.flight.sample()
    flown.log.session_at(flown.session, 1.0)
    assert flown.session.flight.sample() == before


def test_snapshots_are_bounded_and_spaced() -> None:
    session = begin()
    log = FlightLog(session)
    for _ in range(20 * 60):
        session.step()
        log.note(session)
    assert len(log._snapshots) == pytest.approx(60 / SNAPSHOT_EVERY_S + 1, abs=1)
    assert log.earliest_s == 0.0


@pytest.fixture
def page(qtbot: QtBot, timeline: Timeline, flown: Practice) -> DebriefPage:
    """A shown debrief."""
    widget = DebriefPage()
    qtbot.addWidget(widget)
    widget.resize(1280, 700)
    widget.show_timeline(timeline, words_of_chart(flown.session.installation.chart))
    widget.show()
    return widget


def test_mark_shows_strip_and_reason(page: DebriefPage, timeline: Timeline) -> None:
    row = next(i for i, mark in enumerate(timeline.marks) if mark.kind == "automatic")
    page.marks.setCurrentRow(row)
    mark = timeline.marks[row]
    assert page.strip.annunciation == mark.after
    assert page.reasons.text() == "\n\n".join(mark.reasons)
    assert all(cursor.value() == mark.t_s for cursor in page.plots.cursors)


def test_flying_on_is_asked_for_with_the_moment(qtbot: QtBot, page: DebriefPage) -> None:
    page.show_moment(12.0)
    with qtbot.waitSignal(page.resumed) as signal:
        page.resume.click()
    assert signal.args == [12.0]


def test_exports_are_written(page: DebriefPage, tmp_path: Path) -> None:
    for kind, start in (("png", b"\x89PNG"), ("svg", b"<?xml"), ("csv", b"t_s,")):
        path = tmp_path / f"debrief.{kind}"
        page.export(path)
        assert path.read_bytes().startswith(start)


def test_export_that_fails_is_said(qtbot: QtBot, page: DebriefPage, tmp_path: Path) -> None:
    with qtbot.waitSignal(page.failed) as signal:
        page.export(tmp_path / "absent" / "debrief.csv")
    assert "debrief.csv" in signal.args[0]


def test_empty_debrief_says_what_to_do(qtbot: QtBot, page: DebriefPage) -> None:
    session = begin()
    words = words_of_chart(session.installation.chart)
    page.show_timeline(build_timeline(session, [], words), words)
    assert "Fly first" in page.reasons.text()


def test_dark_plots_differ(page: DebriefPage) -> None:
    light = page.plots.grab().toImage()
    page.plots.set_theme(DARK)
    assert page.plots.grab().toImage() != light
