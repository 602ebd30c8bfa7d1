"""What a member believes, inferred from the strips built: a posterior over wrong rules.

Slip and noise are declared, never estimated: a club has far too few members for that. An answer
that the belief doesn't foresee has probability `noise`, spread over `alternatives` other strips.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from math import comb
from typing import Literal

import numpy as np

from trainer.assessment.diagnosis.deviation import Deviation, deviation_of
from trainer.assessment.diagnosis.hypotheses import UNFORESEEN, Hypotheses, topics_of
from trainer.assessment.diagnosis.posterior import Vector, update
from trainer.assessment.items.item import Item
from trainer.session.annunciation import Annunciation

Verdict = Literal["open", "sound", "holds", "unexplained"]


@dataclass(frozen=True, slots=True)
class Declared:
    """What is assumed of an answer, and how sure a verdict must be.

    Example:
        >>> round(Declared().unforeseen, 2)
        0.74
    """

    noise: float = 0.10
    shows: float = 0.8
    """Share of the answers on its topic that an unlisted wrong rule makes wrong."""
    alternatives: int = 60
    """Wrong strips that a slip may lead to."""
    certainty: float = 0.95
    least_fitting: int = 3
    """Different items whose answers must fit a wrong rule before it is named: one may be a slip
    that looks so, and two may fit a neighbouring rule that isn't listed. The same item answered
    again is remembered rather than thought out anew."""
    clearance: float = 0.99
    """Probability of holding no listed rule at which a member is called sound: at this size of
    library it leaves no single rule unexamined."""
    doubt: float = 0.3
    """Nobody is called sound while a wrong rule that isn't listed is this likely."""
    unexamined: float = 0.012
    """Nobody is called sound while wrong rules made from the chart together are this likely: then
    parts of the logic haven't been asked about."""
    excluded: float = 0.001
    """A listed rule less likely than this is ruled out."""
    patience: int = 20
    """Answers after which answers that fit nothing are called unexplained without a verdict."""
    misfit: float = 0.0003
    """A verdict whose answers would be this improbable is called unexplained instead. Small, since
    it is looked at after every answer."""

    @property
    def unforeseen(self) -> float:
        """Probability of a wrong answer on the topic of an unlisted wrong rule."""
        return self.shows * (1.0 - self.noise) + (1.0 - self.shows) * self.noise


@dataclass(frozen=True, slots=True)
class Answered:
    """An item with the strip that the member built.

    Example:
        >>> from trainer.assessment.items.item import Item, Stimulus
        >>> right, wrong = Annunciation("autopilot"), Annunciation("director")
        >>> wait = Stimulus("wait")
        >>> item = Item("1", None, wait, right, right, {"lets_go": wrong}, (), "1", "", "plain")
        >>> Answered(item, wrong).is_right
        False
    """

    item: Item
    answer: Annunciation

    @property
    def is_right(self) -> bool:
        """True if every cell is right."""
        return self.answer == self.item.true


@dataclass(frozen=True, slots=True)
class Evidence:
    """Why a misconception is believed: the answers that fit it and not the truth, and against.

    Attributes:
        probability: Of holding it, or one of its twins.
        twins: Other misconceptions that no item tells from it: one of them all is held.

    Example:
        >>> from trainer.assessment.items.item import Item, Stimulus
        >>> right, wrong = Annunciation("autopilot"), Annunciation("director")
        >>> wait = Stimulus("wait")
        >>> item = Item("1", None, wait, right, right, {"lets_go": wrong}, (), "1", "", "plain")
        >>> twice = (Answered(item, wrong), Answered(item, wrong))
        >>> Evidence("lets_go", 0.97, twice, ()).items_fitting
        1
    """

    misconception: str
    probability: float
    fitting: tuple[Answered, ...]
    contradicting: tuple[Answered, ...]
    twins: tuple[str, ...] = ()

    @property
    def items_fitting(self) -> int:
        """How many different items have an answer that fits."""
        return len({one.item.id for one in self.fitting})


