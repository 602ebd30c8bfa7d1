"""Figures of merit from simulated members, each with its standard error."""

from __future__ import annotations

import hashlib
import random
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from itertools import combinations
from math import sqrt
from statistics import mean, stdev

from trainer.assessment.bank import Bank
from trainer.assessment.diagnosis import Declared, Diagnosis, Finding
from trainer.assessment.hypotheses import Hypotheses
from trainer.assessment.item import Begin, Item, partition_of
from trainer.assessment.library import Library
from trainer.assessment.misconception import PatchError
from trainer.assessment.next_item import ItemSelector
from trainer.assessment.simulated_member import SimulatedMember, all_strips
from trainer.session.annunciation import changed_cells

MOST_ITEMS = 60
MOST_ITEMS_PAIR = 40
MOST_ITEMS_UNLISTED = 60
MOST_ITEMS_RANDOM = 200


@dataclass(frozen=True, slots=True)
class Share:
    """A share of simulated members with its standard error.

    With no or only successes the error is that of one half of a member, not zero.
    """

    successes: int
    count: int

    @property
    def value(self) -> float:
        """The share."""
        return self.successes / self.count if self.count else float("nan")

    @property
    def error(self) -> float:
        """Standard error of the share (binomial)."""
        if not self.count:
            return float("nan")
        k = min(max(self.successes, 0.5), self.count - 0.5)
        return sqrt(k / self.count * (1.0 - k / self.count) / self.count)


