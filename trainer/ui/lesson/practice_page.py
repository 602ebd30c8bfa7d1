"""The page on which one flies: controls, strip and views, lesson."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QScrollArea, QSizePolicy, QVBoxLayout, QWidget

from trainer.charts.provenance import limits_note, limits_warning
from trainer.lesson.question import Prompt
from trainer.session.strip_content import Verdict
from trainer.session.strip_design import StripColours, StripDesign
from trainer.ui.lesson.hidden_words import hidden_words
from trainer.ui.lesson.lesson_panel import LessonPanel
from trainer.ui.lesson.look_back import LookBack
from trainer.ui.lesson.practice import Practice
from trainer.ui.lesson.practice_words import (
    event_line,
    event_reasons,
    lesson_text,
    noticed_line,
    reference_line,
)
from trainer.ui.look.kit import label, panel, scroll_area, set_role
from trainer.ui.look.notice_box import NoticeBox
from trainer.ui.look.theme import GRID_PX, Theme
from trainer.ui.look.words import StripWords, with_design, words_of_chart
from trainer.ui.practice.controls import SELECTORS, controls_of
from trainer.ui.practice.controls_panel import ControlsPanel
from trainer.ui.practice.free_flight import FreeFlight
from trainer.ui.practice.free_panel import FreePanel
from trainer.ui.strip.strip_builder import StripBuilder
from trainer.ui.strip.strip_widget import StripWidget
from trainer.ui.views.attitude_view import AttitudeView
from trainer.ui.views.numbers_panel import NumbersPanel
from trainer.ui.views.plan_view import PlanView
from trainer.ui.views.profile_view import ProfileView
from trainer.ui.writing.form_tray import FormTray

CONTROLS_WIDTH_PX = 296
LESSON_WIDTH_PX = 330
_TURNS = 4


class PracticePage(QWidget):
    """Shows a `Practice`; `show_practice` takes a new one, `refresh` shows its present state."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("page")
        self._practice: Practice | None = None
        self._phase = ""
        self._design = StripDesign()
        self.keys: dict[str, str] = {}
        """The user's own keys: event -> key."""
        nothing = StripWords({})
        self._words = nothing
        self.aircraft = label("", wraps=True)
        """Which one flies: the user may have several of their own."""
        self.controls = ControlsPanel(())
        self.strip = StripWidget(nothing)
        self.said = StripWidget(nothing)
        self.said_title = label("You said", "group")
        self.latest = label("", "quiet", wraps=True)
        self.placeholders = label("", "caution")
        self.hidden = label("", "quiet", wraps=True)
        self.builder = StripBuilder(nothing)
        self.form = FormTray()
        self.plan = PlanView()
        self.profile = ProfileView()
        self.attitude = AttitudeView()
        self.numbers = NumbersPanel()
        self.lesson = LessonPanel()
        self.notice = NoticeBox()
        self.look_back = LookBack()
        self.free = FreePanel()
        self._lay_out()

    def show_practice(self, practice: Practice) -> None:
        """Show another practice from its beginning."""
        self._practice = practice
        self._phase = ""
        installation = practice.session.installation
        chart = installation.chart
        self.aircraft.setText(installation.title)
        self.aircraft.setToolTip(f"The aircraft that flies: {installation.title}")
        self.placeholders.setText(limits_note(installation))
        self.placeholders.setToolTip(limits_warning(installation))
        self._words = with_design(words_of_chart(chart), self._design)
        for strip in (self.strip, self.said):
            strip.set_words(self._words)
        self.controls.set_controls(controls_of(chart, self.keys))
        if isinstance(practice.flyer, FreeFlight):
            self.free.reset(
                practice.flyer.drill_rate,
                verifies=practice.verify is not None,
                faults=practice.injected,
                has_hands=practice.session.flight.controls.pilot == "hands",
            )
        self.refresh()

    def refresh(self, frame: int = -1) -> None:
        """Show the practice as it is now.

        Args:
            frame: Number of the frame; the pictures and numbers take turns in four frames, so
                that a frame stays short. The strip is never late. Negative: show everything.
        """
        practice = self._practice
        if practice is None:
            return
        session, flyer = practice.shown, practice.flyer
        if flyer.phase != self._phase:
            self._enter_phase(practice)
        marks, along = frozenset(session.marks), frozenset(session.along)
        self.strip.show_annunciation(session.annunciation, marks, along=along)
        self._refresh_pictures(practice, frame)
        if practice.can_look_back:
            earliest_s, now_s = practice.log.earliest_s, practice.session.t_s
            self.look_back.show_times(earliest_s, now_s, session.t_s)
        if self.controls.is_acting != practice.can_act:
            self.controls.set_acting(practice.can_act)
        chart = session.installation.chart
        record = practice.last_shown_record
        words, role = event_line(record, chart)
        if practice.noticed is not None and practice.looking is None:
            words, role = noticed_line(practice.noticed, chart)
        self._show_drill(practice)
        if self.latest.text() != words:
            self.latest.setText(words)
            self.latest.setToolTip(event_reasons(record, practice))
            set_role(self.latest, role)
        self.lesson.show_text(lesson_text(practice, self._words))

    def _show_drill(self, practice: Practice) -> None:
        drill = practice.verify
        is_flying = practice.flyer.phase == "running"
        self.notice.show_record(drill.record if drill is not None and is_flying else "")

    def _refresh_pictures(self, practice: Practice, frame: int) -> None:
        turn = frame % _TURNS if frame >= 0 else None
        sample = practice.shown.flight.sample()
        if turn in (None, 0):
            self.plan.show_scene(practice.scene())
        if turn in (None, 2):
            self.profile.show_scene(practice.scene())
        if turn in (None, 1, 3):
            has_cue = practice.shown.annunciation.engagement != "no_guidance"
            cue = (sample.cue_bank_deg, sample.cue_pitch_deg) if has_cue else None
            self.attitude.show_attitude(sample.bank_deg, sample.pitch_deg, cue)
        if turn in (None, 3):
            self.numbers.show_sample(sample)
            self._show_selections(practice)

    def set_theme(self, theme: Theme, design: StripDesign) -> None:
        """Use another theme and strip design."""
        self._design = design
        colours = strip_colours(design, theme)
        for strip in (self.strip, self.said, self.builder):
            strip.set_design(design, colours)
        for view in (self.plan, self.profile, self.attitude, self.free):
            view.set_theme(theme)

    def set_still(self, is_still: bool) -> None:
        """Stop all pulsing (reduced motion)."""
        self.strip.set_still(is_still)

    def _enter_phase(self, practice: Practice) -> None:
        """Change what stands under the strip: nothing, the empty strip, or what was said."""
        phase = practice.flyer.phase
        self._phase = phase
        self.controls.set_acting(practice.can_act)
        self.free.setVisible(phase == "running" and not practice.is_lesson)
        self.look_back.setVisible(practice.can_look_back)
        prompt = practice.flyer.prompt
        is_strip = prompt is None or prompt.form == "strip"
        for part in (self.builder, self.builder.tray):
            part.setVisible(phase == "asking" and is_strip)
        self.form.setVisible(phase == "asking" and not is_strip)
        target = prompt.target if prompt is not None and phase == "asking" else None
        has_said = phase in ("revealing", "explained") and is_strip
        self.said.setVisible(has_said or target is not None)
        self.said_title.setVisible(has_said or target is not None)
        self.said_title.setText("To be reached" if target is not None else "You said")
        if target is not None:
            self.said.show_annunciation(target)
        self._hide(practice.hidden)
        if phase == "asking":
            self._ask(practice, prompt)
        elif has_said:
            self._show_said(practice)
        if phase in ("explained", "finished"):
            self.lesson.show_text(lesson_text(practice, self._words))
            self.lesson.next.setFocus()

    def _ask(self, practice: Practice, prompt: Prompt | None) -> None:
        if prompt is not None and prompt.form != "strip":
            self.form.ask(prompt)
            self.form.take_focus()
            return
        sees_now = prompt is None or "strip" not in prompt.hide
        self.builder.ask(self._words, practice.session.annunciation, sees_now=sees_now)
        self.builder.take_focus()

    def _hide(self, names: tuple[str, ...]) -> None:
        """Hide what an open question hides, and say so; show all else."""
        parts = {
            "plan": self.plan, "profile": self.profile, "attitude": self.attitude,
            "numbers": self.numbers, "strip": self.strip,
        }  # fmt: skip
        for name, part in parts.items():
            part.setVisible(name not in names)
        self.latest.setVisible("strip" not in names)
        self.hidden.setVisible(bool(names))
        self.hidden.setText(hidden_words(names))

    def _show_said(self, practice: Practice) -> None:
        outcome = practice.flyer.outcome
        if outcome is None:
            if practice.prediction is not None:
                self.said.show_annunciation(practice.prediction.annunciation)
            return
        verdicts: dict[str, Verdict] = {
            cell.cell: "right" if cell.is_right else "wrong" for cell in outcome.score.cells
        }
        self.said.show_annunciation(outcome.prediction.annunciation, verdicts=verdicts)

    def _show_selections(self, practice: Practice) -> None:
        session = practice.shown
        references, flight = session.references, session.flight
        source = flight.sources.get(references.source_id)
        course_deg = None
        if source is not None and source.kind != "approach":
            chosen = references.selected_course_deg
            course_deg = source.course_deg if chosen is None else chosen
        values = {
            "selected_altitude_ft": references.selected_altitude_ft,
            "selected_heading_deg": references.selected_heading_deg,
            "selected_course_deg": course_deg,
            "power_percent": flight.controls.power_percent,
        }
        known = {s.name: values.get(s.name) for s in SELECTORS}
        self.controls.show_values(known, source.label if source else "", reference_line(practice))

    def _lay_out(self) -> None:
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 4, 8, 2)
        row.setSpacing(8)
        frame, column = panel("Controls")
        column.setContentsMargins(8, 8, 4, 8)
        column.addWidget(self.aircraft)
        column.addWidget(self.controls)
        frame.setFixedWidth(CONTROLS_WIDTH_PX)
        row.addWidget(frame)
        area = _scrolling(self._middle())
        for cell in self.builder.strip.cells.values():
            # Of a tall strip the cell in hand is always in view.
            cell.focused.connect(lambda _n, c=cell: area.ensureWidgetVisible(c, 0, GRID_PX))
        row.addWidget(area, 1)
        self.lesson.setFixedWidth(LESSON_WIDTH_PX)
        for tray in (self.builder.tray, self.form, self.free, self.notice):
            self.lesson.set_tray(tray)
        row.addWidget(self.lesson)
        self._keep_places()
        for hidden in (
            self.hidden,
            self.notice,
            self.look_back,
            self.free,
            self.builder,
            self.builder.tray,
            self.form,
            self.said,
            self.said_title,
        ):
            hidden.hide()

    def _middle(self) -> QWidget:
        """Return the strip with what was and is said of it, above the pictures and numbers."""
        inner = QWidget()
        inner.setObjectName("plain")
        middle = QVBoxLayout(inner)
        middle.setContentsMargins(0, 0, 0, 0)
        middle.setSpacing(4)
        middle.addWidget(self.strip)
        middle.addWidget(self.hidden)
        below = QHBoxLayout()
        below.addWidget(self.latest, 1)
        below.addWidget(self.placeholders)
        middle.addLayout(below)
        for widget in (self.look_back, self.said_title, self.said, self.builder):
            middle.addWidget(widget)
        views = QHBoxLayout()
        views.setSpacing(4)
        views.addWidget(self.plan, 1)
        views.addWidget(self.profile, 1)
        middle.addLayout(views, 1)
        foot = QHBoxLayout()
        foot.setSpacing(4)
        foot.addWidget(self.attitude)
        foot.addWidget(self.numbers, 1)
        middle.addLayout(foot)
        return inner

    def _keep_places(self) -> None:
        """Let what a question hides leave its place empty, so that nothing jumps."""
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        for view in (self.plan, self.profile):
            view.setSizePolicy(policy)
        for view in (self.plan, self.profile, self.attitude, self.numbers, self.strip):
            policy = view.sizePolicy()
            policy.setRetainSizeWhenHidden(True)
            view.setSizePolicy(policy)


def _scrolling(inner: QWidget) -> QScrollArea:
    """Return an area that scrolls only if a tall strip design leaves too little room."""
    return scroll_area(inner, by_keys=False)


def strip_colours(design: StripDesign, theme: Theme) -> StripColours:
    """Return the design's colours that go with a theme."""
    return design.light if theme.strip_scheme == "light" else design.dark
