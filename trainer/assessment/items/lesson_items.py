"""The prompts of a lesson as items: what each answer to them says about wrong rules."""

from __future__ import annotations

from dataclasses import replace

from trainer.assessment.answers.distractors import answers_by_belief
from trainer.assessment.items.bank import Bank
from trainer.assessment.items.item import FlownSituation, Item, Stimulus
from trainer.assessment.items.item_subject import competency_of
from trainer.assessment.wrong_rules.library import Library
from trainer.lesson.runner import LessonRunner

_LEAP_S = 1.0


def prompt_items(runner: LessonRunner, library: Library) -> tuple[Item, ...]:
    """Return an item for each prompt of a lesson, flown once from its start.

    Args:
        runner: A run of the lesson at its start, asking for strips only.
        library: The misconceptions fitted to the installation that it flies.

    Raises:
        FileError: A wait of the lesson was not over in its time.
    """
    items: list[Item] = []
    while runner.phase != "finished":
        if runner.phase == "asking":
            items.append(_item(runner, library))
            runner.commit()
        elif runner.phase == "explained":
            rules = runner.played[-1].rule_ids
            held = replace(items[-1], rules=rules)
            chart = library.logic.installation.chart
            items[-1] = replace(held, competency=competency_of(held, chart))
            runner.proceed()
        else:
            runner.advance(_LEAP_S)
    return tuple(items)


def _item(runner: LessonRunner, library: Library) -> Item:
    prompt, lesson = runner.prompt, runner.lesson
    assert prompt is not None
    assert runner.playing is not None
    true, answers = answers_by_belief(runner.playing, runner.session, library)
    wrong = {name: answer for name, answer in answers.items() if answer != true}
    name = prompt_id(lesson.id, prompt.number)
    stimulus = (
        Stimulus("key", prompt.key, then=prompt.then)
        if prompt.kind == "after_key"
        else Stimulus("wait", wait_s=prompt.horizon_s)
    )
    situation = FlownSituation(name, prompt.question, lesson.start)
    return Item(
        name, situation, stimulus, runner.session.annunciation, true, wrong, (), name, "", "middle"
    )


def prompt_id(lesson: str, number: int) -> str:
    """Return the id of the item that a lesson's prompt makes."""
    return f"{lesson}#{number}"


def bank_of(installation: str, items: tuple[Item, ...]) -> Bank:
    """Return a bank of just these items, to diagnose answers to them."""
    return Bank(installation, items)