@dataclass(frozen=True, slots=True)
class Lengths:
    """Numbers of items with their mean and its standard error."""

    values: tuple[int, ...]

    @property
    def mean(self) -> float:
        """Mean number of items."""
        return mean(self.values) if self.values else float("nan")

    @property
    def error(self) -> float:
        """Standard error of the mean."""
        if len(self.values) < 2:
            return float("nan")
        return stdev(self.values) / sqrt(len(self.values))

    def quantile(self, share: float) -> int:
        """Return the number of items within which this share of members was done."""
        return sorted(self.values)[min(int(share * len(self.values)), len(self.values) - 1)]


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of merit."""

    name: str
    share: Share
    lengths: Lengths


Stop = Callable[[Diagnosis, Finding], bool]


class Simulator:
    """Simulated members of one installation's bank.

    Args:
        bank: The item bank.
        library: The installation's library, to compose wrong rules for real.
        begin: Starts a session of the installation.
        noise: Probability of a slip, in the member and in the declared model.
        seed: First seed; figures are made with seeds that no constant was tuned with.
        lures: Share of slips that imitate another wrong rule.
    """

    def __init__(
        self,
        bank: Bank,
        library: Library,
        begin: Begin,
        *,
        noise: float = 0.10,
        seed: int = 1,
        lures: float = 0.0,
    ) -> None:
        self.bank = bank
        self.library = library
        self.begin = begin
        self.noise = noise
        self.seed = seed
        self.lures = lures
        self.hypotheses = Hypotheses(bank)
        self.selector = ItemSelector(self.hypotheses)
        self.declared = Declared(noise=noise)
        self.strips = all_strips(bank)

    def single(self, repeats: int, *, adaptive: bool = True) -> Figure:
        """Return how often one planted misconception is named, and after how many items."""
        right, lengths = 0, []
        names = [name for name in self.hypotheses.misconceptions for _ in range(repeats)]
        most = MOST_ITEMS if adaptive else MOST_ITEMS_RANDOM
        for number, name in enumerate(names):
            member = self._member((name,), f"single {number}")
            diagnosis = self._run(member, most, _is_decided, adaptive=adaptive)
            finding = diagnosis.finding()
            told = [one.misconception for one in finding.held]
            right += finding.verdict == "holds" and told == [name]
            lengths.append(finding.answered)
        kind = "adaptive" if adaptive else "random"
        return Figure(f"single_{kind}", Share(right, len(names)), Lengths(tuple(lengths)))

    def pairs(self, count: int) -> Figure:
        """Return how often two planted at once are both found, and after how many items."""
        chance = random.Random(f"pairs {self.seed}")  # noqa: S311 - a simulation
        chosen = list(combinations(self.hypotheses.misconceptions, 2))
        chance.shuffle(chosen)
        found, lengths, done = 0, [], 0
        for names in chosen:
            if done == count:
                break
            parts = [self.library.beliefs[name].parts[0] for name in names]
            try:
                belief = self.library.believe(*parts)
            except PatchError:
                continue
            done += 1
            member = self._member(names, f"pair {done}")
            member.belief, member.library, member.begin = belief, self.library, self.begin

            def both(diagnosis: Diagnosis, _: Finding, names: tuple[str, ...] = names) -> bool:
                sure = diagnosis.declared.certainty
                return all(diagnosis.probability(name) >= sure for name in names)

            diagnosis = self._run(member, MOST_ITEMS_PAIR, both)
            found += both(diagnosis, diagnosis.finding())
            lengths.append(len(diagnosis.answered))
        return Figure("pair_both_found", Share(found, done), Lengths(tuple(lengths)))

    def sound(self, count: int) -> Figure:
        """Return how often a sound member is told of a wrong rule, and after how many items."""
        wronged, lengths = 0, []
        for number in range(count):
            member = self._member((), f"sound {number}")
            diagnosis = self._run(member, MOST_ITEMS, _is_decided)
            wronged += diagnosis.finding().verdict == "holds"
            lengths.append(len(diagnosis.answered))
        return Figure("sound_wrongly_told", Share(wronged, count), Lengths(tuple(lengths)))

    def unlisted(self, every: int = 1, least_exposures: int = 3) -> tuple[Figure, Figure, Figure]:
        """Return what becomes of members whose rule was taken out of the library.

        Args:
            every: Only every so many misconceptions are taken out in turn.
            least_exposures: For the second figure: the rule showed at least so often.

        Returns:
            Flagged unexplained among all; the same among those whose rule showed in at least
            `least_exposures` of the items; told of another wrong rule instead.
        """
        flagged: list[bool] = []
        labelled: list[bool] = []
        shown: list[int] = []
        lengths: list[int] = []
        for name in self.hypotheses.misconceptions[::every]:
            bank = without(self.bank, name)
            other = Simulator(
                bank, self.library, self.begin, noise=self.noise, seed=self.seed, lures=self.lures
            )
            truth = {item.id: item for item in self.bank.items}
            member = self._member((name,), f"unlisted {name}")
            diagnosis = other._run(member, MOST_ITEMS_UNLISTED, _is_unexplained, truth=truth)
            finding = diagnosis.finding()
            flagged.append(finding.verdict == "unexplained")
            labelled.append(finding.verdict == "holds")
            shown.append(sum(name in truth[a.item.id].answers for a in diagnosis.answered))
            lengths.append(finding.answered)
        pairs = [(f, n) for f, n, s in zip(flagged, lengths, shown, strict=True)
                 if s >= least_exposures]  # fmt: skip
        return (
            Figure("unlisted_unexplained", _share(flagged), Lengths(tuple(lengths))),
            Figure("unlisted_unexplained_if_shown", _share(f for f, _ in pairs),
                   Lengths(tuple(n for _, n in pairs))),
            Figure("unlisted_mislabelled", _share(labelled), Lengths(tuple(lengths))),
        )  # fmt: skip

    def _member(self, held: tuple[str, ...], name: str) -> SimulatedMember:
        chance = random.Random(f"{self.seed} {name}")  # noqa: S311 - a simulation
        return SimulatedMember(held, self.noise, chance, self.strips, self.lures)

    def _run(
        self,
        member: SimulatedMember,
        most: int,
        stop: Stop,
        *,
        adaptive: bool = True,
        truth: dict[str, Item] | None = None,
    ) -> Diagnosis:
        diagnosis = Diagnosis(self.hypotheses, self.declared)
        seen: set[str] = set()
        informative = [i for i in self.bank.items if i.answers]
        member.chance.shuffle(informative)
        while len(diagnosis.answered) < most:
            item = (
                self.selector.select(diagnosis, seen, member.chance)
                if adaptive
                else next((i for i in informative if i.id not in seen), None)
            )
            if item is None:
                break
            seen.add(item.id)
            diagnosis.answer(item, member.answer(truth[item.id] if truth else item))
            if stop(diagnosis, diagnosis.finding()):
                break
        return diagnosis


def _is_decided(_: Diagnosis, finding: Finding) -> bool:
    return finding.verdict != "open"


def _is_unexplained(_: Diagnosis, finding: Finding) -> bool:
    return finding.verdict == "unexplained"


def _share(values: Iterable[bool]) -> Share:
    held = list(values)
    return Share(sum(held), len(held))


def without(bank: Bank, name: str) -> Bank:
    """Return the bank of a library that lacks one misconception."""
    items = []
    for item in bank.items:
        answers = {key: value for key, value in item.answers.items() if key != name}
        partition = partition_of(answers)
        what = f"{item.stimulus.id}|{changed_cells(item.before, item.true)}"
        text = f"{what}|{partition}|{partition_of(item.automatic)}"
        kind = hashlib.sha256(text.encode()).hexdigest()[:12]
        both = {pair: value for pair, value in item.pair_answers.items() if name not in pair}
        items.append(
            replace(item, answers=answers, pair_answers=both, partition=partition, kind=kind)
        )
    return Bank(bank.installation, tuple(items), bank.unexposed)
