"""Answers of somebody who holds a wrong rule, as a program keeps them."""

from __future__ import annotations

from collections.abc import Sequence

from tests.helpers.small_bank import SHIP, small_bank
from trainer.assessment.items.item import Item
from trainer.records.attempt import Attempt
from trainer.session.annunciation import changed_cells


def most_exposed() -> str:
    """Return the misconception that most items of the small bank expose."""
    items = small_bank().items
    names = {name for item in items for name in item.answers}
    return max(sorted(names), key=lambda name: sum(name in item.answers for item in items))


def answers_under(rule: str, member: str, items: Sequence[Item] | None = None) -> list[Attempt]:
    """Return one answer to each item as somebody gives them who holds a rule; empty: none."""
    found = []
    for number, item in enumerate(items or small_bank().items, 1):
        said = item.answer_of(rule) if rule else item.true
        wrong = changed_cells(said, item.true)
        found.append(
            Attempt(
                f"{member}-{number}", f"2026-03-01T10:{number % 60:02d}:00Z", member,
                "due_practice", "Due practice", SHIP, number, "after_key",
                f"The next key is {item.stimulus.id}.", item.before.to_json(), said.to_json(),
                item.true.to_json(), wrong, not wrong, "sure", item.rules, 4.0, "0.1.0",
                item_id=item.id,
            )
        )  # fmt: skip
    return found
