"""What the window needs once it is up: workspace, records, and the pages that take longer."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QInputDialog, QWidget

from trainer.errors import TrainerError
from trainer.lesson.question import ALL_FORMS
from trainer.records.store import FILE_NAME, Store
from trainer.session.strip_design import StripDesign
from trainer.ui.aircraft.aircraft_door import AircraftDoor
from trainer.ui.check.check_rooms import CheckRooms
from trainer.ui.club.club_door import ClubDoor
from trainer.ui.debrief.attempts_table import EMPTY_WORDS, reasons
from trainer.ui.debrief.attempts_view import AttemptsView
from trainer.ui.debrief.timeline import build_timeline
from trainer.ui.lesson.branch import branched, undone
from trainer.ui.lesson.practice import Answered, Practice
from trainer.ui.lesson.practice_page import PracticePage, strip_colours
from trainer.ui.lesson.recorder import Recorder, attempt_of, now_utc
from trainer.ui.look.theme import Theme
from trainer.ui.look.words import StripWords, with_design, words_of_chart
from trainer.ui.practice.controls import Control, controls_of
from trainer.ui.practice.free_chooser import FreeChooser
from trainer.ui.practice.free_flight import FreeFlight
from trainer.ui.practice.saved_situation import SituationShelf, start_of
from trainer.ui.practice.verify_drill import VerifyDrill
from trainer.ui.sound.sounder import Sounder
from trainer.ui.sound.speaker import Speaker
from trainer.ui.strip.demo_flight import DemoFlight
from trainer.ui.strip.design_shelf import DesignShelf
from trainer.ui.window.help_window import HelpWindow
from trainer.ui.window.key_map import with_key
from trainer.ui.window.lesson_steps import take_other_step
from trainer.ui.window.whose_answers import TOO_LONG, beside_words, due_lessons, named_words
from trainer.ui.writing.write_door import WriteDoor

if TYPE_CHECKING:
    from trainer.app import Workspace
    from trainer.lesson.spec import Lesson
    from trainer.records.attempt import Attempt
    from trainer.session.session import Session
    from trainer.session.situation import Start
    from trainer.ui.debrief.debrief_page import DebriefPage
    from trainer.ui.strip.design_page import DesignPage
    from trainer.ui.window.main_window import MainWindow
    from trainer.ui.window.settings_page import SettingsPage


class Desk(QObject):
    """Owns workspace, recorder and pages; the window owns the desk."""

    def __init__(
        self, window: MainWindow, folder: Path, open_workspace: Callable[[], Workspace]
    ) -> None:
        super().__init__(window)
        self._window = window
        self.workspace = open_workspace()
        self.sounder = Sounder(Speaker())
        self.recorder = Recorder(lambda: Store.open(folder / FILE_NAME))
        self.page = PracticePage(window)
        self.free = FreeChooser(window)
        self.attempts = AttemptsView(StripWords({}), window)
        self.club = ClubDoor(folder, self.workspace, self.recorder.close, self)
        self.write = WriteDoor(folder, self.workspace, self)
        self.aircraft = AircraftDoor(folder, self.workspace, self._flying, self)
        self.rooms = CheckRooms(window, self.workspace, self.recorder.opened, self._words_of)
        self.help: HelpWindow | None = None
        self.settings: SettingsPage | None = None
        self.page.keys = window.preferences.keys
        self.debrief: DebriefPage | None = None
        self._debriefed: Practice | None = None
        self._theme: tuple[Theme, StripDesign] | None = None
        for page in (self.page, self.free, self.attempts):
            page.hide()
        self._connect()
        self.free.show_aircraft(self.aircraft_titles())
        self.shelf = DesignShelf(folder)
        self.situations = SituationShelf(folder, tuple(self.aircraft_titles()))
        self.designer: DesignPage | None = None

    def design_page(self) -> DesignPage:
        """Return the strip designer, made when first asked for."""
        if self.designer is None:
            from trainer.ui.strip.design_page import DesignPage

            words, demo = StripWords({}), None
            lessons, _ = self._lessons()
            if lessons:
                words = words_of_chart(self.workspace.installation(lessons[0].installation).chart)
                demo = DemoFlight(self.workspace.start_lesson(lessons[0]))
            self.designer = DesignPage(self.shelf, words, demo)
            self.designer.closed.connect(self._window.show_lessons)
            self.designer.chosen.connect(self._window.use_design)
            self.designer.failed.connect(self._window.say)
        return self.designer

    def aircraft_titles(self) -> dict[str, str]:
        """Return the title of each installation by id; empty if they can't be read."""
        try:
            return {name: one.title for name, one in self.workspace.installations.items()}
        except TrainerError as error:
            self._window.say(str(error))
            return {}

    def _flying(self) -> Session | None:
        practice = self._window.practice
        can_be_seen = practice is not None and "strip" not in practice.hidden
        return practice.session if can_be_seen else None

    def show_lessons(self) -> None:
        """Fill the first page."""
        lessons, problems = self._lessons()
        member = self._window.preferences.member
        own, broken = self.write.lessons.read(self.workspace.lesson)
        self._window.chooser.mark_due(due_lessons(self.recorder, member))
        self._window.chooser.show_lessons(
            lessons, self.aircraft_titles(), self.recorder.attempts(member), problems,
            own=own, broken=broken, beside=" ".join(beside_words(self.recorder, member)).strip(),
        )  # fmt: skip
        self._window.chooser.put_in_hand(self._window.preferences.last_lesson)

    def tell_name(self) -> None:
        """Show what stands under the name that is used from now on, and say so."""
        self.show_lessons()
        name = self._window.preferences.member
        self._window.say(named_words(self.recorder, name), "told")

    def show_attempts(self) -> QWidget:
        """Fill the page of answers and return it."""
        member = self._window.preferences.member
        answers = self.recorder.attempts(member)
        self.attempts.show_attempts(answers, self._words_of, self._reasons_of)
        kept_back, others = beside_words(self.recorder, member)
        parts = (EMPTY_WORDS, kept_back, others)
        self.attempts.empty.setText("\n\n".join(part for part in parts if part))
        summary = self.attempts.summary
        summary.setText(f"{summary.text()}  {kept_back}".strip())
        self._window.say(self.recorder.problem)
        return self.attempts

    def show_settings(self) -> QWidget:
        """Fill the settings and return them."""
        if self.settings is None:
            from trainer.ui.window.settings_page import SettingsPage

            window = self._window
            self.settings = SettingsPage(window)
            self.settings.closed.connect(window.show_lessons)
            self.settings.still_chosen.connect(window.use_still)
            self.settings.sound_chosen.connect(window.use_sound)
            self.settings.keys_reset.connect(lambda: window.use_keys({}))
            self.settings.key_chosen.connect(
                lambda event, key: window.use_keys(with_key(window.preferences.keys, event, key))
            )
        chosen = self._window.preferences
        self.page.keys = chosen.keys
        controls = self._all_controls(chosen.keys)
        self.settings.show_settings(controls, chosen)
        return self.settings

    def _all_controls(self, keys: dict[str, str]) -> tuple[Control, ...]:
        """Return the controls of all aircraft, each once, in the order of the first."""
        found: dict[str, Control] = {}
        for installation in self.workspace.installations.values():
            for control in controls_of(installation.generic, keys):
                found.setdefault(control.event, control)
        return tuple(found.values())

    def show_help(self) -> None:
        """Open the guide."""
        if self.help is None:
            self.help = HelpWindow(self._window)
        self.help.show_page()

    def hush(self) -> None:
        """Close the windows beside this one that could tell an answer."""
        for other in (self.help, self.aircraft.window):
            if other is not None:
                other.close()

    def start_lesson(self, lesson: Lesson) -> Practice:
        """Return a practice of a lesson."""
        tutor = self.workspace.start_lesson(lesson)
        tutor.forms = ALL_FORMS
        made = Practice(tutor, lambda answered: self._keep(answered, tutor))
        made.has_next = self._window.chooser.lesson_after(lesson.id) is not None
        return made

    def preview(self, lesson: Lesson) -> Practice:
        """Return a practice of a lesson being written; nothing is kept of it."""
        tutor = self.workspace.start_lesson(lesson)
        tutor.forms = ALL_FORMS
        made = Practice(tutor, lambda _answered: None)
        made.is_preview = True
        return made

    def start_free(self, installation: str, start: Start, drill_rate: int) -> Practice:
        """Return a free practice."""
        flyer = FreeFlight(lambda: self.workspace.begin(installation, start))
        flyer.drill_rate = drill_rate
        made = Practice(flyer, lambda answered: self._keep(answered, flyer))
        made.start = start
        return made

    def show_free(self) -> QWidget:
        """Fill the choice of situations and return it."""
        self.free.show_saved(self.situations.situations())
        self._window.say("\n".join(self.situations.problems))
        return self.free

    def save_moment(self, title: str) -> None:
        """Keep the present moment as a situation to begin from."""
        practice = self._window.practice
        if practice is None or not title.strip():
            return
        try:
            session = practice.shown
            begin = start_of(session, practice.injected)
            self.workspace.begin(session.installation.id, begin)
            path = self.situations.keep(title.strip(), session, practice.injected)
        except TrainerError as error:
            self._window.say(f"This moment can't be begun from: {error}")
        else:
            self._window.say(f"Saved: {path}", "told")

    def show_debrief(self, practice: Practice) -> QWidget:
        """Fill the debrief of what was flown and return it."""
        session = practice.session
        words = self._words_of(session.installation.id)
        timeline = build_timeline(session, practice.log.calls, words, practice.log.noticed)
        self._debriefed = practice
        page = self.debrief_page()
        page.show_timeline(timeline, words)
        return page

    def take_up(self, practice: Practice) -> None:
        """Let a branch go off from this flight."""
        self._debriefed = practice

    def debrief_page(self) -> DebriefPage:
        """Return the debrief page, made when first asked for: its plots take long to load."""
        if self.debrief is None:
            from trainer.ui.debrief.debrief_page import DebriefPage

            self.debrief = DebriefPage(self._window)
            self.debrief.closed.connect(self._window.back_to_flight)
            self.debrief.resumed.connect(self._window.fly_on_from)
            self.debrief.failed.connect(self._window.say)
            if self._theme is not None:
                self.set_theme(*self._theme)
        return self.debrief

    def branch(self, t_s: float) -> Practice | None:
        """Return a free practice that goes on from a moment of what was debriefed."""
        old = self._debriefed
        if old is None:
            return None
        start = old.log.session_at(old.session, t_s)
        return branched(old, start, self._keep)

    def undone(self, practice: Practice) -> Practice | None:
        """Return a free practice that goes on from just before the last thing done."""
        return undone(practice, self._keep)

    def set_theme(self, theme: Theme, design: StripDesign) -> None:
        """Use another theme and strip design on all pages."""
        self._theme = (theme, design)
        self.club.set_look(theme, design)
        self.write.set_theme(theme)
        self.aircraft.set_look(theme, design)
        self.rooms.set_look(theme, design)
        if self.debrief is not None:
            self.debrief.set_theme(theme, design, strip_colours(design, theme))
        self.page.set_theme(theme, design)
        self.attempts.set_design(design, strip_colours(design, theme))
        chosen = self._window.preferences
        self.page.set_still(chosen.is_still)
        self.sounder.speaker.volume = chosen.volume_percent / 100
        self.sounder.has_capture_tone = chosen.has_capture_tone

    def _connect_free(self) -> None:
        act, free = self._window.driver.act, self.page.free
        free.drill_chosen.connect(lambda rate: act(lambda p: p.set_drill_rate(rate)))
        free.verify_chosen.connect(
            lambda on: act(lambda p: p.set_verify(_new_drill() if on else None))
        )
        free.save_asked.connect(self._ask_title)
        free.lesson_asked.connect(self._window.show_write)
        self.page.notice.noticed.connect(lambda: act(lambda p: p.notice()))
        free.fault_switched.connect(
            lambda fault, on: act(lambda practice: practice.inject(fault, on))
        )
        free.hands_chosen.connect(
            lambda on: act(lambda p: p.select("pilot", "hands" if on else "attentive"))
        )
        free.stick_moved.connect(
            lambda bank, pitch: act(lambda practice: practice.move_stick(bank, pitch))
        )

    def _ask_title(self) -> None:
        title, is_given = QInputDialog.getText(
            self._window, "Save this moment", "A name for this moment"
        )
        if is_given:
            self.save_moment(title)

    def _keep(self, answered: Answered, flyer: object) -> None:
        member = self._window.preferences.member
        self.recorder.keep(attempt_of(answered, flyer, member, now_utc()))

    def _lessons(self) -> tuple[list[Lesson], str]:
        lessons, problems = [], []
        for path in self.workspace.lesson_paths:
            try:
                lessons.append(self.workspace.lesson(path))
            except TrainerError as error:
                problems.append(str(error))
        return lessons, "\n".join(problems)

    def _words_of(self, installation: str) -> StripWords:
        try:
            chart = self.workspace.installation(installation).chart
        except TrainerError:
            return StripWords({})
        return with_design(words_of_chart(chart), self._window.design)

    def _reasons_of(self, attempt: Attempt) -> tuple[str, ...]:
        try:
            chart = self.workspace.installation(attempt.installation_id).chart
        except TrainerError:
            return reasons(attempt, None)
        return reasons(attempt, chart)

    def _connect(self) -> None:
        window, controls = self._window, self.page.controls
        window.chooser.member.inputRejected.connect(lambda: window.say(TOO_LONG))
        act = window.driver.act
        controls.pressed.connect(lambda e: act(lambda practice: practice.press(e)))
        controls.selected.connect(
            lambda name, value: act(lambda practice: practice.select(name, value))
        )
        self.page.look_back.moved.connect(lambda t_s: act(lambda p: p.look_back(t_s)))
        controls.source_asked.connect(lambda: act(lambda practice: practice.next_source()))
        self._connect_free()
        for asks in (self.page.builder, self.page.form):
            asks.submitted.connect(lambda said: act(lambda practice: practice.answer(said)))
        self.page.lesson.proceeded.connect(window.proceed)
        self.page.lesson.other_asked.connect(lambda: take_other_step(window))
        self.free.started.connect(window.open_free)
        self.attempts.closed.connect(window.show_lessons)
        self.attempts.exchange_asked.connect(window.show_exchange)
        self.club.closed.connect(window.show_lessons)
        self.club.member_named.connect(window.name_member)
        self.write.closed.connect(window.show_lessons)
        self.aircraft.closed.connect(window.show_lessons)
        self.aircraft.opened.connect(window.show_page)
        self.aircraft.flown.connect(window.open_item)
        self.aircraft.kept.connect(self._keep)
        self.aircraft.said.connect(window.say)
        self.aircraft.news.connect(lambda words: window.say(words, "told"))
        for changed in (
            self.aircraft.changed,
            self.club.aircraft_brought,
            self.write.aircraft_brought,
        ):
            changed.connect(lambda: self.free.show_aircraft(self.aircraft_titles()))
            changed.connect(self.rooms.forget)
        self.write.record_asked.connect(window.show_free)
        self.write.previewed.connect(window.open_preview)
        self.write.said.connect(window.say)
        self.write.told.connect(lambda words: window.say(words, "told"))


def _new_drill() -> VerifyDrill:
    return VerifyDrill(time.time_ns())
