"""Bayes' rule over a list of hypotheses, entropy, and the information that a question promises.

Arrays are over hypotheses, shape (h,), and over hypotheses and responses, shape (h, x).
Sources: diagnostic models with slip and guess, worked numbers in tests/published; selection by
expected Shannon entropy (Xu, Chang and Douglas 2003, Cheng 2009, from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]


def update(prior: Vector, likelihood: Vector) -> Vector:
    """Return the posterior.

    Args:
        prior: Probabilities, shape (h,), summing to 1.
        likelihood: Probability of what was seen under each hypothesis, shape (h,).

    Raises:
        ValueError: What was seen is impossible under every hypothesis.
    """
    joint = prior * likelihood
    total = joint.sum()
    if not total > 0.0:
        raise ValueError("the answer is impossible under every hypothesis")
    return np.asarray(joint / total)


def entropy_bits(probabilities: Vector) -> float:
    """Return the Shannon entropy [bit]; zero probabilities count nothing.

    Example:
        >>> entropy_bits(np.array([0.25, 0.25, 0.25, 0.25]))
        2.0
    """
    held = probabilities[probabilities > 0.0]
    return float(-(held * np.log2(held)).sum())


def expected_entropy_bits(prior: Vector, response: Vector) -> float:
    """Return the posterior entropy to be expected after a question [bit].

    Args:
        prior: Probabilities, shape (h,).
        response: Probability of each response under each hypothesis, shape (h, x).
    """
    joint = prior[:, None] * response
    total = joint.sum(axis=0)
    seen = total > 0.0
    return float(
        sum(
            share * entropy_bits(joint[:, column] / share)
            for column, share in zip(np.flatnonzero(seen), total[seen], strict=True)
        )
    )


def information_gain_bits(prior: Vector, response: Vector) -> float:
    """Return the information that a question promises [bit]."""
    return entropy_bits(prior) - expected_entropy_bits(prior, response)


def skill_likelihood(
    has_all: NDArray[np.bool_], slip: float, guess: float, *, is_right: bool
) -> Vector:
    """Return the likelihood of a right or wrong answer in the model with slip and guess (DINA).

    Args:
        has_all: Whether each profile has every skill that the item needs, shape (h,).
        slip: Probability that who can do it is wrong.
        guess: Probability that who can't is right.
        is_right: What was seen.
    """
    right = np.where(has_all, 1.0 - slip, guess)
    return right if is_right else 1.0 - right
