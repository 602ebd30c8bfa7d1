"""Sequential probability ratio test for mastery, truncated, and the fixed-form cut score.

H0: the member is no master, so alpha is the probability of passing one wrongly and beta that of
failing a master. Sources: A. Wald, Sequential Analysis (boundaries, expected length, from
memory); mastery use Lewis and Sheehan 1990, from memory; worked numbers in tests/published.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import comb, log
from typing import Literal

from trainer.errors import TrainerError

Decision = Literal["pass", "fail", "open"]


class RateError(TrainerError):
    """Error rates or limits that make no test."""


@dataclass(frozen=True, slots=True)
class Sprt:
    """A declared sequential test.

    Attributes:
        nonmaster: Share of right answers at which a member surely must not pass.
        master: Share of right answers at which a member surely should pass.
        alpha: Probability of passing at `nonmaster`.
        beta: Probability of failing at `master`.
    """

    nonmaster: float = 0.60
    master: float = 0.90
    alpha: float = 0.05
    beta: float = 0.05

    def __post_init__(self) -> None:
        if not 0.0 < self.nonmaster < self.master < 1.0:
            raise RateError(
                f"non-master {self.nonmaster:g}, master {self.master:g}; accepted: between 0 and "
                "1, the master's the larger"
            )
        for rate in (self.alpha, self.beta):
            if not 0.0 < rate < 0.5:
                raise RateError(f"error rate {rate:g}; accepted: above 0, below 0.5")

    @property
    def upper(self) -> float:
        """Log likelihood ratio at which the member passes."""
        return log((1.0 - self.beta) / self.alpha)

    @property
    def lower(self) -> float:
        """Log likelihood ratio at which the member fails."""
        return log(self.beta / (1.0 - self.alpha))

    @property
    def step_right(self) -> float:
        """What a right answer adds."""
        return log(self.master / self.nonmaster)

    @property
    def step_wrong(self) -> float:
        """What a wrong answer adds; negative."""
        return log((1.0 - self.master) / (1.0 - self.nonmaster))

    def ratio(self, right: int, wrong: int) -> float:
        """Return the log likelihood ratio of so many right and wrong answers."""
        return right * self.step_right + wrong * self.step_wrong

    def decide(self, right: int, wrong: int, most: int | None = None) -> Decision:
        """Return the decision after so many answers.

        Args:
            right: Right answers.
            wrong: Wrong answers.
            most: Number of items after which a decision must fall; None: no truncation.

        Example:
            >>> Sprt(0.60, 0.85).decide(0, 3), Sprt(0.60, 0.85).decide(0, 4)
            ('open', 'fail')
        """
        ratio = self.ratio(right, wrong)
        if ratio >= self.upper:
            return "pass"
        if ratio <= self.lower:
            return "fail"
        if most is not None and right + wrong >= most:
            # The nearer boundary: with equal rates the side of zero.
            return "pass" if ratio > (self.upper + self.lower) / 2.0 else "fail"
        return "open"

    def expected_length(self, share_right: float) -> float:
        """Return Wald's expected number of items at `master` or `nonmaster`.

        Args:
            share_right: The member's share of right answers; exactly one of the two limits.
        """
        if share_right == self.master:
            passing = 1.0 - self.beta
        elif share_right == self.nonmaster:
            passing = self.alpha
        else:
            raise RateError(f"{share_right:g}; accepted: {self.nonmaster:g} or {self.master:g}")
        step = share_right * self.step_right + (1.0 - share_right) * self.step_wrong
        return (passing * self.upper + (1.0 - passing) * self.lower) / step


@dataclass(frozen=True, slots=True)
class CutScore:
    """The cut of a fixed form, with the error rates that it has at the declared limits."""

    count: int
    least_right: int
    false_pass: float
    false_fail: float


def cut_score(count: int, rates: Sprt = Sprt()) -> CutScore:
    """Return the lowest cut of a fixed form that keeps false passes within alpha.

    Raises:
        RateError: No cut does: the form is too short.

    Example:
        >>> cut_score(20).least_right
        17
    """
    for least in range(count + 1):
        false_pass = _at_least(count, rates.nonmaster, least)
        if false_pass <= rates.alpha:
            return CutScore(count, least, false_pass, 1.0 - _at_least(count, rates.master, least))
    raise RateError(f"a form of {count} items can't keep false passes within {rates.alpha:g}")


def _at_least(count: int, share: float, least: int) -> float:
    return sum(
        comb(count, k) * share**k * (1.0 - share) ** (count - k) for k in range(least, count + 1)
    )
