"""Generated lessons: what they promise is what is flown; seeded; few."""

from __future__ import annotations

import pytest

from trainer.lesson.flown import fly
from trainer.lesson.generate import generate
from trainer.lesson.scene import load_scenes
from trainer.lesson.search import acted
from trainer.lesson.spec import Predict
from trainer.lesson.writer import write_lesson

SOME = frozenset({"heading_again", "altitude_captured", "director_while_engaged"})


def made(workspace, ship, wanted, **more):
    return generate(ship, lambda start: workspace.begin(ship, start), wanted, **more)


def rules_flown(workspace, read, lessons):
    found = frozenset()
    for lesson in lessons:
        back = read(write_lesson(lesson))
        for record in fly(workspace.start_lesson_without_trainee(back)).records:
            found |= acted(record)
    return found


def test_chosen_rules_act_in_what_is_flown_from_the_written_file(workspace, read):
    one = made(workspace, "ship_amber", SOME)
    assert one.missed == frozenset()
    assert one.reached == SOME
    assert len(one.lessons) <= 2
    assert rules_flown(workspace, read, one.lessons) >= SOME


def test_the_same_seed_makes_the_same_lessons_and_another_other_words(workspace):
    texts = [
        [write_lesson(lesson) for lesson in made(workspace, "ship_amber", SOME, seed=seed).lessons]
        for seed in (1, 1, 2)
    ]
    assert texts[0] == texts[1]
    assert texts[0] != texts[2]


def test_cancelling_keeps_what_is_done(workspace):
    one = made(workspace, "ship_amber", SOME, progress=lambda done, of: False)
    assert one.is_cancelled
    assert one.lessons == ()


def test_what_can_not_be_reached_is_missed(workspace, monkeypatch):
    monkeypatch.setattr("trainer.lesson.generate.DEPTHS", (1,))
    monkeypatch.setattr("trainer.lesson.search.LONGEST_FLIGHT_S", 5.0)
    one = made(workspace, "ship_amber", frozenset({"no_such_rule"}), most_lessons=1)
    assert one.missed == {"no_such_rule"}


def test_scenes_hold_in_both_ships(workspace):
    for scene in load_scenes():
        for ship in workspace.installations:
            session = workspace.begin(ship, scene.start)
            assert session.annunciation.engagement == scene.start.modes.engagement


@pytest.mark.long
@pytest.mark.parametrize("ship", ["ship_amber", "ship_slate"])
def test_at_most_25_lessons_reach_99_percent_of_a_ships_rules(workspace, read, ship):
    chart = workspace.installation(ship).chart
    one = made(workspace, ship, frozenset(chart.rules) | frozenset(chart.refusals))
    assert len(one.lessons) <= 25
    flown = rules_flown(workspace, read, one.lessons)
    assert len(flown & set(chart.rules)) / len(chart.rules) >= 0.99
    titles = [lesson.title for lesson in one.lessons]
    assert len(set(titles)) == len(titles)
    for lesson in one.lessons:
        assert sum(isinstance(step, Predict) for step in lesson.steps) <= 8
        assert lesson.objectives
