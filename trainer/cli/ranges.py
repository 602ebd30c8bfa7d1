"""Numbers on the command line with the range in which they mean something."""

from __future__ import annotations

from argparse import ArgumentTypeError
from collections.abc import Callable
from math import isfinite


def whole(least: int) -> Callable[[str], int]:
    """Return a reader of whole numbers from `least` upwards, for argparse.

    Example:
        >>> whole(1)("20")
        20
        >>> whole(1)("0")
        Traceback (most recent call last):
        argparse.ArgumentTypeError: '0' isn't accepted; accepted: a whole number from 1 upwards
    """

    def read(text: str) -> int:
        try:
            found = int(text)
        except ValueError:
            found = least - 1
        if found < least:
            raise _refused(text, f"a whole number from {least} upwards")
        return found

    return read


def inner_share(text: str) -> float:
    """Return a share that is neither none nor all, as of slips: each answer has to be possible.

    Example:
        >>> inner_share("0.1")
        0.1
        >>> inner_share("nan")
        Traceback (most recent call last):
        argparse.ArgumentTypeError: 'nan' isn't accepted; accepted: a number between 0 and 1, \
neither of them itself, as 0.1
    """
    found = _number(text)
    if not 0.0 < found < 1.0:
        raise _refused(text, "a number between 0 and 1, neither of them itself, as 0.1")
    return found


def any_share(text: str) -> float:
    """Return a share, from none to all.

    Example:
        >>> any_share("0")
        0.0
    """
    found = _number(text)
    if not 0.0 <= found <= 1.0:
        raise _refused(text, "a number from 0 to 1")
    return found


def _number(text: str) -> float:
    """Return a number, or one that is in no range."""
    try:
        found = float(text)
    except ValueError:
        return -1.0
    return found if isfinite(found) else -1.0


def _refused(text: str, accepted: str) -> ArgumentTypeError:
    return ArgumentTypeError(f"'{text}' isn't accepted; accepted: {accepted}")
