"""Makes the page 'Write' when first asked for; opens, checks, previews and saves for it."""

from __future__ import annotations

from collections.abc import Callable
from itertools import chain, count
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog, QMessageBox

from trainer.errors import TrainerError
from trainer.ui.lesson.user_lessons import UserLessons, stem_of
from trainer.ui.look.theme import LIGHT, Theme
from trainer.ui.window.asker import Asker
from trainer.ui.window.background import Background

if TYPE_CHECKING:
    from trainer.app import Workspace
    from trainer.assessment.wrong_rules.library import Library
    from trainer.lesson.pack import Pack
    from trainer.lesson.spec import Lesson
    from trainer.session.session import Session
    from trainer.session.situation import Start
    from trainer.ui.lesson.practice import Practice
    from trainer.ui.writing.lesson_check import Checked
    from trainer.ui.writing.write_page import WritePage

PACK_FILTER = "Lesson packs (*.zip)"
Unsaved = Literal["save", "discard", "cancel"]
UNSAVED_WORDS = "The lesson that you are writing isn't saved."
PUT_BY_WORDS = "Its text doesn't read well yet: Save keeps it, but not among your lessons."
NOTHING_FLOWN = (
    "Fly something first: press a key or let time run, then Ctrl+L makes a lesson of it."
)
NO_BEGINNING = "An example can't become a lesson; fly a situation in free practice (F3) instead."
UNFINISHED = "unfinished"
"""Folder below that of the lessons for texts that don't read well; no lesson is sought there."""


