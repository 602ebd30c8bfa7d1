"""An item of the bank as a lesson of one prompt, so that whoever flies lessons can fly it."""

from __future__ import annotations

from trainer.assessment.item import LOOK_S, Item
from trainer.lesson.spec import Do, Lesson, Predict, Say, Step, Wait

SOURCE = "<item bank>"


def item_predict(item: Item) -> Predict:
    """Return the prompt that an item puts."""
    stimulus = item.stimulus
    match stimulus.kind:
        case "key":
            return Predict("after_key", stimulus.key, 0.0, then=stimulus.then)
        case "set":
            return Predict("after_set", horizon_s=0.0, values=((stimulus.name, stimulus.value),))
        case "wait":
            return Predict(
                "next_change",
                horizon_s=stimulus.wait_s,
                question=f"Nothing is pressed for {stimulus.wait_s:.0f} seconds. What will the "
                "strip read after its next change, if one comes?",
            )


def item_lesson(item: Item, installation: str, title: str) -> Lesson:
    """Return an item as a lesson: its situation, the keys that lead to it, and the prompt.

    Args:
        item: The item.
        installation: Id of the installation that it belongs to.
        title: What stands above it.
    """
    situation = item.situation
    steps: list[Step] = [Say(situation.words)]
    steps.extend(Do(event) for event in situation.presses)
    steps.extend([Wait(LOOK_S), item_predict(item)])
    return Lesson(
        item.id, SOURCE, title, installation, (situation.words,), (item.competency,),
        situation.start, tuple(steps), summary=situation.words,
    )  # fmt: skip
