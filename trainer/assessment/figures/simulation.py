"""Figures of merit from simulated members, each with its standard error."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from itertools import combinations
from math import sqrt
from statistics import mean, stdev

from trainer.assessment.diagnosis.diagnosis import Declared, Diagnosis, Finding, Verdict
from trainer.assessment.diagnosis.hypotheses import Hypotheses
from trainer.assessment.diagnosis.next_item import ItemSelector
from trainer.assessment.figures.simulated_member import FlownItems, SimulatedMember, all_strips
from trainer.assessment.items.bank import Bank
from trainer.assessment.items.item import Begin, Item
from trainer.assessment.wrong_rules.library import Library
from trainer.assessment.wrong_rules.misconception import PatchError
from trainer.charts.kernel import Kernel
from trainer.session.annunciation import Annunciation

MOST_ITEMS = 200
MOST_ITEMS_PAIR = 40
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


@dataclass(frozen=True, slots=True)
class Outside:
    """What became of members whose wrong rule isn't in the library.

    Attributes:
        shown: To how many of its items the wrong rule gave a wrong answer, for each member.
    """

    name: str
    verdicts: tuple[Verdict, ...]
    shown: tuple[int, ...]
    lengths: tuple[int, ...]

    def __add__(self, other: Outside) -> Outside:
        return Outside(
            self.name, self.verdicts + other.verdicts, self.shown + other.shown,
            self.lengths + other.lengths,
        )  # fmt: skip

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Called unexplained, of all and of those whose rule showed twice; told another rule."""
        count, lengths = len(self.verdicts), Lengths(self.lengths)
        flags = [verdict == "unexplained" for verdict in self.verdicts]
        met = [flag for flag, shown in zip(flags, self.shown, strict=True) if shown >= 2]
        told = self.verdicts.count("holds")
        return (
            Figure(f"{self.name}_unexplained", Share(sum(flags), count), lengths),
            Figure(f"{self.name}_unexplained_if_shown_twice", Share(sum(met), len(met)), lengths),
            Figure(f"{self.name}_mislabelled", Share(told, count), lengths),
        )


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
        self.flown = FlownItems(library, begin)

    def single(self, repeats: int, *, adaptive: bool = True) -> Figure:
        """Return how often one planted misconception is named, and after how many items."""
        right, lengths = 0, []
        names = [name for name in self.hypotheses.misconceptions for _ in range(repeats)]
        most = MOST_ITEMS if adaptive else MOST_ITEMS_RANDOM
        for number, name in enumerate(names):
            member = self._member(partial(Item.answer_of, misconception=name), f"single {number}")
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
            member = self._member(self._believing(belief.kernel), f"pair {done}")

            def both(diagnosis: Diagnosis, _: Finding, names: tuple[str, ...] = names) -> bool:
                sure = diagnosis.declared.certainty
                return all(diagnosis.probability(name) >= sure for name in names)

            diagnosis = self._run(member, MOST_ITEMS_PAIR, both)
            found += both(diagnosis, diagnosis.finding())
            lengths.append(len(diagnosis.answered))
        return Figure("pair_both_found", Share(found, done), Lengths(tuple(lengths)))

    def sound(self, count: int) -> tuple[Figure, Figure]:
        """Return how often a sound member is told of a wrong rule, or called unexplained."""
        verdicts: list[Verdict] = []
        lengths: list[int] = []
        for number in range(count):
            member = self._member(lambda item: item.true, f"sound {number}")
            diagnosis = self._run(member, MOST_ITEMS, _is_decided)
            verdicts.append(diagnosis.finding().verdict)
            lengths.append(len(diagnosis.answered))
        told = Share(verdicts.count("holds"), count)
        flagged = Share(verdicts.count("unexplained"), count)
        return (
            Figure("sound_wrongly_told", told, Lengths(tuple(lengths))),
            Figure("sound_called_unexplained", flagged, Lengths(tuple(lengths))),
        )

    def outside(self, name: str, members: Mapping[str, Kernel]) -> Outside:
        """Return what becomes of members whose wrong rule isn't in the library.

        Args:
            name: What sort of members they are.
            members: What each believes, by a name of it.
        """
        verdicts: list[Verdict] = []
        shown: list[int] = []
        lengths: list[int] = []
        for member_name, kernel in members.items():
            member = self._member(self._believing(kernel), f"{name} {member_name}")
            diagnosis = self._run(member, MOST_ITEMS, _is_decided)
            answered = diagnosis.answered
            verdicts.append(diagnosis.finding().verdict)
            shown.append(sum(member.intended(a.item) != a.item.true for a in answered))
            lengths.append(len(answered))
        return Outside(name, tuple(verdicts), tuple(shown), tuple(lengths))

    def _believing(self, kernel: Kernel) -> Callable[[Item], Annunciation]:
        return lambda item: self.flown.answer(item, kernel)

    def _member(self, intended: Callable[[Item], Annunciation], name: str) -> SimulatedMember:
        chance = random.Random(f"{self.seed} {name}")  # noqa: S311 - a simulation
        return SimulatedMember(intended, self.noise, chance, self.strips, self.lures)

    def _run(
        self,
        member: SimulatedMember,
        most: int,
        stop: Stop,
        *,
        adaptive: bool = True,
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
            diagnosis.answer(item, member.answer(item))
            if stop(diagnosis, diagnosis.finding()):
                break
        return diagnosis


def _is_decided(_: Diagnosis, finding: Finding) -> bool:
    return finding.verdict != "open"
