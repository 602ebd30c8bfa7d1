"""The training lead's way with an aircraft of the club's own, through the window, start to end."""

from __future__ import annotations

import os
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog, QInputDialog
from pytestqt.qtbot import QtBot

from tests.helpers.club import NAMES, NOW, build_world
from trainer.app import Workspace
from trainer.assessment.answers.prediction import Prediction
from trainer.charts.installation import Installation, load_installation
from trainer.lesson.flown import fly
from trainer.lesson.loader import load_lesson
from trainer.lesson.runner import LessonRunner
from trainer.records.board_query import read_board
from trainer.records.club_book import ClubBook
from trainer.records.signing import CLUB_KEY_FILE, SigningKey
from trainer.ui.aircraft.aircraft_impact_page import ImpactPage
from trainer.ui.aircraft.questionnaire_page import QuestionnairePage
from trainer.ui.club.club_work import apply_files
from trainer.ui.differences.differences_check_page import DifferencesCheckPage
from trainer.ui.differences.differences_page import DifferencesPage
from trainer.ui.window.main_window import MainWindow

OWN = "ship_ochre"
SISTER = "ship_slate"
# Fewer modes fitted, as in a first stage; it keeps the comparison short, too.
ANSWERS = {
    "option:level_recovery": "not_fitted", "option:underspeed_protection": "not_fitted",
    "option:overspeed_protection": "not_fitted", "option:hand_steering": "not_fitted",
    "option:back_course": "not_fitted",
}  # fmt: skip
UNKNOWN = ("option:glidepath_capture", "limit:minimum_use_height_ft")
VALUES = {"limit:minimum_engagement_height_ft": "1200", "limit:overspeed_kt": "155"}
EDITED = "option:autopilot_key_when_engaged"
SOURCE, LEAD, DAY, INSTRUCTOR = "supplement 2.1, revision B", "Cleo Marsh", "2024-03-01", "Ada Reed"


