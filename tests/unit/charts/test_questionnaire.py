"""The questionnaire without a window: questions, answers, files that load again, the sheet."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.app import Workspace
from trainer.charts.installation import Provenance, load_installation
from trainer.charts.installation_file import installation_text, save_installation
from trainer.charts.provenance import (
    NOT_FOR_USE,
    limits_note,
    limits_warning,
    list_words,
    trained_words,
    trust_of,
    trust_words,
)
from trainer.charts.question_sheet import questions_sheet, sheet_of
from trainer.charts.questionnaire import (
    Answer,
    AnswerError,
    Answers,
    Question,
    answers_of,
    installation_of,
    open_questions,
    problem_of,
    questions_of,
)
from trainer.errors import FileError

WORKSPACE = Workspace()
CHARTS = WORKSPACE.charts_folder
AMBER = WORKSPACE.installation("ship_amber")
QUESTIONS = questions_of(AMBER.generic)
BY_KEY = {question.key: question for question in QUESTIONS}
HEIGHT = BY_KEY["limit:minimum_engagement_height_ft"]
ENTERED = Provenance("entered", "supplement, section 2, revision 3", "the lead", "2026-11-01")
SIGNED = replace(ENTERED, state="verified", verified_by="the instructor")


def mine(answers: Answers | None = None) -> Answers:
    """Return Amber's answers under an id of one's own."""
    return replace(answers or answers_of(AMBER), id="my_ship", title="My ship")


def test_every_option_and_limit_is_one_question_in_rulebook_order() -> None:
    options = {question.id for question in QUESTIONS if question.kind == "option"}
    limits = {question.id for question in QUESTIONS if question.kind == "limit"}
    assert options == set(AMBER.generic.options)
    assert limits == set(AMBER.generic.limits)
    assert len(BY_KEY) == len(QUESTIONS)
    assert [q.section for q in QUESTIONS] == sorted(q.section for q in QUESTIONS)
    assert all(q.section_title and not q.section_title.startswith("Section") for q in QUESTIONS)


def test_limit_stands_where_its_rules_read_it() -> None:
    # DESIGN 5: rule 3 is engagement, rule 16 the minimum use height, rule 17 protection.
    assert HEIGHT.section == 3
    assert BY_KEY["limit:minimum_use_height_ft"].section == 16
    assert BY_KEY["limit:overspeed_kt"].section == 17


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        (Answer(800.0), ""),
        (Answer(800.0, ENTERED), ""),
        (Answer(-1.0), "from 0 to 5000 ft"),
        (Answer("many"), "must be a number"),
        (Answer(800.0, replace(ENTERED, source=" ")), "where it stands"),
        (Answer(800.0, replace(ENTERED, entered_by="", date="")), "who entered it and the date"),
        (Answer(800.0, replace(ENTERED, state="verified")), "who verified it"),
        (Answer(800.0, replace(ENTERED, is_unknown=True)), "stays a placeholder"),
    ],
)
def test_what_is_missing_is_said_in_plain_words(answer: Answer, said: str) -> None:
    problem = problem_of(HEIGHT, answer)
    assert said in problem
    assert bool(said) == bool(problem)


def any_answer(question: Question) -> st.SearchStrategy[Answer]:
    words = st.text("abc #:'\"-é{}[]&*!|>%@`\n", max_size=12).filter(lambda t: bool(t.strip()))
    one_line = words.map(lambda text: " ".join(text.split()))
    placed = st.builds(Provenance, st.just("placeholder"), is_unknown=st.booleans())
    days = st.dates().map(lambda day: day.isoformat())
    entered = st.builds(Provenance, st.just("entered"), one_line, one_line, days)
    verified = st.builds(Provenance, st.just("verified"), one_line, one_line, days, one_line)
    where = st.one_of(placed, entered, verified)
    if question.kind == "option":
        return st.builds(Answer, st.sampled_from(sorted(question.choices)), where)
    return st.builds(Answer, st.just(float(answers_of(AMBER).answer(question).value)), where)


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_any_answers_come_back_from_the_file_as_they_were(data: st.DataObject) -> None:
    answers = mine()
    for question in data.draw(st.lists(st.sampled_from(QUESTIONS), max_size=6)):
        answers = answers.with_answer(question, data.draw(any_answer(question)))
    path = Path(data.draw(st.just("my_ship.yaml")))
    text = installation_text(answers, AMBER.generic)
    from trainer.charts.installation import read_installation
    from trainer.document import parse_document

    again = answers_of(read_installation(parse_document(text, str(path)), CHARTS))
    assert again.values == answers.values


def test_comments_and_order_of_the_file_are_kept(tmp_path: Path) -> None:
    path = tmp_path / "my_ship.yaml"
    path.write_text(
        "# Seen in the hangar.\nformat: installation/1\nid: my_ship\ntitle: My ship\n"
        "chart: generic\naircraft: light_single\nlimits:\n"
        "  bank_limit_deg: 20  # from the placard\n  # asked twice\n"
        "  minimum_engagement_height_ft:\n    value: 900\n    unknown: true  # still\n",
        encoding="utf-8",
    )
    answers = answers_of(load_installation(path, CHARTS))
    answers = answers.with_answer(HEIGHT, Answer(1000.0, ENTERED))
    saved = save_installation(path, answers, AMBER.generic, CHARTS)
    text = path.read_text(encoding="utf-8")
    assert saved.limit(HEIGHT.id).value == 1000.0
    assert saved.limit(HEIGHT.id).provenance == ENTERED
    for comment in ("# Seen in the hangar.", "# from the placard", "# asked twice"):
        assert comment in text
    assert "unknown" not in text.split("minimum_engagement_height_ft")[1].split("bank")[0]
    assert text.index("bank_limit_deg") < text.index("minimum_engagement_height_ft")


def test_refused_answers_leave_the_file_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "my_ship.yaml"
    save_installation(path, mine(), AMBER.generic, CHARTS)
    before = path.read_bytes()
    slow = mine().with_answer(BY_KEY["limit:overspeed_kt"], Answer(60.0))
    with pytest.raises(FileError, match=r"my_ship\.yaml.*underspeed_kt"):
        save_installation(path, slow, AMBER.generic, CHARTS)
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("", encoding="utf-8")
    with pytest.raises(AnswerError, match="not written"):
        save_installation(blocked / "my_ship.yaml", mine(), AMBER.generic, CHARTS)


def test_draft_goes_through_json_unchanged() -> None:
    answers = mine().with_answer(HEIGHT, Answer(950.0, Provenance(is_unknown=True, source="half")))
    assert Answers.from_json(json.loads(json.dumps(answers.to_json()))) == answers


PLACED = {"value": 3, "provenance": {"state": "placeholder"}}


@pytest.mark.parametrize(
    "data",
    [
        None,
        [],
        {},
        {"values": {"limit:x": 3}},
        {"values": []},
        {"values": {"limit:x": {**PLACED, "provenance": {"state": "perhaps"}}}},
        {"values": {"limit:x": {**PLACED, "provenance": {"source": 7}}}},
        {"values": {"limit:x": {**PLACED, "provenance": {"page": "7"}}}},
    ],
)
def test_spoilt_draft_is_refused(data: object) -> None:
    with pytest.raises(AnswerError, match="not a draft"):
        Answers.from_json(data)


def test_answers_fly_as_the_file_would() -> None:
    direct = installation_of(answers_of(AMBER), AMBER.generic)
    assert direct.chart == AMBER.chart
    assert direct.limits == AMBER.limits


def test_placeholders_are_counted_and_said_plainly() -> None:
    assert trust_of(AMBER).limit_placeholders == len(AMBER.limits)
    count = len(AMBER.limits)
    assert trust_words(AMBER).startswith(f"{count} of {count} limits and ")
    assert "not for use" in trust_words(AMBER)
    answers = mine()
    for question in QUESTIONS:
        answers = answers.with_answer(
            question, Answer(answers.answer(question).value, replace(ENTERED, state="entered"))
        )
    full = installation_of(answers, AMBER.generic)
    options = len(AMBER.options)
    everything = f"{count} of {count} limits and {options} of {options} options"
    assert trust_words(full) == f"{everything} are entered but not signed: {NOT_FOR_USE}."
    assert "placeholder" not in limits_note(full) + limits_warning(full)
    assert limits_note(full) == f"{count} limits not signed"
    assert limits_warning(full).startswith(f"{count} of {count} limits of My ship aren't signed")
    assert list_words(full) == f"{len(QUESTIONS)} of {len(QUESTIONS)} entered but not signed"
    one = installation_of(answers.with_answer(HEIGHT, Answer(800.0)), AMBER.generic)
    assert f"(1 placeholder, {count - 1} entered only)" in limits_warning(one)


def test_only_what_is_signed_is_free_of_a_warning() -> None:
    answers = mine()
    for question in QUESTIONS:
        answers = answers.with_answer(question, Answer(answers.answer(question).value, SIGNED))
    full = installation_of(answers, AMBER.generic)
    assert trust_of(full).unsigned == 0
    assert limits_warning(full) == limits_note(full) == ""
    assert trained_words(list(full.limits.values()), full.title) == ""
    assert trust_words(full) == "Every limit and option is signed by an instructor."
    assert list_words(full) == f"all {len(QUESTIONS)} values signed"


def test_sheet_lists_unknown_answers_first_and_every_form_has_every_question() -> None:
    answers = mine().with_answer(HEIGHT, Answer(800.0, Provenance(is_unknown=True)))
    unknown, placeholders = open_questions(answers, QUESTIONS)
    assert [question.key for question in unknown] == [HEIGHT.key]
    assert len(unknown) + len(placeholders) == len(QUESTIONS)
    sheet = sheet_of(answers, QUESTIONS)
    assert sheet.asked[0].wanted == "a number in ft, 0 to 5000"
    for ending in (".txt", ".md", ".html"):
        text = questions_sheet(answers, AMBER.generic, ending)
        for item in (*sheet.asked, *sheet.unconfirmed):
            assert item.words in text
        assert "flight manual supplement" in text
        assert text.index(HEIGHT.words) < text.index(sheet.unconfirmed[0].words)


@pytest.mark.parametrize("typed", ["", "8oo", "-", "1e99", "nan"])
@pytest.mark.parametrize("is_unknown", [False, True])
def test_sheet_of_a_draft_says_what_is_flown_while_a_number_is_half_typed(
    typed: str, is_unknown: bool
) -> None:
    value = float(typed) if typed in ("1e99", "nan") else typed
    answers = mine().with_answer(HEIGHT, Answer(value, Provenance(is_unknown=is_unknown)))
    sheet = sheet_of(answers, QUESTIONS)
    part = sheet.asked if is_unknown else sheet.unconfirmed
    item = next(one for one in part if one.words == HEIGHT.words)
    assert item.assumed == f"{HEIGHT.default:g} ft"
    for ending in (".txt", ".md", ".html"):
        assert f"Assumed now: {item.assumed}" in questions_sheet(answers, AMBER.generic, ending)


def test_sheet_of_a_draft_with_a_choice_that_is_none() -> None:
    option = BY_KEY["option:capture_law"]
    answers = mine().with_answer(option, Answer("by_magic"))
    item = next(i for i in sheet_of(answers, QUESTIONS).unconfirmed if i.words == option.words)
    assert item.assumed == option.choices[str(option.default)]


def test_sheet_escapes_what_people_type() -> None:
    answers = replace(mine(), title="<b>A & B</b>")
    text = questions_sheet(answers, AMBER.generic, ".html")
    assert "&lt;b&gt;A &amp; B&lt;/b&gt;" in text
    body = re.sub(r"<!doctype html>|<meta[^>]*>|&nbsp;", "", text)
    assert ElementTree.fromstring(body).tag == "html"


def test_nothing_open_says_so() -> None:
    answers = mine()
    for question in QUESTIONS:
        answers = answers.with_answer(question, Answer(answers.answer(question).value, ENTERED))
    assert "Nothing is open." in questions_sheet(answers, AMBER.generic, ".txt")


def test_user_installation_appears_and_a_broken_one_stops_nothing(tmp_path: Path) -> None:
    folder = tmp_path / "installations"
    save_installation(folder / "my_ship.yaml", mine(), AMBER.generic, CHARTS)
    (folder / "broken.yaml").write_text("format: installation/1\nid: broken\n", encoding="utf-8")
    save_installation(folder / "ship_amber.yaml", mine(), AMBER.generic, CHARTS)
    save_installation(folder / "other_name.yaml", mine(), AMBER.generic, CHARTS)
    workspace = Workspace(user=tmp_path)
    assert "my_ship" in workspace.installations
    assert workspace.installation("ship_amber").title == AMBER.title
    told = {path.stem: words for path, words in workspace.user_problems.items()}
    assert set(told) == {"broken", "ship_amber", "other_name"}
    assert "'chart' is missing" in told["broken"]
    assert "taken" in told["ship_amber"]
    assert "id: other_name" in told["other_name"]
    assert workspace.logic("my_ship").installation.title == "My ship"


def test_reloading_shows_what_was_saved_since(tmp_path: Path) -> None:
    workspace = Workspace(user=tmp_path)
    assert "my_ship" not in workspace.installations
    path = workspace.user_installations / "my_ship.yaml"
    save_installation(path, mine(), AMBER.generic, CHARTS)
    workspace.reload_installations()
    assert workspace.installation_paths["my_ship"] == path
    assert workspace.logic("my_ship").installation.title == "My ship"