@dataclass(frozen=True, slots=True)
class Finding:
    """The state of a diagnosis.

    Attributes:
        verdict: `unexplained`: wrong answers that no listed rule accounts for.
        held: Misconceptions held with certainty, the most probable first.
        suspected: Probable ones with too few answers that fit: not to be named yet.
        sound: Probability that the member holds no wrong rule.
        unlisted: Probability that a wrong rule is held that isn't listed.
        topic: Where such a rule shows, if one does.
        misfit: Probability of at least as many unforeseen answers under the best explanation.
        excluded: Listed rules that the answers rule out.
        listed: Listed rules, shown by some item or not.
    """

    verdict: Verdict
    held: tuple[Evidence, ...]
    suspected: tuple[Evidence, ...]
    sound: float
    unlisted: float
    topic: str
    misfit: float
    answered: int
    excluded: int
    listed: int


class Diagnosis:
    """One member's diagnosis, answer by answer.

    Example:
        >>> from trainer.assessment.items.item import Item, Stimulus
        >>> from trainer.assessment.items.lesson_items import bank_of
        >>> right, wrong = Annunciation("autopilot"), Annunciation("director")
        >>> wait = Stimulus("wait")
        >>> items = tuple(
        ...     Item(name, None, wait, right, right, {"lets_go": wrong}, (), name, "", "plain")
        ...     for name in ("first", "second", "third")
        ... )
        >>> diagnosis = Diagnosis(Hypotheses(bank_of("ship_amber", items)))
        >>> for item in items:
        ...     diagnosis.answer(item, wrong)
        >>> finding = diagnosis.finding()
        >>> finding.verdict, [one.misconception for one in finding.held]
        ('holds', ['lets_go'])
    """

    def __init__(self, hypotheses: Hypotheses, declared: Declared = Declared()) -> None:
        self.hypotheses = hypotheses
        self.declared = declared
        self.posterior: Vector = hypotheses.prior.copy()
        self.answered: list[Answered] = []
        self._deviations: dict[str, Counter[Deviation]] = {}

    def answer(self, item: Item, answer: Annunciation) -> None:
        """Take the strip that the member built for an item."""
        self.posterior = update(self.posterior, self.likelihood(item, answer))
        self.answered.append(Answered(item, answer))
        if deviation := deviation_of(item.true, answer):
            for topic in topics_of(item):
                self._deviations.setdefault(topic, Counter())[deviation] += 1

    def likelihood(self, item: Item, answer: Annunciation) -> Vector:
        """Return the probability of a strip under each hypothesis, shape (h,)."""
        foreseen = self.hypotheses.foreseen(item)
        noise, others = self.declared.noise, self.declared.alternatives
        place = foreseen.answers.index(answer) if answer in foreseen.answers else -2
        likelihood = np.where(foreseen.index == place, 1.0 - noise, noise / others)
        wrong, deviation = self.declared.unforeseen, deviation_of(item.true, answer)
        for topic in topics_of(item):
            if deviation:
                before = self._deviations.get(topic, Counter())
                share = wrong * self.hypotheses.deviations.share(deviation, before, others)
            else:
                share = 1.0 - wrong
            likelihood[self.hypotheses.place_of(topic)] = share
        return np.asarray(likelihood)

    def probability(self, misconception: str) -> float:
        """Return the probability that a misconception is held, alone or with another."""
        return float(self.posterior[self.hypotheses.holding([misconception])].sum())

    @property
    def probabilities(self) -> dict[str, float]:
        """Probability that each misconception is held."""
        totals = self.hypotheses.held @ self.posterior
        return dict(zip(self.hypotheses.misconceptions, map(float, totals), strict=True))

    def finding(self) -> Finding:
        """Return what can be said now."""
        declared, posterior = self.declared, self.posterior
        sound = float(posterior[0])
        unlisted = self.unlisted
        certain = self._certain()
        held = [one for one in certain if one.items_fitting >= declared.least_fitting]
        suspected = tuple(one for one in certain if one not in held)
        misfit = self._misfit(int(np.argmax(posterior)))
        verdict = self._verdict(held, misfit)
        topic = self._likeliest_topic() if verdict == "unexplained" else ""
        return Finding(
            verdict, tuple(held), suspected, sound, unlisted, topic, misfit, len(self.answered),
            self._count_excluded(), self._count_listed(),
        )  # fmt: skip

    def _verdict(self, held: list[Evidence], misfit: float) -> Verdict:
        declared, posterior = self.declared, self.posterior
        unlisted = self.unlisted
        if unlisted >= declared.certainty:
            return "unexplained"
        made = float(posterior[self.hypotheses.first_automatic :].sum())
        # Without a rule made from the chart (prompts of lessons have none) nothing was examined.
        is_examined = (
            bool(self.hypotheses.automatic)
            and unlisted < declared.doubt
            and made < declared.unexamined
        )
        is_sound = self.is_cleared and is_examined and bool(self.answered) and not self.owed()
        is_settled = bool(held) or (is_sound and self._count_excluded() == self._count_listed())
        if not is_settled and len(self.answered) < declared.patience:
            return "open"
        if misfit < declared.misfit:
            return "unexplained"
        if held:
            return "holds"
        return "sound" if is_settled else "open"

    def _count_excluded(self) -> int:
        """Return how many listed rules the answers rule out."""
        return sum(share < self.declared.excluded for share in self.probabilities.values())

    def _count_listed(self) -> int:
        """Return how many rules are listed."""
        return len(self.hypotheses.misconceptions)

    @property
    def unlisted(self) -> float:
        """Probability that a wrong rule is held that isn't listed."""
        return float(self.posterior[self.hypotheses.first_topic :].sum())

    @property
    def is_cleared(self) -> bool:
        """True if no listed rule is likely: nobody can be cleared of every rule thinkable."""
        return bool(self.posterior[0] >= self.declared.clearance * (1.0 - self.unlisted))

    def owed(self) -> tuple[str, ...]:
        """Return the items that ask once more about something answered wrongly."""
        return self.hypotheses.rechecks.owed([(a.item, a.is_right) for a in self.answered])

    def _likeliest_topic(self) -> str:
        first = self.hypotheses.first_topic
        return self.hypotheses.topic(first + int(np.argmax(self.posterior[first:])))

    def _certain(self) -> list[Evidence]:
        """Return the misconceptions that are certain by probability, the surest first."""
        single = self.probabilities
        shares = [
            (group, single[group[0]] if len(group) == 1 else self._share(group))
            for group in self.hypotheses.alike
        ]
        return [
            self._evidence(group, share)
            for group, share in sorted(shares, key=lambda pair: -pair[1])
            if share >= self.declared.certainty
        ]

    def _share(self, group: tuple[str, ...]) -> float:
        """Return the probability that one of some misconceptions is held."""
        held = [self.hypotheses.holding([name]) for name in group]
        return float(self.posterior[np.logical_or.reduce(held)].sum())

    def unconfirmed(self) -> tuple[str, ...]:
        """Return the misconceptions that are certain but for one more answer that fits."""
        least = self.declared.least_fitting
        return tuple(e.misconception for e in self._certain() if e.items_fitting < least)

    def _evidence(self, group: tuple[str, ...], share: float) -> Evidence:
        name, *twins = group
        told = [one for one in self.answered if name in one.item.answers]
        fits = tuple(one for one in told if one.answer == one.item.answers[name])
        against = tuple(one for one in told if one.is_right)
        return Evidence(name, share, fits, against, tuple(twins))

    def _misfit(self, best: int) -> float:
        """Posterior-predictive check: so many unforeseen answers or more, under the best belief."""
        unforeseen = 0
        for one in self.answered:
            foreseen = self.hypotheses.foreseen(one.item)
            place = int(foreseen.index[best])
            if place != UNFORESEEN and foreseen.answers[place] != one.answer:
                unforeseen += 1
        return binomial_tail(len(self.answered), self.declared.noise, unforeseen)


def binomial_tail(count: int, probability: float, least: int) -> float:
    """Return the probability of at least `least` successes in `count` trials.

    Example:
        >>> round(binomial_tail(2, 0.5, 1), 2)
        0.75
    """
    q = 1.0 - probability
    return sum(comb(count, k) * probability**k * q ** (count - k) for k in range(least, count + 1))
