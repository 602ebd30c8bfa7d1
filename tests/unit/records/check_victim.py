"""A check that answers for ever, made to be killed: it says what was asked and what is kept.

Usage: check_victim.py STORE. The items are made up: only their keeping is looked at.
"""

from __future__ import annotations

import sys
from pathlib import Path

from trainer.assessment.answers.prediction import Prediction
from trainer.assessment.check.check_form import CheckPlan
from trainer.assessment.items.bank import Bank
from trainer.assessment.items.item import FlownSituation, Item, Stimulus
from trainer.flight.types import InitialCondition
from trainer.records.check_sitting import (
    answer_attempt,
    answers_of,
    begin_sitting,
    check_of,
    new_sitting,
    sittings,
)
from trainer.records.store import Store
from trainer.session.annunciation import Annunciation
from trainer.session.situation import Start

NOW = "2026-03-10T12:00:00Z"
COUNT = 5000


def bank() -> Bank:
    """Return a bank of made-up items."""
    situation = FlownSituation("s", "Level.", Start(InitialCondition(4000.0, 0.0, 100.0)))
    strip = Annunciation("director")
    items = tuple(
        Item(f"item-{n:05d}", situation, Stimulus("key", "heading"), strip, strip, {}, ("r",),
             f"k{n}", "lateral", "plain")
        for n in range(COUNT)
    )  # fmt: skip
    return Bank("ship", items)


def main(path: Path) -> None:
    """Begin a check, or go on, and answer until killed."""
    store, items = Store.open(path), bank()
    if not sittings(store):
        plan = CheckPlan(fixed=COUNT, cut=1, cut_rationale="made up")
        begin_sitting(store, new_sitting(
            items, plan, 7, member="Robin Vale", aircraft_id="ship", aircraft_title="Ship",
            stage=1, form="B", begun_utc=NOW, program_version="0",
        ))  # fmt: skip
    sitting = sittings(store)[0].sitting
    check = check_of(sitting, items, answers_of(store, sitting))
    known = {one.id: one for one in items.items}
    number = len(check.answers)
    for name in sitting.items[number:]:
        number += 1
        item = known[name]
        say(f"asked {name}")
        said = Prediction(item.true, "sure")
        store.add(answer_attempt(sitting, item, number, said, question="What?", taken_s=1.0,
                                 at_utc=NOW))  # fmt: skip
        say(f"kept {name}")


def say(words: str) -> None:
    """Say it at once."""
    sys.stdout.write(f"{words}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
