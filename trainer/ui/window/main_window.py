"""The window: pages, the clock that drives practice, and what is remembered.

Shows its first page before anything is loaded; charts, lessons and the flying page come right
after the first paint.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QCloseEvent, QPaintEvent
from PySide6.QtWidgets import QApplication, QMainWindow, QVBoxLayout, QWidget

from trainer.errors import TrainerError
from trainer.ui.lesson.flight_driver import FlightDriver
from trainer.ui.lesson.lesson_chooser import LessonChooser
from trainer.ui.look.palette import palette_of
from trainer.ui.look.theme import THEMES, Appearance, style_sheet
from trainer.ui.window.foot_line import FootLine
from trainer.ui.window.lesson_steps import take_main_step
from trainer.ui.window.page_stack import PageStack
from trainer.ui.window.preferences import load_preferences, save_preferences
from trainer.ui.window.top_bar import TopBar
from trainer.ui.window.window_keys import WindowKeys

if TYPE_CHECKING:
    from trainer.app import Workspace
    from trainer.lesson.spec import Lesson
    from trainer.session.situation import Start
    from trainer.session.strip_design import StripDesign
    from trainer.ui.lesson.practice import Practice
    from trainer.ui.window.desk import Desk

TITLE = "Mode trainer"


class MainWindow(QMainWindow):
    """Puts pages, clock and preferences together."""

    loaded = Signal()
    """Lessons and charts are there."""

    def __init__(self, folder: Path, open_workspace: Callable[[], Workspace]) -> None:
        """Make the window.

        Args:
            folder: Where preferences and records are kept.
            open_workspace: Called once, after the first paint.
        """
        super().__init__()
        self._folder = folder
        self._open_workspace = open_workspace
        self.preferences = load_preferences(folder)
        self.design: StripDesign | None = None
        self.desk: Desk | None = None
        self.has_painted = False
        self.top = TopBar()
        self.chooser = LessonChooser()
        self.pages = PageStack()
        self.foot = FootLine()
        self.note = self.foot.message
        self.driver = FlightDriver(self)
        self._lay_out()
        self._connect()
        self.keys = WindowKeys(self)
        self.set_appearance(self.preferences.appearance)

    @property
    def practice(self) -> Practice | None:
        """What flies now."""
        return self.driver.practice

    def load(self) -> None:
        """Load charts and lessons, and make the other pages; done once, after the first paint."""
        if self.desk is not None:
            return
        from trainer.ui.window.desk import Desk

        self.desk = Desk(self, self._folder, self._open_workspace)
        self.design = self.desk.shelf.named(self.preferences.strip_design)
        self.set_appearance(self.preferences.appearance)
        self.desk.show_lessons()
        if not self.chooser.isAncestorOf(self.focusWidget() or self):
            self.chooser.list.setFocus()  # so that Enter starts a lesson, as the page says
        self.say(self.desk.rooms.open_note(), "told")
        self.loaded.emit()

    def open_lesson(self, lesson: Lesson) -> None:
        """Fly a lesson from its start."""
        if self.desk is not None:
            self._remember(last_lesson=lesson.id)
            self._begin(lambda desk: desk.start_lesson(lesson))

    def open_free(self, installation: str, start: Start, drill_rate: int) -> None:
        """Fly freely from a situation."""
        self._begin(lambda desk: desk.start_free(installation, start, drill_rate))

    def show_lessons(self) -> None:
        """Show the first page."""
        self._leave()
        if self.desk is not None:
            self.desk.show_lessons()
        self.go_to(self.chooser)
        self.chooser.list.setFocus()

    def show_attempts(self) -> None:
        """Show the answers stored."""
        if self.desk is not None:
            self._leave()
            self.go_to(self.desk.show_attempts())
            self.desk.attempts.take_focus()

    def show_free(self) -> None:
        """Show the situations for free practice."""
        if self.desk is not None:
            self._leave()
            self.go_to(self.desk.show_free())
            self.desk.free.list.setFocus()

    def show_debrief(self) -> None:
        """Look at what was flown so far; time stands still meanwhile."""
        if self.practice is not None and self.practice.hidden:
            self.say("Answer first: the debrief would show what the question hides.", "told")
        elif self.desk is not None and self.practice is not None:
            self.practice.is_running = False
            self.driver.stop_clock()
            self.go_to(self.desk.show_debrief(self.practice))
            self.desk.debrief.scrubber.setFocus()
            self.top.show_flying(False)

    def show_designer(self) -> None:
        """Show the strip designer."""
        if self.desk is not None and self.design is not None:
            self._leave()
            page = self.desk.design_page()
            page.show_designs(self.design.name)
            self.go_to(page)

    def show_settings(self) -> None:
        """Show the settings."""
        if self.desk is not None:
            self._leave()
            self.go_to(self.desk.show_settings())

    def show_club(self) -> None:
        """Show the training lead's page."""
        if self.desk is not None:
            self._leave()
            self.go_to(self.desk.club.club())

    def show_exchange(self) -> None:
        """Show the member's exchange with the club."""
        if self.desk is not None:
            self._leave()
            self.go_to(self.desk.club.member(self.preferences.member))

    def show_aircraft(self) -> None:
        """Show the aircraft."""
        if self.desk is not None:
            self._leave()
            self.go_to(self.desk.aircraft.aircraft())
            self.desk.aircraft.page.list.setFocus()

    def show_page(self, page: QWidget) -> None:
        """Leave what flies and show a page."""
        self._leave()
        self.go_to(page)

    def name_member(self, name: str) -> None:
        """Keep answers under another name from now on, and say so."""
        is_other = name != self.preferences.member
        self._remember(member=name)
        self.chooser.member.setText(name)
        save_preferences(self._folder, self.preferences)
        if is_other and self.desk is not None:
            self.desk.tell_name()

    def show_write(self) -> None:
        """Show the page on which lessons are written; a free flight in hand becomes one."""
        if self.desk is None:
            return
        flown = self.practice
        is_flight = flown is not None and not flown.is_lesson
        is_seen = self.pages.currentWidget() is self.desk.page
        self.driver.stop_clock()  # a question may be asked first: nothing flies meanwhile
        page = self.desk.write.begin_from(flown) if is_flight else self.desk.write.write()
        if page is not None:
            self.show_page(page)
            (page.view if is_flight else page.editor.text).setFocus()
        elif is_seen:
            self.driver.start_clock()

    def open_item(self, practice: Practice) -> None:
        """Fly something that is ready to be flown."""
        self._begin(lambda _desk: practice)

    def open_preview(self, lesson: Lesson) -> None:
        """Try a lesson that is being written."""
        self._begin(lambda desk: desk.preview(lesson))

    def use_still(self, is_still: bool) -> None:
        """Stop all pulsing, or let it be."""
        self._remember(is_still=is_still)
        self._apply_look()

    def use_sound(self, volume_percent: int, has_capture_tone: bool) -> None:
        """Use another volume, and the tone of captures or not."""
        self._remember(volume_percent=volume_percent, has_capture_tone=has_capture_tone)
        self._apply_look()

    def use_keys(self, keys: dict[str, str]) -> None:
        """Use the user's own keys."""
        self._remember(keys=keys)
        self.show_settings()

    def use_design(self, design: StripDesign) -> None:
        """Use a strip design wherever a strip is shown or asked for."""
        self.design = design
        self._remember(strip_design=design.name)
        self._apply_look()
        self.say(f"'{design.name}' is used everywhere now.", "told")

    def _apply_look(self) -> None:
        if self.desk is not None and self.design is not None:
            self.desk.set_theme(THEMES[self.preferences.appearance], self.design)

    def back_to_flight(self) -> None:
        """Leave the debrief for the flight it is about."""
        if self.desk is not None and self.practice is not None:
            self.go_to(self.desk.page)
            self.top.show_flying(True)
            self.driver.start_clock()
            self.refresh()

    def fly_on_from(self, t_s: float) -> None:
        """Go on as a new branch, in free practice, from a moment of what was flown."""
        if self.desk is not None and (branch := self.desk.branch(t_s)) is not None:
            self.open_item(branch)

    def set_appearance(self, appearance: Appearance) -> None:
        """Use light, dark or high-contrast colours."""
        theme = THEMES[appearance]
        QApplication.setPalette(palette_of(theme))
        self.setStyleSheet(style_sheet(theme))
        self.top.show_appearance(appearance)
        if self.desk is not None:
            self.desk.set_theme(theme, self.design)
        self._remember(appearance=appearance)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint."""
        super().paintEvent(event)
        if not self.has_painted:
            self.has_painted = True
            QTimer.singleShot(0, self.load)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Keep what is to be remembered."""
        self.driver.stop_clock()
        self.driver.settle()
        if not self.isMaximized():
            self._remember(width_px=self.width(), height_px=self.height())
        self._remember(is_maximised=self.isMaximized())
        save_preferences(self._folder, self.preferences)
        if self.desk is not None:
            self.desk.rooms.close()
            self.desk.club.close()
            self.desk.write.close()
            self.desk.aircraft.close()
            self.desk.recorder.close()
            self.desk.sounder.speaker.close()
        super().closeEvent(event)

    def refresh(self, frame: int = -1) -> None:
        """Show the present state of what flies; see `PracticePage.refresh` for `frame`."""
        practice = self.practice
        if practice is None or self.desk is None:
            return
        self.desk.page.refresh(frame)
        from trainer.ui.lesson.practice_words import clock_words

        self.top.show_time(
            clock_words(practice.session.t_s),
            practice.speed,
            is_running=practice.is_moving,
            can_run=practice.flyer.phase == "running",
        )
        self.desk.sounder.listen(practice, time.monotonic())
        if self.desk.recorder.problem:
            self.say(self.desk.recorder.problem)

    def say(self, words: str, role: str = "caution") -> None:
        """Show a problem above the caution, or news as `told`; nothing takes it away."""
        self.foot.say(words, role)

    def _begin(self, start: Callable[[Desk], Practice]) -> None:
        if self.desk is None:
            return
        try:
            self.driver.practice = start(self.desk)
        except TrainerError as error:
            self.say(str(error))
            return
        self.say("")
        self.go_to(self.desk.page)
        self.top.show_flying(True)
        self.desk.page.show_practice(self.practice)
        self.desk.page.lesson.next.setFocus()
        self.refresh()
        self.driver.start_clock()

    def _leave(self) -> None:
        self.driver.stop_clock()
        if self.desk is not None and self.desk.designer is not None:
            self.desk.designer.leave()
        self.driver.practice = None
        self.top.show_flying(False)

    def proceed(self) -> None:
        """Go on from where the lesson waits."""
        take_main_step(self)

    def end_lesson(self) -> None:
        """Go back to the page from which a flight was begun."""
        from trainer.ui.check.item_practice import ItemPractice

        self.driver.settle()
        if isinstance(self.practice, ItemPractice):
            self.practice.then()
        elif self.practice is not None and self.practice.is_preview:
            self.show_write()
        else:
            self.show_lessons()

    def restart(self) -> None:
        """Begin what flies again."""
        if self.practice is not None and self.desk is not None:
            self.driver.settle()
            self.driver.act(lambda practice: practice.restart())
            self.say("")
            self.desk.page.show_practice(self.practice)
            self.desk.page.lesson.next.setFocus()

    def _remember(self, **values: object) -> None:
        self.preferences = replace(self.preferences, **values)

    def go_to(self, page: QWidget) -> None:
        """Show a page."""
        if self.pages.indexOf(page) < 0:
            self.pages.addWidget(page)
        self.pages.setCurrentWidget(page)

    def _lay_out(self) -> None:
        self.setWindowTitle(TITLE)
        chosen = self.preferences
        self.resize(chosen.width_px or 1280, chosen.height_px or 780)
        self.setMinimumSize(1180, 680)
        if chosen.is_maximised:
            self.setWindowState(Qt.WindowState.WindowMaximized)
        body = QWidget()
        body.setObjectName("page")
        column = QVBoxLayout(body)
        column.setContentsMargins(4, 4, 4, 4)
        column.setSpacing(2)
        column.addWidget(self.top)
        column.addWidget(self.pages, 1)
        column.addWidget(self.foot)
        self.setCentralWidget(body)
        self.top.show_flying(False)
        self.go_to(self.chooser)

    def _connect(self) -> None:
        top = self.top
        self.driver.changed.connect(self.refresh)
        self.driver.failed.connect(self.say)
        self.pages.currentChanged.connect(lambda _place: self.foot.turn_page())
        top.lessons_asked.connect(self.show_lessons)
        top.attempts_asked.connect(self.show_attempts)
        top.free_asked.connect(self.show_free)
        top.run_toggled.connect(lambda: self.driver.act(lambda practice: practice.toggle_run()))
        top.speed_changed.connect(lambda step: self.driver.act(lambda p: p.change_speed(step)))
        top.restart_asked.connect(self.restart)
        top.debrief_asked.connect(self.show_debrief)
        top.designer_asked.connect(self.show_designer)
        top.settings_asked.connect(self.show_settings)
        top.club_asked.connect(self.show_club)
        top.aircraft_asked.connect(self.show_aircraft)
        top.check_asked.connect(lambda: self.desk and self.desk.rooms.show_check())
        top.help_asked.connect(lambda: self.desk and self.desk.show_help())
        top.appearance_chosen.connect(self.set_appearance)
        self.chooser.chosen.connect(self.open_lesson)
        self.chooser.write_asked.connect(self.show_write)
        self.chooser.due_asked.connect(lambda: self.desk and self.desk.rooms.show_due())
        self.chooser.member_named.connect(lambda name: self.name_member(name or "Me"))
        self.chooser.member.setText(self.preferences.member)