class Lead:
    """Does with mouse and keyboard what the training lead does."""

    def __init__(self, qtbot: QtBot, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.qtbot, self.folder, self._patch = qtbot, folder, monkeypatch
        self.window = MainWindow(folder, lambda: Workspace(user=folder))
        qtbot.addWidget(self.window)
        self.window.show()
        self.window.load()

    def click(self, widget) -> None:
        assert widget.isEnabled()
        self.qtbot.mouseClick(widget, Qt.MouseButton.LeftButton)

    def save_as(self, path: Path) -> None:
        self._patch.setattr(QFileDialog, "getSaveFileName", lambda *_args: (str(path), ""))

    def page(self, kind):
        found = self.window.pages.currentWidget()
        assert isinstance(found, kind), type(found).__name__
        return found

    def begin_aircraft(self) -> QuestionnairePage:
        self.click(self.window.top.aircraft)
        aircraft = self.window.desk.aircraft.page
        aircraft.list.setCurrentRow(0)
        assert aircraft.chosen == "ship_amber"
        self._patch.setattr(QInputDialog, "getText", lambda *_args: ("Ship Ochre", True))
        self.click(aircraft.copy)
        return self.page(QuestionnairePage)

    def choose(self, page: QuestionnairePage, key: str, choice: str) -> None:
        page.show_question(key)
        for radio in page.form.choices.buttons():
            if radio.property("choice") == choice:
                radio.click()
        assert page.answers.answer(page.question).value == choice

    def give_source(self, page: QuestionnairePage, state: str) -> None:
        form = page.form
        form.state.setCurrentIndex(form.state.findData(state))
        form.state.activated.emit(form.state.currentIndex())
        texts = {"source": SOURCE, "entered_by": LEAD, "date": DAY}
        if state == "verified":
            texts["verified_by"] = INSTRUCTOR
        for name, text in texts.items():
            form.fields[name].clear()
            self.qtbot.keyClicks(form.fields[name], text)
        assert form.problem.text().endswith(f"{state.capitalize()}.")

    def wait(self, is_done, timeout_s: int = 1200) -> None:
        self.qtbot.waitUntil(is_done, timeout=timeout_s * 1000)


@pytest.fixture
def lead(qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Lead:
    monkeypatch.setattr("trainer.ui.sound.speaker.find_player", lambda: ())
    return Lead(qtbot, tmp_path, monkeypatch)


@pytest.mark.long
def test_from_the_questions_to_the_impact_of_an_edit(lead: Lead) -> None:
    page = answer_the_questions(lead)
    print_the_sheet(lead, page)
    own = verify_and_save(lead, page)
    compare_with_the_sister_ship(lead, own)
    take_the_check(lead)
    edit_one_option(lead)


def answer_the_questions(lead: Lead) -> QuestionnairePage:
    page = lead.begin_aircraft()
    for key, choice in ANSWERS.items():
        lead.choose(page, key, choice)
    for key in UNKNOWN:
        page.show_question(key)
        page.form.unknown.click()
        assert page.form.problem.text() == "On the sheet of questions to ask."
    for key, value in VALUES.items():
        page.show_question(key)
        page.form.number.clear()
        lead.qtbot.keyClicks(page.form.number, value)
        lead.give_source(page, "entered")
    return page


def print_the_sheet(lead: Lead, page: QuestionnairePage) -> None:
    lead.save_as(lead.folder / "sheet.txt")
    lead.click(page.sheet)
    text = (lead.folder / "sheet.txt").read_text(encoding="utf-8")
    asked = text.split("NOT KNOWN")[1].split("ASSUMED")[0]
    for question in page.questions:
        is_unknown = question.key in UNKNOWN
        assert (question.words in " ".join(asked.split())) == is_unknown, question.key


def verify_and_save(lead: Lead, page: QuestionnairePage) -> Installation:
    for key in VALUES:
        page.show_question(key)
        lead.give_source(page, "verified")
    lead.click(page.save)
    workspace = lead.window.desk.workspace
    saved = load_installation(workspace.installation_paths[OWN], workspace.charts_folder)
    for key, value in VALUES.items():
        limit = saved.limit(key.split(":")[1])
        where = limit.provenance
        assert limit.value == float(value)
        assert (where.state, where.source, where.entered_by, where.date, where.verified_by) == (
            "verified", SOURCE, LEAD, DAY, INSTRUCTOR,
        )  # fmt: skip
    assert saved.limit("minimum_use_height_ft").provenance.is_unknown
    assert saved.options["glidepath_capture"].provenance.is_unknown
    return saved


def compare_with_the_sister_ship(lead: Lead, own: Installation) -> None:
    lead.click(lead.page(QuestionnairePage).back)
    aircraft = lead.window.desk.aircraft.page
    assert aircraft.chosen == OWN
    lead.click(aircraft.differences)
    page = lead.page(DifferencesPage)
    page.other.setCurrentIndex(page.other.findData(SISTER))
    lead.click(page.compare)
    assert page.stop.isVisible()
    lead.wait(lambda: page.studied is not None)
    assert page.list.count() > 0
    assert (page.studied.found.first, page.studied.found.second) == (OWN, SISTER)
    headings = [row.heading for row in page.studied.briefing.rows]
    assert own.limits["minimum_engagement_height_ft"].label in headings
    lead.save_as(lead.folder / "briefing.pdf")
    lead.click(page.briefing)
    assert (lead.folder / "briefing.pdf").read_bytes().startswith(b"%PDF")
    lead.save_as(lead.folder / "differences.yaml")
    lead.click(page.lessons)
    written = sorted(lead.folder.glob("differences*.yaml"))
    assert written
    workspace = lead.window.desk.workspace
    for path in written:
        lesson = load_lesson(path, workspace.charts)
        assert lesson.installation == SISTER
        runner = LessonRunner(lesson, lambda one=lesson: workspace.begin(SISTER, one.start))
        assert fly(runner).prompts


def take_the_check(lead: Lead) -> None:
    """A member answers as the known ship would, and is found out; the answers are kept."""
    differences = lead.page(DifferencesPage)
    lead.click(differences.check)
    page = lead.page(DifferencesCheckPage)
    check = page.run.made.check
    for item in check.items:
        answer = next(iter(item.answers.values()), item.true)
        page.page.builder.submitted.emit(Prediction(answer, "sure"))
    assert f"{len(check.habits)} habit" in page.summary.text()
    kept = lead.window.desk.recorder.attempts()
    assert len(kept) == len(check.items)
    assert {one.installation_id for one in kept} == {SISTER}
    assert sum(not one.is_right for one in kept) == sum(bool(item.answers) for item in check.items)
    lead.click(page.back)
    lead.page(DifferencesPage)


def edit_one_option(lead: Lead) -> None:
    """Members are ready by now; the edit names them, and the book asks for a new check."""
    workspace = lead.window.desk.workspace
    world = build_world(lead.folder, workspace, OWN)
    key = SigningKey.load_or_make(lead.folder / CLUB_KEY_FILE).public_key
    apply_files(world.book_path, world.results, key, NOW, lambda _count: None)
    lead.window.desk.club.club()
    lead.window.desk.club.page.desk.open(world.book_path)
    lead.click(lead.window.top.aircraft)
    lead.click(lead.window.desk.aircraft.page.answer)
    page = lead.page(QuestionnairePage)
    lead.choose(page, EDITED, "ignored")
    lead.click(page.save)
    impact = lead.page(ImpactPage)
    lead.wait(impact.save.isEnabled)
    told = lead.window.desk.aircraft.impact._told
    assert told.edit.impact.kinds > 0
    assert impact.sentence.text() == told.edit.impact.sentence
    path = workspace.installation_paths[OWN]
    name = EDITED.split(":")[1]
    assert load_installation(path, workspace.charts_folder).option(name) != "ignored"
    assert {one.member for one in told.old_ready} == set(NAMES[1:]), "who was found ready"
    lead.click(impact.save)
    saved = load_installation(path, workspace.charts_folder)
    assert saved.option(name) == "ignored"
    lead.page(QuestionnairePage)
    with ClubBook.open(world.book_path) as book:
        board = read_board(book, OWN, NOW)
        assert board.aircraft.stage == 2
        for one in told.old_ready:
            (required,) = [r for r in board.requirements if r.title == one.competency]
            cell = board.cell(book.member_named(one.member).id, required.competency_id)
            assert cell.status == "expired"
