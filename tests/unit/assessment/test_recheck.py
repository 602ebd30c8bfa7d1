"""What was answered wrongly is owed once more, and deviations that come again are told apart."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from trainer.assessment.diagnosis.deviation import Deviations, deviation_of
from trainer.assessment.diagnosis.recheck import Rechecks
from trainer.assessment.items.item import Item, Stimulus
from trainer.session.annunciation import Annunciation

RIGHT = Annunciation("autopilot")


def item(name: str, *topics: str, kind: str = "") -> Item:
    made = Item(name, None, Stimulus("wait"), RIGHT, RIGHT, {}, (), kind or name, "", "plain")  # type: ignore[arg-type]
    return replace(made, topics=topics)


ONE = item("one", "a", "b", "c")
SAME_KIND = item("same_kind", "a", "b", "c", "d", kind="one")
LIKE = item("like", "a", "b", "c")
OTHER = item("other", "a", "x", "y")
RECHECKS = Rechecks((ONE, SAME_KIND, LIKE, OTHER))


def test_items_of_one_kind_come_first_then_the_most_alike() -> None:
    assert RECHECKS.alike(ONE) == ("same_kind", "like")
    assert RECHECKS.alike(OTHER) == ()


@pytest.mark.parametrize(
    ("answers", "owed"),
    [
        ([(ONE, True)], ()),
        ([(ONE, False)], ("same_kind", "like")),
        ([(ONE, False), (OTHER, True)], ("same_kind", "like")),
        ([(ONE, False), (LIKE, True)], ()),
        ([(LIKE, True), (ONE, False)], ("same_kind",)),
        ([(ONE, False), (LIKE, False)], ("one", "same_kind")),
        ([(OTHER, False)], ()),
    ],
)
def test_a_wrong_answer_is_owed_until_something_alike_was_asked_later(
    answers: list[tuple[Item, bool]], owed: tuple[str, ...]
) -> None:
    had = {one.id for one, _ in answers}
    assert RECHECKS.owed(answers) == tuple(name for name in owed if name not in had)


STRIPS = [
    Annunciation(engagement, alert=alert)
    for engagement in ("autopilot", "director", "no_guidance")
    for alert in ("quiet", "disconnect_sounding", "signal_lost", "low_on_path")
]


def test_a_first_deviation_is_as_likely_as_any_other() -> None:
    deviations = Deviations(STRIPS)
    for strip in STRIPS[1:]:
        share = deviations.share(deviation_of(RIGHT, strip), Counter(), 11)
        assert share == pytest.approx(1 / 11)


def test_deviating_as_before_is_likelier_than_in_part_and_that_than_otherwise() -> None:
    deviations = Deviations(STRIPS)
    same = deviation_of(RIGHT, Annunciation("director", alert="signal_lost"))
    part = deviation_of(RIGHT, Annunciation("no_guidance", alert="signal_lost"))
    other = deviation_of(RIGHT, Annunciation("no_guidance", alert="low_on_path"))
    before = Counter({same: 1})
    shares = [deviations.share(one, before, 11) for one in (same, part, other)]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] > 2 * shares[1] > 2 * shares[2]


def test_what_may_come_after_a_deviation_adds_up_to_one_at_most() -> None:
    deviations = Deviations(STRIPS)
    for seen in STRIPS[1:]:
        before = Counter({deviation_of(RIGHT, seen): 2})
        total = sum(
            deviations.share(deviation_of(RIGHT, strip), before, len(STRIPS) - 1)
            for strip in STRIPS[1:]
        )
        assert total <= 1.0 + 1e-9
