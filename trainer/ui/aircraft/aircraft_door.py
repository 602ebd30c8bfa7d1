"""Makes the page 'Aircraft', its questionnaire and the statechart when first asked for."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog, QInputDialog, QMessageBox, QWidget

from trainer.charts.questionnaire import Answers, answers_of
from trainer.errors import TrainerError
from trainer.session.strip_design import DEFAULT_DESIGN, StripDesign
from trainer.ui.aircraft.aircraft_shelf import AircraftShelf
from trainer.ui.lesson.user_lessons import UserLessons
from trainer.ui.look.theme import LIGHT, Theme

if TYPE_CHECKING:
    from trainer.app import Workspace
    from trainer.session.session import Session
    from trainer.ui.aircraft.aircraft_impact_door import ImpactDoor
    from trainer.ui.aircraft.aircraft_page import AircraftPage, AircraftRow
    from trainer.ui.aircraft.example_finder import ExampleFinder
    from trainer.ui.aircraft.questionnaire_page import QuestionnairePage
    from trainer.ui.differences.differences_door import DifferencesDoor
    from trainer.ui.views.statechart_window import StatechartWindow

SHEET_FILTER = "Web page to print (*.html);;Plain text (*.txt);;Markdown (*.md)"


class AircraftDoor(QObject):
    """Knows the pages, the user's aircraft and the drafts."""

    closed = Signal()
    opened = Signal(object)
    """A page that is to be shown."""
    said = Signal(str)
    news = Signal(str)
    """News that is no problem."""
    changed = Signal()
    """There are other aircraft than before."""
    flown = Signal(object)
    """A `Practice` that is to be flown."""
    kept = Signal(object, object)
    """`Answered` of a differences check and the `Tutor` that it was given in."""

    def __init__(
        self,
        folder: Path,
        workspace: Workspace,
        live: Callable[[], Session | None],
        parent: QObject | None = None,
    ) -> None:
        """Make the door.

        Args:
            folder: Where drafts are kept.
            workspace: The installations, and where the user's own are kept.
            live: Returns the session that flies now, if one does.
            parent: Who owns the door.
        """
        super().__init__(parent)
        self.shelf = AircraftShelf(folder, workspace)
        self._folder = folder
        self._workspace = workspace
        self._live = live
        self._look: tuple[Theme, StripDesign] = (LIGHT, DEFAULT_DESIGN)
        self.page: AircraftPage | None = None
        self.questions: QuestionnairePage | None = None
        self.finder: ExampleFinder | None = None
        self.window: StatechartWindow | None = None
        self.differences: DifferencesDoor | None = None
        self.impact: ImpactDoor | None = None

    def aircraft(self, wanted: str = "") -> QWidget:
        """Return the page of all aircraft."""
        if self.page is None:
            from trainer.ui.aircraft.aircraft_page import AircraftPage

            self.page = AircraftPage()
            self.page.closed.connect(self.closed)
            self.page.answer_asked.connect(self.answer)
            self.page.copy_asked.connect(self._ask_copy)
            self.page.sheet_asked.connect(self._ask_sheet)
            self.page.picture_asked.connect(self.show_statechart)
            self.page.differences_asked.connect(self.show_differences)
            self.page.removal_asked.connect(self._ask_removal)
        rows = self._rows()
        problems = [*self._workspace.user_problems.values(), *self.shelf.problems]
        self.page.show_rows(rows, problems, wanted or self.page.chosen)
        return self.page

    def answer(self, name: str) -> None:
        """Open the questionnaire of an aircraft of the user's, with its draft if there is one."""
        drafts = self.shelf.drafts()
        installation = self._workspace.installations.get(name)
        if name in drafts:
            self._open(drafts[name])
            self.news.emit("These are your unsaved answers.")
        elif installation is not None:
            self._open(answers_of(installation))

    def begin_copy(self, name: str, title: str) -> None:
        """Begin a new aircraft as another one is."""
        self._try(
            lambda: self._open(self.shelf.begin_copy(self._workspace.installation(name), title))
        )

    def save(self) -> bool:
        """Save the answers in hand, or first show what they change in an aircraft that is there.

        False if they aren't saved, with the reason told or the page shown.
        """
        page = self.questions
        if page is None or page.answers is None:
            return False
        unfinished = self.shelf.unfinished(page.answers)
        if unfinished is not None:
            page.show_question(unfinished.question.key)
            self.said.emit(f"{unfinished.question.words}: {unfinished.problem}")
            return False
        edited = self.shelf.edit_of(page.answers)
        if edited is not None:
            self.opened.emit(self._impact_door().ask(edited))
            return False
        return self._write()

    def _write(self) -> bool:
        """Write the answers in hand to the aircraft's file."""
        try:
            path = self.shelf.save(self.questions.answers)
        except TrainerError as error:
            self.said.emit(str(error))
            return False
        self.questions.say_unsaved(False)
        self.news.emit(f"Saved: {path}")
        self.changed.emit()
        return True

    def _impact_door(self) -> ImpactDoor:
        if self.impact is None:
            from trainer.ui.aircraft.aircraft_impact_door import ImpactDoor

            self.impact = ImpactDoor(self._folder, self._workspace, self)
            self.impact.closed.connect(self._show_questions)
            self.impact.confirmed.connect(self._save_anyway)
        return self.impact

    def _show_questions(self) -> None:
        self.opened.emit(self.questions)
        self.questions.form.take_focus()

    def _save_anyway(self) -> None:
        self._show_questions()
        if self._write():
            self._try(self._enter_in_book)

    def _enter_in_book(self) -> None:
        entered = self.impact.enter()
        if entered:
            self.news.emit(f"Saved. {entered}")

    def discard(self) -> None:
        """Throw the unsaved answers away and show the aircraft."""
        page = self.questions
        if page is not None and page.answers is not None:
            self.shelf.drop(page.answers)
            page.answers = None
        self._show_list()

    def write_sheet(self, name: str, path: Path) -> None:
        """Write the sheet of open questions of an aircraft."""
        from trainer.charts.question_sheet import SHEET_FORMATS, questions_sheet

        answers = self._answers(name)
        if answers is None:
            return
        if path.suffix.lower() not in SHEET_FORMATS:
            path = path.with_name(f"{path.name}.html")
        try:
            text = questions_sheet(answers, self.shelf.chart_of(answers), path.suffix.lower())
            path.write_text(text, encoding="utf-8")
        except (OSError, TrainerError) as error:
            self.said.emit(f"{path}: not written ({error})")
        else:
            self.news.emit(f"Question sheet: {path}")

    def show_statechart(self, name: str = "") -> None:
        """Open the picture of an aircraft, or of the one that flies."""
        if self.window is None:
            from trainer.ui.views.statechart_window import StatechartWindow

            self.window = StatechartWindow(self._live, self._workspace.coverage)
            self.window.set_theme(self._look[0])
            self.window.said.connect(self.said)
            self.window.news.connect(self.news)
        installations = self._workspace.installations
        session = self._live()
        shown = session.installation if session is not None and not name else None
        if shown is None:
            shown = installations.get(name) or next(iter(installations.values()))
        self.window.show_installation(shown)

    def show_differences(self, name: str) -> None:
        """Open the differences from an aircraft to another one."""
        if self.differences is None:
            from trainer.ui.differences.differences_door import DifferencesDoor

            self.differences = DifferencesDoor(self._workspace, self)
            self.differences.closed.connect(self._show_list)
            self.differences.opened.connect(self.opened)
            self.differences.flown.connect(self.flown)
            self.differences.kept.connect(self.kept)
            self.differences.set_look(*self._look)
        self.opened.emit(self.differences.page(name))

    def set_look(self, theme: Theme, design: StripDesign) -> None:
        """Use another theme and strip design."""
        self._look = (theme, design)
        if self.questions is not None:
            from trainer.ui.lesson.practice_page import strip_colours

            self.questions.example.set_design(design, strip_colours(design, theme))
        if self.window is not None:
            self.window.set_theme(theme)
        if self.differences is not None:
            self.differences.set_look(theme, design)

    def press_esc(self, page: QWidget) -> bool:
        """Go back from one of these pages to the one it came from; False if it is another."""
        doors = (self.impact, self.differences)
        known = [self.questions, *(door.made for door in doors if door is not None)]
        if self.differences is not None:
            known.append(self.differences.check)
        for one in known:
            if one is not None and one is page:
                one.closed.emit()
                return True
        return False

    def leave(self) -> None:
        """Stop what works in the background; the draft is on the disk already."""
        if self.finder is not None:
            self.finder.stop()

    def close(self) -> None:
        """End everything with the program."""
        self.leave()
        for door in (self.differences, self.impact):
            if door is not None:
                door.close()
        if self.window is not None:
            self.window.close()

    def _rows(self) -> list[AircraftRow]:
        from trainer.ui.aircraft.aircraft_page import AircraftRow

        drafts = self.shelf.drafts()
        rows = []
        for name, one in self._workspace.installations.items():
            is_own = self.shelf.is_own(name)
            path = self._workspace.installation_paths[name]
            where = f"Yours: {path}" if is_own else "Comes with the program; it can be copied."
            rows.append(AircraftRow(name, one.title, is_own, one, drafts.pop(name, None), where))
        rows += [
            AircraftRow(name, draft.title, True, None, draft, "Only a draft so far.")
            for name, draft in drafts.items()
        ]
        return rows

    def _answers(self, name: str) -> Answers | None:
        drafts = self.shelf.drafts()
        if name in drafts:
            return drafts[name]
        installation = self._workspace.installations.get(name)
        return answers_of(installation) if installation is not None else None

    def _open(self, answers: Answers) -> None:
        page = self._questionnaire()
        page.show_answers(answers, self.shelf.chart_of(answers))
        page.say_unsaved(answers.id in self.shelf.drafts())
        self.said.emit("")
        self.opened.emit(page)
        page.form.take_focus()

    def _questionnaire(self) -> QuestionnairePage:
        if self.questions is None:
            from trainer.ui.aircraft.example_finder import ExampleFinder
            from trainer.ui.aircraft.questionnaire_page import QuestionnairePage

            self.finder = ExampleFinder(self)
            self.questions = page = QuestionnairePage(self._aircraft_words())
            page.closed.connect(self._show_list)
            page.left.connect(self.leave)
            page.kept.connect(self._keep)
            page.save_asked.connect(self.save)
            page.discard_asked.connect(self._ask_discard)
            page.sheet_asked.connect(lambda: self._ask_sheet(page.answers.id))
            page.example_asked.connect(self._look_for)
            page.example.fly_asked.connect(self._fly_example)
            self.finder.found.connect(self._show_examples)
            self.finder.failed.connect(page.example.show_words)
            self.set_look(*self._look)
        return self.questions

    def _aircraft_words(self) -> dict[str, str]:
        paths = sorted((self._workspace.charts_folder / "aircraft").glob("*.yaml"))
        return {path.stem: path.stem.replace("_", " ").capitalize() for path in paths}

    def _look_for(self, question: object, base: object) -> None:
        from trainer.ui.aircraft.example_view import WORKING

        self.questions.example.show_words(WORKING)
        self.finder.look_for(question, base, lambda: self._workspace.aircraft(base.aircraft))

    def _fly_example(self, side: object) -> None:
        from trainer.ui.aircraft.example_practice import example_practice

        self._try(
            lambda: self.flown.emit(example_practice(side, self._workspace, self._show_questions))
        )

    def _show_examples(self, examples: object) -> None:
        page = self.questions
        question = page.question
        if question is not None and page.answers is not None:
            page.example.show_examples(examples, str(page.answers.answer(question).value))

    def _keep(self, answers: Answers) -> None:
        self._try(lambda: self.shelf.keep(answers))
        self.questions.say_unsaved(True)

    def _show_list(self) -> None:
        self.leave()
        wanted = ""
        if self.questions is not None and self.questions.answers is not None:
            wanted = self.questions.answers.id
        self.opened.emit(self.aircraft(wanted))

    def _try(self, act: Callable[[], None]) -> None:
        try:
            act()
        except TrainerError as error:
            self.said.emit(str(error))

    def _ask_copy(self, name: str) -> None:
        title, is_given = QInputDialog.getText(
            self.page, "New aircraft", "Name of the new aircraft, as the club calls it"
        )
        if is_given and title.strip():
            self.begin_copy(name, title)

    def _ask_discard(self) -> None:
        answer = QMessageBox.question(
            self.questions, "Discard the draft", "Throw the unsaved answers away?"
        )
        if answer == QMessageBox.StandardButton.Yes:
            self.discard()

    def _ask_removal(self, name: str) -> None:
        from trainer.ui.aircraft.aircraft_removal import hanging_words

        session = self._live()
        if session is not None and session.installation.id == name:
            self.said.emit("This aircraft is being flown now: begin another flight first.")
            return
        title = next(row.title for row in self._rows() if row.id == name)
        told = hanging_words(self.shelf, UserLessons(self._folder), name)
        buttons = QMessageBox.StandardButton
        answer = QMessageBox.question(
            self.page, "Take out of use", f"Take '{title}' out of use?\n\n{told}",
            buttons.Yes | buttons.No, buttons.No,
        )  # fmt: skip
        if answer == buttons.Yes:
            self._try(lambda: self._remove(name, title))

    def _remove(self, name: str, title: str) -> None:
        from trainer.ui.aircraft.aircraft_removal import remove_aircraft

        kept = remove_aircraft(self.shelf, name)
        page = self.questions
        if page is not None and page.answers is not None and page.answers.id == name:
            page.answers = None
        self.aircraft()
        self.news.emit(f"'{title}' is out of use" + (f"; its file is {kept}" if kept else ""))
        self.changed.emit()

    def _ask_sheet(self, name: str) -> None:
        chosen, _ = QFileDialog.getSaveFileName(
            self.page, "Question sheet", f"questions-{name}.html", SHEET_FILTER
        )
        if chosen:
            self.write_sheet(name, Path(chosen))