class WriteDoor(QObject):
    """Knows the page, the user's lessons and the draft."""

    closed = Signal()
    record_asked = Signal()
    previewed = Signal(object)
    """A `Lesson` to be tried."""
    said = Signal(str)
    """A problem; empty: there is none any more."""
    told = Signal(str)
    """News that is no problem."""
    aircraft_brought = Signal()
    """A pack has brought an aircraft."""

    def __init__(self, folder: Path, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.lessons = UserLessons(folder)
        self._workspace = workspace
        self._theme: Theme = LIGHT
        self.background = Background(self)
        self.page: WritePage | None = None
        self._library: Library | None = None
        self.ask_unsaved: Callable[[], Unsaved] = self._ask_unsaved
        """Asks what becomes of unsaved text before another takes its place."""
        self.ask_replace: Callable[[Pack], bool] = self._ask_replace
        """Asks whether a pack's aircraft may take the place of one of the user's."""

    def write(self) -> WritePage:
        """Return the page; the first time it takes up what was left unsaved."""
        if self.page is None:
            from trainer.ui.writing.write_page import WritePage
            from trainer.ui.writing.writing import Writing

            writing = Writing(self._workspace.charts)
            draft = self.lessons.draft()
            if draft is not None:
                writing.restore(draft)
            self.page = WritePage(writing, self._begin)
            self._connect(self.page)
            self.page.set_theme(self._theme)
            if draft is not None:
                self.told.emit("Your unsaved lesson is here again.")
        elif self.page.writing.use_charts(self._workspace.charts):
            self.page.show_other()
        return self.page

    def begin_from(self, practice: Practice) -> WritePage | None:
        """Return the page with a lesson begun from a flight.

        None: nothing was flown yet, or the user would rather not.
        """
        from trainer.ui.writing.writing import has_steps

        recording = practice.recording()  # before anything is asked: the flight as it is now
        if not has_steps(recording):
            self.told.emit(NOTHING_FLOWN if practice.start is not None else NO_BEGINNING)
            return None
        page = self.write()
        if not self._may_replace():
            return None
        page.writing.begin_from(recording)
        page.show_other()
        self._keep_draft()
        return page

    def set_theme(self, theme: Theme) -> None:
        """Use another theme."""
        self._theme = theme
        if self.page is not None:
            self.page.set_theme(theme)

    def close(self) -> None:
        """Keep what isn't saved, and end what runs."""
        self.background.close()
        if self.page is not None:
            self.page.take_text()
            self.page.close_work()
            self._keep_draft()

    def save(self) -> bool:
        """Put the lesson among the user's own; a text that doesn't read well stays a draft."""
        page = self.page
        if page is None:
            return False
        page.take_text()
        writing = page.writing
        if writing.lesson is None:
            self._keep_draft()
            self.said.emit(f"Not saved, but kept as a draft. {writing.problems[0].words}")
            return False
        stem = writing.stem or self.lessons.free_stem(writing.lesson.title)
        try:
            path = self.lessons.save(stem, writing.text)
        except TrainerError as error:
            self.said.emit(str(error))
            return False
        writing.saved_as(stem)
        self.lessons.drop_draft()
        self.told.emit(f"Saved: {path}")
        return True

    def open(self, path: Path) -> None:
        """Take up a lesson from a file; unsaved text is asked about first."""
        page = self.write()
        try:
            text = self.lessons.text(path)
        except TrainerError as error:
            self.said.emit(str(error))
            return
        if not self._may_replace():
            return
        is_own = path.parent == self.lessons.folder
        page.writing.open(text, path.stem if is_own else "")
        self.lessons.drop_draft()
        page.show_other()
        self.said.emit("")

    def _may_replace(self) -> bool:
        """Return True if the text in hand may go; until then its draft stays on the disk."""
        if self.page is None:
            return True
        self.page.take_text()
        if self.page.writing.is_saved:
            return True
        match self.ask_unsaved():
            case "save":
                return self.save() if self.page.writing.lesson is not None else self._put_by()
            case "discard":
                return True
        return False

    def _put_by(self) -> bool:
        """Keep a text that doesn't read well beside the lessons, under a name of its own."""
        writing = self.page.writing
        stem = stem_of(writing.stem or "unfinished lesson")
        names = (f"{UNFINISHED}/{stem}{tail}" for tail in chain([""], (f"-{n}" for n in count(2))))
        name = next(one for one in names if not (self.lessons.folder / f"{one}.yaml").exists())
        try:
            path = self.lessons.save(name, writing.text)
        except TrainerError as error:
            self.said.emit(str(error))
            return False
        self.lessons.drop_draft()
        self.told.emit(f"The unfinished text is no lesson yet; Open… takes it up again: {path}")
        return True

    def _ask_unsaved(self) -> Unsaved:
        box = QMessageBox(self.page)
        box.setIcon(QMessageBox.Icon.Question)
        box.setWindowTitle("Unsaved lesson")
        box.setText(UNSAVED_WORDS)
        box.setInformativeText(
            "Save it first, or let another one take its place? "
            + ("" if self.page.writing.lesson is not None else PUT_BY_WORDS)
        )
        buttons = QMessageBox.StandardButton
        box.setStandardButtons(buttons.Save | buttons.Discard | buttons.Cancel)
        box.setDefaultButton(buttons.Save)
        answers: dict[object, Unsaved] = {buttons.Save: "save", buttons.Discard: "discard"}
        return answers.get(QMessageBox.StandardButton(box.exec()), "cancel")

    def import_pack(self, path: Path) -> None:
        """Take a pack's lessons among the user's own; all of them or none."""
        workspace = self._workspace
        try:
            pack = self.lessons.import_pack(
                path, workspace.charts, workspace.own_aircraft, self.ask_replace
            )
        except TrainerError as error:
            self.said.emit(str(error))
            return
        if pack is None:
            self.told.emit("Nothing is taken: your own aircraft is as it was.")
            return
        count = len(pack.lessons)
        verb = "1 lesson is" if count == 1 else f"{count} lessons are"
        words = f"'{pack.title}': {verb} yours now."
        if pack.aircraft:
            workspace.reload_installations()
            self.aircraft_brought.emit()
            self.write()  # the page in hand knows the new aircraft too
            words += "".join(f" It {one.words}." for one in pack.aircraft)
        self.told.emit(words)

    def _ask_replace(self, pack: Pack) -> bool:
        if self.page is None:
            return False
        words = "\n\n".join(f"The pack {one.words}." for one in pack.replacing)
        return Asker(self.page).confirm("Replace an aircraft", words, "Take the pack's")

    def export_pack(self, path: Path) -> None:
        """Write the user's lessons as a pack."""
        try:
            count = self.lessons.export_pack(
                "My lessons", path, self._workspace.lesson, self._workspace.carried_text
            )
        except TrainerError as error:
            self.said.emit(str(error))
        else:
            self.told.emit(f"Packed {count} lesson{'' if count == 1 else 's'}: {path}")

    def check(self) -> None:
        """Fly the lesson and its small variations, off the paint path."""
        page = self.page
        if page is None or page.writing.lesson is None:
            return
        lesson, text = page.writing.lesson, page.writing.text
        if self.background.run(
            lambda _progress: self._checked(lesson),
            lambda found: self._show_check(found, text),
            self.said.emit,
        ):
            self.told.emit("Flying the lesson…")

    def _checked(self, lesson: Lesson) -> Checked:
        """Fly a lesson; done in a thread. The wrong rules of an aircraft are made ready once."""
        from trainer.ui.writing.lesson_check import check_lesson

        logic = self._workspace.logic(lesson.installation)
        if self._library is None or self._library.logic is not logic:
            self._library = self._workspace.library(lesson.installation)
        return check_lesson(self._workspace, lesson, self._library)

    def _show_check(self, found: Checked, text: str) -> None:
        self.said.emit("")
        if self.page is not None and self.page.writing.text == text:
            self.page.show_checked(found)

    def _preview(self) -> None:
        if self.page is not None and self.page.writing.lesson is not None:
            self.previewed.emit(self.page.writing.lesson)

    def _begin(self, installation: str) -> Callable[[Start], Session]:
        return lambda start: self._workspace.begin(installation, start)

    def _keep_draft(self) -> None:
        if self.page is None or self.page.writing.is_saved:
            return
        try:
            self.lessons.keep_draft(self.page.writing.to_data())
        except TrainerError as error:
            self.said.emit(f"Unsaved work isn't kept: {error}")

    def _connect(self, page: WritePage) -> None:
        page.closed.connect(self.closed)
        page.record_asked.connect(self.record_asked)
        page.changed.connect(self._keep_draft)
        page.failed.connect(self.said)
        page.save_asked.connect(self.save)
        page.check_asked.connect(self.check)
        page.preview_asked.connect(self._preview)
        page.open_asked.connect(self._ask_open)
        page.import_asked.connect(self._ask_import)
        page.export_asked.connect(self._ask_export)

    def _ask_open(self) -> None:
        folder = str(self.lessons.folder)
        name, _ = QFileDialog.getOpenFileName(self.page, "Open a lesson", folder, "*.yaml")
        if name:
            self.open(Path(name))

    def _ask_import(self) -> None:
        name, _ = QFileDialog.getOpenFileName(self.page, "Import a pack", "", PACK_FILTER)
        if name:
            self.import_pack(Path(name))

    def _ask_export(self) -> None:
        name, _ = QFileDialog.getSaveFileName(
            self.page, "Export your lessons", "my-lessons.zip", PACK_FILTER
        )
        if name:
            self.export_pack(Path(name).with_suffix(".zip"))
